//! From a netlist in given segments to its state equations.
//!
//! Modified nodal analysis: the unknowns are the node voltages, the currents of free capacitors
//! (which are voltage sources of their state) and of ideal sources. Solving once for every column
//! gives each unknown as a sum over states and inputs; derivatives, probes and segment tests are
//! sums of unknowns. A capacitor in a loop carries `C dv/dt` of a voltage that the free ones fix,
//! which only adds its capacitance to theirs.

use alloc::vec::Vec;

use super::dense::{Matrix, axpy};
use super::error::NetError;
use super::graph::Capacitor;
use super::model::Model;
use super::netlist::{InputId, NamedPart, Node, Seen};
use super::part::{Part, Wave};
use super::segment::{self, DISABLED, LIMITED, LINEAR, Segments};

/// What every node loses to ground, so that no voltage is without meaning: 1 petaohm.
const LEAK_SIEMENS: f64 = 1e-15;

/// The state equations of one topology.
#[derive(Clone, Debug)]
pub(super) struct Equations {
    /// The derivative of each state over all columns.
    pub(super) derivative: Matrix,
    /// Probes and tests over all columns.
    pub(super) outputs: Matrix,
    /// For each test row: its element and the segment to try when it fails.
    pub(super) tests: Vec<(usize, u8)>,
}

impl Equations {
    /// Sets up and solves the equations of a model in given segments.
    pub(super) fn new(model: &Model, segments: Segments) -> Result<Self, NetError> {
        let solved = Solved::new(model, segments)?;
        let derivative = solved.derivative()?;
        let mut outputs = Matrix::zeros(model.rows - model.states, model.columns());
        for (row, seen) in model.watched.iter().enumerate() {
            let target = outputs.row_mut(row);
            match seen {
                Seen::Volts(a, b) => target.copy_from_slice(&solved.volts(*a, *b)),
                Seen::Amps(parts) => {
                    for &(part, factor) in parts {
                        axpy(target, factor, &solved.amps(part.0, &derivative));
                    }
                }
            }
        }
        let tests = solved.tests(&mut outputs, &derivative);
        Ok(Self { derivative, outputs, tests })
    }
}

/// Every unknown as a sum over the columns.
struct Solved<'a> {
    model: &'a Model,
    segments: Segments,
    branches: Branches,
    unknowns: Matrix,
}

impl<'a> Solved<'a> {
    fn new(model: &'a Model, segments: Segments) -> Result<Self, NetError> {
        let branches = Branches::new(model, segments);
        let mut system = System::new(model, &branches);
        for index in 0..model.net.parts.len() {
            system.stamp(model, index, segments, &branches);
        }
        let unknowns = system
            .left
            .solve(system.right)
            .map_err(|at| NetError::Unsolvable { at: model.unknown_name(at) })?;
        Ok(Self { model, segments, branches, unknowns })
    }

    /// Gives the voltage between two nodes.
    fn volts(&self, a: Node, b: Node) -> Vec<f64> {
        let mut sum = alloc::vec![0.0; self.model.columns()];
        for (node, sign) in [(a, 1.0), (b, -1.0)] {
            if let Some(unknown) = node.0.checked_sub(1) {
                axpy(&mut sum, sign, self.unknowns.row(unknown));
            }
        }
        sum
    }

    /// Gives the derivative of every state.
    fn derivative(&self) -> Result<Matrix, NetError> {
        let model = self.model;
        let mut all = Matrix::zeros(model.states, model.columns());
        let free = model.free;
        let mut currents = Matrix::zeros(free, model.columns());
        for state in 0..free {
            let unknown = model.net.nodes.len() - 1 + state;
            currents.row_mut(state).copy_from_slice(self.unknowns.row(unknown));
        }
        let slopes = model.divide_by_capacitance(currents)?;
        for state in 0..free {
            all.row_mut(state).copy_from_slice(slopes.row(state));
        }
        for inductor in &model.inductors {
            if let Part::Inductor { a, b, henries, .. } = *model.part(inductor.part) {
                axpy(all.row_mut(inductor.state), 1.0 / henries, &self.volts(a, b));
            }
        }
        for sine in &model.sines {
            let speed = model.radians_per_second(sine);
            all[(sine.state, sine.state + 1)] = speed;
            all[(sine.state + 1, sine.state)] = -speed;
        }
        Ok(all)
    }

