//! Modified nodal analysis: the linear system of the resistive part, built part by part.
//!
//! The unknowns are, in this order, the currents of free capacitors, of ideal sources and of good
//! conductors, and the node voltages. The order matters: eliminating the first ones adds
//! rows of currents with factors of exactly one, so that what flows round inside a group of nodes
//! that capacitors tie together cancels without rounding and cannot disturb what little flows into
//! the group from outside.

use alloc::string::String;
use alloc::vec::Vec;

use super::dense::Matrix;
use super::model::Model;
use super::netlist::{InputId, Node};
use super::part::{Part, Wave};
use super::segment::{self, DISABLED, LIMITED, LINEAR, Segments};

/// What every node loses to ground, so that no voltage is without meaning: 1 petaohm.
const LEAK_SIEMENS: f64 = 1e-15;
/// A conductance above this is written as a current with a small resistance, not as a large
/// conductance between nodes: what flows then does not come from a difference of nearly equal
/// voltages.
const STIFF_SIEMENS: f64 = 1e-3;

/// Which unknown is what, in given segments.
pub(super) struct Numbering {
    /// The current of a part that conducts well.
    pub(super) branch: Vec<Option<usize>>,
    /// Unknowns before the node voltages.
    first_node: usize,
}

impl Numbering {
    /// Numbers the unknowns: capacitors, ideal sources, good conductors, nodes.
    pub(super) fn new(model: &Model, segments: Segments) -> Self {
        let mut next = model.free + model.ideal_sources().count();
        let mut branch = Vec::new();
        for index in 0..model.net.parts.len() {
            let stiff = model.series_siemens(index, segments) > STIFF_SIEMENS;
            branch.push(stiff.then_some(next));
            next += usize::from(stiff);
        }
        Self { branch, first_node: next }
    }

    /// Gives the unknown of a node, and the row of its sum of currents.
    pub(super) fn node(&self, node: Node) -> Option<usize> {
        node.0.checked_sub(1).map(|index| self.first_node + index)
    }

    /// Names an unknown that had no pivot.
    pub(super) fn name(&self, unknown: usize, model: &Model) -> String {
        let node = unknown.checked_sub(self.first_node).map(|index| index + 1);
        let name = node.and_then(|node| model.net.nodes.get(node));
        name.cloned().unwrap_or_else(|| String::from("a current"))
    }
}

/// The linear system under construction.
pub(super) struct System<'a> {
    pub(super) left: Matrix,
    pub(super) right: Matrix,
    model: &'a Model,
    numbering: &'a Numbering,
}

impl<'a> System<'a> {
    /// Makes the system of the nodes' leaks alone.
    pub(super) fn new(model: &'a Model, numbering: &'a Numbering) -> Self {
        let size = numbering.first_node + model.net.nodes.len() - 1;
        let mut left = Matrix::zeros(size, size);
        for node in numbering.first_node..size {
            left[(node, node)] = LEAK_SIEMENS;
        }
        Self { left, right: Matrix::zeros(size, model.columns()), model, numbering }
    }

    /// Adds one part.
    pub(super) fn stamp(&mut self, index: usize, segments: Segments) {
        let model = self.model;
        let part = model.part(index);
        let (a, b) = part.ends();
        if let Some(unknown) = self.numbering.branch[index] {
            self.stamp_branch(index, unknown, model.series_siemens(index, segments), segments);
            return;
        }
        if let Some(line) = segment::line(part, model.segment(index, segments)) {
            self.conduct((a, b), (a, b), line.siemens);
            self.push((a, b), model.constant(), line.offset);
            return;
        }
        if let Some(unknown) = model.ideal_unknown(index) {
            self.fix(unknown, (a, b), 1.0);
            self.follow(index, unknown, 1.0);
            return;
        }
        match *part {
            Part::Capacitor { .. } => {
                let found = model.capacitors.iter().find(|one| one.part == index);
                if let Some(state) = found.and_then(|one| one.own) {
                    self.fix(state, (a, b), 1.0);
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
                let flow = Flow::of(model, index, model.segment(index, segments));
                self.conduct((b, a), (sense_pos, sense_neg), flow.volts);
                self.push((b, a), flow.column, flow.input);
            }
            _ => {}
        }
    }

    /// Adds a part whose current is an unknown: `v - i / siemens = what it follows`.
    ///
    /// The row is scaled so that its own current never makes the better pivot: the sums of currents
    /// do, which stay exact.
    fn stamp_branch(&mut self, index: usize, unknown: usize, siemens: f64, segments: Segments) {
        let model = self.model;
        let scale = 0.5 * siemens.min(1.0);
        self.fix(unknown, model.part(index).ends(), scale);
        self.left[(unknown, unknown)] = -scale / siemens;
        if let Some(line) = segment::line(model.part(index), model.segment(index, segments)) {
            self.right[(unknown, model.constant())] = -scale * line.offset / siemens;
        }
        self.follow(index, unknown, scale);
    }

    /// Makes the row of a voltage follow what the source or follower gives.
    fn follow(&mut self, index: usize, unknown: usize, scale: f64) {
        let model = self.model;
        if let Part::Follower { pos, neg, gain, .. } = *model.part(index) {
            self.row(unknown, pos, -gain * scale);
            self.row(unknown, neg, gain * scale);
        }
        for (column, value) in model.drive(index) {
            self.right[(unknown, column)] += value * scale;
        }
    }

    /// Lets `siemens` times the sensed voltage flow from the first end to the second.
    fn conduct(&mut self, ends: (Node, Node), sensed: (Node, Node), siemens: f64) {
        for (end, flows) in [(ends.0, siemens), (ends.1, -siemens)] {
            if let Some(row) = self.numbering.node(end) {
                self.row(row, sensed.0, flows);
                self.row(row, sensed.1, -flows);
            }
        }
    }

    /// Lets `amps` times a column flow from the first end to the second.
    fn push(&mut self, ends: (Node, Node), column: usize, amps: f64) {
        for (end, leaves) in [(ends.0, amps), (ends.1, -amps)] {
            if let Some(row) = self.numbering.node(end) {
                self.right[(row, column)] -= leaves;
            }
        }
    }

    /// Makes an unknown the current of a part whose voltage its own row fixes.
    fn fix(&mut self, unknown: usize, ends: (Node, Node), scale: f64) {
        for (end, sign) in [(ends.0, 1.0), (ends.1, -1.0)] {
            if let Some(row) = self.numbering.node(end) {
                self.left[(row, unknown)] += sign;
            }
            self.row(unknown, end, sign * scale);
        }
    }

    fn row(&mut self, row: usize, node: Node, value: f64) {
        if let Some(column) = self.numbering.node(node) {
            self.left[(row, column)] += value;
        }
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
    /// Gives the segment of a part; 0 for a part without.
    pub(super) fn segment(&self, index: usize, segments: Segments) -> u8 {
        self.element(index).map_or(DISABLED, |element| segments.get(element))
    }

    /// Gives the conductance in series with what a part follows; 0 where there is none, or all.
    fn series_siemens(&self, index: usize, segments: Segments) -> f64 {
        match *self.part(index) {
            Part::Source { ohms, .. } | Part::Follower { ohms, .. } if ohms > 0.0 => 1.0 / ohms,
            ref part => {
                let line = segment::line(part, self.segment(index, segments));
                line.map_or(0.0, |line| line.siemens)
            }
        }
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
