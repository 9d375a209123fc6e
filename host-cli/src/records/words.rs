//! Words for what stands in a record.

use ohmwarden_core::frame::Function;
use ohmwarden_core::judge::{Flags, Limit, Rule, Value, Verdict, Why};
use ohmwarden_core::profile::{GENERAL, LOW_VOLTAGE, TELECOM, WET};

/// The function.
pub(super) const fn function(function: Function) -> &'static str {
    match function {
        Function::Continuity(_) => "continuity",
        Function::Insulation(_) => "insulation",
        Function::Resistance => "resistance",
        Function::Timed(_, test) => test.word(),
        Function::Volts => "volts",
        _ => "none",
    }
}

/// What it was set to: a number and its unit.
pub(super) fn set(function: Function) -> Option<(f64, &'static str)> {
    match function {
        Function::Continuity(i) => Some((i.as_picoamps() as f64 / 1e12, "A")),
        Function::Insulation(v) | Function::Timed(v, _) => {
            Some((f64::from(v.as_microvolts()) / 1e6, "V"))
        }
        _ => None,
    }
}

/// How a value bounds what is measured.
pub(super) const fn bound(value: Value) -> &'static str {
    match value {
        Value::None => "none",
        Value::Number(_) => "number",
        Value::Below(_) => "below",
        Value::Above(_) => "above",
    }
}

/// The kind of a limit.
pub(super) const fn limit(limit: Limit) -> (&'static str, f32) {
    match limit {
        Limit::AtLeast(limit) => ("at_least", limit),
        Limit::AtMost(limit) => ("at_most", limit),
    }
}

/// The rule of judgement.
pub(super) const fn rule(rule: Rule) -> &'static str {
    match rule {
        Rule::Guarded => "guarded",
        Rule::Simple => "simple",
    }
}

/// The verdict; `none` for what was not judged.
pub(super) fn verdict(verdict: Option<Verdict>) -> &'static str {
    verdict.map_or("none", |verdict| Verdict::WORDS[verdict.index()])
}

/// Why nothing could be said.
pub(super) const fn why(verdict: Option<Verdict>) -> Option<&'static str> {
    let Some(Verdict::Undecided(why)) = verdict else { return None };
    Some(match why {
        Why::NoReading => "no_reading",
        Why::Flagged => "flagged",
        Why::GuardBand => "guard_band",
        Why::BoundTooWeak => "bound_too_weak",
        Why::NotANumber => "not_a_number",
    })
}

/// The flags.
pub(super) fn flags(flags: Flags) -> Vec<&'static str> {
    Flags::WORDS.iter().filter(|(flag, _)| flags.any(*flag)).map(|(_, word)| *word).collect()
}

/// The profile.
pub(super) fn profile(id: u8) -> String {
    let known = [GENERAL, TELECOM, LOW_VOLTAGE, WET].into_iter().find(|known| known.id == id);
    match known {
        Some(profile) => profile.name.to_owned(),
        None if id >= 128 => format!("user's own {id}"),
        None => format!("unknown {id}"),
    }
}
