//! Whether the voltage rose while the terminals were open.

use crate::profile::FrontEnd;
use crate::unit::Voltage;

/// How far the voltage rose, in magnitude, above the least that it was before in the window: what
/// only a source can do. A charge that decays looks alternating to an RMS, but never rises.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Rise {
    sign: i32,
    least: i32,
    most: i32,
}

impl Rise {
    /// Nothing seen.
    pub(super) const NONE: Self = Self { sign: 0, least: i32::MAX, most: 0 };

    /// Takes the extremes of one block; what rises and falls within one is seen across the next.
    pub(super) fn step(&mut self, (least, greatest): (i16, i16)) {
        if self.sign == 0 {
            self.sign = if least < 0 { -1 } else { 1 };
        }
        let (a, b) = (i32::from(least), i32::from(greatest));
        let (low, high) = if self.sign < 0 { (b.wrapping_neg(), a.wrapping_neg()) } else { (a, b) };
        if self.least != i32::MAX {
            self.most = self.most.max(high.wrapping_sub(self.least));
        }
        self.least = self.least.min(low);
    }

    /// 10 V: the peak to peak of 3.5 V rms, twice that of the front end's own noise.
    pub(super) fn is_more_than_noise(&self, front: &FrontEnd) -> bool {
        let code = i16::try_from(self.most).unwrap_or(i16::MAX);
        Voltage::from_volts(10) < front.v.to_quantity(code).abs()
    }
}
