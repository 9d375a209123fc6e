//! True RMS, DC and frequency of one channel, five times a second.

use super::channel::{Channel, Quantity};
use super::crossing::Crossings;
use super::level::Level;
use super::moments::Moments;
use super::rate::SampleRate;
use super::sums::Sums;
use super::window::{self, STEPS};
use crate::unit::Frequency;

/// Measuring windows in a second.
const WINDOWS: u32 = 5;
/// The most samples in a step, for the weighed sums to fit 64 bits: above 4 MS/s windows shrink.
const MOST_STEP_SAMPLES: u32 = 4_096;
/// Direct voltage below this part of the alternating one is the window's own leak, not a reading.
const LEAST_DC_PART: i64 = 100;

/// Measures one channel over windows of about 0.2 s, fed with blocks of any length.
///
/// RMS and AC are right to 0.1 % and one code from 15 Hz to 450 Hz, harmonics below 4 kHz, and at
/// DC. Where the halves of a cycle differ (DC on AC, a sawtooth), that holds once the frequency is
/// known: windows then hold whole cycles (0.15 s to 0.21 s). The frequency is right to 0.1 Hz at
/// 50 Hz; it is `None` below two whole cycles, in the first window below some 30 Hz, and where
/// cycles differ. DC below 1 % of AC reads zero: at 15 Hz an unmatched window leaks half of that.
///
/// Beyond that range: 0.05 % down to 10 Hz; up to 0.17 % within 5 Hz of 500 Hz and of its multiples
/// (0.002 % between them), since a weight is held for 1 ms.
///
/// Extremes, clipped and samples are those of the window. What happens at the joint of two windows
/// weighs little: levels to act upon fast are taken from [`Sums`] over short stretches.
///
/// ```
/// use ohmwarden_core::{signal::{Channel, Meter, SampleRate}, unit::Voltage};
/// let channel = Channel::<Voltage>::new(Voltage::from_volts(1), 1_000);
/// let mut meter = Meter::new(SampleRate::DEFAULT);
/// let square = (0..2_000).map(|sample| if sample % 200 < 100 { 3_000 } else { -3_000 });
/// let level = meter.add_block(square, &channel).expect("0.2 s are complete");
/// assert_eq!(level.rms.as_millivolts(), 3_000);
/// assert_eq!(level.dc, Voltage::ZERO);
/// assert!(meter.add_block([0; 10].into_iter(), &channel).is_none()); // the next 0.2 s
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meter {
    rate: SampleRate,
    step: u8,
    length: u8,
    aimed: bool,
    /// Samples in one step, and how many the step begun still takes.
    step_samples: u32,
    room: u32,
    /// Samples and extremes of the window; its sums serve only to tell what a block adds.
    whole: Sums,
    /// What is in the step begun.
    begun: Moments,
    weighted: Moments,
    crossings: Crossings,
}

