//! The answer for a person: one reading in full, or a table of many and what they come to.

use std::io::{self, Write};

use ohmwarden_core::judge::{Flags, Judged, Limit, Rule, Unit, Verdict};
use ohmwarden_core::limits::{Entry, Source, next_step};
use ohmwarden_core::text::engineering;
use ohmwarden_core::view::reading_text;

use super::Answer;
use super::book::Book;
use super::outcome::Outcome;
use crate::caution;
use crate::layout::{Cell, table, wrapped};
use crate::look::Look;

/// The words at the left take so many letters.
const HEAD: usize = 12;

/// Writes the whole answer.
///
/// # Errors
/// What the writer reports.
pub(super) fn write(answer: &Answer<'_>, look: Look, out: &mut dyn Write) -> io::Result<()> {
    match &answer.outcomes[..] {
        [] => return Ok(()),
        [(None, outcome)] => one(outcome, look, out)?,
        many => sheet(many, answer.troubles.len(), look, out)?,
    }
    writeln!(out)?;
    for line in wrapped(caution::ASSESSED, look.width) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

fn one(outcome: &Outcome<'_>, look: Look, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}  {}", outcome.shown(), verdict(outcome, look))?;
    for (head, text) in lines(outcome) {
        for (number, line) in wrapped(&text, look.width.saturating_sub(HEAD + 2)).iter().enumerate()
        {
            let head = if number == 0 { head } else { "" };
            writeln!(out, "  {head:<HEAD$}{line}")?;
        }
    }
    Ok(())
}

fn verdict(outcome: &Outcome<'_>, look: Look) -> String {
    let word = outcome.word().to_uppercase();
    let why = match (&outcome.refused, outcome.judged.map(|it| it.verdict())) {
        (Some(why), _) => format!(": {why}"),
        (None, Some(Verdict::Undecided(why))) => format!(": {}", why.sentence()),
        _ => String::new(),
    };
    match outcome.word() {
        "pass" => look.good(&word),
        "not judged" => look.faint("(not judged)"),
        _ => look.bad(&word) + &why,
    }
}

/// All there is to say, with the word at the left of each.
fn lines(outcome: &Outcome<'_>) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    if let Some(judged) = &outcome.judged {
        let limit = limit_text(judged.limit(), judged.reading().unit);
        let of = outcome.entry.map_or(String::new(), |it| format!(" ({}: {})", it.word, it.about));
        lines.push(("limit", limit + &of));
        lines.push(("guard band", guard(judged)));
    }
    if outcome.reading().flags != Flags::NONE {
        lines.push(("flags", flags(outcome.reading().flags).join(", ")));
    }
    if let Some(corrected) = outcome.corrected {
        let (at, to) = (celsius(corrected.temperature), celsius(corrected.to));
        let raw = reading_text(&corrected.raw);
        let by = corrected.rule;
        let text = format!(
            "read {raw} at {at} C, brought to {to} C by the rule {} ({})",
            by.word(),
            source(by.source())
        );
        lines.push(("corrected", text));
    }
    if let Some(entry) = outcome.entry {
        lines.push(("source", source(entry.source)));
    }
    lines.extend(outcome.notes.iter().map(|note| ("note", note.clone())));
    if let Some(judged) = &outcome.judged {
        lines.push(("next", next_step(judged).to_owned()));
    }
    lines
}

/// Writes a limit with its side.
pub(super) fn limit_text(limit: Limit, unit: Unit) -> String {
    let (side, value) = match limit {
        Limit::AtLeast(value) => ("at least", value),
        Limit::AtMost(value) => ("at most", value),
    };
    format!("{side} {}", short(value, unit))
}

/// A number that is known exactly, without zeros behind its last digit.
fn short(value: f32, unit: Unit) -> String {
    let text = engineering(value, unit.symbol(), 0.0);
    let (number, unit) = text.split_once(' ').unwrap_or((text.as_str(), ""));
    let bare = if number.contains('.') {
        number.trim_end_matches('0').trim_end_matches('.')
    } else {
        number
    };
    format!("{bare} {unit}").trim().to_owned()
}

fn guard(judged: &Judged) -> String {
    if judged.rule() == Rule::Simple {
        return "none: the number alone decides".to_owned();
    }
    if judged.guard() == 0.0 {
        return "none".to_owned();
    }
    let unit = judged.reading().unit;
    let shown = |value| engineering(value, unit.symbol(), 0.0).trim().to_owned();
    format!("{} (1.64 times the doubt of {})", shown(judged.guard()), shown(judged.reading().doubt))
}

