//! Which shunt to measure with, without hunting.
//!
//! Up above 95 % of the span, down where the next finer range would stand below 80 % of its own:
//! the two thresholds overlap and no constant input sits between them, however far apart the ranges
//! are. A range must be seen in two windows before it changes. After one change per range
//! and one more the range is frozen until the input moves by more than 15 % for three windows.

use crate::profile::{SHUNTS, Shunt};
use crate::signal::Level;
use crate::unit::Current;

/// Codes at full scale of every range.
const SPAN: i64 = 25_000;
/// Changes from any start before it freezes: one a range, and one.
const MOST: u8 = 7;
/// Windows that a change must be asked for.
const DWELL: u8 = 2;
/// Windows that the input must have moved before a frozen range thaws.
const THAW: u8 = 3;

/// Chooses the range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ranger {
    shunt: Shunt,
    finest: Shunt,
    coarsest: Shunt,
    asked: u8,
    changes: u8,
    moved: u8,
    last: Current,
    held: bool,
}

impl Ranger {
    /// For high voltage: any range but that of continuity.
    pub const INSULATION: Self = Self::between(Shunt::Nanoamps250, Shunt::Milliamps2);
    /// For continuity: one range.
    pub const CONTINUITY: Self = Self::between(Shunt::Milliamps250, Shunt::Milliamps250);
    /// For resistance at a low voltage.
    pub const RESISTANCE: Self = Self::between(Shunt::Microamps25, Shunt::Milliamps250);

    const fn between(finest: Shunt, coarsest: Shunt) -> Self {
        Self {
            shunt: coarsest,
            finest,
            coarsest,
            asked: 0,
            changes: 0,
            moved: 0,
            last: Current::ZERO,
            held: false,
        }
    }

    /// The range to measure in.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        self.shunt
    }

    /// Back to the coarsest range, as before any drive.
    pub const fn reset(&mut self) {
        *self = Self::between(self.finest, self.coarsest);
    }

    /// The range that a steady current is read in, coming from the coarsest.
    #[must_use]
    pub fn settled(&self, current: Current) -> Shunt {
        let mut shunt = self.coarsest;
        let next = |shunt: Shunt| shunt.finer().filter(|s| *s >= self.finest && fits(current, *s));
        while let Some(finer) = next(shunt) {
            shunt = finer;
        }
        shunt
    }

    /// Keeps the range from now on, unless it clips; [`Ranger::reset`] lets it go.
    pub const fn hold(&mut self) {
        self.held = true;
    }

    /// Takes the level of one window; answers whether the range changed.
    pub fn step(&mut self, level: &Level<Current>) -> bool {
        self.watch_thaw(level.dc);
        let over =
            level.clipped > 0 || full(self.shunt).div(100).saturating_mul(95) < level.dc.abs();
        let under = self.shunt.finer().is_some_and(|finer| fits(level.dc, finer));
        let to = match (over, under) {
            (true, _) => self.shunt.coarser().filter(|s| *s <= self.coarsest),
            (false, true) => self.shunt.finer().filter(|s| *s >= self.finest),
            (false, false) => None,
        };
        let Some(to) = to else {
            self.asked = 0;
            return false;
        };
        self.asked = self.asked.saturating_add(1);
        // A clipped range is never kept, frozen or not: it would show a number that is none.
        let free = self.changes < MOST && !self.held || level.clipped > 0;
        if self.asked < DWELL || !free {
            return false;
        }
        self.asked = 0;
        self.changes = self.changes.saturating_add(1);
        self.shunt = to;
        true
    }

    fn watch_thaw(&mut self, now: Current) {
        let apart = now.saturating_sub(self.last).abs();
        if self.last.abs().div(100).saturating_mul(15) < apart {
            self.moved = self.moved.saturating_add(1);
        } else {
            self.moved = 0;
        }
        if self.moved == 0 || self.moved >= THAW {
            self.last = now;
        }
        if self.moved >= THAW {
            self.moved = 0;
            self.changes = 0;
        }
    }
}

/// The current at full scale.
fn full(shunt: Shunt) -> Current {
    Current::from_picoamps(SPAN.saturating_mul(code(shunt)))
}

/// Whether a finer range has room for a current.
fn fits(current: Current, finer: Shunt) -> bool {
    current.abs() < full(finer).div(100).saturating_mul(80)
}

/// One code of a range, in pA.
const fn code(shunt: Shunt) -> i64 {
    shunt.calibration().gain_q24() >> 24
}

const _: () = assert!(SHUNTS.len() < MOST as usize);

#[cfg(test)]
mod tests {
    use super::*;

    fn window(nanoamps: i64, ranger: &Ranger) -> Level<Current> {
        let dc = Current::from_nanoamps(nanoamps);
        let full = Current::from_picoamps(code(ranger.shunt()).saturating_mul(32_000));
        Level { dc, clipped: u16::from(full < dc), samples: 1_000, ..Level::default() }
    }

    #[test]
    fn a_constant_input_settles_in_a_bounded_number_of_changes_and_stays() {
        let inputs = [0, 1, 100, 199, 201, 237, 239, 2_000, 2_374, 2_376, 24_000, 1_800_000];
        // Between the two coarsest ranges lies a factor of 125.
        let low = [2_300_000, 2_400_000, 14_000_000, 19_000_000, 21_000_000, 200_000_000];
        let resistance = low.map(|nanoamps| (nanoamps, Ranger::RESISTANCE));
        for (nanoamps, from) in
            inputs.map(|n| (n, Ranger::INSULATION)).into_iter().chain(resistance)
        {
            let mut ranger = from;
            let mut changes = 0;
            for n in 0..200 {
                let level = window(nanoamps, &ranger);
                if ranger.step(&level) {
                    changes += 1;
                    assert!(n < 2 * SHUNTS.len(), "{nanoamps} nA still changes at window {n}");
                }
            }
            assert!(changes < SHUNTS.len(), "{nanoamps} nA: {changes}");
        }
    }

    #[test]
    fn the_range_that_is_foretold_is_the_one_that_is_reached() {
        for nanoamps in [0, 1, 199, 201, 1_999, 2_001, 199_000, 201_000, 1_800_000, 150_000_000] {
            for from in [Ranger::INSULATION, Ranger::RESISTANCE] {
                let mut ranger = from;
                for _ in 0..50 {
                    let level = window(nanoamps, &ranger);
                    ranger.step(&level);
                }
                let foretold = from.settled(Current::from_nanoamps(nanoamps));
                assert_eq!(ranger.shunt(), foretold, "{nanoamps} nA");
            }
        }
    }

    #[test]
    fn noise_at_a_threshold_does_not_hunt() {
        let mut ranger = Ranger::INSULATION;
        let mut changes = 0;
        for n in 0..1_000_i64 {
            // 1 % either side of the threshold of 8 %.
            let nanoamps = 200_000 + if n % 2 == 0 { 2_000 } else { -2_000 };
            let level = window(nanoamps, &ranger);
            changes += u32::from(ranger.step(&level));
        }
        assert!(changes <= 1, "{changes}");
    }
}
