//! The mean of a stretch alone, for channels of which nobody asks how they swing.

use super::channel::{Channel, Quantity};
use super::moments::Moments;
use super::sums::Sums;

/// Count and sum of a stretch of codes: a third of the work of [`Sums`].
///
/// Exact like those, and with the same mean to the last digit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(Rust, packed(4))]
pub struct Mean {
    sum: i64,
    samples: u32,
}

impl Mean {
    /// No samples yet.
    pub const EMPTY: Self = Self { sum: 0, samples: 0 };

    /// Adds a block of codes, at most 65 536.
    pub fn add_block(&mut self, codes: impl Iterator<Item = i16>) {
        let (mut samples, mut sum) = (0_u32, 0_i32);
        for code in codes {
            samples = samples.wrapping_add(1);
            sum = sum.wrapping_add(i32::from(code));
        }
        self.samples = self.samples.saturating_add(samples);
        self.sum = self.sum.wrapping_add(i64::from(sum));
    }

    /// Adds a stretch that was summed up already; left out where the two are too long together.
    pub const fn merge(&mut self, stretch: &Sums) {
        let Some(samples) = self.samples.checked_add(stretch.samples()) else { return };
        self.samples = samples;
        self.sum = self.sum.wrapping_add(stretch.sum());
    }

    /// How many samples are in it.
    #[must_use]
    pub const fn samples(&self) -> u32 {
        self.samples
    }

    /// The mean in the units of its channel; zero of nothing.
    #[must_use]
    pub fn value<Q: Quantity>(&self, cal: &Channel<Q>) -> Q {
        Moments { weight: u64::from(self.samples), sum: self.sum, squares: 0 }.mean(cal)
    }
}

#[cfg(test)]
mod tests {
    use super::Mean;
    use crate::signal::{Channel, Sums};
    use crate::unit::Voltage;

    #[test]
    fn the_mean_is_that_of_the_whole_sums() {
        let channel = Channel::<Voltage>::new(Voltage::from_volts(-3), 1_001);
        for offset in [-70_000, 0, 12_345] {
            let channel = channel.with_offset_q16(offset);
            for codes in [&[][..], &[5], &[1, 2, 2], &[i16::MIN; 7], &[i16::MAX, -3, 9, i16::MIN]] {
                let (mut mean, mut sums) = (Mean::EMPTY, Sums::EMPTY);
                for block in codes.chunks(2) {
                    mean.add_block(block.iter().copied());
                    sums.add_block(block.iter().copied());
                }
                let level = sums.level(&channel);
                assert_eq!((mean.value(&channel), mean.samples()), (level.dc, level.samples));
                assert_eq!(sums.mean(&channel), level.dc, "{codes:?}");
            }
        }
    }
}
