//! For every named rule one instrument that is broken on purpose, which the watch must catch, and
//! beside it the sound one in the very same scenario, which must exercise the rule and hold it.
//!
//! A rule that cannot be broken in the sight of the watch would be worth nothing.

use ohmwarden_core::frame::{Key, Panel};
use ohmwarden_core::interlock::State;
use ohmwarden_core::invariants::{Observed, Rule};
use ohmwarden_core::judge::{Flags, Verdict};
use ohmwarden_core::tone::Tone;
use ohmwarden_core::unit::{Resistance, Voltage};
use ohmwarden_sim::frontend::Lines;
use ohmwarden_sim::scenario::{
    Action, Bound, Button, Function, Lead, LimitSpec, Part, Scenario, Side,
};
use ohmwarden_sim::world::{Meddle, Snapshot};
use ohmwarden_tests::scene::{
    LEADS, at, broken, fault, held, insulation, load, mains, margin, part, run, scene,
};

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
        uncertainty_percent: None,
        uncertainty_ohms: None,
        guarded: true,
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
fn a_source_that_starts_on_a_live_circuit_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 5.6, 5.65) {
            drives(lines);
        }
    });
    caught(Rule::NoDriveWhenLive, &live_afterwards(), bad);
}

#[test]
fn a_source_that_starts_without_a_fresh_proof_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 4.2, 4.25) {
            drives(lines);
        }
    });
    caught(Rule::NoDriveWhenLive, &measurement(5.0), bad);
}

#[test]
fn a_source_that_stays_on_a_little_after_voltage_arrived_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.0, 2.01) {
            drives(lines);
        }
    });
    caught(Rule::DropOnLive, &live_in_hold(), bad);
}

#[test]
fn a_source_that_never_goes_off_after_voltage_arrived_is_caught() {
    let bad = lines(|lines, now| {
        if now.seconds > 2.0 {
            drives(lines);
        }
    });
    caught(Rule::DropOnLive, &live_in_hold(), bad);
}

#[test]
fn a_view_that_hides_the_warning_is_caught() {
    caught(Rule::SayLive, &live_afterwards(), observed(|o, _| o.live = false));
    caught(Rule::SayLive, &live_afterwards(), observed(|o, _| o.tone = Tone::Silent));
    caught(Rule::SayLive, &live_afterwards(), observed(|o, _| o.volts = Some(0.0)));
}

#[test]
fn a_warning_that_ends_with_its_cause_is_caught() {
    let mut scenario = live_afterwards();
    scenario.events.push(at(6.6, Action::Open("joins".into())));
    scenario.seconds = 8.5;
    let bad = observed(|o, now| o.live &= now.seconds < 6.7);
    caught(Rule::SayLive, &scenario, bad);
}

#[test]
fn a_key_that_overrides_a_live_circuit_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 6.0, 6.05) {
            drives(lines);
        }
    });
    caught(Rule::ButtonsCannotOverride, &live_afterwards(), bad);
}

#[test]
fn a_release_that_takes_50_ms_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.5, 2.55) {
            drives(lines);
        }
    });
    caught(Rule::ReleaseStops, &measurement(4.0), bad);
}

#[test]
fn a_key_that_does_not_end_a_held_drive_is_caught() {
    let mut scenario = measurement(6.0);
    scenario.events.insert(1, at(1.0, Action::Press(Button::Hold)));
    scenario.events.push(at(3.5, Action::Press(Button::Test)));
    scenario.events.push(at(3.7, Action::Release(Button::Test)));
    let bad = lines(|lines, now| {
        if within(now, 3.5, 3.55) {
            drives(lines);
        }
    });
    caught(Rule::ReleaseStops, &scenario, bad);
}

#[test]
fn a_rest_with_the_charge_still_there_is_caught() {
    let bad = Meddle {
        lines: |lines, _| lines.discharge = false,
        observed: |o, now| {
            if now.seconds > 2.55 {
                o.state = State::Rest;
            }
        },
        ..Meddle::NOTHING
    };
    caught(Rule::DischargeBeforeRest, &measurement(5.0), bad);
}

#[test]
fn a_rest_that_lets_absorption_bring_the_voltage_back_is_caught() {
    // What soaked in comes back at 25 V/s, as absorption does and no source would.
    let mut scenario = scene(24.0, insulation(500.0));
    scenario.parts = load(1.0e10, 1.0e-6);
    scenario.parts.push(part("deep", ["lead.pos", "soaked"], Part::Resistor { ohms: 12.5e6 }));
    let soaked = Part::Capacitor { farads: 1.0e-6, volts: 0.0 };
    scenario.parts.push(part("soak", ["soaked", "lead.neg"], soaked));
    scenario.events = held(0.6, 20.0);
    let bad = Meddle {
        lines: |lines, now| {
            if now.seconds > 20.6 {
                lines.discharge = false;
            }
        },
        observed: |o, now| {
            if now.seconds > 20.6 {
                o.state = State::Rest;
                o.live = false;
            }
        },
        ..Meddle::NOTHING
    };
    caught(Rule::RestStaysSafe, &scenario, bad);
}

