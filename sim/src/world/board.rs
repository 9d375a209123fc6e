//! What the main loop of a board does for its records: a part of this simulation, and an example.
//!
//! At power-up [`Board::open`] mends what a power cut left in the store and finds what core is woken
//! with. After every step of core [`Board::after_step`] makes the record of a reading that counts
//! from then on and writes it, and then writes what must survive a reset, where that differs from
//! what was written last. The record goes first: if the power goes between the two, the mark of an
//! unfinished drive stays, and an instrument that is too careful hurts nobody.
//!
//! Nothing here reaches the interlock, and no drive waits for it. A reading that is not kept has to
//! be seen by whoever relies on the record: it is told as a [`StoreEvent`], on a line of the display
//! that is the board's own.

use core::fmt;

use embedded_storage::nor_flash::NorFlash;
use ohmwarden_core::Instrument;
use ohmwarden_core::block::Kind;
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::kept::Kept;
use ohmwarden_core::store::{PLACE, Places, Store, Trouble, WhenFull};

/// The version of the layout in which constants stand in the store.
const CONSTANTS: u8 = 1;

/// Tells what became of something that was to be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StoreEvent {
    /// The reading is kept under this number.
    Kept(u32),
    /// The store is full, and the reading is not kept.
    Full,
    /// The store does not work, and what was to be kept is not.
    Failed,
    /// The power went in the middle of a write: told by the simulation, not by the board.
    PowerLost,
}

impl fmt::Display for StoreEvent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Kept(serial) => write!(f, "kept as record {serial}"),
            Self::Full => f.write_str(
                "full: this reading is not kept; read the store out or allow overwriting, then \
                 measure again",
            ),
            Self::Failed => f.write_str("the store does not work: nothing is kept"),
            Self::PowerLost => f.write_str("the power went in the middle of a write"),
        }
    }
}

/// A board with a store.
#[derive(Clone, Debug)]
pub(super) struct Board<F> {
    store: Store<F>,
    kept: Kept,
}

impl<F: NorFlash> Board<F> {
    /// Opens the store, as at power-up.
    ///
    /// # Errors
    /// What the store cannot be opened for.
    pub(super) fn open(flash: F, places: Places) -> Result<Self, Trouble<F::Error>> {
        let mut store = Store::open(flash, places)?;
        let kept = store.kept()?.unwrap_or(Kept::NOTHING);
        Ok(Self { store, kept })
    }

    /// Gives what core is woken with.
    pub(super) const fn kept(&self) -> Kept {
        self.kept
    }

    /// Gives the constants as they are found: none, sound ones, or damaged ones.
    pub(super) fn constants(&mut self) -> Option<Calibration> {
        let mut place = [0; PLACE];
        let Ok(found) = self.store.calibration(&mut place) else {
            return Some(Calibration::DAMAGED);
        };
        let block = found?;
        let known = block.is(Kind::Calibration, CONSTANTS).is_ok();
        let constants = Calibration::from_bytes(block.body).ok().filter(|_| known);
        Some(constants.unwrap_or(Calibration::DAMAGED))
    }

    /// Writes constants, as whoever calibrates the instrument does.
    ///
    /// # Errors
    /// As [`Store::calibrate`].
    pub(super) fn calibrate(&mut self, constants: &Calibration) -> Result<(), Trouble<F::Error>> {
        self.store.calibrate(CONSTANTS, &constants.to_bytes())
    }

    /// Keeps what is to be kept of a step of core; what is to be told of it.
    pub(super) fn after_step(
        &mut self,
        (instrument, commands): (&Instrument, &Commands),
        full: WhenFull,
    ) -> Option<StoreEvent> {
        let told = if commands.committed() { self.append(instrument, full) } else { None };
        let kept = commands.kept();
        if kept == self.kept {
            return told;
        }
        // Tried once: a flash that fails is not to be worn by trying in every block.
        self.kept = kept;
        if self.store.keep(&kept).is_ok() { told } else { Some(StoreEvent::Failed) }
    }

    /// Writes the record of the reading that was committed, if there was one.
    fn append(&mut self, instrument: &Instrument, full: WhenFull) -> Option<StoreEvent> {
        let serial = self.store.next_serial();
        let Ok(record) = instrument.record(serial)? else { return Some(StoreEvent::Failed) };
        Some(match self.store.append(&record, full) {
            Ok(()) => StoreEvent::Kept(serial),
            Err(Trouble::Full) => StoreEvent::Full,
            Err(_) => StoreEvent::Failed,
        })
    }

    /// Counts the records that can be read, and the damaged ones.
    ///
    /// # Errors
    /// What the flash reports.
    pub(super) fn count(&mut self) -> Result<(u32, u32), Trouble<F::Error>> {
        let (mut whole, mut damaged) = (0, 0);
        self.store.records(|record| match record {
            Ok(_) => whole += 1,
            Err(_) => damaged += 1,
        })?;
        Ok((whole, damaged))
    }

    /// The flash, to cut its power.
    pub(super) const fn flash_mut(&mut self) -> &mut F {
        self.store.flash_mut()
    }

    /// Gives the flash back, as when the power is gone.
    pub(super) fn into_flash(self) -> F {
        self.store.into_flash()
    }
}
