//! What is on the terminals, with the evidence: channels, path, class of the circuit.
//!
//! Fed once per block with the samples, in order. It tells, from exact integer sums: whether the
//! terminals are live now ([`live`]), whether the converter and both channels can be believed
//! ([`health`]), of which class the circuit is when the source is off ([`prove`]), whether a
//! discharge behaves as that of a passive circuit ([`discharge`]), whether something drives the
//! terminals between two turns of continuity current ([`Gap`]), what the shunt shows where nothing
//! flows ([`Zero`]), and how much the load stores ([`store`]). It only says what it sees; what
//! follows is the interlock's.
//!
//! Two channels guard against a bad channel, never against a bad path: both agree on 0 V when a lead
//! has fallen off. Hence three proofs, and the word dead needs all of them.
#![deny(clippy::float_arithmetic)]

mod block;
mod circuit;
pub mod currents;
pub mod discharge;
mod gap;
pub mod health;
pub mod live;
mod path;
pub mod prove;
pub mod store;
mod zero;

pub use block::{Block, coarse_current};
pub use circuit::{Circuit, Evidence};
pub use gap::Gap;
pub use path::PathProof;
pub use zero::{Zero, ZeroMeter};
