//! Scenario files: what is read, what is refused and where, what is written back.

mod small_world;

use ohmwarden_sim::expect::{Rule, Stays};
use ohmwarden_sim::scenario::{
    Action, Button, Function, Mistake, Part, Scenario, Timed, line_column, locate, parse_with,
    write,
};
use small_world::KNOWN;

fn parse(text: &str) -> Result<Scenario, Vec<Mistake>> {
    parse_with(text, &KNOWN)
}

fn good(text: &str) -> Scenario {
    parse(text).unwrap_or_else(|mistakes| panic!("{text}\n{}", told(text, &mistakes)))
}

fn told(text: &str, mistakes: &[Mistake]) -> String {
    let line = |mistake: &Mistake| {
        let (line, column) = line_column(text, mistake.span.start);
        format!("{line}:{column}: {mistake}")
    };
    mistakes.iter().map(line).collect::<Vec<_>>().join("\n")
}

const FULL: &str = r#"
ohmwarden = 1
why = "A charged cable is not a live one."
seed = 7
profile = "general"
seconds = 3.0
limit = { at_least_ohms = 1e6, uncertainty_percent = 3 }

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
    assert_eq!(scenario.start.function, Function::Insulation { volts: 500.0, timed: Timed::No });
    assert!(scenario.start.test_held);
    assert_eq!(scenario.parts.len(), 3);
    assert_eq!(scenario.parts[0].name, "cable");
    assert_eq!(scenario.parts[0].part, Part::Capacitor { farads: 1.0e-6, volts: 0.0 });
    assert_eq!(scenario.labels(), ["mains_on", "fault_on"]);
    assert_eq!(scenario.case_count(), 48);
    let Action::Fault(call) = &scenario.events[1].action else { panic!("a fault") };
    assert_eq!(call.number("ohms"), Some(5.0));
    assert_eq!(call.flag("sticky"), Some(true));
    let Rule::Within { stays, .. } = &scenario.expects[0].rule else { panic!("a window") };
    assert_eq!(*stays, Stays::UntilLabel("fault_on".into()));
}

#[test]
fn a_full_scenario_survives_writing() {
    let scenario = good(FULL);
    let text = write(&scenario);
    assert_eq!(good(&text), scenario);
    assert_eq!(write(&good(&text)), text);
}
#[test]
fn dump() {
    for text in std::fs::read_to_string("/tmp/bad.txt").unwrap().split("=====\n") {
        println!("-----\n{text}");
        match parse(&format!("ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n{text}")) {
            Ok(_) => println!(">>>> OK"),
            Err(m) => {
                for m in &m {
                    let t = format!("ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n{text}");
                    println!(">>>> {} [{}]", told(&t, std::slice::from_ref(m)), &t[m.span.clone()])
                }
            }
        }
    }
}
