//! The regulator: its ramp, its limit and its set point, however fast its loop is.

use super::{Outcome, STEP, capacitor, close, resistor, run};
use crate::circuit::{InputId, NetError, Netlist, Node, Part, PartId, Probe};

fn regulator(pos: Node, set: InputId, limit: InputId, limit_per_volt: f64) -> Part {
    Part::Regulator {
        pos,
        neg: Node::GROUND,
        sense_pos: pos,
        sense_neg: Node::GROUND,
        siemens: 1e-3,
        set,
        limit,
        limit_per_volt,
        enabled: true,
    }
}

fn regulated(farads: f64) -> Result<(Netlist, PartId, InputId, Probe, Probe), NetError> {
    let mut net = Netlist::new();
    let top = net.node("top");
    let (set, limit) = (net.input("set", 500.0), net.input("limit", 1.8e-3));
    let regulator = net.add("regulator", regulator(top, set, limit, 0.0))?;
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
    net.add("regulator", regulator(top, set, limit, 0.5e-6))?;
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
