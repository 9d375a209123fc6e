//! The electronics against hand calculation.

extern crate std;

use std::boxed::Box;

use ohmwarden_core::unit::Voltage;

use super::*;
use crate::circuit::{Node, Part, Wave};
use crate::faults::{Actuator, Channel, Effect, LeadFault, Sensor};
use crate::scenario::{Lead, Side};

type Outcome = Result<(), Box<dyn core::error::Error>>;

const RATE: u32 = 10_000;

/// A bench driven without core: lines that a test sets, a token that changes every millisecond.
struct Rig {
    bench: Bench,
    lines: Lines,
    token_runs: bool,
    sample: Sample,
}

impl Rig {
    fn new(
        params: &FrontEndParams,
        fill: impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError>,
    ) -> Result<Self, NetError> {
        let mut net = Netlist::new();
        let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
        fill(&mut net, pos, neg)?;
        let bench = Bench::new(net, params, RATE, 1, 7)?;
        Ok(Self { bench, lines: Lines::default(), token_runs: true, sample: Sample::default() })
    }

    fn run(&mut self, milliseconds: u32) -> Result<(), Diverged> {
        for _ in 0..milliseconds {
            self.lines.token ^= self.token_runs;
            for _ in 0..RATE / 1000 {
                self.sample = self.bench.sample(&self.lines)?.unwrap_or_default();
            }
        }
        Ok(())
    }

    fn drive(&mut self, volts: i32) {
        let set_point = Voltage::from_volts(volts);
        self.lines.gate = GateOut { on: true, set_point };
        self.lines.relay = true;
    }

    /// Ramps at 2 V/ms and holds.
    fn ramp(&mut self, volts: i32, hold_ms: u32) -> Result<(), Diverged> {
        for at in (0..=volts).step_by(2) {
            self.drive(at);
            self.run(1)?;
        }
        self.run(hold_ms)
    }

    /// The mean of so many milliseconds of one channel, in its own unit.
    fn mean(&mut self, channel: Channel, milliseconds: u32) -> Result<f64, Diverged> {
        let mut sum = 0.0;
        for _ in 0..milliseconds {
            self.lines.token ^= self.token_runs;
            for _ in 0..RATE / 1000 {
                let s = self.bench.sample(&self.lines)?.unwrap_or_default();
                let codes = [s.v, s.v2, s.i, s.i_gate, s.low];
                sum += f64::from(codes[channel.index()]) * self.bench.units[channel.index()];
            }
        }
        Ok(sum / f64::from(milliseconds * RATE / 1000))
    }

    /// The RMS of so many milliseconds of the first divider, in volts.
    fn rms(&mut self, milliseconds: u32) -> Result<f64, Diverged> {
        let mut sum = 0.0;
        for _ in 0..milliseconds * RATE / 1000 {
            let s = self.bench.sample(&self.lines)?.unwrap_or_default();
            let volts = f64::from(s.v) * self.bench.units[0];
            sum += volts * volts;
        }
        Ok(libm::sqrt(sum / f64::from(milliseconds * RATE / 1000)))
    }

    fn truth(&self) -> Truth {
        self.bench.truth()
    }
}

fn close(found: f64, wanted: f64, within: f64) {
    assert!(
        libm::fabs(found - wanted) <= within,
        "found {found:e}, wanted {wanted:e} +- {within:e}"
    );
}

fn load(ohms: f64, farads: f64) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, a, b| {
        net.add("r", Part::Resistor { a, b, ohms })?;
        if farads > 0.0 {
            net.add("c", Part::Capacitor { a, b, farads, volts: 0.0 })?;
        }
        Ok(())
    }
}

fn mains(
    volts_rms: f64,
    ohms: f64,
) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, pos, neg| {
        let wave = Wave::Sine { volts_rms, hertz: 50.0, phase_deg: 0.0, harmonics: [].into() };
        net.add("mains", Part::Source { pos, neg, ohms, wave }).map(|_| ())
    }
}

fn pick_up(farads: f64) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, pos, neg| {
        let live = net.node("live");
        mains(230.0, 1.0)(net, live, neg)?;
        net.add("tray", Part::Capacitor { a: live, b: pos, farads, volts: 0.0 }).map(|_| ())
    }
}

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

#[test]
fn the_same_seed_gives_the_same_codes_and_a_fork_goes_on_alike() -> Outcome {
    let mut one = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    let mut other = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    one.run(10)?;
    other.run(10)?;
    let mut fork = one.bench.clone();
    for _ in 0..1000 {
        let sample = one.bench.sample(&one.lines)?;
        assert_eq!(sample, other.bench.sample(&other.lines)?);
        assert_eq!(sample, fork.sample(&one.lines)?);
    }
    let mut net = Netlist::new();
    let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
    mains(230.0, 10.0)(&mut net, pos, neg)?;
    let mut third = Bench::new(net, &FrontEndParams::default(), RATE, 1, 8)?;
    let lines = Lines::default();
    let mut fresh = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?.bench;
    let differ =
        (0..100).filter(|_| third.sample(&lines).ok() != fresh.sample(&lines).ok()).count();
    assert!(differ > 50);
    Ok(())
}

