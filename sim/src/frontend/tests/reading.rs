//! What the channels read of it: the proving bias, mains and pick-up from outside, the ranges.

use ohmwarden_core::profile::Shunt;

use super::{Outcome, Rig, close, load, mains, pick_up};
use crate::circuit::{Netlist, Part, Wave};
use crate::faults::Channel;
use crate::frontend::FrontEndParams;

#[test]
fn the_proving_bias_moves_the_channels_by_four_volts_and_the_load_by_nothing() -> Outcome {
    close(FrontEndParams::default().bias_volts(), 4.0, 1.0e-12);
    for (ohms, farads) in [(1.0e12, 0.0), (10.0, 0.0), (1.0e12, 1.0e-6)] {
        let mut rig = Rig::new(&FrontEndParams::default(), load(ohms, farads))?;
        for relay in [false, true] {
            rig.lines.relay = relay;
            rig.lines.bias = true;
            rig.run(20)?;
            close(rig.truth().terminal_volts, 0.0, 1.0e-6);
            // Twenty milliseconds at 0.35 V of noise and 0.75 V a code: 0.029 V rms of the mean.
            close(rig.mean(Channel::V, 20)?, 4.0, 0.15);
            close(rig.mean(Channel::V2, 20)?, -4.0, 0.15);
            rig.lines.bias = false;
            rig.run(20)?;
            close(rig.mean(Channel::V, 20)?, 0.0, 0.15);
        }
    }
    Ok(())
}

// A standing voltage is read right whether the bias is on or not, and not loaded by it.
#[test]
fn the_proving_bias_changes_neither_gain_nor_input() -> Outcome {
    let standing = |net: &mut Netlist, pos, neg| {
        net.add("feed", Part::Source { pos, neg, ohms: 100.0e3, wave: Wave::Dc(60.0) }).map(|_| ())
    };
    let mut rig = Rig::new(&FrontEndParams::default(), standing)?;
    rig.run(20)?;
    close(rig.truth().terminal_volts, 60.0 * 2.0 / 2.1, 0.001);
    rig.lines.bias = true;
    rig.run(20)?;
    close(rig.truth().terminal_volts, 60.0 * 2.0 / 2.1, 0.001);
    close(rig.mean(Channel::V, 20)?, 60.0 * 2.0 / 2.1 + 4.0, 0.15);
    close(rig.mean(Channel::V2, 20)?, 60.0 * 2.0 / 2.1 - 4.0, 0.15);
    Ok(())
}

#[test]
fn mains_outside_gives_the_right_codes() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    rig.run(40)?;
    // The 2 kHz pole takes 1 / sqrt(1 + (50 / 2000)^2): 0.03 %.
    let pole = 1.0 / libm::sqrt(1.0 + 0.025 * 0.025);
    let noise = libm::sqrt(0.35 * 0.35 + 0.75 * 0.75 / 12.0);
    let wanted = libm::sqrt(230.0 * 230.0 * pole * pole + noise * noise);
    close(rig.rms(400)?, wanted, 0.03);
    close(rig.mean(Channel::V, 400)?, 0.0, 0.05);
    assert!(rig.sample.low.abs() == 32_000 || rig.sample.v.abs() < 12);
    Ok(())
}

// Figures of the trade page: 230 V 50 Hz through C into 2 Mohm, and with R_d across it. By hand:
// 1 nF is 3.183 Mohm, so 230 * 2 / |2 - 3.183i| = 122.4 V, and R_d || R_in = 95.2 kohm: 6.88 V.
#[test]
fn pick_up_reads_as_calculated_open_and_loaded() -> Outcome {
    let reactance = 1.0 / (core::f64::consts::TAU * 50.0 * 1.0e-9);
    let read = |ohms: f64| 230.0 * ohms / libm::sqrt(ohms * ohms + reactance * reactance);
    let mut rig = Rig::new(&FrontEndParams::default(), pick_up(1.0e-9))?;
    rig.run(200)?;
    close(read(2.0e6), 122.4, 0.1);
    close(rig.rms(200)?, read(2.0e6), 0.2);
    rig.lines.discharge = true;
    rig.run(60)?;
    let loaded = 1.0 / (1.0 / 100.0e3 + 1.0 / 2.0e6);
    let noise = 0.35 * 0.35 + 0.75 * 0.75 / 12.0;
    close(rig.rms(200)?, libm::sqrt(read(loaded) * read(loaded) + noise), 0.05);
    rig.lines.discharge = false;
    rig.lines.relay = true;
    rig.run(200)?;
    // The output capacitor joins in: 37 V.
    close(rig.rms(200)?, 37.0, 0.5);
    Ok(())
}

#[test]
fn a_change_of_range_disturbs_for_its_time() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e9, 0.0))?;
    rig.run(10)?;
    rig.lines.shunt = Shunt::Nanoamps250;
    let mut disturbed = 0;
    for _ in 0..100 {
        let sample = rig.bench.sample(&rig.lines)?.unwrap_or_default();
        disturbed += u32::from(sample.i > 10);
    }
    assert_eq!(disturbed, 50);
    Ok(())
}

#[test]
fn gigohms_are_measured_in_the_finest_range() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(200.0e9, 1.0e-9))?;
    rig.lines.shunt = Shunt::Nanoamps250;
    rig.ramp(1000, 1000)?;
    // 5 nA; a thousandth of it is half a code.
    close(rig.truth().lead_amps, 5.0e-9, 0.02e-9);
    close(rig.mean(Channel::I, 500)?, 5.0e-9, 0.02e-9);
    Ok(())
}
