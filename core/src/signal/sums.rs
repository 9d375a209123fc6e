//! Exact sums over any stretch of codes.

use super::channel::{CODE_BITS, Channel, Quantity};
use super::crossing::{Crossings, MOST_CODES};
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

    /// Adds one code.
    pub fn add(&mut self, code: i16) {
        self.add_block(core::iter::once(code));
    }

    /// Adds a block of codes. One pass, constant work a sample.
    #[inline]
    pub fn add_block(&mut self, codes: impl Iterator<Item = i16>) {
        let mut block = Self::EMPTY;
        let (mut least, mut greatest) = (self.least, self.greatest);
        for code in codes {
            let wide = i32::from(code);
            block.samples = block.samples.wrapping_add(1);
            block.sum = block.sum.wrapping_add(i64::from(wide));
            // At most 2^30, so the product fits and is not negative.
            block.squares =
                block.squares.wrapping_add(u64::from(wide.wrapping_mul(wide).unsigned_abs()));
            if code <= least.code {
                least.meet(code);
            }
            if code >= greatest.code {
                greatest.meet(code);
            }
        }
        let Some(samples) = self.samples.checked_add(block.samples) else { return };
        self.samples = samples;
        self.sum = self.sum.wrapping_add(block.sum);
        self.squares = self.squares.wrapping_add(block.squares);
        (self.least, self.greatest) = (least, greatest);
    }

    /// Adds what another stretch holds; left out where the two are too long together.
    pub fn merge(&mut self, other: &Self) {
        let Some(samples) = self.samples.checked_add(other.samples) else { return };
        self.samples = samples;
        self.sum = self.sum.wrapping_add(other.sum);
        self.squares = self.squares.wrapping_add(other.squares);
        self.least = self.least.joined(other.least, other.least.code < self.least.code);
        self.greatest =
            self.greatest.joined(other.greatest, other.greatest.code > self.greatest.code);
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
    pub fn level<Q: Quantity>(&self, cal: &Channel<Q>) -> Level<Q> {
        Level::from_moments(&self.moments(), self, cal)
    }

    /// Tells the frequency of the codes that were summed, in a second pass over them.
    ///
    /// `None` below two whole cycles, where cycles differ by half, or below a swing of 16 codes.
    /// Looks at the first 8 000 000 codes.
    #[must_use]
    pub fn frequency(
        &self,
        codes: impl Iterator<Item = i16>,
        rate: SampleRate,
    ) -> Option<Frequency> {
        let mut crossings = Crossings::IDLE;
        crossings.aim(self.moments().mean_q16(), self);
        codes.take(MOST_CODES).for_each(|code| crossings.add(code));
        crossings.close(rate)
    }

    /// The moments, every sample weighing 1.
    pub(super) const fn moments(&self) -> Moments {
        Moments { weight: self.samples as u64, sum: self.sum, squares: self.squares }
    }

    /// The least and the greatest code; zero and zero of nothing.
    pub(super) const fn extremes(&self) -> (i16, i16) {
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
    /// Meets a code as extreme as the present one, or more so.
    fn meet(&mut self, code: i16) {
        let times = if code == self.code { self.times.saturating_add(1) } else { 1 };
        *self = Self { code, times };
    }

    /// The extreme of both; `beyond` says that the other is the more extreme.
    const fn joined(self, other: Self, beyond: bool) -> Self {
        if self.code == other.code {
            Self { code: self.code, times: self.times.saturating_add(other.times) }
        } else if beyond {
            other
        } else {
            self
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
