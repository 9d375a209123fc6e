//! The resistance at another temperature, by the rules of the trade.
//!
//! Insulation loses resistance as it warms, copper gains some. A rule is a factor that brings a
//! reading to the rule's own base temperature; two of them bring it to any other in its range. What
//! a rule says of one piece of insulation is rough: published factors for one step of 30 K are 7 (a
//! graph) and 8 (the halving), so a rule is taken to be known to 7 % of the logarithm of its
//! factor.

use core::fmt;

use super::rules::{Law, known_to};
use crate::judge::{Flags, Reading, Unit, Value};
use crate::unit::Temperature;

/// By which rule a reading is corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rule {
    /// Half for each 10 K: thermoplastic and general insulation.
    Halving,
    /// Oil-filled apparatus.
    Oil,
    /// Apparatus with solid insulation.
    Solid,
    /// Thermosetting winding insulation.
    Thermoset,
    /// Wire insulation of the kinds R and RW.
    RubberR,
    /// Wire insulation of the kinds T and TW.
    ThermoplasticT,
    /// Wire insulation of the kind RH.
    RubberRh,
    /// Copper conductors, by the constant of IEC 60228.
    Copper,
    /// Annealed copper, by its coefficient at 20 C.
    CopperIacs,
}

/// What is known about the temperature of a circuit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Warmth {
    /// The temperature of the insulation, or of the conductor.
    pub temperature: Option<Temperature>,
    /// Its standard uncertainty, as a difference.
    pub doubt: Temperature,
    /// The dew point of the air round it, where it was measured.
    pub dew_point: Option<Temperature>,
}

/// A corrected reading, with all that it takes to do it again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corrected {
    /// What was read.
    pub raw: Reading,
    /// At which temperature.
    pub temperature: Temperature,
    /// To which temperature it was brought.
    pub to: Temperature,
    /// By which rule.
    pub rule: Rule,
    /// What it would have read there, with the doubt of thermometer and rule in it.
    pub reading: Reading,
}

/// Why a reading cannot be corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NoCorrection {
    /// The temperature is not known.
    NoTemperature,
    /// A temperature is beyond those that the rule was made for.
    OutOfRange {
        /// The least that it is made for.
        least: Temperature,
        /// The greatest that it is made for.
        greatest: Temperature,
    },
    /// At or below the dew point the surface is wet, and no rule is made for that.
    Dew,
    /// It is no resistance.
    NoResistance,
}

impl fmt::Display for NoCorrection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTemperature => f.write_str("a correction needs the temperature"),
            Self::OutOfRange { least, greatest } => {
                let (least, greatest) = (least.as_celsius(), greatest.as_celsius());
                write!(f, "this rule is made for {least} C to {greatest} C")
            }
            Self::Dew => f.write_str("at or below the dew point the surface is wet: dry it first"),
            Self::NoResistance => f.write_str("only a resistance is corrected for temperature"),
        }
    }
}

/// Brings a resistance from the temperature that it was read at to another one.
///
/// ```
/// use ohmwarden_core::correct::{Rule, Warmth, correct};
/// use ohmwarden_core::judge::{Reading, Value};
/// use ohmwarden_core::unit::Temperature;
/// let raw = Reading { value: Value::Number(200.0e6), ..Reading::NONE };
/// let temperature = Some(Temperature::from_celsius(20));
/// let warmth = Warmth { temperature, ..Warmth::default() };
/// let corrected = correct(raw, Rule::Halving, warmth, Temperature::from_celsius(50));
/// assert_eq!(corrected.map(|it| it.reading.value), Ok(Value::Number(25.0e6)));
/// assert!(correct(raw, Rule::Halving, Warmth::default(), Temperature::from_celsius(40)).is_err());
/// ```
///
/// # Errors
/// What is missing or forbids it.
pub fn correct(
    raw: Reading,
    rule: Rule,
    warmth: Warmth,
    to: Temperature,
) -> Result<Corrected, NoCorrection> {
    let temperature = warmth.temperature.ok_or(NoCorrection::NoTemperature)?;
    if warmth.dew_point.is_some_and(|dew| !rule.is_of_copper() && temperature <= dew) {
        return Err(NoCorrection::Dew);
    }
    let (least, greatest) = rule.range();
    if [temperature, to].iter().any(|t| *t < least || *t > greatest) {
        return Err(NoCorrection::OutOfRange { least, greatest });
    }
    let law = rule.law();
    let factor = law.factor(celsius(temperature), celsius(to));
    let value = match (raw.unit, raw.value) {
        (Unit::Ohm, Value::Number(x)) => Value::Number(x * factor),
        (Unit::Ohm, Value::Below(x)) => Value::Below(x * factor),
        (Unit::Ohm, Value::Above(x)) => Value::Above(x * factor),
        _ => return Err(NoCorrection::NoResistance),
    };
    let amount = value.amount().unwrap_or(0.0);
    let share = share(law, warmth.doubt, temperature, factor);
    let (read, added) = (raw.doubt * factor, amount * share);
    let doubt = libm::sqrtf(read * read + added * added);
    let reading = Reading { value, doubt, ..raw.flagged(Flags::TEMPERATURE) };
    Ok(Corrected { raw, temperature, to, rule, reading })
}

