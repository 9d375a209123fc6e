//! Limits, corrections, conductors and pairs of core against published figures, a test for each.
//!
//! Goal: whoever doubts a number finds the test that names its source. Method: the figure is
//! written here as it was printed, core is asked by its public functions, and worked examples come
//! out as published. Secondary sources were not checked against the standards they cite; no
//! conformity is claimed. What core has from memory only has no test here.

mod cables;
mod conductors;
mod installations;
mod machines;
mod pairs;
mod temperature;

use ohmwarden_core::correct::{Rule, Warmth, correct};
use ohmwarden_core::judge::{Limit, Reading, Unit, Value, Verdict};
use ohmwarden_core::limits::{Conditions, Entry, by_word};
use ohmwarden_core::unit::{Temperature, Voltage};

/// A resistance that is known exactly.
fn megohms(megohms: f32) -> Reading {
    Reading { value: Value::Number(megohms * 1.0e6), unit: Unit::Ohm, ..Reading::NONE }
}

fn entry(word: &str) -> &'static Entry<'static> {
    by_word(word).unwrap_or_else(|| panic!("no limit {word}"))
}

/// The verdict on an exact reading against a limit that depends on nothing.
fn verdict(word: &str, reading: Reading) -> Verdict {
    let limit = entry(word).limit_for(Conditions::default()).expect("it depends on nothing");
    reading.judge(limit).verdict()
}

/// A limit is the published one: just below it fails, at it passes; so does its test voltage.
fn assert_least_megohms(word: &str, least: f32, volts: Option<i32>) {
    assert_eq!(entry(word).limit, Limit::AtLeast(least * 1.0e6), "{word}");
    assert_eq!(entry(word).set, volts.map(Voltage::from_volts), "{word}");
    assert_eq!(verdict(word, megohms(least * 0.999)), Verdict::Fail, "{word}");
    assert_eq!(verdict(word, megohms(least)), Verdict::Pass, "{word}");
}

/// What a resistance of so many megohms reads at another temperature, in megohms.
fn corrected(read: f32, rule: Rule, celsius: f64, to: f64) -> f64 {
    let millicelsius =
        |celsius: f64| Temperature::from_millicelsius((celsius * 1e3).round() as i32);
    let warmth = Warmth { temperature: Some(millicelsius(celsius)), ..Warmth::default() };
    let corrected = correct(megohms(read), rule, warmth, millicelsius(to)).expect("in range");
    amount(corrected.reading) / 1e6
}

fn amount(reading: Reading) -> f64 {
    f64::from(reading.value.amount().expect("a number"))
}

/// Compares with a printed figure, to half a unit of its last digit.
fn assert_printed(name: &str, value: f64, printed: &str) {
    let decimals = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let half = 0.5 * 10_f64.powi(-i32::try_from(decimals).expect("few digits"));
    let figure: f64 = printed.parse().expect("a figure");
    // The slack is what f32 leaves of a figure that lies half-way.
    assert!((value - figure).abs() <= half + figure * 1e-6, "{name}: {value}, printed {printed}");
}
