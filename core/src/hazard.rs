//! The published limits of hazardous-live voltage, and the trip levels that stand below them.
//!
//! All limits here are commonly cited from IEC 61010-1:2010, 6.3.1 (normal condition) or from the
//! older edition of the same clause. Secondary source, not checked against the standard; no
//! conformity is claimed. A profile takes the lower edition and keeps its trip below that limit by
//! at least the tolerance of the voltage channel, which [`Trip::stands_below`] checks at compile time.

use crate::unit::{Current, Voltage};

/// Three ways to say how much is too much: each is a limit of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Trip {
    /// Alternating part, true RMS.
    pub rms: Voltage,
    /// Peak of the alternating part.
    pub peak: Voltage,
    /// Direct part.
    pub dc: Voltage,
}

/// Tolerance of a voltage channel: a share of the reading and a fixed part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Tolerance {
    /// Share of the reading, in parts per thousand.
    pub per_mille: u16,
    /// Fixed part.
    pub fixed: Voltage,
}

/// Dry locations, 2010 edition: 33 V rms, 46.7 V peak, 70 V dc (IEC 61010-1:2010, 6.3.1, secondary).
pub const DRY_2010: Trip = Trip {
    rms: Voltage::from_volts(33),
    peak: Voltage::from_millivolts(46_700),
    dc: Voltage::from_volts(70),
};

/// Dry locations, older editions: 30 V rms, 42.4 V peak (from memory), 60 V dc (secondary: EN 61010-1
/// as quoted in 2000).
pub const DRY_OLDER: Trip = Trip {
    rms: Voltage::from_volts(30),
    peak: Voltage::from_millivolts(42_400),
    dc: Voltage::from_volts(60),
};

/// Wet locations: 16 V rms, 22.6 V peak, 35 V dc (IEC 61010-1:2010, 6.3.1, secondary).
pub const WET: Trip = Trip {
    rms: Voltage::from_volts(16),
    peak: Voltage::from_millivolts(22_600),
    dc: Voltage::from_volts(35),
};

/// The highest standing voltage that a profile may permit: a 60 V exchange feed on float, with
/// margin (common practice). Above it, a proof through 100 kohm would draw more than 2 mA from a
/// source of the least permitted resistance (2 mA dc touch current: IEC 61010-1, older edition,
/// secondary).
pub const STANDING_MOST: Voltage = Voltage::from_volts(75);

/// The most direct current that a permitted standing source may deliver into a short circuit
/// (2 mA dc touch current: IEC 61010-1, older edition, secondary).
pub const STANDING_CURRENT: Current = Current::from_milliamps(2);

impl Trip {
    /// Whether every trip level, raised by the tolerance, still stays below the limit.
    #[must_use]
    pub const fn stands_below(&self, limit: &Self, by: Tolerance) -> bool {
        below(self.rms, limit.rms, by)
            && below(self.peak, limit.peak, by)
            && below(self.dc, limit.dc, by)
    }
}

/// `level * (1 + share) + fixed <= limit`.
const fn below(level: Voltage, limit: Voltage, by: Tolerance) -> bool {
    let share = level.div(1_000).saturating_mul(by.per_mille as i32);
    !limit.is_below(level.saturating_add(share).saturating_add(by.fixed))
}

#[cfg(test)]
mod tests {
    use super::*;

    const BY: Tolerance = Tolerance { per_mille: 30, fixed: Voltage::from_volts(2) };

    #[test]
    fn a_trip_level_at_the_limit_does_not_stand_below_it() {
        assert!(!DRY_OLDER.stands_below(&DRY_OLDER, BY));
    }

    #[test]
    fn one_level_too_high_is_enough_to_fail() {
        let good = Trip {
            rms: Voltage::from_volts(25),
            peak: Voltage::from_volts(35),
            dc: Voltage::from_volts(50),
        };
        assert!(good.stands_below(&DRY_OLDER, BY));
        assert!(
            !Trip { peak: Voltage::from_millivolts(39_300), ..good }.stands_below(&DRY_OLDER, BY)
        );
    }
}
