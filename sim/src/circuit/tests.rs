//! The solver against closed forms. Each derivation is named where it is used.

extern crate std;

use alloc::string::String;
use std::boxed::Box;
use std::format;

use super::*;

type Outcome = Result<(), Box<dyn core::error::Error>>;

const STEP: f64 = 100e-6;

fn resistor(a: Node, b: Node, ohms: f64) -> Part {
    Part::Resistor { a, b, ohms }
}

fn capacitor(a: Node, b: Node, farads: f64, volts: f64) -> Part {
    Part::Capacitor { a, b, farads, volts }
}

fn source(pos: Node, ohms: f64, wave: Wave) -> Part {
    Part::Source { pos, neg: Node::GROUND, ohms, wave }
}

fn sine(volts_rms: f64, hertz: f64, phase_deg: f64) -> Wave {
    Wave::Sine { volts_rms, hertz, phase_deg, harmonics: [].into() }
}

fn close(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "found {found:e}, wanted {wanted:e} +- {within:e}");
}

fn run(circuit: &mut Circuit, steps: usize) -> Result<(), Diverged> {
    (0..steps).try_for_each(|_| circuit.step())
}

// v = E (1 - exp(-t / RC)).
#[test]
fn a_capacitor_charges_exponentially() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    net.add("supply", source(feed, 1.0, Wave::Dc(1000.0)))?;
    let series = net.add("series", resistor(feed, top, 99_999.0))?;
    net.add("load", capacitor(top, Node::GROUND, 1e-6, 0.0))?;
    let (volts, amps) = (net.probe_voltage(top, Node::GROUND), net.probe_current(series));
    let mut circuit = net.build(STEP)?;
    close(circuit.probe(amps), 0.01, 1e-14);
    for step in 1..=20_000 {
        circuit.step()?;
        let left = libm::exp(-f64::from(step) * STEP / 0.1);
        close(circuit.probe(volts), 1000.0 * (1.0 - left), 2e-7);
        close(circuit.probe(amps), 0.01 * left, 1e-11);
    }
    Ok(())
}

// i' = v/L, v' = -i/C - v/(R C) from v(0) = V, i(0) = 0: damped oscillation,
// v = V exp(-a t) (cos w t - (a / w) sin w t), a = 1/(2 R C), w^2 = 1/(L C) - a^2.
#[test]
fn a_resonant_circuit_rings() -> Outcome {
    let mut net = Netlist::new();
    let top = net.node("top");
    net.add("c", capacitor(top, Node::GROUND, 1e-9, 10.0))?;
    net.add("l", Part::Inductor { a: top, b: Node::GROUND, henries: 1.0, amps: 0.0 })?;
    net.add("r", resistor(top, Node::GROUND, 1e6))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(10e-6)?;
    let damping = 1.0 / (2.0 * 1e6 * 1e-9);
    let speed = libm::sqrt(1e9 - damping * damping);
    for step in 1..=1000 {
        circuit.step()?;
        let t = f64::from(step) * 10e-6;
        let ring = libm::cos(speed * t) - damping / speed * libm::sin(speed * t);
        // The node's own leak of 1e-15 S is a billionth of the resistor.
        close(circuit.probe(volts), 10.0 * libm::exp(-damping * t) * ring, 1e-8);
    }
    Ok(())
}

// Through a pole: amplitude A / sqrt(1 + (w RC)^2), phase -atan(w RC), plus the start that decays.
#[test]
fn a_sine_through_a_pole_has_amplitude_and_phase() -> Outcome {
    for hertz in [16.0 + 2.0 / 3.0, 50.0, 450.0, 4200.0] {
        let mut net = Netlist::new();
        let (feed, top) = (net.node("feed"), net.node("top"));
        net.add("mains", source(feed, 500.0, sine(230.0, hertz, 30.0)))?;
        net.add("series", resistor(feed, top, 500.0))?;
        net.add("c", capacitor(top, Node::GROUND, 80e-9, 0.0))?;
        let volts = net.probe_voltage(top, Node::GROUND);
        let mut circuit = net.build(STEP)?;
        let (crest, speed) = (230.0 * libm::sqrt(2.0), core::f64::consts::TAU * hertz);
        let lag = speed * 80e-6;
        run(&mut circuit, 100)?;
        for step in 101..10_000 {
            circuit.step()?;
            let angle = speed * f64::from(step) * STEP + core::f64::consts::PI / 6.0;
            let wanted = crest / libm::sqrt(1.0 + lag * lag) * libm::sin(angle - libm::atan(lag));
            close(circuit.probe(volts), wanted, crest * 1e-9);
        }
    }
    Ok(())
}

