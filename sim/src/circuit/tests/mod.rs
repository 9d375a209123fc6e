//! The solver against closed forms. Each derivation is named where it is used.

extern crate std;

use std::boxed::Box;

use super::{Circuit, Diverged, InputId, NetError, Netlist, Node, Part, PartId, Probe, Wave};

mod arcs;
mod linear;
mod refused;
mod regulator;
mod repeat;
mod segments;

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
