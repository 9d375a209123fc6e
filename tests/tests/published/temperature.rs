//! Corrections to another temperature.
//!
//! Halving: IEEE Std 43-2013 as cited in trade texts, and K = 10^(0.0301 T - 1.2041) of a thread of
//! engineers. Oil: the ANSI/NETA column as cited in secondary text. Wire insulation: FED-STD-228A
//! (2014), insulation resistance, Table I, p. 169, read in a public copy. Copper: IEC 60228 (2004),
//! table of Kt, as reproduced; 0.00393/K: IEC 60028 as cited in a technical article.

use ohmwarden_core::correct::Rule;

use crate::{assert_printed, corrected};

/// One test for each printed row: factors of 500 Mohm to 15.6 C.
macro_rules! federal_rows {
    ($($name:ident: $celsius:literal, $r:literal, $t:literal, $rh:literal;)+) => {$(
        #[test]
        fn $name() {
            let columns =
                [(Rule::RubberR, $r), (Rule::ThermoplasticT, $t), (Rule::RubberRh, $rh)];
            for (rule, printed) in columns {
                assert_printed(rule.word(), corrected(1.0, rule, $celsius, 15.6), printed);
            }
        }
    )+};
}

federal_rows! {
    wire_at_10_degrees: 10.0, "0.60", "0.79", "0.73";
    wire_at_12_8_degrees: 12.8, "0.79", "0.88", "0.86";
    wire_at_15_6_degrees: 15.6, "1.00", "1.00", "1.00";
    wire_at_18_3_degrees: 18.3, "1.28", "1.19", "1.17";
    wire_at_20_degrees: 20.0, "1.48", "1.33", "1.28";
    wire_at_21_1_degrees: 21.1, "1.63", "1.46", "1.36";
    wire_at_23_9_degrees: 23.9, "2.08", "2.06", "1.59";
    wire_at_25_degrees: 25.0, "2.29", "2.39", "1.69";
    wire_at_26_7_degrees: 26.7, "2.65", "2.93", "1.86";
}

/// Worked example: 500 Mohm for 1000 ft at 10 C.
#[test]
fn five_hundred_megohms_at_10_degrees_are_300_395_and_365() {
    let columns = [(Rule::RubberR, 300.0), (Rule::ThermoplasticT, 395.0), (Rule::RubberRh, 365.0)];
    for (rule, expected) in columns {
        let read = corrected(500.0, rule, 10.0, 15.6);
        assert!((read / expected - 1.0).abs() < 1e-6, "{rule:?}: {read}");
    }
}

#[test]
fn the_halving_is_that_of_the_published_exponent() {
    for celsius in [0.0, 10.0, 25.0, 55.0, 70.0, 100.0] {
        let factor = corrected(1.0, Rule::Halving, celsius, 40.0);
        let published = 10_f64.powf(0.0301 * celsius - 1.2041);
        assert!((factor / published - 1.0).abs() < 1e-3, "{celsius}: {factor} {published}");
    }
}

/// Worked example: 200 Mohm at 20 C are 25 Mohm at 50 C and 50 Mohm at 40 C.
#[test]
fn two_hundred_megohms_at_20_degrees_are_25_at_50_and_50_at_40() {
    assert_eq!(corrected(200.0, Rule::Halving, 20.0, 50.0), 25.0);
    assert_eq!(corrected(200.0, Rule::Halving, 20.0, 40.0), 50.0);
}

/// Worked example of electricneutron.com: 21 Mohm from a graph, where the rule gives 24.
#[test]
fn three_megohms_at_70_degrees_are_about_21_at_40() {
    let read = corrected(3.0, Rule::Halving, 70.0, 40.0);
    assert!((read / 21.0 - 1.0).abs() < 0.15, "{read}");
}

#[test]
fn oil_at_35_degrees_has_a_factor_of_2_80() {
    assert_oil(35.0, 2.80);
}

#[test]
fn oil_at_50_degrees_has_a_factor_of_7_85() {
    assert_oil(50.0, 7.85);
}

#[test]
fn oil_at_75_degrees_has_a_factor_of_44_70() {
    assert_oil(75.0, 44.70);
}

/// The doubling for each 10 K is within 2 % of the printed column.
fn assert_oil(celsius: f64, printed: f64) {
    let factor = corrected(1.0, Rule::Oil, celsius, 20.0);
    assert!((factor / printed - 1.0).abs() < 0.02, "{celsius}: {factor}, printed {printed}");
}

/// Worked example: 3394 Mohm by the formula, 3360 with the printed factor.
#[test]
fn twelve_hundred_megohms_of_oil_at_35_degrees_are_3394_at_20() {
    let read = corrected(1_200.0, Rule::Oil, 35.0, 20.0);
    assert_printed("by the formula", read, "3394");
    assert!((read / 3_360.0 - 1.0).abs() < 0.02, "{read}");
}

#[test]
fn copper_at_5_degrees_has_a_kt_of_1_064() {
    assert_printed("Kt", corrected(1.0, Rule::Copper, 5.0, 20.0), "1.064");
}

#[test]
fn copper_at_40_degrees_has_a_kt_of_0_926() {
    assert_printed("Kt", corrected(1.0, Rule::Copper, 40.0, 20.0), "0.926");
}

#[test]
fn copper_at_90_degrees_has_a_kt_of_0_781() {
    assert_printed("Kt", corrected(1.0, Rule::Copper, 90.0, 20.0), "0.781");
}

#[test]
fn annealed_copper_gains_3930_millionths_of_its_resistance_a_kelvin() {
    let gained = corrected(1.0, Rule::CopperIacs, 20.0, 70.0) - 1.0;
    assert!((gained / 50.0 / 0.003_93 - 1.0).abs() < 1e-4, "{gained}");
}
