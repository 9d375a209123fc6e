//! What a person at the instrument could tell of a run from a moment on.

use std::collections::BTreeSet;

use ohmwarden_core::commands::Event as Change;
use ohmwarden_core::judge::{Flags, Judged, Verdict};
use ohmwarden_sim::circuit::Diverged;
use ohmwarden_sim::scenario::Scenario;
use ohmwarden_sim::world::{Observer, Report, Snapshot, World};

/// A source that is off for longer begins a new drive, seconds.
const GAP: f64 = 0.011;
/// From here on the source counts as on, amperes.
const ON_AMPS: f64 = 50.0e-6;

/// What was seen.
#[derive(Clone, Debug, Default)]
pub struct Story {
    /// `state:reason` of every change, `flag:..` of every committed reading, `live`, `dead`.
    pub signs: BTreeSet<String>,
    /// The verdicts in their order: `pass`, `fail`, `undecided`.
    pub verdicts: Vec<&'static str>,
    /// The amounts of the readings they are of, ohms.
    pub ohms: Vec<f32>,
    /// Drives begun.
    pub drives: usize,
    /// When the source was last on, seconds.
    pub last_on: f64,
    from: f64,
    judged: Option<Judged>,
}

impl Story {
    /// Whether it differs from that of a sound instrument in anything that is told.
    #[must_use]
    pub fn differs(&self, sound: &Self) -> bool {
        self.signs != sound.signs || self.verdicts != sound.verdicts || self.drives != sound.drives
    }

    /// Whether a sign was seen, or a verdict was told.
    #[must_use]
    pub fn has(&self, sign: &str) -> bool {
        match sign {
            "undecided" | "fail" => self.verdicts.contains(&sign),
            _ => self.signs.contains(sign),
        }
    }

    /// Passes that were told.
    #[must_use]
    pub fn passes(&self) -> usize {
        self.verdicts.iter().filter(|verdict| **verdict == "pass").count()
    }

    /// What it has and that of a sound instrument has not.
    #[must_use]
    pub fn beyond<'a>(&'a self, sound: &'a Self) -> Vec<&'a str> {
        self.signs.difference(&sound.signs).map(String::as_str).collect()
    }

    fn judge(&mut self, judged: Option<Judged>) {
        if judged == self.judged {
            return;
        }
        self.judged = judged;
        let Some(judged) = judged else { return };
        let verdict = judged.verdict();
        self.verdicts.push(Verdict::WORDS[verdict.index()]);
        let reading = judged.reading();
        self.ohms.push(reading.value.amount().unwrap_or(f32::NAN));
        let flags = Flags::WORDS.iter().filter(|(flag, _)| reading.flags.any(*flag));
        self.signs.extend(flags.map(|(_, word)| format!("flag:{word}")));
    }
}

impl Observer for Story {
    fn sample(&mut self, now: &Snapshot) {
        if ON_AMPS < now.source_amps {
            if now.seconds >= self.from && now.seconds - self.last_on > GAP {
                self.drives += 1;
            }
            self.last_on = now.seconds;
        }
        if now.seconds < self.from {
            self.judged = now.view.and_then(|view| view.judged);
            return;
        }
        let Some(view) = &now.view else { return };
        self.judge(view.judged);
        for (told, sign) in [(view.live, "live"), (view.claims_dead, "dead")] {
            if told && !self.signs.contains(sign) {
                self.signs.insert(sign.into());
            }
        }
    }

    fn change(&mut self, now: &Snapshot, change: &Change) {
        if now.seconds >= self.from {
            let view = now.view.as_ref();
            let reason = change.reason.or(view.map(|view| view.reason));
            let reason = reason.map_or("", |reason| reason.word());
            self.signs.insert(format!("{}:{reason}", change.to.word()));
        }
    }
}

/// Runs a scenario and tells what was seen from `from` on.
///
/// # Errors
/// The circuit found no operating point.
///
/// # Panics
/// The circuit cannot be solved at all: a mistake of the test.
pub fn tell(scenario: &Scenario, from: f64) -> Result<(Report, Story), Diverged> {
    let mut story = Story { from, last_on: f64::NEG_INFINITY, ..Story::default() };
    let world = World::new(scenario, &()).expect("a circuit that can be solved");
    let report = world.run(&mut story)?;
    Ok((report, story))
}
