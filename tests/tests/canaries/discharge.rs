//! The charge: taken out before rest, kept from coming back, never taken out of the mains.

use ohmwarden_core::interlock::State;
use ohmwarden_core::invariants::Rule;
use ohmwarden_sim::scenario::Part;
use ohmwarden_sim::world::Meddle;
use ohmwarden_tests::scene::{held, insulation, load, part, scene};

use crate::{caught, lines, live_afterwards, measurement, observed, within};

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
fn a_charge_that_is_not_taken_out_is_caught() {
    let mut scenario = measurement(19.0);
    scenario.parts = load(1.0e9, 4.5e-6);
    scenario.events = held(0.5, 6.0);
    caught(Rule::BoundedStore, &scenario, lines(|lines, _| lines.discharge = false));
}

#[test]
fn a_power_off_while_charged_or_live_is_caught() {
    caught(Rule::KeepPower, &live_afterwards(), observed(|o, _| o.keep_power = false));
    caught(Rule::KeepPower, &measurement(4.0), observed(|o, _| o.keep_power = false));
}