#[test]
fn harmonics_add_in_their_own_phase() -> Outcome {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    let harmonics = [
        Harmonic { order: 3, fraction: 0.2, phase_deg: 40.0 },
        Harmonic { order: 5, fraction: 0.1, phase_deg: -70.0 },
    ];
    let wave =
        Wave::Sine { volts_rms: 100.0, hertz: 50.0, phase_deg: 25.0, harmonics: harmonics.into() };
    let mains = net.add("mains", source(feed, 0.0, wave))?;
    let volts = net.probe_voltage(feed, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    assert_eq!(circuit.states(), 6);
    let wanted = |w: f64| {
        let deg = core::f64::consts::PI / 180.0;
        let rest = 0.2 * libm::sin(3.0 * w + 40.0 * deg) + 0.1 * libm::sin(5.0 * w - 70.0 * deg);
        100.0 * libm::sqrt(2.0) * (libm::sin(w) + rest)
    };
    for step in 0..500 {
        let w = core::f64::consts::TAU * (50.0 * f64::from(step) * STEP + 25.0 / 360.0);
        close(circuit.probe(volts), wanted(w), 1e-10);
        circuit.step()?;
    }
    circuit.set_sine(mains, 50.0, 60.0, 90.0);
    run(&mut circuit, 100)?;
    let w = core::f64::consts::TAU * (60.0 * 100.0 * STEP + 0.25);
    close(circuit.probe(volts), 0.5 * wanted(w), 1e-10);
    Ok(())
}

// Charge to V, open, decay through R alone: V exp(-t / RC); closing again starts from there.
#[test]
fn a_switch_carries_the_state_over() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    net.add("supply", source(feed, 10.0, Wave::Dc(500.0)))?;
    let contact = Part::Switch { a: feed, b: top, on_ohms: 0.1, off_ohms: 1e15, closed: true };
    let switch = net.add("switch", contact)?;
    net.add("c", capacitor(top, Node::GROUND, 1e-6, 500.0))?;
    net.add("r", resistor(top, Node::GROUND, 1e6))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    circuit.set_switch(switch, false);
    run(&mut circuit, 5000)?;
    close(circuit.probe(volts), 500.0 * libm::exp(-0.5), 1e-6);
    circuit.set_switch(switch, true);
    circuit.step()?;
    let top = 500.0 * 1e6 / (1e6 + 10.1);
    let left = libm::exp(-STEP * (1.0 / 10.1 + 1e-6) / 1e-6);
    close(circuit.probe(volts), top + (500.0 * libm::exp(-0.5) - top) * left, 1e-6);
    Ok(())
}

// Half wave into a resistor: i = (v - 0.7) / (Rs + Ron + R) while v > 0.7, else about nothing.
#[test]
fn a_diode_passes_half_of_a_wave() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    net.add("mains", source(feed, 1.0, sine(10.0, 50.0, 0.0)))?;
    let diode = Part::Diode { anode: feed, cathode: top, volts: 0.7, on_ohms: 0.5, off_ohms: 1e12 };
    net.add("diode", diode)?;
    net.add("load", resistor(top, Node::GROUND, 98.5))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    for step in 1..2000 {
        circuit.step()?;
        let mains = 10.0
            * libm::sqrt(2.0)
            * libm::sin(core::f64::consts::TAU * 50.0 * f64::from(step) * STEP);
        close(circuit.probe(volts), (0.985 * (mains - 0.7)).max(0.0), 2e-9);
    }
    Ok(())
}

// A diode charging a capacitor from a ramp: the instant of conduction is found inside the step.
// Ramp k t through diode (0 V, Ron) into C: v = k (t - T + T exp(-t / T)), T = Ron C; then the ramp
// turns and the diode lets go where v meets it; v stays.
#[test]
fn a_peak_detector_keeps_the_crest() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    let drive = net.input_ramped("drive", 0.0);
    net.add("source", source(feed, 0.0, Wave::Input(drive)))?;
    let diode =
        Part::Diode { anode: feed, cathode: top, volts: 0.0, on_ohms: 100.0, off_ohms: 1e15 };
    net.add("diode", diode)?;
    net.add("c", capacitor(top, Node::GROUND, 1e-6, 0.0))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    let (slope, lag) = (1.0 / STEP, 1e-4);
    for step in 1..=10 {
        circuit.set_input(drive, f64::from(step));
        circuit.step()?;
        let t = f64::from(step) * STEP;
        close(circuit.probe(volts), slope * (t - lag + lag * libm::exp(-t / lag)), 1e-6);
    }
    // Falling from 10 V at the same slope: v(s) - u(s) with u = 10 - k s obeys
    // d' = k - d / lag from d(0) = v0 - 10, zero at s = lag ln(1 - d0 / (k lag)).
    let before = slope * (1e-3 - lag + lag * libm::exp(-10.0));
    let ends = lag * libm::log(1.0 - (before - 10.0) / (slope * lag));
    assert!(ends < STEP);
    let peak = 10.0 - slope * ends;
    for step in 1..=10 {
        circuit.set_input(drive, 10.0 - f64::from(step));
        circuit.step()?;
        close(circuit.probe(volts), peak, 2e-5);
    }
    Ok(())
}

