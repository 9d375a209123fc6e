//! What the sources deliver and how they end: ramp, limit, discharge, supply, continuity.

use ohmwarden_core::gate::{GateOut, Polarity};
use ohmwarden_core::profile::Shunt;
use ohmwarden_core::unit::Voltage;

use super::{Outcome, Rig, close, load};
use crate::circuit::{Netlist, Part};
use crate::faults::Channel;
use crate::frontend::FrontEndParams;

#[test]
fn half_a_kilovolt_settles_on_a_megohm_and_half_a_milliampere_flows() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 100.0e-9))?;
    rig.ramp(500, 100)?;
    close(rig.truth().terminal_volts, 500.0, 1.0);
    close(rig.truth().lead_amps, 0.5e-3, 1.0e-6);
    // The dividers and the bleed draw 0.25 mA and 5 uA beside it; the loop needs 1 V for 1 mA.
    close(rig.truth().source_amps, 0.755e-3, 3.0e-6);
    close(rig.mean(Channel::V, 20)?, 500.0, 1.0);
    close(rig.mean(Channel::V2, 20)?, 500.0, 1.0);
    close(rig.mean(Channel::I, 20)?, 0.5e-3, 1.0e-6);
    close(rig.mean(Channel::IGate, 20)?, 0.5e-3, 1.5e-6);
    rig.lines.shunt = Shunt::Microamps250;
    rig.run(20)?;
    assert_eq!(rig.sample.i, 32_767, "half a milliampere is beyond this range");
    Ok(())
}

#[test]
fn a_short_circuit_draws_the_limit_after_the_dividers() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(100.0, 0.0))?;
    rig.ramp(40, 50)?;
    close(rig.truth().lead_amps, 1.8e-3, 2.0e-6);
    close(rig.mean(Channel::IGate, 10)?, 1.8e-3, 2.0e-6);
    let mut rig = Rig::new(&FrontEndParams::default(), load(500.0e3, 0.0))?;
    rig.ramp(1000, 20)?;
    // 1.8 mA into 0.5 Mohm is 900 V although the dividers take 0.45 mA beside it.
    close(rig.truth().terminal_volts, 900.0, 9.0);
    close(rig.truth().lead_amps, 1.8e-3, 18.0e-6);
    Ok(())
}

#[test]
fn the_series_resistor_is_inside_the_loop() -> Outcome {
    let params = FrontEndParams { series_ohms: 100.0e3, ..FrontEndParams::default() };
    let mut rig = Rig::new(&params, load(1.0e6, 1.0e-6))?;
    rig.ramp(500, 500)?;
    close(rig.truth().terminal_volts, 500.0, 1.0);
    close(rig.truth().hv_volts, 575.0, 2.0);
    Ok(())
}

// A store of 1 uF falls through R_d beside the dividers: tau = 100 kohm || 2 Mohm * (1 uF + 5 nF).
#[test]
fn the_discharge_has_its_time_constant_and_takes_the_energy() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e12, 1.0e-6))?;
    rig.ramp(500, 50)?;
    rig.lines.gate = GateOut::default();
    rig.run(2)?;
    let before = rig.truth().terminal_volts;
    rig.lines.discharge = true;
    rig.run(100)?;
    assert!(rig.truth().discharge_on);
    let tau = 1.0 / (1.0 / 100.0e3 + 1.0 / 2.0e6) * 1.005e-6;
    // Closed 0.1 ms after the command; the bleed adds 1e-8 S.
    close(rig.truth().terminal_volts, before * libm::exp(-0.0999 / tau), 0.5);
    rig.run(1000)?;
    let stored = 0.5 * 1.005e-6 * before * before;
    close(rig.truth().discharge_joules, stored * 2.0 / 2.1, 0.002 * stored);
    Ok(())
}

