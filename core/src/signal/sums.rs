//! Exact sums over any stretch of codes.

use super::channel::{CODE_BITS, Channel, Quantity};
use super::crossing::{Crossings, MOST_CODES};
use super::inside::Inside;
use super::level::Level;
use super::moments::Moments;
use super::rate::SampleRate;
use crate::unit::Frequency;

/// Count, sum, sum of squares and extremes of a stretch of codes, without loss.
///
/// Holds up to `u32::MAX` samples (five days at 10 kS/s) exactly; a block that would pass that is
/// left out. Sums of adjacent stretches merge into the sums of the whole.
///
/// ```
/// use ohmwarden_core::{signal::{Channel, Sums}, unit::Voltage};
/// let channel = Channel::<Voltage>::new(Voltage::from_volts(1), 1_000);
/// let mut sums = Sums::EMPTY;
/// sums.add_block([3_000, -1_000, 3_000, -1_000].into_iter());
/// let level = sums.level(&channel);
/// assert_eq!((level.dc, level.ac), (Voltage::from_volts(1), Voltage::from_volts(2)));
/// assert_eq!(level.peak, Voltage::from_volts(3));
/// assert_eq!(Sums::EMPTY.level(&channel).samples, 0); // no reading
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(Rust, packed(4))]
pub struct Sums {
    sum: i64,
    squares: u64,
    samples: u32,
    least: Extreme,
    greatest: Extreme,
}

impl Sums {
    /// No samples yet.
    pub const EMPTY: Self = Self {
        sum: 0,
        squares: 0,
        samples: 0,
        least: Extreme { code: i16::MAX, times: 0 },
        greatest: Extreme { code: i16::MIN, times: 0 },
    };

    /// Sums a short block up, of at most 65 536 codes, in twelve instructions a sample.
    ///
    /// For blocks that several windows take: summed once, merged into each. An extreme counts once,
    /// however often it was met, so the `clipped` of what it is merged into says whether and not how
    /// often.
    pub fn of_block(codes: impl Iterator<Item = i16>) -> Self {
        let mut block = Self::EMPTY;
        let (mut samples, mut sum, mut squares) = (0_u32, 0_i32, 0_i64);
        // Extremes as words: as half words each would be widened again for every sample.
        let (mut least, mut greatest) = (i32::from(i16::MAX), i32::from(i16::MIN));
        for code in codes.map(i32::from) {
            samples = samples.wrapping_add(1);
            sum = sum.wrapping_add(code);
            squares = squares.wrapping_add(i64::from(code).wrapping_mul(i64::from(code)));
            least = least.min(code);
            greatest = greatest.max(code);
        }
        let (least, greatest) = (narrow(least), narrow(greatest));
        if samples > 0 {
            block.samples = samples;
            block.sum = i64::from(sum);
            block.squares = squares.cast_unsigned();
            block.least = Extreme { code: least, times: 1 };
            block.greatest = Extreme { code: greatest, times: 1 };
        }
        block
    }

    /// Adds one code.
    pub fn add(&mut self, code: i16) {
        self.add_block(core::iter::once(code));
    }

    /// Adds a block of codes. One pass, some ten instructions a sample.
    #[inline]
    pub fn add_block(&mut self, codes: impl Iterator<Item = i16>) {
        self.add_watched(codes, Inside::ALL, |_| false, |_, _, _| Inside::ALL);
    }