fn regulated(farads: f64) -> Result<(Netlist, PartId, InputId, Probe, Probe), NetError> {
    let mut net = Netlist::new();
    let top = net.node("top");
    let (set, limit) = (net.input("set", 500.0), net.input("limit", 1.8e-3));
    let part = Part::Regulator {
        pos: top,
        neg: Node::GROUND,
        sense_pos: top,
        sense_neg: Node::GROUND,
        siemens: 1e-3,
        set,
        limit,
        limit_per_volt: 0.0,
        enabled: true,
    };
    let regulator = net.add("regulator", part)?;
    net.add("c", capacitor(top, Node::GROUND, farads, 0.0))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let amps = net.probe_current(regulator);
    Ok((net, regulator, set, volts, amps))
}

// Constant current to set - limit / siemens (498.2 V), then exponential with C / siemens.
#[test]
fn a_regulator_ramps_then_settles() -> Outcome {
    let (net, regulator, set, volts, amps) = regulated(1e-6)?;
    let mut circuit = net.build(STEP)?;
    let joint = 498.2 * 1e-6 / 1.8e-3;
    for step in 1..=4000 {
        circuit.step()?;
        let t = f64::from(step) * STEP;
        let wanted = if t < joint {
            1.8e-3 * t / 1e-6
        } else {
            500.0 - 1.8 * libm::exp(-(t - joint) / 1e-3)
        };
        close(circuit.probe(volts), wanted, 1e-5);
    }
    close(circuit.probe(amps), 0.0, 1e-9);
    circuit.set_input(set, 400.0);
    run(&mut circuit, 10)?;
    close(circuit.probe(volts), 500.0, 1e-5);
    circuit.set_input(set, 600.0);
    circuit.set_switch(regulator, false);
    run(&mut circuit, 10)?;
    close(circuit.probe(volts), 500.0, 1e-5);
    circuit.set_switch(regulator, true);
    circuit.step()?;
    close(circuit.probe(volts), 500.18, 1e-5);
    close(circuit.probe(amps), -1.8e-3, 1e-12);
    Ok(())
}

// The time constant of the loop, 5 us, is a twentieth of the step.
#[test]
fn a_regulator_faster_than_the_step_holds_its_set_point() -> Outcome {
    let (net, _, set, volts, _) = regulated(5e-9)?;
    let mut circuit = net.build(STEP)?;
    for step in 1..=2000 {
        let wanted = 0.2 * f64::from(step);
        circuit.set_input(set, wanted);
        circuit.step()?;
        close(circuit.probe(volts), wanted, 1e-3);
    }
    Ok(())
}

// A limit that grows by the dividers' own conductance leaves the rest for the load:
// i = limit + v / R into R parallel C is a straight ramp.
#[test]
fn a_growing_limit_feeds_the_dividers_too() -> Outcome {
    let mut net = Netlist::new();
    let top = net.node("top");
    let (set, limit) = (net.input("set", 1000.0), net.input("limit", 1.8e-3));
    let part = Part::Regulator {
        pos: top,
        neg: Node::GROUND,
        sense_pos: top,
        sense_neg: Node::GROUND,
        siemens: 1e-3,
        set,
        limit,
        limit_per_volt: 0.5e-6,
        enabled: true,
    };
    net.add("regulator", part)?;
    net.add("c", capacitor(top, Node::GROUND, 1e-6, 0.0))?;
    net.add("dividers", resistor(top, Node::GROUND, 2e6))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 5000)?;
    close(circuit.probe(volts), 900.0, 1e-6);
    circuit.set_input(limit, -1.0);
    circuit.step()?;
    close(circuit.probe(volts), 900.0 * libm::exp(-STEP / 2.0), 1e-5);
    Ok(())
}

