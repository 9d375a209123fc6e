//! Does the path to the circuit exist? Two channels cannot tell: both read 0 V on an open lead.

use crate::unit::{Capacitance, Current};

/// How long evidence stays good, in blocks of 1 ms.
const GOOD_FOR: u32 = 60_000;
/// Charge taken beyond that of open leads: 10 m of cable is about 1 nF (common practice).
const LEAST_LOAD: Capacitance = Capacitance::from_picofarads(100);
/// Conduction beyond any leakage of the leads themselves.
const LEAST_CURRENT: Current = Current::from_nanoamps(20);

/// What speaks for the path, with its age. Void on a change of leads or function.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PathProof {
    left: u32,
}

impl PathProof {
    /// Nothing speaks for it.
    pub const NONE: Self = Self { left: 0 };

    /// One block has passed.
    pub const fn step(&mut self) {
        self.left = self.left.saturating_sub(1);
    }

    /// A continuity current found a path of less than 100 ohm through both leads.
    pub const fn looped(&mut self) {
        self.left = GOOD_FOR;
    }

    /// A ramp put `c` in beyond the output capacitor, measured downstream of it.
    pub const fn charged(&mut self, c: Capacitance) {
        if !c.is_below(LEAST_LOAD) {
            self.left = GOOD_FOR;
        }
    }

    /// `i` flowed at the test voltage.
    pub const fn conducted(&mut self, i: Current) {
        if LEAST_CURRENT.is_below(i) {
            self.left = GOOD_FOR;
        }
    }

    /// Whether the path counts as proved.
    #[must_use]
    pub const fn is_proved(&self) -> bool {
        self.left > 0
    }
}
