//! Every decision that a hand-held insulation and continuity tester makes, and no I/O.
#![no_std]

#[cfg(test)]
extern crate std;

pub mod signal;
pub mod text;
pub mod unit;
