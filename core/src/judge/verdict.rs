//! The verdict against a limit, with a guard band.

use super::{Flags, Reading, Unit, Value};

/// A limit in the base unit of the reading.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Limit {
    /// The circuit must have at least this.
    AtLeast(f32),
    /// The circuit must have at most this.
    AtMost(f32),
}

/// What readings are to be judged against.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Criterion {
    /// The limit, in the base unit of what it is of.
    pub limit: Limit,
    /// What it is a limit of: a reading of anything else is not judged by it.
    pub of: Unit,
    /// The rule.
    pub rule: Rule,
    /// Where the limit comes from: what a record keeps of it.
    pub origin: Origin,
}

/// Where a limit comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Origin {
    /// The number of the limit in a table of limits; 0: the user's own.
    pub limit: u16,
    /// The number of the published source; 0: none.
    pub source: u16,
}

impl Origin {
    /// A limit of no table, without a published source.
    pub const OWN: Self = Self { limit: 0, source: 0 };
}

impl Criterion {
    /// A limit of the user's own for resistances, with a guard band.
    #[must_use]
    pub const fn ohms(limit: Limit) -> Self {
        Self { limit, of: Unit::Ohm, rule: Rule::Guarded, origin: Origin::OWN }
    }

    /// Judges a reading. One of another quantity says nothing about this limit: the verdict is then
    /// that there is no reading.
    ///
    /// ```
    /// use ohmwarden_core::judge::{Criterion, Limit, Reading, Unit, Value, Verdict, Why};
    /// let ohms = Reading { value: Value::Number(2.0e6), doubt: 1.0e4, ..Reading::NONE };
    /// assert_eq!(Criterion::ohms(Limit::AtLeast(1.0e6)).judge(ohms).verdict(), Verdict::Pass);
    /// let index = Criterion { of: Unit::Ratio, ..Criterion::ohms(Limit::AtLeast(2.0)) };
    /// assert_eq!(index.judge(ohms).verdict(), Verdict::Undecided(Why::NoReading));
    /// ```
    #[must_use]
    pub fn judge(&self, reading: Reading) -> Judged {
        let of_it = reading.unit == self.of;
        let none = Reading { unit: self.of, ..Reading::NONE }.flagged(reading.flags);
        if of_it { reading } else { none }.judge_by(self.limit, self.rule)
    }
}

/// How the doubt of a reading enters its verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Rule {
    /// A guard band of 1.64 standard uncertainties on either side: met, or missed, with 95 %
    /// confidence, else undecided (the idea of JCGM 106, guarded acceptance and rejection).
    #[default]
    Guarded,
    /// The number alone decides, for those who ask for it (JCGM 106, simple acceptance).
    Simple,
}

/// What a reading says about a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Verdict {
    /// Met, guard band included.
    Pass,
    /// Not met, guard band included.
    Fail,
    /// Neither can be said.
    Undecided(Why),
}

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Why {
    /// There is no reading.
    NoReading,
    /// A flag forbids it.
    Flagged,
    /// The limit lies within the doubt of the reading.
    GuardBand,
    /// A bound that does not reach the limit.
    BoundTooWeak,
    /// The number itself is not one.
    NotANumber,
}

impl Why {
    /// Says it in a few words.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::NoReading => "there is no reading",
            Self::Flagged => "a flag forbids a verdict",
            Self::GuardBand => "the limit lies within the doubt of the reading",
            Self::BoundTooWeak => "the bound does not reach the limit",
            Self::NotANumber => "the reading is no number",
        }
    }
}

impl Verdict {
    /// All words, in the order of [`Verdict::index`].
    pub const WORDS: &'static [&'static str] = &["pass", "fail", "undecided"];

    /// The position of its word in [`Verdict::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Pass => 0,
            Self::Fail => 1,
            Self::Undecided(_) => 2,
        }
    }
}

/// A reading with its verdict; made by [`Reading::judge`] alone.
///
/// ```compile_fail
/// use ohmwarden_core::judge::{Judged, Reading, Verdict};
/// let forged = Judged { reading: Reading::NONE, verdict: Verdict::Pass };
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Judged {
    reading: Reading,
    limit: Limit,
    rule: Rule,
    verdict: Verdict,
}

impl Judged {
    /// The reading.
    #[must_use]
    pub const fn reading(&self) -> Reading {
        self.reading
    }

    /// The limit it was judged against.
    #[must_use]
    pub const fn limit(&self) -> Limit {
        self.limit
    }

    /// The rule it was judged by.
    #[must_use]
    pub const fn rule(&self) -> Rule {
        self.rule
    }

    /// The width of the guard band on the side that a pass needs, in the base unit.
    #[must_use]
    pub fn guard(&self) -> f32 {
        let (least, greatest) = self.reading.ends(self.rule.spread());
        let amount = self.reading.value.amount().unwrap_or(0.0);
        match self.limit {
            Limit::AtLeast(_) => amount - least,
            Limit::AtMost(_) => greatest - amount,
        }
    }

    /// The verdict.
    #[must_use]
    pub const fn verdict(&self) -> Verdict {
        self.verdict
    }
}

