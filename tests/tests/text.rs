//! Engineering notation against the shortest decimal form, which the standard library knows.
//!
//! Goal: a display never shows another number than the one that was meant, rounded half away from
//! zero. Method: tables at the joints and their neighbours; an oracle that rounds in decimal.

use ohmwarden_core::text::{above, apart_from, below, engineering, resolution};
use proptest::prelude::*;

const NEVER_MIND: f32 = 0.0;

/// The next `f32` towards zero.
fn just_below(value: f32) -> f32 {
    f32::from_bits(value.to_bits() - 1)
}

#[test]
fn values_read_as_a_person_writes_them() {
    for (value, unit, place, text) in [
        (25.1e6, "ohm", 0.1e6, "25.1 Mohm"),
        (0.01, "ohm", 0.01, "0.01 ohm"),
        (-0.15, "ohm", 0.01, "-0.15 ohm"),
        (230.1, "V", 0.1, "230.1 V"),
        (50.0, "Hz", 0.1, "50.0 Hz"),
        (1.234e-3, "A", 1e-6, "1.234 mA"),
        (2.5e-12, "A", 1e-13, "2.5 pA"),
        (18.0e-9, "F", 1e-10, "18.0 nF"),
        (4.7e-6, "F", 1e-8, "4.70 uF"),
        (1.0e11, "ohm", 1e9, "100 Gohm"),
        (123.0e3, "ohm", 1e3, "123 kohm"),
        (0.05, "ohm", 0.001, "50 mohm"),
        (12.0, "", 0.1, "12.0"),
        (12.0e3, "", 100.0, "12.0 k"),
        (0.8333, "", 0.001, "0.833"),
        (0.5, "mA/(V F)", 0.1, "0.5 mA/(V F)"),
    ] {
        assert_eq!(engineering(value, unit, place), text);
    }
}

#[test]
fn a_prefix_never_makes_up_zeros() {
    for (value, place, text) in [
        (0.15, 0.01, "0.15 ohm"),
        (0.5, 0.1, "0.5 ohm"),
        (230.0e3, 100.0e3, "0.2 Mohm"),
        (230.0e3, 10.0e3, "0.23 Mohm"),
        (230.0e3, 1.0e3, "230 kohm"),
        (70.0e6, 100.0e6, "0.1 Gohm"),
    ] {
        assert_eq!(engineering(value, "ohm", place), text);
    }
}

#[test]
fn joints_round_half_away_and_their_lower_neighbours_do_not() {
    for (value, place, at, before) in [
        (9.995_f32, 0.01, "10.00 ohm", "9.99 ohm"),
        (0.005, 0.01, "0.01 ohm", "0.00 ohm"),
        (99.995, 0.01, "100.0 ohm", "99.99 ohm"),
        (999.95, NEVER_MIND, "1.000 kohm", "999.9 ohm"),
        (999.95e3, NEVER_MIND, "1.000 Mohm", "999.9 kohm"),
        (999.95e3, 10.0, "1.000 Mohm", "999.9 kohm"),
        (999.5e6, 1e6, "1.000 Gohm", "999 Mohm"),
        (9.9995, NEVER_MIND, "10.00 ohm", "9.999 ohm"),
        (0.25, 0.1, "0.3 ohm", "0.2 ohm"),
        (2.5, 1.0, "3 ohm", "2 ohm"),
        (0.5, 1.0, "1 ohm", "< 1 ohm"),
        (1.0005e-12, NEVER_MIND, "1.001 pohm", "1.000 pohm"),
    ] {
        assert_eq!(engineering(value, "ohm", place), at, "{value}");
        assert_eq!(engineering(just_below(value), "ohm", place), before, "just below {value}");
        let negative = engineering(-value, "ohm", place);
        assert_eq!(negative.as_str(), format!("-{at}"), "{value}");
    }
}

