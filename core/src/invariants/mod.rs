//! What must always hold, watched in every run by one [`Watch`].
//!
//! The watch stands apart from the decisions: it is told what really is ([`Truth`], which only a
//! simulated world can fill in) and what the instrument did ([`Observed`]), keeps the ages that the
//! rules need, and gives for each rule the smallest margin and how often the rule was exercised.
//! The simulator, the property tests, the model checker and the fuzzer step this same watch; no
//! scenario can switch a rule off.

mod drive;
mod let_down;
mod promise;
mod reading;
mod rule;
mod say;
mod truth;

pub use promise::{Arrival, promise};
pub use rule::{Margin, Rule};
pub use truth::{GateSeen, Observed, Truth};

use crate::profile::Profile;

use drive::DriveRules;
use let_down::LetDownRules;
use reading::ReadingRules;
use say::SayRules;

/// Below this the source counts as off, in amperes.
const OFF_AMPS: f32 = 50.0e-6;

/// All margins, by rule.
type Margins = [Margin; Rule::ALL.len()];

/// Watches one run.
#[derive(Clone, Debug)]
pub struct Watch {
    profile: &'static Profile,
    margins: Margins,
    drive: DriveRules,
    let_down: LetDownRules,
    say: SayRules,
    reading: ReadingRules,
}

impl Watch {
    /// Nothing seen yet.
    #[must_use]
    pub fn new(profile: &'static Profile) -> Self {
        Self {
            profile,
            margins: [Margin::NOT_REACHED; Rule::ALL.len()],
            drive: DriveRules::default(),
            let_down: LetDownRules::default(),
            say: SayRules::default(),
            reading: ReadingRules::default(),
        }
    }

    /// Takes one sample: what really is, and what the gate did.
    pub fn sample(&mut self, truth: &Truth, gate: &GateSeen) {
        self.drive.sample(&mut self.margins, truth, gate);
        self.let_down.sample(&mut self.margins, truth, self.profile);
        self.say.sample(truth);
    }

    /// Takes one block: what the instrument did.
    pub fn block(&mut self, truth: &Truth, observed: &Observed) {
        self.drive.block(&mut self.margins, truth, observed, self.profile);
        self.let_down.block(&mut self.margins, truth, observed, self.profile);
        self.say.block(&mut self.margins, truth, observed, self.profile);
        self.reading.block(&mut self.margins, truth, observed, self.profile);
    }

    /// The instrument was reset: what it knew of keys and proofs is gone, the world is not.
    pub fn reset(&mut self) {
        self.drive.reset();
        self.say.reset();
        self.reading = ReadingRules::default();
    }

    /// The margin of a rule.
    #[must_use]
    pub fn margin(&self, rule: Rule) -> Margin {
        self.margins.get(rule.index()).copied().unwrap_or(Margin::NOT_REACHED)
    }

    /// The rule that came closest to breaking, by held or not and then in its own unit.
    #[must_use]
    pub fn broken(&self) -> Option<Rule> {
        Rule::ALL.iter().copied().find(|rule| self.margin(*rule).held() == Some(false))
    }
}

fn note(margins: &mut Margins, rule: Rule, amount: f32, at_us: u64) {
    if let Some(margin) = margins.get_mut(rule.index()) {
        margin.note(amount, at_us);
    }
}

/// A rule that holds or does not.
fn note_holds(margins: &mut Margins, rule: Rule, holds: bool, at_us: u64) {
    note(margins, rule, if holds { 1.0 } else { -1.0 }, at_us);
}

/// Milliseconds between two moments in microseconds; 0 where the second is earlier.
#[expect(clippy::cast_precision_loss, reason = "a margin has three digits")]
fn millis(from_us: u64, to_us: u64) -> f32 {
    to_us.saturating_sub(from_us) as f32 / 1.0e3
}

#[expect(clippy::cast_precision_loss, reason = "a margin has three digits")]
fn volts(v: crate::unit::Voltage) -> f32 {
    v.as_microvolts() as f32 / 1.0e6
}
