//! How close each rule and each expectation came to breaking, on one scale for all of them.

use core::cmp::Ordering;

use ohmwarden_core::invariants::{Margin, Rule};
use ohmwarden_sim::expect::Outcome;
use ohmwarden_sim::scenario::{Function, Scenario};

/// What an entry is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Subject {
    /// A rule that holds in every run.
    Rule(Rule),
    /// An expectation of the scenario, by its place in it.
    Expectation(usize),
}

/// What one rule or expectation came to, in one case or over many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Entry {
    pub(crate) subject: Subject,
    /// Whether it held; `None` where it was never reached.
    pub(crate) held: Option<bool>,
    /// The smallest distance from breaking, in `unit`.
    pub(crate) margin: Option<f64>,
    pub(crate) unit: &'static str,
    /// The margin as a part of what the rule allows.
    pub(crate) relative: Option<f64>,
    pub(crate) exercised: u64,
    /// When the smallest was seen.
    pub(crate) at_seconds: Option<f64>,
    /// The case that it was seen in, from 0.
    pub(crate) case: usize,
}

impl Entry {
    /// A rule's margin in one case.
    pub(crate) fn of_rule(rule: Rule, margin: &Margin, scenario: &Scenario, case: usize) -> Self {
        // A rule that broke without a distance still gives a number that JSON can hold.
        let amount = margin.amount.map(|amount| f64::from(amount.clamp(f32::MIN, f32::MAX)));
        Self {
            subject: Subject::Rule(rule),
            held: margin.held(),
            margin: amount,
            unit: rule.unit(),
            relative: amount.map(|amount| amount / scale(rule, scenario)),
            exercised: u64::from(margin.exercised),
            at_seconds: amount.map(|_| margin.at_us as f64 / 1.0e6),
            case,
        }
    }

    /// An expectation's outcome in one case.
    pub(crate) fn of_expectation(place: usize, outcome: &Outcome, case: usize) -> Self {
        Self {
            subject: Subject::Expectation(place),
            held: outcome.held,
            margin: outcome.margin,
            unit: outcome.unit,
            relative: outcome.score,
            exercised: u64::from(outcome.exercised),
            at_seconds: outcome.at_seconds,
            case,
        }
    }

    /// Tells which of two is worse: first what broke, then an expectation that was never reached,
    /// then by the relative margin; rules that were never reached come last.
    pub(crate) fn urgency(&self, other: &Self) -> Ordering {
        let key = |entry: &Self| match (entry.held, entry.subject) {
            (Some(false), _) => 0,
            (None, Subject::Expectation(_)) => 1,
            (Some(true), _) => 2,
            (None, Subject::Rule(_)) => 3,
        };
        let margin = |entry: &Self| entry.relative.unwrap_or(f64::INFINITY);
        key(self).cmp(&key(other)).then_with(|| margin(self).total_cmp(&margin(other)))
    }

    /// Takes in the same entry of a later case: the worse of both, exercised together.
    pub(crate) fn merge(&mut self, other: &Self) {
        let exercised = self.exercised.saturating_add(other.exercised);
        if other.urgency(self) == Ordering::Less {
            *self = *other;
        }
        self.exercised = exercised;
    }

    /// Whether the scenario held as far as this goes: a rule may stay unreached, an expectation not.
    pub(crate) fn is_fine(&self) -> bool {
        match self.subject {
            Subject::Rule(_) => self.held != Some(false),
            Subject::Expectation(_) => self.held == Some(true),
        }
    }
}

/// What a rule allows, in its own unit: the whole that a margin is a part of.
fn scale(rule: Rule, scenario: &Scenario) -> f64 {
    let profile = scenario.profile.profile();
    match rule {
        // The age that a proof may have.
        Rule::NoDriveWhenLive => 20.0,
        // The promise for the mains; other classes have longer ones.
        Rule::DropOnLive => 6.0,
        Rule::SayLive | Rule::KeepPower => 300.0,
        Rule::ReleaseStops => 20.0,
        Rule::DischargeBeforeRest => f64::from(profile.safe.as_millivolts()) / 1.0e3,
        Rule::RestStaysSafe => 500.0,
        Rule::NeverDischargeTheMains => {
            profile.front_end.discharge_energy.as_microjoules() as f64 / 1.0e6
        }
        Rule::NeverBoth => 1.0,
        Rule::OutputWithinSet => match scenario.start.function {
            Function::Insulation { volts, .. } => 0.25 * volts + 3.0,
            Function::Continuity { .. }
            | Function::Off
            | Function::Resistance
            | Function::Volts => 100.0,
        },
        Rule::BoundedStore => 10.0,
        Rule::BoundedDrive => f64::from(profile.press_max.as_millis()) / 1.0e3,
        Rule::FreshPress => 100.0,
        Rule::NullIsSane => profile.null_max.as_milliohms() as f64 / 1.0e3,
        // One change a range, and one.
        Rule::NoHunting => 7.0,
        // These hold or do not.
        Rule::ButtonsCannotOverride
        | Rule::NoFalseDead
        | Rule::FailToOff
        | Rule::EpochNeverReused
        | Rule::PassiveBeforeCommit
        | Rule::HonestReading => 1.0,
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) fn rule(rule: Rule, held: Option<bool>, relative: f64, case: usize) -> Entry {
        Entry {
            subject: Subject::Rule(rule),
            held,
            margin: held.map(|_| relative * 10.0),
            unit: rule.unit(),
            relative: held.map(|_| relative),
            exercised: 1,
            at_seconds: held.map(|_| 0.5),
            case,
        }
    }

    fn unreached_expectation() -> Entry {
        Entry { subject: Subject::Expectation(0), ..rule(Rule::SayLive, None, 0.0, 0) }
    }

    #[test]
    fn what_broke_is_worse_than_what_was_not_reached_and_that_than_any_margin() {
        let broke = rule(Rule::SayLive, Some(false), -0.01, 0);
        let close = rule(Rule::NeverBoth, Some(true), 0.01, 0);
        let wide = rule(Rule::DropOnLive, Some(true), 0.9, 0);
        let never = rule(Rule::NullIsSane, None, 0.0, 0);
        let mut all = [never, wide, unreached_expectation(), close, broke];
        all.sort_by(Entry::urgency);
        assert_eq!(all, [broke, unreached_expectation(), close, wide, never]);
    }

    #[test]
    fn merging_keeps_the_worse_case_and_counts_both() {
        let mut entry = rule(Rule::SayLive, None, 0.0, 0);
        entry.merge(&rule(Rule::SayLive, Some(true), 0.4, 1));
        entry.merge(&rule(Rule::SayLive, Some(true), 0.2, 2));
        entry.merge(&rule(Rule::SayLive, Some(true), 0.3, 3));
        assert_eq!((entry.case, entry.relative, entry.exercised), (2, Some(0.2), 4));
        entry.merge(&rule(Rule::SayLive, Some(false), -0.1, 4));
        assert_eq!((entry.case, entry.held), (4, Some(false)));
    }

    #[test]
    fn an_expectation_that_one_case_never_reached_does_not_hold() {
        let mut entry =
            Entry { subject: Subject::Expectation(0), ..rule(Rule::SayLive, Some(true), 0.4, 0) };
        assert!(entry.is_fine());
        entry.merge(&Entry { case: 1, ..unreached_expectation() });
        assert_eq!((entry.held, entry.case), (None, 1));
        assert!(!entry.is_fine());
        assert!(rule(Rule::SayLive, None, 0.0, 0).is_fine());
    }
}
