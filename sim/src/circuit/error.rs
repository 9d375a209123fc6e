//! What a netlist can be refused for, and what a running circuit can fail with.

use alloc::string::String;
use core::fmt;

/// Says why a netlist cannot be turned into a circuit; names the part or the node.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NetError {
    /// A value is not finite or lies outside what this solver accepts.
    OutOfRange {
        /// The part.
        part: String,
        /// Which of its values, as the field is called.
        key: &'static str,
        /// What was given.
        value: f64,
        /// The least accepted value.
        least: f64,
        /// The greatest accepted value.
        most: f64,
    },
    /// Two values of one part contradict each other.
    Contradiction {
        /// The part.
        part: String,
        /// What would be consistent.
        wanted: &'static str,
    },
    /// Two parts carry the same name.
    NameTaken {
        /// The name.
        part: String,
    },
    /// A part refers to a node or an input of another netlist.
    Foreign {
        /// The part.
        part: String,
    },
    /// A probe refers to a part or a node of another netlist.
    ForeignProbe,
    /// Both ends of a part are on one node.
    BothEndsTogether {
        /// The part.
        part: String,
    },
    /// Nothing but leakage holds this node.
    FloatingNode {
        /// The node.
        node: String,
    },
    /// An ideal source closes a loop of ideal sources.
    ParallelSources {
        /// The part that closes the loop.
        part: String,
    },
    /// A capacitor lies across an ideal source with no resistance in the loop.
    CapacitorLoop {
        /// The capacitor.
        part: String,
    },
    /// This node is held by inductors and current sources alone, whose currents need not agree.
    InductorCutSet {
        /// The node.
        node: String,
    },
    /// More state variables than the solver has room for.
    TooManyStates {
        /// How many the netlist needs.
        found: usize,
        /// How many there may be.
        most: usize,
    },
    /// More outside-driven values than the solver has room for (a ramped one counts twice).
    TooManyInputs {
        /// How many the netlist needs.
        found: usize,
        /// How many there may be.
        most: usize,
    },
    /// More states, probes and segment tests together than the solver has room for.
    TooManyOutputs {
        /// How many the netlist needs.
        found: usize,
        /// How many there may be.
        most: usize,
    },
    /// More switches and piecewise-linear parts than the solver has room for.
    TooManySegments {
        /// How many the netlist has.
        found: usize,
        /// How many there may be.
        most: usize,
    },
    /// The time step is not a usable number of seconds.
    BadStep {
        /// What was given.
        seconds: f64,
    },
    /// The equations of the resistive part have no single solution.
    Unsolvable {
        /// The node, or the part whose current is open.
        at: String,
    },
    /// No choice of segments agrees with the initial state.
    NoOperatingPoint,
    /// The value of this part cannot be changed while the circuit runs.
    NotAdjustable {
        /// The part.
        part: String,
    },
}

impl fmt::Display for NetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { part, key, value, least, most } => {
                write!(f, "{part}: {key} is {value:e}, accepted is {least:e} to {most:e}")
            }
            Self::Contradiction { part, wanted } => write!(f, "{part}: {wanted}"),
            Self::NameTaken { part } => write!(f, "{part}: a part of this name exists already"),
            Self::Foreign { part } => write!(f, "{part}: refers to another netlist"),
            Self::ForeignProbe => write!(f, "a probe refers to another netlist"),
            Self::BothEndsTogether { part } => write!(f, "{part}: both ends are on one node"),
            Self::FloatingNode { node } => write!(f, "{node}: nothing but leakage holds this node"),
            Self::ParallelSources { part } => {
                write!(f, "{part}: closes a loop of sources without resistance")
            }
            Self::CapacitorLoop { part } => {
                write!(f, "{part}: lies across a source without resistance")
            }
            Self::InductorCutSet { node } => {
                write!(f, "{node}: only inductors or current sources meet here")
            }
            Self::TooManyStates { found, most } => write!(f, "{found} states, at most {most}"),
            Self::TooManyInputs { found, most } => write!(f, "{found} inputs, at most {most}"),
            Self::TooManyOutputs { found, most } => {
                write!(f, "{found} states, probes and segment tests, at most {most}")
            }
            Self::TooManySegments { found, most } => {
                write!(f, "{found} switches and piecewise-linear parts, at most {most}")
            }
            Self::BadStep { seconds } => write!(f, "a time step of {seconds:e} s"),
            Self::Unsolvable { at } => write!(f, "{at}: the equations have no single solution"),
            Self::NoOperatingPoint => write!(f, "no segments agree with the initial state"),
            Self::NotAdjustable { part } => write!(f, "{part}: has no value to change"),
        }
    }
}

impl core::error::Error for NetError {}

/// Says that no consistent next state was found, or that a number left the finite range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diverged {
    /// When the failing step began.
    pub seconds: f64,
}

impl fmt::Display for Diverged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the circuit has no consistent state after {} s", self.seconds)
    }
}

impl core::error::Error for Diverged {}
