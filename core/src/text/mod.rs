//! Writes values as a person reads them: `25.1 Mohm`, `> 999 Mohm`, `-0.15 ohm`, `50.0 Hz`.
//!
//! A value is shown to the decimal place that its uncertainty allows ([`resolution`]) and to at
//! most four digits, with a prefix that needs no made-up zeros: 0.15 ohm known to 0.01 ohm is not
//! `150 mohm`. Rounding is half away from zero of the decimal number that was meant: 9.995 is
//! `10.00`, although the nearest `f32` lies below it. A bound is rounded so that it stays true.
//!
//! No float is formatted and nothing here can panic: values are scaled in integers, because
//! `core::fmt` for floats costs 10 kB of flash. Checked in `tests/tests/text.rs`.

mod decimal;
mod scale;

use decimal::{Decimal, Rounding};
pub use scale::log_position;

/// A short text: number, prefix and unit.
pub type Text = heapless::String<24>;

/// Digits that a display shows at most.
const DIGITS: u32 = 4;
/// Digits of any decimal number that an `f32` holds, and so the most that [`apart_from`] shows.
const DIGITS_HELD: u32 = f32::DIGITS;
/// How many places [`apart_from`] tries: from that of one digit to that of all held.
const STEPS_FINER: usize = 6;
/// What stands where there is no number to show.
const NONE: &str = "--";
/// Prefixes from 10^-12 up, in steps of 10^3.
const PREFIXES: [&str; 8] = ["p", "n", "u", "m", "", "k", "M", "G"];
/// The place of no prefix among them.
const NO_PREFIX: usize = 4;
/// The last place that is written out without a prefix.
const LEAST_PLAIN: i32 = -6;

/// Writes a value with its unit, to the place of `resolution` and at most four digits.
///
/// `resolution` is taken as the power of ten at or below it, to 10^9; 0 means four digits. What is
/// not a number reads `--`; what is zero to a resolution of whole units reads as a bound, `< 10 V`,
/// because a bare `0 V` would claim more than is known.
///
/// ```
/// use ohmwarden_core::text::engineering;
/// assert_eq!(engineering(25.1e6, "ohm", 0.1e6), "25.1 Mohm");
/// assert_eq!(engineering(-0.15, "ohm", 0.01), "-0.15 ohm");
/// assert_eq!(engineering(0.001, "ohm", 0.01), "0.00 ohm");
/// assert_eq!(engineering(0.8333, "", 0.001), "0.833", "no prefix without a unit");
/// ```
#[must_use]
pub fn engineering(value: f32, unit: &str, resolution: f32) -> Text {
    number(value, unit, resolution, DIGITS)
}

/// Writes "greater than": the bound is rounded down, so that it stays true.
///
/// ```
/// assert_eq!(ohmwarden_core::text::above(999.6e6, "ohm", 1e6), "> 999 Mohm");
/// ```
#[must_use]
pub fn above(value: f32, unit: &str, resolution: f32) -> Text {
    let rounding = if value < 0.0 { Rounding::Up } else { Rounding::Down };
    bound("> ", value, unit, resolution, rounding)
}

/// Writes "less than": the bound is rounded up, so that it stays true.
///
/// ```
/// assert_eq!(ohmwarden_core::text::below(0.0123, "ohm", 0.01), "< 0.02 ohm");
/// ```
#[must_use]
pub fn below(value: f32, unit: &str, resolution: f32) -> Text {
    let rounding = if value < 0.0 { Rounding::Down } else { Rounding::Up };
    bound("< ", value, unit, resolution, rounding)
}

/// Writes a value with as many digits more as it takes not to look like `limit`.
///
/// A reading that fails by a hair must not be shown as if it met the limit. Where six digits do
/// not tell the two apart, the limit stands there with the side that the value is on.
///
/// ```
/// use ohmwarden_core::text::apart_from;
/// assert_eq!(apart_from(0.99996e6, 1e6, "ohm", 1e3), "999.96 kohm");
/// assert_eq!(apart_from(0.9e6, 1e6, "ohm", 1e4), "0.90 Mohm");
/// assert_eq!(apart_from(0.9999999e6, 1e6, "ohm", 1e4), "< 1.00 Mohm");
/// ```
#[must_use]
pub fn apart_from(value: f32, limit: f32, unit: &str, resolution: f32) -> Text {
    let mut place = resolution;
    for digits in (DIGITS..).take(STEPS_FINER).map(|digits| digits.min(DIGITS_HELD)) {
        let text = number(value, unit, place, digits);
        if value == limit || text != number(limit, unit, place, digits) {
            return text;
        }
        place /= 10.0;
    }
    if value < limit {
        bound("< ", limit, unit, resolution, Rounding::Nearest)
    } else {
        bound("> ", limit, unit, resolution, Rounding::Nearest)
    }
}

