//! How fast the closed loop runs on one thread, and where the time goes.
//!
//! Two worlds, of about 12 and 20 states, each with a drive, a discharge, a source behind a switch,
//! expectations and all rules watched, nobody looking on. One warm-up, then the median of five runs.
//! The parts are timed on their own by playing the same samples again. No test depends on it.

use core::hint::black_box;
use std::time::Instant;

use ohmwarden_core::Instrument;
use ohmwarden_core::frame::{BLOCK, Frame, Function, Key, Panel, Sample, Seen};
use ohmwarden_core::gate::Gate;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::frontend::{Bench, Lines};
use ohmwarden_sim::scenario::{Scenario, parse};
use ohmwarden_sim::world::{Nobody, World};

/// Simulated seconds, of which the key is down from 0.6 to 4.
const SECONDS: f64 = 6.0;
const SAMPLES: usize = 60_000;
const PRESS: core::ops::Range<usize> = 6_000..40_000;
const RUNS: usize = 5;

fn scenario(harmonics: &str) -> Scenario {
    let text = format!(
        r#"
ohmwarden = 1
why = "Nothing: a measure of speed."
seconds = {SECONDS}
[start]
function = "insulation"
volts = 500
[part.cable.insulation]
ohms = 50e6
farads = 100e-9
absorption = 0.1
across = ["lead.pos", "lead.neg"]
[part.switch.switch]
across = ["lead.pos", "street"]
[part.mains.sine]
volts_rms = 230
hertz = 50
harmonics = [{harmonics}]
across = ["street", "lead.neg"]
[[at]]
s = 0.6
press = "test"
[[at]]
s = 4.0
label = "let_go"
release = "test"
[[expect]]
within = {{ after = "let_go", s = 0.02, that = "source.off", stays = true }}
[[expect]]
never = "view.claims_dead && truth.live"
"#
    );
    parse(&text).expect("the text above is a scenario")
}

/// Nanoseconds a sample: median and least of five, after one that warms up. On a machine that does
/// other things besides, the least is nearer to what the code needs.
fn timed(mut run: impl FnMut()) -> [f64; 2] {
    run();
    let mut took: Vec<f64> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            run();
            begun.elapsed().as_secs_f64() * 1.0e9 / SAMPLES as f64
        })
        .collect();
    took.sort_by(f64::total_cmp);
    [took[RUNS / 2], took[0]]
}

/// What the bare loop of bench, gate and core did, to be played again in parts.
struct Record {
    lines: Vec<Lines>,
    samples: Vec<Sample>,
    seen: Vec<Seen>,
}

fn panel(sample: usize) -> Panel {
    let idle = Panel::idle(Function::Insulation(Voltage::from_volts(500)));
    Panel { test: Key::new(PRESS.contains(&sample)), ..idle }
}

fn frame(samples: &[Sample], n: usize, seen: Seen) -> Frame<'_> {
    Frame { samples, panel: panel(n), elapsed_us: (n as u32 + 1) * 100, supply_mv: 6_000, seen }
}

fn record(mut bench: Bench) -> Record {
    let mut kept = Record { lines: Vec::new(), samples: Vec::new(), seen: Vec::new() };
    let (gate, mut instrument) = fresh();
    let mut lines = Lines::default();
    for n in 0..SAMPLES {
        kept.lines.push(lines);
        let sample = bench.sample(&lines).ok().flatten().expect("a circuit that runs");
        kept.samples.push(sample);
        lines.gate = gate.sample(Some(sample));
        if (n + 1) % BLOCK == 0 {
            let seen = Seen {
                drive_sense: Some(bench.truth().source_amps > 50.0e-6),
                gate: gate.status(),
                overruns: 0,
            };
            kept.seen.push(seen);
            let block = &kept.samples[n + 1 - BLOCK..];
            let mut commands = instrument.step(&frame(block, n, seen));
            gate.follow(commands.take_permit());
            lines.obey(&commands);
        }
    }
    kept
}

fn fresh() -> (Gate, Instrument) {
    let rate = SampleRate::DEFAULT;
    (Gate::new(&GENERAL, rate), Instrument::new(&GENERAL, rate))
}

fn replay_bench(mut bench: Bench, kept: &Record) {
    for lines in &kept.lines {
        black_box(bench.sample(lines).expect("a circuit that runs"));
    }
}

fn replay_core(kept: &Record, with_gate: bool) {
    let (gate, mut instrument) = fresh();
    for (block, samples) in kept.samples.chunks_exact(BLOCK).enumerate() {
        if with_gate {
            for sample in samples {
                let _ = black_box(gate.sample(Some(*sample)));
            }
        }
        let n = (block + 1) * BLOCK - 1;
        let mut commands = instrument.step(&frame(samples, n, kept.seen[block]));
        if with_gate {
            gate.follow(commands.take_permit());
        }
        black_box(&commands);
    }
}

fn measure(scenario: &Scenario) {
    let world = World::new(scenario, &()).expect("a circuit that can be solved");
    let bench = world.bench().clone();
    let states = bench.circuit().states();
    let kept = record(bench.clone());
    assert!(kept.lines.iter().filter(|lines| lines.gate.on).count() > 20_000, "it drives");

    let whole = timed(|| {
        black_box(world.clone().run(&mut Nobody).expect("a circuit that runs").digest);
    });
    let front = timed(|| replay_bench(bench.clone(), &kept));
    let solver = timed(|| {
        let mut circuit = bench.circuit().clone();
        for _ in 0..SAMPLES {
            circuit.step().expect("a circuit that runs");
        }
    });
    let core = timed(|| replay_core(&kept, true));
    let step = timed(|| replay_core(&kept, false));

    let times = whole.map(|ns| 1.0e9 / (ns * SAMPLES as f64 / SECONDS));
    println!("{states} states: {:.0} times real time, {:.0} at best", times[0], times[1]);
    let line = |name: &str, ns: fn(f64, f64) -> f64, a: [f64; 2], b: [f64; 2]| {
        println!("  {:6.0} ns  {:6.0} ns  {name}", ns(a[0], b[0]), ns(a[1], b[1]));
    };
    let rest = [0, 1].map(|n| front[n] + core[n]);
    line("one sample in all", |a, _| a, whole, whole);
    line("solver, at rest", |a, _| a, solver, solver);
    line("front end, with what moves in it", |a, b| a - b, front, solver);
    line("gate", |a, b| a - b, core, step);
    line("step of core, a tenth of one", |a, _| a, step, step);
    line("world, watch, expectations, the circuit without us", |a, b| a - b, whole, rest);
}

fn main() {
    measure(&scenario(""));
    let harmonic = |order: u32| format!("{{ order = {order}, fraction = 0.05 }}");
    measure(&scenario(&[3, 5, 7, 9].map(harmonic).join(", ")));
}