/// One-sided 95 % of a normal distribution.
const GUARD: f32 = 1.64;

impl Rule {
    /// How many standard uncertainties the guard band is wide.
    const fn spread(self) -> f32 {
        match self {
            Self::Guarded => GUARD,
            Self::Simple => 0.0,
        }
    }
}

impl Reading {
    /// Judges the reading against a limit. Any spoiling flag forbids a pass; a fail needs that no
    /// flag could have made the circuit look worse than it is.
    ///
    /// ```
    /// use ohmwarden_core::judge::{Flags, Limit, Reading, Value, Verdict};
    /// let limit = Limit::AtLeast(1.0e6);
    /// let good = Reading { value: Value::Above(1.0e9), doubt: 3.0e7, ..Reading::NONE };
    /// assert_eq!(good.judge(limit).verdict(), Verdict::Pass);
    /// let fallen_off = good.flagged(Flags::PATH_UNPROVED);
    /// assert!(matches!(fallen_off.judge(limit).verdict(), Verdict::Undecided(_)));
    /// ```
    #[must_use]
    pub fn judge(self, limit: Limit) -> Judged {
        self.judge_by(limit, Rule::Guarded)
    }

    /// As [`Reading::judge`], by a rule of the caller's choice. Flags count under either.
    #[must_use]
    pub fn judge_by(self, limit: Limit, rule: Rule) -> Judged {
        Judged { reading: self, limit, rule, verdict: self.verdict(limit, rule) }
    }

    fn verdict(&self, limit: Limit, rule: Rule) -> Verdict {
        let Some(amount) = self.value.amount() else {
            return Verdict::Undecided(Why::NoReading);
        };
        let (least, greatest) = self.ends(rule.spread());
        // A limit from above is one from below with every sign turned round.
        let (low, high, bound) = match limit {
            Limit::AtLeast(l) => (least - l, greatest - l, false),
            Limit::AtMost(l) => (l - greatest, l - least, true),
        };
        if !amount.is_finite() || low.is_nan() || high.is_nan() {
            return Verdict::Undecided(Why::NotANumber);
        }
        let (may_pass, may_fail) = match (self.value, bound) {
            (Value::None, _) => (false, false),
            (Value::Number(_), _) => (true, true),
            (Value::Above(_), false) | (Value::Below(_), true) => (true, false),
            (Value::Above(_), true) | (Value::Below(_), false) => (false, true),
        };
        if may_pass && low >= 0.0 {
            return if self.flags.any(Flags::SPOILING) {
                Verdict::Undecided(Why::Flagged)
            } else {
                Verdict::Pass
            };
        }
        if may_fail && high <= 0.0 {
            return if self.flags.any(Flags::MAY_LOOK_WORSE) {
                Verdict::Undecided(Why::Flagged)
            } else {
                Verdict::Fail
            };
        }
        Verdict::Undecided(if may_pass && may_fail { Why::GuardBand } else { Why::BoundTooWeak })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn megohms(value: f32) -> Reading {
        Reading {
            value: Value::Number(value * 1.0e6),
            unit: Unit::Ohm,
            doubt: value * 0.03e6,
            skew: 0.0,
            flags: Flags::NONE,
        }
    }

    const ONE: Limit = Limit::AtLeast(1.0e6);

    #[test]
    fn a_reading_inside_the_guard_band_is_undecided() {
        assert_eq!(megohms(1.02).judge(ONE).verdict(), Verdict::Undecided(Why::GuardBand));
        assert_eq!(megohms(1.06).judge(ONE).verdict(), Verdict::Pass);
        assert_eq!(megohms(0.94).judge(ONE).verdict(), Verdict::Fail);
    }

    #[test]
    fn every_spoiling_flag_alone_forbids_a_pass() {
        for (flag, word) in Flags::WORDS {
            let verdict = megohms(50.0).flagged(*flag).judge(ONE).verdict();
            assert_eq!(verdict == Verdict::Pass, !Flags::SPOILING.any(*flag), "{word}");
        }
    }

    #[test]
    fn over_range_continuity_is_a_decided_fail() {
        let open = Reading { value: Value::Above(2_000.0), doubt: 60.0, ..megohms(0.0) };
        assert_eq!(open.judge(Limit::AtMost(1.0)).verdict(), Verdict::Fail);
        assert_eq!(
            open.judge(Limit::AtLeast(1.0e6)).verdict(),
            Verdict::Undecided(Why::BoundTooWeak)
        );
    }

    #[test]
    fn a_source_at_its_limit_may_fail_but_never_pass() {
        let low = megohms(0.1).flagged(Flags::SOURCE_LIMITED);
        assert_eq!(low.judge(ONE).verdict(), Verdict::Fail);
        let high = megohms(9.0).flagged(Flags::SOURCE_LIMITED);
        assert_eq!(high.judge(ONE).verdict(), Verdict::Undecided(Why::Flagged));
    }

    #[test]
    fn nothing_that_is_not_a_number_is_decided() {
        for x in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
            let odd = Reading { value: Value::Number(x), ..megohms(1.0) };
            assert_eq!(odd.judge(ONE).verdict(), Verdict::Undecided(Why::NotANumber));
        }
    }
}
