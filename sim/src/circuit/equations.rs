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
use super::model::Model;
use super::netlist::{Node, Seen};
use super::part::Part;
use super::segment::{self, Segments};
use super::system::{Branches, Flow, System};

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
            if let Some(unknown) = self.model.node_unknown(node) {
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
            // The current of a free capacitor is the unknown of its state's own number.
            currents.row_mut(state).copy_from_slice(self.unknowns.row(state));
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