/// Gives the place to show a value to: `10^floor(log10(u / 2))`, `u` its uncertainty.
///
/// From 10^-15 to 10^11; 0 (as many digits as fit) where `u` is not a positive number.
#[must_use]
pub fn resolution(uncertainty: f32) -> f32 {
    decimal::place(uncertainty / 2.0).and_then(decimal::power).unwrap_or(0.0)
}

fn number(value: f32, unit: &str, resolution: f32, digits: u32) -> Text {
    let mut text = Text::new();
    let place = decimal::place(resolution);
    match Decimal::rounded(value, place, digits, Rounding::Nearest) {
        Some(zero) if zero.count == 0 && zero.place >= 0 => {
            push(&mut text, "< ");
            write(&mut text, Decimal::one_of(zero.place), unit);
        }
        Some(decimal) => write(&mut text, decimal, unit),
        None if value.is_nan() => push(&mut text, NONE),
        None if value < 0.0 => {
            push(&mut text, "< -");
            write(&mut text, Decimal::LARGEST, unit);
        }
        None => {
            push(&mut text, "> ");
            write(&mut text, Decimal::LARGEST, unit);
        }
    }
    text
}

fn bound(sign: &str, value: f32, unit: &str, resolution: f32, rounding: Rounding) -> Text {
    let mut text = Text::new();
    let at = |place| Decimal::rounded(value, place, DIGITS, rounding);
    // Rounded down to nothing, a bound to whole units would not show what it is.
    let decimal = match at(decimal::place(resolution)) {
        Some(zero) if zero.count == 0 && zero.place >= 0 => at(None),
        other => other,
    };
    match decimal {
        Some(decimal) => {
            push(&mut text, sign);
            write(&mut text, decimal, unit);
        }
        None if value.is_finite() && sign == "> " && value > 0.0 => {
            push(&mut text, sign);
            write(&mut text, Decimal::LARGEST, unit);
        }
        None => push(&mut text, NONE),
    }
    text
}

/// Writes sign, digits, prefix and unit.
fn write(text: &mut Text, decimal: Decimal, unit: &str) {
    if decimal.negative && decimal.count > 0 {
        push(text, "-");
    }
    let plain = !takes_prefix(unit) && (LEAST_PLAIN..=0).contains(&decimal.place);
    let (step, decimals) =
        if plain { (NO_PREFIX, decimal.place.unsigned_abs()) } else { decimal.prefix() };
    digits(text, decimal.count, decimals);
    let prefix = PREFIXES.get(step).copied().unwrap_or("");
    if !(prefix.is_empty() && unit.is_empty()) {
        push(text, " ");
    }
    push(text, prefix);
    push(text, unit);
}

/// Whether a prefix may stand before a unit: not where there is none, nor before a compound one.
fn takes_prefix(unit: &str) -> bool {
    !unit.is_empty() && !unit.contains('/')
}

/// Writes a whole number with its last `decimals` digits behind a point.
fn digits(text: &mut Text, count: u32, decimals: u32) {
    let mut begun = false;
    for place in (0..=DIGITS_HELD).rev() {
        let power = 10_u32.saturating_pow(place);
        let digit = count.checked_div(power).unwrap_or(0).checked_rem(10).unwrap_or(0);
        begun |= digit > 0 || place <= decimals;
        if begun {
            if place.saturating_add(1) == decimals {
                push(text, ".");
            }
            push(text, DIGIT_TEXTS.get(usize::try_from(digit).unwrap_or(0)).copied().unwrap_or(""));
        }
    }
}

const DIGIT_TEXTS: [&str; 10] = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"];

/// Appends what fits: a text too long for the display ends where the display does.
fn push(text: &mut Text, part: &str) {
    let mut fits = part.len().min(text.capacity().saturating_sub(text.len()));
    while !part.is_char_boundary(fits) {
        fits = fits.saturating_sub(1);
    }
    // What was just cut to fit is never refused.
    let _ = text.push_str(part.get(..fits).unwrap_or(""));
}
