//! What a stretch of samples amounts to, in the units of its channel.

use super::channel::{CODE_BITS, Channel, Quantity, Scaling};
use super::moments::{Moments, root};
use super::sums::Sums;
use crate::unit::Frequency;

/// The level of a signal over a stretch of samples.
///
/// All zero, with `samples` 0, where there were none: no reading, which is not a reading of zero.
#[must_use]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
        let base = Base::of(moments, sums, cal.scaling());
        Self {
            dc: Q::from_base(base.dc),
            ac: Q::from_base(base.ac),
            rms: Q::from_base(base.rms),
            peak: Q::from_base(base.min.saturating_neg().max(base.max)),
            min: Q::from_base(base.min),
            max: Q::from_base(base.max),
            hz: None,
            clipped: sums.clipped(cal.clip()),
            samples: sums.samples(),
        }
    }
}

/// A level in base units, whatever they are of.
struct Base {
    dc: i64,
    ac: i64,
    rms: i64,
    min: i64,
    max: i64,
}

impl Base {
    /// Not inlined: one copy serves all quantities.
    #[inline(never)]
    fn of(moments: &Moments, sums: &Sums, scaling: Scaling) -> Self {
        let dc = moments.mean_q16().saturating_sub(scaling.offset_q16);
        let ac = moments.spread_q16();
        // No code is more than 2^16 codes from the zero, so the squares fit, and so does their sum.
        let squares =
            ac.wrapping_mul(ac).saturating_add(dc.unsigned_abs().wrapping_mul(dc.unsigned_abs()));
        let (least, greatest) = sums.extremes();
        let place = |code: i16| {
            scaling.value((i64::from(code) << CODE_BITS).saturating_sub(scaling.offset_q16))
        };
        let (one, other) = (place(least), place(greatest));
        Self {
            dc: scaling.value(dc),
            ac: scaling.size(ac),
            rms: scaling.size(root(squares)),
            min: one.min(other),
            max: one.max(other),
        }
    }
}