// E through Rs into a clamp: v = (E / Rs + V / Ron) / (1 / Rs + 1 / Ron), both ways.
#[test]
fn a_clamp_holds_both_ways() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    let drive = net.input("drive", 200.0);
    net.add("source", source(feed, 1000.0, Wave::Input(drive)))?;
    net.add("clamp", Part::Clamp { a: top, b: Node::GROUND, volts: 300.0, on_ohms: 50.0 })?;
    net.add("lead", resistor(feed, top, 1.0))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    close(circuit.probe(volts), 200.0, 1e-7);
    for (sign, size) in [(1.0, 500.0), (-1.0, 500.0), (-1.0, 100.0), (1.0, 1000.0)] {
        circuit.set_input(drive, sign * size);
        circuit.step()?;
        let held = (size / 1001.0 + 300.0 / 50.0) / (1.0 / 1001.0 + 1.0 / 50.0);
        let wanted = sign * if size > 300.0 { held } else { size };
        close(circuit.probe(volts), wanted, 1e-6);
    }
    Ok(())
}

#[test]
fn an_arc_strikes_latches_and_goes_out() -> Outcome {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    let drive = net.input("drive", 380.0);
    net.add("source", source(feed, 1000.0, Wave::Input(drive)))?;
    let arc = Part::Arc {
        a: feed,
        b: Node::GROUND,
        strike_volts: 400.0,
        arc_volts: 20.0,
        on_ohms: 10.0,
        hold_amps: 0.05,
    };
    let arc = net.add("arc", arc)?;
    let amps = net.probe_current(arc);
    let mut circuit = net.build(STEP)?;
    for (drive_volts, burns) in [
        (399.0, false),
        (401.0, true),
        (100.0, true),
        (72.0, true),
        (70.0, false),
        (300.0, false),
        (-405.0, true),
        (-100.0, true),
        (100.0, false),
    ] {
        circuit.set_input(drive, drive_volts);
        circuit.step()?;
        let side = if drive_volts < 0.0 { -1.0 } else { 1.0 };
        let wanted = if burns { (drive_volts - side * 20.0) / 1010.0 } else { 0.0 };
        close(circuit.probe(amps), wanted, 1e-10);
    }
    Ok(())
}

// The source can give 1 mA, the arc needs 50 mA: it may not hang, and it may not burn.
#[test]
fn an_arc_that_nothing_can_feed_stays_open_and_the_step_ends() -> Outcome {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    net.add("source", source(feed, 1e6, Wave::Dc(1000.0)))?;
    let arc = Part::Arc {
        a: feed,
        b: Node::GROUND,
        strike_volts: 400.0,
        arc_volts: 20.0,
        on_ohms: 10.0,
        hold_amps: 0.05,
    };
    let arc = net.add("arc", arc)?;
    let amps = net.probe_current(arc);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 100)?;
    close(circuit.probe(amps), 0.0, 1e-10);
    Ok(())
}

// A relaxation oscillator: from E through R to the strike voltage takes
// R C ln((E - low) / (E - strike)); the discharge through 10 ohm takes about a microsecond.
#[test]
fn an_arc_across_a_capacitor_strikes_again_and_again() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    net.add("source", source(feed, 1e5, Wave::Dc(1000.0)))?;
    net.add("lead", resistor(feed, top, 1e5))?;
    net.add("c", capacitor(top, Node::GROUND, 10e-9, 0.0))?;
    let arc = Part::Arc {
        a: top,
        b: Node::GROUND,
        strike_volts: 400.0,
        arc_volts: 20.0,
        on_ohms: 100.0,
        hold_amps: 0.05,
    };
    net.add("arc", arc)?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(10e-6)?;
    let (mut strikes, mut before, mut highest, mut falling) = (0, 0.0, 0.0_f64, false);
    for _ in 0..10_000 {
        circuit.step()?;
        let now = circuit.probe(volts);
        strikes += u32::from(now < before && !falling);
        falling = now < before;
        highest = highest.max(now);
        before = now;
    }
    // Goes out at 20 V + 0.05 A * 100 ohm = 25 V; burning lasts tau ln(380 / 5) = 4.3 us.
    let period = 2e-3 * libm::log(975.0 / 600.0) + 1e-6 * libm::log(380.0 / 5.0);
    let wanted = 1.0 + (0.1 - 2e-3 * libm::log(1000.0 / 600.0)) / period;
    assert!(highest < 400.0 && highest > 395.0);
    close(f64::from(strikes), wanted, 1.0);
    Ok(())
}

