//! What is known of a measurement besides its main reading.

use crate::block::numbered;
use crate::correct::{Corrected, Rule};
use crate::date::Date;
use crate::frame::Function;
use crate::judge::{Reading, Value};
use crate::kept::Kept;
use crate::measure::Curve;
use crate::profile::GENERAL;
use crate::unit::{Capacitance, Resistance, Temperature};

/// What is known of a measurement besides its main reading.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct About {
    /// The day, where the board knew it.
    pub day: Option<Date>,
    /// What was measured, with its test voltage or current.
    pub function: Function,
    /// The quantity beside the main one: leakage current, test voltage.
    pub second: Reading,
    /// The number of the profile: [`crate::profile::Profile::id`].
    pub profile: u8,
    /// The lead null that was taken off the reading.
    pub null: Option<LeadNull>,
    /// What was done for another temperature.
    pub correction: Option<Correction>,
    /// What the circuit stores, where it was measured.
    pub capacitance: Option<Capacitance>,
    /// Readings at set times, for a timed test.
    pub curve: Curve,
}

impl About {
    /// Nothing known, of a voltage seen under the general profile: what to begin with.
    pub const NOTHING: Self = Self {
        day: None,
        function: Function::Volts,
        second: Reading::NONE,
        profile: GENERAL.id,
        null: None,
        correction: None,
        capacitance: None,
        curve: Curve::new(),
    };
}

/// A lead null in use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct LeadNull {
    /// The resistance that was taken off.
    pub resistance: Resistance,
    /// How many days before the measurement it was learned, where both days are known.
    pub age_days: Option<u16>,
}

impl LeadNull {
    /// The null that was in use on a day; its age is known only where it was learned before that.
    #[must_use]
    pub fn in_use(kept: &Kept, today: Option<Date>) -> Option<Self> {
        let days = today.zip(kept.null_day);
        let age_days = days.and_then(|(now, then)| now.as_days().checked_sub(then.as_days()));
        kept.null.map(|resistance| Self { resistance, age_days })
    }
}

/// A correction to another temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Correction {
    /// The value before it.
    pub raw: Value,
    /// The temperature at which it was measured.
    pub temperature: Temperature,
    /// The number of the rule: [`Correction::by_rule`].
    pub rule: u8,
}

numbered! {
    number_of_rule, rule_of, Rule {
        1 = Rule::Halving,
        2 = Rule::Oil,
        3 = Rule::Solid,
        4 = Rule::Thermoset,
        5 = Rule::RubberR,
        6 = Rule::ThermoplasticT,
        7 = Rule::RubberRh,
        8 = Rule::Copper,
        9 = Rule::CopperIacs,
    }
}

impl Correction {
    /// What a record keeps of a corrected reading.
    #[must_use]
    pub const fn of(corrected: &Corrected) -> Self {
        Self {
            raw: corrected.raw.value,
            temperature: corrected.temperature,
            rule: number_of_rule(corrected.rule),
        }
    }

    /// The rule, where its number is known here.
    #[must_use]
    pub const fn by_rule(&self) -> Option<Rule> {
        rule_of(self.rule)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_a_rule_reads_back_as_the_rule() {
        for rule in Rule::ALL {
            assert_eq!(rule_of(number_of_rule(rule)), Some(rule));
        }
        assert_eq!((rule_of(0), rule_of(10)), (None, None));
    }

    #[test]
    fn the_age_of_a_null_needs_both_days_in_their_order() {
        let kept = Kept {
            null: Some(Resistance::from_milliohms(150)),
            null_day: Some(Date::from_days(9_000)),
            ..Kept::NOTHING
        };
        let age = |kept: &Kept, day| LeadNull::in_use(kept, day).map(|null| null.age_days);
        assert_eq!(age(&kept, Some(Date::from_days(9_030))), Some(Some(30)));
        assert_eq!(age(&kept, Some(Date::from_days(8_999))), Some(None));
        assert_eq!(age(&kept, None), Some(None));
        assert_eq!(age(&Kept { null_day: None, ..kept }, Some(Date::FIRST)), Some(None));
        assert_eq!(age(&Kept::NOTHING, Some(Date::FIRST)), None);
    }
}
