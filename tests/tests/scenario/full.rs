//! A scenario with everything in it: read, written back, and searched.

use ohmwarden_core::correct::{Bring, Rule};
use ohmwarden_core::unit::Temperature;
use ohmwarden_sim::expect::{Rule as Expected, Stays};
use ohmwarden_sim::scenario::{Action, Function, Part, line_column, locate, parse, write};

use crate::good;

const FULL: &str = r#"
ohmwarden = 1
why = "A charged cable is not a live one."
seed = 7
profile = "general"
seconds = 3.0
limit = { at_least_ohms = 1e6, guarded = false }

[start]
function = "insulation"
volts = 500
test_held = true

[part.cable.capacitor]
farads = 1.0e-6
across = ["lead.pos", "lead.neg"]

[part.mains_switch.switch]
across = ["lead.pos", "street"]

[part.mains.sine]
volts_rms = 230
hertz = 50
harmonics = [{ order = 3, fraction = 0.1 }]
across = ["street", "lead.neg"]

[[at]]
s = 1.203
label = "mains_on"
close = "mains_switch"

[[at]]
s = 2
label = "fault_on"
fault = { gate_shorted = { ohms = 5 } }

[[at]]
s = 2.5
clear = "gate_shorted"

[[at]]
s = 2.5
set = { part = "mains", volts_rms = 100, phase_deg = 90 }

[sweep]
mains_phase_deg = { from = 0, to = 345, step = 15 }
mains_on_s = [1.2, 1.21]

[storm]
events_per_second = 20
from_s = 1

[[expect]]
note = "Off and stays off."
within = { after = "mains_on", s = 0.006, that = "source.off", stays = true, until = "fault_on" }

[[expect]]
never = "gate.open && leads.volts > 50 V"
before = "fault_on"

[[expect]]
eventually = { s = 3.0, that = "reading.value in 24.5 Mohm..25.5 Mohm" }

[[expect]]
at = { s = 0.5, after = "mains_on", that = "state is rest" }

[[expect]]
until = { hold = "gate.open", until = "source.off" }
"#;

#[test]
fn a_full_scenario_is_read_with_its_defaults() {
    let scenario = good(FULL);
    assert_eq!(scenario.seed, 7);
    assert_eq!((scenario.rate, scenario.substeps), (10_000, 1));
    assert_eq!(scenario.start.function, Function::Insulation { volts: 500.0, timed: None });
    assert!(scenario.start.test_held);
    assert_eq!(scenario.parts.len(), 3);
    assert_eq!(scenario.parts[0].name, "cable");
    assert_eq!(scenario.parts[0].part, Part::Capacitor { farads: 1.0e-6, volts: 0.0 });
    assert_eq!(scenario.labels(), ["mains_on", "fault_on"]);
    assert_eq!(scenario.case_count(), 48);
    let Action::Fault(call) = &scenario.events[1].action else { panic!("a fault") };
    assert_eq!(call.number("ohms"), Some(5.0));
    assert_eq!(call.flag("sticky"), Some(true));
    let Expected::Within { stays, .. } = &scenario.expects[0].rule else { panic!("a window") };
    assert_eq!(*stays, Stays::UntilLabel("fault_on".into()));
}

/// The text in the module's own documentation, so that it cannot rot.
#[test]
fn the_example_in_the_documentation_is_read() {
    let source = include_str!("../../../sim/src/scenario/mod.rs");
    let (_, rest) = source.split_once("//! ```toml\n").expect("an example");
    let (example, _) = rest.split_once("//! ```\n").expect("its end");
    let text: String = example
        .lines()
        .map(|line| line.strip_prefix("//!").unwrap_or(line).trim_start().to_string() + "\n")
        .collect();
    let scenario = good(&text);
    assert_eq!(scenario.parts.len(), 3);
    assert_eq!(scenario.case_count(), 48);
    let around = scenario.start.surroundings;
    assert_eq!(around.warmth.temperature, Some(Temperature::from_celsius(35)));
    let to = Temperature::from_celsius(20);
    assert_eq!(around.bring, Some(Bring { rule: Rule::Oil, to }));
    assert_eq!(around.pair.map(|pair| pair.word), Some("0.5mm"));
}

#[test]
fn a_reading_is_brought_to_where_its_named_limit_holds_or_its_rule_begins() {
    let to = |limit: &str, more: &str| {
        let text = format!(
            "ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n{limit}\n[start]\ncelsius = 35\n\
             correct = \"oil\"\n{more}"
        );
        good(&text).start.surroundings.bring.map(|bring| bring.to)
    };
    let celsius = |degrees| Some(Temperature::from_celsius(degrees));
    assert_eq!(to("", ""), celsius(20));
    assert_eq!(to("limit = { named = \"winding_form_wound\" }", ""), celsius(40));
    assert_eq!(to("", "reference_celsius = 30"), celsius(30));
}

#[test]
fn a_full_scenario_survives_writing() {
    let scenario = good(FULL);
    let text = write(&scenario);
    assert_eq!(good(&text), scenario);
    assert_eq!(write(&good(&text)), text);
}

#[test]
fn a_part_is_found_again_by_its_path() {
    let span = locate(FULL, &["part", "mains"]).expect("there");
    assert_eq!(&FULL[span.clone()], "mains");
    assert_eq!(line_column(FULL, span.start), (21, 7));
    assert_eq!(locate(FULL, &["part", "nothing"]), None);
}

#[test]
fn without_a_registry_no_fault_and_no_signal_is_known() {
    let mistakes = parse(FULL).expect_err("names are not known");
    assert!(mistakes.iter().any(|mistake| mistake.message == "no such fault"));
    assert!(mistakes.iter().any(|mistake| mistake.message == "no such signal"));
}
