//! What differs between one kind of instrument and another: limits, permissions, front end.
//!
//! A profile is `const` data with a `const` check. Levels that relate to each other (a trip below
//! the hazardous limit by the tolerance of the channel, a store that can be let down in time) are
//! checked at compile time for the built-in ones; [`Profile::check`] does the same for a user's own.

use crate::hazard::{self, Tolerance, Trip};
use crate::unit::{Capacitance, Duration, Energy, Resistance, Voltage};

mod accuracy;
mod built_in;
mod front_end;

pub use accuracy::{Accuracy, SCALES, Scale};
pub use built_in::{GENERAL, LOW_VOLTAGE, TELECOM, WET};
pub use front_end::{FrontEnd, SHUNTS, Shunt};

/// Everything about an instrument that a decision depends on.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Profile {
    /// Its number in records, for ever: 1 to 127 for the built-in ones, a user's own from 128 on.
    pub id: u8,
    /// Its name in words.
    pub name: &'static str,
    /// Above any of these the terminals are called live.
    pub trip: Trip,
    /// The published limit that the trip stands below.
    pub limit: Trip,
    /// Below all of these the terminals may be called quiet.
    pub quiet: Quiet,
    /// Voltage below which a discharged circuit may be let go.
    pub safe: Voltage,
    /// Test voltages that may be chosen.
    pub sets: Sets,
    /// Standing direct voltage up to which a drive is permitted; zero: none.
    pub standing_max: Voltage,
    /// Whether a drive is permitted on induced pick-up.
    pub induced: bool,
    /// Length of one proof window.
    pub window: Duration,
    /// The largest store that may be charged.
    pub c_max: Capacitance,
    /// The largest energy that may be put into it.
    pub e_max: Energy,
    /// The longest untimed drive in one press.
    pub press_max: Duration,
    /// The longest held drive.
    pub held_max: Duration,
    /// The times of the tests that run by the clock.
    pub times: TestTimes,
    /// The largest lead resistance that may be nulled.
    pub null_max: Resistance,
    /// Supply below which nothing is driven.
    pub supply_min_mv: u16,
    /// The analogue front end.
    pub front_end: FrontEnd,
}

/// The times of the tests that run by the clock, from where the voltage stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct TestTimes {
    /// A plain timed test.
    pub plain: Duration,
    /// The two moments of the dielectric absorption ratio.
    pub absorption: [Duration; 2],
    /// The two moments of the polarization index.
    pub polarization: [Duration; 2],
    /// One of the five steps of a step-voltage test.
    pub step: Duration,
    /// How long the voltage stands before a dielectric discharge.
    pub charge: Duration,
    /// How long after its beginning the current of a dielectric discharge is read.
    pub reabsorb: Duration,
}

impl TestTimes {
    /// Whether every pair is in order and every time is whole seconds that a curve can name.
    const fn is_sound(&self) -> bool {
        let [a, b] = self.absorption;
        let [c, d] = self.polarization;
        a.is_below(b)
            && c.is_below(d)
            && whole(a)
            && whole(b)
            && whole(c)
            && whole(d)
            && whole(self.plain)
            && whole(self.step)
            && whole(self.charge)
            && whole(self.reabsorb)
    }
}

/// The longest time that may be asked for: an hour.
const LONGEST_S: u32 = 3_600;

/// Whether `t` is a number of whole seconds up to the longest.
const fn whole(t: Duration) -> bool {
    let seconds = t.as_secs();
    seconds > 0 && seconds <= LONGEST_S && seconds.saturating_mul(1_000_000) == t.as_micros()
}

/// Levels below which terminals are quiet enough to be called dead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Quiet {
    /// Direct part.
    pub dc: Voltage,
    /// Alternating part, true RMS.
    pub ac: Voltage,
    /// Any single excursion.
    pub excursion: Voltage,
}

/// Which test voltages may be chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Sets {
    /// Any whole volt between two bounds, bounds included.
    Any {
        /// The least.
        least: Voltage,
        /// The greatest.
        greatest: Voltage,
    },
    /// One of a list, unused places zero.
    Listed([Voltage; 5]),
}

impl Sets {
    /// Whether `v` may be chosen.
    #[must_use]
    pub const fn allow(&self, v: Voltage) -> bool {
        match self {
            Self::Any { least, greatest } => {
                !v.is_below(*least)
                    && !greatest.is_below(v)
                    && v.as_volts().saturating_mul(1_000_000) == v.as_microvolts()
            }
            Self::Listed([a, b, c, d, e]) => {
                let v = v.as_microvolts();
                v != 0
                    && (v == a.as_microvolts()
                        || v == b.as_microvolts()
                        || v == c.as_microvolts()
                        || v == d.as_microvolts()
                        || v == e.as_microvolts())
            }
        }
    }

    /// The greatest that may be chosen.
    #[must_use]
    pub const fn greatest(&self) -> Voltage {
        match self {
            Self::Any { greatest, .. } => *greatest,
            Self::Listed([a, b, c, d, e]) => a.greatest(*b).greatest(*c).greatest(*d).greatest(*e),
        }
    }
}

/// What is wrong with a profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Mismatch {
    /// A trip level does not stand below the hazardous limit by the channel's tolerance.
    TripTooHigh,
    /// The quiet or safe levels do not stand below the trip.
    QuietTooHigh,
    /// The voltage channels would clip below 1.25 times the greatest test voltage.
    ClipsTooEarly,
    /// The largest store holds more than the largest energy at the greatest test voltage.
    StoreTooLarge,
    /// The largest store cannot be let down to the safe level in 10 s.
    DischargeTooSlow,
    /// A standing voltage is permitted that the proof cannot tell from a stiff source.
    StandingTooHigh,
    /// A proof window is shorter than two cycles of 16 2/3 Hz.
    WindowTooShort,
    /// A timed test has moments out of order, or not whole seconds up to an hour.
    TimesUnsound,
}

