//! How well each scale of the default front end is made, and how well it keeps what it was set to.
//!
//! All figures are limits, either sign, taken as equally likely in between, but noise, which is rms.
//! Shares are in parts per million, the rest in hundredths of a code (own design: resistors of
//! 50 to 100 ppm a kelvin over 30 K, their voltage coefficient, a year of ageing, and damp).
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        reason = "a test may panic; the library itself is checked in the build without tests"
    )
)]

use super::{FrontEnd, Shunt};

/// A scale that readings are made on: a converter channel with its divider or shunt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Scale {
    /// First divider.
    Volts,
    /// Second divider.
    Volts2,
    /// Low range of the terminal voltage.
    Low,
    /// A range of the measuring shunt.
    Amps(Shunt),
}

/// All scales, in the order in which constants are stored.
pub const SCALES: [Scale; 9] = [
    Scale::Volts,
    Scale::Volts2,
    Scale::Low,
    Scale::Amps(Shunt::Nanoamps250),
    Scale::Amps(Shunt::Microamps2),
    Scale::Amps(Shunt::Microamps25),
    Scale::Amps(Shunt::Microamps250),
    Scale::Amps(Shunt::Milliamps2),
    Scale::Amps(Shunt::Milliamps250),
];

/// The limits of one scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Accuracy {
    /// Gain as made, ppm; a correction beyond it is damage.
    pub gain: u16,
    /// Zero as made, hundredths of a code; likewise.
    pub zero: u16,
    /// What is left of the gain once it was corrected, at the bench and on that day, ppm.
    pub adjusted_gain: u16,
    /// What is left of the zero, likewise.
    pub adjusted_zero: u16,
    /// What the gain moves by from one calibration to the next, ppm.
    pub gain_drift: u16,
    /// What the zero moves by, likewise.
    pub zero_drift: u16,
    /// Noise of one sample, rms.
    pub noise: u16,
}

/// 3 % and 2 V as the trip allows for; the zero within half a volt from one calibration to the next.
const VOLTS: Accuracy = Accuracy {
    gain: 30_000,
    zero: 266,
    adjusted_gain: 5_000,
    adjusted_zero: 50,
    gain_drift: 15_000,
    zero_drift: 67,
    noise: 100,
};
/// No high voltage across its divider: less drift.
const LOW: Accuracy = Accuracy {
    gain: 30_000,
    zero: 2_000,
    adjusted_gain: 5_000,
    adjusted_zero: 200,
    gain_drift: 10_000,
    zero_drift: 400,
    noise: 200,
};
/// Megohms and leakage of switches in the fine ranges.
const SHUNT: Accuracy = Accuracy {
    gain: 30_000,
    zero: 2_000,
    adjusted_gain: 5_000,
    adjusted_zero: 200,
    gain_drift: 20_000,
    zero_drift: 500,
    noise: 100,
};
/// A shunt of few ohms.
const COARSE: Accuracy = Accuracy { gain_drift: 12_000, ..SHUNT };

impl Scale {
    /// The limits of this scale.
    #[must_use]
    pub const fn accuracy(self) -> &'static Accuracy {
        match self {
            Self::Volts | Self::Volts2 => &VOLTS,
            Self::Low => &LOW,
            Self::Amps(Shunt::Milliamps250) => &COARSE,
            Self::Amps(_) => &SHUNT,
        }
    }

    /// Its position in [`SCALES`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Volts => 0,
            Self::Volts2 => 1,
            Self::Low => 2,
            Self::Amps(shunt) => (shunt.index() as usize).saturating_add(3),
        }
    }

    /// What one code is worth, in volts or amperes.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a round number of base units")]
    pub const fn code(self, front: &FrontEnd) -> f32 {
        let (gain, per) = match self {
            Self::Volts => (front.v.gain_q24(), 1.0e6),
            Self::Volts2 => (front.v2.gain_q24(), 1.0e6),
            Self::Low => (front.low.gain_q24(), 1.0e6),
            Self::Amps(shunt) => (shunt.calibration().gain_q24(), 1.0e12),
        };
        (gain >> 24) as f32 / per
    }

    /// The most that readings are made at, in volts or amperes.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a few volts in microvolts")]
    pub fn span(self, front: &FrontEnd) -> f32 {
        match self {
            // The highest test voltage; what is beyond is there for the trip.
            Self::Volts | Self::Volts2 => 1_000.0,
            Self::Low => front.open_volts.as_microvolts() as f32 / 1.0e6,
            Self::Amps(_) => 25_000.0 * self.code(front),
        }
    }

    /// Whether readings are made in both directions.
    #[must_use]
    pub const fn is_two_way(self) -> bool {
        matches!(self, Self::Low | Self::Amps(Shunt::Milliamps250))
    }

    /// Its name: channel, and range where it has more than one.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Volts => "voltage",
            Self::Volts2 => "voltage_2",
            Self::Low => "low_voltage",
            Self::Amps(Shunt::Nanoamps250) => "current_250nA",
            Self::Amps(Shunt::Microamps2) => "current_2.5uA",
            Self::Amps(Shunt::Microamps25) => "current_25uA",
            Self::Amps(Shunt::Microamps250) => "current_250uA",
            Self::Amps(Shunt::Milliamps2) => "current_2.5mA",
            Self::Amps(Shunt::Milliamps250) => "current_250mA",
        }
    }

    /// The symbol of its unit.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Volts | Self::Volts2 | Self::Low => "V",
            Self::Amps(_) => "A",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_scale_stands_where_it_says() {
        for (n, scale) in SCALES.iter().enumerate() {
            assert_eq!(scale.index(), n, "{}", scale.word());
        }
    }

    #[test]
    fn the_trip_allows_for_all_that_readings_allow_for() {
        let front = &FrontEnd::DEFAULT;
        let tolerance = front.tolerance;
        for scale in [Scale::Volts, Scale::Volts2] {
            let limits = scale.accuracy();
            let zero = f32::from(limits.zero) / 100.0 * scale.code(front);
            assert!(limits.gain <= tolerance.per_mille * 1_000);
            assert!(zero <= tolerance.fixed.as_millivolts() as f32 / 1.0e3);
            assert!(limits.gain_drift < limits.gain && limits.zero_drift < limits.zero);
        }
    }
}
