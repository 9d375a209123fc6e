//! The circuit solver on netlists that nobody thought of: it may refuse them, never panic, and what
//! it accepts must obey what every circuit obeys.

use ohmwarden_sim::circuit::{Circuit, Harmonic, NetError, Netlist, Node, Part, PartId, Wave};
use proptest::prelude::*;

const STEP: f64 = 100e-6;
/// How much a step may seem to add to an energy: the rounding, 2.2e-16, of the fastest mode that
/// does not end at once, 1 Mohm on 1 mH, over one step is 2.2e-11; a hundred such modes.
const ROUNDING: f64 = 2.2e-9;
/// Nothing: a nanovolt, the tolerance of a diode's joint, on a capacitor of 1 F.
const LEAST_JOULES: f64 = 1e-18;

/// A part by numbers: kind, two nodes out of six, and values that may be nonsense.
type Raw = (u8, usize, usize, f64, f64, f64);

fn value() -> impl Strategy<Value = f64> {
    let sane = (-12.0..12.0_f64).prop_map(|power| 10.0_f64.powf(power));
    let nonsense =
        prop::sample::select(vec![0.0, -1.0, f64::NAN, f64::INFINITY, 1e300, 1e-300, -0.0]);
    prop_oneof![9 => sane, 1 => nonsense]
}

fn raw() -> impl Strategy<Value = Raw> {
    (0..13_u8, 0..6_usize, 0..6_usize, value(), value(), value())
}

fn part(net: &mut Netlist, (kind, one, other, x, y, z): Raw) -> Part {
    let mut node = |index: usize| {
        if index == 0 { Node::GROUND } else { net.node(["", "a", "b", "c", "d", "e"][index]) }
    };
    let (a, b) = (node(one), node(other));
    let (c, d) = (node((one + 1) % 6), node((other + 2) % 6));
    let input = net.input("input", 1.0);
    match kind {
        0 => Part::Resistor { a, b, ohms: x },
        1 => Part::Capacitor { a, b, farads: x * 1e-6, volts: y },
        2 => Part::Inductor { a, b, henries: x, amps: y },
        3 => Part::Switch { a, b, on_ohms: x, off_ohms: x * 1e6, closed: y > 1.0 },
        4 => Part::Diode { anode: a, cathode: b, volts: x, on_ohms: y, off_ohms: y * 1e9 },
        5 => Part::Clamp { a, b, volts: x, on_ohms: y },
        6 => {
            Part::Arc { a, b, strike_volts: x, arc_volts: 0.1 * x, on_ohms: y, hold_amps: z * 1e-6 }
        }
        7 => Part::CurrentLimit { a, b, on_ohms: x, amps: y },
        8 => Part::Source { pos: a, neg: b, ohms: z, wave: Wave::Dc(x) },
        9 => {
            let harmonics = vec![Harmonic { order: 3, fraction: 0.3, phase_deg: z }];
            let wave = Wave::Sine { volts_rms: x, hertz: y, phase_deg: z, harmonics };
            Part::Source { pos: a, neg: b, ohms: if y > 1e3 { 0.0 } else { y }, wave }
        }
        10 => Part::CurrentSource { from: a, to: b, wave: Wave::Input(input) },
        11 => Part::Follower { out: a, pos: c, neg: d, gain: x, ohms: y },
        _ => Part::Regulator {
            pos: a,
            neg: b,
            sense_pos: c,
            sense_neg: d,
            siemens: x,
            set: input,
            limit: net.input("limit", y),
            limit_per_volt: 1e-6,
            enabled: true,
        },
    }
}

/// Brings the values of a passive part to where instruments and installations have them.
fn plausible(part: Part) -> Part {
    let ohms = |x: f64| x.clamp(1e-2, 1e12);
    match part {
        Part::Resistor { a, b, ohms: x } => Part::Resistor { a, b, ohms: ohms(x) },
        Part::Capacitor { a, b, farads, volts } => Part::Capacitor {
            a,
            b,
            farads: farads.clamp(1e-12, 1e-2),
            volts: volts.clamp(-1e3, 1e3),
        },
        Part::Inductor { a, b, henries, amps } => Part::Inductor {
            a,
            b,
            henries: henries.clamp(1e-3, 1e3),
            amps: amps.clamp(-10.0, 10.0),
        },
        Part::Switch { a, b, on_ohms, closed, .. } => {
            let on_ohms = on_ohms.clamp(1e-2, 1e6);
            Part::Switch { a, b, on_ohms, off_ohms: 1e12, closed }
        }
        Part::Diode { anode, cathode, volts, on_ohms, .. } => Part::Diode {
            anode,
            cathode,
            volts: volts.clamp(0.0, 1e3),
            on_ohms: on_ohms.clamp(1e-2, 1e3),
            off_ohms: 1e9,
        },
        other => other,
    }
}

