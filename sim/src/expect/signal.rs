//! What an expression may talk about: named signals, each with a dimension and a scale.
//!
//! The list is data, so that the same table drives the check of an expression, the error that
//! names what is accepted, and the documentation. The world that is simulated provides it.

/// What a signal measures; a literal beside it must be of the same dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// True or false; read as 1 or 0.
    Bool,
    /// Potential difference, in volts.
    Volt,
    /// Current, in amperes.
    Amp,
    /// Resistance, in ohms.
    Ohm,
    /// Capacitance, in farads.
    Farad,
    /// Frequency, in hertz.
    Hertz,
    /// Time, in seconds.
    Second,
    /// Energy, in joules.
    Joule,
    /// Length, in metres.
    Metre,
    /// A plain number; `%` is one hundredth.
    Ratio,
    /// One of these words; read as its place in the list.
    Word(&'static [&'static str]),
}

impl Dimension {
    /// Names the unit in which a value is read and a margin is told; empty where there is none.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Volt => "V",
            Self::Amp => "A",
            Self::Ohm => "ohm",
            Self::Farad => "F",
            Self::Hertz => "Hz",
            Self::Second => "s",
            Self::Joule => "J",
            Self::Metre => "m",
            Self::Bool | Self::Ratio | Self::Word(_) => "",
        }
    }

    /// Names the dimension for a message.
    #[must_use]
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Bool => "a yes or no",
            Self::Volt => "a voltage",
            Self::Amp => "a current",
            Self::Ohm => "a resistance",
            Self::Farad => "a capacitance",
            Self::Hertz => "a frequency",
            Self::Second => "a time",
            Self::Joule => "an energy",
            Self::Metre => "a length",
            Self::Ratio => "a plain number",
            Self::Word(_) => "a word",
        }
    }
}

/// Describes one signal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SignalSpec {
    /// The name in expressions: lower-case words joined by dots and underscores.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// One unit of margin, in the dimension's own unit; above zero.
    pub scale: f64,
    /// One sentence for a reader.
    pub says: &'static str,
}

/// Gives the values of signals at one moment.
pub trait Signals {
    /// Lists what can be read; the place in this list is the index of [`Signals::read`].
    fn specs(&self) -> &'static [SignalSpec];

    /// Reads one signal, in the unit of its dimension; `None` where it has no value now.
    fn read(&self, index: usize) -> Option<f64>;
}

/// Finds the place of a signal by name.
#[must_use]
pub fn find_signal(specs: &[SignalSpec], name: &str) -> Option<usize> {
    specs.iter().position(|spec| spec.name == name)
}
