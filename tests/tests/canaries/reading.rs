//! A reading: honest, committed once it is passive, of a lead null that was learned.

use ohmwarden_core::invariants::Rule;
use ohmwarden_core::judge::{Flags, Verdict};
use ohmwarden_core::unit::Resistance;
use ohmwarden_sim::scenario::{
    Action, Bound, Button, Function, Lead, LimitSpec, Part, ProfileName, Scenario, Side,
};
use ohmwarden_tests::scene::{LEADS, at, held, insulation, load, margin, part, run, scene};

use crate::{caught, measurement, observed, within};

#[test]
fn a_pass_before_the_discharge_is_caught() {
    let bad = observed(|o, now| {
        if within(now, 2.0, 2.5) {
            o.verdict = Some((Verdict::Pass, Flags::NONE));
        }
    });
    caught(Rule::PassiveBeforeCommit, &measurement(5.0), bad);
}

#[test]
fn a_pass_that_outlives_the_next_press_is_caught() {
    let mut scenario = measurement(7.0);
    scenario.events.extend(held(5.0, 6.5));
    let bad = observed(|o, now| {
        if now.seconds > 4.5 {
            o.verdict = Some((Verdict::Pass, Flags::NONE));
        }
    });
    caught(Rule::PassiveBeforeCommit, &scenario, bad);
}

/// A pair that stands at 60 V through 100 kohm, and sags by 15 V in the drive, if it does.
fn standing(sags: bool) -> Scenario {
    let mut scenario = measurement(10.0);
    scenario.profile = ProfileName::Telecom;
    scenario.start.function = insulation(100.0);
    scenario.parts = load(20.0e6, 50.0e-9);
    scenario.parts.push(part("feed", LEADS, Part::Dc { volts: 60.0, ohms: 100.0e3 }));
    scenario.limit = scenario.limit.map(|l| LimitSpec { bound: Bound::AtLeast(5.0e3), ..l });
    scenario.events = held(2.5, 6.5);
    if sags {
        let values = vec![("volts".into(), 45.0)];
        scenario.events.insert(1, at(5.0, Action::Set { part: "feed".into(), values }));
    }
    scenario
}

#[test]
fn a_pass_on_a_line_that_is_not_back_where_it_stood_is_caught() {
    let sound = run(&standing(false), None).expect("a consistent circuit");
    let judged = sound.last.view.and_then(|view| view.judged).expect("a limit was given");
    assert_eq!(judged.verdict(), Verdict::Pass, "back where it stood it may pass");
    let bad = observed(|o, now| {
        if now.seconds > 8.0 {
            o.verdict = Some((Verdict::Pass, Flags::STANDING));
        }
    });
    let report = run(&standing(true), Some(bad)).expect("a consistent circuit");
    assert_eq!(margin(&report, Rule::PassiveBeforeCommit).held(), Some(false));
}

#[test]
fn a_pass_on_a_flagged_reading_is_caught() {
    let mut scenario = measurement(8.0);
    scenario.events = held(0.5, 5.5);
    scenario.events.insert(0, at(0.1, Action::Lead(Lead::Open(Side::Pos))));
    let bad = observed(|o, _| {
        o.verdict = o.verdict.map(|(_, flags)| (Verdict::Pass, flags));
    });
    caught(Rule::HonestReading, &scenario, bad);
}

/// The leads nulled on a shorting bar.
fn nulling() -> Scenario {
    let mut scenario = scene(5.0, Function::Continuity { amps: 0.2 });
    scenario.parts = vec![part("bar", LEADS, Part::Resistor { ohms: 0.01 })];
    scenario.events =
        vec![at(0.6, Action::Press(Button::Null)), at(4.0, Action::Release(Button::Null))];
    scenario
}

#[test]
fn a_lead_null_that_nobody_learned_is_caught() {
    let bad = observed(|o, now| {
        if now.seconds > 4.5 {
            o.null = Some(Resistance::from_milliohms(310));
        }
    });
    caught(Rule::NullIsSane, &nulling(), bad);
}

#[test]
fn a_lead_null_of_50_ohm_is_caught() {
    let bad = observed(|o, _| o.null = o.null.map(|_| Resistance::from_ohms(50)));
    caught(Rule::NullIsSane, &nulling(), bad);
}

#[test]
fn a_range_that_hunts_is_caught() {
    let bad = observed(|o, now| o.shunt = ((now.seconds * 10.0) as u8) % 2);
    caught(Rule::NoHunting, &measurement(4.0), bad);
}
