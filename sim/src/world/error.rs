//! Why a scenario cannot be run.

use alloc::string::String;
use core::fmt;

use crate::circuit::NetError;

/// Why a scenario cannot be run.
#[derive(Clone, Debug, PartialEq)]
pub enum WorldError {
    /// The circuit cannot be solved.
    Circuit(NetError),
    /// A recording cannot be had; the text says which and why.
    Recording(String),
}

impl fmt::Display for WorldError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Circuit(error) => write!(f, "the circuit cannot be solved: {error}"),
            Self::Recording(why) => write!(f, "a recording cannot be had: {why}"),
        }
    }
}

impl core::error::Error for WorldError {}

impl From<NetError> for WorldError {
    fn from(error: NetError) -> Self {
        Self::Circuit(error)
    }
}
