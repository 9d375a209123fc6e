//! What stays the same over all topologies of a circuit: which state, column and row is what.
//!
//! States come first: free capacitors, inductors, then two for each sine and harmonic. Columns are
//! the states, a constant one, the inputs, and for each ramped input its rise over one step. Rows
//! are the states, the probes that are not a state, and the segment tests.

use alloc::vec::Vec;

use super::error::NetError;
use super::graph::{self, Capacitor, Capacitors};
use super::netlist::{Netlist, Seen};
use super::part::{Part, Wave};
use super::segment::{self, MOST_ELEMENTS, Segments};

/// Rows that the solver has room for: states, probes and tests.
pub(super) const MOST_ROWS: usize = 72;
/// Inputs that the solver has room for: the constant, the inputs, and the rises of ramped ones.
pub(super) const MOST_INPUTS: usize = 16;
const MOST_STATES: usize = 40;
const STEP_SECONDS: (f64, f64) = (1e-9, 1.0);

/// A netlist that has been checked and laid out.
#[derive(Clone, Debug)]
pub(super) struct Model {
    pub(super) net: Netlist,
    pub(super) step_seconds: f64,
    pub(super) states: usize,
    /// How many of the states are capacitors.
    pub(super) free: usize,
    pub(super) capacitors: Vec<Capacitor>,
    pub(super) inductors: Vec<Inductor>,
    pub(super) sines: Vec<Sine>,
    /// The part behind each element of a segment key.
    pub(super) elements: Vec<usize>,
    /// The input that is ramped, with its own place among the inputs and that of its rise.
    pub(super) ramps: Vec<Ramp>,
    /// The row of each probe: a state where the probe is one, else a row of its own.
    pub(super) probe_rows: Vec<usize>,
    /// What the rows between states and tests show.
    pub(super) watched: Vec<Seen>,
    /// Rows before the tests.
    pub(super) first_test: usize,
    /// Rows in all.
    pub(super) rows: usize,
}

/// An inductor and its state.
#[derive(Clone, Copy, Debug)]
pub(super) struct Inductor {
    pub(super) part: usize,
    pub(super) state: usize,
}

/// One sine of a source: `state` is its value, the next state a quarter of a cycle ahead.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sine {
    pub(super) part: usize,
    pub(super) state: usize,
    pub(super) order: f64,
    pub(super) fraction: f64,
    pub(super) phase_deg: f64,
}

/// A ramped input: where its value and its rise over a step stand among the inputs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ramp {
    pub(super) value: usize,
    pub(super) rise: usize,
}

impl Model {
    /// Checks a netlist and lays it out.
    pub(super) fn new(net: Netlist, step_seconds: f64) -> Result<Self, NetError> {
        if !(step_seconds >= STEP_SECONDS.0 && step_seconds <= STEP_SECONDS.1) {
            return Err(NetError::BadStep { seconds: step_seconds });
        }
        check_inputs_and_probes(&net)?;
        graph::check_held(&net)?;
        let found = graph::capacitors(&net)?;
        let free = found.states;
        let inductors = inductors(&net, free);
        let sines = sines(&net, free + inductors.len());
        let states = free + inductors.len() + 2 * sines.len();
        let indexed = net.parts.iter().enumerate();
        let elements =
            indexed.filter(|(_, named)| segment::is_element(&named.part)).map(|(i, _)| i).collect();
        let ramps = ramps(&net);
        let tests: usize = net.parts.iter().map(|named| segment::most_tests(&named.part)).sum();
        let (probe_rows, watched) = probe_rows(&net, &found, states);
        let first_test = states + watched.len();
        let rows = first_test + tests;
        let model = Self {
            net,
            step_seconds,
            states,
            free,
            capacitors: found.all,
            inductors,
            sines,
            elements,
            ramps,
            probe_rows,
            watched,
            first_test,
            rows,
        };
        model.check_size()?;
        Ok(model)
    }

    fn check_size(&self) -> Result<(), NetError> {
        let room = |found, most| if found > most { Err((found, most)) } else { Ok(()) };
        room(self.states, MOST_STATES)
            .map_err(|(found, most)| NetError::TooManyStates { found, most })?;
        room(self.inputs(), MOST_INPUTS)
            .map_err(|(found, most)| NetError::TooManyInputs { found, most })?;
        room(self.elements.len(), MOST_ELEMENTS)
            .map_err(|(found, most)| NetError::TooManySegments { found, most })?;
        room(self.rows, MOST_ROWS).map_err(|(found, most)| NetError::TooManyOutputs { found, most })
    }

    /// Counts the inputs: the constant, the netlist's own, and the rises.
    pub(super) const fn inputs(&self) -> usize {
        1 + self.net.inputs.len() + self.ramps.len()
    }

    /// Counts the columns.
    pub(super) const fn columns(&self) -> usize {
        self.states + self.inputs()
    }

    /// Gives the column of the constant one.
    pub(super) const fn constant(&self) -> usize {
        self.states
    }

    /// Gives the part of this index.
    pub(super) fn part(&self, index: usize) -> &Part {
        &self.net.parts[index].part
    }

    /// Finds the element of a part, if it has segments.
    pub(super) fn element(&self, part: usize) -> Option<usize> {
        self.elements.iter().position(|&known| known == part)
    }