#[test]
fn a_current_limit_saturates_both_ways() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    let drive = net.input("drive", 0.0);
    net.add("source", source(feed, 0.0, Wave::Input(drive)))?;
    let limit = Part::CurrentLimit { a: feed, b: top, on_ohms: 10.0, amps: 0.2 };
    let limit = net.add("limit", limit)?;
    net.add("load", resistor(top, Node::GROUND, 10.0))?;
    let amps = net.probe_current(limit);
    let mut circuit = net.build(STEP)?;
    for (volts, wanted) in [(2.0, 0.1), (-3.9, -0.195), (4.1, 0.2), (-400.0, -0.2), (1.0, 0.05)] {
        circuit.set_input(drive, volts);
        circuit.step()?;
        close(circuit.probe(amps), wanted, 1e-7);
    }
    Ok(())
}

// A capacitor driven by a current source into a clamp whose slope time, 50 ns, is far below the
// step slides along the clamp: v = V + I Ron, and comes off it as soon as the current turns.
#[test]
fn a_state_slides_along_a_segment_joint() -> Outcome {
    let mut net = Netlist::new();
    let top = net.node("top");
    let drive = net.input("drive", 1e-3);
    let (from, wave) = (Node::GROUND, Wave::Input(drive));
    net.add("drive", Part::CurrentSource { from, to: top, wave })?;
    net.add("c", capacitor(top, Node::GROUND, 50e-9, 0.0))?;
    net.add("clamp", Part::Clamp { a: top, b: Node::GROUND, volts: 10.0, on_ohms: 1.0 })?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 100)?;
    close(circuit.probe(volts), 10.001, 1e-9);
    circuit.set_input(drive, -1e-3);
    circuit.step()?;
    // The joint is left up to one slot late: 98 ns at 20 V/ms.
    close(circuit.probe(volts), 10.0 - 1e-3 * STEP / 50e-9, 2e-3);
    // Exactly nothing drives it: the joint is a resting place, and neither side may chatter.
    circuit.set_state_volts(PartId(1), 10.0);
    circuit.set_input(drive, 0.0);
    run(&mut circuit, 100)?;
    // But for the idle clamp: 1e-14 S * 10 V for 10 ms on 50 nF is 2e-8 V.
    close(circuit.probe(volts), 10.0, 3e-8);
    Ok(())
}

// An ideal bridge: the load sees |v| - 1.4 V. Four diodes decide together, with no capacitor.
#[test]
fn a_bridge_of_diodes_rectifies() -> Outcome {
    let mut net = Netlist::new();
    let (live, neutral) = (net.node("live"), Node::GROUND);
    let (plus, minus) = (net.node("plus"), net.node("minus"));
    net.add("mains", source(live, 1.0, sine(230.0, 50.0, 0.0)))?;
    for (name, anode, cathode) in
        [("d1", live, plus), ("d2", neutral, plus), ("d3", minus, live), ("d4", minus, neutral)]
    {
        let diode = Part::Diode { anode, cathode, volts: 0.7, on_ohms: 0.1, off_ohms: 1e9 };
        net.add(name, diode)?;
    }
    net.add("load", resistor(plus, minus, 998.8))?;
    let volts = net.probe_voltage(plus, minus);
    let mut circuit = net.build(STEP)?;
    for step in 1..2000 {
        circuit.step()?;
        let angle = core::f64::consts::TAU * 50.0 * f64::from(step) * STEP;
        let size = (230.0 * libm::sqrt(2.0) * libm::sin(angle)).abs();
        close(circuit.probe(volts), (0.9988 * (size - 1.4)).max(0.0), 1e-3);
    }
    Ok(())
}

// A slow leak beside a contact of 50 milliohm: 1 Gohm * 1 uF keeps its rate although the
// fastest mode is ten orders faster. What is left is the rounding of 20 S against 1e-9 S, 4.4e-6.
#[test]
fn a_slow_decay_survives_a_fast_neighbour() -> Outcome {
    let mut net = Netlist::new();
    let (top, far) = (net.node("top"), net.node("far"));
    net.add("c1", capacitor(top, Node::GROUND, 1e-6, 1000.0))?;
    net.add("contact", resistor(top, far, 0.05))?;
    net.add("c2", capacitor(far, Node::GROUND, 5e-9, 1000.0))?;
    net.add("insulation", resistor(top, Node::GROUND, 1e9))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 100_000)?;
    let tau = 1e9 * 1.005e-6;
    let fall = 1000.0 * (1.0 - libm::exp(-10.0 / tau));
    close((1000.0 - circuit.probe(volts)) / fall, 1.0, 4.4e-6);
    Ok(())
}

