//! A live circuit: no drive into it, the drive off when it arrives, and never called dead.

use ohmwarden_core::invariants::Rule;
use ohmwarden_core::tone::Tone;
use ohmwarden_sim::scenario::{Action, Lead, Side};
use ohmwarden_tests::scene::{at, fault, sort};

use crate::{caught, drives, lines, live_afterwards, live_in_hold, measurement, observed, within};

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
fn a_number_of_volts_from_a_converter_that_stands_still_is_caught() {
    let mut scenario = live_afterwards();
    scenario.events.push(at(5.4, Action::Fault(fault("samples_repeat"))));
    sort(&mut scenario);
    // Even a warning beside it does not make a number true that nobody measured.
    let bad = observed(|o, now| {
        if now.seconds > 5.4 {
            (o.volts, o.live, o.tone) = (Some(230.0), true, Tone::Live);
        }
    });
    caught(Rule::SayLive, &scenario, bad);
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
fn a_gate_that_opens_on_the_permit_of_before_the_trip_is_caught() {
    let bad = lines(|lines, now| {
        if within(now, 2.008, 2.012) {
            drives(lines);
        }
    });
    caught(Rule::EpochNeverReused, &live_in_hold(), bad);
}