    /// Gives the current through a part, first end to second.
    fn amps(&self, index: usize, derivative: &Matrix) -> Vec<f64> {
        let model = self.model;
        let part = model.part(index);
        let segment = model.element(index).map_or(0, |element| self.segments.get(element));
        let (a, b) = part.ends();
        let mut sum = alloc::vec![0.0; model.columns()];
        if let Some(unknown) = self.branches.of[index] {
            axpy(&mut sum, 1.0, self.unknowns.row(unknown));
        } else if let Some(line) = segment::line(part, segment) {
            axpy(&mut sum, line.siemens, &self.volts(a, b));
            sum[model.constant()] += line.offset;
        } else if let Some(capacitor) = model.capacitors.iter().find(|one| one.part == index) {
            for &(state, sign) in &capacitor.path {
                axpy(&mut sum, sign * model.farads(capacitor), derivative.row(state));
            }
        } else if let Some(inductor) = model.inductors.iter().find(|one| one.part == index) {
            sum[inductor.state] = 1.0;
        } else if let Some(unknown) = model.ideal_unknown(index) {
            axpy(&mut sum, 1.0, self.unknowns.row(unknown));
        } else {
            self.driven_amps(index, segment, &mut sum);
        }
        sum
    }

    fn driven_amps(&self, index: usize, segment: u8, sum: &mut [f64]) {
        let model = self.model;
        match *model.part(index) {
            Part::Source { pos, neg, ohms, .. } => {
                axpy(sum, 1.0 / ohms, &self.volts(pos, neg));
                model.drive(index).for_each(|(column, value)| sum[column] -= value / ohms);
            }
            Part::CurrentSource { .. } => {
                model.drive(index).for_each(|(column, value)| sum[column] += value);
            }
            Part::Follower { out, pos, neg, gain, ohms } => {
                axpy(sum, 1.0 / ohms, &self.volts(out, Node::GROUND));
                axpy(sum, -gain / ohms, &self.volts(pos, neg));
            }
            Part::Regulator { sense_pos, sense_neg, .. } => {
                let flow = Flow::of(model, index, segment);
                axpy(sum, -flow.volts, &self.volts(sense_pos, sense_neg));
                sum[flow.column] -= flow.input;
            }
            _ => {}
        }
    }

    /// Writes the test rows after the probes, and says what each belongs to.
    fn tests(&self, outputs: &mut Matrix, derivative: &Matrix) -> Vec<(usize, u8)> {
        let model = self.model;
        let first = model.watched.len();
        let mut belongs = Vec::new();
        for (element, &index) in model.elements.iter().enumerate() {
            let part = model.part(index);
            for test in segment::tests(part, self.segments.get(element)).into_iter().flatten() {
                let row = outputs.row_mut(first + belongs.len());
                let (a, b) = segment::tested(part);
                axpy(row, test.volts, &self.volts(a, b));
                if test.amps != 0.0 {
                    axpy(row, test.amps, &self.amps(index, derivative));
                }
                row[model.constant()] += test.constant;
                if let Part::Regulator { set, limit, .. } = *part {
                    row[model.input_column(set)] += test.set;
                    row[model.input_column(limit)] += test.limit;
                }
                belongs.push((element, test.next));
            }
        }
        belongs
    }
}

/// A conductance above this is written as a current with a small resistance, not as a large
/// conductance between nodes: what flows then does not come from a difference of nearly equal
/// voltages.
const STIFF_SIEMENS: f64 = 1e-3;

/// Which parts have their current among the unknowns because they conduct so well.
struct Branches {
    of: Vec<Option<usize>>,
    count: usize,
}

