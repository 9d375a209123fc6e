//! What a timed test tells: a ratio, a resistance, a discharge figure, or why there is none.

use super::{Point, TimedRun};
use crate::calibration::Adjusted;
use crate::frame::TimedTest;
use crate::judge::{Budget, Flags, Parts, Reading, Unit, Value};
use crate::limits::{Half, NoRatio, RatioKind, ratio};
use crate::measure::{float_ohms, root, volts};
use crate::profile::{Scale, TestTimes};
use crate::unit::Duration;

/// A ramp longer than this is that of a large store, whose first point still charges.
const SLOW_RAMP: Duration = Duration::from_secs(3);
/// A fall of the resistance to less than this from one step to the next shows damp or ageing (a
/// fall with the voltage is commonly taught; the quarter is common practice, from memory).
const STEP_KEEPS: f32 = 0.75;
/// Below this a discharge current is too small beside what the low range can tell.
const LEAST_FARADS: f32 = 10.0e-9;
/// What every point of an absorbing insulation is, and what says nothing against its ratio.
const NATURAL: Flags = Flags::UNSETTLED.with(Flags::RISING);

/// Why a timed test has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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

    /// All of them, in the order of their words.
    pub const ALL: [Self; 7] = [
        Self::CutShort,
        Self::Inequality,
        Self::RangeChanged,
        Self::SlowRamp,
        Self::StoreTooSmall,
        Self::TooHigh,
        Self::VoltageChanged,
    ];

    /// The position of its word in [`Refusal::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.get(self.index()).copied().unwrap_or("")
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
        store: Reading,
        times: &TestTimes,
        adjusted: &Adjusted<'_>,
    ) -> Result<Reading, Refusal> {
        if self.next_moment(times).is_some() {
            return Err(Refusal::CutShort);
        }
        match self.test {
            TimedTest::AbsorptionRatio | TimedTest::PolarizationIndex => {
                self.ratio(times, adjusted)
            }
            TimedTest::Steps => {
                Ok(last.flagged(self.slow().with_if(Flags::STEP_FALL, self.falls())))
            }
            TimedTest::Plain => Ok(last.flagged(self.slow())),
            TimedTest::Discharge => self.discharge(store, adjusted),
        }
    }

    fn ratio(&self, times: &TestTimes, adjusted: &Adjusted<'_>) -> Result<Reading, Refusal> {
        let [first, second] = self.pair(times).ok_or(Refusal::CutShort)?;
        let a = self.at(first).ok_or(Refusal::CutShort)?;
        let b = self.at(second).ok_or(Refusal::CutShort)?;
        if self.slow() != Flags::NONE {
            return Err(Refusal::SlowRamp);
        }
        if a.shunt != b.shunt {
            return Err(Refusal::RangeChanged);
        }
        let kind = match self.test {
            TimedTest::PolarizationIndex => RatioKind::Polarization,
            _ => RatioKind::Absorption,
        };
        let ratio = ratio(kind, half(a, adjusted), half(b, adjusted))?;
        Ok(ratio.flagged(self.flags.without(NATURAL)))
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
    fn discharge(&self, store: Reading, adjusted: &Adjusted<'_>) -> Result<Reading, Refusal> {
        let left = self.left_volts(adjusted.front()).ok_or(Refusal::CutShort)?;
        let left = adjusted.corrected(Scale::Low, volts(left));
        let charged_to = self.curve.last().map_or(0.0, |point| volts(point.v));
        let farads = store.value.amount().filter(|c| LEAST_FARADS <= *c && charged_to > 0.0);
        let farads = farads.ok_or(Refusal::StoreTooSmall)?;
        let front = adjusted.front();
        // The dividers take their share beside the resistor.
        let siemens = 1.0 / float_ohms(front.discharge) + 1.0 / float_ohms(front.input);
        let scale = 1.0e3 * siemens / (charged_to * farads);
        let figure = left * scale;
        Ok(Reading {
            value: Value::Number(figure),
            unit: Unit::MilliampPerVoltFarad,
            doubt: root(&[
                store.doubt / farads * figure,
                Parts::shown(adjusted, Scale::Low).at(left) * scale,
            ]),
            flags: self.flags.without(NATURAL).with(self.slow()),
            ..Reading::NONE
        })
    }
}

/// A point as one half of a ratio. The gain is that of both halves and cancels, so its doubt is left
/// out; noise and offset are each one's own.
fn half(point: &Point, adjusted: &Adjusted<'_>) -> Half {
    let v = volts(point.v);
    let fixed = Budget::insulation(adjusted, point.shunt).i.fixed();
    let doubt = point.value.amount().filter(|_| v > 0.0).map_or(0.0, |r| fixed * r * r / v);
    Half { reading: Reading { value: point.value, doubt, ..Reading::NONE }, v: Some(point.v) }
}

impl From<NoRatio> for Refusal {
    fn from(why: NoRatio) -> Self {
        match why {
            NoRatio::Bound | NoRatio::NoResistance => Self::Inequality,
            NoRatio::TooHigh => Self::TooHigh,
            NoRatio::VoltageMoved => Self::VoltageChanged,
        }
    }
}
