//! For every named rule one instrument that is broken on purpose, which the watch must catch, and
//! beside it the sound one in the very same scenario, which must exercise the rule and hold it.
//!
//! A rule that cannot be broken in the sight of the watch would be worth nothing.

mod discharge;
mod drive;
mod live;
mod reading;

use ohmwarden_core::frame::Panel;
use ohmwarden_core::invariants::{Observed, Rule};
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::frontend::Lines;
use ohmwarden_sim::scenario::{Action, Bound, LimitOf, LimitSpec, Scenario};
use ohmwarden_sim::world::{Meddle, Snapshot};
use ohmwarden_tests::scene::{at, broken, held, insulation, load, mains, margin, run, scene};

/// The sound instrument holds every rule and exercises this one; the broken one breaks this one.
fn caught(rule: Rule, scenario: &Scenario, meddle: Meddle) {
    let word = rule.word();
    let sound = run(scenario, None).expect("a consistent circuit");
    assert!(broken(&sound).is_empty(), "{word}: the sound one broke {:?}", broken(&sound));
    let its = margin(&sound, rule);
    assert!(its.held() == Some(true), "{word}: never exercised by the sound one");
    let bad = run(scenario, Some(meddle)).expect("a consistent circuit");
    assert_eq!(margin(&bad, rule).held(), Some(false), "{word}: not caught, {bad:?}");
}

/// A cable of 100 nF and 50 Mohm, tested at 500 V from 0.5 s to 2.5 s, with a limit of 1 Mohm.
fn measurement(seconds: f64) -> Scenario {
    let mut scenario = scene(seconds, insulation(500.0));
    scenario.parts = load(50.0e6, 100.0e-9);
    scenario.events = held(0.5, 2.5);
    scenario.limit = Some(LimitSpec {
        bound: Bound::AtLeast(1.0e6),
        of: LimitOf::Ohms,
        guarded: true,
        named: None,
    });
    scenario
}

/// The same, and then 230 V joins at rest, at 5.0 s, and somebody presses at 5.5 s.
fn live_afterwards() -> Scenario {
    let mut scenario = measurement(7.0);
    scenario.parts.extend(mains(230.0, 50.0, 0.5, false));
    scenario.events.push(at(5.0, Action::Close("joins".into())));
    scenario.events.extend(held(5.5, 6.5));
    scenario
}

/// The same, but 230 V joins while it holds 500 V.
fn live_in_hold() -> Scenario {
    let mut scenario = measurement(4.0);
    scenario.parts.extend(mains(230.0, 50.0, 0.5, false));
    scenario.events.insert(1, at(2.0, Action::Close("joins".into())));
    scenario
}

fn within(now: &Snapshot, from: f64, to: f64) -> bool {
    (from..to).contains(&now.seconds)
}

/// The source is on at 500 V whatever the gate says, its supply too.
fn drives(lines: &mut Lines) {
    lines.token ^= true;
    lines.gate.on = true;
    lines.gate.set_point = Voltage::from_volts(500);
}

fn lines(change: fn(&mut Lines, &Snapshot)) -> Meddle {
    Meddle { lines: change, ..Meddle::NOTHING }
}

fn observed(change: fn(&mut Observed, &Snapshot)) -> Meddle {
    Meddle { observed: change, ..Meddle::NOTHING }
}

fn told(change: fn(&mut Panel, &Snapshot)) -> Meddle {
    Meddle { panel: change, ..Meddle::NOTHING }
}

#[test]
fn every_rule_has_a_canary() {
    let these = [
        include_str!("discharge.rs"),
        include_str!("drive.rs"),
        include_str!("live.rs"),
        include_str!("reading.rs"),
    ];
    for rule in Rule::ALL {
        let name = format!("caught(Rule::{rule:?},");
        let has = these.iter().any(|text| text.contains(&name));
        assert!(has, "{} has no canary", rule.word());
    }
}
