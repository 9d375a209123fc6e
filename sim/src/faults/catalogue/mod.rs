//! The catalogue: each fault with its parameters, one sentence for a reader, and what is expected.
//!
//! The numbers are those of the project's own list of faults. Ranges and defaults are its own choice.

use super::effect::Effect;
use crate::scenario::{FaultCall, FaultSpec};

mod actuators;
mod computing;
mod leads;
mod sensors;

use actuators::ACTUATORS;
use computing::COMPUTING;
use leads::LEADS;
use sensors::SENSORS;

/// One fault of the catalogue.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// Its numbers in the project's list of faults; empty for one beside it.
    pub id: &'static str,
    /// Its name, parameters and sentence.
    pub spec: FaultSpec,
    /// What a sound instrument does about it.
    pub expected: &'static str,
    /// Makes its effect.
    pub(super) make: fn(&FaultCall) -> Effect,
}

/// Every fault that can be injected.
pub const CATALOGUE: &[Entry] = &{
    let groups = [SENSORS, ACTUATORS, LEADS, COMPUTING];
    let mut all = [SENSORS[0]; SENSORS.len() + ACTUATORS.len() + LEADS.len() + COMPUTING.len()];
    let (mut group, mut place, mut n) = (0, 0, 0);
    while n < all.len() {
        if place == groups[group].len() {
            (group, place) = (group + 1, 0);
        }
        all[n] = groups[group][place];
        (place, n) = (place + 1, n + 1);
    }
    all
};

/// A number of a call; its default stands in the call already.
fn number(call: &FaultCall, key: &str) -> f64 {
    call.number(key).unwrap_or(0.0)
}
