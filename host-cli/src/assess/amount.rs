//! Amounts as a person writes them: `1.06Mohm`, `>999 Mohm`, a doubt of `3%` or of `50 kohm`.

use core::str::FromStr;

use ohmwarden_core::correct::Rule;
use ohmwarden_core::judge::{Flags, Unit, Value};
use ohmwarden_core::unit::{Temperature, Voltage};
use ohmwarden_sim::expect::{Dimension, read_literal};
use ohmwarden_sim::scenario::Mistake;

use crate::nearest::nearest;

/// A number or a bound, with what it is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Amount {
    pub(super) value: Value,
    pub(super) unit: Unit,
}

impl Amount {
    /// Reads a number with its unit, or a bound.
    ///
    /// # Errors
    /// What cannot be read, with its place in `text`.
    pub(super) fn read(text: &str) -> Result<Self, Mistake> {
        let blanks = text.len() - text.trim_start().len();
        let sign = text[blanks..].chars().next().filter(|c| matches!(c, '<' | '>'));
        let rest = blanks + sign.map_or(0, char::len_utf8);
        let (number, dimension) = read_literal(&text[rest..]).map_err(|mut mistake| {
            mistake.span = rest + mistake.span.start..rest + mistake.span.end;
            mistake.accepted.retain(|accepted| is_of_readings(accepted));
            mistake
        })?;
        let unit = unit_of(dimension).ok_or_else(|| whole(text, "no reading is of this unit"))?;
        let number = number as f32;
        if !number.is_finite() {
            return Err(whole(text, "this number is too large"));
        }
        let value = match sign {
            Some('<') => Value::Below(number),
            Some(_) => Value::Above(number),
            None => Value::Number(number),
        };
        Ok(Self { value, unit })
    }

    /// Reads what must be a number.
    ///
    /// # Errors
    /// What cannot be read, or a bound.
    pub(super) fn read_number(text: &str) -> Result<(f32, Unit), Mistake> {
        match Self::read(text)? {
            Self { value: Value::Number(number), unit } => Ok((number, unit)),
            _ => Err(whole(text, "a number is needed here, not a bound")),
        }
    }
}

impl FromStr for Amount {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Self::read(text).map_err(|mistake| said(&mistake))
    }
}

/// The doubt of a reading, as its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Doubt {
    /// A share of the reading.
    Share(f32),
    /// So much, in the unit of the reading.
    Amount(f32, Unit),
}

impl Doubt {
    /// Reads a share in percent, or an amount.
    ///
    /// # Errors
    /// What cannot be read, or is below zero.
    pub(super) fn read(text: &str) -> Result<Self, Mistake> {
        let (number, unit) = Amount::read_number(text)?;
        if number < 0.0 {
            return Err(whole(text, "a doubt cannot be below zero"));
        }
        let share = text.trim_end().ends_with('%');
        Ok(if share { Self::Share(number) } else { Self::Amount(number, unit) })
    }

    /// Gives it for a reading; `None` where it is of another unit.
    pub(super) fn of(self, amount: Amount) -> Option<f32> {
        match self {
            Self::Share(share) => Some(amount.value.amount().unwrap_or(0.0).abs() * share),
            Self::Amount(number, unit) => (unit == amount.unit).then_some(number),
        }
    }
}

impl FromStr for Doubt {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Self::read(text).map_err(|mistake| said(&mistake))
    }
}

/// Reads the word of a flag.
pub(super) fn flag(text: &str) -> Result<Flags, Mistake> {
    let found = Flags::WORDS.iter().find(|(_, word)| *word == text);
    found.map(|(flag, _)| *flag).ok_or_else(|| {
        let accepted = Flags::WORDS.iter().map(|(_, word)| (*word).to_owned()).collect();
        Mistake { accepted, ..whole(text, "no such flag") }
    })
}

/// Reads the word of a correction for temperature.
pub(super) fn correction(text: &str) -> Result<Rule, Mistake> {
    Rule::ALL.into_iter().find(|rule| rule.word() == text).ok_or_else(|| {
        let accepted = Rule::ALL.iter().map(|rule| rule.word().to_owned()).collect();
        Mistake { accepted, ..whole(text, "no such rule") }
    })
}

