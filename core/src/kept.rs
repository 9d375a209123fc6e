//! What must survive a reset: the lead null, actuator locks, and the mark of an unfinished drive.
//!
//! The body of its block: 1 byte that says what is there, null in mohm (8), day of the null in days
//! since 1 January 2000 (2), open leads: test voltage in uV (4), leakage in pA (8), capacitance in
//! pF (4), lock (1, 0 for none). What is absent is zero.

use crate::block::{Block, Damage, Kind, Reader, SEAL, Writer, numbered, seal_as};
use crate::date::Date;
use crate::interlock::Lock;
use crate::unit::{Capacitance, Current, Resistance, Voltage};

/// A small value for a board to keep and to hand back to [`crate::Instrument::wake`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Kept {
    /// The learned lead resistance, if there is one.
    pub null: Option<Resistance>,
    /// The day on which that was learned, where the board knew it.
    pub null_day: Option<Date>,
    /// What the leads show by themselves with their ends in the air, if it was learned.
    pub open_leads: Option<OpenLeads>,
    /// An actuator that is known to be broken.
    pub lock: Option<Lock>,
    /// A drive was begun and its discharge not yet seen.
    pub unfinished: bool,
}

impl Kept {
    /// A new instrument.
    pub const NOTHING: Self =
        Self { null: None, null_day: None, open_leads: None, lock: None, unfinished: false };

    /// The version of the layout.
    pub const VERSION: u8 = 1;
    /// The bytes of it, whatever is in it.
    pub const LENGTH: usize = SEAL + 28;

    /// The bytes of it: a sealed block. `serial` counts how often it was kept, so that a board with
    /// two places knows which is the newer.
    #[must_use]
    pub fn to_bytes(&self, serial: u32) -> [u8; Self::LENGTH] {
        let mut bytes = [0; Self::LENGTH];
        seal_as(&mut bytes, [Kind::Kept.number(), Self::VERSION], serial, |w| self.write(w));
        bytes
    }

    /// What such bytes hold; [`Block::first`] tells their serial number.
    ///
    /// # Errors
    /// What is wrong with them first: [`Damage`]. Nothing of a damaged block comes out; an
    /// instrument that wakes with [`Kept::NOTHING`] instead has no lead null and no lock.
    ///
    /// ```
    /// use ohmwarden_core::kept::Kept;
    /// let mut bytes = Kept { unfinished: true, ..Kept::NOTHING }.to_bytes(1);
    /// assert!(Kept::from_bytes(&bytes).unwrap().unfinished);
    /// bytes[12] ^= 1;
    /// assert!(Kept::from_bytes(&bytes).is_err());
    /// ```
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, Damage> {
        Self::of_block(&Block::all(bytes)?)
    }

    /// What a block holds.
    ///
    /// # Errors
    /// What is wrong with it first: [`Damage`].
    pub fn of_block(block: &Block<'_>) -> Result<Self, Damage> {
        block.is(Kind::Kept, Self::VERSION)?;
        let kept = Self::read(block.body)?;
        block.is_written_as(&kept.to_bytes(block.serial)).map(|()| kept)
    }

    fn write(&self, w: &mut Writer<'_>) {
        let leads = self.open_leads.unwrap_or_default();
        w.u8(u8::from(self.null.is_some())
            | u8::from(self.null_day.is_some()) << 1
            | u8::from(self.open_leads.is_some()) << 2
            | u8::from(self.unfinished) << 3);
        w.u64(self.null.map_or(0, Resistance::as_milliohms));
        w.u16(self.null_day.map_or(0, Date::as_days));
        w.i32(leads.set.as_microvolts());
        w.i64(leads.leakage.as_picoamps());
        w.u32(leads.capacitance.as_picofarads());
        w.u8(self.lock.map_or(0, lock_number));
    }

    fn read(body: &[u8]) -> Result<Self, Damage> {
        let r = &mut Reader::of_body(body);
        let there = r.u8();
        let null = Resistance::from_milliohms(r.u64());
        let null_day = Date::from_days(r.u16());
        let open_leads = OpenLeads {
            set: Voltage::from_microvolts(r.i32()),
            leakage: Current::from_picoamps(r.i64()),
            capacitance: Capacitance::from_picofarads(r.u32()),
        };
        let lock = r.one_of(lock_or_none, None);
        r.end()?;
        Ok(Self {
            null: (there & 1 != 0).then_some(null),
            null_day: (there & 2 != 0).then_some(null_day),
            open_leads: (there & 4 != 0).then_some(open_leads),
            lock,
            unfinished: there & 8 != 0,
        })
    }
}

numbered! {
    lock_number, lock_of, Lock {
        1 = Lock::Channels,
        2 = Lock::Clock,
        3 = Lock::Converter,
        4 = Lock::Discharge,
        5 = Lock::DriveStuck,
        6 = Lock::OverVoltage,
        7 = Lock::Reference,
        8 = Lock::SourceDead,
        9 = Lock::StoredInductive,
    }
}

/// The lock of a number, where 0 is none.
fn lock_or_none(number: u8) -> Option<Option<Lock>> {
    if number == 0 { Some(None) } else { lock_of(number).map(Some) }
}

/// What a test of insulation finds on leads that touch nothing.
///
/// The leakage of damp leads is not ohmic, so it is known at the voltage it was learned at only.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct OpenLeads {
    /// The test voltage it was learned at.
    pub set: Voltage,
    /// What leaks there.
    pub leakage: Current,
    /// What they store.
    pub capacitance: Capacitance,
}
