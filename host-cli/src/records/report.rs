//! The answer: a table for a person, CSV for a sheet, JSON for a program.

use std::io::{self, Write};
use std::path::Path;

use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::Record;
use ohmwarden_core::text;
use ohmwarden_core::view::reading_text;
use serde::Serialize;

use super::find::{Findings, Other, Part};
use super::row::Row;
use super::words;
use crate::caution;
use crate::layout::{Cell, quantity, table, wrapped};
use crate::look::Look;

/// Writes a table of the records, then the rest, what is damaged, and the caution.
pub(super) fn human(
    file: &Path,
    found: &Findings,
    look: Look,
    out: &mut dyn Write,
) -> io::Result<()> {
    let records = counted(found.records.len(), "record");
    writeln!(out, "{} as {}: {records}", file.display(), found.what.word())?;
    if !found.records.is_empty() {
        let heads = ["serial", "day", "function", "set", "reading", "beside", "verdict", "notes"];
        let mut rows = vec![heads.map(|head| Cell::left(head).painted(|t| look.head(t))).to_vec()];
        rows.extend(found.records.iter().map(|(_, record)| line(record, look)));
        table(&rows, "", out)?;
    }
    if let Some((serial, kept)) = &found.kept {
        let older =
            if found.older == 0 { String::new() } else { format!(", {} older", found.older) };
        writeln!(out, "kept (number {serial}{older}): {}", kept_words(kept))?;
    }
    for other in &found.others {
        let Other { offset, kind, version, serial, bytes, says } = other;
        let says = if says.is_empty() {
            format!("version {version}, {bytes} bytes")
        } else {
            says.clone()
        };
        writeln!(out, "{kind} at byte {offset}: number {serial}, {says}")?;
    }
    for part in &found.damaged {
        writeln!(out, "{}", look.bad(&part.to_string()))?;
    }
    if found.damaged.is_empty() {
        writeln!(out, "nothing is damaged")?;
    }
    for line in wrapped(caution::RECORDS, look.width) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

fn counted(count: usize, what: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {what}{plural}")
}

fn line(record: &Record, look: Look) -> Vec<Cell> {
    let about = record.about();
    let main = record.finding().reading();
    let verdict = words::verdict(record.verdict());
    let mut notes = words::flags(main.flags).into_iter().map(str::to_owned).collect::<Vec<_>>();
    notes.extend(words::why(record.verdict()).map(|why| format!("({why})")));
    if let Some(null) = about.null {
        let ohms = null.resistance.as_milliohms() as f64 / 1e3;
        let age = null.age_days.map_or(String::new(), |days| format!(", {days} d old"));
        notes.push(format!("null {}{age}", quantity(ohms, "ohm")));
    }
    if let Some(correction) = about.correction {
        let celsius = f64::from(correction.temperature.as_millicelsius()) / 1e3;
        let raw = correction.raw.amount().unwrap_or(f32::NAN);
        let raw = text::engineering(raw, main.unit.symbol(), 0.0);
        let rule = correction.by_rule().map_or(String::new(), |rule| format!(", {}", rule.word()));
        notes.push(format!("raw {raw} at {celsius} C{rule}"));
    }
    if !about.curve.is_empty() {
        notes.push(counted(about.curve.len(), "point"));
    }
    vec![
        Cell::right(record.serial().to_string()),
        Cell::left(about.day.map_or("--".to_owned(), |day| day.to_string())),
        Cell::left(words::function(about.function)),
        Cell::right(words::set(about.function).map_or("--".to_owned(), |(x, u)| quantity(x, u))),
        Cell::right(reading_text(&main).as_str()),
        Cell::right(reading_text(&about.second).as_str()),
        Cell::left(verdict).painted(|text| match verdict {
            "pass" => look.good(text),
            "fail" => look.bad(text),
            _ => text.to_owned(),
        }),
        Cell::left(notes.join(", ")),
    ]
}

fn kept_words(kept: &Kept) -> String {
    let null = kept.null.map(|null| quantity(null.as_milliohms() as f64 / 1e3, "ohm"));
    let day = kept.null_day.map_or(String::new(), |day| format!(" of {day}"));
    let mut words =
        vec![null.map_or("no lead null".to_owned(), |null| format!("lead null {null}{day}"))];
    words.extend(kept.open_leads.map(|leads| {
        let volts = f64::from(leads.set.as_microvolts()) / 1e6;
        let amps = leads.leakage.as_picoamps() as f64 / 1e12;
        format!("open leads leak {} at {}", quantity(amps, "A"), quantity(volts, "V"))
    }));
    words.extend(kept.lock.map(|lock| format!("locked: {}", lock.word())));
    words.extend(kept.unfinished.then(|| "a drive was not finished".to_owned()));
    words.join(", ")
}

/// Writes a head and one row a record.
pub(super) fn csv(found: &Findings, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", Row::HEADS.join(","))?;
    for (offset, record) in &found.records {
        writeln!(out, "{}", Row::of(*offset, record).columns().join(","))?;
    }
    Ok(())
}

/// Writes one object: records, what was kept, other blocks, damaged parts.
pub(super) fn json(file: &Path, found: &Findings, out: &mut dyn Write) -> io::Result<()> {
    #[derive(Serialize)]
    struct Answer<'a> {
        file: String,
        r#as: &'static str,
        records: Vec<Row>,
        kept: Option<KeptAnswer>,
        others: &'a [Other],
        damaged: &'a [Part],
    }
    let records = found.records.iter().map(|(offset, record)| Row::of(*offset, record)).collect();
    let answer = Answer {
        file: file.display().to_string(),
        r#as: found.what.word(),
        records,
        kept: found.kept.as_ref().map(|(serial, kept)| KeptAnswer::of(*serial, kept)),
        others: &found.others,
        damaged: &found.damaged,
    };
    serde_json::to_writer_pretty(&mut *out, &answer)?;
    writeln!(out)
}

#[derive(Serialize)]
struct KeptAnswer {
    serial: u32,
    null_ohms: Option<f64>,
    null_day: Option<String>,
    open_leads_volts: Option<f64>,
    open_leads_amperes: Option<f64>,
    open_leads_farads: Option<f64>,
    lock: Option<&'static str>,
    unfinished: bool,
}

impl KeptAnswer {
    fn of(serial: u32, kept: &Kept) -> Self {
        let leads = kept.open_leads;
        Self {
            serial,
            null_ohms: kept.null.map(|null| null.as_milliohms() as f64 / 1e3),
            null_day: kept.null_day.map(|day| day.to_string()),
            open_leads_volts: leads.map(|leads| f64::from(leads.set.as_microvolts()) / 1e6),
            open_leads_amperes: leads.map(|leads| leads.leakage.as_picoamps() as f64 / 1e12),
            open_leads_farads: leads
                .map(|leads| f64::from(leads.capacitance.as_picofarads()) / 1e12),
            lock: kept.lock.map(|lock| lock.word()),
            unfinished: kept.unfinished,
        }
    }
}