/// Reads a temperature in degrees Celsius.
pub(super) fn celsius(text: &str) -> Result<Temperature, Mistake> {
    let number = number_within(text, (-100.0, 300.0), "degrees Celsius")?;
    Ok(Temperature::from_millicelsius((number * 1e3).round() as i32))
}

/// Reads a test voltage in volts.
pub(super) fn volts(text: &str) -> Result<Voltage, Mistake> {
    let number = number_within(text, (0.0, 2_000.0), "volts")?;
    Ok(Voltage::from_microvolts((number * 1e6).round() as i32))
}

fn number_within(text: &str, (least, greatest): (f64, f64), of: &str) -> Result<f64, Mistake> {
    let number = text.trim().parse().ok().filter(|x: &f64| (least..=greatest).contains(x));
    let accepted = vec![format!("{least} to {greatest} {of}")];
    number.ok_or_else(|| Mistake { accepted, ..whole(text, "this cannot be used here") })
}

/// A mistake that is the whole of a text.
pub(super) fn whole(text: &str, message: &str) -> Mistake {
    let (found, message) = (text.trim().to_owned(), message.to_owned());
    Mistake { span: 0..text.len(), found, accepted: Vec::new(), message }
}

/// A mistake in one line, with the nearest of what is accepted.
pub(super) fn said(mistake: &Mistake) -> String {
    let near = nearest(&mistake.found, mistake.accepted.iter().map(String::as_str));
    let near = near.map_or(String::new(), |near| format!("; did you mean {near}?"));
    format!("{mistake}{near}")
}

/// Whether what is accepted may stand in a reading: there are none of times, energies and lengths.
fn is_of_readings(accepted: &str) -> bool {
    let of = read_literal(&format!("1 {accepted}")).map(|(_, dimension)| unit_of(dimension));
    !matches!(of, Ok(None))
}

/// What a reading of this dimension is of.
const fn unit_of(dimension: Dimension) -> Option<Unit> {
    Some(match dimension {
        Dimension::Ohm => Unit::Ohm,
        Dimension::Volt => Unit::Volt,
        Dimension::Amp => Unit::Ampere,
        Dimension::Farad => Unit::Farad,
        Dimension::Hertz => Unit::Hertz,
        Dimension::Ratio => Unit::Ratio,
        Dimension::Second
        | Dimension::Joule
        | Dimension::Metre
        | Dimension::Bool
        | Dimension::Word(_) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_bounds_are_read_with_their_units() {
        let of = |text| Amount::read(text).map(|it| (it.value, it.unit));
        assert_eq!(of("1.06Mohm"), Ok((Value::Number(1.06e6), Unit::Ohm)));
        assert_eq!(of(" > 999 Mohm"), Ok((Value::Above(999.0e6), Unit::Ohm)));
        assert_eq!(of("<0.01ohm"), Ok((Value::Below(0.01), Unit::Ohm)));
        assert_eq!(of("0.8333"), Ok((Value::Number(0.8333), Unit::Ratio)));
    }

    #[test]
    fn a_mistake_behind_a_sign_is_where_it_stands() {
        let told = Amount::read(" >5 Mohms").unwrap_err();
        assert_eq!((told.span, told.found.as_str()), (4..9, "Mohms"));
        assert!(Amount::read("5 s").is_err() && Amount::read("1e39 ohm").is_err());
    }

    #[test]
    fn a_doubt_is_a_share_or_an_amount_of_the_same_unit() {
        let reading = Amount::read("2 Mohm").unwrap();
        assert_eq!(Doubt::read("3 %").unwrap().of(reading), Some(0.03 * 2.0e6));
        assert_eq!(Doubt::read("50kohm").unwrap().of(reading), Some(50.0e3));
        assert_eq!(Doubt::read("1 V").unwrap().of(reading), None);
        assert!(Doubt::read("-3%").is_err() && Doubt::read("<3%").is_err());
    }
}
