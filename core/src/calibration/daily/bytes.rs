//! A check as a board keeps it: version, day, count, steps, check word, little-endian.

use super::{Daily, MOST_STEPS, Standard, Step};
use crate::block::crc32;
use crate::date::Date;
use crate::judge::{Flags, Reading, Value};
use crate::record::{unit_number, unit_of};

/// The version of the layout; its first byte says what the block is.
const VERSION: [u8; 2] = [b'D', 1];
const HEAD: usize = 6;
const EACH: usize = 26;
/// Bytes of a check.
pub const LENGTH: usize = HEAD + MOST_STEPS * EACH + 4;

impl Daily {
    /// The bytes to keep; steps that the check does not have are zero.
    #[must_use]
    pub fn to_bytes(&self) -> [u8; LENGTH] {
        let mut bytes = [0; LENGTH];
        let day = self.date.map_or([0; 2], |date| date.as_days().to_le_bytes());
        let count = u8::try_from(self.steps.len()).unwrap_or(0);
        let rest = [u8::from(self.date.is_some()), count];
        let head = VERSION.into_iter().chain(day).chain(rest);
        let steps = self.steps.iter().flat_map(step_bytes);
        for (place, byte) in bytes.iter_mut().zip(head.chain(steps)) {
            *place = byte;
        }
        if let Some((body, check)) = bytes.split_last_chunk_mut::<4>() {
            *check = crc32(body).to_le_bytes();
        }
        bytes
    }

    /// Reads what was kept; `None` where it is not what [`Self::to_bytes`] writes.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let bytes: &[u8; LENGTH] = bytes.try_into().ok()?;
        let (body, check) = bytes.split_last_chunk::<4>()?;
        let (head, kept) = body.split_first_chunk::<HEAD>()?;
        let [kind, version, low, high, dated, count] = *head;
        let count = usize::from(count);
        let sound = [kind, version] == VERSION
            && crc32(body).to_le_bytes() == *check
            && dated <= 1
            && count <= MOST_STEPS;
        if !sound {
            return None;
        }
        let date = (dated == 1).then_some(Date::from_days(u16::from_le_bytes([low, high])));
        let (each, _) = kept.as_chunks::<EACH>();
        let steps: Option<_> = each.iter().take(count).map(step_of).collect();
        Some(Self { date, steps: steps? })
    }
}

fn step_bytes(step: &Step) -> [u8; EACH] {
    let Step { standard, reading } = step;
    let (kind, amount) = match reading.value {
        Value::None => (0, 0.0),
        Value::Number(x) => (1, x),
        Value::Below(x) => (2, x),
        Value::Above(x) => (3, x),
    };
    let numbers = [standard.value, standard.doubt, amount, reading.doubt, reading.skew];
    let numbers = numbers.into_iter().flat_map(f32::to_le_bytes);
    let units = unit_number(standard.unit) | unit_number(reading.unit) << 4;
    let mut bytes = [0; EACH];
    let all = [units, kind].into_iter().chain(reading.flags.bits().to_le_bytes());
    for (place, byte) in bytes.iter_mut().zip(all.chain(numbers)) {
        *place = byte;
    }
    bytes
}

fn step_of(bytes: &[u8; EACH]) -> Option<Step> {
    let (head, numbers) = bytes.split_first_chunk::<6>()?;
    let [units, kind, flags @ ..] = *head;
    let (each, _) = numbers.as_chunks::<4>();
    let mut numbers = each.iter().map(|bytes| f32::from_le_bytes(*bytes));
    let mut next = || numbers.next();
    let (value, doubt, amount) = (next()?, next()?, next()?);
    Some(Step {
        standard: Standard { value, doubt, unit: unit_of(units & 15)? },
        reading: Reading {
            value: match kind {
                0 => Value::None,
                1 => Value::Number(amount),
                2 => Value::Below(amount),
                3 => Value::Above(amount),
                _ => return None,
            },
            unit: unit_of(units >> 4)?,
            doubt: next()?,
            skew: next()?,
            flags: Flags::from_bits(u32::from_le_bytes(flags))?,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::Unit;

    #[test]
    fn a_check_comes_back_as_it_was_kept_and_any_flipped_bit_is_seen() {
        let ohms = Standard { value: 1.0e6, doubt: 3.0e3, unit: Unit::Ohm };
        let read = |value| Reading { value, doubt: 4.0e3, skew: 0.01, ..Reading::NONE };
        let volts = Standard { value: 500.0, doubt: 1.0, unit: Unit::Volt };
        let mut daily = Daily::new(Some(Date::from_days(9_827)), &[ohms, volts, ohms]);
        daily.take(0, read(Value::Number(1.004e6)).flagged(Flags::CALIBRATION_DUE));
        daily.take(1, Reading { unit: Unit::Volt, ..read(Value::Above(7.0)) });
        let bytes = daily.to_bytes();
        assert_eq!(Daily::from_bytes(&bytes), Some(daily));
        for bit in 0..bytes.len() * 8 {
            let mut flipped = bytes;
            flipped[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(Daily::from_bytes(&flipped), None, "bit {bit}");
        }
    }
}
