//! The checked expression: what it says of one moment, as truth and as a signed margin.

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
    /// The opposite.
    #[must_use]
    pub fn opposite(self) -> Self {
        // Subtracting keeps a margin of zero from becoming a negative zero.
        Self { holds: !self.holds, margin: 0.0 - self.margin }
    }

    /// Both: the lesser margin.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { holds: self.holds & other.holds, margin: lesser(self.margin, other.margin) }
    }

    /// Either: the greater margin.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self { holds: self.holds | other.holds, margin: greater(self.margin, other.margin) }
    }
}

/// The lesser of two numbers, neither of which is NaN: one instruction, where `f64::min` is many.
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// The greater of two numbers, neither of which is NaN.
fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The expression itself, with every negation moved down to its atoms.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Tree {
    Atom(Atom),
    All(Vec<Self>),
    Any(Vec<Self>),
}

impl Tree {
    pub(super) fn now(&self, signals: &dyn Signals) -> Now {
        match self {
            Self::Atom(atom) => atom.now(signals),
            Self::All(parts) => {
                let all = Now { holds: true, margin: MARGIN_MAX };
                parts.iter().fold(all, |so_far, part| so_far.and(part.part_now(signals)))
            }
            Self::Any(parts) => {
                let none = Now { holds: false, margin: -MARGIN_MAX };
                parts.iter().fold(none, |so_far, part| so_far.or(part.part_now(signals)))
            }
        }
    }

    /// As [`Tree::now`], with the common case of an atom inside a row drawn into the loop.
    #[inline]
    fn part_now(&self, signals: &dyn Signals) -> Now {
        match self {
            Self::Atom(atom) => atom.now(signals),
            row => row.now(signals),
        }
    }

    /// Gives the opposite: `!` of a row is the other kind of row of the opposites.
    pub(super) fn negated(self) -> Self {
        let each = |parts: Vec<Self>| parts.into_iter().map(Self::negated).collect();
        match self {
            Self::Atom(atom) => Self::Atom(Atom { negated: !atom.negated, ..atom }),
            Self::All(parts) => Self::Any(each(parts)),
            Self::Any(parts) => Self::All(each(parts)),
        }
    }

    /// Finds the unit and scale that all atoms share; yes-or-no atoms and words have none.
    pub(super) fn common(&self, specs: &[SignalSpec]) -> Option<(&'static str, f64)> {
        match self {
            Self::Atom(atom) if atom.scale == 0.0 => None,
            Self::Atom(atom) => {
                specs.get(atom.signal).map(|spec| (spec.dimension.unit(), atom.scale))
            }
            Self::All(parts) | Self::Any(parts) => {
                let first = parts.first()?.common(specs)?;
                parts.iter().all(|part| part.common(specs) == Some(first)).then_some(first)
            }
        }
    }
}

/// One test of one signal. Every test is an interval, so that a sample takes no choice of operator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Atom {
    /// Its place in the registry that the expression was checked against.
    signal: usize,
    /// The limits that the margin is measured from.
    low: f64,
    high: f64,
    /// The least and greatest value for which it holds: the limits, or the next number inside.
    least: f64,
    greatest: f64,
    /// One unit of margin; 0 for yes-or-no signals and words, whose margin is 1 either way.
    scale: f64,
    /// Whether it holds outside the interval (`!=`): a comparison like the others, without a value
    /// false.
    outside: bool,
    /// Whether a `!` stands before it: true without a value.
    negated: bool,
}

impl Atom {
    /// A yes-or-no signal that is true.
    pub(super) const fn flag(signal: usize) -> Self {
        Self::inside(signal, 0.5, f64::INFINITY, 0.0)
    }

    /// A word signal that reads this place in its list.
    pub(super) const fn word(signal: usize, place: usize) -> Self {
        let place = place as f64;
        Self::inside(signal, place - 0.5, place + 0.5, 0.0)
    }

    /// A value from `low` to `high`, both included.
    pub(super) const fn inside(signal: usize, low: f64, high: f64, scale: f64) -> Self {
        Self {
            signal,
            low,
            high,
            least: low,
            greatest: high,
            scale,
            outside: false,
            negated: false,
        }
    }

    /// A value against one limit.
    pub(super) fn compare(signal: usize, sign: Comparator, limit: f64, scale: f64) -> Self {
        let from = Self::inside(signal, limit, f64::INFINITY, scale);
        let to = Self::inside(signal, f64::NEG_INFINITY, limit, scale);
        let only = Self::inside(signal, limit, limit, scale);
        match sign {
            Comparator::GreaterOrEqual => from,
            Comparator::Greater => Self { least: limit.next_up(), ..from },
            Comparator::LessOrEqual => to,
            Comparator::Less => Self { greatest: limit.next_down(), ..to },
            Comparator::Equal => only,
            Comparator::NotEqual => Self { outside: true, ..only },
        }
    }

    /// A signal without a value fails its comparison, by 1.
    #[inline]
    fn now(&self, signals: &dyn Signals) -> Now {
        let value = signals.read(self.signal).unwrap_or(f64::NAN);
        let sign = |holds: bool| if holds { 1.0 } else { -1.0 };
        let now = if value.is_nan() {
            Now { holds: false, margin: -1.0 }
        } else {
            let holds = (value >= self.least && value <= self.greatest) != self.outside;
            // Yes or no is decided in most samples, and a division is not cheap.
            let margin = if self.scale == 0.0 { sign(holds) } else { self.margin(value) };
            Now { holds, margin: 0.0 + margin }
        };
        if self.negated { now.opposite() } else { now }
    }

    /// How far inside the interval a value is, in units of the scale.
    fn margin(&self, value: f64) -> f64 {
        let inside = lesser(value - self.low, self.high - value) / self.scale;
        let sign = if self.outside { -1.0 } else { 1.0 };
        greater(lesser(inside, MARGIN_MAX), -MARGIN_MAX) * sign
    }
}
