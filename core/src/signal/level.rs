//! What a stretch of samples amounts to, in the units of its channel.

use super::channel::{CODE_BITS, Channel, Quantity};
use super::moments::Moments;
use super::sums::Sums;
use crate::unit::Frequency;

/// The level of a signal over a stretch of samples.
///
/// All zero, with `samples` 0, where there were none: no reading, which is not a reading of zero.
#[must_use]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Level<Q> {
    /// The mean, with its sign.
    pub dc: Q,
    /// The RMS of what varies about the mean.
    pub ac: Q,
    /// The RMS of the whole.
    pub rms: Q,
    /// The largest magnitude of any sample.
    pub peak: Q,
    /// The least sample.
    pub min: Q,
    /// The greatest sample.
    pub max: Q,
    /// How often the signal rose through its mean; `None` where that is not known.
    pub hz: Option<Frequency>,
    /// How many samples stood at the end of the converter, held at 65 535; any makes it a bound.
    pub clipped: u16,
    /// How many samples it was made of.
    pub samples: u32,
}

impl<Q: Quantity> Level<Q> {
    /// The crest factor, peak over RMS, per mille; `None` where the RMS is zero.
    #[must_use]
    pub fn crest(&self) -> Option<u32> {
        let rms = self.rms.as_base().unsigned_abs();
        let peak = self.peak.as_base().unsigned_abs().saturating_mul(1_000);
        let crest = peak.saturating_add(rms >> 1).checked_div(rms)?;
        Some(u32::try_from(crest).unwrap_or(u32::MAX))
    }

    /// The level of codes with these moments and, from `sums`, these extremes.
    pub(super) fn from_moments(moments: &Moments, sums: &Sums, cal: &Channel<Q>) -> Self {
        let dc_q16 = moments.mean_q16().saturating_sub(cal.offset_q16());
        let ac_q16 = moments.spread_q16();
        let squares =
            ac_q16.saturating_pow(2).saturating_add(dc_q16.unsigned_abs().saturating_pow(2));
        let (least, greatest) = sums.extremes();
        let distance = |code: i16| (i64::from(code) << CODE_BITS).saturating_sub(cal.offset_q16());
        let (low, high) = (distance(least), distance(greatest));
        let peak_q16 = low.saturating_abs().max(high.saturating_abs());
        let (low, high) = if cal.is_inverted() { (high, low) } else { (low, high) };
        Self {
            dc: cal.value(dc_q16),
            ac: cal.size(signed(ac_q16)),
            rms: cal.size(signed(squares.isqrt())),
            peak: cal.size(peak_q16),
            min: cal.value(low),
            max: cal.value(high),
            hz: None,
            clipped: sums.clipped(cal.clip()),
            samples: sums.samples(),
        }
    }
}

/// A root of at most 2^32, as a signed number.
fn signed(root: u64) -> i64 {
    i64::try_from(root).unwrap_or(i64::MAX)
}
