//! Expectations: the online monitors against definitions worked over whole traces, and the grammar
//! against a second evaluator.

mod again;
mod margin;
mod monitor;
mod said;
mod trace;
mod worked;

use ohmwarden_sim::expect::{Expect, Expression, Fired, Monitor, Outcome, Rule, Stays};
use ohmwarden_tests::small_world::{Moment, SIGNALS};

/// The distance of samples, seconds.
const STEP: f64 = 1.0e-3;
/// The rounding that times may carry, as the monitors allow it.
const SAME: f64 = 1.0e-9;

/// A margin never contradicts the truth; at zero only the truth tells.
fn agrees(holds: bool, margin: f64) -> bool {
    if holds { margin >= 0.0 } else { margin <= 0.0 }
}

fn expression(text: &str) -> Expression {
    Expression::parse(text, SIGNALS).unwrap_or_else(|mistakes| panic!("{text}: {mistakes:?}"))
}

/// Runs a rule over `leads.volts`, one value a sample, with the label "go" at these moments.
fn run(rule: Rule, volts: &[f64], go: &[f64]) -> Outcome {
    let expect = Expect { rule, note: String::new() };
    let mut monitor = Monitor::new(&expect, &["go"]);
    let mut before = f64::NEG_INFINITY;
    for (place, volts) in volts.iter().enumerate() {
        let t = place as f64 * STEP;
        let new = go.iter().filter(|moment| **moment > before && **moment <= t);
        let fired: Vec<Fired> = new.map(|seconds| Fired { label: 0, seconds: *seconds }).collect();
        monitor.step(t, &Moment::blank().with("leads.volts", *volts), &fired);
        before = t;
    }
    monitor.finish()
}

fn within(s: f64, that: &str, stays: Stays) -> Rule {
    Rule::Within { after: "go".into(), s, that: expression(that), stays }
}