#[test]
fn leads_open_swap_short_and_change() -> Outcome {
    let standing = |net: &mut Netlist, pos, neg| {
        net.add("feed", Part::Source { pos, neg, ohms: 10.0, wave: Wave::Dc(100.0) }).map(|_| ())
    };
    let mut rig = Rig::new(&FrontEndParams::default(), standing)?;
    for (lead, volts) in [
        (None, 100.0),
        (Some(Lead::Swap(true)), -100.0),
        (Some(Lead::Open(Side::Pos)), 0.0),
        (Some(Lead::Join(Side::Pos)), -100.0),
        (Some(Lead::Swap(false)), 100.0),
        (Some(Lead::Open(Side::Neg)), 0.0),
        (Some(Lead::Join(Side::Neg)), 100.0),
        (Some(Lead::Ohms(10.0)), 100.0),
        (Some(Lead::Short(true)), 9.1),
        (Some(Lead::Short(false)), 100.0),
    ] {
        lead.iter().for_each(|lead| rig.bench.lead(lead));
        rig.run(10)?;
        let found = rig.truth().terminal_volts;
        if matches!(lead, Some(Lead::Short(true))) {
            // The leads touch at their clips: 0.05 ohm across 10 ohm.
            close(found, 0.5, 0.01);
        } else {
            close(found, volts, 0.1);
        }
    }
    Ok(())
}

#[test]
fn faults_of_the_electronics_do_what_they_say_and_end() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 0.0))?;
    rig.ramp(500, 50)?;
    let gain = Effect::Sensor(Sensor::Gain { channel: Channel::V2, factor: 0.8 });
    rig.bench.apply(&gain);
    close(rig.mean(Channel::V2, 10)?, 400.0, 1.0);
    close(rig.mean(Channel::V, 10)?, 500.0, 1.0);
    rig.bench.clear(&gain);
    close(rig.mean(Channel::V2, 10)?, 500.0, 1.0);
    let open = Effect::Sensor(Sensor::DividerOpen { channel: Channel::V });
    rig.bench.apply(&open);
    rig.run(5)?;
    close(rig.mean(Channel::V, 10)?, 0.0, 1.0);
    rig.bench.clear(&open);
    let high = Effect::Actuator(Actuator::SetPoint { factor: 1.5 });
    rig.bench.apply(&high);
    rig.run(50)?;
    close(rig.truth().terminal_volts, 750.0, 2.0);
    rig.bench.clear(&high);
    let stuck = Effect::Actuator(Actuator::SourceStuckOn { volts: 300.0 });
    rig.bench.apply(&stuck);
    rig.lines.gate = GateOut::default();
    rig.run(50)?;
    close(rig.truth().terminal_volts, 300.0, 1.0);
    // R_d across a source that is stuck on: the plateau of 1.8 mA in 100 kohm beside 1 Mohm.
    rig.lines.discharge = true;
    rig.run(50)?;
    close(rig.truth().terminal_volts, 1.8e-3 / (1.0 / 100.0e3 + 1.0e-6), 1.0);
    rig.token_runs = false;
    rig.run(60)?;
    close(rig.truth().terminal_volts, 0.0, 0.1);
    rig.bench.clear(&stuck);
    let weak = Effect::Actuator(Actuator::DischargeResistor { factor: 3.0 });
    rig.bench.apply(&weak);
    close(rig.bench.discharge_ohms(), 300.0e3, 1.0);
    rig.bench.clear(&weak);
    let lost = Effect::Sensor(Sensor::Drops { every: 4 });
    rig.bench.apply(&lost);
    let mut missing = 0;
    for _ in 0..100 {
        missing += u32::from(rig.bench.sample(&rig.lines)?.is_none());
    }
    assert_eq!(missing, 25);
    Ok(())
}

#[test]
fn a_blown_fuse_leaves_the_voltmeter_true_and_stops_every_drive() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 0.0))?;
    rig.bench.apply(&Effect::Lead(LeadFault::FuseBlown));
    rig.ramp(500, 50)?;
    close(rig.truth().terminal_volts, 0.0, 0.01);
    assert!(rig.truth().hv_volts > 490.0);
    let mut rig = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    rig.bench.apply(&Effect::Lead(LeadFault::FuseBlown));
    rig.run(40)?;
    close(rig.rms(100)?, 230.0, 0.2);
    Ok(())
}

#[test]
fn a_step_that_is_cut_short_because_nothing_moves_changes_nothing() -> Outcome {
    use crate::scenario::{below, stream};
    let params = FrontEndParams { relay_bounce_s: 1.0e-3, ..FrontEndParams::default() };
    let mut short = Rig::new(&params, load(1.0e6, 10.0e-9))?;
    let mut rng = stream(3, "lines");
    let mut lines = Lines::default();
    let mut whole = short.bench.clone();
    for n in 0..60_000_u32 {
        lines.token ^= n.is_multiple_of(10) && n % 5_000 < 4_000;
        // Pauses of all lengths, some longer than anything takes to arrive.
        if below(&mut rng, 300) == 0 {
            match below(&mut rng, 5) {
                0 => lines.gate.on ^= true,
                1 => lines.discharge ^= true,
                2 => lines.relay ^= true,
                3 => lines.bias ^= true,
                _ => lines.gate.set_point = Voltage::from_volts(below(&mut rng, 500) as i32),
            }
        }
        match n {
            20_000 => [&mut short.bench, &mut whole].map(|b| b.set_supply_mv(3_000)),
            25_000 => [&mut short.bench, &mut whole].map(|b| b.set_supply_mv(6_000)),
            40_000 => [&mut short.bench, &mut whole]
                .map(|b| b.apply(&Effect::Lead(LeadFault::Intermittent { hertz: 20.0 }))),
            _ => [(); 2],
        };
        whole.rests = false;
        assert_eq!(short.bench.sample(&lines)?, whole.sample(&lines)?, "at sample {n}");
        assert_eq!(short.bench.positions, whole.positions, "at sample {n}");
    }
    Ok(())
}
