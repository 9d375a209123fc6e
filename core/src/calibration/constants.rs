//! The constants of one scale in six bytes: `true = (read - zero) (1 + gain)`.

use crate::profile::{SCALES, Scale};

/// Gain and zero of one scale with their standard uncertainties.
///
/// A millionth of gain and a thousandth of a code are finer than any of these scales is stable.
/// Uncertainties are rounded up to the next step, never down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Constants {
    /// Millionths.
    gain: i16,
    /// 1024ths of a code.
    zero: i16,
    /// Steps of 20 millionths.
    u_gain: u8,
    /// 64ths of a code.
    u_zero: u8,
}

const GAIN: f32 = 1.0e6;
const ZERO: f32 = 1_024.0;
const U_GAIN: f32 = 5.0e4;
const U_ZERO: f32 = 64.0;

impl Constants {
    /// No correction.
    pub const NOMINAL: Self = Self { gain: 0, zero: 0, u_gain: 0, u_zero: 0 };

    /// From a correction of gain as a share, a zero in codes, and their standard uncertainties.
    ///
    /// # Errors
    /// What cannot be held: beyond 3.2 % of gain, 31 codes, or an uncertainty beyond 0.51 % or
    /// 3.9 codes, which is none.
    pub fn new(gain: f32, zero: f32, u_gain: f32, u_zero: f32) -> Result<Self, Unfit> {
        let rounded = |value: f32, unfit| signed(libm::roundf(value)).ok_or(unfit);
        let up = |value: f32| unsigned(libm::ceilf(value)).ok_or(Unfit::Doubt(None));
        Ok(Self {
            gain: rounded(gain * GAIN, Unfit::Gain(None))?,
            zero: rounded(zero * ZERO, Unfit::Zero(None))?,
            u_gain: up(u_gain * U_GAIN)?,
            u_zero: up(u_zero * U_ZERO)?,
        })
    }

    /// Correction of the gain, as a share.
    #[must_use]
    pub fn gain(self) -> f32 {
        f32::from(self.gain) / GAIN
    }

    /// What the scale reads at nothing, in codes.
    #[must_use]
    pub fn zero(self) -> f32 {
        f32::from(self.zero) / ZERO
    }

    /// Standard uncertainty of the gain, as a share.
    #[must_use]
    pub fn u_gain(self) -> f32 {
        f32::from(self.u_gain) / U_GAIN
    }

    /// Standard uncertainty of the zero, in codes.
    #[must_use]
    pub fn u_zero(self) -> f32 {
        f32::from(self.u_zero) / U_ZERO
    }

    /// Checks that the front end can need such a correction.
    ///
    /// # Errors
    /// A gain or a zero beyond what the scale may be made to.
    pub fn check(self, scale: Scale) -> Result<(), Unfit> {
        let limits = scale.accuracy();
        if self.gain.unsigned_abs() > limits.gain {
            return Err(Unfit::Gain(Some(scale)));
        }
        if libm::fabsf(self.zero()) * 100.0 > f32::from(limits.zero) {
            return Err(Unfit::Zero(Some(scale)));
        }
        Ok(())
    }

    /// As stored.
    pub(super) const fn to_bytes(self) -> [u8; 6] {
        let ([a, b], [c, d]) = (self.gain.to_le_bytes(), self.zero.to_le_bytes());
        [a, b, c, d, self.u_gain, self.u_zero]
    }

    /// As read.
    pub(super) const fn from_bytes([a, b, c, d, u_gain, u_zero]: [u8; 6]) -> Self {
        let (gain, zero) = (i16::from_le_bytes([a, b]), i16::from_le_bytes([c, d]));
        Self { gain, zero, u_gain, u_zero }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "inside the range just checked")]
fn signed(value: f32) -> Option<i16> {
    (-32_768.0..=32_767.0).contains(&value).then_some(value as i16)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "inside the range just checked"
)]
fn unsigned(value: f32) -> Option<u8> {
    (0.0..=255.0).contains(&value).then_some(value as u8)
}

