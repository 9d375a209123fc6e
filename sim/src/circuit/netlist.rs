//! The netlist that a circuit is built from: named nodes, named parts, inputs and probes.

use alloc::string::String;
use alloc::sync::Arc;
use alloc::vec::Vec;

use super::Circuit;
use super::error::NetError;
use super::model::Model;
use super::part::Part;

/// One node of a netlist.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct Node(pub(super) usize);

/// One part of a netlist.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct PartId(pub(super) usize);

/// One quantity that can be read after each step.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct Probe(pub(super) usize);

/// One value that is driven from outside the circuit.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub struct InputId(pub(super) usize);

impl Node {
    /// The node that all voltages are counted from.
    pub const GROUND: Self = Self(0);
}

/// Collects nodes, parts, inputs and probes; `build` makes a circuit of them.
#[derive(Clone, Debug)]
pub struct Netlist {
    pub(super) nodes: Vec<String>,
    pub(super) parts: Vec<NamedPart>,
    pub(super) inputs: Vec<Input>,
    pub(super) probes: Vec<Seen>,
}

/// A part with its name.
#[derive(Clone, Debug)]
pub(super) struct NamedPart {
    pub(super) name: String,
    pub(super) part: Part,
}

/// An outside-driven value.
#[derive(Clone, Debug)]
pub(super) struct Input {
    pub(super) name: String,
    pub(super) initial: f64,
    pub(super) ramped: bool,
}

/// What a probe looks at.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Seen {
    Volts(Node, Node),
    Amps(Vec<(PartId, f64)>),
}

impl Default for Netlist {
    fn default() -> Self {
        Self::new()
    }
}

impl Netlist {
    /// Makes an empty netlist, which knows only `ground`.
    #[must_use]
    pub fn new() -> Self {
        let nodes = [String::from("ground")].into();
        Self { nodes, parts: Vec::new(), inputs: Vec::new(), probes: Vec::new() }
    }

    /// Gives the node of this name, making it if there is none; `ground` is [`Node::GROUND`].
    pub fn node(&mut self, name: &str) -> Node {
        self.find_node(name).unwrap_or_else(|| {
            self.nodes.push(String::from(name));
            Node(self.nodes.len() - 1)
        })
    }

    /// Finds the node of this name.
    #[must_use]
    pub fn find_node(&self, name: &str) -> Option<Node> {
        self.nodes.iter().position(|known| known == name).map(Node)
    }

    /// Adds a value driven from outside, which holds from one [`Circuit::set_input`] to the next.
    ///
    /// A second call with the same name gives the first one again.
    pub fn input(&mut self, name: &str, initial: f64) -> InputId {
        self.add_input(name, initial, false)
    }

    /// Adds a value driven from outside, which runs in a straight line over each step: the value
    /// given to [`Circuit::set_input`] is reached at the end of the next step.
    pub fn input_ramped(&mut self, name: &str, initial: f64) -> InputId {
        self.add_input(name, initial, true)
    }

    fn add_input(&mut self, name: &str, initial: f64, ramped: bool) -> InputId {
        let known = self.inputs.iter().position(|input| input.name == name);
        InputId(known.unwrap_or_else(|| {
            self.inputs.push(Input { name: String::from(name), initial, ramped });
            self.inputs.len() - 1
        }))
    }

    /// Adds a part.
    ///
    /// # Errors
    ///
    /// A value out of range, contradicting values, a name that is taken, both ends on one node, or
    /// a node or input of another netlist.
    pub fn add(&mut self, name: &str, part: Part) -> Result<PartId, NetError> {
        let named = || String::from(name);
        part.check(name)?;
        if self.find_part(name).is_some() {
            return Err(NetError::NameTaken { part: named() });
        }
        let (a, b) = part.ends();
        let (c, d) = part.senses().unwrap_or((a, b));
        let strange_node = [a, b, c, d].iter().any(|node| node.0 >= self.nodes.len());
        if strange_node || part.inputs().iter().any(|id| id.0 >= self.inputs.len()) {
            return Err(NetError::Foreign { part: named() });
        }
        self.parts.push(NamedPart { name: named(), part });
        Ok(PartId(self.parts.len() - 1))
    }

    /// Finds the part of this name.
    #[must_use]
    pub fn find_part(&self, name: &str) -> Option<PartId> {
        self.parts.iter().position(|known| known.name == name).map(PartId)
    }

    /// Watches the voltage from `pos` to `neg`.
    pub fn probe_voltage(&mut self, pos: Node, neg: Node) -> Probe {
        self.watch(Seen::Volts(pos, neg))
    }

    /// Watches the current through a part, from its first end to its second.
    ///
    /// A source, a follower or a regulator that delivers current from its positive end therefore
    /// reads negative.
    pub fn probe_current(&mut self, part: PartId) -> Probe {
        self.probe_currents(&[(part, 1.0)])
    }

    /// Watches a sum of currents, each times a factor.
    ///
    /// Kirchhoff's sum of currents through large resistances is more exact than the current
    /// through a small one.
    pub fn probe_currents(&mut self, parts: &[(PartId, f64)]) -> Probe {
        self.watch(Seen::Amps(parts.to_vec()))
    }

    fn watch(&mut self, seen: Seen) -> Probe {
        Probe(self.probes.iter().position(|known| *known == seen).unwrap_or_else(|| {
            self.probes.push(seen);
            self.probes.len() - 1
        }))
    }

    /// Makes a circuit that advances `step_seconds` a step, from the initial state of the parts.
    ///
    /// Capacitors and inductors start where they say; only the segments of diodes and the like are
    /// searched for. Capacitors that form a loop share their charge first.
    ///
    /// # Errors
    ///
    /// Whatever makes the netlist unsolvable or too large, by name of part or node.
    pub fn build(self, step_seconds: f64) -> Result<Circuit, NetError> {
        Circuit::start(Arc::new(Model::new(self, step_seconds)?))
    }
}
