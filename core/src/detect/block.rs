//! What one block of samples amounts to: means, extremes, and whether anything moved.
//!
//! Only what every state needs is summed here; currents are summed by whoever asks for them.

use crate::frame::Sample;
use crate::profile::{FrontEnd, Shunt};
use crate::signal::Sums;
use crate::unit::{Current, Voltage};

/// One block, about 1 ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    /// Samples in it.
    pub samples: u8,
    /// Mean of the first voltage channel.
    pub v: Voltage,
    /// The range that the measuring shunt was in.
    pub shunt: Shunt,
    /// Samples in which both voltage channels stood beyond the pulse level.
    pub pulses: u8,
    /// Whether every code of the first and of the second channel equalled the one before.
    pub frozen: [bool; 2],
    /// The sums of both voltage channels, for every window that the block belongs to.
    pub sums: [Sums; 2],
}

impl Block {
    /// No samples.
    pub const NONE: Self = Self {
        samples: 0,
        v: Voltage::ZERO,
        shunt: Shunt::Milliamps2,
        pulses: 0,
        frozen: [false; 2],
        sums: [Sums::EMPTY; 2],
    };

    /// Sums the samples up. `pulse` is the code beyond which, on both channels, a sample counts as
    /// a pulse; `shunt` is the range that the samples were taken in, `last` the voltage codes before
    /// the first.
    #[must_use]
    pub fn of(
        samples: &[Sample],
        front: &FrontEnd,
        shunt: Shunt,
        pulse: i16,
        last: &mut [i16; 2],
    ) -> Self {
        let samples = samples.get(..usize::from(u8::MAX)).unwrap_or(samples);
        let v = Sums::of_block(samples.iter().map(|s| s.v));
        let v2 = Sums::of_block(samples.iter().map(|s| s.v2));
        let [before, before2] = *last;
        let frozen = [stands(&v, before), stands(&v2, before2)];
        if let Some(newest) = samples.last() {
            *last = [newest.v, newest.v2];
        }
        let n = v.samples();
        Self {
            samples: u8::try_from(n).unwrap_or(u8::MAX),
            v: front.v.mean(sum(&v), n),
            shunt,
            pulses: pulses(samples, &v, &v2, pulse),
            frozen,
            sums: [v, v2],
        }
    }

    /// The mean of the second voltage channel.
    #[must_use]
    pub fn v2(&self, front: &FrontEnd) -> Voltage {
        let [_, v2] = &self.sums;
        front.v2.mean(sum(v2), v2.samples())
    }

    /// The mean current that the codes of the measuring shunt, summed up, stand for.
    #[must_use]
    pub fn current(&self, codes: &Sums) -> Current {
        self.shunt.calibration().mean(sum(codes), codes.samples())
    }
}

/// The mean of the coarse current over some samples.
#[inline(never)]
#[must_use]
pub fn coarse_current(samples: &[Sample], front: &FrontEnd) -> Current {
    let (codes, n) = samples.iter().fold((0_i32, 0_u32), |(codes, n), s| {
        (codes.wrapping_add(i32::from(s.i_gate)), n.wrapping_add(1))
    });
    front.i_gate.mean(codes, n)
}

/// The sum of a block, which always fits.
fn sum(sums: &Sums) -> i32 {
    i32::try_from(sums.sum()).unwrap_or(0)
}

/// Whether every code equalled the one before.
fn stands(v: &Sums, last: i16) -> bool {
    v.samples() > 0 && v.extremes() == (last, last)
}

/// Samples in which both voltage channels stood beyond the pulse level: counted only where the
/// extremes of both say that there may be any.
fn pulses(samples: &[Sample], v: &Sums, v2: &Sums, pulse: i16) -> u8 {
    let beyond = |code: i16| code >= pulse || code <= pulse.wrapping_neg();
    let reaches = |(least, greatest): (i16, i16)| beyond(least) || beyond(greatest);
    if !(reaches(v.extremes()) && reaches(v2.extremes())) {
        return 0;
    }
    let both = samples.iter().filter(|s| beyond(s.v) && beyond(s.v2)).count();
    u8::try_from(both).unwrap_or(u8::MAX)
}
