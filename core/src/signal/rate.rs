//! How fast the converter samples.

use crate::unit::Duration;

/// Samples per second, at least 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct SampleRate(u32);

impl SampleRate {
    /// The rate that the default front end runs at: 10 000 samples per second.
    pub const DEFAULT: Self = Self(10_000);

    /// From whole samples per second; 0 becomes 1.
    #[must_use]
    pub const fn from_per_second(samples: u32) -> Self {
        Self(if samples == 0 { 1 } else { samples })
    }

    /// The samples per second.
    #[must_use]
    pub const fn as_per_second(self) -> u32 {
        self.0
    }

    /// Counts the samples that `time` spans, to the nearest, held at the bound.
    ///
    /// ```
    /// use ohmwarden_core::{signal::SampleRate, unit::Duration};
    /// assert_eq!(SampleRate::DEFAULT.samples_in(Duration::from_millis(20)), 200);
    /// assert_eq!(SampleRate::from_per_second(9_973).samples_in(Duration::from_millis(20)), 199);
    /// ```
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "compared with the bound just above")]
    pub const fn samples_in(self, time: Duration) -> u32 {
        let product = (time.as_micros() as u64).saturating_mul(self.0 as u64);
        let samples = product.saturating_add(500_000).wrapping_div(1_000_000);
        if samples > u32::MAX as u64 { u32::MAX } else { samples as u32 }
    }

    /// The time that `samples` take, truncated to whole microseconds, held at the bound.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "compared with the bound just above")]
    pub const fn time_of(self, samples: u32) -> Duration {
        let product = (samples as u64).wrapping_mul(1_000_000);
        let micros = match product.checked_div(self.0 as u64) {
            Some(micros) => micros,
            None => 0,
        };
        Duration::from_micros(if micros > u32::MAX as u64 { u32::MAX } else { micros as u32 })
    }
}

impl Default for SampleRate {
    fn default() -> Self {
        Self::DEFAULT
    }
}

#[cfg(test)]
mod tests {
    use super::SampleRate;
    use crate::unit::Duration;

    #[test]
    fn no_rate_is_taken_as_one_sample_per_second() {
        assert_eq!(SampleRate::from_per_second(0).as_per_second(), 1);
    }

    #[test]
    fn counts_and_times_end_at_their_bounds() {
        let fast = SampleRate::from_per_second(u32::MAX);
        assert_eq!(fast.samples_in(Duration::MAX), u32::MAX);
        let slow = SampleRate::from_per_second(1);
        assert_eq!(slow.time_of(u32::MAX), Duration::MAX);
        assert_eq!(SampleRate::DEFAULT.time_of(10), Duration::from_millis(1));
    }
}