/// The words of the flags.
pub(super) fn flags(flags: Flags) -> Vec<&'static str> {
    Flags::WORDS.iter().filter(|(flag, _)| flags.any(*flag)).map(|(_, word)| *word).collect()
}

fn source(source: Source<'_>) -> String {
    let edition = match source.edition {
        "" => String::new(),
        edition => format!(", {edition}"),
    };
    format!("{}{edition}; {}", source.cited, source.standing.sentence())
}

/// Degrees as a number.
pub(super) fn celsius(temperature: ohmwarden_core::unit::Temperature) -> f64 {
    f64::from(temperature.as_millicelsius()) / 1e3
}

fn sheet(
    rows: &[(Option<usize>, Outcome<'_>)],
    unusable: usize,
    look: Look,
    out: &mut dyn Write,
) -> io::Result<()> {
    let head = ["name", "reading", "verdict", "limit", "why"].map(Cell::left);
    let mut cells = vec![head.to_vec()];
    for (_, outcome) in rows {
        let limit = outcome.judged.map_or(String::new(), |it| {
            let limit = limit_text(it.limit(), it.reading().unit);
            outcome.entry.map_or(limit.clone(), |entry| format!("{limit} ({})", entry.word))
        });
        let word = outcome.word();
        let paint = |text: &str| if outcome.is_good() { look.good(text) } else { look.bad(text) };
        cells.push(vec![
            Cell::left(&outcome.name),
            Cell::right(outcome.shown()),
            Cell::left(word.to_uppercase()).painted(paint),
            Cell::left(limit),
            Cell::left(why(outcome)),
        ]);
    }
    table(&cells, "", out)?;
    notes(rows, look, out)?;
    let count = |word| rows.iter().filter(|(_, it)| it.word() == word).count();
    write!(out, "\n{} rows judged: ", rows.len())?;
    let words = Verdict::WORDS.iter().copied().chain(["refused"]);
    let parts: Vec<String> = words
        .map(|word| (count(word), word))
        .chain([(unusable, "mistakes in rows that cannot be used")])
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    writeln!(out, "{}", parts.join(", "))
}

/// Writes each note once, with the rows that it is of.
fn notes(rows: &[(Option<usize>, Outcome<'_>)], look: Look, out: &mut dyn Write) -> io::Result<()> {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for (_, outcome) in rows {
        for note in &outcome.notes {
            match said.iter_mut().find(|(text, _)| text == note) {
                Some((_, names)) => names.push(&outcome.name),
                None => said.push((note, vec![&outcome.name])),
            }
        }
    }
    for (text, names) in said {
        writeln!(out)?;
        for line in wrapped(&format!("{}: {text}", names.join(", ")), look.width) {
            writeln!(out, "{line}")?;
        }
    }
    Ok(())
}

/// Why a row is no pass, in a few words.
fn why(outcome: &Outcome<'_>) -> String {
    match (&outcome.refused, outcome.judged.map(|it| it.verdict())) {
        (Some(why), _) => why.clone(),
        (None, Some(Verdict::Undecided(why))) => match flags(outcome.reading().flags) {
            words if words.is_empty() => why.sentence().to_owned(),
            words => format!("{} ({})", why.sentence(), words.join(", ")),
        },
        _ => String::new(),
    }
}

/// Lists every limit with its source.
///
/// # Errors
/// What the writer reports.
pub(super) fn list(book: &Book, look: Look, out: &mut dyn Write) -> io::Result<()> {
    for entry in book.all() {
        writeln!(
            out,
            "{}  {}{}",
            look.head(entry.word),
            limit_text(entry.limit, entry.of),
            when(&entry)
        )?;
        let texts = [entry.about.to_owned(), source(entry.source)];
        let remark = entry.remark.map(|remark| remark.says.to_owned());
        for text in texts.into_iter().chain(remark) {
            for line in wrapped(&text, look.width.saturating_sub(4)) {
                writeln!(out, "    {line}")?;
            }
        }
    }
    writeln!(out)?;
    for line in wrapped(caution::ASSESSED, look.width) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

/// Under which conditions a limit holds.
fn when(entry: &Entry<'_>) -> String {
    use ohmwarden_core::limits::Depends;
    let set = entry.set.map(|set| format!("at {} V dc or more", set.as_volts()));
    let at = entry.at.map(|at| format!("at {} C", celsius(at)));
    let depends = match entry.depends {
        Depends::Nothing => None,
        Depends::HarnessTemperature => Some("by temperature".to_owned()),
        Depends::RatedKilovolts => Some("and as much for each kV".to_owned()),
    };
    [depends, set, at].into_iter().flatten().map(|part| format!(", {part}")).collect()
}