/// Why constants cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Unfit {
    /// Not as many bytes as constants take.
    Length,
    /// Written by another version of this format, or not by it at all.
    Version,
    /// The check word is not that of the bytes.
    Check,
    /// A gain beyond what the front end is made to.
    Gain(Option<Scale>),
    /// A zero beyond what the front end is made to.
    Zero(Option<Scale>),
    /// An uncertainty that is no number or too large to be one.
    Doubt(Option<Scale>),
    /// Due before it was made.
    Days,
}

impl Unfit {
    /// The same, of a scale.
    #[must_use]
    pub const fn of(self, scale: Scale) -> Self {
        match self {
            Self::Gain(_) => Self::Gain(Some(scale)),
            Self::Zero(_) => Self::Zero(Some(scale)),
            Self::Doubt(_) => Self::Doubt(Some(scale)),
            other => other,
        }
    }

    /// The scale that it is of, where it is of one.
    #[must_use]
    pub const fn scale(self) -> Option<Scale> {
        match self {
            Self::Gain(scale) | Self::Zero(scale) | Self::Doubt(scale) => scale,
            Self::Length | Self::Version | Self::Check | Self::Days => None,
        }
    }
}

impl core::fmt::Display for Unfit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        if let Some(scale) = self.scale() {
            write!(f, "{}: ", scale.word())?;
        }
        f.write_str(match self {
            Self::Length => "not as many bytes as the constants of an instrument take",
            Self::Version => "not written as this version writes constants",
            Self::Check => "the check word is not that of the bytes",
            Self::Gain(_) => "the gain is further off than the front end may be made",
            Self::Zero(_) => "the zero is further off than the front end may be made",
            Self::Doubt(_) => "the uncertainty is no number, or too large for a calibration",
            Self::Days => "the due day lies before the day of calibration",
        })
    }
}

impl core::error::Error for Unfit {}

const _: () = assert!(SCALES.len() * size_of::<Constants>() == 54, "nine scales of six bytes");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constants_come_back_within_half_a_step_and_uncertainties_never_smaller() {
        for (gain, zero, u_gain, u_zero) in [
            (0.012_345_6, -1.234_56, 0.000_31, 0.3),
            (-0.029, 2.6, 0.005, 3.9),
            (0.0, 0.0, 0.0, 0.0),
        ] {
            let kept = Constants::new(gain, zero, u_gain, u_zero).expect("can be held");
            assert!((kept.gain() - gain).abs() <= 0.51e-6 && (kept.zero() - zero).abs() < 0.0005);
            assert!(u_gain <= kept.u_gain() + 1.0e-9 && kept.u_gain() < u_gain + 21.0e-6);
            assert!(u_zero <= kept.u_zero() && kept.u_zero() < u_zero + 0.016);
            assert_eq!(Constants::from_bytes(kept.to_bytes()), kept);
        }
    }

    #[test]
    fn what_cannot_be_held_is_refused_and_not_clamped() {
        let of = |gain, zero, u_gain, u_zero| Constants::new(gain, zero, u_gain, u_zero);
        assert_eq!(of(0.04, 0.0, 0.0, 0.0), Err(Unfit::Gain(None)));
        assert_eq!(of(f32::NAN, 0.0, 0.0, 0.0), Err(Unfit::Gain(None)));
        assert_eq!(of(0.0, 33.0, 0.0, 0.0), Err(Unfit::Zero(None)));
        assert_eq!(of(0.0, 0.0, 0.006, 0.0), Err(Unfit::Doubt(None)));
        assert_eq!(of(0.0, 0.0, -0.001, 0.0), Err(Unfit::Doubt(None)));
        assert_eq!(of(0.0, 0.0, 0.0, f32::INFINITY), Err(Unfit::Doubt(None)));
    }

    #[test]
    fn a_zero_is_refused_where_the_scale_allows_less() {
        let three_codes = Constants::new(0.0, 3.0, 0.0, 0.0).expect("can be held");
        assert_eq!(three_codes.check(Scale::Volts), Err(Unfit::Zero(Some(Scale::Volts))));
        assert_eq!(three_codes.check(Scale::Low), Ok(()));
    }
}