#[test]
fn zero_always_shows_how_well_it_is_known() {
    for (value, place, text) in [
        (0.0, 0.01, "0.00 ohm"),
        (-0.0, 0.01, "0.00 ohm"),
        (0.004, 0.01, "0.00 ohm"),
        (-0.004, 0.01, "0.00 ohm"),
        (0.0, 0.001, "0.000 ohm"),
        (0.0, 1e-6, "0.000 mohm"),
        (0.0, 1.0, "< 1 ohm"),
        (0.3, 1.0, "< 1 ohm"),
        (0.0, 1e4, "< 10 kohm"),
        (0.0, NEVER_MIND, "0.000 ohm"),
        (1e-30, NEVER_MIND, "0.000 pohm"),
    ] {
        assert_eq!(engineering(value, "ohm", place), text, "{value} to {place}");
    }
}

#[test]
fn bounds_are_rounded_so_that_they_stay_true() {
    for (value, place, greater, less) in [
        (999.0e6_f32, 1e6, "> 999 Mohm", "< 999 Mohm"),
        (999.6e6, 1e6, "> 999 Mohm", "< 1.000 Gohm"),
        (0.0123, 0.01, "> 0.01 ohm", "< 0.02 ohm"),
        (0.01, 0.01, "> 0.01 ohm", "< 0.01 ohm"),
        (0.4, 1.0, "> 400.0 mohm", "< 1 ohm"),
        (-0.05, 0.1, "> -0.1 ohm", "< 0.0 ohm"),
        (0.0, 0.01, "> 0.00 ohm", "< 0.00 ohm"),
    ] {
        assert_eq!(above(value, "ohm", place), greater, "{value}");
        assert_eq!(below(value, "ohm", place), less, "{value}");
    }
}

#[test]
fn what_cannot_be_shown_is_a_bound_or_nothing() {
    assert_eq!(engineering(f32::NAN, "V", 0.1), "--");
    assert_eq!(engineering(f32::INFINITY, "ohm", 0.1), "> 999 Gohm");
    assert_eq!(engineering(2e12, "ohm", 0.1), "> 999 Gohm");
    assert_eq!(engineering(-2e12, "ohm", 0.1), "< -999 Gohm");
    assert_eq!(above(f32::MAX, "ohm", 0.1), "> 999 Gohm");
    assert_eq!(below(2e12, "ohm", 0.1), "--");
    assert_eq!(above(f32::NAN, "ohm", 0.1), "--");
    assert_eq!(engineering(1.0, "ohm of a very long name", 0.1), "1.0 ohm of a very long n");
}

#[test]
fn a_resolution_is_the_power_of_ten_below_half_the_uncertainty() {
    for (uncertainty, place) in [
        (0.02_f32, 0.01),
        (0.019_999, 0.001),
        (0.199, 0.01),
        (0.2, 0.1),
        (20.0, 10.0),
        (3.0e6, 1e6),
        (0.0, 0.0),
        (-1.0, 0.0),
        (f32::NAN, 0.0),
        (1e-20, 0.0),
        (f32::INFINITY, 1e11),
    ] {
        assert_eq!(resolution(uncertainty), place, "{uncertainty}");
    }
    assert_eq!(engineering(12.345, "V", 0.05), "12.35 V", "taken as 0.01");
}

#[test]
fn a_reading_below_its_limit_never_looks_like_it() {
    for (value, limit, place, text) in [
        (0.999_96e6, 1.0e6, 1e3, "999.96 kohm"),
        (0.999_999e6, 1.0e6, 1e4, "999.999 kohm"),
        (just_below(1.0e6), 1.0e6, 1e4, "< 1.00 Mohm"),
        (1.500_000_1, 1.5, 0.1, "> 1.5 ohm"),
        (f32::NAN, 1.5, 0.1, "--"),
        (1.0e6, 1.0e6, 1e4, "1.00 Mohm"),
        (0.299_9, 0.3, 0.01, "299.9 mohm"),
        (0.4, 0.3, 0.01, "0.40 ohm"),
    ] {
        assert_eq!(apart_from(value, limit, "ohm", place), text, "{value}");
    }
}

