//! Scenarios as values: a few words to build one, run it, and say what it broke.

use ohmwarden_core::invariants::{Margin, Rule};
use ohmwarden_sim::circuit::Diverged;
use ohmwarden_sim::faults::SPECS;
use ohmwarden_sim::scenario::{
    Action, Button, Event, FaultCall, Function, NamedPart, Part, ProfileName, Scenario, Start,
};
use ohmwarden_sim::world::{Meddle, Nobody, Report, World};

/// The nodes of the two leads.
pub const LEADS: [&str; 2] = ["lead.pos", "lead.neg"];

/// An insulation test at so many volts.
#[must_use]
pub const fn insulation(volts: f64) -> Function {
    Function::Insulation { volts, timed: None }
}

/// A run of so many seconds with the selector on `function`, nothing at the leads and nothing done.
#[must_use]
pub fn scene(seconds: f64, function: Function) -> Scenario {
    Scenario {
        why: "A case made by a test.".into(),
        seed: 1,
        profile: ProfileName::General,
        rate: 10_000,
        substeps: 1,
        seconds,
        start: Start { function, ..Start::default() },
        limit: None,
        parts: Vec::new(),
        events: Vec::new(),
        expects: Vec::new(),
        sweep: None,
        storm: None,
    }
}

/// A part between two nodes.
#[must_use]
pub fn part(name: &str, across: [&str; 2], part: Part) -> NamedPart {
    NamedPart { name: name.into(), across: across.map(Into::into), part }
}

/// A resistor and a capacitor across the leads; without the capacitor where it is nothing.
#[must_use]
pub fn load(ohms: f64, farads: f64) -> Vec<NamedPart> {
    let mut parts = vec![part("leak", LEADS, Part::Resistor { ohms })];
    if farads > 0.0 {
        parts.push(part("cable", LEADS, Part::Capacitor { farads, volts: 0.0 }));
    }
    parts
}

/// A sine source that a switch called `joins` brings to the leads.
#[must_use]
pub fn mains(volts_rms: f64, hertz: f64, ohms: f64, closed: bool) -> Vec<NamedPart> {
    let wave = Part::Sine { volts_rms, hertz, phase_deg: 0.0, ohms, harmonics: Vec::new() };
    vec![part("mains", ["street", "lead.neg"], wave), joins(closed)]
}

/// The switch between `street` and the positive lead.
#[must_use]
pub fn joins(closed: bool) -> NamedPart {
    let switch = Part::Switch { closed, on_ohms: 0.01, off_ohms: 1.0e12 };
    part("joins", ["lead.pos", "street"], switch)
}

/// An event.
#[must_use]
pub const fn at(s: f64, action: Action) -> Event {
    Event { s, label: None, action }
}

/// The test key held between two moments.
#[must_use]
pub fn held(from: f64, to: f64) -> Vec<Event> {
    vec![at(from, Action::Press(Button::Test)), at(to, Action::Release(Button::Test))]
}

/// A fault of the catalogue with its default parameters.
///
/// # Panics
/// There is no such fault: a mistake of the test.
#[must_use]
pub fn fault(name: &str) -> FaultCall {
    let spec = SPECS.iter().find(|spec| spec.name == name).expect("a fault of the catalogue");
    FaultCall::plain(spec)
}

/// Puts events in the order of their moments.
pub fn sort(scenario: &mut Scenario) {
    scenario.events.sort_by(|a, b| a.s.total_cmp(&b.s));
}

/// Runs a scenario without recordings.
///
/// # Errors
/// The circuit found no operating point.
///
/// # Panics
/// The circuit cannot be solved at all: a mistake of the test.
pub fn run(scenario: &Scenario, meddle: Option<Meddle>) -> Result<Report, Diverged> {
    let mut world = World::new(scenario, &()).expect("a circuit that can be solved");
    if let Some(meddle) = meddle {
        world.meddle(meddle);
    }
    world.run(&mut Nobody)
}

/// The margin of one rule in a report.
#[must_use]
pub fn margin(report: &Report, rule: Rule) -> Margin {
    report.rules[rule.index()].1
}

/// The rules that broke, with their margins and moments, as text; nothing where all held.
#[must_use]
pub fn broken(report: &Report) -> Vec<String> {
    let broken = report.rules.iter().filter(|(_, margin)| margin.held() == Some(false));
    let line = |(rule, margin): &(Rule, Margin)| {
        let seconds = margin.at_us as f64 / 1.0e6;
        let amount = margin.amount.unwrap_or(f32::NAN);
        format!("{} by {amount} {} at {seconds} s", rule.word(), rule.unit())
    };
    broken.map(line).collect()
}
