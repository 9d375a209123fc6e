//! Brings a reading to another temperature or length, and a capacitance or a loop to a distance.
//!
//! Every correction keeps the raw reading beside the corrected one, adds the doubt that it brings,
//! and refuses where it would have to guess. `f32`, as readings are; nothing here decides about
//! safety, and nothing here judges. Checked in `tests/tests/published/`.

mod conductor;
mod length;
mod pair;
mod rules;
mod surroundings;
mod temperature;

pub use conductor::{Class, Conductor, NoConductor, Section};
pub use length::{NoLength, for_length};
pub use pair::{Located, NoDistance, PAIRS, PairKind, split_by_ratio};
pub use surroundings::{Bring, Surroundings};
pub use temperature::{Corrected, NoCorrection, Rule, Warmth, correct};