// 100 V on 1 uF joined to an empty 3 uF: 25 V; the delta capacitor sees the difference.
#[test]
fn capacitors_in_a_loop_share_their_charge() -> Outcome {
    let mut net = Netlist::new();
    let (p, n) = (net.node("p"), net.node("n"));
    net.add("c1", capacitor(p, Node::GROUND, 1e-6, 100.0))?;
    let second = net.add("c2", capacitor(Node::GROUND, p, 3e-6, 0.0))?;
    let delta = net.add("cd", capacitor(p, n, 2e-6, 0.0))?;
    net.add("c3", capacitor(n, Node::GROUND, 2e-6, 0.0))?;
    net.add("r", resistor(n, Node::GROUND, 1e3))?;
    let at_p = net.probe_voltage(p, Node::GROUND);
    let (at_n, into_delta) = (net.probe_voltage(n, Node::GROUND), net.probe_current(delta));
    let mut circuit = net.build(STEP)?;
    assert_eq!(circuit.states(), 2);
    // (C1 + C2) p + Cd (p - n) = 100 uC, C3 n = Cd (p - n): p = 20 V, n = 10 V.
    close(circuit.probe(at_p), 20.0, 1e-9);
    close(circuit.probe(at_n), 10.0, 1e-9);
    // From the resistor the rest looks like C3 + Cd in series with 4 uF.
    let seen = 2e-6 + 1.0 / (1.0 / 2e-6 + 1.0 / 4e-6);
    run(&mut circuit, 10)?;
    let left = 10.0 * libm::exp(-10.0 * STEP / (1e3 * seen));
    close(circuit.probe(at_n), left, 1e-9);
    close(circuit.probe(into_delta), (left / 1e3) * (seen - 2e-6) / seen, 1e-12);
    // 40 V on the 3 uF (from ground to p): p = -40 V there, the others as they were.
    let before = circuit.probe(at_p);
    circuit.set_state_volts(second, 40.0);
    circuit.step()?;
    assert!(circuit.probe(at_p) < before - 20.0);
    Ok(())
}

#[test]
fn a_follower_buffers_a_filter() -> Outcome {
    let mut net = Netlist::new();
    let (feed, half, out) = (net.node("feed"), net.node("half"), net.node("out"));
    net.add("source", source(feed, 1000.0, Wave::Dc(10.0)))?;
    net.add("lower", resistor(feed, Node::GROUND, 1000.0))?;
    let buffer = Part::Follower { out: half, pos: feed, neg: Node::GROUND, gain: 2.0, ohms: 0.0 };
    net.add("buffer", buffer)?;
    let second = Part::Follower { out, pos: half, neg: feed, gain: -1.0, ohms: 100.0 };
    let second = net.add("second", second)?;
    net.add("load", resistor(out, Node::GROUND, 100.0))?;
    let (volts, amps) = (net.probe_voltage(out, Node::GROUND), net.probe_current(second));
    let circuit = net.build(STEP)?;
    close(circuit.probe(volts), -2.5, 1e-11);
    close(circuit.probe(amps), 0.025, 1e-13);
    Ok(())
}

#[test]
fn a_changed_value_takes_effect_and_keeps_the_charge() -> Outcome {
    let mut net = Netlist::new();
    let top = net.node("top");
    net.add("c", capacitor(top, Node::GROUND, 1e-6, 100.0))?;
    let r = net.add("r", resistor(top, Node::GROUND, 1e6))?;
    let limit = Part::Clamp { a: top, b: Node::GROUND, volts: 500.0, on_ohms: 1.0 };
    let clamp = net.add("clamp", limit)?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 1000)?;
    circuit.set_value(r, 1e5)?;
    run(&mut circuit, 1000)?;
    // The idle clamp conducts 1e-14 S beside 1e-6 S and 1e-5 S.
    close(circuit.probe(volts), 100.0 * libm::exp(-0.1 - 1.0), 8e-8);
    assert!(matches!(circuit.set_value(r, -1.0), Err(NetError::OutOfRange { .. })));
    assert!(matches!(circuit.set_value(clamp, 1.0), Err(NetError::NotAdjustable { .. })));
    Ok(())
}

