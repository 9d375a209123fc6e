//! How fast the closed loop runs: times real time on one thread, everything on, nobody looking.
//!
//! Wall time on whatever machine this is; the median of five runs after one to warm up.

use std::time::Instant;

use ohmwarden_sim::scenario::{Scenario, parse};
use ohmwarden_sim::world::{Nobody, World};

/// A measurement of an absorbing load, with so many R-C branches beside it.
fn scenario(branches: usize) -> Scenario {
    let mut text = String::from(
        r#"
ohmwarden = 1
why = "A long measurement, to be timed."
seconds = 20.0
[start]
function = "insulation"
volts = 500
[part.load.insulation]
ohms = 50e6
farads = 100e-9
across = ["lead.pos", "lead.neg"]
[[at]]
s = 0.6
press = "test"
[[at]]
s = 18.0
release = "test"
"#,
    );
    for n in 0..branches {
        text.push_str(&format!(
            "[part.r{n}.resistor]\nohms = {}e6\nacross = [\"lead.pos\", \"n{n}\"]\n\
             [part.c{n}.capacitor]\nfarads = 10e-9\nacross = [\"n{n}\", \"lead.neg\"]\n",
            n + 1
        ));
    }
    parse(&text).expect("the text above is a scenario")
}

/// Seconds of wall time for one run, and how many states the circuit has.
fn timed(scenario: &Scenario) -> (f64, usize) {
    let world = World::new(scenario, &()).expect("R and C can be solved");
    let states = world.bench().circuit().states();
    let from = Instant::now();
    let report = world.run(&mut Nobody).expect("R and C do not diverge");
    assert!(report.held(), "a rule broke while being timed");
    (from.elapsed().as_secs_f64(), states)
}

fn main() {
    println!("closed loop at 10 000 samples a second, one thread, wall time");
    for branches in [7, 15] {
        let scenario = scenario(branches);
        timed(&scenario);
        let mut runs: Vec<(f64, usize)> = (0..5).map(|_| timed(&scenario)).collect();
        runs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (seconds, states) = runs[2];
        println!(
            "{states:2} states: {:5.0} times real time, {:4.0} ns a sample",
            scenario.seconds / seconds,
            seconds * 1.0e9 / (scenario.seconds * 10_000.0)
        );
    }
}
