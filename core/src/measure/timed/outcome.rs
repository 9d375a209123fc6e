//! What a timed test tells: a ratio, a resistance, a discharge figure, or why there is none.

use super::{Point, TimedRun};
use crate::frame::TimedTest;
use crate::judge::{Flags, Reading, Unit, Value};
use crate::measure::insulation::current_doubt;
use crate::measure::{float_farads, float_ohms, root, volts};
use crate::profile::{Profile, TestTimes};
use crate::unit::{Capacitance, Duration};

/// Above this at one minute a polarization index tells nothing (commonly cited from IEEE Std
/// 43-2013; secondary source, not checked against the standard, no conformity claimed).
const TOO_HIGH_OHMS: f32 = 5.0e9;
/// A ramp longer than this is that of a large store, whose first point still charges.
const SLOW_RAMP: Duration = Duration::from_secs(3);
/// The voltage of the two points of a ratio may differ by so much.
const SAME_VOLTAGE: f32 = 0.01;
/// A fall of the resistance to less than this from one step to the next shows damp or ageing (a
/// fall with the voltage is commonly taught; the quarter is common practice, from memory).
const STEP_KEEPS: f32 = 0.75;
/// Below this a discharge current is too small beside what the low range can tell.
const LEAST_STORE: Capacitance = Capacitance::from_nanofarads(10);
/// Standard uncertainty of what is read across the discharge resistor, in volts: offset of the low
/// range (own design of the front end).
const LEFT_DOUBT: f32 = 1.0e-3;
/// Standard uncertainty of a capacitance from the charge that went in, as a share.
const STORE_DOUBT: f32 = 0.05;
/// What every point of an absorbing insulation is, and what says nothing against its ratio.
const NATURAL: Flags = Flags::UNSETTLED.with(Flags::RISING);

/// Why a timed test has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Refusal {
    /// It was cut short: points are missing.
    CutShort,
    /// A point is a bound and no number.
    Inequality,
    /// The range of the current changed between the points.
    RangeChanged,
    /// The voltage took longer than 3 s to come up.
    SlowRamp,
    /// The load stores too little for its discharge to be told.
    StoreTooSmall,
    /// More than 5 Gohm at one minute: an index of that tells nothing.
    TooHigh,
    /// The voltage changed by more than 1 % between the points.
    VoltageChanged,
}

impl Refusal {
    /// Their words, in the order of the variants.
    pub const WORDS: &'static [&'static str] = &[
        "cut_short",
        "inequality",
        "range_changed",
        "slow_ramp",
        "store_too_small",
        "too_high",
        "voltage_changed",
    ];

    /// The position of its word in [`Refusal::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }

    /// What it means.
    #[must_use]
    pub const fn says(self) -> &'static str {
        match self {
            Self::CutShort => "the test was cut short; its points are kept",
            Self::Inequality => "a point is a bound, and a ratio of bounds is none",
            Self::RangeChanged => "the range changed between the points",
            Self::SlowRamp => "the voltage took longer than 3 s to come up",
            Self::StoreTooSmall => "the circuit stores too little to tell its discharge",
            Self::TooHigh => "above 5 Gohm at one minute an index tells nothing",
            Self::VoltageChanged => "the voltage changed between the points",
        }
    }
}

impl TimedRun {
    /// What the run tells; `last` is its last reading, `store` what the load was found to hold.
    ///
    /// # Errors
    ///
    /// Why there is no answer: see [`Refusal`].
    pub fn conclude(
        &self,
        last: Reading,
        store: Option<Capacitance>,
        profile: &Profile,
    ) -> Result<Reading, Refusal> {
        if self.next_moment(&profile.times).is_some() {
            return Err(Refusal::CutShort);
        }
        match self.test {
            TimedTest::AbsorptionRatio | TimedTest::PolarizationIndex => self.ratio(&profile.times),
            TimedTest::Steps => {
                Ok(last.flagged(self.slow().with_if(Flags::STEP_FALL, self.falls())))
            }
            TimedTest::Plain => Ok(last.flagged(self.slow())),
            TimedTest::Discharge => self.discharge(store, profile),
        }
    }

    fn ratio(&self, times: &TestTimes) -> Result<Reading, Refusal> {
        let [first, second] = self.pair(times).ok_or(Refusal::CutShort)?;
        let a = self.at(first).ok_or(Refusal::CutShort)?;
        let b = self.at(second).ok_or(Refusal::CutShort)?;
        if self.slow() != Flags::NONE {
            return Err(Refusal::SlowRamp);
        }
        let (Value::Number(from), Value::Number(to)) = (a.value, b.value) else {
            return Err(Refusal::Inequality);
        };
        if matches!(self.test, TimedTest::PolarizationIndex) && TOO_HIGH_OHMS < from {
            return Err(Refusal::TooHigh);
        }
        if a.shunt != b.shunt {
            return Err(Refusal::RangeChanged);
        }
        let (va, vb) = (volts(a.v), volts(b.v));
        if libm::fabsf(va - vb) > SAME_VOLTAGE * libm::fabsf(va) {
            return Err(Refusal::VoltageChanged);
        }
        let ratio = to / from;
        Ok(Reading {
            value: Value::Number(ratio),
            unit: Unit::Ratio,
            // The gain is that of both points and cancels; noise and offset are each one's own.
            doubt: ratio * root(&[own_doubt(a, from), own_doubt(b, to)]),
            flags: self.flags.without(NATURAL),
        })
    }

    fn slow(&self) -> Flags {
        Flags::NONE.with_if(Flags::SLOW_RAMP, SLOW_RAMP.as_millis() < self.ramp_ms)
    }

    /// Whether the resistance fell by more than a quarter from one step to the next.
    fn falls(&self) -> bool {
        let ohms = |point: &Point| match point.value {
            Value::Number(r) => Some(r),
            Value::None | Value::Above(_) | Value::Below(_) => None,
        };
        self.curve.iter().zip(self.curve.iter().skip(1)).any(|(a, b)| match (ohms(a), ohms(b)) {
            (Some(from), Some(to)) => to < STEP_KEEPS * from,
            // What came down from beyond the range to a number fell as well.
            (None, Some(to)) => a.value.amount().is_some_and(|bound| to < STEP_KEEPS * bound),
            _ => false,
        })
    }

    /// Milliamperes a minute after the discharge began, over the voltage before and the store.
    fn discharge(&self, store: Option<Capacitance>, profile: &Profile) -> Result<Reading, Refusal> {
        let left = volts(self.left_volts(profile).ok_or(Refusal::CutShort)?);
        let charged_to = self.curve.last().map_or(0.0, |point| volts(point.v));
        let store = store.filter(|c| LEAST_STORE <= *c && charged_to > 0.0);
        let farads = float_farads(store.ok_or(Refusal::StoreTooSmall)?);
        let front = &profile.front_end;
        // The dividers take their share beside the resistor.
        let siemens = 1.0 / float_ohms(front.discharge) + 1.0 / float_ohms(front.input);
        let scale = 1.0e3 * siemens / (charged_to * farads);
        let figure = left * scale;
        Ok(Reading {
            value: Value::Number(figure),
            unit: Unit::MilliampPerVoltFarad,
            doubt: root(&[STORE_DOUBT * figure, LEFT_DOUBT * scale]),
            flags: self.flags.without(NATURAL).with(self.slow()),
        })
    }
}

/// The share of a point's doubt that is not common to the points of one range.
fn own_doubt(point: &Point, ohms: f32) -> f32 {
    let v = volts(point.v);
    if v > 0.0 { current_doubt(point.shunt) * ohms / v } else { 0.0 }
}
