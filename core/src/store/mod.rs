//! Blocks in flash: a log of records, and the latest of what is kept and of the calibration.
//!
//! Three rings of pages, each written from its oldest page round to its newest: the log keeps all
//! that fits, the others need only their last block. So whatever is erased is either the oldest of
//! a log that was asked to overwrite, or older than a block that stands whole on another page, and
//! a power cut at any moment leaves what was there before or what was to be there after. A log that
//! is full refuses. Reading never writes.
//!
//! **Pages.** Each ring needs [`LEAST_PAGES`], so that a page whose erasure was cut short can be
//! told from the page in use; a page must hold the longest block of its ring, 8 bytes and two words
//! beside it. A page of 4096 bytes with words of 4 bytes holds 15 records or 80 times what is kept.
//! **Wear.** A page is erased once for every round of its ring: 240 changes of what is kept, on
//! three pages of 4096 bytes, wear each of them by one of its 10 000 or more erasures.
//! **Full.** A record that is refused stops no measurement and reaches no decision. The board says so
//! on a line of its own until one is written again: a reading that nobody knows to be missing is
//! worse than one that is.
//! **Memory.** An operation takes one block and some 200 bytes of stack; nothing is allocated.
//!
//! It stands on `sequential-storage` in one exact version, because the form of its pages is not
//! promised from one to the next. That library is not inside this crate's promise that no panic can
//! be reached. A header torn by a power cut hides what is written behind it on its page with a
//! chance of one in 65 536, the strength of the check over the length in a header.

mod flash;
mod mend;
mod ring;

use core::ops::Range;

pub use flash::FlashError;
pub use ring::{PLACE, Trouble};

use crate::block::{Block, Damage, Kind, LONGEST, seal};
use crate::kept::Kept;
use crate::record::Record;
use embedded_storage::nor_flash::NorFlash;
use ring::Ring;

/// The fewest pages of a ring.
pub const LEAST_PAGES: u32 = 3;

/// Where the rings lie, in bytes of the flash, at the borders of pages.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Places {
    /// Records and daily checks.
    pub log: Range<u32>,
    /// What must survive a reset.
    pub kept: Range<u32>,
    /// Calibration constants.
    pub calibration: Range<u32>,
}

/// What to do with a record for which there is no room.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum WhenFull {
    /// Refuse it with [`Trouble::Full`].
    #[default]
    Refuse,
    /// Erase the page with the oldest records.
    OverwriteOldest,
}

/// Blocks in flash.
#[derive(Clone, Debug)]
pub struct Store<F> {
    flash: F,
    places: Places,
    next_serial: u32,
}

impl<F: NorFlash> Store<F> {
    /// Opens the store, mends what a power cut left, and finds the next serial number.
    ///
    /// Blank flash is an empty store.
    ///
    /// # Errors
    /// [`Trouble::Places`] where a ring is too small, not at the borders of pages, outside the
    /// flash or in another one; else what the flash reports.
    pub fn open(mut flash: F, places: Places) -> Result<Self, Trouble<F::Error>> {
        let Places { log, kept, calibration } = &places;
        let rings = [log, kept, calibration];
        let apart = |(one, other): (&Range<u32>, &Range<u32>)| {
            one.end <= other.start || other.end <= one.start
        };
        if ![(log, kept), (log, calibration), (kept, calibration)].into_iter().all(apart) {
            return Err(Trouble::Places);
        }
        for range in rings {
            mend::mend(&mut flash, range)?;
        }
        let mut store = Self { flash, places, next_serial: 0 };
        let mut next = 0;
        store.read(|block| {
            if let Ok(block) = block {
                next = next.max(block.serial.saturating_add(1));
            }
        })?;
        store.next_serial = next;
        Ok(store)
    }

    /// The serial number that the next block of the log has to have.
    #[must_use]
    pub const fn next_serial(&self) -> u32 {
        self.next_serial
    }

    /// Writes a record behind those that are there.
    ///
    /// # Errors
    /// As [`Store::append_block`].
    pub fn append(&mut self, record: &Record, full: WhenFull) -> Result<(), Trouble<F::Error>> {
        self.append_block(&record.to_bytes(), full)
    }

