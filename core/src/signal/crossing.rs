//! Tells the frequency from the moments at which the codes rise through a level.
//!
//! The level lies 20 % of the peak above the mean, and a rise counts only after the codes were as
//! far below it: noise and harmonics on the edge are one crossing. (With 5 %, a mixture of three
//! harmonics of 11 % to 15 % on 18.5 Hz read a steady 36.8 Hz.) Each moment is interpolated
//! between samples to 1/256. Where a short pulse hardly leaves the mean on one side, half the way
//! to that extreme is taken. Where cycles come out unequal, the next window tries 40 %.

use super::channel::CODE_BITS;
use super::inside::Inside;
use super::rate::SampleRate;
use super::sums::Sums;
use crate::unit::Frequency;

/// The part of the peak that the hysteresis takes at first, each way.
const HYSTERESIS_PERCENT: u8 = 20;
/// The most that it takes, where that gave unequal cycles.
const MOST_HYSTERESIS_PERCENT: u8 = 40;
/// The least swing, in codes, that is told from noise.
const LEAST_SWING: i64 = 16;
/// A moment counts in 1/256 of a sample.
const MOMENT: i32 = 256;
/// How many codes a window may have, for its moments to be counted in 32 bits.
pub(super) const MOST_CODES: usize = 8_000_000;

/// Tracks rising crossings through a window of samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Crossings {
    high: i16,
    low: i16,
    last_code: i16,
    above: bool,
    hysteresis_percent: u8,
    cycles: u16,
    now: i32,
    first: Option<i32>,
    last: i32,
    shortest: u32,
    longest: u32,
}

impl Crossings {
    /// Levels not known yet: nothing crosses.
    pub(super) const IDLE: Self = Self {
        high: i16::MAX,
        low: i16::MIN,
        last_code: 0,
        above: true,
        hysteresis_percent: HYSTERESIS_PERCENT,
        cycles: 0,
        now: 0,
        first: None,
        last: 0,
        shortest: u32::MAX,
        longest: 0,
    };

    /// Takes the next codes, while `sums` sums them, until there are none or `enough` of them.
    #[inline]
    pub(super) fn add_block(
        &mut self,
        sums: &mut Sums,
        codes: impl Iterator<Item = i16>,
        enough: impl Fn(u32) -> bool,
    ) {
        let before = sums.samples();
        let quiet = self.quiet();
        let last_code = sums.add_watched(codes, quiet, enough, |code, previous, number| {
            self.meet(code, if number == 1 { self.last_code } else { previous }, number)
        });
        self.last_code = last_code.unwrap_or(self.last_code);
        let samples = sums.samples().wrapping_sub(before).cast_signed();
        self.now = self.now.wrapping_add(samples.wrapping_mul(MOMENT));
    }

    /// The codes that change nothing: below, up to the high level; above, down to the low one.
    fn quiet(&self) -> Inside {
        if self.above { Inside::from(self.low) } else { Inside::up_to(self.high) }
    }

    /// Takes a code that passed the level in wait; answers which codes change nothing now.
    #[inline(never)]
    fn meet(&mut self, code: i16, previous: i16, number: u32) -> Inside {
        self.above = !self.above;
        if self.above {
            let ago = number.cast_signed().wrapping_sub(1).wrapping_mul(MOMENT);
            self.mark(code, previous, self.now.wrapping_add(ago));
        }
        self.quiet()
    }

    /// Notes a rise from `previous` to `code`, which came at the moment `at`.
    fn mark(&mut self, code: i16, previous: i16, at: i32) {
        let beyond = i32::from(code).saturating_sub(i32::from(self.high));
        let rise = i32::from(code).saturating_sub(i32::from(previous));
        let back = beyond.saturating_mul(MOMENT).checked_div(rise).unwrap_or(0).clamp(0, MOMENT);
        let moment = at.saturating_sub(back);
        if self.first.is_none() {
            self.first = Some(moment);
        } else {
            let cycle = moment.abs_diff(self.last);
            self.shortest = self.shortest.min(cycle);
            self.longest = self.longest.max(cycle);
            self.cycles = self.cycles.saturating_add(1);
        }
        self.last = moment;
    }

