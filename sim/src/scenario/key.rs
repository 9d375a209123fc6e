//! Keys as data: name, what it takes, default. One table drives reading, the errors, writing,
//! sweeping and the documentation.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

/// One key of a table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Key {
    /// The key, with its unit in it.
    pub name: &'static str,
    /// What stands on the right.
    pub takes: Takes,
    /// Whether a `set` event may change it during a run.
    pub settable: bool,
}

/// What a key takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Takes {
    /// A finite number from `least` to `greatest`, in the unit of the key's name.
    Number {
        /// The least accepted.
        least: f64,
        /// The greatest accepted.
        greatest: f64,
        /// What is taken where the key is absent; `None`: the key is needed.
        default: Option<f64>,
    },
    /// `true` or `false`.
    Flag {
        /// What is taken where the key is absent.
        default: bool,
    },
    /// A text in quotes, not empty.
    Text,
    /// One of these words, in quotes.
    Word {
        /// The words.
        accepted: &'static [&'static str],
        /// What is taken where the key is absent; `None`: the key is needed.
        default: Option<&'static str>,
    },
    /// A list of harmonics, empty where absent.
    Harmonics,
}

impl Key {
    /// Makes a key that takes a number and is needed.
    #[must_use]
    pub const fn number(name: &'static str, least: f64, greatest: f64) -> Self {
        Self::of(name, Takes::Number { least, greatest, default: None })
    }

    /// Makes a key that takes `true` or `false`.
    #[must_use]
    pub const fn flag(name: &'static str, default: bool) -> Self {
        Self::of(name, Takes::Flag { default })
    }

    /// Makes a key that takes a text and is needed.
    #[must_use]
    pub const fn text(name: &'static str) -> Self {
        Self::of(name, Takes::Text)
    }

    /// Makes a key that takes one of some words.
    #[must_use]
    pub const fn word(
        name: &'static str,
        accepted: &'static [&'static str],
        default: Option<&'static str>,
    ) -> Self {
        Self::of(name, Takes::Word { accepted, default })
    }

    /// Makes a key that takes a list of harmonics.
    #[must_use]
    pub const fn harmonics(name: &'static str) -> Self {
        Self::of(name, Takes::Harmonics)
    }

    const fn of(name: &'static str, takes: Takes) -> Self {
        Self { name, takes, settable: false }
    }

    /// Gives a number its default.
    #[must_use]
    pub const fn or(self, value: f64) -> Self {
        let takes = match self.takes {
            Takes::Number { least, greatest, .. } => {
                Takes::Number { least, greatest, default: Some(value) }
            }
            other => other,
        };
        Self { takes, ..self }
    }

    /// Takes its default away.
    #[must_use]
    pub(super) const fn needed(self) -> Self {
        match self.takes {
            Takes::Number { least, greatest, .. } => Self::number(self.name, least, greatest),
            _ => self,
        }
    }

    /// Lets a `set` event change it.
    #[must_use]
    pub const fn settable(self) -> Self {
        Self { settable: true, ..self }
    }

    /// Lists what is accepted, for an error.
    #[must_use]
    pub fn accepted(&self) -> Vec<String> {
        match self.takes {
            Takes::Number { least, greatest, .. } => alloc::vec![range_text(least, greatest)],
            Takes::Flag { .. } => alloc::vec!["true".into(), "false".into()],
            Takes::Text => alloc::vec!["a text in quotes".into()],
            Takes::Word { accepted, .. } => accepted.iter().map(ToString::to_string).collect(),
            Takes::Harmonics => {
                alloc::vec!["[{ order = 3, fraction = 0.1, phase_deg = 0 }]".into()]
            }
        }
    }

    /// Tells whether a number is inside the accepted range; `false` for keys that take no number.
    #[must_use]
    pub fn admits(&self, value: f64) -> bool {
        matches!(self.takes, Takes::Number { least, greatest, .. } if value >= least && value <= greatest)
    }
}

/// Says a range of numbers.
#[must_use]
pub(super) fn range_text(least: f64, greatest: f64) -> String {
    format!("{} to {}", number_text(least), number_text(greatest))
}

/// Writes a number so that it is short and reads back to the same bits.
#[must_use]
pub(super) fn number_text(value: f64) -> String {
    let text = if libm::fabs(value) >= 1.0e7 { format!("{value:e}") } else { format!("{value:?}") };
    match text.strip_suffix(".0") {
        Some(whole) => whole.into(),
        None => text,
    }
}