fn busy() -> Result<(Circuit, InputId, PartId, [Probe; 2]), NetError> {
    let mut net = Netlist::new();
    let (feed, top, out) = (net.node("feed"), net.node("top"), net.node("out"));
    let drive = net.input_ramped("drive", 0.0);
    net.add("mains", source(feed, 10.0, sine(230.0, 50.0, 17.0)))?;
    net.add("more", Part::Source { pos: top, neg: feed, ohms: 5.0, wave: Wave::Input(drive) })?;
    let diode = Part::Diode { anode: top, cathode: out, volts: 0.7, on_ohms: 0.3, off_ohms: 1e9 };
    net.add("diode", diode)?;
    net.add("c", capacitor(out, Node::GROUND, 2e-6, 0.0))?;
    let contact =
        Part::Switch { a: out, b: Node::GROUND, on_ohms: 1e3, off_ohms: 1e8, closed: false };
    let switch = net.add("switch", contact)?;
    let probes = [net.probe_voltage(out, Node::GROUND), net.probe_voltage(top, Node::GROUND)];
    Ok((net.build(STEP)?, drive, switch, probes))
}

fn trace(circuit: &mut Circuit, drive: InputId, switch: PartId, probes: [Probe; 2]) -> [u64; 2] {
    let mut digest = [0_u64; 2];
    for step in 0..500_u32 {
        circuit.set_input(drive, f64::from(step % 37) - 18.0);
        circuit.set_switch(switch, step / 50 % 2 == 1);
        assert_eq!(circuit.step(), Ok(()));
        for (sum, probe) in digest.iter_mut().zip(probes) {
            *sum = sum.rotate_left(5) ^ circuit.probe(probe).to_bits();
        }
    }
    digest
}

#[test]
fn the_same_circuit_gives_the_same_bits_twice() -> Outcome {
    let (mut one, drive, switch, probes) = busy()?;
    let (mut other, ..) = busy()?;
    let first = trace(&mut one, drive, switch, probes);
    assert_eq!(first, trace(&mut other, drive, switch, probes));
    assert_ne!(first, trace(&mut other, drive, switch, probes));
    Ok(())
}

#[test]
fn a_fork_goes_on_as_the_original_would() -> Outcome {
    fn is_send<T: Send>(_: &T) {}
    let (mut one, drive, switch, probes) = busy()?;
    is_send(&one);
    let mut early = one.clone();
    trace(&mut one, drive, switch, probes);
    let mut fork = one.clone();
    let forked = trace(&mut fork, drive, switch, probes);
    assert_eq!(trace(&mut one, drive, switch, probes), forked);
    // What a fork has learnt changes nothing.
    let mut taught = early.clone();
    taught.learn_from(&fork);
    assert_eq!(trace(&mut taught, drive, switch, probes), trace(&mut early, drive, switch, probes));
    Ok(())
}

fn refused(fill: impl FnOnce(&mut Netlist, [Node; 2]) -> Result<(), NetError>) -> String {
    let mut net = Netlist::new();
    let nodes = [net.node("a"), net.node("b")];
    match fill(&mut net, nodes).and_then(|()| net.build(STEP).map(|_| ())) {
        Ok(()) => String::from("accepted"),
        Err(error) => format!("{error}"),
    }
}

#[test]
fn what_cannot_be_solved_is_refused_by_name() {
    let ground = Node::GROUND;
    let floating = refused(|net, [a, b]| {
        net.add("r", resistor(a, ground, 1.0))?;
        let wave = Wave::Dc(1.0);
        net.add("i", Part::CurrentSource { from: a, to: b, wave }).map(|_| ())
    });
    assert_eq!(floating, "b: nothing but leakage holds this node");
    let sources = refused(|net, [a, b]| {
        net.add("s1", source(a, 0.0, Wave::Dc(1.0)))?;
        net.add("s2", source(b, 0.0, Wave::Dc(1.0)))?;
        let s3 = Part::Source { pos: a, neg: b, ohms: 0.0, wave: Wave::Dc(1.0) };
        net.add("s3", s3).map(|_| ())
    });
    assert_eq!(sources, "s3: closes a loop of sources without resistance");
    let across = refused(|net, [a, b]| {
        net.add("s", source(a, 0.0, Wave::Dc(1.0)))?;
        net.add("c1", capacitor(a, b, 1e-6, 0.0))?;
        net.add("c2", capacitor(b, ground, 1e-6, 0.0)).map(|_| ())
    });
    assert_eq!(across, "c2: lies across a source without resistance");
    let cut_set = refused(|net, [a, b]| {
        net.add("s", source(a, 1.0, Wave::Dc(1.0)))?;
        net.add("l1", Part::Inductor { a, b, henries: 1.0, amps: 0.0 })?;
        let l2 = Part::Inductor { a: b, b: ground, henries: 1.0, amps: 0.0 };
        net.add("l2", l2).map(|_| ())
    });
    assert_eq!(cut_set, "b: only inductors or current sources meet here");
    // v = v + 0: a follower that follows itself.
    let own = refused(|net, [a, b]| {
        net.add("r", resistor(b, ground, 1.0))?;
        let part = Part::Follower { out: a, pos: a, neg: ground, gain: 1.0, ohms: 0.0 };
        net.add("f", part).map(|_| ())
    });
    assert!(own.contains("no single solution"), "{own}");
}

