//! The flash of the simulated board: how large it is, and what a power cut in a write does.
//!
//! Pages of [`PAGE`] bytes and words of [`WORD`]; a write takes no time. What is torn in the word
//! or the page that was being written is drawn from the seed of the scenario.

use alloc::vec::Vec;

use ohmwarden_core::Instrument;
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::kept::Kept;
use ohmwarden_core::store::{LEAST_PAGES, Places, WhenFull};

use super::board::{Board, StoreEvent};
use super::{Observer, World};
use crate::flash::{Cut, Nor};
use crate::scenario::StoreSpec;

/// Bytes of a page: the small pages of a processor's own flash (common practice), three records each.
const PAGE: usize = 1024;
/// Bytes of a word.
const WORD: usize = 4;

type Flash = Nor<PAGE, WORD>;

/// What expectations may ask of the store.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Stored {
    /// Records that can be read.
    pub records: u32,
    /// Records that cannot.
    pub damaged: u32,
    /// The last reading was refused because there was no room.
    pub full: bool,
}

/// The board's flash, and the board while it runs.
#[derive(Clone, Debug)]
pub(super) struct Memory {
    spec: StoreSpec,
    cut: Cut,
    part: Part,
    stored: Stored,
    lost_power: bool,
}

/// A board whose store opens, or a flash of which none can be made.
#[derive(Clone, Debug)]
enum Part {
    Runs(Board<Flash>),
    Dead(Flash),
}

impl Part {
    fn booted(flash: Flash, spec: StoreSpec) -> Self {
        // The board takes the flash; where it fails, what it was given is still to be looked at.
        Board::open(flash.clone(), places(spec)).map_or(Self::Dead(flash), Self::Runs)
    }

    fn into_flash(self) -> Flash {
        match self {
            Self::Runs(board) => board.into_flash(),
            Self::Dead(flash) => flash,
        }
    }
}

/// The log, then what is kept, then the constants.
fn places(spec: StoreSpec) -> Places {
    let page = |n: u32| n.saturating_mul(PAGE as u32);
    let (log, kept) = (spec.pages, spec.pages + LEAST_PAGES);
    let end = kept + LEAST_PAGES;
    Places { log: 0..page(log), kept: page(log)..page(kept), calibration: page(kept)..page(end) }
}

impl Memory {
    /// Makes a board as it leaves the factory: a blank flash, the constants in it.
    pub(super) fn new(spec: StoreSpec, seed: u64, constants: Option<&Calibration>) -> Self {
        let pages = (spec.pages + 2 * LEAST_PAGES) as usize;
        let part = Part::booted(Flash::blank(pages), spec);
        let [draws, ..] = seed.to_le_bytes();
        let cut = Cut::Bits(draws);
        let mut memory = Self { spec, cut, part, stored: Stored::default(), lost_power: false };
        if let Some(constants) = constants {
            memory.calibrate(constants);
        }
        memory
    }

    /// Writes constants; a board that cannot keep them is of no use.
    pub(super) fn calibrate(&mut self, constants: &Calibration) {
        if let Part::Runs(board) = &mut self.part
            && board.calibrate(constants).is_err()
        {
            self.part = Part::Dead(self.part.clone().into_flash());
        }
    }

    /// Lets the board keep what is to be kept; what there is to tell.
    fn after_step(&mut self, of: (&Instrument, &Commands)) -> Option<StoreEvent> {
        let Part::Runs(board) = &mut self.part else {
            // Said again and again, for as long as it is so.
            return of.1.event().map(|_| StoreEvent::Failed);
        };
        let full = if self.spec.overwrite { WhenFull::OverwriteOldest } else { WhenFull::Refuse };
        let told = board.after_step(of, full)?;
        if board.flash_mut().is_cut() {
            self.lost_power = true;
            return Some(StoreEvent::PowerLost);
        }
        match told {
            StoreEvent::Full => self.stored.full = true,
            StoreEvent::Kept(_) => self.stored.full = false,
            StoreEvent::Failed | StoreEvent::PowerLost => {}
        }
        self.count();
        Some(told)
    }