impl core::fmt::Display for Mismatch {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::TripTooHigh => {
                "a trip level does not stand below the hazardous limit by the tolerance"
            }
            Self::QuietTooHigh => "the quiet or safe levels do not stand below the trip",
            Self::ClipsTooEarly => {
                "the voltage channels clip below 1.25 times the greatest test voltage"
            }
            Self::StoreTooLarge => "the largest store holds more than the largest energy",
            Self::DischargeTooSlow => {
                "the largest store cannot be let down to the safe level in 10 s"
            }
            Self::StandingTooHigh => {
                "the permitted standing voltage is above what the proof can tell"
            }
            Self::TimesUnsound => {
                "the moments of a timed test are out of order, or no whole seconds up to an hour"
            }
            Self::WindowTooShort => "a proof window is shorter than 120 ms",
        })
    }
}

impl core::error::Error for Mismatch {}

impl Profile {
    /// Checks the levels against each other.
    ///
    /// # Errors
    /// The first [`Mismatch`] found, in the order in which they are listed there.
    pub const fn check(&self) -> Result<(), Mismatch> {
        if !self.trip.stands_below(&self.limit, self.front_end.tolerance) {
            return Err(Mismatch::TripTooHigh);
        }
        let quiet = &self.quiet;
        if !quiet.dc.is_below(self.trip.dc)
            || !quiet.ac.is_below(self.trip.rms)
            || !quiet.excursion.is_below(self.trip.peak)
            || !self.safe.is_below(self.trip.dc)
        {
            return Err(Mismatch::QuietTooHigh);
        }
        let highest = self.sets.greatest();
        if self.front_end.clip_voltage().is_below(highest.saturating_add(highest.div(4))) {
            return Err(Mismatch::ClipsTooEarly);
        }
        if self.e_max.is_below(stored(self.c_max, highest)) {
            return Err(Mismatch::StoreTooLarge);
        }
        if Duration::from_secs(10).is_below(self.let_down(self.c_max, highest)) {
            return Err(Mismatch::DischargeTooSlow);
        }
        if hazard::STANDING_MOST.is_below(self.standing_max) {
            return Err(Mismatch::StandingTooHigh);
        }
        if self.window.is_below(Duration::from_millis(120)) {
            return Err(Mismatch::WindowTooShort);
        }
        if !self.times.is_sound() {
            return Err(Mismatch::TimesUnsound);
        }
        Ok(())
    }

    /// The time in which the discharge resistor takes a store from `v` to the safe level, rounded
    /// up to whole halvings: `tau * ln 2 * ceil(log2(v / safe))`.
    #[must_use]
    pub const fn let_down(&self, c: Capacitance, v: Voltage) -> Duration {
        let tau_us = (c.as_picofarads() as u64)
            .saturating_mul(self.front_end.discharge.as_ohms())
            .saturating_div(1_000_000);
        let mut halvings: u64 = 0;
        let mut left = v;
        while self.safe.is_below(left) && halvings < 32 {
            left = left.div(2);
            halvings = halvings.saturating_add(1);
        }
        let us = tau_us.saturating_mul(halvings).saturating_mul(693).saturating_div(1_000);
        if us > u32::MAX as u64 {
            Duration::MAX
        } else {
            #[allow(clippy::cast_possible_truncation, reason = "bounded by the line above")]
            let us = us as u32;
            Duration::from_micros(us)
        }
    }

    /// The trip's tolerance, as the front end states it.
    #[must_use]
    pub const fn tolerance(&self) -> Tolerance {
        self.front_end.tolerance
    }
}

/// `C V^2 / 2`.
#[must_use]
pub const fn stored(c: Capacitance, v: Voltage) -> Energy {
    let mv = v.as_millivolts().unsigned_abs() as u64;
    // pF * mV^2 = 1e-18 J; in uJ that is 1e-12. A thousandth is taken early, so that 64 bits do.
    let uj = (c.as_picofarads() as u64)
        .saturating_mul(mv.wrapping_mul(mv) / 1_000)
        .wrapping_div(2_000_000_000);
    if uj > u32::MAX as u64 {
        Energy::MAX
    } else {
        #[allow(clippy::cast_possible_truncation, reason = "bounded by the line above")]
        let uj = uj as u32;
        Energy::from_microjoules(uj)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stored_energy_matches_the_textbook_formula() {
        let e = stored(Capacitance::from_microfarads(5), Voltage::from_volts(1_000));
        assert_eq!(e.as_millijoules(), 2_500);
    }

    #[test]
    fn a_trip_at_the_limit_is_refused() {
        let bad = Profile { trip: GENERAL.limit, ..GENERAL };
        assert_eq!(bad.check(), Err(Mismatch::TripTooHigh));
    }

    #[test]
    fn a_store_that_holds_too_much_is_refused() {
        let bad = Profile { c_max: Capacitance::from_microfarads(6), ..GENERAL };
        assert_eq!(bad.check(), Err(Mismatch::StoreTooLarge));
    }

    #[test]
    fn only_whole_volts_inside_the_range_are_allowed() {
        let sets = LOW_VOLTAGE.sets;
        assert!(sets.allow(Voltage::from_volts(10)) && sets.allow(Voltage::from_volts(37)));
        assert!(!sets.allow(Voltage::from_millivolts(37_500)));
        assert!(!sets.allow(Voltage::from_volts(9)) && !sets.allow(Voltage::from_volts(101)));
        assert!(
            !GENERAL.sets.allow(Voltage::ZERO) && !GENERAL.sets.allow(Voltage::from_volts(499))
        );
    }
}