    /// Adds a long stretch of codes that lie side by side, as fast as the machine can.
    ///
    /// The same sums as from [`add_block`](Self::add_block), for recordings of millions of codes:
    /// sums and extremes of a chunk come first, and only a chunk that holds an extreme is looked
    /// at again to count it.
    pub fn add_slice(&mut self, codes: &[i16]) {
        for chunk in codes.chunks(CHUNK) {
            let least = chunk.iter().copied().min().unwrap_or(i16::MAX);
            let greatest = chunk.iter().copied().max().unwrap_or(i16::MIN);
            let sum = chunk.iter().fold(0, |sum: i32, &code| sum.wrapping_add(i32::from(code)));
            let (pairs, odd) = chunk.as_chunks::<2>();
            let square = |code: i16| i32::from(code).wrapping_mul(i32::from(code)).cast_unsigned();
            // Two squares are at most 2^31, and the codes of a chunk 2^27.
            let squares = pairs.iter().fold(0, |squares: u64, &[one, other]| {
                squares.wrapping_add(u64::from(square(one).wrapping_add(square(other))))
            });
            let squares =
                odd.iter().fold(squares, |sum, &code| sum.wrapping_add(square(code).into()));
            let times = |extreme: i16| {
                // Counted in 16 bits, which the codes of a chunk do not fill: as fast as a sum.
                let meets =
                    |times: u16, &code: &i16| times.wrapping_add(u16::from(code == extreme));
                Extreme { code: extreme, times: chunk.iter().fold(0, meets) }
            };
            let none = Self::EMPTY;
            self.merge(&Self {
                sum: i64::from(sum),
                squares,
                samples: u32::try_from(chunk.len()).unwrap_or(0),
                least: if least <= self.least.code { times(least) } else { none.least },
                greatest: if greatest >= self.greatest.code {
                    times(greatest)
                } else {
                    none.greatest
                },
            });
        }
    }

    /// Adds codes until there are none or until, of so many, there are `enough`.
    ///
    /// Tells `meet` of each code that is not inside `quiet`: the code, the one before it and its
    /// number, from 1; its answer is watched from there. Gives the last code.
    #[inline]
    pub(super) fn add_watched(
        &mut self,
        mut codes: impl Iterator<Item = i16>,
        mut quiet: Inside,
        enough: impl Fn(u32) -> bool,
        mut meet: impl FnMut(i16, i16, u32) -> Inside,
    ) -> Option<i16> {
        let (mut samples, mut sum, mut squares) = (0_u32, 0_i64, 0_i64);
        let (mut previous, mut last) = (0_i16, 0_i16);
        let (mut least, mut greatest) = (self.least, self.greatest);
        loop {
            let usual = quiet.and(Inside::between(least.code, greatest.code)).test();
            let stopped = codes.by_ref().find(|&code| {
                samples = samples.wrapping_add(1);
                sum = sum.wrapping_add(i64::from(code));
                squares = squares.wrapping_add(i64::from(code).wrapping_mul(i64::from(code)));
                (previous, last) = (last, code);
                !usual(code) || enough(samples)
            });
            let Some(code) = stopped else { break };
            least.meet(code, code <= least.code);
            greatest.meet(code, code >= greatest.code);
            if !quiet.holds(code) {
                quiet = meet(code, previous, samples);
            }
            if enough(samples) {
                break;
            }
        }
        let last = (samples > 0).then_some(last);
        let Some(samples) = self.samples.checked_add(samples) else { return last };
        self.samples = samples;
        self.sum = self.sum.wrapping_add(sum);
        self.squares = self.squares.wrapping_add(squares.cast_unsigned());
        (self.least, self.greatest) = (least, greatest);
        last
    }

    /// Adds what another stretch holds; left out where the two are too long together.
    pub fn merge(&mut self, other: &Self) {
        if !self.merge_means(other) {
            return;
        }
        self.join_extremes(other);
    }

    /// Adds how many samples another stretch holds and its extremes, for whoever keeps its sums
    /// elsewhere.
    pub(super) fn merge_extremes(&mut self, other: &Self) {
        self.samples = self.samples.saturating_add(other.samples);
        self.join_extremes(other);
    }

    fn join_extremes(&mut self, other: &Self) {
        self.least.join(other.least, other.least.code < self.least.code);
        self.greatest.join(other.greatest, other.greatest.code > self.greatest.code);
    }

    /// Adds what another stretch holds but its extremes, for a window whose mean and RMS alone are
    /// asked for: half the work. Answers whether there was room.
    pub(crate) const fn merge_means(&mut self, other: &Self) -> bool {
        let Some(samples) = self.samples.checked_add(other.samples) else { return false };
        self.samples = samples;
        self.sum = self.sum.wrapping_add(other.sum);
        self.squares = self.squares.wrapping_add(other.squares);
        true
    }

    /// How many samples are in it.
    #[must_use]
    pub const fn samples(&self) -> u32 {
        self.samples
    }

