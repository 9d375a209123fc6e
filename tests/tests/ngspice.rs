//! The circuit solver against a general-purpose circuit simulator, on netlists of our own.
//!
//! Each case is written twice, by hand: as parts of ours and as a netlist for `ngspice`, which
//! integrates it with a small step and tight tolerances. The waveforms are compared at every step
//! of ours; the worst difference is printed as a fraction of the full scale of the waveform.

use core::error::Error;
use core::fmt::Write as _;
use core::time::Duration;
use std::path::Path;
use std::process::{Command, Stdio};

use ohmwarden_sim::circuit::{Circuit, Harmonic, Netlist, Node, Part, PartId, Probe, Wave};

type Outcome = Result<(), Box<dyn Error>>;

/// A run of the other simulator takes a second or two.
const LONGEST_SECONDS: u64 = 120;
/// The budget of the design; what is aimed at is a tenth of it.
const WORST_OF_FULL_SCALE: f64 = 1e-3;
const AIM_OF_FULL_SCALE: f64 = 1e-4;

/// One netlist in both languages.
struct Case {
    name: &'static str,
    /// Parts in the other simulator's language; switches are driven from `control` nodes.
    spice: String,
    /// How hard it may try; with hard corners and tight tolerances it creeps.
    options: &'static str,
    /// Its longest time step.
    longest_step: &'static str,
    /// The vectors there, one for each probe here.
    vectors: &'static [&'static str],
    circuit: Circuit,
    probes: Vec<Probe>,
    step_seconds: f64,
    steps: usize,
    /// Switchings: before which step, which switch, closed or not.
    events: Vec<(usize, PartId, bool)>,
}

fn resistor(a: Node, b: Node, ohms: f64) -> Part {
    Part::Resistor { a, b, ohms }
}

fn capacitor(a: Node, b: Node, farads: f64, volts: f64) -> Part {
    Part::Capacitor { a, b, farads, volts }
}

fn mains(pos: Node, volts_rms: f64, ohms: f64, harmonics: Vec<Harmonic>) -> Part {
    let wave = Wave::Sine { volts_rms, hertz: 50.0, phase_deg: 0.0, harmonics };
    Part::Source { pos, neg: Node::GROUND, ohms, wave }
}

fn contact(a: Node, b: Node, closed: bool) -> Part {
    Part::Switch { a, b, on_ohms: 0.1, off_ohms: 1e9, closed }
}

fn diode(anode: Node, cathode: Node) -> Part {
    Part::Diode { anode, cathode, volts: 0.7, on_ohms: 0.2, off_ohms: 1e9 }
}

/// The same diode as a current source of the same straight pieces.
fn spice_diode(name: &str, anode: &str, cathode: &str) -> String {
    format!(
        "B{name} {anode} {cathode} I = V({anode},{cathode}) > 0.7 ? \
         V({anode},{cathode})/0.2 - 0.7*(1/0.2 - 1e-9) : V({anode},{cathode})*1e-9\n"
    )
}

const TIGHT: &str = "reltol=1e-6 abstol=1e-13 vntol=1e-8 chgtol=1e-18 method=gear";
const SPICE_SWITCH: &str = ".model contact SW(vt=0.5 vh=0 ron=0.1 roff=1e9)\n";

