//! Ratios, steps and the discharge figure against closed forms.

use ohmwarden_core::frame::TimedTest;
use ohmwarden_core::judge::Unit;

use super::{absorbing, last, number, play, refusal, timed};

/// What a ratio may be off by: the bound asked of the whole chain, fit of the absorption included.
const SHARE: f64 = 0.01;

fn assert_near(found: f64, exact: f64, what: &str) {
    let error = found / exact - 1.0;
    println!("{what}: {found:.4}, exact {exact:.4}, off by {:.2} %", error * 100.0);
    assert!(error.abs() < SHARE, "{what}: {found} instead of {exact}");
}

#[test]
fn the_absorption_ratio_of_a_power_law_is_two_to_its_exponent() {
    for n in [0.4, 0.5, 0.65, 0.8, 1.0] {
        let report = play(&timed(TimedTest::AbsorptionRatio, 500.0, 65.0, absorbing(n)));
        assert_eq!(refusal(&report), None);
        assert_eq!(last(&report).main.unit, Unit::Ratio);
        assert_near(number(&report), 2.0_f64.powf(n), &format!("60 s over 30 s, n = {n}"));
    }
}

#[test]
fn the_polarization_index_of_a_power_law_is_ten_to_its_exponent() {
    // With n = 0.5 and 0.8 these are the ratios 3.1623 and 6.3096.
    for n in [0.4, 0.5, 0.65, 0.8] {
        let report = play(&timed(TimedTest::PolarizationIndex, 500.0, 606.0, absorbing(n)));
        assert_eq!(refusal(&report), None);
        assert_near(number(&report), 10.0_f64.powf(n), &format!("10 min over 1 min, n = {n}"));
    }
}

#[test]
fn the_discharge_figure_is_that_of_the_current_that_comes_back() {
    // By superposition the current of a discharge is that of the charge, less what the charge would
    // still draw: both are power laws here, and the store is charged for 1800 s.
    let n = 0.8;
    let report = play(&timed(TimedTest::Discharge, 500.0, 1_866.0, absorbing(n)));
    assert_eq!(refusal(&report), None);
    assert_eq!(last(&report).main.unit, Unit::MilliampPerVoltFarad);
    // The resistance at 60 s of the charge gives the amplitude of the law.
    let sixty = report.curve.iter().find(|point| point.seconds == 60).expect("a point at 60 s");
    let amps = 500.0 / f64::from(sixty.value.amount().expect("a number"));
    let back = amps * (1.0 - (60.0_f64 / 1_860.0).powf(n));
    let exact = back * 1.0e3 / (500.0 * 1.0e-6);
    let doubt = f64::from(last(&report).main.doubt);
    let found = number(&report);
    println!("discharge: {found:.4} +- {doubt:.4} mA/(V F), by superposition {exact:.4}");
    assert!((found - exact).abs() < 2.0 * doubt, "{found} instead of {exact}");
    assert!(doubt < 0.1 * found, "a doubt of {doubt} says nothing");
}