impl Meter {
    /// Starts with an empty window.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self {
            rate,
            step: 0,
            length: STEPS,
            aimed: false,
            step_samples: step_samples(rate),
            room: step_samples(rate),
            whole: Sums::EMPTY,
            begun: Moments::EMPTY,
            weighted: Moments::EMPTY,
            crossings: Crossings::IDLE,
        }
    }

    /// Drops the window begun: for a change of range, or a signal of which nothing carries over.
    pub const fn restart(&mut self) {
        *self = Self::new(self.rate);
    }

    /// Adds a block of codes; gives the level where a window of 0.2 s was completed.
    ///
    /// Of a block that completes several windows, the last is given.
    pub fn add_block<Q: Quantity>(
        &mut self,
        codes: impl Iterator<Item = i16>,
        cal: &Channel<Q>,
    ) -> Option<Level<Q>> {
        let mut level = None;
        self.add(codes, &mut |window, hz| level = Some(window.level(cal, hz)));
        level
    }

    /// Adds a block that was summed already; `codes` are looked at only where they matter one by one.
    ///
    /// Gives the frequency alone where a window was completed: `Some(None)` where it has none.
    pub fn add_sums(
        &mut self,
        block: &Sums,
        codes: impl DoubleEndedIterator<Item = i16> + Clone,
    ) -> Option<Option<Frequency>> {
        let mut frequency = None;
        let mut closed = |_: &Self, hz| frequency = Some(hz);
        let last = codes.clone().next_back();
        if block.samples() > self.room || !self.crossings.pass_over(block, last) {
            self.add(codes, &mut closed);
            return frequency;
        }
        self.whole.merge_extremes(block);
        if self.begun.weight == 0 && block.samples() == self.room {
            // A block that is a whole step need not be put together first.
            self.close_step(&block.moments(), &mut closed);
            return frequency;
        }
        self.begun.add(1, block.moments());
        self.room = self.room.saturating_sub(block.samples());
        self.close_full_step(&mut closed);
        frequency
    }

    /// Adds codes; tells `closed` of each window completed, with its frequency.
    fn add(
        &mut self,
        mut codes: impl Iterator<Item = i16>,
        closed: &mut impl FnMut(&Self, Option<Frequency>),
    ) {
        loop {
            let before = self.whole.moments();
            let room = self.room;
            self.crossings.add_block(&mut self.whole, codes.by_ref(), |samples| samples >= room);
            let added = self.whole.moments().since(before);
            self.begun.add(1, added);
            self.room = self.room.saturating_sub(u32::try_from(added.weight).unwrap_or(room));
            if self.room > 0 {
                return;
            }
            self.close_full_step(closed);
            if codes.size_hint().1 == Some(0) {
                return;
            }
        }
    }

    /// Ends the step begun where it is full.
    fn close_full_step(&mut self, closed: &mut impl FnMut(&Self, Option<Frequency>)) {
        if self.room == 0 {
            let step = core::mem::replace(&mut self.begun, Moments::EMPTY);
            self.close_step(&step, closed);
        }
    }

    /// Steps of the window in a thousand seconds: a million at the default rate.
    fn millisteps_per_second(&self) -> u64 {
        let millisamples = u64::from(self.rate.as_per_second()).saturating_mul(1_000);
        millisamples.checked_div(u64::from(self.step_samples)).unwrap_or(0)
    }

    // Out of line: within the loop over samples its state would crowd out the sums.
    #[inline(never)]
    fn close_step(&mut self, step: &Moments, closed: &mut impl FnMut(&Self, Option<Frequency>)) {
        let weight = window::weight(self.step, self.length);
        self.weighted.add(weight, *step);
        self.room = self.step_samples;
        self.step = self.step.saturating_add(1);
        if !self.aimed && self.step == STEPS >> 1 {
            self.crossings.aim(self.whole.middle_q16(), &self.whole);
        }
        if self.step >= self.length {
            let hz = self.crossings.close(self.rate);
            closed(self, hz);
            self.begin_window(hz);
        }
    }

    /// Begins a window after one of this frequency.
    #[cold]
    #[inline(never)]
    fn begin_window(&mut self, hz: Option<Frequency>) {
        self.crossings.aim(self.weighted.mean_q16(), &self.whole);
        self.aimed = true;
        self.length = window::length(hz, self.millisteps_per_second());
        (self.step, self.whole) = (0, Sums::EMPTY);
        self.weighted = Moments::EMPTY;
    }

    fn level<Q: Quantity>(&self, cal: &Channel<Q>, hz: Option<Frequency>) -> Level<Q> {
        let level = Level::from_moments(&self.weighted, &self.whole, cal);
        let least = level.ac.as_base().wrapping_div(LEAST_DC_PART);
        let shown = level.dc.as_base().saturating_abs() >= least;
        Level { dc: if shown { level.dc } else { Q::from_base(0) }, hz, ..level }
    }
}

/// Samples in one step of the window: 10 at the default rate.
const fn step_samples(rate: SampleRate) -> u32 {
    const STEPS_A_SECOND: u32 = WINDOWS * STEPS as u32;
    let rounded = rate.as_per_second().saturating_add(STEPS_A_SECOND >> 1);
    let samples = rounded.wrapping_div(STEPS_A_SECOND);
    match samples {
        0 => 1,
        MOST_STEP_SAMPLES.. => MOST_STEP_SAMPLES,
        _ => samples,
    }
}

#[cfg(test)]
mod tests {
    use super::{Meter, SampleRate};
    use crate::signal::{Channel, Level, Sums};
    use crate::unit::{Frequency, Voltage};

