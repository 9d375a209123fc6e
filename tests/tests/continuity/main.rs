//! Goal: what continuity promises beside its reading: a beep in time, an EMF that cancels, flags
//! where current or direction leave a doubt, a null that belongs to its leads.
//!
//! Method: small circuits through the whole simulated instrument. What is true stands in the
//! circuit, and a reading is compared with it by the doubt that it states of itself.

mod beeper;
mod doubt;
mod flags;

use ohmwarden_core::judge::{Reading, Verdict};
use ohmwarden_core::tone::Tone;
use ohmwarden_sim::scenario::parse;
use ohmwarden_sim::world::{Observer, Report, Snapshot, World};

/// The clips of the leads held together, and nulled.
const NULLED: &str = r#"
[part.clips.switch]
closed = true
on_ohms = 0.001
across = ["lead.pos", "lead.neg"]
[[at]]
s = 0.6
press = "null"
[[at]]
s = 4.0
release = "null"
"#;

/// A run of a continuity test at 200 mA: leads of `lead_ohms`, `circuit` joined to them.
fn text(lead_ohms: f64, seconds: f64, circuit: &str) -> String {
    format!(
        r#"
ohmwarden = 1
why = "A continuity test."
seconds = {seconds}
limit = {{ at_most_ohms = 100 }}
[start]
function = "continuity"
amps = 0.2
lead_ohms = {lead_ohms}
{circuit}
"#
    )
}

/// The test key held from 0.6 s to 4.0 s.
const PRESS: &str = "[[at]]\ns = 0.6\npress = \"test\"\n[[at]]\ns = 4.0\nrelease = \"test\"\n";

/// A resistor across the leads.
fn resistor(ohms: f64) -> String {
    format!("[part.load.resistor]\nohms = {ohms}\nacross = [\"lead.pos\", \"lead.neg\"]\n")
}

/// When the tone for joined leads began and ended.
#[derive(Default)]
struct Ear {
    sounds: bool,
    changes: Vec<(f64, bool)>,
}

impl Observer for Ear {
    fn sample(&mut self, now: &Snapshot) {
        let sounds = now.tone == Tone::Joined;
        if sounds != self.sounds {
            self.sounds = sounds;
            self.changes.push((now.seconds, sounds));
        }
    }
}

fn run(text: &str) -> (Ear, Report) {
    let scenario = parse(text).expect("a scenario");
    let world = World::new(&scenario, &()).expect("a circuit that can be solved");
    let mut ear = Ear::default();
    let report = world.run(&mut ear).expect("a circuit that does not diverge");
    assert!(report.held(), "a rule broke:\n{text}");
    (ear, report)
}

/// The reading that is left at the end, with its verdict.
fn read(text: &str) -> (Reading, Verdict) {
    let (_, report) = run(text);
    let view = report.last.view.expect("the view has been shown");
    (view.main, view.judged.expect("a limit was given").verdict())
}
