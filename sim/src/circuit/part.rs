//! The parts that a netlist is made of.

use alloc::vec::Vec;

use super::netlist::{InputId, Node};

/// One part between nodes; every value in its SI unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// A resistor.
    Resistor {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Resistance.
        ohms: f64,
    },
    /// A capacitor.
    Capacitor {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Capacitance.
        farads: f64,
        /// Voltage from `a` to `b` at the start.
        volts: f64,
    },
    /// An inductor.
    Inductor {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Inductance.
        henries: f64,
        /// Current from `a` to `b` at the start.
        amps: f64,
    },
    /// A switch or a relay contact.
    Switch {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Resistance when closed.
        on_ohms: f64,
        /// Resistance when open; more than `on_ohms`.
        off_ohms: f64,
        /// Position at the start.
        closed: bool,
    },
    /// A diode of two straight pieces that meet at `volts`.
    Diode {
        /// The end that current enters.
        anode: Node,
        /// The end that current leaves.
        cathode: Node,
        /// Forward voltage at which it begins to conduct.
        volts: f64,
        /// Slope when it conducts.
        on_ohms: f64,
        /// Slope below that; more than `on_ohms`.
        off_ohms: f64,
    },
    /// A varistor or arrester that holds `volts` both ways.
    Clamp {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Magnitude at which it begins to conduct.
        volts: f64,
        /// Slope beyond that.
        on_ohms: f64,
    },
    /// A flash-over or a gas arrester: strikes, then conducts until the current is too small.
    ///
    /// Where nothing can feed `hold_amps` it strikes and goes out at the same instant; it then
    /// stays open for the rest of the step.
    Arc {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Magnitude at which it strikes; at least `arc_volts`.
        strike_volts: f64,
        /// Voltage of the burning arc, before `on_ohms`.
        arc_volts: f64,
        /// Slope of the burning arc.
        on_ohms: f64,
        /// Current below which it goes out.
        hold_amps: f64,
    },
    /// A resistor that passes no more than `amps`, both ways.
    CurrentLimit {
        /// First end.
        a: Node,
        /// Second end.
        b: Node,
        /// Resistance below the limit.
        on_ohms: f64,
        /// Magnitude of the limit.
        amps: f64,
    },
    /// A voltage source with a series resistance.
    Source {
        /// Positive end.
        pos: Node,
        /// Negative end.
        neg: Node,
        /// Series resistance; zero makes an ideal source.
        ohms: f64,
        /// Open-circuit voltage.
        wave: Wave,
    },
    /// A current source: the current leaves at `to`.
    CurrentSource {
        /// Where current is taken.
        from: Node,
        /// Where current is delivered.
        to: Node,
        /// Current.
        wave: Wave,
    },
    /// A one-sided regulator: out of `pos` and back into `neg` flows
    /// `clamp((set - v) * siemens, 0, limit + limit_per_volt * v)`, `v` being the sensed voltage.
    Regulator {
        /// Where current is delivered.
        pos: Node,
        /// Where it returns.
        neg: Node,
        /// Positive sense lead; draws nothing.
        sense_pos: Node,
        /// Negative sense lead; draws nothing.
        sense_neg: Node,
        /// Gain from voltage error to current.
        siemens: f64,
        /// Set point in volts.
        set: InputId,
        /// Current limit in amperes.
        limit: InputId,
        /// How much the limit grows with each sensed volt, in siemens.
        limit_per_volt: f64,
        /// Whether it works at the start.
        enabled: bool,
    },
    /// A buffer: `gain` times the voltage from `pos` to `neg`, against ground, behind `ohms`.
    Follower {
        /// Output, against ground.
        out: Node,
        /// Positive input; draws nothing.
        pos: Node,
        /// Negative input; draws nothing.
        neg: Node,
        /// Output volts for each input volt.
        gain: f64,
        /// Output resistance; zero makes it ideal.
        ohms: f64,
    },
}

/// What a source follows: volts for a voltage source, amperes for a current source.
#[derive(Clone, Debug, PartialEq)]
pub enum Wave {
    /// A constant.
    Dc(f64),
    /// A sine with harmonics, `sqrt(2) * volts_rms * (sin(w) + sum of fraction * sin(order * w +
    /// its phase))` with `w = 2 pi hertz t + phase`.
    Sine {
        /// True RMS of the fundamental alone.
        volts_rms: f64,
        /// Frequency of the fundamental.
        hertz: f64,
        /// Phase of the fundamental at the start, degrees.
        phase_deg: f64,
        /// What is added to the fundamental.
        harmonics: Vec<Harmonic>,
    },
    /// A value driven from outside.
    Input(InputId),
}

/// One harmonic of a sine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonic {
    /// Multiple of the fundamental frequency; at least 2.
    pub order: u32,
    /// Amplitude as a fraction of the fundamental's.
    pub fraction: f64,
    /// Its own phase, degrees of its own cycle.
    pub phase_deg: f64,
}

impl Part {
    /// Gives the two ends that the current of this part flows between, first to second.
    pub(super) const fn ends(&self) -> (Node, Node) {
        match *self {
            Self::Resistor { a, b, .. }
            | Self::Capacitor { a, b, .. }
            | Self::Inductor { a, b, .. }
            | Self::Switch { a, b, .. }
            | Self::Clamp { a, b, .. }
            | Self::Arc { a, b, .. }
            | Self::CurrentLimit { a, b, .. } => (a, b),
            Self::Diode { anode, cathode, .. } => (anode, cathode),
            Self::Source { pos, neg, .. } | Self::Regulator { pos, neg, .. } => (pos, neg),
            Self::CurrentSource { from, to, .. } => (from, to),
            Self::Follower { out, .. } => (out, Node::GROUND),
        }
    }

    /// Gives the two nodes that this part looks at without drawing current, if it does.
    pub(super) const fn senses(&self) -> Option<(Node, Node)> {
        match *self {
            Self::Regulator { sense_pos, sense_neg, .. } => Some((sense_pos, sense_neg)),
            Self::Follower { pos, neg, .. } => Some((pos, neg)),
            _ => None,
        }
    }

    /// Says whether the voltage between the ends is fixed without any resistance.
    pub(super) fn is_ideal_source(&self) -> bool {
        matches!(*self, Self::Source { ohms, .. } | Self::Follower { ohms, .. } if ohms == 0.0)
    }

    /// Says whether the part holds its two ends together, as current-driven parts do not.
    pub(super) const fn holds_ends(&self) -> bool {
        !matches!(self, Self::Inductor { .. } | Self::CurrentSource { .. } | Self::Regulator { .. })
    }

    /// Gives what the source follows, if the part is a source.
    pub(super) const fn wave(&self) -> Option<&Wave> {
        match self {
            Self::Source { wave, .. } | Self::CurrentSource { wave, .. } => Some(wave),
            _ => None,
        }
    }

    /// Lists the outside-driven values that the part uses.
    pub(super) fn inputs(&self) -> Vec<InputId> {
        match (self, self.wave()) {
            (Self::Regulator { set, limit, .. }, _) => [*set, *limit].into(),
            (_, Some(Wave::Input(id))) => [*id].into(),
            _ => Vec::new(),
        }
    }
}