    fn count(&mut self) {
        let Part::Runs(board) = &mut self.part else { return };
        (self.stored.records, self.stored.damaged) = board.count().unwrap_or_default();
    }

    /// Boots the board anew; what core is to be woken with.
    fn reboot(&mut self) -> (Kept, Option<Calibration>) {
        let flash = self.part.clone().into_flash();
        let flash = if self.lost_power { flash.powered() } else { flash };
        self.part = Part::booted(flash, self.spec);
        (self.lost_power, self.stored) = (false, Stored::default());
        self.count();
        match &mut self.part {
            Part::Runs(board) => (board.kept(), board.constants()),
            Part::Dead(_) => (Kept::NOTHING, Some(Calibration::DAMAGED)),
        }
    }

    /// What may be asked of it.
    pub(super) const fn stored(&self) -> Stored {
        self.stored
    }

    /// What the flash holds.
    pub(super) fn image(self) -> Vec<u8> {
        self.part.into_flash().bytes().to_vec()
    }
}

impl World {
    /// Lets the board keep what core has just decided to keep.
    pub(super) fn remember(&mut self, commands: &Commands, observer: &mut dyn Observer) {
        let Some(memory) = &mut self.memory else { return };
        if let Some(told) = memory.after_step((&self.instrument, commands)) {
            observer.store(&self.now, told);
        }
        self.now.store = Some(memory.stored);
    }

    /// The flash stops after so many more operations.
    pub(super) const fn cut_power_after(&mut self, operations: u64) {
        if let Some(Memory { part: Part::Runs(board), cut, .. }) = &mut self.memory {
            board.flash_mut().cut_after(operations, *cut);
        }
    }

    /// Whether a full store may overwrite its oldest records from now on.
    pub(super) const fn allow_overwriting(&mut self, allowed: bool) {
        if let Some(memory) = &mut self.memory {
            memory.spec.overwrite = allowed;
        }
    }

    /// Boots anew where the power went in a write.
    pub(super) fn come_back(&mut self) {
        if self.memory.as_ref().is_some_and(|memory| memory.lost_power) {
            self.reset();
            self.changed = true;
        }
    }

    /// What core is woken with: out of the store where there is one, and nothing where it is lost.
    pub(super) fn found(&mut self) -> (Kept, Option<Calibration>) {
        let found = self.memory.as_mut().map(Memory::reboot);
        let (kept, constants) = found.unwrap_or((self.faults.kept(), self.calibration));
        (if self.faults.forgets { Kept::NOTHING } else { kept }, constants)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parse;
    use crate::world::Snapshot;

    #[derive(Debug, Default)]
    struct Told(Vec<StoreEvent>);

    impl Observer for Told {
        fn store(&mut self, _: &Snapshot, told: StoreEvent) {
            self.0.push(told);
        }
    }

    #[test]
    fn a_store_that_does_not_open_is_told_and_holds_nothing() {
        let text = "ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n[start]\nstore = {}\n\
                    [[at]]\ns = 0.5\nreset = true\n";
        let mut world = World::new(&parse(text).expect("a scenario"), &()).expect("a circuit");
        let memory = world.memory.as_mut().expect("a store");
        // Of a wrong size, as where a chip was soldered in that is not the one of the drawings.
        memory.part = Part::Dead(Flash::blank(2));
        let mut told = Told::default();
        let report = world.run(&mut told).expect("a consistent circuit");
        assert!(told.0.len() >= 2 && told.0.iter().all(|it| *it == StoreEvent::Failed), "{told:?}");
        assert_eq!(report.last.store, Some(Stored::default()));
        assert_eq!(report.last.view.map(|view| view.state.word()), Some("rest"));
    }
}