fn crest(volts_rms: f64) -> f64 {
    volts_rms * 2.0_f64.sqrt()
}

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
    let probes = [top, far].map(|node| net.probe_voltage(node, ground)).to_vec();
    let spice = format!(
        "V1 feed0 0 500\nR0 feed0 feed 1k\nS1 feed top on 0 contact\nC1 top 0 1u IC=0\n\
         Ra top far 5k\nC2 far 0 0.2u IC=0\nS2 top bleed off 0 contact\nRd bleed 0 10k\n\
         Von on 0 PULSE(1 0 10m 1n 1n 1 2)\nVoff off 0 PULSE(0 1 12m 1n 1n 1 2)\n{SPICE_SWITCH}"
    );
    compare(Case {
        name: "switched_cable",
        spice,
        options: TIGHT,
        longest_step: "1u",
        vectors: &["v(top)", "v(far)"],
        circuit: net.build(100e-6)?,
        probes,
        step_seconds: 100e-6,
        steps: 400,
        events: vec![(100, charge, false), (120, drain, true)],
    })
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
    let probes = vec![net.probe_voltage(top, ground), net.probe_current(coil)];
    let (e1, e5) = (crest(230.0), crest(230.0) * 0.12);
    let spice = format!(
        "V1 a 0 SIN(0 {e1} 50)\nV5 feed0 a SIN(0 {e5} 250 0 0 60)\nR0 feed0 feed 2\n\
         L1 feed middle 20m IC=0\nR1 middle top 20\nC1 top 0 5u IC=0\nRl top 0 2k\n"
    );
    compare(Case {
        name: "resonance",
        spice,
        options: TIGHT,
        longest_step: "1u",
        vectors: &["v(top)", "i(l1)"],
        circuit: net.build(100e-6)?,
        probes,
        step_seconds: 100e-6,
        steps: 400,
        events: Vec::new(),
    })
}

#[test]
fn a_peak_rectifier_follows_as_in_ngspice() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    let ground = Node::GROUND;
    net.add("mains", mains(feed, 24.0, 10.0, Vec::new()))?;
    let through = net.add("diode", diode(feed, top))?;
    net.add("c", capacitor(top, ground, 47e-6, 0.0))?;
    net.add("load", resistor(top, ground, 1e3))?;
    let probes = vec![net.probe_voltage(top, ground), net.probe_current(through)];
    let spice = format!(
        "V1 feed0 0 SIN(0 {} 50)\nR0 feed0 feed 10\n{}C1 top 0 47u IC=0\nRl top 0 1k\n\
         Bi sense 0 V = (V(feed0)-V(feed))/10\n",
        crest(24.0),
        spice_diode("1", "feed", "top")
    );
    compare(Case {
        name: "peak_rectifier",
        spice,
        options: TIGHT,
        longest_step: "1u",
        vectors: &["v(top)", "v(sense)"],
        circuit: net.build(100e-6)?,
        probes,
        step_seconds: 100e-6,
        steps: 1000,
        events: Vec::new(),
    })
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
    let probes = vec![net.probe_voltage(tank, minus), net.probe_voltage(plus, minus)];
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
    compare(Case {
        name: "bridge",
        spice,
        options: "reltol=1e-5 vntol=1e-7 abstol=1e-10 method=gear",
        // The bridge commutates within a few microseconds.
        longest_step: "0.1u",
        vectors: &["v(tank,minus)", "v(plus,minus)"],
        circuit: net.build(50e-6)?,
        probes,
        step_seconds: 50e-6,
        steps: 1200,
        events: vec![(140, switch, true)],
    })
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
        net.probe_voltage(out, ground),
        net.probe_voltage(filtered, ground),
        net.probe_current(source),
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
    compare(Case {
        name: "regulated_drive",
        spice,
        options: TIGHT,
        longest_step: "1u",
        vectors: &["v(out)", "v(filtered)", "v(sense)"],
        circuit: net.build(100e-6)?,
        probes,
        step_seconds: 100e-6,
        steps: 1000,
        events: vec![(520, joined, true)],
    })
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
    let probes = vec![net.probe_voltage(top, ground), net.probe_current(limiter)];
    let spice = format!(
        "V1 feed0 0 SIN(0 {} 50)\nR0 feed0 feed 5\n\
         Bl feed line I = max(-1.5, min(1.5, V(feed,line)/25))\n\
         L1 line top 10m IC=0\nRd line top 2k\nC1 top 0 0.5u IC=0\nRl top 0 600\n\
         Bc top 0 I = V(top) > 275 ? (V(top)-275)/20 : V(top) < -275 ? (V(top)+275)/20 : 0\n\
         Bi sense 0 V = (V(feed0)-V(feed))/5\n",
        crest(400.0)
    );
    compare(Case {
        name: "arrester",
        spice,
        options: TIGHT,
        longest_step: "1u",
        vectors: &["v(top)", "v(sense)"],
        circuit: net.build(50e-6)?,
        probes,
        step_seconds: 50e-6,
        steps: 1200,
        events: Vec::new(),
    })
}

