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

mod charge;
mod dense;
mod equations;
mod error;
mod expm;
mod graph;
mod kernel;
mod model;
mod netlist;
mod part;
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
use segment::{CLOSED, DISABLED, OFF, OPEN, Segments};
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

    /// Closes or opens a switch, or enables or disables a regulator, from the next step on.
    ///
    /// States carry over untouched. For any other part nothing happens.
    pub fn set_switch(&mut self, part: PartId, closed: bool) {
        let Some(element) = self.model.element(part.0) else { return };
        let segment = self.segments.get(element);
        let wanted = match self.model.part(part.0) {
            Part::Switch { .. } => {
                if closed {
                    CLOSED
                } else {
                    OPEN
                }
            }
            Part::Regulator { .. } if closed && segment == DISABLED => OFF,
            Part::Regulator { .. } if !closed => DISABLED,
            _ => segment,
        };
        if wanted != segment {
            self.segments.set(element, wanted);
            self.touched = true;
        }
    }

    /// Sets an outside-driven value: at once, or, for a ramped input, by the end of the next step.
    ///
    /// A value that is not finite makes the next step fail.
    #[inline]
    pub fn set_input(&mut self, id: InputId, value: f64) {
        let place = 1 + id.0;
        let ramp = self.model.ramps.iter().find(|ramp| ramp.value == place);
        if id.0 >= self.model.net.inputs.len() {
            return;
        }
        if !value.is_finite() {
            self.broken = true;
            self.touched = true;
        } else if let Some(ramp) = ramp {
            self.inputs[ramp.rise] = value - self.inputs[place];
        } else {
            self.inputs[place] = value;
        }
    }

    /// Restarts a sine source with its harmonics at a given phase; for any other part nothing
    /// happens.
    ///
    /// A new frequency makes every topology be computed again. A value that is out of range makes
    /// the next step fail.
    pub fn set_sine(&mut self, part: PartId, volts_rms: f64, hertz: f64, phase_deg: f64) {
        let Some(named) = self.model.net.parts.get(part.0) else { return };
        let Some(&Wave::Sine { hertz: before, .. }) = named.part.wave() else { return };
        let values = part::sine_values(volts_rms, hertz, phase_deg);
        self.touched = true;
        if values.iter().any(|&(_, value, (least, most))| !(value >= least && value <= most)) {
            self.broken = true;
            return;
        }
        if hertz != before {
            self.change_part(part, |part| match part {
                Part::Source { wave: Wave::Sine { hertz: old, .. }, .. }
                | Part::CurrentSource { wave: Wave::Sine { hertz: old, .. }, .. } => *old = hertz,
                _ => {}
            });
        }
        for sine in self.model.sines.iter().filter(|sine| sine.part == part.0) {
            sine.start(volts_rms, phase_deg, &mut self.now);
        }
    }

    /// Puts a capacitor at a voltage, as if charge came from outside.
    ///
    /// Capacitors in a loop with it share the charge. A value that is not finite makes the next
    /// step fail. For any other part nothing happens.
    pub fn set_state_volts(&mut self, capacitor: PartId, volts: f64) {
        let all = &self.model.capacitors;
        let Some(found) = all.iter().position(|one| one.part == capacitor.0) else { return };
        self.touched = true;
        if !volts.is_finite() {
            self.broken = true;
            return;
        }
        let now = |one: &graph::Capacitor| {
            one.path.iter().fold(0.0, |sum, &(state, sign)| sum + sign * self.now[state])
        };
        let mut at: alloc::vec::Vec<f64> = all.iter().map(now).collect();
        at[found] = volts;
        if self.model.share_charge(&at, &mut self.now).is_err() {
            self.broken = true;
        }
    }

    /// Changes a resistance (of a switch: when closed), capacitance or inductance; voltages and
    /// currents of the states stay.
    ///
    /// Every topology is computed again, unless the value is the one it had.
    ///
    /// # Errors
    ///
    /// A part without such a value, or a value out of range; the circuit is then unchanged.
    pub fn set_value(&mut self, part: PartId, ohms_or_farads: f64) -> Result<(), NetError> {
        let named = self.model.net.parts.get(part.0).ok_or(NetError::ForeignProbe)?;
        let mut changed = named.part.clone();
        match &mut changed {
            Part::Resistor { ohms: value, .. }
            | Part::Capacitor { farads: value, .. }
            | Part::Inductor { henries: value, .. }
            | Part::Switch { on_ohms: value, .. } => *value = ohms_or_farads,
            _ => return Err(NetError::NotAdjustable { part: named.name.clone() }),
        }
        changed.check(&named.name)?;
        if changed != named.part {
            self.change_part(part, |part| *part = changed);
        }
        Ok(())
    }

    fn change_part(&mut self, part: PartId, change: impl FnOnce(&mut Part)) {
        change(&mut Arc::make_mut(&mut self.model).net.parts[part.0].part);
        self.store = Store::default();
        self.touched = true;
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