/// Rounds the shortest decimal form of `value` half away from zero to 10^place.
fn oracle(value: f32, place: i32) -> i128 {
    let text = format!("{value:e}");
    let (digits, exponent) = text.split_once('e').expect("scientific form");
    let (sign, digits) = digits.strip_prefix('-').map_or((1, digits), |rest| (-1, rest));
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let count: i128 = format!("{whole}{fraction}").parse().expect("digits");
    let at = exponent.parse::<i32>().expect("exponent") - i32::try_from(fraction.len()).unwrap();
    let shift = place - at;
    let size = if shift <= 0 {
        count * 10_i128.pow(shift.unsigned_abs())
    } else if shift > 30 {
        0
    } else {
        let step = 10_i128.pow(shift.unsigned_abs());
        (2 * count + step) / (2 * step)
    };
    sign * size
}

/// The count and the place that a text shows.
fn shown(text: &str) -> (i128, i32) {
    let number = text.split(' ').next().expect("a number");
    let prefix = text.split(' ').nth(1).and_then(|unit| unit.strip_suffix("ohm")).expect("a unit");
    let step = ["p", "n", "u", "m", "", "k", "M", "G"].iter().position(|&known| known == prefix);
    let power = i32::try_from(step.expect("a known prefix")).unwrap() * 3 - 12;
    let decimals = number.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let count = number.replace('.', "").parse().expect("digits");
    (count, power - i32::try_from(decimals).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_value_is_the_decimal_one_rounded_half_away(
        digits in 1_u32..9_999_999, exponent in -18_i32..4, negative: bool, place in -15_i32..10
    ) {
        let size: f32 = format!("{digits}e{exponent}").parse().unwrap();
        let value = if negative { -size } else { size };
        let asked: f32 = format!("1e{place}").parse().unwrap();
        let text = engineering(value, "ohm", asked);
        if text.starts_with('<') {
            prop_assert!(place >= 0 && oracle(value, place) == 0, "{} {}", value, text);
        } else {
            let (count, shown_place) = shown(&text);
            prop_assert_eq!(count, oracle(value, shown_place), "{} {}", value, text);
            prop_assert!(shown_place >= place || count == 0, "{} to {}: {}", value, place, text);
            prop_assert!(count.abs() < 10_000, "{} {}", value, text);
            prop_assert!(count == 0 || shown_place == place || count.abs() >= 1_000, "{text}");
        }
    }

    #[test]
    fn any_bound_is_true_and_within_a_place(
        digits in 1_u32..999_999, exponent in -12_i32..5, place in -3_i32..0
    ) {
        let value: f32 = format!("{digits}e{exponent}").parse().unwrap();
        let asked: f32 = format!("1e{place}").parse().unwrap();
        let texts = [above(value, "ohm", asked), below(value, "ohm", asked)];
        for (text, sign) in texts.iter().zip([1.0, -1.0]) {
            let (count, shown_place) = shown(&text[2..]);
            let step = 10_f64.powi(shown_place);
            let spare = sign * (f64::from(value) - count as f64 * step);
            prop_assert!(spare > -1e-7 * f64::from(value) && spare < step, "{} {}", value, text);
        }
    }

    #[test]
    fn any_bits_and_any_unit_give_a_text(value: u32, place: u32, limit: u32, unit: String) {
        let (value, place) = (f32::from_bits(value), f32::from_bits(place));
        for text in [
            engineering(value, &unit, place),
            above(value, &unit, place),
            below(value, &unit, place),
            apart_from(value, f32::from_bits(limit), &unit, place),
        ] {
            prop_assert!(!text.is_empty());
        }
        let _ = resolution(value);
    }

    #[test]
    fn any_two_values_in_order_are_not_shown_out_of_order(
        first in 1e-9_f32..1e9, second in 1e-9_f32..1e9
    ) {
        let (low, high) = if first < second { (first, second) } else { (second, first) };
        let numbers = [low, high].map(|value| {
            let (count, place) = shown(&engineering(value, "ohm", NEVER_MIND));
            count as f64 * 10_f64.powi(place)
        });
        prop_assert!(numbers[0] <= numbers[1] * (1.0 + 1e-12));
    }
}
