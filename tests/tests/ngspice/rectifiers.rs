//! Diodes, clamps and limits on the mains.

use core::fmt::Write as _;

use ohmwarden_sim::circuit::{Netlist, Node, Part};

use crate::Outcome;
use crate::case::Case;
use crate::parts::{SPICE_SWITCH, capacitor, contact, crest, diode, mains, resistor, spice_diode};

#[test]
fn a_peak_rectifier_follows_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    let ground = Node::GROUND;
    net.add("mains", mains(feed, 24.0, 10.0, Vec::new()))?;
    let through = net.add("diode", diode(feed, top))?;
    net.add("c", capacitor(top, ground, 47e-6, 0.0))?;
    net.add("load", resistor(top, ground, 1e3))?;
    let probes =
        vec![("v(top)", net.probe_voltage(top, ground)), ("v(sense)", net.probe_current(through))];
    let spice = format!(
        "V1 feed0 0 SIN(0 {} 50)\nR0 feed0 feed 10\n{}C1 top 0 47u IC=0\nRl top 0 1k\n\
         Bi sense 0 V = (V(feed0)-V(feed))/10\n",
        crest(24.0),
        spice_diode("1", "feed", "top")
    );
    Case { probes, ..Case::of("peak_rectifier", (net, spice), (100e-6, 1000))? }.compare()
}

#[test]
fn a_bridge_with_a_coil_and_a_switch_follows_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (live, plus, minus) = (net.node("live"), net.node("plus"), net.node("minus"));
    let (tank, ground) = (net.node("tank"), Node::GROUND);
    net.add("mains", mains(live, 115.0, 1.0, Vec::new()))?;
    let pairs = [(live, plus), (ground, plus), (minus, live), (minus, ground)];
    for (name, (anode, cathode)) in ["d1", "d2", "d3", "d4"].iter().zip(pairs) {
        net.add(name, diode(anode, cathode))?;
    }
    let choke = net.node("choke");
    let switch = net.add("switch", contact(plus, choke, false))?;
    let coil = Part::Inductor { a: choke, b: tank, henries: 50e-3, amps: 0.0 };
    net.add("coil", coil)?;
    net.add("snubber", resistor(choke, tank, 10e3))?;
    net.add("c", capacitor(tank, minus, 20e-6, 0.0))?;
    net.add("load", resistor(tank, minus, 500.0))?;
    let probes = vec![
        ("v(tank,minus)", net.probe_voltage(tank, minus)),
        ("v(plus,minus)", net.probe_voltage(plus, minus)),
    ];
    let bridge = [("live", "plus"), ("0", "plus"), ("minus", "live"), ("minus", "0")];
    let mut spice = format!("V1 live0 0 SIN(0 {} 50)\nR0 live0 live 1\n", crest(115.0));
    for (index, (anode, cathode)) in bridge.iter().enumerate() {
        spice += &spice_diode(&index.to_string(), anode, cathode);
    }
    write!(
        spice,
        "S1 plus choke on 0 contact\nL1 choke tank 50m IC=0\nRs choke tank 10k\n\
         C1 tank minus 20u IC=0\nRl tank minus 500\n\
         Von on 0 PULSE(0 1 7m 1n 1n 1 2)\n{SPICE_SWITCH}"
    )?;
    Case {
        probes,
        options: "reltol=1e-5 vntol=1e-7 abstol=1e-10 method=gear",
        // The bridge commutates within a few microseconds.
        longest_step: "0.1u",
        events: vec![(140, switch, true)],
        ..Case::of("bridge", (net, spice), (50e-6, 1200))?
    }
    .compare()
}

#[test]
fn an_arrester_and_a_limiter_clip_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (feed, line, top) = (net.node("feed"), net.node("line"), net.node("top"));
    let ground = Node::GROUND;
    net.add("mains", mains(feed, 400.0, 5.0, Vec::new()))?;
    let limiter = Part::CurrentLimit { a: feed, b: line, on_ohms: 25.0, amps: 1.5 };
    let limiter = net.add("limiter", limiter)?;
    let coil = Part::Inductor { a: line, b: top, henries: 10e-3, amps: 0.0 };
    net.add("coil", coil)?;
    net.add("damping", resistor(line, top, 2e3))?;
    net.add("c", capacitor(top, ground, 0.5e-6, 0.0))?;
    net.add("load", resistor(top, ground, 600.0))?;
    net.add("arrester", Part::Clamp { a: top, b: ground, volts: 275.0, on_ohms: 20.0 })?;
    let probes =
        vec![("v(top)", net.probe_voltage(top, ground)), ("v(sense)", net.probe_current(limiter))];
    let spice = format!(
        "V1 feed0 0 SIN(0 {} 50)\nR0 feed0 feed 5\n\
         Bl feed line I = max(-1.5, min(1.5, V(feed,line)/25))\n\
         L1 line top 10m IC=0\nRd line top 2k\nC1 top 0 0.5u IC=0\nRl top 0 600\n\
         Bc top 0 I = V(top) > 275 ? (V(top)-275)/20 : V(top) < -275 ? (V(top)+275)/20 : 0\n\
         Bi sense 0 V = (V(feed0)-V(feed))/5\n",
        crest(400.0)
    );
    Case { probes, ..Case::of("arrester", (net, spice), (50e-6, 1200))? }.compare()
}
