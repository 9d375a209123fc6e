//! What is known round the circuit: its temperature, where readings of it are to be brought, its pair.

use super::pair::PairKind;
use super::temperature::{Corrected, NoCorrection, Rule, Warmth, correct};
use crate::judge::{Reading, Unit, Value};
use crate::unit::Temperature;

/// What is known round the circuit that core cannot measure.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Surroundings {
    /// Its temperature.
    pub warmth: Warmth,
    /// What readings are to be brought to; `None` corrects nothing.
    pub bring: Option<Bring>,
    /// The telephone pair that the leads are on, where distances are wanted.
    pub pair: Option<&'static PairKind<'static>>,
}

/// By which rule readings are brought to which temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Bring {
    /// The rule. One of insulation touches no reading of a conductor, one of copper nothing else.
    pub rule: Rule,
    /// Where the limit holds.
    pub to: Temperature,
}

impl Surroundings {
    /// Nothing known and nothing asked for.
    pub const UNKNOWN: Self = Self {
        warmth: Warmth { temperature: None, doubt: Temperature::ZERO, dew_point: None },
        bring: None,
        pair: None,
    };

    /// Brings a resistance, of a conductor or of insulation, to where its limit holds; `None` where
    /// that is not asked for or there is nothing to bring.
    #[must_use]
    pub fn corrected(
        &self,
        raw: Reading,
        of_conductor: bool,
    ) -> Option<Result<Corrected, NoCorrection>> {
        let bring = self.bring.filter(|bring| bring.rule.is_of_copper() == of_conductor)?;
        let is_resistance = raw.unit == Unit::Ohm && raw.value != Value::None;
        is_resistance.then(|| correct(raw, bring.rule, self.warmth, bring.to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const READ: Reading = Reading { value: Value::Number(3.0e6), ..Reading::NONE };

    fn by(rule: Rule) -> Surroundings {
        let to = Temperature::from_celsius(20);
        Surroundings { bring: Some(Bring { rule, to }), ..Surroundings::UNKNOWN }
    }

    #[test]
    fn a_rule_touches_only_readings_of_what_it_is_made_for() {
        for rule in Rule::ALL {
            let told = [true, false].map(|conductor| by(rule).corrected(READ, conductor));
            let [conductor, insulation] = told.map(|it| it.is_some());
            assert_eq!((conductor, insulation), (rule.is_of_copper(), !rule.is_of_copper()));
        }
    }

    #[test]
    fn what_is_asked_for_and_cannot_be_done_is_said() {
        let why = by(Rule::Oil).corrected(READ, false).and_then(Result::err);
        assert_eq!(why, Some(NoCorrection::NoTemperature));
        assert_eq!(Surroundings::UNKNOWN.corrected(READ, false), None);
        let ratio = Reading { unit: Unit::Ratio, ..READ };
        assert_eq!(by(Rule::Oil).corrected(ratio, false), None);
        assert_eq!(by(Rule::Oil).corrected(Reading::NONE, false), None);
    }
}
