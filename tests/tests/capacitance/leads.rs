//! The null of the leads: learned in the air, taken off at the same voltage, refused elsewhere.

use ohmwarden_core::interlock::Reason;
use ohmwarden_core::judge::{Reading, Value};
use ohmwarden_core::view::View;
use ohmwarden_sim::scenario::{Action, Button, Part, Scenario};
use ohmwarden_tests::scene::{LEADS, at, broken, fault, held, insulation, part, run, scene, sort};

use crate::farads;

/// Leads that leak 200 Mohm and store 300 pF, tested in the air at 500 V; then `null` is pressed, and
/// a circuit of 100 Mohm and 10 nF is joined and tested at `then` volts.
fn learn_then_test(null: bool, then: f64) -> Scenario {
    let mut scenario = scene(30.0, insulation(500.0));
    let switch = Part::Switch { closed: false, on_ohms: 0.01, off_ohms: 1.0e14 };
    scenario.parts = vec![
        part("leads_leak", LEADS, Part::Resistor { ohms: 200.0e6 }),
        part("leads_store", LEADS, Part::Capacitor { farads: 300.0e-12, volts: 0.0 }),
        part("joins", ["lead.pos", "far"], switch),
        part("leak", ["far", "lead.neg"], Part::Resistor { ohms: 100.0e6 }),
        part("cable", ["far", "lead.neg"], Part::Capacitor { farads: 10.0e-9, volts: 0.0 }),
    ];
    scenario.events = held(0.5, 5.0);
    if null {
        scenario.events.push(at(9.0, Action::Tap(Button::Null)));
    }
    scenario.events.push(at(10.0, Action::Close("joins".into())));
    scenario.events.push(at(11.0, Action::Select(insulation(then))));
    scenario.events.extend(held(12.0, 20.0));
    scenario
}

fn last(scenario: &Scenario) -> View {
    let report = run(scenario, None).expect("a consistent circuit");
    assert!(broken(&report).is_empty(), "{:?}", broken(&report));
    report.last.view.expect("the view has been shown")
}

fn near(reading: &Reading, value: f64, share: f64) -> bool {
    matches!(reading.value, Value::Number(x) if (f64::from(x) / value - 1.0).abs() < share)
}

#[test]
fn what_leads_leak_and_store_is_taken_off_once_it_was_learned() {
    let without = last(&learn_then_test(false, 500.0));
    assert!(near(&without.main, 66.7e6, 0.02), "{:?}", without.main);
    let with = last(&learn_then_test(true, 500.0));
    println!("{:?}\n{:?}", with.main, with.capacitance);
    assert!(near(&with.main, 100.0e6, 0.02), "{:?}", with.main);
    assert!(with.main.doubt > 1.3 * without.main.doubt, "{:?} and {:?}", with.main, without.main);
    let taken_off = farads(&without.capacitance) - farads(&with.capacitance);
    assert!((taken_off - 300.0e-12).abs() < 100.0e-12, "{taken_off}");
}

#[test]
fn the_leakage_is_not_taken_off_at_another_voltage_but_the_capacitance_is() {
    let view = last(&learn_then_test(true, 250.0));
    assert!(near(&view.main, 66.7e6, 0.02), "{:?}", view.main);
    assert!((farads(&view.capacitance) - 10.0e-9).abs() < 2.0 * f64::from(view.capacitance.doubt));
}

#[test]
fn nothing_is_learned_from_a_circuit_or_without_a_test() {
    for (what, closes, pressed) in [("a cable", true, true), ("no test", false, false)] {
        let mut scenario = learn_then_test(true, 500.0);
        scenario.events.retain(|event| event.s < 9.5);
        if !pressed {
            scenario.events.retain(|event| event.s > 5.5);
        }
        if closes {
            scenario.events.push(at(0.1, Action::Close("joins".into())));
            sort(&mut scenario);
        }
        scenario.seconds = 9.5;
        assert_eq!(last(&scenario).reason, Reason::NullRefused, "{what}");
    }
    let mut open = learn_then_test(true, 500.0);
    open.events.retain(|event| event.s < 9.5);
    open.seconds = 9.5;
    assert_eq!(last(&open).reason, Reason::NullStored);
    open.events.push(at(0.1, Action::Fault(fault("leads_shorted"))));
    sort(&mut open);
    assert_eq!(last(&open).reason, Reason::NullRefused, "leads together");
}
