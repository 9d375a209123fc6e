//! Parts of several straight pieces: diodes, clamps, limits, and states that lie on a joint.

use super::{Outcome, STEP, capacitor, close, resistor, run, sine, source};
use crate::circuit::{Netlist, Node, Part, PartId, Wave};

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
