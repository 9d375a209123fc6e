//! One limit: what it is of, the value, when that value holds, and what is to be said with it.

use core::fmt;

use super::Source;
use crate::judge::{Criterion, Limit, Origin, Reading, Rule, Unit};
use crate::unit::{Temperature, Voltage};

/// A limit with all that is known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Entry<'a> {
    /// What a record keeps. An id is never used again for another limit, not even after its own was
    /// withdrawn; a changed value is a new limit with a new id.
    pub id: u16,
    /// Its name, in lower-case words joined by underscores.
    pub word: &'a str,
    /// One clause: what it is the limit of.
    pub about: &'a str,
    /// What readings it is for.
    pub of: Unit,
    /// The value, where nothing in `depends` moves it.
    pub limit: Limit,
    /// The least test voltage that it asks for.
    pub set: Option<Voltage>,
    /// The temperature that a reading is to be corrected to before it is judged.
    pub at: Option<Temperature>,
    /// What the value depends on.
    pub depends: Depends,
    /// Who says so.
    pub source: Source<'a>,
    /// What is to be said with it.
    pub remark: Option<Remark<'a>>,
}

/// What is to be said with a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Remark<'a> {
    /// Said only of a reading that has not passed this value; `None`: always.
    pub until: Option<f32>,
    /// The sentence.
    pub says: &'a str,
}

/// What the value of a limit depends on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Depends {
    /// Nothing.
    #[default]
    Nothing,
    /// The temperature: 2 % more for each degree F below 60 F, 2 % less above 82 F, no test at or
    /// above 100 F (SB 740-91-01, "Insulation Resistance", paragraph 4.c).
    HarnessTemperature,
    /// The rated voltage of the winding: one more megohm for each kilovolt (IEEE 43-1974).
    RatedKilovolts,
}

/// The rated voltage of what is tested; it goes far beyond what the terminals are made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Rated(u32);

impl Rated {
    /// From whole volts.
    #[must_use]
    pub const fn from_volts(volts: u32) -> Self {
        Self(volts)
    }
}

/// What is known about the circuit beside the reading.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Conditions {
    /// Its temperature.
    pub temperature: Option<Temperature>,
    /// Its rated voltage.
    pub rated: Option<Rated>,
}

/// Why a limit has no value under these conditions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum NoLimit {
    /// It depends on the temperature, which is not known.
    NoTemperature,
    /// The test is not to be made at such a temperature.
    TooHot,
    /// It depends on the rated voltage, which is not known.
    NoRatedVoltage,
}

impl fmt::Display for NoLimit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoTemperature => "this limit depends on the temperature, which is not given",
            Self::TooHot => "this test is made below 100 F (37.8 C) only",
            Self::NoRatedVoltage => "this limit depends on the rated voltage, which is not given",
        })
    }
}

