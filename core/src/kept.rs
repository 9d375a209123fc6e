//! What must survive a reset: the lead null, actuator locks, and the mark of an unfinished drive.

use crate::interlock::Lock;
use crate::unit::Resistance;

/// A small value for a board to keep and to hand back to [`crate::Instrument::wake`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Kept {
    /// The learned lead resistance, if there is one.
    pub null: Option<Resistance>,
    /// An actuator that is known to be broken.
    pub lock: Option<Lock>,
    /// A drive was begun and its discharge not yet seen.
    pub unfinished: bool,
}

impl Kept {
    /// A new instrument.
    pub const NOTHING: Self = Self { null: None, lock: None, unfinished: false };
}
