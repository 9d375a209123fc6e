//! What one block of samples amounts to: means, extremes, and whether anything moved.

use crate::frame::Sample;
use crate::profile::{FrontEnd, Shunt};
use crate::unit::{Current, Voltage};

/// One block, about 1 ms.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Block {
    /// Samples in it.
    pub samples: u8,
    /// Mean of the first voltage channel.
    pub v: Voltage,
    /// Mean of the second.
    pub v2: Voltage,
    /// Mean of the coarse current.
    pub i: Current,
    /// Mean of the measuring shunt.
    pub fine: Current,
    /// Samples in which both voltage channels stood beyond the pulse level.
    pub pulses: u8,
    /// Whether every set of codes equalled the one before.
    pub frozen: bool,
    /// Samples in which a voltage channel clipped.
    pub clipped: u8,
}

impl Block {
    /// No samples.
    pub const NONE: Self = Self {
        samples: 0,
        v: Voltage::ZERO,
        v2: Voltage::ZERO,
        i: Current::ZERO,
        fine: Current::ZERO,
        pulses: 0,
        frozen: false,
        clipped: 0,
    };

    /// Sums the samples up. `pulse` is the code beyond which, on both channels, a sample counts as
    /// a pulse; `shunt` is the range that the samples were taken in, `last` the sample before the first.
    #[must_use]
    pub fn of(
        samples: &[Sample],
        front: &FrontEnd,
        shunt: Shunt,
        pulse: i16,
        last: &mut Sample,
    ) -> Self {
        let mut sums = [0_i32; 4];
        let mut block = Self { frozen: !samples.is_empty(), ..Self::default() };
        for s in samples.iter().take(usize::from(u8::MAX)) {
            let [v, v2, i, fine] = &mut sums;
            *v = v.wrapping_add(i32::from(s.v));
            *v2 = v2.wrapping_add(i32::from(s.v2));
            *i = i.wrapping_add(i32::from(s.i_gate));
            *fine = fine.wrapping_add(i32::from(s.i));
            let beyond = |code: i16| code >= pulse || code <= pulse.wrapping_neg();
            block.pulses = block.pulses.wrapping_add(u8::from(beyond(s.v) && beyond(s.v2)));
            block.clipped = block
                .clipped
                .wrapping_add(u8::from(front.v.is_clipped(s.v) || front.v2.is_clipped(s.v2)));
            block.frozen &= s.v == last.v && s.v2 == last.v2;
            block.samples = block.samples.wrapping_add(1);
            *last = *s;
        }
        let n = u32::from(block.samples);
        let [v, v2, i, fine] = sums;
        block.v = front.v.mean(v, n);
        block.v2 = front.v2.mean(v2, n);
        block.i = front.i_gate.mean(i, n);
        block.fine = shunt.channel().mean(fine, n);
        block
    }
}