/// Builds whatever of the list is accepted.
fn built(raws: &[Raw]) -> (Vec<PartId>, Result<Circuit, NetError>) {
    let mut net = Netlist::new();
    let mut ids = Vec::new();
    for (index, &raw) in raws.iter().enumerate() {
        let part = part(&mut net, raw);
        ids.extend(net.add(&format!("p{index}"), part).ok());
    }
    if let Some(&id) = ids.first() {
        net.probe_current(id);
    }
    (ids, net.build(STEP))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn never_a_panic_whatever_the_netlist(
        raws in prop::collection::vec(raw(), 1..14),
        moves in prop::collection::vec((0..14_usize, value()), 0..12),
    ) {
        let (ids, circuit) = built(&raws);
        if let Ok(mut circuit) = circuit {
            for (which, value) in moves {
                let Some(&id) = ids.get(which) else { continue };
                circuit.set_switch(id, value > 1.0);
                circuit.set_state_volts(id, value);
                circuit.set_sine(id, value, value, value);
                let _refused = circuit.set_value(id, value);
                let _diverged = circuit.step();
            }
        }
    }

    /// Resistors, capacitors, inductors, switches and diodes alone only ever lose energy.
    #[test]
    fn never_more_energy_in_a_passive_circuit(
        raws in prop::collection::vec(raw(), 3..12),
        closes in prop::collection::vec(any::<bool>(), 20),
    ) {
        let mut net = Netlist::new();
        let (mut stores, mut switches) = (Vec::new(), Vec::new());
        for index in 1..6 {
            // Every node is held, so that most of these netlists can be built.
            let node = net.node(["", "a", "b", "c", "d", "e"][index]);
            let held = Part::Resistor { a: node, b: Node::GROUND, ohms: 1e6 };
            let name = format!("held{index}");
            prop_assert!(net.add(&name, held).is_ok());
        }
        for (index, &raw) in raws.iter().enumerate() {
            let part = plausible(part(&mut net, (raw.0 % 5, raw.1, raw.2, raw.3, raw.4, raw.5)));
            let Ok(id) = net.add(&format!("p{index}"), part.clone()) else { continue };
            match part {
                Part::Capacitor { a, b, farads, .. } => {
                    stores.push((farads, net.probe_voltage(a, b)));
                }
                Part::Inductor { henries, .. } => stores.push((henries, net.probe_current(id))),
                Part::Switch { .. } => switches.push(id),
                _ => {}
            }
        }
        let Ok(mut circuit) = net.build(STEP) else { return Ok(()) };
        let energy = |circuit: &Circuit| -> f64 {
            stores.iter().map(|&(size, probe)| 0.5 * size * circuit.probe(probe).powi(2)).sum()
        };
        let mut before = energy(&circuit);
        for close in closes {
            for &switch in &switches {
                circuit.set_switch(switch, close);
            }
            prop_assert!(circuit.step().is_ok());
            let now = energy(&circuit);
            let bound = before * (1.0 + ROUNDING) + LEAST_JOULES;
            prop_assert!(now <= bound, "{before:e} J, then {now:e} J");
            before = now;
        }
    }

    /// One step is two of half its length: the exact step is a semigroup.
    #[test]
    fn always_the_same_by_whole_and_by_half_steps(
        ohms in prop::collection::vec(1.0..1e6_f64, 5),
        nanofarads in prop::collection::vec(1.0..1e4_f64, 5),
        hertz in 1.0..2000.0_f64,
        millihenries in 1.0..1e4_f64,
    ) {
        let ladder = |step: f64| {
            let mut net = Netlist::new();
            let mut before = net.node("feed");
            let wave =
                Wave::Sine { volts_rms: 230.0, hertz, phase_deg: 40.0, harmonics: Vec::new() };
            net.add("mains", Part::Source { pos: before, neg: Node::GROUND, ohms: 1.0, wave })?;
            for (index, (&ohms, &nf)) in ohms.iter().zip(&nanofarads).enumerate() {
                let node = net.node(&format!("n{index}"));
                net.add(&format!("r{index}"), Part::Resistor { a: before, b: node, ohms })?;
                let (a, b, farads) = (node, Node::GROUND, nf * 1e-9);
                net.add(&format!("c{index}"), Part::Capacitor { a, b, farads, volts: 5.0 })?;
                before = node;
            }
            let henries = millihenries * 1e-3;
            let coil = Part::Inductor { a: before, b: Node::GROUND, henries, amps: 0.01 };
            net.add("coil", coil)?;
            let probe = net.probe_voltage(before, Node::GROUND);
            net.build(step).map(|circuit| (circuit, probe))
        };
        let (Ok((mut whole, one)), Ok((mut half, other))) = (ladder(STEP), ladder(STEP / 2.0))
        else {
            return Err(TestCaseError::fail("a ladder was refused"));
        };
        for _ in 0..50 {
            prop_assert!(whole.step().is_ok() && half.step().is_ok() && half.step().is_ok());
            let (a, b) = (whole.probe(one), half.probe(other));
            prop_assert!((a - b).abs() < 1e-9 * 330.0, "{a} against {b}");
        }
    }
}
