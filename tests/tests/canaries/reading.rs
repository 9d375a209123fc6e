//! A reading: honest, committed once it is passive, of a lead null that was learned.

use ohmwarden_core::invariants::Rule;
use ohmwarden_core::judge::{Flags, Verdict};
use ohmwarden_core::unit::Resistance;
use ohmwarden_sim::scenario::{Action, Button, Function, Lead, Part, Scenario, Side};
use ohmwarden_tests::scene::{LEADS, at, held, part, scene};

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
