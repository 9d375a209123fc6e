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
use ohmwarden_core::block::{Damage, Kind};
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::date::Date;
use ohmwarden_core::frame::{Function, Task};
use ohmwarden_core::interlock::State;
use ohmwarden_core::judge::{Flags, Reading, Value};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::{About, Finding, LeadNull, Origin, Record};
use ohmwarden_core::store::{PLACE, Places, Store, Trouble, WhenFull};
use ohmwarden_core::unit::Capacitance;

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

/// What a board is made as.
#[derive(Clone, Copy, Debug)]
pub(super) struct Make {
    /// The number of its profile.
    pub(super) profile: u8,
    /// The day that its clock tells.
    pub(super) today: Date,
}

/// A board with a store.
#[derive(Clone, Debug)]
pub(super) struct Board<F> {
    store: Store<F>,
    make: Make,
    kept: Kept,
    measures: bool,
}

impl<F: NorFlash> Board<F> {
    /// Opens the store, as at power-up.
    ///
    /// # Errors
    /// What the store cannot be opened for.
    pub(super) fn open(flash: F, places: Places, make: Make) -> Result<Self, Trouble<F::Error>> {
        let mut store = Store::open(flash, places)?;
        let kept = store.kept()?.unwrap_or(Kept::NOTHING);
        Ok(Self { store, make, kept, measures: false })
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
        let told = self.counts(commands).then(|| self.append(instrument, commands, full));
        let kept = commands.kept();
        if kept == self.kept {
            return told;
        }
        // Tried once: a flash that fails is not to be worn by trying in every block.
        self.kept = kept;
        if self.store.keep(&kept).is_ok() { told } else { Some(StoreEvent::Failed) }
    }

    /// Whether a reading counts from this block on: back at rest after a drive that measured.
    fn counts(&mut self, commands: &Commands) -> bool {
        let (Some(event), view) = (commands.event(), commands.view()) else { return false };
        match event.to {
            State::Drive { .. } | State::TimedDrive { .. } | State::ContRun => self.measures = true,
            State::Prove { restarts: 0 } | State::Nulling => self.measures = false,
            State::Rest if matches!(event.from, State::Settle { .. } | State::Unwind) => {
                let shows = view.main.value != Value::None && !view.live;
                return core::mem::take(&mut self.measures) && shows;
            }
            _ => {}
        }
        false
    }

    fn append(
        &mut self,
        instrument: &Instrument,
        commands: &Commands,
        full: WhenFull,
    ) -> StoreEvent {
        let serial = self.store.next_serial();
        let Ok(record) = record(serial, instrument, commands, self.make) else {
            return StoreEvent::Failed;
        };
        match self.store.append(&record, full) {
            Ok(()) => StoreEvent::Kept(serial),
            Err(Trouble::Full) => StoreEvent::Full,
            Err(_) => StoreEvent::Failed,
        }
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

/// Makes the record of the reading that core shows.
fn record(
    serial: u32,
    instrument: &Instrument,
    commands: &Commands,
    make: Make,
) -> Result<Record, Damage> {
    let (view, today) = (commands.view(), Some(make.today));
    let shown = Reading { flags: view.main.flags.without(Flags::FROZEN), ..view.main };
    let finding = match view.judged {
        Some(judged) => Finding::Judged(judged, Origin::default()),
        None => Finding::Unjudged(shown),
    };
    let nulled = matches!(view.function, Function::Continuity(_));
    let timed = view.function.task() == Task::Timed;
    let about = About {
        day: today,
        function: view.function,
        second: view.second,
        profile: make.profile,
        null: LeadNull::in_use(&commands.kept(), today).filter(|_| nulled),
        capacitance: picofarads(&view.capacitance),
        curve: if timed { instrument.curve().clone() } else { About::NOTHING.curve },
        ..About::NOTHING
    };
    Record::of(serial, finding, about)
}

fn picofarads(stored: &Reading) -> Option<Capacitance> {
    let Value::Number(farads) = stored.value else { return None };
    Some(Capacitance::from_picofarads(libm::roundf(farads * 1.0e12) as u32))
}
