//! How the terminals decay while the discharge resistor is on them: from one voltage down to a third.
//!
//! Two samples at a time, so that 1 nF, which is down in half a millisecond, can be followed too.

use crate::frame::Sample;
use crate::profile::FrontEnd;
use crate::signal::SampleRate;
use crate::unit::Voltage;

/// Samples after the resistor was ordered on: its switch and the anti-alias pole have settled.
const SETTLE: u32 = 4;
/// A decay is read where it has gone down to this part: `u(ln) / ln` is least near there.
const PART: i32 = 3;

/// Follows one decay.
#[derive(Clone, Copy, Debug)]
pub struct Decay {
    samples: u32,
    /// The first code of a pair.
    half: Option<i16>,
    /// The sum of the first pair, with its number.
    first: Option<(i32, u32)>,
    last: (i32, u32),
    done: bool,
}

/// From where to where, in which time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fall {
    pub(super) from: Voltage,
    pub(super) to: Voltage,
    pub(super) seconds: f32,
}

impl Decay {
    /// Nothing seen yet.
    pub const NEW: Self = Self { samples: 0, half: None, first: None, last: (0, 0), done: false };

    /// Whether it went down as far as is needed.
    #[must_use]
    pub const fn is_done(&self) -> bool {
        self.done
    }

    /// Takes samples in their order, the resistor ordered on since before the first.
    pub fn step(&mut self, samples: &[Sample]) {
        for sample in samples {
            self.samples = self.samples.saturating_add(1);
            if self.done || self.samples <= SETTLE {
                continue;
            }
            match self.half.take() {
                None => self.half = Some(sample.v),
                Some(half) => self.pair(i32::from(half).saturating_add(i32::from(sample.v))),
            }
        }
    }

    fn pair(&mut self, sum: i32) {
        let Some((first, _)) = self.first else {
            self.first = Some((sum, self.samples));
            return;
        };
        self.last = (sum, self.samples);
        self.done = sum.saturating_mul(PART) <= first;
    }

    /// What was seen; `None` where nothing fell.
    pub(super) fn fall(&self, front: &FrontEnd, rate: SampleRate) -> Option<Fall> {
        let (first, begun) = self.first?;
        let (last, ended) = self.last;
        let (from, to) = (front.v.mean(first, 2), front.v.mean(last, 2));
        if !(Voltage::ZERO < to && to < from) {
            return None;
        }
        #[expect(clippy::cast_precision_loss, reason = "a count of some thousand samples")]
        let seconds = ended.saturating_sub(begun) as f32 / rate.as_per_second() as f32;
        Some(Fall { from, to, seconds })
    }
}
