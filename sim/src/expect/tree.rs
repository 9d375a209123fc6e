//! The checked expression: what it says of one moment, as truth and as a signed margin.

use alloc::boxed::Box;
use alloc::vec::Vec;

use super::grammar::Comparator;
use super::signal::{SignalSpec, Signals};

/// The largest margin told, in scales; so that an infinite reading stays a number.
pub const MARGIN_MAX: f64 = 1.0e6;

/// What an expression says of one moment.
///
/// `margin` is above zero only where `holds`, below zero only where not; at zero, only `holds`
/// tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Now {
    /// Whether it is true.
    pub holds: bool,
    /// How far it is from changing, in scales.
    pub margin: f64,
}

impl Now {
    const fn yes_or_no(holds: bool) -> Self {
        Self { holds, margin: if holds { 1.0 } else { -1.0 } }
    }

    fn measured(holds: bool, margin: f64) -> Self {
        Self { holds, margin: 0.0 + margin.clamp(-MARGIN_MAX, MARGIN_MAX) }
    }

    /// The opposite.
    #[must_use]
    pub fn opposite(self) -> Self {
        // Subtracting keeps a margin of zero from becoming a negative zero.
        Self { holds: !self.holds, margin: 0.0 - self.margin }
    }

    /// Both: the lesser margin.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { holds: self.holds && other.holds, margin: self.margin.min(other.margin) }
    }

    /// Either: the greater margin.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self { holds: self.holds || other.holds, margin: self.margin.max(other.margin) }
    }
}

/// The expression itself, with signals as indices into the registry it was checked against.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Tree {
    Flag { signal: usize },
    Word { signal: usize, place: usize },
    Compare { signal: usize, sign: Comparator, limit: f64, scale: f64 },
    Between { signal: usize, low: f64, high: f64, scale: f64 },
    Not(Box<Self>),
    All(Vec<Self>),
    Any(Vec<Self>),
}

impl Tree {
    pub(super) fn now(&self, signals: &dyn Signals) -> Now {
        let read = |signal: usize| signals.read(signal).filter(|value| !value.is_nan());
        match self {
            Self::Flag { signal } => Now::yes_or_no(read(*signal).is_some_and(|v| v > 0.5)),
            Self::Word { signal, place } => {
                Now::yes_or_no(read(*signal).is_some_and(|v| is_place(v, *place)))
            }
            Self::Compare { signal, sign, limit, scale } => read(*signal)
                .map_or(Now::yes_or_no(false), |value| compare(value, *sign, *limit, *scale)),
            Self::Between { signal, low, high, scale } => {
                read(*signal).map_or(Now::yes_or_no(false), |value| {
                    let above = compare(value, Comparator::GreaterOrEqual, *low, *scale);
                    above.and(compare(value, Comparator::LessOrEqual, *high, *scale))
                })
            }
            Self::Not(inner) => inner.now(signals).opposite(),
            Self::All(parts) => {
                fold(parts.iter().map(|part| part.now(signals)), Now::yes_or_no(true), Now::and)
            }
            Self::Any(parts) => {
                fold(parts.iter().map(|part| part.now(signals)), Now::yes_or_no(false), Now::or)
            }
        }
    }
}

impl Tree {
    /// Finds the unit and scale that all atoms share; yes-or-no atoms and words have none.
    pub(super) fn common(&self, specs: &[SignalSpec]) -> Option<(&'static str, f64)> {
        match self {
            Self::Flag { .. } | Self::Word { .. } => None,
            Self::Compare { signal, scale, .. } | Self::Between { signal, scale, .. } => {
                specs.get(*signal).map(|spec| (spec.dimension.unit(), *scale))
            }
            Self::Not(inner) => inner.common(specs),
            Self::All(parts) | Self::Any(parts) => {
                let first = parts.first()?.common(specs)?;
                parts.iter().all(|part| part.common(specs) == Some(first)).then_some(first)
            }
        }
    }
}

/// Joins from the first on; `empty` stands only for no parts at all.
fn fold(parts: impl Iterator<Item = Now>, empty: Now, join: fn(Now, Now) -> Now) -> Now {
    parts.reduce(join).unwrap_or(empty)
}

/// A word signal reads as a whole number, so half a step either way is the same place.
fn is_place(value: f64, place: usize) -> bool {
    libm::fabs(value - place as f64) < 0.5
}

#[expect(clippy::float_cmp, reason = "an expression may ask for exactly one value")]
fn compare(value: f64, sign: Comparator, limit: f64, scale: f64) -> Now {
    let over = (value - limit) / scale;
    match sign {
        Comparator::Less => Now::measured(value < limit, -over),
        Comparator::LessOrEqual => Now::measured(value <= limit, -over),
        Comparator::Greater => Now::measured(value > limit, over),
        Comparator::GreaterOrEqual => Now::measured(value >= limit, over),
        Comparator::Equal => Now::measured(value == limit, -libm::fabs(over)),
        Comparator::NotEqual => Now::measured(value != limit, libm::fabs(over)),
    }
}
