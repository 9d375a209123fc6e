//! Straight parts: charging, ringing, sines, switches, and what carries over when one changes.

use super::{Outcome, STEP, capacitor, close, resistor, run, sine, source};
use crate::circuit::{Harmonic, NetError, Netlist, Node, Part, Wave};

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
