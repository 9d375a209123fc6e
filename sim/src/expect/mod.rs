//! What a scenario promises: expressions over signals, watched while the run goes on.
//!
//! An expression ([`Expression`]) says something of one moment; an expectation ([`Expect`]) says
//! when it must be true; a [`Monitor`] steps with the run, keeps no trace, and at the end tells
//! whether the expectation held and by how much. Margins follow signal temporal logic: an atom's
//! margin is its distance from its limit divided by the signal's scale, that of a range by half its
//! width; `&&` takes the least, `||` the greatest, `!` the opposite. Expectations about time also
//! tell the time to spare, which is what a person reads.
//!
//! Exercised by the unit tests here and, against a second evaluation over whole traces, by
//! `tests/tests/expect/`.

use alloc::string::String;
use alloc::vec::Vec;

use crate::scenario::Mistake;

mod grammar;
mod literal;
mod monitor;
mod resolve;
mod signal;
mod timed;
mod tree;
mod unit;
mod watch;
mod window;

pub use literal::read_literal;
pub use monitor::{Fired, Monitor, Outcome};
pub use signal::{Dimension, SignalSpec, Signals, find_signal};
pub use tree::{MARGIN_MAX, Now};

/// A checked expression: its text, and the tree that was made of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Expression {
    text: String,
    tree: tree::Tree,
    unit: Option<(&'static str, f64)>,
}

impl Expression {
    /// Reads an expression and checks it against the signals that exist.
    ///
    /// # Errors
    /// Every mistake found, with spans in bytes of `text`.
    pub fn parse(text: &str, specs: &'static [SignalSpec]) -> Result<Self, Vec<Mistake>> {
        let tree = resolve::resolve(text, specs)?;
        let unit = tree.common(specs);
        Ok(Self { text: text.into(), tree, unit })
    }

    /// Gives the text as written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Evaluates the expression at this moment.
    #[must_use]
    pub fn now(&self, signals: &dyn Signals) -> Now {
        self.tree.now(signals)
    }

    /// Gives the unit of its margins and the size of one scale in it, where all its atoms agree on
    /// both; `None` where the margin can only be told in scales.
    #[must_use]
    pub fn unit(&self) -> Option<(&'static str, f64)> {
        self.unit
    }
}

/// One expectation of a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Expect {
    /// What must be true, and when.
    pub rule: Rule,
    /// A sentence for the reader; may be empty.
    pub note: String,
}

/// When an expression must be true.
#[derive(Clone, Debug, PartialEq)]
pub enum Rule {
    /// At every sample of the span.
    Always(Expression, Span),
    /// At no sample of the span.
    Never(Expression, Span),
    /// At one moment: the first sample not before it.
    At {
        /// Seconds from the start, or from the label.
        s: f64,
        /// The label that the moment counts from.
        after: Option<String>,
        /// What must be true.
        that: Expression,
    },
    /// At some sample in the first `s` seconds.
    Eventually {
        /// The length of the window, seconds.
        s: f64,
        /// What must be true.
        that: Expression,
        /// How long it must then stay.
        stays: Stays,
    },
    /// At some sample in the `s` seconds after a label.
    Within {
        /// The label that opens the window.
        after: String,
        /// The length of the window, seconds.
        s: f64,
        /// What must be true.
        that: Expression,
        /// How long it must then stay.
        stays: Stays,
    },
    /// `hold` at every sample before the first at which `until` is true, which must come.
    Until {
        /// What must be true before.
        hold: Expression,
        /// What ends it.
        until: Expression,
    },
}

impl Rule {
    /// Gives the label that its time counts from, the time, and the label that ends it, where the
    /// rule is about a time.
    #[must_use]
    pub fn window(&self) -> Option<(Option<&str>, f64, Option<&str>)> {
        match self {
            Self::At { s, after, .. } => Some((after.as_deref(), *s, None)),
            Self::Eventually { s, stays, .. } => Some((None, *s, stays.label())),
            Self::Within { after, s, stays, .. } => Some((Some(after), *s, stays.label())),
            Self::Always(..) | Self::Never(..) | Self::Until { .. } => None,
        }
    }
}

/// Whether what became true in a window must stay true.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stays {
    /// Once is enough.
    No,
    /// From the end of the window to the end of the run.
    ToEnd,
    /// From the end of the window until this label.
    UntilLabel(String),
}

impl Stays {
    /// Gives the label that ends it.
    #[must_use]
    pub fn label(&self) -> Option<&str> {
        match self {
            Self::UntilLabel(label) => Some(label),
            Self::No | Self::ToEnd => None,
        }
    }
}

/// The part of a run that `always` and `never` look at: from one label to another, or all of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Span {
    /// Only samples after this label.
    pub after: Option<String>,
    /// Only samples before this label.
    pub before: Option<String>,
}
