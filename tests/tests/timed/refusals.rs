//! Where the trade gives no ratio, none is given, and what was measured is kept.

use ohmwarden_core::frame::TimedTest;
use ohmwarden_core::judge::{Flags, Unit, Value};
use ohmwarden_core::measure::timed::Refusal;
use ohmwarden_sim::scenario::{Action, Button, Part};
use ohmwarden_tests::scene::{LEADS, at, load, part};

use super::{absorbing, last, play, refusal, timed};

#[test]
fn a_run_cut_short_keeps_its_points_and_has_no_ratio() {
    let mut scenario = timed(TimedTest::AbsorptionRatio, 500.0, 55.0, absorbing(0.8));
    scenario.events.push(at(50.0, Action::Press(Button::Null)));
    let report = play(&scenario);
    assert_eq!(refusal(&report), Some(Refusal::CutShort));
    let seconds: Vec<u16> = report.curve.iter().map(|point| point.seconds).collect();
    assert_eq!(seconds, [15, 30, 45]);
    let main = last(&report).main;
    assert!(main.unit == Unit::Ohm && main.flags.any(Flags::ABORTED), "{main:?}");
}

#[test]
fn points_that_are_bounds_make_no_ratio() {
    let report = play(&timed(TimedTest::AbsorptionRatio, 500.0, 65.0, Vec::new()));
    assert_eq!(refusal(&report), Some(Refusal::Inequality));
    assert!(report.curve.iter().all(|point| matches!(point.value, Value::Above(_))));
}

#[test]
fn an_index_of_more_than_five_gigaohm_at_one_minute_is_not_given() {
    // Commonly cited from IEEE Std 43-2013; secondary source, not checked against the standard.
    let report = play(&timed(TimedTest::PolarizationIndex, 500.0, 606.0, load(5.5e9, 20.0e-9)));
    assert_eq!(refusal(&report), Some(Refusal::TooHigh));
    let report = play(&timed(TimedTest::PolarizationIndex, 500.0, 606.0, load(4.5e9, 20.0e-9)));
    assert_eq!(refusal(&report), None);
}

#[test]
fn a_store_that_takes_seconds_to_charge_has_no_ratio() {
    let report = play(&timed(TimedTest::AbsorptionRatio, 1_000.0, 75.0, load(50.0e6, 4.9e-6)));
    let slow = refusal(&report);
    // 4.9 uF at 1000 V and 1.8 mA take 2.7 s; the leak of 1.2 Mohm makes it more than 3 s.
    assert_eq!(slow, None);
    let report = play(&timed(TimedTest::AbsorptionRatio, 1_000.0, 75.0, load(1.2e6, 4.9e-6)));
    assert_eq!(refusal(&report), Some(Refusal::SlowRamp));
    // A plain run has no ratio to refuse; its reading says so instead.
    let report = play(&timed(TimedTest::Plain, 1_000.0, 75.0, load(1.2e6, 4.9e-6)));
    let flags = last(&report).main.flags;
    assert!(refusal(&report).is_none() && flags.any(Flags::SLOW_RAMP), "{flags:?}");
}

#[test]
fn a_range_that_had_to_change_between_the_points_makes_no_ratio() {
    let mut scenario = timed(TimedTest::AbsorptionRatio, 500.0, 65.0, load(1.0e9, 20.0e-9));
    scenario.parts.push(part("flood", ["lead.pos", "wet"], Part::Resistor { ohms: 20.0e6 }));
    let pump = Part::Switch { closed: false, on_ohms: 0.01, off_ohms: 1.0e12 };
    scenario.parts.push(part("pump", ["wet", "lead.neg"], pump));
    scenario.events.push(at(40.0, Action::Close("pump".into())));
    assert_eq!(refusal(&play(&scenario)), Some(Refusal::RangeChanged));
}

#[test]
fn a_voltage_that_moved_between_the_points_makes_no_ratio() {
    // 285 kohm take almost all that the source has. What creeps down to 265 kohm asks for more, and
    // the voltage sags to 95 %, too slowly for the gate to take it for something that arrived.
    let mut scenario = timed(TimedTest::AbsorptionRatio, 500.0, 65.0, load(285.0e3, 0.0));
    for step in 1..=20_u8 {
        let ohms = 285.0e3 - 1.0e3 * f64::from(step);
        let values = vec![("ohms".into(), ohms)];
        let set = Action::Set { part: "leak".into(), values };
        scenario.events.push(at(35.0 + f64::from(step), set));
    }
    assert_eq!(refusal(&play(&scenario)), Some(Refusal::VoltageChanged));
}

#[test]
fn a_discharge_of_almost_nothing_has_no_figure() {
    let parts = vec![part("cable", LEADS, Part::Capacitor { farads: 2.0e-9, volts: 0.0 })];
    let report = play(&timed(TimedTest::Discharge, 500.0, 1_870.0, parts));
    assert_eq!(refusal(&report), Some(Refusal::StoreTooSmall));
}
