//! An exact solver for piecewise-linear circuits in fixed time steps.
//!
//! A [`Netlist`] is turned into state equations once for each choice of switch positions and
//! segments; the equations into the exact step `exp(A h)`; each step is then one small
//! matrix-vector product. Capacitor voltages and inductor currents are the states, so they carry
//! over a switching untouched. Sines are exact oscillators. Segments are tested at the end of each
//! step and the instant of switching is located to a 16-millionth of it; an excursion that begins
//! and ends within one step is not seen.
//!
//! The same netlist and the same calls give the same bits on every machine.
//!
//! ```
//! use ohmwarden_sim::circuit::{Netlist, Node, Part, Wave};
//!
//! # fn main() -> Result<(), Box<dyn core::error::Error>> {
//! let mut net = Netlist::new();
//! let (feed, out) = (net.node("feed"), net.node("out"));
//! let (pos, neg, ground) = (feed, Node::GROUND, Node::GROUND);
//! net.add("supply", Part::Source { pos, neg, ohms: 1.0, wave: Wave::Dc(500.0) })?;
//! net.add("series", Part::Resistor { a: feed, b: out, ohms: 99_999.0 })?;
//! net.add("cable", Part::Capacitor { a: out, b: ground, farads: 1e-6, volts: 0.0 })?;
//! let volts = net.probe_voltage(out, ground);
//! let mut circuit = net.build(100e-6)?;
//! for _ in 0..1000 {
//!     circuit.step()?;
//! }
//! assert!((circuit.probe(volts) - 500.0 * (1.0 - libm::exp(-1.0))).abs() < 1e-6);
//! # Ok(())
//! # }
//! ```

use alloc::sync::Arc;
use core::fmt;

mod change;
mod charge;
pub(crate) mod dense;
mod equations;
mod error;
mod expm;
mod graph;
mod kernel;
mod model;
mod netlist;
mod part;
mod range;
mod segment;
mod step;
mod system;
#[cfg(test)]
mod tests;
mod topology;

pub use error::{Diverged, NetError};
pub use netlist::{InputId, Netlist, Node, PartId, Probe};
pub use part::{Harmonic, Part, Wave};

use kernel::Shape;
use model::{MOST_INPUTS, MOST_ROWS, Model};
use segment::Segments;
use topology::{Store, Topology};

/// A running circuit.
///
/// A clone is a fork: it shares all matrices with the original and costs about a kilobyte.
#[derive(Clone)]
pub struct Circuit {
    model: Arc<Model>,
    store: Store,
    topology: Arc<Topology>,
    segments: Segments,
    states: usize,
    first_test: usize,
    shape: Shape,
    steps: u64,
    /// Something was changed from outside: segments must be settled before the next step.
    touched: bool,
    /// A setter was given a value that is not usable.
    broken: bool,
    inputs: [f64; MOST_INPUTS],
    /// States, probes and tests.
    now: [f64; MOST_ROWS],
}

impl fmt::Debug for Circuit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Circuit")
            .field("seconds", &self.seconds())
            .field("states", &&self.now[..self.states])
            .field("inputs", &&self.inputs[1..self.model.inputs()])
            .field("segments", &self.segments)
            .field("topologies", &self.store.len())
            .finish_non_exhaustive()
    }
}

impl Circuit {
    /// Starts a circuit from the initial state of its parts.
    fn start(model: Arc<Model>) -> Result<Self, NetError> {
        let mut store = Store::default();
        let segments = model.first_segments();
        let topology = store.topology(&model, segments)?;
        let mut inputs = [0.0; MOST_INPUTS];
        inputs[0] = 1.0;
        for (value, input) in inputs[1..].iter_mut().zip(&model.net.inputs) {
            *value = input.initial;
        }
        let mut now = [0.0; MOST_ROWS];
        for (state, value) in now.iter_mut().zip(model.first_states()?) {
            *state = value;
        }
        let mut circuit = Self {
            states: model.states,
            first_test: model.first_test,
            shape: Shape::of(model.rows),
            steps: 0,
            touched: true,
            broken: false,
            model,
            store,
            topology,
            segments,
            inputs,
            now,
        };
        circuit.settle(0, &mut 0).map_err(|step::Lost| NetError::NoOperatingPoint)?;
        Ok(circuit)
    }

    /// Gives the value of a probe at the end of the last step, or at the start.
    #[inline]
    #[must_use]
    pub fn probe(&self, probe: Probe) -> f64 {
        self.model
            .probe_rows
            .get(probe.0)
            .and_then(|&row| self.now.get(row))
            .copied()
            .unwrap_or(0.0)
    }

    /// Finds the part of this name.
    #[must_use]
    pub fn find_part(&self, name: &str) -> Option<PartId> {
        self.model.net.find_part(name)
    }

    /// Gives the time since the start.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.steps as f64 * self.model.step_seconds
    }

    /// Counts the state variables: free capacitors, inductors, and two for each sine or harmonic.
    #[must_use]
    pub fn states(&self) -> usize {
        self.states
    }

    /// Takes over what a fork of this circuit has computed, so that later forks need not again.
    ///
    /// Nothing happens when the two differ in a value. Changes no result.
    pub fn learn_from(&mut self, fork: &Self) {
        if Arc::ptr_eq(&self.model, &fork.model) && fork.store.knows_more_than(&self.store) {
            self.store = fork.store.clone();
        }
    }
}