impl Branches {
    fn new(model: &Model, segments: Segments) -> Self {
        let first = model.net.nodes.len() - 1 + model.free + model.ideal_sources().count();
        let mut count = 0;
        let branch = |(index, named): (usize, &NamedPart)| {
            let segment = model.element(index).map_or(0, |element| segments.get(element));
            let line = segment::line(&named.part, segment)?;
            (line.siemens > STIFF_SIEMENS).then(|| {
                count += 1;
                first + count - 1
            })
        };
        let of = model.net.parts.iter().enumerate().map(branch).collect();
        Self { of, count }
    }
}

/// What a regulator delivers: `volts * sensed + input * value of the column`.
struct Flow {
    volts: f64,
    input: f64,
    column: usize,
}

impl Flow {
    fn of(model: &Model, index: usize, segment: u8) -> Self {
        match (model.part(index), segment) {
            (&Part::Regulator { siemens, set, .. }, LINEAR) => {
                Self { volts: -siemens, input: siemens, column: model.input_column(set) }
            }
            (&Part::Regulator { limit, limit_per_volt, .. }, LIMITED) => {
                Self { volts: limit_per_volt, input: 1.0, column: model.input_column(limit) }
            }
            _ => Self { volts: 0.0, input: 0.0, column: model.constant() },
        }
    }
}

/// The linear system under construction.
struct System {
    left: Matrix,
    right: Matrix,
}

impl System {
    fn new(model: &Model, branches: &Branches) -> Self {
        let nodes = model.net.nodes.len() - 1;
        let size = nodes + model.free + model.ideal_sources().count() + branches.count;
        let mut left = Matrix::zeros(size, size);
        for node in 0..nodes {
            left[(node, node)] = LEAK_SIEMENS;
        }
        Self { left, right: Matrix::zeros(size, model.columns()) }
    }

    fn stamp(&mut self, model: &Model, index: usize, segments: Segments, branches: &Branches) {
        let part = model.part(index);
        let (a, b) = part.ends();
        let segment = model.element(index).map_or(DISABLED, |element| segments.get(element));
        if let Some(line) = segment::line(part, segment) {
            if let Some(unknown) = branches.of[index] {
                self.fix(unknown, (a, b));
                self.left[(unknown, unknown)] = -1.0 / line.siemens;
                self.right[(unknown, model.constant())] = -line.offset / line.siemens;
            } else {
                self.conduct((a, b), (a, b), line.siemens);
                self.push((a, b), model.constant(), line.offset);
            }
            return;
        }
        if let Some(unknown) = model.ideal_unknown(index) {
            self.fix(unknown, (a, b));
            match *part {
                Part::Follower { pos, neg, gain, .. } => {
                    self.row(unknown, pos, -gain);
                    self.row(unknown, neg, gain);
                }
                _ => model.drive(index).for_each(|(c, value)| self.right[(unknown, c)] = value),
            }
            return;
        }
        match *part {
            Part::Capacitor { .. } => {
                let found = model.capacitors.iter().find(|one| one.part == index);
                if let Some(state) = found.and_then(|one| one.own) {
                    let unknown = model.net.nodes.len() - 1 + state;
                    self.fix(unknown, (a, b));
                    self.right[(unknown, state)] = 1.0;
                }
            }
            Part::Inductor { .. } => {
                let own = model.inductors.iter().find(|one| one.part == index);
                own.into_iter().for_each(|one| self.push((a, b), one.state, 1.0));
            }
            Part::Source { ohms, .. } => {
                self.conduct((a, b), (a, b), 1.0 / ohms);
                model.drive(index).for_each(|(c, value)| self.push((a, b), c, -value / ohms));
            }
            Part::CurrentSource { .. } => {
                model.drive(index).for_each(|(c, value)| self.push((a, b), c, value));
            }
            Part::Follower { pos, neg, gain, ohms, .. } => {
                self.conduct((a, b), (a, b), 1.0 / ohms);
                self.conduct((a, b), (pos, neg), -gain / ohms);
            }
            Part::Regulator { sense_pos, sense_neg, .. } => {
                let flow = Flow::of(model, index, segment);
                self.conduct((b, a), (sense_pos, sense_neg), flow.volts);
                self.push((b, a), flow.column, flow.input);
            }
            _ => {}
        }
    }

