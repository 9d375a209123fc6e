//! The parts of a circuit: their kinds and keys, and values that do not go together.

use alloc::string::String;

use super::key::Key;

mod kinds;

pub use kinds::{KINDS, Part};

/// A part, its name and its two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedPart {
    /// The name by which events and sweeps refer to it.
    pub name: String,
    /// The nodes at its first and second terminal.
    pub across: [String; 2],
    /// What it is.
    pub part: Part,
}

impl NamedPart {
    /// Changes a value by its key; false where the part has no such number.
    pub fn set(&mut self, key: &str, value: f64) -> bool {
        match self.part.number_mut(key) {
            Some(place) => {
                *place = value;
                true
            }
            None => false,
        }
    }

    /// Gives the table entry of one of its keys.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        Kind::find(self.part.kind())?.key(name)
    }
}

/// One harmonic of a sine source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// Its order, from 2.
    pub order: u32,
    /// Its size as a part of the fundamental.
    pub fraction: f64,
    /// Its phase against its own cosine-free zero, degrees of its own period.
    pub phase_deg: f64,
}

/// A kind of part and its keys.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// The word in the text: `[part.NAME.KIND]`.
    pub name: &'static str,
    /// Its keys, `across` apart.
    pub keys: &'static [Key],
}

impl Kind {
    /// Finds a kind by its word.
    #[must_use]
    pub fn find(name: &str) -> Option<&'static Self> {
        KINDS.iter().find(|kind| kind.name == name)
    }

    /// Finds one of its keys.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }
}

impl Part {
    /// Finds values that are each in range but not together: what is wrong, and what is accepted.
    pub(super) fn contradiction(&self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::Pulse { width_s, period_s, .. } if width_s >= period_s => {
                Some(("a pulse lasts longer than its period", "width_s below period_s"))
            }
            Self::Arc { strike_volts, arc_volts, .. } if arc_volts >= strike_volts => {
                Some(("an arc burns no higher than it strikes", "arc_volts below strike_volts"))
            }
            Self::Switch { on_ohms, off_ohms, .. } if on_ohms >= off_ohms => {
                Some(("a closed switch is no worse than an open one", "on_ohms below off_ohms"))
            }
            _ => None,
        }
    }
}
