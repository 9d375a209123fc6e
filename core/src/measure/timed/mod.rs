//! Tests that run by the clock: when a point is due, what voltage a step asks for, when it is over.
//!
//! Time counts from the block in which the voltage first stands at 95 % of what is asked for, so
//! that the ramp of a large store does not eat into the first point. Fed by the instrument with
//! every block and every reading of the drive; what comes of the points is in `outcome`. It says
//! nothing about safety: the interlock ends a drive, this only tells it that the time is over.
//!
//! Between two points that make a ratio the range stays as it is: a step from one shunt to another
//! would enter the ratio with the gain of both.

mod curve;
mod outcome;

pub use curve::{Curve, MOST_POINTS, Point};
pub use outcome::Refusal;

use crate::frame::{Sample, TimedTest};
use crate::judge::{Flags, Reading, Value};
use crate::profile::{FrontEnd, Shunt, TestTimes};
use crate::signal::Mean;
use crate::unit::{Duration, Voltage};

/// Steps of a step-voltage test, all of the same height and length.
const STEPS: u16 = 5;
/// Moments of the curve, in seconds, as far as a test lasts: quarters of the first minute, then
/// whole minutes (common practice).
const MOMENTS: [u16; 13] = [15, 30, 45, 60, 120, 180, 240, 300, 360, 420, 480, 540, 600];
/// Seconds of a minute.
const MINUTE: u16 = 60;
/// A reading spans half a second, so its middle lies this long before its end.
const HALF_READING_MS: u32 = 250;
/// A point that has not come so long after its moment does not come.
const GIVEN_UP_MS: u32 = 3_000;
/// The current of a discharge is read over twice this, round the moment.
const HALF_READ_MS: u32 = 500;
/// Blocks below nine tenths of what is asked for before the test is broken off.
const LOST_MS: u16 = 1_000;

/// One run of a timed test.
#[derive(Clone, Debug)]
pub struct TimedRun {
    test: TimedTest,
    /// Blocks of 1 ms since the voltage stood; `None` before.
    elapsed: Option<u32>,
    ramp_ms: u32,
    is_up: bool,
    looks: bool,
    low: u16,
    curve: Curve,
    flags: Flags,
    /// The last reading, with the block of its middle.
    before: Option<(u32, Value)>,
    /// What is left across the discharge resistor a minute after the discharge began.
    left: Mean,
}

impl TimedRun {
    /// Nothing begun.
    pub const IDLE: Self = Self {
        test: TimedTest::Plain,
        elapsed: None,
        ramp_ms: 0,
        is_up: false,
        looks: false,
        low: 0,
        curve: Curve::new(),
        flags: Flags::NONE,
        before: None,
        left: Mean::EMPTY,
    };

    /// Begins anew.
    pub fn begin(&mut self, test: TimedTest) {
        self.test = test;
        self.elapsed = None;
        self.ramp_ms = 0;
        self.is_up = false;
        self.looks = false;
        self.low = 0;
        self.curve.clear();
        self.flags = Flags::NONE;
        self.before = None;
        self.left = Mean::EMPTY;
    }

    /// What to drive now in a test up to `full`.
    #[must_use]
    pub fn set(&self, full: Voltage) -> Voltage {
        // A step ends once its point is taken, so that no point mixes two voltages.
        step_voltage(self.test, full, self.curve.len())
    }

    /// Takes one block of 1 ms with `v` at the terminals.
    pub fn step(&mut self, v: Voltage, set: Voltage) {
        self.looks = false;
        let hundredth = set.div(100);
        let came = self.elapsed.is_none() && !v.is_below(hundredth.saturating_mul(95));
        match (&mut self.elapsed, came) {
            (elapsed @ None, true) => *elapsed = Some(0),
            (None, false) => self.ramp_ms = self.ramp_ms.saturating_add(1),
            (Some(elapsed), _) => *elapsed = elapsed.saturating_add(1),
        }
        let low = v.is_below(hundredth.saturating_mul(90));
        self.low = if low { self.low.saturating_add(1) } else { 0 };
    }

    /// The first climb is over: the voltage stands.
    pub const fn arrive(&mut self) {
        self.is_up = true;
    }

    /// Whether the first climb is over.
    #[must_use]
    pub const fn is_up(&self) -> bool {
        self.is_up
    }

    /// Drops the points since the last look but one: this one found a source that is not ours.
    pub fn distrust(&mut self) {
        let last = self.curve.last().map_or(0, |point| point.seconds);
        self.curve.retain(|point| point.seconds.saturating_add(MINUTE) <= last);
    }

    /// Whether the source is to be off for a look now: right after the point of a whole minute, so
    /// that what it does to the absorption has died away before the next.
    #[must_use]
    pub const fn looks(&self) -> bool {
        self.looks
    }

    /// Takes a new reading; where a point is due between its middle and that of the one before, keeps
    /// what stood in between.
    pub fn take(&mut self, reading: &Reading, v: Voltage, shunt: Shunt, times: &TestTimes) {
        let Some(elapsed) = self.elapsed else { return };
        let middle = elapsed.saturating_sub(HALF_READING_MS);
        let before = self.before.replace((middle, reading.value));
        let Some(seconds) = self.next_moment(times) else { return };
        let moment = u32::from(seconds).saturating_mul(1_000);
        if middle < moment {
            return;
        }
        let value = match before {
            Some(before) => between(before, (middle, reading.value), moment),
            None => reading.value,
        };
        let point = Point { value, v, seconds, shunt };
        if self.curve.push(point).is_ok() && self.makes_the_answer(seconds, times) {
            self.flags = self.flags.with(reading.flags);
        }
        self.looks = seconds.is_multiple_of(MINUTE) && self.next_moment(times).is_some();
    }