    /// Sets the levels from a mean and from the extremes of what was seen.
    ///
    /// Where they move by more than a quarter of the hysteresis, the crossing carried over is
    /// dropped: it was of another level.
    pub(super) fn aim(&mut self, mean_q16: i64, seen: &Sums) {
        let (least, greatest) = seen.extremes();
        let mean = mean_q16 >> CODE_BITS;
        let up = i64::from(greatest).saturating_sub(mean);
        let down = mean.saturating_sub(i64::from(least));
        if up.saturating_add(down) < LEAST_SWING {
            *self = Self::IDLE;
            return;
        }
        let percent = i64::from(self.hysteresis_percent);
        let hysteresis = up.max(down).saturating_mul(percent).wrapping_div(100);
        let high = code(mean.saturating_add(hysteresis.min(up >> 1)));
        if u64::from(high.abs_diff(self.high)) > hysteresis.unsigned_abs() >> 2 {
            (self.first, self.cycles) = (None, 0);
        }
        self.high = high;
        self.low = code(mean.saturating_sub(hysteresis.min(down >> 1)));
    }

    /// Gives the frequency over the window that ends here and begins the next one.
    ///
    /// `None` below two whole cycles, or where one cycle is longer than another by more than an
    /// eighth and a sample: then the crossings are not those of one period. The last crossing is
    /// carried over, so that the next window begins in the middle of a cycle already known.
    pub(super) fn close(&mut self, rate: SampleRate) -> Option<Frequency> {
        let answer = self.frequency(rate);
        if answer.is_none() {
            let wider = self.hysteresis_percent.saturating_mul(2);
            let unequal = self.cycles >= 2 && wider <= MOST_HYSTERESIS_PERCENT;
            self.hysteresis_percent = if unequal { wider } else { HYSTERESIS_PERCENT };
        }
        self.first = match self.first {
            Some(_) if self.last >= 0 => Some(self.last.saturating_sub(self.now)),
            _ => None,
        };
        self.last = self.first.unwrap_or(0);
        (self.now, self.cycles, self.shortest, self.longest) = (0, 0, u32::MAX, 0);
        answer
    }

    fn frequency(&self, rate: SampleRate) -> Option<Frequency> {
        let regular =
            u64::from(self.longest).saturating_mul(2) <= u64::from(self.shortest).saturating_mul(3);
        if self.cycles < 2 || !regular {
            return None;
        }
        let span = u64::from(self.last.abs_diff(self.first?));
        let per_second = u64::from(rate.as_per_second()).saturating_mul(1_000);
        let scaled = per_second
            .saturating_mul(u64::from(MOMENT.unsigned_abs()))
            .saturating_mul(u64::from(self.cycles));
        let millihertz = scaled.saturating_add(span >> 1).checked_div(span)?;
        Some(Frequency::from_millihertz(u32::try_from(millihertz).ok()?))
    }
}

/// A level between two codes, as a code.
fn code(level: i64) -> i16 {
    i16::try_from(level).unwrap_or(if level < 0 { i16::MIN } else { i16::MAX })
}

#[cfg(test)]
mod tests {
    use super::{Crossings, Frequency, SampleRate, Sums};

    /// A triangle of `half` samples each way, `height` codes from end to end.
    fn triangle(half: i32, height: i32, samples: i32) -> impl Iterator<Item = i16> + Clone {
        (0..samples).map(move |sample| {
            let place = sample % (2 * half);
            let up = if place < half { place } else { 2 * half - place };
            i16::try_from(up * height / half - height / 2).unwrap()
        })
    }

    /// Feeds in blocks of seven, so that crossings fall on every place of a block.
    fn feed(crossings: &mut Crossings, codes: impl Iterator<Item = i16>) {
        let codes: std::vec::Vec<i16> = codes.collect();
        let mut sums = Sums::EMPTY;
        for block in codes.chunks(7) {
            crossings.add_block(&mut sums, block.iter().copied(), |_| false);
        }
    }

    fn aimed(codes: impl Iterator<Item = i16> + Clone) -> Crossings {
        let mut seen = Sums::EMPTY;
        seen.add_block(codes);
        let mut crossings = Crossings::IDLE;
        crossings.aim(seen.moments().mean_q16(), &seen);
        crossings
    }

    #[test]
    fn a_steady_triangle_has_its_own_frequency() {
        let codes = triangle(100, 20_000, 2_000);
        let mut crossings = aimed(codes.clone());
        feed(&mut crossings, codes);
        assert_eq!(crossings.close(SampleRate::DEFAULT), Some(Frequency::from_hertz(50)));
    }

