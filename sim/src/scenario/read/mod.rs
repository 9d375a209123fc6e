//! From text to a checked scenario.

use alloc::format;
use alloc::string::ToString;
use alloc::vec::Vec;
use core::ops::Range;

use toml::de::DeTable;

use super::key::Key;
use super::mistake::Mistake;
use super::reader::{Notes, Table};
use super::value::read_whole;
use super::{KNOWN, Known, ProfileName, Scenario};

mod action;
mod event;
mod expect;
mod fault;
mod limit;
mod panel;
mod part;
mod storm;
mod sweep;

/// The version of the format that is read here.
const VERSION: i128 = 1;
/// The longest text that is read, bytes: a bound on the work that a stranger's file can cause.
const TEXT_LENGTH_MAX: usize = 1 << 20;

const SECONDS: Key = Key::number("seconds", 1.0e-3, 7_200.0);

/// Reads a scenario with the names that the simulator knows.
///
/// # Errors
/// Every mistake that was found, in the order of the text; never an empty list.
pub fn parse(text: &str) -> Result<Scenario, Vec<Mistake>> {
    parse_with(text, &KNOWN)
}

/// Reads a scenario with given faults and signals.
///
/// # Errors
/// Every mistake that was found, in the order of the text; never an empty list.
pub fn parse_with(text: &str, known: &Known) -> Result<Scenario, Vec<Mistake>> {
    read_tables(text, |table, notes| read_root(table, known, notes))
}

/// Reads any text of this format: TOML that says its version first, every key asked for by `read`.
///
/// # Errors
/// Every mistake that was found, in the order of the text; never an empty list, except where `read`
/// gives nothing and says nothing.
pub fn read_tables<T>(
    text: &str,
    read: impl FnOnce(&mut Table<'_, '_>, &mut Notes<'_>) -> Option<T>,
) -> Result<T, Vec<Mistake>> {
    let mut notes = Notes::new(text);
    let value = read_root_table(&mut notes, read);
    let mut mistakes = notes.mistakes;
    mistakes.sort_by_key(|mistake| (mistake.span.start, mistake.span.end));
    match value {
        Some(value) if mistakes.is_empty() => Ok(value),
        _ => Err(mistakes),
    }
}

/// Finds the place of a key in a text: `locate(text, &["part", "mains"])`. For mistakes that only
/// show later, when the circuit is built.
#[must_use]
pub fn locate(text: &str, path: &[&str]) -> Option<Range<usize>> {
    let root = DeTable::parse(text).ok()?;
    let mut table = root.get_ref();
    let (last, way) = path.split_last()?;
    for name in way {
        table = table.get(*name)?.get_ref().as_table()?;
    }
    table.get_key_value(*last).map(|(key, _)| key.span())
}

fn read_root_table<T>(
    notes: &mut Notes<'_>,
    read: impl FnOnce(&mut Table<'_, '_>, &mut Notes<'_>) -> Option<T>,
) -> Option<T> {
    let text = notes.text;
    if text.len() > TEXT_LENGTH_MAX {
        let accepted = alloc::vec![format!("at most {TEXT_LENGTH_MAX} bytes")];
        notes.missing(0..0, "this text is too long".to_string(), accepted);
        return None;
    }
    let (root, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        note_syntax(&errors, notes);
        return None;
    }
    let mut table = Table::new(root.get_ref(), 0..0);
    read_version(&mut table, notes)?;
    let value = read(&mut table, notes);
    table.finish(notes);
    value
}

/// Notes where the text is no TOML. A table that stands twice repeats all its keys: only its name is
/// told.
fn note_syntax(errors: &[toml::de::Error], notes: &mut Notes<'_>) {
    let text = notes.text;
    let mut twice: Option<usize> = None;
    for error in errors {
        let span = error.span().unwrap_or(text.len()..text.len());
        if error.message() != "duplicate key" {
            notes.note(span, error.message(), Vec::new());
            continue;
        }
        let same_table = twice
            .and_then(|start| text.get(start..span.start))
            .is_some_and(|between| !between.contains("\n["));
        twice = Some(span.end);
        if !same_table {
            let accepted = alloc::vec!["a name of its own".into()];
            notes.note(span, "this stands here twice", accepted);
        }
    }
}

/// Reads the version first: a text of another version would only give misleading mistakes.
fn read_version(table: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<()> {
    let accepted = || alloc::vec![format!("ohmwarden = {VERSION}")];
    let Some(entry) = table.take("ohmwarden") else {
        notes.missing(0..0, "the version of the format is missing".to_string(), accepted());
        return None;
    };
    if read_whole(entry.value) == Some(VERSION) {
        return Some(());
    }
    notes.note(entry.value.span(), "this version of the format is not read here", accepted());
    None
}

fn read_root(table: &mut Table<'_, '_>, known: &Known, notes: &mut Notes<'_>) -> Option<Scenario> {
    let why = table.text("why", notes);
    let seed = read_seed(table, notes);
    let profile = table.word("profile", &ProfileName::WORDS, Some(0), notes);
    let rate = table.count("samples_per_second", (1_000, 100_000), 10_000, notes);
    let substeps = table.count("substeps", (1, 100), 1, notes);
    let seconds = table.number(&SECONDS, notes);
    let limit = limit::read_limit(table, notes);
    let start = panel::read_start(table, limit.as_ref().and_then(limit::Draft::at), notes);
    let parts = part::read_parts(table, notes);
    // What follows refers to the above; where that is wrong, it is still read for its own mistakes.
    let mut scenario = Scenario {
        why: why.unwrap_or_default().to_string(),
        seed: seed.unwrap_or(0),
        profile: ProfileName::ALL.get(profile.unwrap_or(0)).copied().unwrap_or_default(),
        rate: rate.unwrap_or(10_000),
        substeps: substeps.unwrap_or(1),
        seconds: seconds.unwrap_or(7_200.0),
        start: start.unwrap_or_default(),
        limit: limit.and_then(|limit| limit.settled(start.as_ref(), notes)),
        parts,
        events: Vec::new(),
        expects: Vec::new(),
        sweep: None,
        storm: None,
    };
    event::read_events(table, known, &mut scenario, notes);
    expect::read_expects(table, known, &mut scenario, notes);
    storm::read_storm(table, &mut scenario, notes);
    sweep::read_sweep(table, &mut scenario, notes);
    let complete = why.is_some() && seed.is_some() && rate.is_some() && seconds.is_some();
    complete.then_some(scenario)
}

fn read_seed(table: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<u64> {
    let Some(entry) = table.take("seed") else { return Some(0) };
    let seed = read_whole(entry.value).and_then(|seed| u64::try_from(seed).ok());
    if seed.is_none() {
        let accepted = alloc::vec![format!("a whole number from 0 to {}", u64::MAX)];
        notes.note(entry.value.span(), "seed cannot be this", accepted);
    }
    seed
}