/// Runs both and compares every waveform at every step.
fn compare(mut case: Case) -> Outcome {
    let Some(reference) = other_simulator(&case)? else { return Ok(()) };
    let mut ours = vec![Vec::new(); case.probes.len()];
    for step in 0..case.steps {
        for &(_, part, closed) in case.events.iter().filter(|event| event.0 == step) {
            case.circuit.set_switch(part, closed);
        }
        case.circuit.step()?;
        for (trace, &probe) in ours.iter_mut().zip(&case.probes) {
            trace.push(case.circuit.probe(probe));
        }
    }
    for ((vector, ours), theirs) in case.vectors.iter().zip(&ours).zip(&reference) {
        let scale = theirs.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
        assert!(scale > 0.0, "{}: {vector} does not move", case.name);
        let (mut worst, mut at) = (0.0_f64, 0);
        for (step, (one, other)) in ours.iter().zip(theirs).enumerate() {
            if (one - other).abs() > worst {
                (worst, at) = ((one - other).abs(), step + 1);
            }
        }
        let (worst, seconds) = (worst / scale, at as f64 * case.step_seconds);
        let word = if worst <= AIM_OF_FULL_SCALE { "" } else { ", above the aim" };
        println!("{}: {vector}: worst {worst:.1e} of full scale at {seconds} s{word}", case.name);
        assert!(worst <= WORST_OF_FULL_SCALE, "{}: {vector}: {worst:e} at {seconds} s", case.name);
    }
    Ok(())
}

/// Gives the other simulator's waveforms at the ends of our steps, or nothing without it.
fn other_simulator(case: &Case) -> Result<Option<Vec<Vec<f64>>>, Box<dyn Error>> {
    if Command::new("ngspice").arg("-v").output().is_err() {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "ngspice is missing");
        println!("SKIPPED: needs ngspice");
        return Ok(None);
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let (deck, data) =
        (folder.join(format!("{}.cir", case.name)), folder.join(format!("{}.data", case.name)));
    let stop = case.steps as f64 * case.step_seconds;
    let text = format!(
        "{}\n{}.options {}\n.control\nset wr_singlescale\nset numdgt=15\ntran 1u {} 0 {} uic\nwrdata {} {}\n\
         quit\n.endc\n.end\n",
        case.name,
        case.spice,
        case.options,
        stop + 2e-6,
        case.longest_step,
        data.display(),
        case.vectors.join(" ")
    );
    std::fs::write(&deck, text)?;
    run_bounded(Command::new("ngspice").arg("-b").arg(&deck))?;
    let table = std::fs::read_to_string(&data)?;
    std::fs::remove_file(&data)?;
    sample(&table, case).map(Some)
}

/// Runs a program quietly, and ends it when it takes too long.
fn run_bounded(command: &mut Command) -> Outcome {
    let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn()?;
    for _ in 0..LONGEST_SECONDS * 20 {
        if let Some(status) = child.try_wait()? {
            return if status.success() { Ok(()) } else { Err(format!("{status}").into()) };
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    child.kill()?;
    child.wait()?;
    Err(format!("the other simulator took more than {LONGEST_SECONDS} s").into())
}

/// Reads columns of time and values, and interpolates at the ends of our steps.
fn sample(table: &str, case: &Case) -> Result<Vec<Vec<f64>>, Box<dyn Error>> {
    let mut rows: Vec<Vec<f64>> = Vec::new();
    for line in table.lines() {
        rows.push(line.split_whitespace().map(str::parse).collect::<Result<_, _>>()?);
    }
    let mut traces = vec![Vec::new(); case.vectors.len()];
    let mut row = 0;
    for step in 1..=case.steps {
        let time = step as f64 * case.step_seconds;
        while rows.get(row + 1).ok_or("the other simulator stopped early")?[0] < time {
            row += 1;
        }
        let (before, after) = (&rows[row], &rows[row + 1]);
        let part = (time - before[0]) / (after[0] - before[0]);
        for (index, trace) in traces.iter_mut().enumerate() {
            trace.push(before[1 + index] + part * (after[1 + index] - before[1 + index]));
        }
    }
    Ok(traces)
}
