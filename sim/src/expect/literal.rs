//! A number with its unit, read for itself: `25 Mohm`, `500V`, `3 %`.

use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use super::grammar;
use super::resolve::syntax_mistake;
use super::signal::Dimension;
use super::unit::{BASES, read_unit, scaled, units_of};
use crate::scenario::Mistake;

/// Reads a number with its unit: the value in the base unit, and what it measures. Without a unit
/// it is a plain number.
///
/// ```
/// use ohmwarden_sim::expect::{Dimension, read_literal};
/// assert_eq!(read_literal("1.06Mohm"), Ok((1.06e6, Dimension::Ohm)));
/// assert_eq!(read_literal("3 %"), Ok((0.03, Dimension::Ratio)));
/// assert!(read_literal("3 Mohms").is_err());
/// ```
///
/// # Errors
/// What cannot be read, with its place in `text` and what is accepted there.
pub fn read_literal(text: &str) -> Result<(f64, Dimension), Mistake> {
    let literal = grammar::read_literal(text)
        .map_err(|stop| syntax_mistake(text, &stop, "number with its unit"))?;
    let (dimension, power) = match &literal.unit {
        None => (Dimension::Ratio, 0),
        Some(unit) => read_unit(&unit.text)
            .ok_or_else(|| mistake(text, unit.span.clone(), "no such unit", all_units()))?,
    };
    let too_large = || mistake(text, literal.span(), "this number is too large", Vec::new());
    scaled(&literal.digits.text, power).map(|value| (value, dimension)).ok_or_else(too_large)
}

fn mistake(text: &str, span: Range<usize>, message: &str, accepted: Vec<String>) -> Mistake {
    let found = text.get(span.clone()).unwrap_or_default().into();
    Mistake { span, found, accepted, message: message.into() }
}

fn all_units() -> Vec<String> {
    let units = BASES.iter().map(|(_, dimension)| *dimension).chain([Dimension::Ratio]);
    units.flat_map(units_of).map(ToString::to_string).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_with_a_unit_is_pointed_at() {
        for (text, span, message) in [
            ("", 0..0, "cannot go on with the end"),
            ("ohm", 0..3, "cannot go on with ohm"),
            ("5 ohm 7", 6..7, "cannot go on with 7"),
            ("5 Mohms", 2..7, "no such unit"),
            ("1e300 Gohm", 0..10, "too large"),
        ] {
            let told = read_literal(text).expect_err(text);
            assert_eq!(told.span, span, "{text}");
            assert!(told.message.contains(message), "{text}: {told}");
        }
    }
}
