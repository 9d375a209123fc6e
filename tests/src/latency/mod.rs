//! How fast the trip really is, and that it leaves passive loads alone.

pub mod arrival;
pub mod grid;
pub mod passive;
pub mod pickup;
pub mod print;
pub mod rig;
pub mod rows;
pub mod run;

use ohmwarden_core::interlock::State;
use ohmwarden_sim::circuit::{Diverged, NetError};

/// A source that delivers less than this is off.
pub const OFF_AMPS: f64 = 50.0e-6;

/// A pick-up must be told within so many milliseconds.
pub const TELL_MS: u32 = 300;

/// Why a table cannot be made; never a result.
#[derive(Clone, Debug, PartialEq)]
pub enum Broken {
    /// The circuit cannot be solved.
    Circuit(NetError),
    /// The circuit found no operating point.
    Diverged(Diverged),
    /// The instrument refused to drive a passive load.
    NeverDrives(State),
    /// A set-up was begun and not finished.
    NothingDone,
}

impl core::fmt::Display for Broken {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Circuit(error) => write!(f, "the circuit cannot be solved: {error}"),
            Self::Diverged(error) => write!(f, "{error}"),
            Self::NothingDone => f.write_str("a set-up was begun and not finished"),
            Self::NeverDrives(state) => write!(f, "no drive on a passive load: {state:?}"),
        }
    }
}

impl core::error::Error for Broken {}

impl From<NetError> for Broken {
    fn from(error: NetError) -> Self {
        Self::Circuit(error)
    }
}

impl From<Diverged> for Broken {
    fn from(error: Diverged) -> Self {
        Self::Diverged(error)
    }
}