    #[test]
    fn two_whole_cycles_are_needed_and_suffice() {
        for (samples, known) in [(461, false), (462, true)] {
            let codes = triangle(100, 20_000, samples);
            let mut crossings = aimed(triangle(100, 20_000, 2_000));
            feed(&mut crossings, codes);
            assert_eq!(crossings.close(SampleRate::DEFAULT).is_some(), known, "{samples}");
        }
    }

    #[test]
    fn a_window_begins_with_the_last_crossing_of_the_one_before() {
        // 3 cycles of 660 samples: a window of 2 000 alone may hold but two whole ones.
        let mut crossings = aimed(triangle(330, 20_000, 6_600));
        let codes: std::vec::Vec<i16> = triangle(330, 20_000, 8_000).collect();
        let mut answers = codes.chunks(2_000).map(|window| {
            feed(&mut crossings, window.iter().copied());
            crossings.close(SampleRate::DEFAULT)
        });
        answers.next();
        for answer in answers {
            assert_eq!(answer, Some(Frequency::from_millihertz(15_152)));
        }
    }

    #[test]
    fn ripple_within_the_hysteresis_is_not_a_crossing() {
        let ripple = [0, 600, -600, 300, -300];
        let codes = triangle(100, 20_000, 2_000)
            .enumerate()
            .map(|(index, code)| code + ripple[index % ripple.len()] / 2);
        let mut crossings = aimed(codes.clone());
        feed(&mut crossings, codes);
        let hertz = crossings.close(SampleRate::DEFAULT).unwrap();
        assert!(hertz.as_millihertz().abs_diff(50_000) < 100, "{hertz:?}");
    }

    #[test]
    fn a_swing_of_a_few_codes_has_no_frequency() {
        for (height, known) in [(14, false), (18, true)] {
            let codes = triangle(100, height, 2_000);
            let mut crossings = aimed(codes.clone());
            feed(&mut crossings, codes);
            assert_eq!(crossings.close(SampleRate::DEFAULT).is_some(), known, "{height}");
        }
    }

    #[test]
    fn unequal_cycles_have_no_frequency() {
        let slow = triangle(100, 20_000, 1_000);
        let codes = slow.clone().chain(triangle(40, 20_000, 1_000));
        let mut crossings = aimed(slow);
        feed(&mut crossings, codes);
        assert_eq!(crossings.close(SampleRate::DEFAULT), None);
    }

    #[test]
    fn a_strong_harmonic_is_told_from_the_fundamental_after_a_few_windows() {
        let codes = triangle(100, 20_000, 10_000).zip(triangle(4, 12_000, 10_000));
        let codes: std::vec::Vec<i16> = codes.map(|(slow, fast)| slow + fast).collect();
        let mut seen = Sums::EMPTY;
        seen.add_block(codes.iter().copied());
        let mut crossings = Crossings::IDLE;
        let answers: std::vec::Vec<_> = codes
            .chunks(2_000)
            .map(|window| {
                crossings.aim(0, &seen);
                feed(&mut crossings, window.iter().copied());
                crossings.close(SampleRate::DEFAULT)
            })
            .collect();
        assert_eq!(answers[0], None);
        assert_eq!(answers[3..], [Some(Frequency::from_hertz(50)); 2]);
    }

    #[test]
    fn silence_forgets_the_crossing_carried_over() {
        let mut crossings = aimed(triangle(100, 20_000, 2_000));
        feed(&mut crossings, triangle(100, 20_000, 1_990));
        crossings.close(SampleRate::DEFAULT);
        assert!(crossings.first.is_some());
        feed(&mut crossings, core::iter::repeat_n(0, 2_000));
        assert_eq!(crossings.close(SampleRate::DEFAULT), None);
        assert_eq!(crossings.first, None);
    }

    #[test]
    fn a_short_pulse_from_zero_has_a_frequency() {
        let codes = (0..2_000).map(|sample| if sample % 200 < 10 { 10_000 } else { 0 });
        let mut crossings = aimed(codes.clone());
        feed(&mut crossings, codes);
        assert_eq!(crossings.close(SampleRate::DEFAULT), Some(Frequency::from_hertz(50)));
    }
}
