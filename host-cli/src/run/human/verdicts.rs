//! Every rule and every expectation of a scenario with its margin.

use std::io::{self, Write};

use super::{margin, relative};
use crate::layout::{Cell, table, wrapped};
use crate::look::Look;
use crate::run::score::{Entry, Subject};
use crate::run::summary::Summary;

/// Writes the rules, then the expectations; rules that were never reached in one line.
///
/// # Errors
/// What the writer reports.
pub(super) fn write(summary: &Summary, look: Look, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", look.head("rules"))?;
    let of_rules = |entry: &&Entry| matches!(entry.subject, Subject::Rule(_));
    let mut reached: Vec<&Entry> =
        summary.entries.iter().filter(of_rules).filter(|entry| entry.held.is_some()).collect();
    reached.sort_by(|one, other| one.urgency(other));
    let rows: Vec<Vec<Cell>> = reached.iter().map(|entry| row(summary, entry, look)).collect();
    table(&rows, "  ", out)?;
    write_unreached(summary, look, out)?;
    let expectations: Vec<&Entry> =
        summary.entries.iter().filter(|entry| !of_rules(entry)).collect();
    if expectations.is_empty() {
        return Ok(());
    }
    writeln!(out, "{}", look.head("expectations"))?;
    expectations.into_iter().try_for_each(|entry| write_expectation(summary, entry, look, out))
}

fn row(summary: &Summary, entry: &Entry, look: Look) -> Vec<Cell> {
    vec![
        verdict(entry, look),
        Cell::left(summary.name_of(entry)),
        Cell::right(margin(entry)),
        Cell::right(relative(entry)),
        Cell::right(times(entry.exercised)),
        Cell::left(place(summary, entry)),
    ]
}

fn verdict(entry: &Entry, look: Look) -> Cell {
    match entry.held {
        Some(true) => Cell::left("held").painted(|text| look.good(text)),
        Some(false) => Cell::left("BROKE").painted(|text| look.bad(text)),
        None => Cell::left("not reached").painted(|text| look.faint(text)),
    }
}

fn times(count: u64) -> String {
    if count == 1 { "once".to_owned() } else { format!("{count} times") }
}

/// When and, of several cases, where the smallest margin was seen.
fn place(summary: &Summary, entry: &Entry) -> String {
    let Some(at) = entry.at_seconds else { return String::new() };
    let case = if summary.cases > 1 { format!(", case {}", entry.case + 1) } else { String::new() };
    format!("at {at:.4} s{case}")
}

fn write_unreached(summary: &Summary, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let unreached: Vec<&str> = summary
        .entries
        .iter()
        .filter(|entry| entry.held.is_none() && matches!(entry.subject, Subject::Rule(_)))
        .map(|entry| summary.name_of(entry))
        .collect();
    if unreached.is_empty() {
        return Ok(());
    }
    for (number, line) in wrapped(&unreached.join(", "), look.width - 15).iter().enumerate() {
        let head = if number == 0 { "not reached: " } else { "             " };
        writeln!(out, "  {}", look.faint(&format!("{head}{line}")))?;
    }
    Ok(())
}

fn write_expectation(
    summary: &Summary,
    entry: &Entry,
    look: Look,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut rows = vec![vec![verdict(entry, look), Cell::left(summary.name_of(entry))]];
    if entry.held.is_some() {
        let (margin, relative) = (margin(entry), relative(entry));
        let part = if relative.is_empty() { relative } else { format!(" ({relative})") };
        let words =
            format!("{margin}{part}, {}, {}", times(entry.exercised), place(summary, entry));
        rows.push(vec![Cell::left(""), Cell::left(words)]);
    }
    if let Subject::Expectation(number) = entry.subject {
        let note = summary.expectations.get(number).map_or("", |text| text.note.as_str());
        let lines = wrapped(note, look.width - 10);
        rows.extend(lines.into_iter().map(|line| vec![Cell::left(""), Cell::left(line)]));
    }
    table(&rows, "  ", out)
}
