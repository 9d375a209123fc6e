//! Constants as a board keeps them: version, two days, nine scales, check word, little-endian.
//!
//! Nothing is trusted that does not check: a length, a version, a check word, then each constant
//! against what the front end may be made to.

use super::{Calibration, Constants, Unfit};
use crate::block::crc32;
use crate::date::Date;
use crate::profile::SCALES;

/// The version of the layout; its first byte says what the block is.
const VERSION: [u8; 2] = [b'C', 1];
/// Bytes before the constants: version and two days.
const HEAD: usize = 6;
/// Bytes of the constants of one scale.
const EACH: usize = 6;
/// Bytes of the constants of an instrument.
pub const LENGTH: usize = HEAD + SCALES.len() * EACH + 4;

impl Calibration {
    /// The bytes to keep. What was absent or damaged is written as such: it never reads back sound.
    #[must_use]
    pub fn to_bytes(&self) -> [u8; LENGTH] {
        let mut bytes = [0; LENGTH];
        let days = [self.made, self.due].map(|day| day.as_days().to_le_bytes());
        let head = VERSION.into_iter().chain(days.into_iter().flatten());
        let constants = self.constants.iter().flat_map(|c| c.to_bytes());
        if self.lost.is_some() {
            return bytes;
        }
        for (place, byte) in bytes.iter_mut().zip(head.chain(constants)) {
            *place = byte;
        }
        if let Some((body, check)) = bytes.split_last_chunk_mut::<4>() {
            *check = crc32(body).to_le_bytes();
        }
        bytes
    }

    /// Reads what was kept.
    ///
    /// # Errors
    /// The first thing that is not as [`Self::to_bytes`] writes it. A board then hands
    /// [`Calibration::DAMAGED`] to the instrument.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, Unfit> {
        let bytes: &[u8; LENGTH] = bytes.try_into().map_err(|_| Unfit::Length)?;
        let (body, check) = bytes.split_last_chunk::<4>().ok_or(Unfit::Length)?;
        let (head, kept) = body.split_first_chunk::<HEAD>().ok_or(Unfit::Length)?;
        let [kind, version, m0, m1, d0, d1] = *head;
        if [kind, version] != VERSION {
            return Err(Unfit::Version);
        }
        if crc32(body).to_le_bytes() != *check {
            return Err(Unfit::Check);
        }
        let mut constants = [Constants::NOMINAL; SCALES.len()];
        let (each, _) = kept.as_chunks::<EACH>();
        for (place, bytes) in constants.iter_mut().zip(each) {
            *place = Constants::from_bytes(*bytes);
        }
        let day = |low, high| Date::from_days(u16::from_le_bytes([low, high]));
        Self::new(constants, day(m0, m1), day(d0, d1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::Scale;

    fn some() -> Calibration {
        let mut constants = [Constants::NOMINAL; SCALES.len()];
        for (n, place) in constants.iter_mut().enumerate() {
            let n = n as f32;
            *place = Constants::new(n * -0.003, n * 0.3, 0.0002 * n, 0.1 * n).expect("can be held");
        }
        Calibration::new(constants, Date::from_days(9_000), Date::from_days(9_365)).expect("sound")
    }

    #[test]
    fn constants_come_back_as_they_were_written() {
        assert_eq!(Calibration::from_bytes(&some().to_bytes()), Ok(some()));
    }

    #[test]
    fn any_one_flipped_bit_is_seen() {
        let bytes = some().to_bytes();
        for bit in 0..LENGTH * 8 {
            let mut flipped = bytes;
            flipped[bit / 8] ^= 1 << (bit % 8);
            assert!(Calibration::from_bytes(&flipped).is_err(), "bit {bit}");
        }
    }

    #[test]
    fn what_is_blank_or_short_or_lost_is_refused() {
        assert_eq!(Calibration::from_bytes(&[]), Err(Unfit::Length));
        assert_eq!(Calibration::from_bytes(&[0xff; LENGTH]), Err(Unfit::Version));
        assert_eq!(Calibration::from_bytes(&some().to_bytes()[1..]), Err(Unfit::Length));
        for lost in [Calibration::ABSENT, Calibration::DAMAGED] {
            assert!(Calibration::from_bytes(&lost.to_bytes()).is_err());
        }
    }

    #[test]
    fn a_gain_beyond_the_front_end_is_damage_even_with_a_good_check_word() {
        let mut bytes = some().to_bytes();
        bytes[HEAD..HEAD + 2].copy_from_slice(&31_000_i16.to_le_bytes());
        let (body, check) = bytes.split_last_chunk_mut::<4>().expect("long enough");
        *check = crc32(body).to_le_bytes();
        assert_eq!(Calibration::from_bytes(&bytes), Err(Unfit::Gain(Some(Scale::Volts))));
    }
}