#[test]
fn the_source_ends_after_the_gate_delay_and_after_the_token() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 10.0e-9))?;
    rig.ramp(500, 50)?;
    rig.lines.gate = GateOut::default();
    let mut on = 0;
    while rig.truth().source_amps > 50.0e-6 {
        rig.bench.sample(&rig.lines)?;
        on += 1;
    }
    // Two samples of delay; the third ends without current.
    assert_eq!(on, 3);
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 10.0e-9))?;
    rig.ramp(500, 50)?;
    assert!(rig.truth().source_enabled);
    rig.token_runs = false;
    rig.run(18)?;
    assert!(rig.truth().source_amps > 50.0e-6);
    rig.run(7)?;
    close(rig.truth().source_amps, 0.0, 1.0e-9);
    assert!(!rig.truth().source_enabled);
    Ok(())
}

#[test]
fn a_low_battery_drops_the_supply() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 10.0e-9))?;
    rig.ramp(100, 20)?;
    rig.bench.set_supply_mv(3_900);
    rig.run(1)?;
    close(rig.truth().source_amps, 0.0, 1.0e-9);
    Ok(())
}

#[test]
fn continuity_drives_both_ways_and_its_current_is_limited() -> Outcome {
    for (polarity, sign) in [(Polarity::Forward, 1), (Polarity::Reversed, -1)] {
        let mut rig = Rig::new(&FrontEndParams::default(), load(1.0, 0.0))?;
        rig.lines.continuity = Some(polarity);
        rig.lines.shunt = Shunt::Milliamps250;
        rig.lines.gate = GateOut { on: true, set_point: Voltage::from_volts(5 * sign) };
        rig.run(30)?;
        let sign = f64::from(sign);
        close(rig.truth().lead_amps, sign * 0.21, 1.0e-4);
        close(rig.mean(Channel::I, 10)?, sign * 0.21, 1.0e-3);
        // 1 ohm and the leads' 0.1 ohm.
        close(rig.mean(Channel::Low, 10)?, sign * 0.21 * 1.1, 1.0e-3);
        close(rig.truth().source_amps, 0.21, 1.0e-4);
    }
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e9, 0.0))?;
    rig.lines.continuity = Some(Polarity::Forward);
    rig.lines.gate = GateOut { on: true, set_point: Voltage::from_volts(5) };
    rig.run(30)?;
    close(rig.truth().terminal_volts, 5.0, 0.01);
    Ok(())
}

// 5 H / 10 ohm at 0.2 A: the current falls through the freewheel diode, never jumps, and is gone
// after L / R ln(1 + I R / V) with everything in the loop, 10 + 0.5 + 1 + contacts.
#[test]
fn a_winding_lets_its_current_down_through_the_freewheel_path() -> Outcome {
    for (polarity, sign) in [(Polarity::Forward, 1), (Polarity::Reversed, -1)] {
        let winding = |net: &mut Netlist, a, b| {
            let middle = net.node("middle");
            net.add("l", Part::Inductor { a, b: middle, henries: 5.0, amps: 0.0 })?;
            net.add("r", Part::Resistor { a: middle, b, ohms: 10.0 }).map(|_| ())
        };
        let mut rig = Rig::new(&FrontEndParams::default(), winding)?;
        rig.lines.continuity = Some(polarity);
        rig.lines.gate = GateOut { on: true, set_point: Voltage::from_volts(5 * sign) };
        rig.run(5000)?;
        let start = rig.truth().lead_amps * f64::from(sign);
        assert!(start > 0.19, "{start}");
        rig.lines.gate = GateOut::default();
        let mut milliseconds = 0;
        while libm::fabs(rig.truth().lead_amps) > 1.0e-3 {
            rig.run(1)?;
            milliseconds += 1;
            assert!(libm::fabs(rig.truth().terminal_volts) < 5.0);
        }
        let ohms = 10.0 + 0.5 + 1.0 + 0.1 + 0.05 + 0.05 + 0.05 + 0.1;
        let wanted = 5.0 / ohms * libm::log((0.7 + start * ohms) / (0.7 + 1.0e-3 * ohms));
        close(f64::from(milliseconds) / 1.0e3, wanted, 0.01);
    }
    Ok(())
}
