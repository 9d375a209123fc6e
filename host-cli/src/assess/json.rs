//! The answer for a program: one JSON object.

use std::io::{self, Write};

use ohmwarden_core::judge::{Judged, Limit, Reading, Rule, Value, Verdict};
use ohmwarden_core::limits::{Entry, Source, next_step};
use serde::Serialize;

use super::Answer;
use super::book::Book;
use super::human::{celsius, flags};
use super::outcome::Outcome;
use crate::caution;
use crate::run::trouble::Trouble;

/// A whole answer.
#[derive(Serialize)]
struct Whole<'a> {
    readings: Vec<Judgement<'a>>,
    errors: &'a [Trouble],
    summary: Summary,
    caution: &'static str,
}

#[derive(Serialize)]
struct Summary {
    pass: usize,
    fail: usize,
    undecided: usize,
    refused: usize,
}

#[derive(Serialize)]
struct Judgement<'a> {
    name: &'a str,
    line: Option<usize>,
    shown: String,
    reading: Number,
    verdict: &'static str,
    why: Option<String>,
    rule: Option<&'static str>,
    /// In the base unit, on either side of the limit.
    guard: Option<f32>,
    limit: Option<Held<'a>>,
    correction: Option<Correction>,
    notes: &'a [String],
    next: Option<&'static str>,
}

/// A reading in its base unit.
#[derive(Serialize)]
struct Number {
    /// `number`, `below`, `above` or `none`.
    kind: &'static str,
    amount: Option<f32>,
    unit: &'static str,
    doubt: f32,
    flags: Vec<&'static str>,
}

#[derive(Serialize)]
struct Held<'a> {
    side: &'static str,
    value: f32,
    unit: &'static str,
    #[serde(flatten)]
    named: Option<Named<'a>>,
}

#[derive(Serialize)]
struct Named<'a> {
    id: u16,
    word: &'a str,
    about: &'a str,
    test_volts: Option<i32>,
    at_celsius: Option<f64>,
    source: Origin<'a>,
    remark: Option<&'a str>,
}

#[derive(Serialize)]
struct Origin<'a> {
    cited: &'a str,
    edition: &'a str,
    standing: &'static str,
}

#[derive(Serialize)]
struct Correction {
    raw: Number,
    rule: &'static str,
    celsius: f64,
    to_celsius: f64,
    source: Origin<'static>,
}

/// Writes the answer.
///
/// # Errors
/// What the writer reports.
pub(super) fn write(answer: &Answer<'_>, out: &mut dyn Write) -> io::Result<()> {
    let count = |word| answer.outcomes.iter().filter(|(_, it)| it.word() == word).count();
    let whole = Whole {
        readings: answer.outcomes.iter().map(|(line, it)| judgement(*line, it)).collect(),
        errors: &answer.troubles,
        summary: Summary {
            pass: count("pass"),
            fail: count("fail"),
            undecided: count("undecided"),
            refused: count("refused"),
        },
        caution: caution::ASSESSED,
    };
    serde_json::to_writer_pretty(&mut *out, &whole)?;
    writeln!(out)
}

/// Writes every limit.
///
/// # Errors
/// What the writer reports.
pub(super) fn list(book: &Book, out: &mut dyn Write) -> io::Result<()> {
    #[derive(Serialize)]
    struct Limits<'a> {
        limits: Vec<Held<'a>>,
    }
    let limits = book.all().map(|entry| held(entry.limit, entry.of.symbol(), Some(entry)));
    serde_json::to_writer_pretty(&mut *out, &Limits { limits: limits.collect() })?;
    writeln!(out)
}

fn judgement<'a>(line: Option<usize>, outcome: &'a Outcome<'_>) -> Judgement<'a> {
    let judged = outcome.judged.as_ref();
    Judgement {
        name: &outcome.name,
        line,
        shown: outcome.shown(),
        reading: number(outcome.reading()),
        verdict: outcome.word(),
        why: why(outcome),
        rule: judged.map(|it| match it.rule() {
            Rule::Guarded => "guarded",
            Rule::Simple => "simple",
        }),
        guard: judged.map(Judged::guard),
        limit: judged.map(|it| held(it.limit(), it.reading().unit.symbol(), outcome.entry)),
        correction: outcome.corrected.map(|it| Correction {
            raw: number(it.raw),
            rule: it.rule.word(),
            celsius: celsius(it.temperature),
            to_celsius: celsius(it.to),
            source: origin(it.rule.source()),
        }),
        notes: &outcome.notes,
        next: judged.map(next_step),
    }
}

fn why(outcome: &Outcome<'_>) -> Option<String> {
    match (&outcome.refused, outcome.judged.map(|it| it.verdict())) {
        (Some(why), _) => Some(why.clone()),
        (None, Some(Verdict::Undecided(why))) => Some(why.sentence().to_owned()),
        _ => None,
    }
}

fn number(reading: Reading) -> Number {
    let kind = match reading.value {
        Value::None => "none",
        Value::Number(_) => "number",
        Value::Below(_) => "below",
        Value::Above(_) => "above",
    };
    Number {
        kind,
        amount: reading.value.amount(),
        unit: reading.unit.symbol(),
        doubt: reading.doubt,
        flags: flags(reading.flags),
    }
}

fn held<'a>(limit: Limit, unit: &'static str, entry: Option<Entry<'a>>) -> Held<'a> {
    let (side, value) = match limit {
        Limit::AtLeast(value) => ("at_least", value),
        Limit::AtMost(value) => ("at_most", value),
    };
    let named = entry.map(|entry| Named {
        id: entry.id,
        word: entry.word,
        about: entry.about,
        test_volts: entry.set.map(|set| set.as_volts()),
        at_celsius: entry.at.map(celsius),
        source: origin(entry.source),
        remark: entry.remark.map(|remark| remark.says),
    });
    Held { side, value, unit, named }
}

fn origin(source: Source<'_>) -> Origin<'_> {
    let Source { cited, edition, standing, .. } = source;
    Origin { cited, edition, standing: standing.word() }
}
