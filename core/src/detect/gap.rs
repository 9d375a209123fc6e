//! What the terminals do in the gap between two turns of continuity current, with the source off.
//!
//! The current of a winding goes on through the freewheel and falls; a store keeps what we put in
//! and no more. A current that does not fall, or a voltage that we could not have put there, is
//! driven from outside. A gap is part of one drive, so it lasts less than 10 ms; whoever turns the
//! path round does it in the middle of a gap, and only once the current is gone.

use super::coarse_current;
use crate::frame::Sample;
use crate::profile::{Profile, Shunt};
use crate::signal::Mean;
use crate::unit::{Current, Voltage};

/// Blocks of a gap: the relays travel; at most 10 ms.
const BLOCKS: u8 = 8;
/// Blocks before its end at which the source is surely off.
const SURELY_OFF: u8 = 6;
/// Blocks before its end at which the path may be turned round.
const TURN_ROUND: u8 = 4;
/// So much still flowing there is the current of a winding, or none of ours.
const FLOWS: Current = Current::from_milliamps(1);
/// A winding's current falls by so much, at the least, from the middle of a gap to its end: 0.7 V
/// of the freewheel across 7.5 H, the most that lets its current die away in 2 s.
const DECAYS: Current = Current::from_microamps(150);
/// What a store may seem to hold in a gap above what we put in.
const SPARE: Voltage = Voltage::from_millivolts(1_000);

/// Watches the gaps of one press.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    left: u8,
    /// The current once the source is surely off.
    early: Current,
    flows: bool,
    driven: bool,
}

impl Gap {
    /// No gap yet.
    pub const NEW: Self = Self { left: 0, early: Current::ZERO, flows: false, driven: false };

    /// A turn is over: the source goes off from the next block on.
    pub const fn begin(&mut self) {
        self.left = BLOCKS;
    }

    /// Whether a gap is going on: the source is to be off.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.left > 0
    }

    /// Whether something was found, in this gap or an earlier one, that is driven from outside.
    #[must_use]
    pub const fn is_driven(&self) -> bool {
        self.driven
    }

    /// Takes one block of a gap, with the range that its shunt was in; answers, once in a gap,
    /// whether current still flows where the path would be turned round.
    pub fn step(&mut self, samples: &[Sample], shunt: Shunt, profile: &Profile) -> Option<bool> {
        self.left = self.left.saturating_sub(1);
        let mut mean = Mean::EMPTY;
        mean.add_block(samples.iter().map(|s| s.i));
        let i = mean.value(shunt.calibration()).abs();
        if self.left == SURELY_OFF {
            self.early = i;
        }
        if self.left == TURN_ROUND {
            self.flows = i >= FLOWS;
        }
        if self.left == 1 {
            let stays = self.flows && self.early.saturating_sub(i) < DECAYS;
            // By the gate's channel too: a shunt that shows what is not there is no voltage.
            let coarse = coarse_current(samples, &profile.front_end).abs();
            self.driven |= stays && coarse >= FLOWS;
        }
        if self.left <= SURELY_OFF {
            self.watch_voltage(samples, profile);
        }
        (self.left == TURN_ROUND).then_some(self.flows)
    }

    /// A store keeps what we put in, and no more.
    fn watch_voltage(&mut self, samples: &[Sample], profile: &Profile) {
        let mut mean = Mean::EMPTY;
        mean.add_block(samples.iter().map(|s| s.low));
        let stands = mean.value(&profile.front_end.low).abs();
        let ours = profile.front_end.open_volts.saturating_add(SPARE);
        self.driven |= ours.is_below(stands);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::GENERAL;

    /// One gap in which the current starts at a code of 10 uA and falls by so many a block, with
    /// this code on the gate's channel, and so much voltage on the terminals.
    fn gap(first: i16, falls: i16, i_gate: i16, stands: Voltage) -> (Option<bool>, Gap) {
        let low = &GENERAL.front_end.low;
        let reaches = |code: &i16| !low.to_quantity(*code).abs().is_below(stands);
        let low = (0..=i16::MAX).find(reaches).unwrap_or(i16::MAX);
        let mut gap = Gap::NEW;
        gap.begin();
        let (mut told, mut i) = (None, first);
        while gap.is_open() {
            let sample = Sample { i, i_gate, low, ..Sample::default() };
            told = told.or(gap.step(&[sample; 10], Shunt::Milliamps250, &GENERAL));
            i = i.saturating_sub(falls);
        }
        (told, gap)
    }

    #[test]
    fn the_current_of_a_winding_flows_on_and_is_not_driven() {
        // 0.7 V across 5 H takes 140 uA away in a millisecond.
        let (flows, gap) = gap(20_000, 14, 2_000, Voltage::ZERO);
        assert_eq!((flows, gap.is_driven()), (Some(true), false));
    }

    #[test]
    fn a_current_that_does_not_fall_is_driven_if_both_channels_see_it() {
        assert!(gap(20_000, 0, 2_000, Voltage::ZERO).1.is_driven());
        assert!(!gap(20_000, 0, 0, Voltage::ZERO).1.is_driven(), "the measuring shunt alone");
        assert!(!gap(90, 0, 2_000, Voltage::ZERO).1.is_driven(), "less than 1 mA");
    }

    #[test]
    fn a_store_keeps_what_we_put_in_and_more_than_that_is_driven() {
        let ours = GENERAL.front_end.open_volts;
        let above = |millivolts| ours.saturating_add(Voltage::from_millivolts(millivolts));
        assert_eq!(gap(0, 0, 0, ours).0, Some(false));
        assert!(!gap(0, 0, 0, above(900)).1.is_driven());
        assert!(gap(0, 0, 0, above(1_100)).1.is_driven());
    }
}
