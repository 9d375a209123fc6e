//! Goal: the capacitance told after a discharge is right within the doubt that it states, what the
//! leads store and leak is taken off only where it was learned, and two ways that disagree say so.
//!
//! Method: capacitors of known size through the whole simulated instrument. The instrument's two
//! ways share neither channel nor moment: charge by the shunt in the ramp, decay by the divider.

mod leads;

use ohmwarden_core::judge::{Flags, Reading, Value};
use ohmwarden_sim::scenario::{Action, NamedPart, Part, Scenario};
use ohmwarden_tests::scene::{LEADS, at, broken, held, insulation, load, part, run, scene};
use rayon::prelude::*;

/// A test at `set` volts from 0.5 s, held for as long as a drive needs to settle.
fn test(set: f64, parts: Vec<NamedPart>) -> Scenario {
    let mut scenario = scene(12.0, insulation(set));
    scenario.parts = parts;
    scenario.events = held(0.5, 6.0);
    scenario
}

/// The capacitance on view at the end.
fn told(scenario: &Scenario) -> Reading {
    let report = run(scenario, None).expect("a consistent circuit");
    assert!(broken(&report).is_empty(), "{:?}", broken(&report));
    report.last.view.expect("the view has been shown").capacitance
}

fn farads(reading: &Reading) -> f64 {
    match reading.value {
        Value::Number(x) => f64::from(x),
        other => panic!("{other:?}"),
    }
}

/// What a doubt may be at the most, to be of use.
fn usable(farads: f64) -> f64 {
    0.03 * farads + 150.0e-12
}

#[test]
fn a_nanofarad_to_five_microfarads_are_told_within_twice_the_doubt() {
    let mut cases = Vec::new();
    for set in [100.0, 250.0, 500.0, 1_000.0] {
        for nanofarads in [1.0, 2.2, 4.7, 10.0, 33.0, 100.0, 470.0, 1_000.0, 2_200.0, 4_700.0] {
            for ohms in [50.0e6, 1.0e9] {
                cases.push((set, nanofarads * 1.0e-9, ohms));
            }
        }
    }
    cases.push((500.0, 5.0e-6, 1.0e9));
    let off = |&(set, c, ohms): &(f64, f64, f64)| {
        let reading = told(&test(set, load(ohms, c)));
        let doubt = f64::from(reading.doubt);
        let what = format!("{set} V, {c:e} F, {ohms:e} ohm: {reading:?}");
        assert!(!reading.flags.any(Flags::DISAGREEING), "{what}");
        assert!(doubt <= usable(c), "{what}");
        ((farads(&reading) - c).abs() / doubt, (farads(&reading) / c - 1.0).abs(), what)
    };
    let all: Vec<_> = cases.par_iter().map(off).collect();
    let worst = all.iter().max_by(|a, b| a.0.total_cmp(&b.0)).expect("cases");
    let share = all.iter().max_by(|a, b| a.1.total_cmp(&b.1)).expect("cases");
    println!("worst by doubt: {:.2}, {}", worst.0, worst.2);
    println!("worst by share: {:.2} %, {}", share.1 * 100.0, share.2);
    assert!(worst.0 <= 2.0, "{worst:?}");
}

#[test]
fn a_load_of_which_half_goes_before_the_discharge_is_flagged_as_disagreeing() {
    let mut scenario = test(500.0, load(1.0e9, 100.0e-9));
    let switch = Part::Switch { closed: true, on_ohms: 0.01, off_ohms: 1.0e14 };
    scenario.parts.push(part("joint", ["lead.pos", "far"], switch));
    let far = Part::Capacitor { farads: 100.0e-9, volts: 0.0 };
    scenario.parts.push(part("far_end", ["far", "lead.neg"], far));
    let whole = told(&scenario);
    assert!(!whole.flags.any(Flags::DISAGREEING), "{whole:?}");
    assert!((farads(&whole) - 200.0e-9).abs() < 2.0 * f64::from(whole.doubt), "{whole:?}");
    scenario.events.insert(1, at(5.0, Action::Open("joint".into())));
    let half = told(&scenario);
    assert!(half.flags.any(Flags::DISAGREEING), "{half:?}");
    assert!(half.doubt > 50.0e-9, "{half:?}");
}

#[test]
fn absorption_makes_it_no_more_than_a_tenth_too_large_or_is_flagged() {
    for absorption in [0.05, 0.15] {
        let cable =
            Part::Insulation { ohms: 1.0e9, farads: 300.0e-9, absorption, absorption_n: 0.8 };
        let reading = told(&test(500.0, vec![part("cable", LEADS, cable)]));
        let over = farads(&reading) / 300.0e-9 - 1.0;
        println!("absorption {absorption}: {:.1} % more, {reading:?}", over * 100.0);
        assert!((-0.02..=0.1).contains(&over) || reading.flags.any(Flags::DISAGREEING));
    }
}

#[test]
fn a_leak_that_takes_the_charge_away_leaves_no_reading() {
    let reading = told(&test(500.0, load(1.0e6, 2.0e-9)));
    assert_eq!(reading.value, Value::None, "{reading:?}");
}