    /// Whether the range must stay as it is: a point that a ratio is made of has been taken.
    #[must_use]
    pub fn holds_range(&self, times: &TestTimes) -> bool {
        self.pair(times).is_some_and(|[first, _]| self.at(first).is_some())
    }

    /// Whether all points were taken, or the last one does not come any more.
    #[must_use]
    pub fn is_over(&self, times: &TestTimes) -> bool {
        let Some(elapsed) = self.elapsed else { return false };
        let given_up = self.length(times).as_millis().saturating_add(GIVEN_UP_MS);
        self.next_moment(times).is_none() || given_up < elapsed
    }

    /// Whether the voltage sagged, or did not come up in `ramp_due` blocks.
    #[must_use]
    pub fn is_lost(&self, ramp_due: u32) -> bool {
        match self.elapsed {
            Some(_) => self.low >= LOST_MS,
            None => ramp_due < self.ramp_ms,
        }
    }

    /// Takes one block of 1 ms of the discharge, `millis` after it began; answers whether its
    /// current is still to be read.
    pub fn step_discharge(&mut self, samples: &[Sample], millis: u32, times: &TestTimes) -> bool {
        if !matches!(self.test, TimedTest::Discharge) || !self.is_over(times) {
            return false;
        }
        let from = times.reabsorb.as_millis().saturating_sub(HALF_READ_MS);
        if millis < from && self.left.samples() > 0 {
            // Another discharge, after the one that ended the test.
            return false;
        }
        if from <= millis {
            self.left.add_block(samples.iter().map(|s| s.low));
        }
        millis < times.reabsorb.as_millis().saturating_add(HALF_READ_MS)
    }

    /// What was left across the discharge resistor when its current was read.
    #[must_use]
    pub fn left_volts(&self, front: &FrontEnd) -> Option<Voltage> {
        (self.left.samples() > 0).then(|| self.left.value(&front.low))
    }

    /// What is being told.
    #[must_use]
    pub const fn test(&self) -> TimedTest {
        self.test
    }

    /// How long the voltage has stood; nothing while it still climbs.
    #[must_use]
    pub fn elapsed(&self) -> Duration {
        Duration::from_millis(self.elapsed.unwrap_or(0))
    }

    /// The points so far: they stay when a test is cut short.
    #[must_use]
    pub const fn curve(&self) -> &Curve {
        &self.curve
    }

    /// How long the voltage is to stand in all.
    #[must_use]
    pub fn length(&self, times: &TestTimes) -> Duration {
        length(self.test, times)
    }

    /// The two moments, in seconds, that a ratio is made of.
    fn pair(&self, times: &TestTimes) -> Option<[u16; 2]> {
        match self.test {
            TimedTest::AbsorptionRatio => Some(times.absorption.map(seconds)),
            TimedTest::PolarizationIndex => Some(times.polarization.map(seconds)),
            TimedTest::Discharge | TimedTest::Plain | TimedTest::Steps => None,
        }
    }

    /// Whether what spoils a reading at this moment spoils the answer.
    fn makes_the_answer(&self, seconds: u16, times: &TestTimes) -> bool {
        self.pair(times).is_none_or(|pair| pair.contains(&seconds))
    }

    fn at(&self, seconds: u16) -> Option<&Point> {
        self.curve.iter().find(|point| point.seconds == seconds)
    }

    /// The next moment at which a point is due; the last place of the curve is kept for the end.
    fn next_moment(&self, times: &TestTimes) -> Option<u16> {
        let after = self.curve.last().map_or(0, |point| point.seconds);
        let end = seconds(self.length(times));
        if end <= after {
            return None;
        }
        if self.curve.len().saturating_add(1) >= MOST_POINTS {
            return Some(end);
        }
        if matches!(self.test, TimedTest::Steps) {
            return Some(after.saturating_add(seconds(times.step)));
        }
        let pair = self.pair(times).unwrap_or([end; 2]);
        let due = MOMENTS.into_iter().chain(pair).filter(|s| after < *s);
        Some(due.fold(end, u16::min))
    }
}

/// How long the voltage is to stand in a test.
#[must_use]
pub const fn length(test: TimedTest, times: &TestTimes) -> Duration {
    match test {
        TimedTest::AbsorptionRatio => times.absorption[1],
        TimedTest::Discharge => times.charge,
        TimedTest::Plain => times.plain,
        TimedTest::PolarizationIndex => times.polarization[1],
        TimedTest::Steps => times.step.saturating_mul(STEPS as u32),
    }
}

/// The voltage of a step of a test up to `full`, counted from 0.
#[must_use]
pub fn step_voltage(test: TimedTest, full: Voltage, step: usize) -> Voltage {
    let number = i32::try_from(step).unwrap_or(i32::MAX).saturating_add(1).min(i32::from(STEPS));
    match test {
        TimedTest::Steps => full.div(i32::from(STEPS)).saturating_mul(number),
        _ => full,
    }
}

/// The value at `moment` between two readings: on the straight line where both are numbers.
#[expect(clippy::cast_precision_loss, reason = "some hundreds of milliseconds")]
fn between(from: (u32, Value), to: (u32, Value), moment: u32) -> Value {
    let (Value::Number(a), Value::Number(b)) = (from.1, to.1) else { return to.1 };
    let whole = to.0.saturating_sub(from.0);
    let part = moment.saturating_sub(from.0).min(whole);
    if whole == 0 { to.1 } else { Value::Number(a + (b - a) * (part as f32 / whole as f32)) }
}

/// Whole seconds, as the trade names its moments.
fn seconds(duration: Duration) -> u16 {
    u16::try_from(duration.as_secs()).unwrap_or(u16::MAX)
}

#[cfg(test)]
mod tests;
