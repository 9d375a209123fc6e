//! A cable that is switched, a resonance that is driven, a regulated drive that meets the mains.

use ohmwarden_sim::circuit::{Harmonic, Netlist, Node, Part, Wave};

use crate::Outcome;
use crate::case::Case;
use crate::parts::{SPICE_SWITCH, capacitor, contact, crest, mains, resistor};

#[test]
fn a_switched_cable_charges_and_discharges_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top, far) = (net.node("feed"), net.node("top"), net.node("far"));
    let ground = Node::GROUND;
    let supply = Part::Source { pos: feed, neg: ground, ohms: 1e3, wave: Wave::Dc(500.0) };
    net.add("supply", supply)?;
    let charge = net.add("charge", contact(feed, top, true))?;
    net.add("c1", capacitor(top, ground, 1e-6, 0.0))?;
    net.add("absorb", resistor(top, far, 5e3))?;
    net.add("c2", capacitor(far, ground, 0.2e-6, 0.0))?;
    let bleed = net.node("bleed");
    let drain = net.add("drain", contact(top, bleed, false))?;
    net.add("rd", resistor(bleed, ground, 1e4))?;
    let probes = vec![
        ("v(top)", net.probe_voltage(top, ground)),
        ("v(far)", net.probe_voltage(far, ground)),
    ];
    let spice = format!(
        "V1 feed0 0 500\nR0 feed0 feed 1k\nS1 feed top on 0 contact\nC1 top 0 1u IC=0\n\
         Ra top far 5k\nC2 far 0 0.2u IC=0\nS2 top bleed off 0 contact\nRd bleed 0 10k\n\
         Von on 0 PULSE(1 0 10m 1n 1n 1 2)\nVoff off 0 PULSE(0 1 12m 1n 1n 1 2)\n{SPICE_SWITCH}"
    );
    Case {
        probes,
        events: vec![(100, charge, false), (120, drain, true)],
        ..Case::of("switched_cable", (net, spice), (100e-6, 400))?
    }
    .compare()
}

#[test]
fn a_resonance_on_distorted_mains_rings_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (feed, middle, top) = (net.node("feed"), net.node("middle"), net.node("top"));
    let ground = Node::GROUND;
    let harmonics = vec![Harmonic { order: 5, fraction: 0.12, phase_deg: 60.0 }];
    net.add("mains", mains(feed, 230.0, 2.0, harmonics))?;
    let coil = Part::Inductor { a: feed, b: middle, henries: 20e-3, amps: 0.0 };
    let coil = net.add("coil", coil)?;
    net.add("r", resistor(middle, top, 20.0))?;
    net.add("c", capacitor(top, ground, 5e-6, 0.0))?;
    net.add("load", resistor(top, ground, 2e3))?;
    let probes =
        vec![("v(top)", net.probe_voltage(top, ground)), ("i(l1)", net.probe_current(coil))];
    let (e1, e5) = (crest(230.0), crest(230.0) * 0.12);
    let spice = format!(
        "V1 a 0 SIN(0 {e1} 50)\nV5 feed0 a SIN(0 {e5} 250 0 0 60)\nR0 feed0 feed 2\n\
         L1 feed middle 20m IC=0\nR1 middle top 20\nC1 top 0 5u IC=0\nRl top 0 2k\n"
    );
    Case { probes, ..Case::of("resonance", (net, spice), (100e-6, 400))? }.compare()
}

#[test]
fn a_regulated_drive_meets_the_mains_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (out, lead, live) = (net.node("out"), net.node("lead"), net.node("live"));
    let (filtered, code, ground) = (net.node("filtered"), net.node("code"), Node::GROUND);
    let (set, limit) = (net.input("set", 500.0), net.input("limit", 1.8e-3));
    let source = Part::Regulator {
        pos: out,
        neg: ground,
        sense_pos: out,
        sense_neg: ground,
        siemens: 1e-3,
        set,
        limit,
        limit_per_volt: 0.5e-6,
        enabled: true,
    };
    let source = net.add("source", source)?;
    net.add("c_out", capacitor(out, ground, 5e-9, 0.0))?;
    net.add("dividers", resistor(out, ground, 2e6))?;
    net.add("wire", resistor(out, lead, 10.0))?;
    net.add("cable", capacitor(lead, ground, 100e-9, 0.0))?;
    net.add("insulation", resistor(lead, ground, 1e6))?;
    net.add("mains", mains(live, 230.0, 10.0, Vec::new()))?;
    let joined = net.add("joined", contact(live, lead, false))?;
    let half = Part::Follower { out: code, pos: out, neg: ground, gain: 2e-3, ohms: 1e3 };
    net.add("buffer", half)?;
    net.add("pole", resistor(code, filtered, 7e3))?;
    net.add("c_pole", capacitor(filtered, ground, 10e-9, 0.0))?;
    let probes = vec![
        ("v(out)", net.probe_voltage(out, ground)),
        ("v(filtered)", net.probe_voltage(filtered, ground)),
        ("v(sense)", net.probe_current(source)),
    ];
    let spice = format!(
        "Bs 0 out I = max(0, min((500 - V(out))*1m, 1.8m + 0.5u*V(out)))\n\
         Co out 0 5n IC=0\nRd out 0 2meg\nRw out lead 10\nCc lead 0 100n IC=0\nRi lead 0 1meg\n\
         V1 live0 0 SIN(0 {} 50)\nR1 live0 live 10\nS1 live lead on 0 contact\n\
         E1 code0 0 out 0 2m\nR2 code0 code 1k\nRp code filtered 7k\nCp filtered 0 10n IC=0\n\
         Bi sense 0 V = -max(0, min((500 - V(out))*1m, 1.8m + 0.5u*V(out)))\n\
         Von on 0 PULSE(0 1 52m 1n 1n 1 2)\n{SPICE_SWITCH}",
        crest(230.0)
    );
    Case {
        probes,
        events: vec![(520, joined, true)],
        ..Case::of("regulated_drive", (net, spice), (100e-6, 1000))?
    }
    .compare()
}
