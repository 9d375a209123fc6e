//! Timed tests of insulation through the whole instrument and the simulated world.
//!
//! Goal: a ratio is that of the physics, and where the trade gives none, none is given. Method: the
//! simulated insulation absorbs by the power law of Curie and von Schweidler (S. Das, J. Modern
//! Physics 8(12), 2017), whose ratios of two moments are known in closed form: `(t2 / t1)^n`. The
//! refusals are made to happen, one circuit each.

mod figures;
mod refusals;

use ohmwarden_core::frame::TimedTest;
use ohmwarden_core::judge::Value;
use ohmwarden_core::measure::timed::Refusal;
use ohmwarden_core::view::View;
use ohmwarden_sim::scenario::{Action, Button, Function, NamedPart, Part, Scenario};
use ohmwarden_sim::world::Report;
use ohmwarden_tests::scene::{LEADS, at, broken, part, run, scene};

/// The key goes down here; the voltage stands about half a second later.
const PRESSED_S: f64 = 0.6;

/// A timed test at so many volts on these parts, played for so many seconds.
fn timed(test: TimedTest, volts: f64, seconds: f64, parts: Vec<NamedPart>) -> Scenario {
    let mut scenario = scene(seconds, Function::Insulation { volts, timed: Some(test) });
    scenario.parts = parts;
    scenario.events = vec![
        at(PRESSED_S, Action::Press(Button::Test)),
        at(PRESSED_S + 0.15, Action::Release(Button::Test)),
    ];
    scenario
}

/// An insulation without leakage that absorbs like `t^-n`.
fn absorbing(n: f64) -> Vec<NamedPart> {
    let insulation =
        Part::Insulation { ohms: 1.0e14, farads: 1.0e-6, absorption: 0.3, absorption_n: n };
    vec![part("winding", LEADS, insulation)]
}

fn play(scenario: &Scenario) -> Report {
    let report = run(scenario, None).expect("a circuit with an operating point");
    assert_eq!(broken(&report), Vec::<String>::new());
    report
}

fn last(report: &Report) -> View {
    report.last.view.expect("a view at the end")
}

/// The number of the main reading.
fn number(report: &Report) -> f64 {
    match last(report).main.value {
        Value::Number(number) => f64::from(number),
        other => panic!("no number: {other:?}, {:?}", last(report).timed),
    }
}

fn refusal(report: &Report) -> Option<Refusal> {
    last(report).timed.expect("a timed test").refused
}