#[test]
fn bad_values_and_names_are_refused() {
    let ground = Node::GROUND;
    for ohms in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300, 1e-300] {
        let text = refused(|net, [a, _]| net.add("r", resistor(a, ground, ohms)).map(|_| ()));
        assert!(text.starts_with("r: ohms is"), "{text}");
    }
    let volts =
        refused(|net, [a, _]| net.add("s", source(a, 1.0, sine(f64::NAN, 50.0, 0.0))).map(|_| ()));
    assert!(volts.starts_with("s: volts_rms is NaN"), "{volts}");
    let same = refused(|net, [a, _]| net.add("r", resistor(a, a, 1.0)).map(|_| ()));
    assert_eq!(same, "r: both ends are on one node");
    let taken = refused(|net, [a, b]| {
        net.add("r", resistor(a, ground, 1.0))?;
        net.add("r", resistor(b, ground, 1.0)).map(|_| ())
    });
    assert_eq!(taken, "r: a part of this name exists already");
    let turned = refused(|net, [a, _]| {
        let part = Part::Switch { a, b: ground, on_ohms: 10.0, off_ohms: 1.0, closed: true };
        net.add("sw", part).map(|_| ())
    });
    assert_eq!(turned, "sw: off_ohms must be more than on_ohms");
    let strange = Node(77);
    let foreign = refused(|net, [a, _]| net.add("r", resistor(a, strange, 1.0)).map(|_| ()));
    assert_eq!(foreign, "r: refers to another netlist");
    let probe = refused(|net, [a, b]| {
        net.probe_voltage(a, strange);
        net.add("r1", resistor(a, ground, 1.0))?;
        net.add("r2", resistor(b, ground, 1.0)).map(|_| ())
    });
    assert_eq!(probe, "a probe refers to another netlist");
}

#[test]
fn too_much_is_refused_with_the_count() {
    let many = refused(|net, [a, b]| {
        net.add("r", resistor(a, b, 1.0))?;
        net.add("r2", resistor(b, Node::GROUND, 1.0))?;
        for index in 0..41 {
            let node = net.node(&format!("n{index}"));
            net.add(&format!("r{index}x"), resistor(a, node, 1.0))?;
            net.add(&format!("c{index}"), capacitor(node, Node::GROUND, 1e-6, 0.0))?;
        }
        Ok(())
    });
    assert_eq!(many, "41 states, at most 40");
    for step in [0.0, -1.0, f64::NAN, 1e-12, 10.0] {
        assert!(matches!(Netlist::new().build(step), Err(NetError::BadStep { .. })));
    }
    assert!(Netlist::new().build(STEP).is_ok());
}

#[test]
fn a_value_that_is_not_a_number_stops_the_circuit_and_nothing_panics() -> Outcome {
    let (mut circuit, drive, switch, _) = busy()?;
    circuit.set_input(drive, f64::NAN);
    assert_eq!(circuit.step(), Err(Diverged { seconds: 0.0 }));
    let (mut circuit, ..) = busy()?;
    circuit.set_state_volts(switch, 1.0);
    circuit.set_input(InputId(99), 1.0);
    circuit.set_switch(PartId(99), true);
    circuit.set_sine(PartId(99), 1.0, 1.0, 1.0);
    circuit.set_sine(switch, 1.0, 1.0, 1.0);
    assert_eq!(circuit.step(), Ok(()));
    assert_eq!(circuit.probe(Probe(999)), 0.0);
    circuit.set_sine(PartId(0), 1.0, -1.0, 1.0);
    assert!(circuit.step().is_err());
    Ok(())
}

// A follower with gain 3 feeding itself through a pole grows without bound.
#[test]
fn a_circuit_that_runs_away_says_so() -> Outcome {
    let mut net = Netlist::new();
    let (top, out) = (net.node("top"), net.node("out"));
    net.add("c", capacitor(top, Node::GROUND, 1e-9, 1.0))?;
    net.add("f", Part::Follower { out, pos: top, neg: Node::GROUND, gain: 3.0, ohms: 10.0 })?;
    net.add("r", resistor(out, top, 1e3))?;
    let mut circuit = net.build(STEP)?;
    assert!((0..100).any(|_| circuit.step().is_err()));
    Ok(())
}
