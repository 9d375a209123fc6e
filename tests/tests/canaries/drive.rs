//! A drive: begun by a fresh press, within its set and its time, ended by key and by failure.

use ohmwarden_core::frame::{Function, Key};
use ohmwarden_core::invariants::Rule;
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::scenario::{Action, Button};
use ohmwarden_tests::scene::{at, fault, held, load};

use crate::{caught, drives, lines, measurement, observed, told, within};

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
fn a_voltage_above_that_of_the_present_step_is_caught() {
    let bad = observed(|o, _| o.set = Voltage::from_volts(100));
    caught(Rule::OutputWithinSet, &measurement(4.0), bad);
}

#[test]
fn asking_for_nothing_excuses_no_drive_from_its_limit() {
    // 500 V where 100 V were chosen, by an instrument that says it asks for nothing.
    let bad = observed(|o, _| {
        o.function = Function::Insulation(Voltage::from_volts(100));
        o.set = Voltage::ZERO;
    });
    caught(Rule::OutputWithinSet, &measurement(4.0), bad);
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