    fn millivolt_codes() -> Channel<Voltage> {
        Channel::<Voltage>::new(Voltage::from_volts(1), 1_000)
    }

    fn square(samples: u32) -> impl Iterator<Item = i16> {
        (0..samples).map(|sample| if sample % 200 < 100 { 5_000 } else { -5_000 })
    }

    #[test]
    fn a_level_comes_every_2000_samples_whatever_the_blocks() {
        for length in [1, 7, 10, 50, 1_999, 2_000] {
            let mut meter = Meter::new(SampleRate::DEFAULT);
            let codes: std::vec::Vec<i16> = square(8_000).collect();
            let levels: std::vec::Vec<Level<Voltage>> = codes
                .chunks(length)
                .filter_map(|block| meter.add_block(block.iter().copied(), &millivolt_codes()))
                .collect();
            assert_eq!(levels.len(), 4, "blocks of {length}");
            for level in levels {
                assert_eq!((level.rms.as_millivolts(), level.samples), (5_000, 2_000));
                assert_eq!(level.hz, Some(Frequency::from_hertz(50)));
            }
        }
    }

    #[test]
    fn a_direct_voltage_reads_itself_without_a_frequency() {
        for code in [i16::MIN, -1, 0, 1, 12_345, i16::MAX] {
            let mut meter = Meter::new(SampleRate::DEFAULT);
            let codes = core::iter::repeat_n(code, 2_000);
            let level = meter.add_block(codes, &millivolt_codes()).unwrap();
            assert_eq!(level.dc, Voltage::from_millivolts(i32::from(code)));
            assert_eq!(level.rms, level.dc.abs());
            assert_eq!((level.ac, level.hz), (Voltage::ZERO, None));
        }
    }

    #[test]
    fn direct_voltage_below_a_hundredth_of_the_alternating_reads_zero() {
        for (dc, shown) in [(49, 0), (50, 50), (51, 51), (-49, 0), (-51, -51)] {
            let mut meter = Meter::new(SampleRate::DEFAULT);
            let codes = square(2_000).map(|code| code + dc);
            let level = meter.add_block(codes, &millivolt_codes()).unwrap();
            assert_eq!(level.dc, Voltage::from_millivolts(shown), "{dc}");
        }
    }

    #[test]
    fn summed_blocks_tell_the_same_frequency_as_codes_one_by_one() {
        // Blocks that are a step, that are not, and that leave a step begun.
        for lengths in [&[10][..], &[7], &[3, 7], &[10, 10, 4, 6, 25]] {
            let codes: std::vec::Vec<i16> = square(12_000).collect();
            let (mut summed, mut single) = (Meter::new(SampleRate::DEFAULT), None);
            let mut rest = &codes[..];
            let mut meter = Meter::new(SampleRate::DEFAULT);
            for &length in lengths.iter().cycle() {
                let (block, after) = rest.split_at(length.min(rest.len()));
                rest = after;
                let sums = Sums::of_block(block.iter().copied());
                let hz = summed.add_sums(&sums, block.iter().copied());
                let level = meter.add_block(block.iter().copied(), &millivolt_codes());
                assert_eq!(hz, level.map(|level| level.hz), "{lengths:?}");
                single = level.or(single);
                if rest.is_empty() {
                    break;
                }
            }
            assert_eq!(single.unwrap().hz, Some(Frequency::from_hertz(50)), "{lengths:?}");
        }
    }

    #[test]
    fn a_restart_forgets_what_was_before() {
        let mut meter = Meter::new(SampleRate::DEFAULT);
        meter.add_block(square(3_333), &millivolt_codes());
        meter.restart();
        assert_eq!(meter, Meter::new(SampleRate::DEFAULT));
    }

    #[test]
    fn any_rate_gives_windows_of_about_a_fifth_of_a_second() {
        for (rate, samples) in [(1, 200), (1_200, 200), (9_973, 2_000), (48_000, 9_600)] {
            let mut meter = Meter::new(SampleRate::from_per_second(rate));
            let level = meter.add_block(square(samples), &millivolt_codes());
            assert_eq!(level.map(|level| level.samples), Some(samples), "{rate}");
        }
    }
}
