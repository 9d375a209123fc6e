//! Prints how long one step takes on the fast path, and what a topology and a fork cost.

use std::error::Error;
use std::hint::black_box;
use std::time::Instant;

use ohmwarden_sim::circuit::{Circuit, Netlist, Node, Part, PartId, Probe, Wave};

const STEP: f64 = 100e-6;
/// Many short batches, of which the best counts: the machine may be busy with other things.
const BATCHES: u32 = 200;
const STEPS: u32 = 10_000;

/// A sine through a ladder of R-C sections with two diodes and a contact, like a test set-up.
fn ladder(sections: usize) -> Result<(Circuit, PartId, [Probe; 3]), Box<dyn Error>> {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    let wave = Wave::Sine { volts_rms: 20.0, hertz: 50.0, phase_deg: 0.0, harmonics: Vec::new() };
    net.add("mains", Part::Source { pos: feed, neg: Node::GROUND, ohms: 10.0, wave })?;
    let mut before = feed;
    let mut middle = feed;
    for section in 0..sections {
        let node = net.node(&format!("n{section}"));
        net.add(&format!("r{section}"), Part::Resistor { a: before, b: node, ohms: 1e4 })?;
        let c = Part::Capacitor { a: node, b: Node::GROUND, farads: 10e-9, volts: 0.0 };
        net.add(&format!("c{section}"), c)?;
        before = node;
        if section == sections / 2 {
            middle = node;
        }
    }
    let (drive, other) = (net.input("drive", 0.1), net.input("other", 0.2));
    for (name, input, pos) in [("d", drive, middle), ("o", other, before)] {
        let part = Part::Source { pos, neg: Node::GROUND, ohms: 1e6, wave: Wave::Input(input) };
        net.add(name, part)?;
    }
    let diode = Part::Clamp { a: middle, b: Node::GROUND, volts: 400.0, on_ohms: 10.0 };
    net.add("clamp", diode)?;
    let switch =
        Part::Switch { a: before, b: Node::GROUND, on_ohms: 100.0, off_ohms: 1e9, closed: false };
    let switch = net.add("switch", switch)?;
    let probes = [feed, middle, before].map(|node| net.probe_voltage(node, Node::GROUND));
    Ok((net.build(STEP)?, switch, probes))
}

fn nanoseconds(count: u32, mut work: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..BATCHES {
        let start = Instant::now();
        for _ in 0..count {
            work();
        }
        best = best.min(start.elapsed().as_nanos() as f64 / f64::from(count));
    }
    best
}

fn main() -> Result<(), Box<dyn Error>> {
    for sections in [4, 10, 18, 22] {
        let (mut circuit, switch, probes) = ladder(sections)?;
        let states = circuit.states();
        let step = nanoseconds(STEPS, || {
            let done = circuit.step();
            black_box((done.is_ok(), circuit.probe(probes[0])));
        });
        let fork = nanoseconds(5_000, || {
            black_box(circuit.clone());
        });
        let build = nanoseconds(1, || {
            black_box(ladder(sections).is_ok());
        });
        let mut closed = false;
        let switching = nanoseconds(5_000, || {
            closed = !closed;
            circuit.set_switch(switch, closed);
            black_box(circuit.step().is_ok());
        });
        println!(
            "{states:3} states: step {step:6.1} ns, step with switching {switching:6.0} ns, \
             fork {fork:5.0} ns, build {:5.0} us",
            build / 1000.0
        );
    }
    Ok(())
}
