//! Do the two current channels agree? The gate trips by one, the reading is made of the other.
//!
//! Both see what leaves the instrument after its dividers. A gate that sees no current lacks its rule
//! for a voltage that falls while it pushes, and nothing else would show that.

use crate::profile::FrontEnd;
use crate::unit::Current;

/// Blocks from one comparison to the next: longer than a range takes to settle.
const EVERY: u8 = 16;
/// So many comparisons in a row must disagree.
const TIMES: u8 = 3;
/// So far apart they may be, beside a tenth: fifty codes of the coarser one.
const APART: Current = Current::from_microamps(50);

/// Compares the channels while something is driven.
#[derive(Clone, Copy, Debug)]
pub struct Currents {
    left: u8,
    apart: u8,
}

impl Currents {
    /// Nothing compared yet.
    pub const NEW: Self = Self { left: EVERY, apart: 0 };

    /// Whether this block is one to compare in.
    #[must_use]
    pub const fn is_due(&mut self) -> bool {
        self.left = self.left.saturating_sub(1);
        if self.left == 0 {
            self.left = EVERY;
            return true;
        }
        false
    }

    /// Takes the mean of both over one block; answers whether they have been apart for too long.
    pub fn compare(&mut self, shunt: Current, coarse: Current, front: &FrontEnd) -> bool {
        // Beyond its end the coarse one says only that there is more.
        let end = front.gate_step().saturating_mul(END);
        let seen = shunt.least(end).greatest(Current::ZERO.saturating_sub(end));
        let most = seen.abs().div(10).saturating_add(APART);
        let apart = most < seen.saturating_sub(coarse).abs();
        self.apart = if apart { self.apart.saturating_add(1) } else { 0 };
        self.apart >= TIMES
    }
}

/// Codes of the coarse channel at its end, twelve bits with a sign.
const END: i64 = 2_047;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::GENERAL;

    fn disagree(shunt: i64, coarse: i64) -> bool {
        let mut currents = Currents::NEW;
        let both = [shunt, coarse].map(Current::from_microamps);
        let mut told = false;
        for _ in 0..TIMES {
            assert!(!told, "before the last comparison");
            told = currents.compare(both[0], both[1], &GENERAL.front_end);
        }
        told
    }

    #[test]
    fn channels_that_agree_within_tolerance_and_beyond_the_end_are_believed() {
        for (shunt, coarse) in
            [(0, 0), (25, 27), (1_800, 1_750), (200_000, 2_047), (-150_000, -2_048)]
        {
            assert!(!disagree(shunt, coarse), "{shunt} and {coarse} uA");
        }
    }

    #[test]
    fn a_dead_or_saturated_or_weak_channel_is_told() {
        for (shunt, coarse) in [(225, 0), (25, 2_047), (225, 22), (200_000, 200), (0, -2_048)] {
            assert!(disagree(shunt, coarse), "{shunt} and {coarse} uA");
        }
    }
}