    /// Gives the segments that the parts start in.
    pub(super) fn first_segments(&self) -> Segments {
        let mut segments = Segments::default();
        for (element, &part) in self.elements.iter().enumerate() {
            segments.set(element, segment::first(self.part(part)));
        }
        segments
    }

    /// Gives the states at the start, with charge shared among capacitors in a loop.
    pub(super) fn first_states(&self) -> Result<Vec<f64>, NetError> {
        let mut states = alloc::vec![0.0; self.states];
        let volts: Vec<f64> = self.capacitors.iter().map(|one| self.first_volts(one)).collect();
        self.share_charge(&volts, &mut states)?;
        for inductor in &self.inductors {
            if let Part::Inductor { amps, .. } = *self.part(inductor.part) {
                states[inductor.state] = amps;
            }
        }
        for sine in &self.sines {
            if let Some(&Wave::Sine { volts_rms, phase_deg, .. }) = self.part(sine.part).wave() {
                sine.start(volts_rms, phase_deg, &mut states);
            }
        }
        Ok(states)
    }

    fn first_volts(&self, capacitor: &Capacitor) -> f64 {
        match *self.part(capacitor.part) {
            Part::Capacitor { volts, .. } => volts,
            _ => 0.0,
        }
    }

    /// Gives the capacitance of a capacitor.
    pub(super) fn farads(&self, capacitor: &Capacitor) -> f64 {
        match *self.part(capacitor.part) {
            Part::Capacitor { farads, .. } => farads,
            _ => 0.0,
        }
    }

    /// Gives the frequency of a sine in radians a second.
    pub(super) fn radians_per_second(&self, sine: &Sine) -> f64 {
        match *self.part(sine.part) {
            Part::Source { wave: Wave::Sine { hertz, .. }, .. }
            | Part::CurrentSource { wave: Wave::Sine { hertz, .. }, .. } => {
                core::f64::consts::TAU * hertz * sine.order
            }
            _ => 0.0,
        }
    }
}

impl Sine {
    /// Puts the two states at a phase of the fundamental.
    pub(super) fn start(&self, volts_rms: f64, fundamental_deg: f64, states: &mut [f64]) {
        let crest = core::f64::consts::SQRT_2 * volts_rms * self.fraction;
        let turns = self.order * fundamental_deg + self.phase_deg;
        let angle = turns % 360.0 / 180.0 * core::f64::consts::PI;
        states[self.state] = crest * libm::sin(angle);
        states[self.state + 1] = crest * libm::cos(angle);
    }
}

fn check_inputs_and_probes(net: &Netlist) -> Result<(), NetError> {
    if let Some(input) = net.inputs.iter().find(|input| !input.initial.is_finite()) {
        return Err(NetError::OutOfRange {
            part: input.name.clone(),
            key: "initial",
            value: input.initial,
            least: -f64::MAX,
            most: f64::MAX,
        });
    }
    let known = |seen: &Seen| match seen {
        Seen::Volts(a, b) => a.0.max(b.0) < net.nodes.len(),
        Seen::Amps(parts) => parts.iter().all(|(part, _)| part.0 < net.parts.len()),
    };
    if net.probes.iter().all(known) { Ok(()) } else { Err(NetError::ForeignProbe) }
}

/// Gives the row of each probe, and what the rows after the states must show.
fn probe_rows(net: &Netlist, found: &Capacitors, states: usize) -> (Vec<usize>, Vec<Seen>) {
    let mut watched = Vec::new();
    let mut rows = Vec::new();
    for seen in &net.probes {
        let alone = match *seen {
            Seen::Volts(a, b) => found.alone((a, b)),
            Seen::Amps(_) => None,
        };
        rows.push(alone.unwrap_or_else(|| {
            watched.push(seen.clone());
            states + watched.len() - 1
        }));
    }
    (rows, watched)
}

fn inductors(net: &Netlist, first: usize) -> Vec<Inductor> {
    let parts = net.parts.iter().enumerate();
    let found = parts.filter(|(_, named)| matches!(named.part, Part::Inductor { .. }));
    found.enumerate().map(|(index, (part, _))| Inductor { part, state: first + index }).collect()
}

fn sines(net: &Netlist, first: usize) -> Vec<Sine> {
    let mut found = Vec::new();
    for (part, named) in net.parts.iter().enumerate() {
        let Some(Wave::Sine { harmonics, .. }) = named.part.wave() else { continue };
        found.push(Sine { part, state: 0, order: 1.0, fraction: 1.0, phase_deg: 0.0 });
        for harmonic in harmonics {
            found.push(Sine {
                part,
                state: 0,
                order: f64::from(harmonic.order),
                fraction: harmonic.fraction,
                phase_deg: harmonic.phase_deg,
            });
        }
    }
    for (index, sine) in found.iter_mut().enumerate() {
        sine.state = first + 2 * index;
    }
    found
}

fn ramps(net: &Netlist) -> Vec<Ramp> {
    let inputs = net.inputs.iter().enumerate().filter(|(_, input)| input.ramped);
    let first_rise = 1 + net.inputs.len();
    inputs
        .enumerate()
        .map(|(nth, (index, _))| Ramp { value: 1 + index, rise: first_rise + nth })
        .collect()
}
