//! Every decision that a hand-held insulation and continuity tester makes, and no I/O.
#![no_std]

#[cfg(test)]
extern crate std;

pub mod commands;
pub mod detect;
pub mod frame;
pub mod gate;
pub mod hazard;
mod instrument;
pub mod interlock;
pub mod invariants;
pub mod judge;
pub mod kept;
pub mod measure;
pub mod profile;
pub mod signal;
pub mod text;
pub mod tone;
pub mod unit;
pub mod view;

pub use commands::Commands;
pub use instrument::Instrument;