    /// Lets `siemens` times the sensed voltage flow from the first end to the second.
    fn conduct(&mut self, ends: (Node, Node), sensed: (Node, Node), siemens: f64) {
        for (end, flows) in [(ends.0, siemens), (ends.1, -siemens)] {
            if let Some(row) = end.0.checked_sub(1) {
                self.row(row, sensed.0, flows);
                self.row(row, sensed.1, -flows);
            }
        }
    }

    /// Lets `amps` times a column flow from the first end to the second.
    fn push(&mut self, ends: (Node, Node), column: usize, amps: f64) {
        for (end, leaves) in [(ends.0, amps), (ends.1, -amps)] {
            if let Some(row) = end.0.checked_sub(1) {
                self.right[(row, column)] -= leaves;
            }
        }
    }

    /// Makes an unknown the current of a part whose voltage its own row fixes.
    fn fix(&mut self, unknown: usize, ends: (Node, Node)) {
        for (end, sign) in [(ends.0, 1.0), (ends.1, -1.0)] {
            if let Some(row) = end.0.checked_sub(1) {
                self.left[(row, unknown)] += sign;
            }
            self.row(unknown, end, sign);
        }
    }

    fn row(&mut self, row: usize, node: Node, value: f64) {
        if let Some(column) = node.0.checked_sub(1) {
            self.left[(row, column)] += value;
        }
    }
}

impl Model {
    fn ideal_sources(&self) -> impl Iterator<Item = usize> {
        let parts = self.net.parts.iter().enumerate();
        parts.filter(|(_, named)| named.part.is_ideal_source()).map(|(index, _)| index)
    }

    fn ideal_unknown(&self, part: usize) -> Option<usize> {
        let nth = self.ideal_sources().position(|index| index == part)?;
        Some(self.net.nodes.len() - 1 + self.free + nth)
    }

    pub(super) fn input_column(&self, id: InputId) -> usize {
        self.constant() + 1 + id.0
    }

    /// Lists the columns that a source follows, with their factors.
    fn drive(&self, part: usize) -> impl Iterator<Item = (usize, f64)> {
        let sines = self.sines.iter().filter(move |sine| sine.part == part);
        let steady = match self.part(part).wave() {
            Some(&Wave::Dc(value)) => Some((self.constant(), value)),
            Some(&Wave::Input(id)) => Some((self.input_column(id), 1.0)),
            _ => None,
        };
        steady.into_iter().chain(sines.map(|sine| (sine.state, 1.0)))
    }

    /// Turns currents (or charges) of the free capacitors into slopes (or volts).
    fn divide_by_capacitance(&self, right: Matrix) -> Result<Matrix, NetError> {
        let free = self.free;
        let mut left = Matrix::zeros(free, free);
        for capacitor in &self.capacitors {
            for &(row, sign) in &capacitor.path {
                for &(column, other) in &capacitor.path {
                    left[(row, column)] += self.farads(capacitor) * sign * other;
                }
            }
        }
        // In picofarads, so that the smallest capacitance is far from the singularity test.
        left.scale(1e12);
        let mut slopes = left
            .solve(right)
            .map_err(|state| NetError::Unsolvable { at: self.capacitor_name(state) })?;
        slopes.scale(1e12);
        Ok(slopes)
    }

    fn capacitor_name(&self, state: usize) -> alloc::string::String {
        let own = |one: &&Capacitor| one.own == Some(state);
        let part = self.capacitors.iter().find(own).map_or(0, |one| one.part);
        self.net.parts[part].name.clone()
    }

    /// Puts the capacitors at given voltages and lets those in a loop share their charge.
    pub(super) fn share_charge(&self, volts: &[f64], states: &mut [f64]) -> Result<(), NetError> {
        let mut charge = Matrix::zeros(self.free, 1);
        for (capacitor, volts) in self.capacitors.iter().zip(volts) {
            for &(state, sign) in &capacitor.path {
                charge[(state, 0)] += self.farads(capacitor) * sign * volts;
            }
        }
        let shared = self.divide_by_capacitance(charge)?;
        for state in 0..shared.rows {
            states[state] = shared[(state, 0)];
        }
        Ok(())
    }
}