/// The relative doubt that a correction adds: thermometer and rule.
fn share(law: Law, doubt: Temperature, temperature: Temperature, factor: f32) -> f32 {
    let (at, by) = (celsius(temperature), celsius(doubt));
    let thermometer = libm::logf(law.factor(at + by, at - by)) / 2.0;
    let rule = known_to(law) * libm::logf(factor);
    libm::sqrtf(thermometer * thermometer + rule * rule)
}

/// Degrees Celsius.
#[expect(clippy::cast_precision_loss, reason = "no thermometer has seven digits")]
pub(super) fn celsius(temperature: Temperature) -> f32 {
    temperature.as_millicelsius() as f32 / 1.0e3
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(celsius: i32) -> Warmth {
        let temperature = Some(Temperature::from_celsius(celsius));
        Warmth { temperature, doubt: Temperature::from_celsius(1), dew_point: None }
    }

    fn megohms(value: f32) -> Reading {
        Reading { value: Value::Number(value * 1.0e6), ..Reading::NONE }
    }

    const TWENTY: Temperature = Temperature::from_celsius(20);

    #[test]
    fn every_rule_leaves_a_reading_alone_where_nothing_changes() {
        for rule in Rule::ALL {
            let same = correct(megohms(5.0), rule, at(20), TWENTY);
            assert_eq!(same.map(|it| it.reading.value), Ok(megohms(5.0).value), "{rule:?}");
        }
    }

    #[test]
    fn there_and_back_is_the_same_by_every_rule() {
        for rule in Rule::ALL {
            let there = correct(megohms(5.0), rule, at(25), TWENTY).map(|it| it.reading);
            let back = there.and_then(|raw| {
                correct(raw, rule, at(20), Temperature::from_celsius(25)).map(|it| it.reading.value)
            });
            let near =
                |value: Value| value.amount().is_some_and(|x| (x / 5.0e6 - 1.0).abs() < 1e-6);
            assert!(back.is_ok_and(near), "{rule:?}: {back:?}");
        }
    }

    #[test]
    fn insulation_reads_more_and_copper_less_at_a_lower_temperature() {
        for rule in Rule::ALL {
            let cooler = correct(megohms(5.0), rule, at(25), TWENTY);
            let more = cooler.is_ok_and(|it| it.reading.value.amount() > Some(5.0e6));
            assert_eq!(more, !rule.is_of_copper(), "{rule:?}");
        }
    }

    #[test]
    fn beyond_its_range_a_rule_gives_nothing() {
        for rule in Rule::ALL {
            let (least, greatest) = rule.range();
            let step = Temperature::from_millicelsius(1);
            for t in [least.saturating_sub(step), greatest.saturating_add(step)] {
                let warmth = Warmth { temperature: Some(t), ..Warmth::default() };
                let why = Err(NoCorrection::OutOfRange { least, greatest });
                assert_eq!(correct(megohms(1.0), rule, warmth, least), why, "{rule:?}");
                let ends = Warmth { temperature: Some(least), ..warmth };
                assert_eq!(correct(megohms(1.0), rule, ends, t), why, "{rule:?}");
                assert!(correct(megohms(1.0), rule, ends, greatest).is_ok(), "{rule:?}");
            }
        }
    }

    #[test]
    fn what_cannot_be_corrected_is_refused() {
        let wet = Warmth { dew_point: Some(TWENTY), ..at(20) };
        assert_eq!(correct(megohms(1.0), Rule::Oil, wet, TWENTY), Err(NoCorrection::Dew));
        assert!(correct(megohms(1.0), Rule::Copper, wet, TWENTY).is_ok());
        let volts = Reading { unit: Unit::Volt, ..megohms(1.0) };
        for raw in [volts, Reading::NONE] {
            let told = correct(raw, Rule::Halving, at(20), TWENTY);
            assert_eq!(told, Err(NoCorrection::NoResistance));
        }
    }

    #[test]
    fn a_corrected_reading_says_so_and_a_bound_stays_one() {
        let raw = Reading { value: Value::Above(1.0e9), ..Reading::NONE };
        let read = correct(raw, Rule::Halving, at(30), TWENTY).map(|it| it.reading);
        assert_eq!(read.map(|it| it.value), Ok(Value::Above(2.0e9)));
        assert!(read.is_ok_and(|it| it.flags.any(Flags::TEMPERATURE)));
    }

    #[test]
    fn thermometer_and_rule_add_to_the_doubt() {
        // One kelvin is 2^0.1 = 7.2 % of the halving; 7 % of the logarithm of 2 is 4.9 %.
        let read = correct(megohms(100.0), Rule::Halving, at(30), TWENTY).map(|it| it.reading);
        let doubt = read.map_or(0.0, |it| it.doubt / 200.0e6);
        let expected = libm::sqrtf(0.0693 * 0.0693 + 0.0485 * 0.0485);
        assert!((doubt - expected).abs() < 2e-4, "{doubt} {expected}");
    }
}