#[test]
fn a_discharge_that_is_held_on_mains_is_caught() {
    let bad = lines(|lines, now| {
        if now.seconds > 5.2 {
            lines.discharge = true;
        }
    });
    caught(Rule::NeverDischargeTheMains, &live_afterwards(), bad);
}

#[test]
fn a_discharge_together_with_the_source_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.2, 2.3) {
            lines.discharge = true;
        }
    });
    caught(Rule::NeverBoth, &measurement(4.5), bad);
}

#[test]
fn a_discharge_less_than_a_millisecond_after_the_source_is_caught() {
    let bad = lines(|lines, now| {
        if now.seconds > 2.5 && !lines.gate.on {
            lines.discharge = true;
        }
    });
    caught(Rule::NeverBoth, &measurement(4.5), bad);
}

#[test]
fn a_source_that_runs_to_1_4_times_its_set_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.2, 2.3) {
            drives(lines);
            lines.gate.set_point = Voltage::from_volts(700);
            lines.relay = true;
        }
    });
    caught(Rule::OutputWithinSet, &measurement(4.0), bad);
}

#[test]
fn a_charge_that_is_not_taken_out_is_caught() {
    let mut scenario = measurement(19.0);
    scenario.parts = load(1.0e9, 4.5e-6);
    scenario.events = held(0.5, 6.0);
    caught(Rule::BoundedStore, &scenario, lines(|lines, _| lines.discharge = false));
}

#[test]
fn a_drive_without_an_end_is_caught() {
    let mut scenario = measurement(182.0);
    scenario.events = held(0.5, 181.5);
    let bad = lines(|lines, now| {
        if now.seconds > 180.0 {
            drives(lines);
        }
    });
    caught(Rule::BoundedDrive, &scenario, bad);
}

#[test]
fn a_claim_of_dead_on_a_live_circuit_is_caught() {
    let bad = observed(|o, now| o.claims_dead |= now.seconds > 5.2);
    caught(Rule::NoFalseDead, &live_afterwards(), bad);
}

#[test]
fn a_claim_of_dead_with_an_unproved_path_is_caught() {
    let mut scenario = measurement(5.0);
    scenario.events.push(at(4.5, Action::Lead(Lead::Open(Side::Pos))));
    let bad = observed(|o, now| {
        if now.seconds < 0.45 {
            o.claims_dead = true;
        }
    });
    caught(Rule::NoFalseDead, &scenario, bad);
}

#[test]
fn a_gate_that_outlives_a_hung_main_loop_is_caught() {
    let mut scenario = measurement(4.0);
    scenario.events.insert(1, at(2.0, Action::Fault(fault("loop_stalls"))));
    let bad = lines(|lines, now| {
        if within(now, 2.0, 2.02) {
            drives(lines);
        }
    });
    caught(Rule::FailToOff, &scenario, bad);
}

#[test]
fn a_supply_that_outlives_a_dead_interrupt_is_caught() {
    let mut scenario = measurement(4.0);
    scenario.events.insert(1, at(2.0, Action::Fault(fault("interrupt_stops"))));
    let bad = lines(|lines, now| {
        if within(now, 2.0, 2.05) {
            lines.token ^= true;
        }
    });
    caught(Rule::FailToOff, &scenario, bad);
}

#[test]
fn a_drive_that_goes_on_after_an_outage_of_the_interrupt_is_caught() {
    // So large a store that the voltage alone tells nothing of the outage.
    let mut scenario = measurement(6.0);
    scenario.parts = load(1.0e9, 2.0e-6);
    scenario.events.insert(1, at(1.7, Action::Fault(fault("interrupt_stops"))));
    let bad = lines(|lines, now| {
        if within(now, 1.75, 1.76) {
            drives(lines);
        }
    });
    caught(Rule::FailToOff, &scenario, bad);
}

#[test]
fn a_gate_that_opens_on_the_permit_of_before_the_trip_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.008, 2.012) {
            drives(lines);
        }
    });
    caught(Rule::EpochNeverReused, &live_in_hold(), bad);
}

#[test]
fn a_key_that_was_held_from_power_up_and_starts_a_drive_is_caught() {
    let mut scenario = measurement(7.0);
    scenario.start.test_held = true;
    scenario.events = vec![at(2.0, Action::Release(Button::Test))];
    scenario.events.extend(held(4.5, 5.5));
    let bad = told(|panel, now| {
        panel.test = if now.seconds < 0.6 { Key::UP } else { panel.test };
    });
    caught(Rule::FreshPress, &scenario, bad);
}

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

#[test]
fn a_power_off_while_charged_or_live_is_caught() {
    caught(Rule::KeepPower, &live_afterwards(), observed(|o, _| o.keep_power = false));
    caught(Rule::KeepPower, &measurement(4.0), observed(|o, _| o.keep_power = false));
}

#[test]
fn every_rule_has_a_canary() {
    let this = include_str!("canaries.rs");
    for rule in Rule::ALL {
        let name = format!("caught(Rule::{rule:?},");
        assert!(this.contains(&name), "{} has no canary", rule.word());
    }
}