    /// Writes a sealed block of any kind behind those that are there.
    ///
    /// # Errors
    /// [`Trouble::Full`]; [`Trouble::Damaged`] for what is no whole block; [`Trouble::Serial`] where
    /// its number is not [`Store::next_serial`]; else what the flash reports. Whatever it is,
    /// nothing of the block is read later.
    pub fn append_block(&mut self, block: &[u8], full: WhenFull) -> Result<(), Trouble<F::Error>> {
        let whole = Block::first(block).map_err(Trouble::Damaged)?;
        if whole.len() != block.len() {
            return Err(Trouble::Damaged(Damage::Length));
        }
        if whole.serial != self.next_serial {
            return Err(Trouble::Serial(self.next_serial));
        }
        let overwrite = full == WhenFull::OverwriteOldest;
        Ring::of(&mut self.flash, &self.places.log)?.push(block, overwrite)?;
        self.next_serial = self.next_serial.saturating_add(1);
        Ok(())
    }

    /// Hands every block of the log to `reader`, the oldest first; a damaged one as its [`Damage`].
    ///
    /// What was being written when the power went is passed over: it was never there.
    ///
    /// # Errors
    /// What the flash reports.
    pub fn read(
        &mut self,
        reader: impl FnMut(Result<Block<'_>, Damage>),
    ) -> Result<(), Trouble<F::Error>> {
        Ring::of(&mut self.flash, &self.places.log)?.each(reader)
    }

    /// Hands every block of the log that is a record to `reader`, the oldest first.
    ///
    /// # Errors
    /// What the flash reports.
    pub fn records(
        &mut self,
        mut reader: impl FnMut(Result<Record, Damage>),
    ) -> Result<(), Trouble<F::Error>> {
        self.read(|block| match block {
            Ok(block) if block.kind == Kind::Record.number() => reader(Record::of_block(&block)),
            Ok(_) => {}
            Err(damage) => reader(Err(damage)),
        })
    }

    /// Writes what must survive a reset.
    ///
    /// # Errors
    /// What the flash reports; what was kept before is then still there.
    pub fn keep(&mut self, kept: &Kept) -> Result<(), Trouble<F::Error>> {
        let mut ring = Ring::of(&mut self.flash, &self.places.kept)?;
        let serial = ring.last(&mut [0; PLACE])?.map_or(0, |block| block.serial.wrapping_add(1));
        ring.push(&kept.to_bytes(serial), true)?;
        // Pages that were wrong from the beginning may hide what was written behind older blocks.
        match ring.last(&mut [0; PLACE])? {
            Some(block) if block.serial == serial => Ok(()),
            _ => Err(Trouble::Pages),
        }
    }

    /// What was kept last; `None` where nothing whole is there.
    ///
    /// # Errors
    /// What the flash reports; [`Trouble::Damaged`] where the last block holds what cannot be.
    pub fn kept(&mut self) -> Result<Option<Kept>, Trouble<F::Error>> {
        let mut place = [0; PLACE];
        let last = Ring::of(&mut self.flash, &self.places.kept)?.last(&mut place)?;
        last.map(|block| Kept::of_block(&block)).transpose().map_err(Trouble::Damaged)
    }

    /// Writes calibration constants, as bytes with a version of their layout.
    ///
    /// # Errors
    /// [`Trouble::TooLong`]; else what the flash reports, and the old ones are still there.
    pub fn calibrate(&mut self, version: u8, constants: &[u8]) -> Result<(), Trouble<F::Error>> {
        let mut ring = Ring::of(&mut self.flash, &self.places.calibration)?;
        let serial = ring.last(&mut [0; PLACE])?.map_or(0, |block| block.serial.wrapping_add(1));
        let mut place = [0; LONGEST];
        let block = seal(Kind::Calibration, version, serial, constants, &mut place)
            .ok_or(Trouble::TooLong)?;
        ring.push(block, true)
    }

    /// The block of the constants that were written last, in `place`; `None` where none is whole.
    ///
    /// # Errors
    /// What the flash reports.
    pub fn calibration<'p>(
        &mut self,
        place: &'p mut [u8; PLACE],
    ) -> Result<Option<Block<'p>>, Trouble<F::Error>> {
        Ring::of(&mut self.flash, &self.places.calibration)?.last(place)
    }

    /// The flash, for whoever wakes its driver or puts it to sleep; to write is the store's affair.
    pub const fn flash_mut(&mut self) -> &mut F {
        &mut self.flash
    }

    /// Gives the flash back.
    #[must_use]
    pub fn into_flash(self) -> F {
        self.flash
    }
}
