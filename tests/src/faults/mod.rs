//! Faults of the catalogue in every phase of a measurement: the runs, and what is told of them.
//!
//! A [`Case`] is one fault with its parameters in one [`Phase`]. Its run is that of the sound
//! instrument with the fault added, so that what the fault changed is what differs: a [`Story`] is
//! what a person at the instrument could tell of the run, as a set of short signs.

mod case;
mod ends;
mod phase;
mod story;

pub use case::{Case, Value, call};
pub use ends::{Ends, left_unsafe};
pub use phase::{Moments, PRESSES, Phase};
pub use story::{Story, tell};
