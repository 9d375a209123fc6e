//! The answer for a program: one JSON object.
//!
//! It holds nothing that differs between two runs of the same input: no clock, no speed.

use std::io::{self, Write};

use ohmwarden_core::invariants::Rule;
use serde::Serialize;

use super::score::{Entry, Subject};
use super::summary::Summary;
use super::trouble::Trouble;

/// A whole answer.
#[derive(Debug, Serialize)]
struct Answer<'a> {
    scenarios: Vec<Scenario<'a>>,
    errors: &'a [Trouble],
    /// Not everything was played, because a person asked to stop.
    stopped: bool,
}

/// One scenario, over all of its cases.
#[derive(Debug, Serialize)]
struct Scenario<'a> {
    name: &'a str,
    file: String,
    why: &'a str,
    cases: usize,
    cases_played: usize,
    held: bool,
    digest: String,
    seconds_simulated: f64,
    worst: Option<Worst<'a>>,
    rules: Vec<Listed<'a>>,
    expectations: Vec<Listed<'a>>,
    /// Cases that did not come to their end.
    defects: Vec<Defect<'a>>,
    reached: Reached<'a>,
}

/// A rule or an expectation.
#[derive(Debug, Serialize)]
struct Listed<'a> {
    name: &'a str,
    #[serde(skip_serializing_if = "str::is_empty")]
    note: &'a str,
    held: Option<bool>,
    margin: Option<f64>,
    unit: &'static str,
    /// The margin as a part of what is allowed.
    relative: Option<f64>,
    exercised: u64,
    at_seconds: Option<f64>,
    /// The case of the margin, from 1.
    case: Option<usize>,
}

/// What came closest to breaking.
#[derive(Debug, Serialize)]
struct Worst<'a> {
    kind: &'static str,
    #[serde(flatten)]
    listed: Listed<'a>,
    /// The swept values of that case.
    values: serde_json::Map<String, serde_json::Value>,
}

#[derive(Debug, Serialize)]
struct Defect<'a> {
    name: &'static str,
    words: &'a str,
    case: usize,
}

#[derive(Debug, Serialize)]
struct Reached<'a> {
    states: Vec<&'a str>,
    reasons: Vec<&'a str>,
    classes: Vec<&'a str>,
}

/// Writes the answer and nothing else.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(
    summaries: &[&Summary],
    errors: &[Trouble],
    stopped: bool,
    out: &mut dyn Write,
) -> io::Result<()> {
    let scenarios = summaries.iter().map(|summary| scenario(summary)).collect();
    serde_json::to_writer_pretty(&mut *out, &Answer { scenarios, errors, stopped })?;
    writeln!(out)
}

/// Writes one scenario as an object of its own.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write_one(summary: &Summary, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &scenario(summary))?;
    writeln!(out)
}

fn scenario<'a>(summary: &'a Summary) -> Scenario<'a> {
    let of = |rules: bool| {
        let wanted = move |entry: &&Entry| matches!(entry.subject, Subject::Rule(_)) == rules;
        summary.entries.iter().filter(wanted).map(|entry| listed(summary, entry)).collect()
    };
    Scenario {
        name: &summary.name,
        file: summary.file.display().to_string(),
        why: &summary.why,
        cases: summary.cases,
        cases_played: summary.played,
        held: summary.held(),
        digest: format!("{:016x}", summary.digest),
        seconds_simulated: summary.simulated,
        worst: worst(summary),
        rules: of(true),
        expectations: of(false),
        defects: summary
            .defects
            .iter()
            .map(|(case, it)| Defect { name: it.name, words: &it.words, case: case + 1 })
            .collect(),
        reached: Reached {
            states: summary.reached.states.iter().copied().collect(),
            reasons: summary.reached.reasons.iter().copied().collect(),
            classes: summary.reached.classes.iter().copied().collect(),
        },
    }
}

fn listed<'a>(summary: &'a Summary, entry: &Entry) -> Listed<'a> {
    let note = match entry.subject {
        Subject::Rule(_) => "",
        Subject::Expectation(place) => summary.expectations.get(place).map_or("", |it| &it.note),
    };
    Listed {
        name: summary.name_of(entry),
        note,
        held: entry.held,
        margin: entry.margin,
        unit: entry.unit,
        relative: entry.relative,
        exercised: entry.exercised,
        at_seconds: entry.at_seconds,
        case: entry.held.map(|_| entry.case + 1),
    }
}

fn worst<'a>(summary: &'a Summary) -> Option<Worst<'a>> {
    let swept = summary.swept.iter();
    let values = swept.map(|(name, value)| (name.clone(), (*value).into())).collect();
    if let Some((case, defect)) = summary.defects.first() {
        let never = Entry {
            subject: Subject::Rule(Rule::FailToOff),
            held: Some(false),
            margin: None,
            unit: "rule",
            relative: None,
            exercised: 0,
            at_seconds: None,
            case: *case,
        };
        let listed = Listed { name: defect.name, note: &defect.words, ..listed(summary, &never) };
        return Some(Worst { kind: "defect", listed, values });
    }
    let entry = summary.worst()?;
    let kind = match entry.subject {
        Subject::Rule(_) => "rule",
        Subject::Expectation(_) => "expectation",
    };
    Some(Worst { kind, listed: listed(summary, entry), values })
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;
    use crate::run::score::tests::rule;
    use crate::run::summary::tests::summary;

    fn read(summaries: &[Summary]) -> Value {
        let mut out = Vec::new();
        write(&summaries.iter().collect::<Vec<_>>(), &[], false, &mut out).unwrap();
        serde_json::from_slice(&out).unwrap()
    }

    #[test]
    fn what_was_never_reached_is_null_and_not_held() {
        let entries =
            vec![rule(Rule::SayLive, None, 0.0, 0), rule(Rule::NeverBoth, Some(true), 0.2, 3)];
        let answer = read(&[summary("a", entries)]);
        let rules = &answer["scenarios"][0]["rules"];
        assert_eq!(rules[0]["name"], "say_live");
        assert!(rules[0]["held"].is_null() && rules[0]["margin"].is_null());
        assert_eq!(rules[1]["margin"], 2.0);
        let worst = &answer["scenarios"][0]["worst"];
        assert_eq!((&worst["name"], &worst["case"]), (&Value::from("never_both"), &Value::from(4)));
        assert_eq!(worst["values"]["phase"], 45.0);
    }

    #[test]
    fn a_rule_that_broke_without_a_distance_still_gives_a_number() {
        let mut entry = rule(Rule::SayLive, Some(false), -1.0, 0);
        entry.margin = Some(f64::from(f32::MIN));
        let answer = read(&[summary("a", vec![entry])]);
        assert!(answer["scenarios"][0]["rules"][0]["margin"].is_number());
    }

    #[test]
    fn a_defect_is_the_worst_of_all() {
        let mut broken = summary("a", vec![rule(Rule::SayLive, Some(false), -1.0, 0)]);
        let defect = super::super::play::Defect { name: "sim_diverged", words: "why".to_owned() };
        broken.defects.push((2, defect));
        let answer = read(&[broken]);
        assert_eq!(answer["scenarios"][0]["worst"]["kind"], "defect");
        assert_eq!(answer["scenarios"][0]["worst"]["name"], "sim_diverged");
        assert_eq!(answer["scenarios"][0]["held"], false);
    }
}
