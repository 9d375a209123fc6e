//! A number with its doubt, its flags and what it is of.
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        reason = "a test may panic; the library itself is checked in the build without tests"
    )
)]

use super::Flags;

/// What a reading is of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Unit {
    /// Ohms.
    #[default]
    Ohm,
    /// Volts.
    Volt,
    /// Amperes.
    Ampere,
    /// Farads.
    Farad,
    /// Hertz.
    Hertz,
    /// A ratio of two readings.
    Ratio,
    /// Metres.
    Metre,
    /// Milliamperes per volt and farad: what the trade gives a dielectric discharge in.
    MilliampPerVoltFarad,
}

impl Unit {
    /// Its symbol in plain letters.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Ohm => "ohm",
            Self::Volt => "V",
            Self::Ampere => "A",
            Self::Farad => "F",
            Self::Hertz => "Hz",
            Self::Ratio => "",
            Self::Metre => "m",
            Self::MilliampPerVoltFarad => "mA/(V F)",
        }
    }
}

/// A number, a bound, or nothing: an over-range number cannot be written.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Value {
    /// No reading.
    #[default]
    None,
    /// A number, in the base unit.
    Number(f32),
    /// Less than this.
    Below(f32),
    /// More than this.
    Above(f32),
}

impl Value {
    /// The number or bound, if there is one.
    #[must_use]
    pub const fn amount(self) -> Option<f32> {
        match self {
            Self::None => None,
            Self::Number(x) | Self::Below(x) | Self::Above(x) => Some(x),
        }
    }
}

/// A reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Reading {
    /// The number or bound.
    pub value: Value,
    /// What it is of.
    pub unit: Unit,
    /// Its standard uncertainty, in the base unit; for a bound, that of the bound.
    pub doubt: f32,
    /// How much of it, as a share of the number, is in what the number was divided by: the part
    /// that makes it reach further up than down. Zero where there is nothing of the kind.
    pub skew: f32,
    /// What is to be known about it.
    pub flags: Flags,
}

impl Reading {
    /// No reading.
    pub const NONE: Self =
        Self { value: Value::None, unit: Unit::Ohm, doubt: 0.0, skew: 0.0, flags: Flags::NONE };

    /// The same reading with more flags.
    #[must_use]
    pub const fn flagged(self, flags: Flags) -> Self {
        Self { flags: self.flags.with(flags), ..self }
    }

    /// The least and the greatest that it may be, `cover` standard uncertainties away: of a quotient
    /// the interval is not symmetric, because a current read too small makes more ohms than one
    /// read too large takes away (Fieller, 1954: the interval of a quotient of two normal numbers;
    /// from memory, checked by counting drawn quotients in the tests).
    #[must_use]
    pub fn ends(&self, cover: f32) -> (f32, f32) {
        let amount = self.value.amount().unwrap_or(0.0);
        let below = cover * cover * self.skew * self.skew;
        if below >= 1.0 {
            return (amount - cover * self.doubt, f32::INFINITY);
        }
        let doubt_2 = self.doubt * self.doubt;
        let in_current = self.skew * amount;
        let others = libm::fmaxf(doubt_2 - in_current * in_current, 0.0);
        let half = cover * libm::sqrtf(libm::fmaxf(doubt_2 - below * others, 0.0));
        let over = 1.0 - below;
        ((amount - half) / over, (amount + half) / over)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A small generator of even numbers in 0..1, for counting.
    fn drawn(state: &mut u64) -> f32 {
        *state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*state >> 40) as f32 / (1_u64 << 24) as f32
    }

    /// About normal: twelve even numbers.
    fn normal(state: &mut u64) -> f32 {
        (0..12).map(|_| drawn(state)).sum::<f32>() - 6.0
    }

    #[test]
    fn drawn_quotients_lie_between_the_ends_as_often_as_they_should() {
        for (u_v, u_i) in [(0.02, 0.02), (0.01, 0.2), (0.05, 0.001)] {
            let (mut state, mut below, mut above) = (1, 0, 0);
            let cases = 40_000;
            for _ in 0..cases {
                let (v, i) = (1.0 + u_v * normal(&mut state), 1.0 + u_i * normal(&mut state));
                let (a, b) = (u_v / v, u_i / i);
                let ohms = v / i;
                let doubt = ohms * (a * a + b * b).sqrt();
                let reading =
                    Reading { value: Value::Number(ohms), doubt, skew: b, ..Reading::NONE };
                let (least, greatest) = reading.ends(1.64);
                below += u32::from(1.0 < least);
                above += u32::from(greatest < 1.0);
            }
            // One-sided 5.05 % each; four standard errors of the count are 0.44 %.
            for (side, count) in [("below", below), ("above", above)] {
                let share = f64::from(count) / f64::from(cases);
                assert!((share - 0.0505).abs() < 0.0044, "{u_v} {u_i} {side}: {share}");
            }
        }
    }

    #[test]
    fn without_a_denominator_the_ends_are_symmetric() {
        let reading = Reading { value: Value::Number(-3.0), doubt: 0.5, ..Reading::NONE };
        assert_eq!(reading.ends(2.0), (-4.0, -2.0));
    }

    #[test]
    fn a_current_that_may_be_nothing_has_no_upper_end() {
        let reading = Reading { value: Value::Number(1.0), doubt: 0.6, skew: 0.6, ..Reading::NONE };
        assert_eq!(reading.ends(2.0).1, f32::INFINITY);
        assert!(reading.ends(1.0).1 < 3.0);
    }
}
