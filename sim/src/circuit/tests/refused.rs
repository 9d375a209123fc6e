//! What is refused by name, and what stops a circuit that runs already.

extern crate std;

use alloc::string::String;
use std::format;

use super::{Outcome, STEP, busy, capacitor, resistor, sine, source};
use crate::circuit::{Diverged, InputId, NetError, Netlist, Node, Part, PartId, Probe, Wave};

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
