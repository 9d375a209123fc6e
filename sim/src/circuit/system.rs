//! Modified nodal analysis: the linear system of the resistive part, built part by part.
//!
//! The unknowns are, in this order, the currents of free capacitors and of ideal sources, the node
//! voltages, and the currents of good conductors. The order matters: eliminating the first ones adds
//! rows of currents with factors of exactly one, so that what flows round inside a group of nodes
//! that capacitors tie together cancels without rounding and cannot disturb what little flows into
//! the group from outside.

use alloc::string::String;
use alloc::vec::Vec;

use super::dense::Matrix;
use super::model::Model;
use super::netlist::{InputId, NamedPart, Node};
use super::part::{Part, Wave};
use super::segment::{self, DISABLED, LIMITED, LINEAR, Segments};

/// What every node loses to ground, so that no voltage is without meaning: 1 petaohm.
const LEAK_SIEMENS: f64 = 1e-15;
/// A conductance above this is written as a current with a small resistance, not as a large
/// conductance between nodes: what flows then does not come from a difference of nearly equal
/// voltages.
const STIFF_SIEMENS: f64 = 1e-3;

/// Which parts have their current among the unknowns because they conduct so well.
pub(super) struct Branches {
    pub(super) of: Vec<Option<usize>>,
    count: usize,
}

impl Branches {
    /// Looks which parts conduct well in these segments.
    pub(super) fn new(model: &Model, segments: Segments) -> Self {
        let first = model.first_node_unknown() + model.net.nodes.len() - 1;
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

/// The linear system under construction.
pub(super) struct System {
    pub(super) left: Matrix,
    pub(super) right: Matrix,
    first: usize,
}

impl System {
    /// Makes the system of the nodes' leaks alone.
    pub(super) fn new(model: &Model, branches: &Branches) -> Self {
        let first = model.first_node_unknown();
        let nodes = model.net.nodes.len() - 1;
        let size = first + nodes + branches.count;
        let mut left = Matrix::zeros(size, size);
        for node in first..first + nodes {
            left[(node, node)] = LEAK_SIEMENS;
        }
        Self { left, right: Matrix::zeros(size, model.columns()), first }
    }

    /// Adds one part.
    pub(super) fn stamp(
        &mut self,
        model: &Model,
        index: usize,
        segments: Segments,
        branches: &Branches,
    ) {
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
                    self.fix(state, (a, b));
                    self.right[(state, state)] = 1.0;
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
            if let Some(row) = self.of(end) {
                self.row(row, sensed.0, flows);
                self.row(row, sensed.1, -flows);
            }
        }
    }

    /// Lets `amps` times a column flow from the first end to the second.
    fn push(&mut self, ends: (Node, Node), column: usize, amps: f64) {
        for (end, leaves) in [(ends.0, amps), (ends.1, -amps)] {
            if let Some(row) = self.of(end) {
                self.right[(row, column)] -= leaves;
            }
        }
    }

    /// Makes an unknown the current of a part whose voltage its own row fixes.
    fn fix(&mut self, unknown: usize, ends: (Node, Node)) {
        for (end, sign) in [(ends.0, 1.0), (ends.1, -1.0)] {
            if let Some(row) = self.of(end) {
                self.left[(row, unknown)] += sign;
            }
            self.row(unknown, end, sign);
        }
    }

    fn row(&mut self, row: usize, node: Node, value: f64) {
        if let Some(column) = self.of(node) {
            self.left[(row, column)] += value;
        }
    }

    /// Gives the unknown of a node, and the row of its sum of currents.
    fn of(&self, node: Node) -> Option<usize> {
        node.0.checked_sub(1).map(|index| self.first + index)
    }
}

/// What a regulator delivers: `volts * sensed + input * value of the column`.
pub(super) struct Flow {
    pub(super) volts: f64,
    pub(super) input: f64,
    pub(super) column: usize,
}

impl Flow {
    /// Gives the flow of a regulator in a segment.
    pub(super) fn of(model: &Model, index: usize, segment: u8) -> Self {
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

impl Model {
    /// Counts the unknowns before the node voltages.
    fn first_node_unknown(&self) -> usize {
        self.free + self.ideal_sources().count()
    }

    /// Gives the unknown that is the voltage of a node.
    pub(super) fn node_unknown(&self, node: Node) -> Option<usize> {
        node.0.checked_sub(1).map(|index| self.first_node_unknown() + index)
    }

    /// Names an unknown of the equations that had no pivot.
    pub(super) fn unknown_name(&self, unknown: usize) -> String {
        let node = (unknown + 1).checked_sub(self.first_node_unknown());
        let name = node.and_then(|node| self.net.nodes.get(node)).filter(|_| node != Some(0));
        name.cloned().unwrap_or_else(|| String::from("a current"))
    }

    fn ideal_sources(&self) -> impl Iterator<Item = usize> {
        let parts = self.net.parts.iter().enumerate();
        parts.filter(|(_, named)| named.part.is_ideal_source()).map(|(index, _)| index)
    }

    /// Gives the unknown that is the current of an ideal source.
    pub(super) fn ideal_unknown(&self, part: usize) -> Option<usize> {
        let nth = self.ideal_sources().position(|index| index == part)?;
        Some(self.free + nth)
    }

    /// Gives the column of an input.
    pub(super) fn input_column(&self, id: InputId) -> usize {
        self.constant() + 1 + id.0
    }

    /// Lists the columns that a source follows, with their factors.
    pub(super) fn drive(&self, part: usize) -> impl Iterator<Item = (usize, f64)> {
        let sines = self.sines.iter().filter(move |sine| sine.part == part);
        let steady = match self.part(part).wave() {
            Some(&Wave::Dc(value)) => Some((self.constant(), value)),
            Some(&Wave::Input(id)) => Some((self.input_column(id), 1.0)),
            _ => None,
        };
        steady.into_iter().chain(sines.map(|sine| (sine.state, 1.0)))
    }
}
