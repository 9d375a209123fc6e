//! An instrument that is broken on purpose, so that a test can show that the watch catches it.

use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::date::Date;
use ohmwarden_core::frame::Panel;
use ohmwarden_core::invariants::Observed;

use super::{Snapshot, World};
use crate::faults::Effect;
use crate::frontend::Lines;

/// Hooks for tests: each is given the last moment and may change what passes by.
///
/// The watch always sees the physical truth; only what is between core and the hardware, or what
/// core is said to have done, can be falsified.
#[derive(Clone, Copy, Debug)]
pub struct Meddle {
    /// Changes what reaches the hardware, before every sample.
    pub lines: fn(&mut Lines, &Snapshot),
    /// Changes what the watch is told that core did in a block.
    pub observed: fn(&mut Observed, &Snapshot),
    /// Changes what core is told of the keys; the watch goes on seeing the keys themselves.
    pub panel: fn(&mut Panel, &Snapshot),
}

impl Meddle {
    /// Changes nothing: the start of a variant that changes one thing.
    pub const NOTHING: Self = Self { lines: |_, _| {}, observed: |_, _| {}, panel: |_, _| {} };
}

impl World {
    /// Breaks the instrument on purpose.
    pub const fn meddle(&mut self, meddle: Meddle) {
        self.meddle = Some(meddle);
    }

    /// Makes the electronics differ from their nominal values by what no fault of the catalogue is:
    /// the spread of parts that a tolerance allows.
    pub fn differ(&mut self, effect: &Effect) {
        self.bench.apply(effect);
    }

    /// Hands these constants to the instrument instead of those of the scenario.
    pub fn calibrate(&mut self, calibration: Calibration) {
        self.calibration = Some(calibration);
        self.instrument.set_calibration(self.calibration);
        if let Some(memory) = &mut self.memory {
            memory.calibrate(&calibration);
        }
    }

    /// The day of the run.
    #[must_use]
    pub const fn today(&self) -> Date {
        self.told.today
    }

    pub(super) fn meddle_lines(&mut self) {
        if let Some(meddle) = &self.meddle {
            (meddle.lines)(&mut self.lines, &self.now);
        }
    }

    pub(super) fn meddle_observed(&self, observed: &mut Observed) {
        if let Some(meddle) = &self.meddle {
            (meddle.observed)(observed, &self.now);
        }
    }

    /// The keys as core is told of them.
    pub(super) fn told_panel(&self) -> Panel {
        let mut panel = self.faults.panel(self.panel);
        if let Some(meddle) = &self.meddle {
            (meddle.panel)(&mut panel, &self.now);
        }
        panel
    }
}