    /// The level of the stretch: plain, every sample weighing the same; the frequency not known.
    ///
    /// The RMS is that of these samples. It is that of the signal only over whole cycles or many
    /// of them: see [`Meter`](super::Meter).
    #[inline(never)]
    pub fn level<Q: Quantity>(&self, cal: &Channel<Q>) -> Level<Q> {
        Level::from_moments(&self.moments(), self, cal)
    }

    /// The mean of the stretch: the direct part of its [`level`](Self::level), with a tenth of the
    /// work.
    #[must_use]
    pub fn mean<Q: Quantity>(&self, cal: &Channel<Q>) -> Q {
        self.moments().mean(cal)
    }

    /// Tells the frequency of the codes that were summed, in a second pass over them.
    ///
    /// `None` below two whole cycles, where cycles differ by an eighth, or below a swing of 16 codes.
    /// Looks at the first 8 000 000 codes.
    #[must_use]
    pub fn frequency(
        &self,
        codes: impl Iterator<Item = i16>,
        rate: SampleRate,
    ) -> Option<Frequency> {
        let mut crossings = Crossings::IDLE;
        crossings.aim(self.moments().mean_q16(), self);
        let mut again = Self::EMPTY;
        crossings.add_block(&mut again, codes.take(MOST_CODES), |_| false);
        crossings.close(rate)
    }

    /// The moments, every sample weighing 1.
    pub(super) const fn moments(&self) -> Moments {
        Moments { weight: self.samples as u64, sum: self.sum, squares: self.squares }
    }

    /// The sum of the codes.
    #[must_use]
    pub const fn sum(&self) -> i64 {
        self.sum
    }

    /// The sum of their squares.
    #[must_use]
    pub const fn squares(&self) -> u64 {
        self.squares
    }

    /// The least and the greatest code; zero and zero of nothing.
    pub(crate) const fn extremes(&self) -> (i16, i16) {
        if self.samples == 0 { (0, 0) } else { (self.least.code, self.greatest.code) }
    }

    /// The middle between the extremes, in 65536ths of a code.
    pub(super) const fn middle_q16(&self) -> i64 {
        let (least, greatest) = self.extremes();
        ((least as i64).saturating_add(greatest as i64)) << (CODE_BITS - 1)
    }

    /// How many samples stood at the extremes, if those are at the ends of the converter.
    pub(super) const fn clipped(&self, (least, greatest): (i16, i16)) -> u16 {
        let below = if self.least.code <= least { self.least.times } else { 0 };
        let above = if self.greatest.code >= greatest { self.greatest.times } else { 0 };
        below.saturating_add(above)
    }
}

/// A code that went through a word.
#[expect(clippy::cast_possible_truncation, reason = "it came from 16 bits")]
const fn narrow(code: i32) -> i16 {
    code as i16
}

/// Codes that [`Sums::add_slice`] takes at a time.
const CHUNK: usize = 4_096;

/// An extreme code and how often it was met.
///
/// Counting here, and asking about the ends of the converter only in the level, keeps the
/// calibration out of the loop over samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Extreme {
    code: i16,
    times: u16,
}

impl Extreme {
    /// Meets a code; `at_least` says that it is as extreme as the present one, or more so.
    fn meet(&mut self, code: i16, at_least: bool) {
        if at_least {
            let times = if code == self.code { self.times.saturating_add(1) } else { 1 };
            *self = Self { code, times };
        }
    }

