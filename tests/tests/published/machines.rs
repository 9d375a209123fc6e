//! Windings, polarization index and absorption ratio.
//!
//! IEEE Std 43, editions 1974 (a public flyer) and 2013, as cited in trade texts and in EASA's
//! summary (2016); PI by definition in IS 7816:1975 and TM 5-683, ch. 14.

use ohmwarden_core::judge::{Limit, Reading, Unit, Value, Verdict};
use ohmwarden_core::limits::{Conditions, Half, NoRatio, POLARIZATION, Rated, RatioKind, ratio};

use crate::{amount, assert_least_megohms, assert_printed, entry, megohms, verdict};

fn half(ohms: f64) -> Half {
    Half { reading: megohms(ohms as f32), v: None }
}

fn value(kind: RatioKind, early: f64, late: f64) -> f64 {
    amount(ratio(kind, half(early), half(late)).expect("two numbers"))
}

fn plain(ratio: f32) -> Reading {
    Reading { value: Value::Number(ratio), unit: Unit::Ratio, ..Reading::NONE }
}

/// Worked example: windings of 13.8 kV, 4.16 kV and 0.4 kV by the old rule, at 40 C.
#[test]
fn an_old_winding_has_a_megohm_and_one_more_for_each_kilovolt() {
    let least = |volts| {
        let rated = Some(Rated::from_volts(volts));
        entry("winding_before_1970").limit_for(Conditions { temperature: None, rated })
    };
    for (volts, megohms) in [(13_800, 14.8_f32), (4_160, 5.16), (400, 1.4)] {
        assert_eq!(least(volts), Ok(Limit::AtLeast((megohms * 1.0e6).round())), "{volts} V");
    }
    assert_eq!(entry("winding_before_1970").at.map(|at| at.as_celsius()), Some(40));
}

#[test]
fn a_form_wound_winding_has_100_megohms_at_40_degrees() {
    assert_least_megohms("winding_form_wound", 100.0, None);
    assert_eq!(entry("winding_form_wound").at.map(|at| at.as_celsius()), Some(40));
}

#[test]
fn an_index_of_class_a_is_at_least_one_and_a_half() {
    let of = |index| verdict("polarization_class_a", plain(index));
    assert_eq!([1.49, 1.5].map(of), [Verdict::Fail, Verdict::Pass]);
}

#[test]
fn an_index_of_class_b_and_above_is_at_least_two() {
    let of = |index| verdict("polarization_class_b", plain(index));
    assert_eq!([1.99, 2.0].map(of), [Verdict::Fail, Verdict::Pass]);
}

/// NETA MTS 7.2.2, as cited in trade texts.
#[test]
fn an_index_of_a_transformer_is_at_least_one() {
    let of = |index| verdict("polarization_transformer", plain(index));
    assert_eq!([0.99, 1.0].map(of), [Verdict::Fail, Verdict::Pass]);
}

#[test]
fn an_index_is_refused_above_5000_megohms_after_a_minute() {
    let of = |ohms| ratio(RatioKind::Polarization, half(ohms), half(2.0 * ohms)).map(amount);
    assert_eq!(of(5_001.0), Err(NoRatio::TooHigh));
    assert_eq!(of(5_000.0), Ok(2.0));
}

/// A tip of reliabilityweb that quotes IEEE 43; EASA on random-wound machines (5.4, Annex A).
#[test]
fn what_can_mislead_in_an_index_is_said_with_it() {
    let said = entry("polarization_class_b").remark_for(plain(9.0)).expect("a remark");
    assert!(said.contains("Above 8") && said.contains("random-wound"), "{said}");
}

/// TM 5-683 / NAVFAC MO-116, ch. 14.
#[test]
fn the_voltage_stays_for_the_whole_ten_minutes() {
    let said = entry("polarization_class_a").remark_for(plain(2.0)).expect("a remark");
    assert!(said.contains("The same voltage and connections for the whole ten minutes"), "{said}");
}

/// The direction only is published (a technical article); that a quarter is too much is recalled.
#[test]
fn a_resistance_that_falls_as_the_voltage_rises_is_the_sign_of_moisture() {
    let of = |ratio| verdict("voltage_step", plain(ratio));
    assert_eq!([0.5, 1.0].map(of), [Verdict::Fail, Verdict::Pass]);
}

/// Worked example of calculator.academy: 3 after a minute, 2.5 after ten.
#[test]
fn the_index_is_ten_minutes_over_one() {
    let index = value(RatioKind::Polarization, 3.0, 2.5);
    assert!((index - 0.8333).abs() < 1e-4, "{index}");
    assert_eq!(verdict("polarization_transformer", plain(index as f32)), Verdict::Fail);
}

/// The bands of the trade, in technical articles; not of IEEE 43.
#[test]
fn the_trade_has_four_words_for_an_index() {
    let words = [0.99, 1.0, 1.99, 2.0, 3.99, 4.1].map(|index| POLARIZATION.word(index));
    let [bad, questionable, good, very_good] =
        ["bad", "questionable", "good", "very good"].map(Some);
    assert_eq!(words, [bad, questionable, questionable, good, good, very_good]);
}

/// Worked example, the law of Curie and von Schweidler: I = k t^-n without leakage, so the
/// resistance goes with t^n: DAR = 2^n, PI = 10^n.
#[test]
fn a_pure_absorption_current_gives_the_ratios_of_its_exponent() {
    for (n, absorption, polarization) in [(0.5, "1.4142", "3.1623"), (0.8, "1.7411", "6.3096")] {
        let megohms = |seconds: f64| seconds.powf(n);
        let dar = value(RatioKind::Absorption, megohms(30.0), megohms(60.0));
        let pi = value(RatioKind::Polarization, megohms(60.0), megohms(600.0));
        assert_printed("absorption ratio", dar, absorption);
        assert_printed("polarization index", pi, polarization);
    }
}
