//! Three pulses of the discharge resistor, and what the voltage did.

use crate::detect::circuit::Circuit;
use crate::unit::Voltage;

/// What was seen of up to three pulses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Pulses {
    first: Voltage,
    before: Voltage,
    fallen: Voltage,
    back: Voltage,
    done: u8,
    came_back: u8,
    fell: u8,
}

impl Pulses {
    /// Blocks at the end of each phase over which the voltage is read.
    pub(super) const READ: u16 = 5;
    /// Nothing seen yet.
    pub(super) const EMPTY: Self = Self::starting_from(Voltage::ZERO);

    /// Before the first pulse the terminals stand at `v`.
    pub(super) const fn starting_from(v: Voltage) -> Self {
        Self { first: v, before: v, fallen: v, back: v, done: 0, came_back: 0, fell: 0 }
    }

    /// At the end of a pulse they stand at `v`.
    pub(super) fn fell_to(&mut self, v: Voltage) {
        self.fallen = v;
        let fall = self.before.abs().saturating_sub(v.abs());
        // 5 uF falls by 3.9 % a pulse; half of that leaves room for noise and for stores that are
        // larger and still passive.
        if per_mille(self.before).saturating_mul(20) < fall {
            self.fell = self.fell.saturating_add(1);
        }
    }

    /// At the end of the pause after it they stand at `v`.
    pub(super) fn came_back_to(&mut self, v: Voltage) {
        let fall = self.before.saturating_sub(self.fallen).abs();
        let recovery = v.saturating_sub(self.fallen).abs();
        if fall.div(2) < recovery && per_mille(self.before).saturating_mul(10) < fall {
            self.came_back = self.came_back.saturating_add(1);
        }
        self.before = v;
        self.back = v;
        self.done = self.done.saturating_add(1);
    }

    pub(super) const fn are_done(&self) -> bool {
        self.done >= 3
    }

    /// What was left under the last pulse.
    pub(super) const fn loaded(&self) -> Voltage {
        self.fallen
    }

    /// Fell each time and stayed down: a charge. Came back twice: a source. Did not fall at all at
    /// a voltage where a large store would show it: a source. Otherwise nobody can tell.
    pub(super) fn class(&self) -> Circuit {
        if self.came_back >= 2 {
            return Circuit::LiveDc;
        }
        if self.fell >= 3 && self.came_back == 0 {
            return Circuit::Charged;
        }
        // Three pulses take 0.6 % out of 100 uF: at 100 V and more that is seen; a source shows
        // nothing. Below, noise hides it.
        let lost = self.first.abs().saturating_sub(self.back.abs());
        let stiff = lost < per_mille(self.first).saturating_mul(2);
        if stiff && Voltage::from_volts(100) < self.first.abs() {
            Circuit::LiveDc
        } else {
            Circuit::StoredOrLive
        }
    }
}

fn per_mille(v: Voltage) -> Voltage {
    v.abs().div(1_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(points: [(i32, i32); 3], from: i32) -> Circuit {
        let mut pulses = Pulses::starting_from(Voltage::from_millivolts(from));
        for (fell, back) in points {
            pulses.fell_to(Voltage::from_millivolts(fell));
            pulses.came_back_to(Voltage::from_millivolts(back));
        }
        pulses.class()
    }

    #[test]
    fn a_store_of_five_microfarads_is_charged() {
        assert_eq!(
            run([(96_000, 95_900), (92_200, 92_100), (88_500, 88_400)], 100_000),
            Circuit::Charged
        );
    }

    #[test]
    fn a_weak_source_that_comes_back_is_a_source() {
        assert_eq!(
            run([(41_000, 225_000), (41_000, 225_000), (41_000, 225_000)], 231_000),
            Circuit::LiveDc
        );
    }

    #[test]
    fn a_stiff_source_and_a_link_capacitor_are_told_apart_only_where_it_can_be_seen() {
        assert_eq!(run([(600_000, 600_000); 3], 600_000), Circuit::LiveDc);
        assert_eq!(
            run([(499_000, 499_000), (498_000, 498_000), (497_000, 497_000)], 500_000),
            Circuit::StoredOrLive
        );
        assert_eq!(run([(60_000, 60_000); 3], 60_000), Circuit::StoredOrLive);
    }

    #[test]
    fn reversed_voltages_are_judged_alike() {
        assert_eq!(
            run([(-96_000, -95_900), (-92_200, -92_100), (-88_500, -88_400)], -100_000),
            Circuit::Charged
        );
    }
}