impl Entry<'_> {
    /// Gives the value under these conditions.
    ///
    /// # Errors
    /// A condition that it depends on is not known, or forbids the test.
    pub fn limit_for(&self, conditions: Conditions) -> Result<Limit, NoLimit> {
        // By thousandths, and divided first: round limits stay exact.
        let moved = |thousandths: u32| match self.limit {
            Limit::AtLeast(value) => Limit::AtLeast(value / 1.0e3 * float(thousandths)),
            Limit::AtMost(value) => Limit::AtMost(value / 1.0e3 * float(thousandths)),
        };
        match self.depends {
            Depends::Nothing => Ok(self.limit),
            Depends::HarnessTemperature => {
                let temperature = conditions.temperature.ok_or(NoLimit::NoTemperature)?;
                harness_thousandths(tenths_fahrenheit(temperature))
                    .map(moved)
                    .ok_or(NoLimit::TooHot)
            }
            Depends::RatedKilovolts => {
                let rated = conditions.rated.ok_or(NoLimit::NoRatedVoltage)?;
                Ok(moved(rated.0.saturating_add(1_000)))
            }
        }
    }

    /// Gives what an instrument is to judge by under these conditions; it knows where it comes from.
    ///
    /// ```
    /// use ohmwarden_core::judge::{Limit, Origin, Rule};
    /// use ohmwarden_core::limits::{Conditions, by_word};
    /// let entry = by_word("installation_500v").unwrap();
    /// let criterion = entry.criterion(Conditions::default(), Rule::Guarded).unwrap();
    /// assert_eq!(criterion.limit, Limit::AtLeast(1.0e6));
    /// assert_eq!(criterion.origin, Origin { limit: entry.id, source: entry.source.number });
    /// ```
    ///
    /// # Errors
    /// As [`Entry::limit_for`].
    pub fn criterion(&self, conditions: Conditions, rule: Rule) -> Result<Criterion, NoLimit> {
        let (of, origin) = (self.of, self.origin());
        self.limit_for(conditions).map(|limit| Criterion { limit, of, rule, origin })
    }

    /// Gives what a record keeps of where it comes from.
    #[must_use]
    pub const fn origin(&self) -> Origin {
        Origin { limit: self.id, source: self.source.number }
    }

    /// Gives the remark where it is to be said of this reading.
    #[must_use]
    pub fn remark_for(&self, reading: Reading) -> Option<&str> {
        let remark = self.remark?;
        let passed = |until: f32| {
            reading.value.amount().is_some_and(|amount| match self.limit {
                Limit::AtLeast(_) => amount >= until,
                Limit::AtMost(_) => amount <= until,
            })
        };
        (!remark.until.is_some_and(passed)).then_some(remark.says)
    }
}

/// Tenths of a degree Fahrenheit, to the nearest: the rule counts degrees, and no thermometer on a
/// harness is better than that.
fn tenths_fahrenheit(temperature: Temperature) -> i32 {
    let tenths = i64::from(temperature.as_millicelsius()).saturating_mul(18);
    let half = if tenths < 0 { -500 } else { 500 };
    let nearest = tenths.saturating_add(half).checked_div(1_000).unwrap_or(0);
    i32::try_from(nearest.saturating_add(320)).unwrap_or(i32::MAX)
}

/// What is asked for at so many tenths of a degree F, in thousandths of the limit.
fn harness_thousandths(tenths: i32) -> Option<u32> {
    let off = match tenths {
        ..600 => 600_i32.saturating_sub(tenths),
        600..=820 => 0,
        821..1_000 => 820_i32.saturating_sub(tenths),
        _ => return None,
    };
    // Two per cent a degree are two thousandths a tenth.
    Some(1_000_i32.saturating_add(off.saturating_mul(2)).unsigned_abs())
}

#[expect(clippy::cast_precision_loss, reason = "six digits are more than any limit has")]
fn float(whole: u32) -> f32 {
    whole as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::Value;
    use crate::limits::by_word;

    fn limit(word: &str, conditions: Conditions) -> Option<Result<Limit, NoLimit>> {
        by_word(word).map(|entry| entry.limit_for(conditions))
    }

    #[test]
    fn a_limit_that_depends_on_something_is_not_given_without_it() {
        let none = Conditions::default();
        assert_eq!(limit("wiring_harness", none), Some(Err(NoLimit::NoTemperature)));
        assert_eq!(limit("winding_before_1970", none), Some(Err(NoLimit::NoRatedVoltage)));
    }

    #[test]
    fn no_harness_is_tested_from_a_hundred_fahrenheit_on() {
        let at = |millicelsius| {
            let temperature = Some(Temperature::from_millicelsius(millicelsius));
            limit("wiring_harness", Conditions { temperature, rated: None })
        };
        // 99.9 F and 100 F.
        assert!(at(37_722).is_some_and(|it| it.is_ok()));
        assert_eq!(at(37_778), Some(Err(NoLimit::TooHot)));
        assert!(at(-273_150).is_some_and(|it| it.is_ok()));
        assert_eq!(at(i32::MAX), Some(Err(NoLimit::TooHot)));
    }

    #[test]
    fn a_remark_stays_away_from_a_reading_that_has_passed_it() {
        let said = |ohms| {
            let reading = Reading { value: Value::Number(ohms), ..Reading::NONE };
            by_word("installation_500v").and_then(|entry| entry.remark_for(reading)).is_some()
        };
        assert!(said(1.99e6));
        assert!(!said(2.0e6));
    }
}
