//! What must survive a reset: the lead null, actuator locks, and the mark of an unfinished drive.

use crate::date::Date;
use crate::interlock::Lock;
use crate::unit::{Capacitance, Current, Resistance, Voltage};

/// A small value for a board to keep and to hand back to [`crate::Instrument::wake`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
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
}

/// What a test of insulation finds on leads that touch nothing.
///
/// The leakage of damp leads is not ohmic, so it is known at the voltage it was learned at only.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct OpenLeads {
    /// The test voltage it was learned at.
    pub set: Voltage,
    /// What leaks there.
    pub leakage: Current,
    /// What they store.
    pub capacitance: Capacitance,
}