    /// Becomes the extreme of both; `beyond` says that the other is the more extreme.
    const fn join(&mut self, other: Self, beyond: bool) {
        if beyond {
            *self = other;
        } else if self.code == other.code {
            self.times = self.times.saturating_add(other.times);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Sums;
    use crate::signal::Channel;
    use crate::unit::Voltage;

    fn sums_of(codes: &[i16]) -> Sums {
        let mut sums = Sums::EMPTY;
        sums.add_block(codes.iter().copied());
        sums
    }

    fn millivolt_codes() -> Channel<Voltage> {
        Channel::<Voltage>::new(Voltage::from_volts(1), 1_000)
    }

    #[test]
    fn end_codes_neither_wrap_nor_lose_a_sample() {
        let level = sums_of(&[i16::MIN, i16::MAX]).level(&millivolt_codes());
        assert_eq!(level.dc, Voltage::from_microvolts(-500));
        assert_eq!(level.ac, Voltage::from_microvolts(32_767_500));
        assert_eq!(level.peak, Voltage::from_millivolts(32_768));
        assert_eq!((level.clipped, level.samples), (2, 2));
    }

    #[test]
    fn merged_stretches_equal_the_whole_at_every_cut() {
        let codes = [5, -3, 5, i16::MAX, 0, i16::MAX, -3, -3, 2, i16::MIN];
        for cut in 0..=codes.len() {
            let mut merged = sums_of(&codes[..cut]);
            merged.merge(&sums_of(&codes[cut..]));
            assert_eq!(merged, sums_of(&codes), "cut at {cut}");
        }
    }

    #[test]
    fn a_slice_equals_a_block_at_every_length() {
        let codes: std::vec::Vec<i16> =
            (0..9_000_u32).map(|it| (it.wrapping_mul(40_503) >> 3) as i16).collect();
        for length in [0, 1, 2, 3, 4_095, 4_096, 4_097, 9_000] {
            for start in [0, 1] {
                let codes = &codes[start.min(length)..length];
                let mut sums = sums_of(&[5, 7]);
                sums.add_slice(codes);
                let mut block = sums_of(&[5, 7]);
                block.add_block(codes.iter().copied());
                assert_eq!(sums, block, "{start}..{length}");
            }
        }
        let mut worst = Sums::EMPTY;
        worst.add_slice(&[i16::MIN; 10_000]);
        assert_eq!(worst, sums_of(&[i16::MIN; 10_000]));
    }

    #[test]
    fn one_at_a_time_equals_a_block() {
        let codes = [1, 2, 2, -7, 100];
        let mut single = Sums::EMPTY;
        codes.iter().for_each(|&code| single.add(code));
        assert_eq!(single, sums_of(&codes));
    }

    #[test]
    fn only_samples_at_the_end_of_the_converter_count_as_clipped() {
        let narrow = millivolt_codes().with_clip(-2_048, 2_047);
        for (codes, clipped) in [
            (&[2_046, -2_047][..], 0),
            (&[2_047, 0, 2_047], 2),
            (&[2_047, -2_048, -2_048], 3),
            (&[], 0),
        ] {
            assert_eq!(sums_of(codes).level(&narrow).clipped, clipped, "{codes:?}");
        }
    }

    #[test]
    fn clip_count_is_held_at_its_bound() {
        let mut sums = Sums::EMPTY;
        sums.add_block(core::iter::repeat_n(i16::MAX, 70_000));
        assert_eq!(sums.level(&millivolt_codes()).clipped, u16::MAX);
    }

    #[test]
    fn a_stretch_that_is_full_leaves_the_rest_out() {
        let mut full = sums_of(&[1]);
        full.samples = u32::MAX;
        let before = full;
        full.add(9);
        full.merge(&sums_of(&[9]));
        assert_eq!(full, before);
    }

    #[test]
    fn offset_moves_dc_rms_and_peak_but_not_ac() {
        let moved = millivolt_codes().with_offset_q16(1_000 << 16);
        let level = sums_of(&[1_300, 1_100]).level(&moved);
        assert_eq!(level.dc, Voltage::from_millivolts(200));
        assert_eq!(level.ac, Voltage::from_millivolts(100));
        assert_eq!(level.peak, Voltage::from_millivolts(300));
        // sqrt(200^2 + 100^2) = 223.6068
        assert_eq!(level.rms, Voltage::from_microvolts(223_607));
    }

    #[test]
    fn an_inverted_channel_swaps_the_extremes() {
        let inverted = Channel::<Voltage>::new(Voltage::from_volts(-1), 1_000);
        let level = sums_of(&[100, -300]).level(&inverted);
        assert_eq!(level.dc, Voltage::from_millivolts(100));
        assert_eq!(level.min, Voltage::from_millivolts(-100));
        assert_eq!(level.max, Voltage::from_millivolts(300));
        assert_eq!(level.ac, Voltage::from_millivolts(200));
    }

    #[test]
    fn crest_is_peak_over_rms_and_absent_at_zero() {
        let level = sums_of(&[1_000, 0, 0, 0]).level(&millivolt_codes());
        assert_eq!(level.crest(), Some(2_000));
        assert_eq!(sums_of(&[0, 0]).level(&millivolt_codes()).crest(), None);
    }
}
