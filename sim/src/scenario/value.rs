//! Reads one value: a number in its range, a word among words, a list.
//!
//! Each reader notes what is wrong, with what is accepted, and gives nothing back then.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use toml::Spanned;
use toml::de::{DeArray, DeValue};

use super::key::{Key, number_text};
use super::reader::Notes;

/// The greatest number of letters in a name.
const NAME_LENGTH_MAX: usize = 48;

/// A value with its place.
pub type Value<'a, 'd> = &'a Spanned<DeValue<'d>>;

/// Says what a value is, for a message.
pub(super) fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

fn wrong_kind(value: Value<'_, '_>, wanted: &str, accepted: Vec<String>, notes: &mut Notes<'_>) {
    let message = format!("{wanted} is needed here, not {}", kind_of(value.get_ref()));
    notes.note(value.span(), message, accepted);
}

/// Reads a number inside the range of its key.
pub(super) fn read_number(value: Value<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<f64> {
    let number = match value.get_ref() {
        DeValue::Integer(_) => read_whole(value).map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
        _ => {
            wrong_kind(value, "a number", key.accepted(), notes);
            return None;
        }
    };
    let Some(number) = number.filter(|number| number.is_finite()) else {
        notes.note(value.span(), format!("{} must be a finite number", key.name), key.accepted());
        return None;
    };
    if !key.admits(number) {
        let message = format!("{} cannot be {}", key.name, number_text(number));
        notes.note(value.span(), message, key.accepted());
        return None;
    }
    Some(number)
}

/// Reads a whole number of any base.
pub(super) fn read_whole(value: Value<'_, '_>) -> Option<i128> {
    match value.get_ref() {
        DeValue::Integer(whole) => i128::from_str_radix(whole.as_str(), whole.radix()).ok(),
        _ => None,
    }
}

/// Reads `true` or `false`.
pub(super) fn read_flag(value: Value<'_, '_>, notes: &mut Notes<'_>) -> Option<bool> {
    let flag = value.get_ref().as_bool();
    if flag.is_none() {
        wrong_kind(value, "true or false", alloc::vec!["true".into(), "false".into()], notes);
    }
    flag
}

/// Reads a text.
pub fn read_text<'a>(value: Value<'a, '_>, notes: &mut Notes<'_>) -> Option<&'a str> {
    let text = value.get_ref().as_str();
    if text.is_none() {
        wrong_kind(value, "a text", alloc::vec!["a text in quotes".into()], notes);
    }
    text
}

/// Reads one of some words: its place among them.
pub(super) fn read_word(
    value: Value<'_, '_>,
    words: &[&str],
    notes: &mut Notes<'_>,
) -> Option<usize> {
    let accepted = || words.iter().map(ToString::to_string).collect();
    let Some(text) = value.get_ref().as_str() else {
        wrong_kind(value, "a text", accepted(), notes);
        return None;
    };
    let place = words.iter().position(|word| *word == text);
    if place.is_none() {
        notes.note(value.span(), "no such word here", accepted());
    }
    place
}

/// Reads a list.
pub(super) fn read_list<'a, 'd>(
    value: Value<'a, 'd>,
    accepted: &str,
    notes: &mut Notes<'_>,
) -> Option<&'a DeArray<'d>> {
    let list = value.get_ref().as_array();
    if list.is_none() {
        wrong_kind(value, "a list", alloc::vec![accepted.into()], notes);
    }
    list
}

/// Checks a name that the scenario gives: a letter, then letters, digits and _.
pub(super) fn check_name(name: &str, span: Range<usize>, notes: &mut Notes<'_>) -> bool {
    let good = name.len() <= NAME_LENGTH_MAX
        && name.starts_with(|c: char| c.is_ascii_alphabetic())
        && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if !good {
        let accepted =
            format!("a letter, then letters, digits and _, at most {NAME_LENGTH_MAX} in all");
        notes.note(span, "this cannot be a name", alloc::vec![accepted]);
    }
    good
}
