//! What the shape of a netlist alone decides: which nodes are held, and which capacitors are free.
//!
//! Capacitors in a loop have dependent voltages. A spanning forest of capacitors gives the states;
//! the voltage of every other capacitor is a sum of theirs along the path that closes the loop.

use alloc::string::String;
use alloc::vec::Vec;

use super::error::NetError;
use super::netlist::{Netlist, Node};
use super::part::Part;

/// A capacitor and the states whose signed sum is its voltage.
#[derive(Clone, Debug)]
pub(super) struct Capacitor {
    pub(super) part: usize,
    /// Its own state, unless others fix its voltage.
    pub(super) own: Option<usize>,
    pub(super) path: Vec<(usize, f64)>,
}

/// A branch of the forest; `state` is empty for an ideal source.
#[derive(Clone, Copy)]
struct Branch {
    ends: (Node, Node),
    state: Option<usize>,
}

/// Refuses a node that nothing but leakage holds.
pub(super) fn check_held(net: &Netlist) -> Result<(), NetError> {
    let held = reach(net, Part::holds_ends);
    let Some(loose) = held.iter().position(|reached| !reached) else { return Ok(()) };
    let by_inductor = net.parts.iter().any(|named| {
        let (a, b) = named.part.ends();
        matches!(named.part, Part::Inductor { .. }) && held[a.0] != held[b.0]
    });
    let node = net.nodes[loose].clone();
    Err(if by_inductor {
        NetError::InductorCutSet { node }
    } else {
        NetError::FloatingNode { node }
    })
}

/// Marks the nodes that parts which pass `joins` connect to ground.
fn reach(net: &Netlist, joins: impl Fn(&Part) -> bool) -> Vec<bool> {
    let mut reached = alloc::vec![false; net.nodes.len()];
    reached[Node::GROUND.0] = true;
    loop {
        let mut grown = false;
        for named in net.parts.iter().filter(|named| joins(&named.part)) {
            let (a, b) = named.part.ends();
            if reached[a.0] != reached[b.0] {
                reached[a.0] = true;
                reached[b.0] = true;
                grown = true;
            }
        }
        if !grown {
            return reached;
        }
    }
}

/// The capacitors of a netlist in order.
pub(super) struct Capacitors {
    /// How many states they need.
    pub(super) states: usize,
    pub(super) all: Vec<Capacitor>,
    forest: Vec<Branch>,
}

impl Capacitors {
    /// Finds the one state that the voltage between two nodes is, if it is one.
    pub(super) fn alone(&self, ends: (Node, Node)) -> Option<usize> {
        match path(&self.forest, ends)?[..] {
            [(branch, 1.0)] => branch.state,
            _ => None,
        }
    }
}

/// Orders the capacitors.
pub(super) fn capacitors(net: &Netlist) -> Result<Capacitors, NetError> {
    let mut forest = source_forest(net)?;
    let mut found = Vec::new();
    let mut states = 0;
    for (part, named) in net.parts.iter().enumerate() {
        if !matches!(named.part, Part::Capacitor { .. }) {
            continue;
        }
        let ends = named.part.ends();
        let (own, path) = if let Some(path) = path(&forest, ends) {
            let signed = |(branch, sign): (Branch, f64)| branch.state.map(|state| (state, sign));
            let states: Option<Vec<_>> = path.into_iter().map(signed).collect();
            let part = || String::from(named.name.as_str());
            (None, states.ok_or_else(|| NetError::CapacitorLoop { part: part() })?)
        } else {
            forest.push(Branch { ends, state: Some(states) });
            states += 1;
            (Some(states - 1), [(states - 1, 1.0)].into())
        };
        found.push(Capacitor { part, own, path });
    }
    Ok(Capacitors { states, all: found, forest })
}

fn source_forest(net: &Netlist) -> Result<Vec<Branch>, NetError> {
    let mut forest = Vec::new();
    for named in net.parts.iter().filter(|named| named.part.is_ideal_source()) {
        let ends = named.part.ends();
        if path(&forest, ends).is_some() {
            return Err(NetError::ParallelSources { part: named.name.clone() });
        }
        forest.push(Branch { ends, state: None });
    }
    Ok(forest)
}

/// Finds the branches from `ends.0` to `ends.1`, each with the sign of its own direction.
fn path(forest: &[Branch], ends: (Node, Node)) -> Option<Vec<(Branch, f64)>> {
    let mut trails = [(ends.0, Vec::new())].to_vec();
    let mut used = alloc::vec![false; forest.len()];
    while let Some((at, trail)) = trails.pop() {
        if at == ends.1 {
            return Some(trail);
        }
        for (index, branch) in forest.iter().enumerate() {
            let (next, sign) = match branch.ends {
                (a, b) if a == at && !used[index] => (b, 1.0),
                (a, b) if b == at && !used[index] => (a, -1.0),
                _ => continue,
            };
            used[index] = true;
            let mut longer = trail.clone();
            longer.push((*branch, sign));
            trails.push((next, longer));
        }
    }
    None
}
