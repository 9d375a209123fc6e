//! Reads one table of the text, key by key, and collects every mistake on the way.
//!
//! The text is read into a tree in which each key and value keeps its place, and the tree is
//! walked by hand: a derived reader stops at its first error, this one goes on. A key that was
//! never asked for is a mistake, and the keys that were asked for are what is accepted.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use toml::de::{DeTable, DeValue};

use super::key::{Key, Takes, range_text};
use super::mistake::Mistake;
use super::value::{Value, kind_of, read_flag, read_number, read_text, read_whole, read_word};

/// Gathers mistakes about one text.
#[derive(Debug)]
pub struct Notes<'t> {
    pub(super) text: &'t str,
    pub(super) mistakes: Vec<Mistake>,
}

impl<'t> Notes<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self { text, mistakes: Vec::new() }
    }

    /// Gives the text at a place.
    pub(super) fn at(&self, span: &Range<usize>) -> &'t str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    /// Notes a mistake; what is found is the text at the place, without quotes.
    pub fn note(&mut self, span: Range<usize>, message: impl Into<String>, accepted: Vec<String>) {
        let found = unquoted(self.at(&span)).to_string();
        self.mistakes.push(Mistake { span, found, accepted, message: message.into() });
    }

    /// Takes over the mistakes that were found inside a text on the right of a key.
    pub fn note_inside(&mut self, value: Value<'_, '_>, text: &str, found: Vec<Mistake>) {
        let offset = offset_inside(self.at(&value.span()), text);
        for mut mistake in found {
            mistake.span = match offset {
                Some(offset) => {
                    let base = value.span().start + offset;
                    base + mistake.span.start..base + mistake.span.end
                }
                // Escapes moved the letters: the whole text is shown.
                None => value.span(),
            };
            self.mistakes.push(mistake);
        }
    }

    /// Notes that something is missing; nothing is found.
    pub fn missing(&mut self, span: Range<usize>, message: String, accepted: Vec<String>) {
        self.mistakes.push(Mistake { span, found: String::new(), accepted, message });
    }
}

/// Finds where the letters of a text begin inside its quotes; `None` where escapes changed them.
fn offset_inside(raw: &str, text: &str) -> Option<usize> {
    let quotes = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { 1 };
    let newline = raw.get(quotes..)?.find(|c| c != '\r' && c != '\n').unwrap_or(0);
    let start = if quotes == 3 { quotes + newline } else { quotes };
    let same = raw.get(start..)?.starts_with(text);
    same.then_some(start)
}

/// Takes the quotes off a text, so that what is found compares with the names that are accepted.
fn unquoted(raw: &str) -> &str {
    let inside = |quote: char| raw.strip_prefix(quote)?.strip_suffix(quote);
    inside('"').or_else(|| inside('\'')).unwrap_or(raw)
}

/// One entry of a table.
#[derive(Clone, Debug)]
pub struct Entry<'a, 'd> {
    /// The key.
    pub key: &'a str,
    /// Where the key stands, in bytes of the text.
    pub key_span: Range<usize>,
    /// What stands on the right, with its place.
    pub value: Value<'a, 'd>,
    taken: bool,
}

/// A table that is being read.
#[derive(Debug)]
pub struct Table<'a, 'd> {
    /// Where a missing key is reported: the name or header of the table.
    pub span: Range<usize>,
    entries: Vec<Entry<'a, 'd>>,
    asked: Vec<String>,
    lacking: Vec<Mistake>,
}

impl<'a, 'd> Table<'a, 'd> {
    pub(super) fn new(table: &'a DeTable<'d>, span: Range<usize>) -> Self {
        let mut entries: Vec<Entry<'a, 'd>> = table
            .iter()
            .map(|(key, value)| Entry {
                key: key.get_ref().as_ref(),
                key_span: key.span(),
                value,
                taken: false,
            })
            .collect();
        entries.sort_by_key(|entry| entry.key_span.start);
        Self { span, entries, asked: Vec::new(), lacking: Vec::new() }
    }

    /// Reads a value as a table, or notes that it is none.
    pub fn of(value: Value<'a, 'd>, span: Range<usize>, notes: &mut Notes<'_>) -> Option<Self> {
        match value.get_ref() {
            DeValue::Table(table) => Some(Self::new(table, span)),
            other => {
                let message = format!("a table is needed here, not {}", kind_of(other));
                notes.note(value.span(), message, alloc::vec!["{ key = value, .. }".into()]);
                None
            }
        }
    }

    /// Takes all entries in the order of the text: for tables whose keys are names.
    pub fn take_all(&mut self) -> Vec<Entry<'a, 'd>> {
        for entry in &mut self.entries {
            entry.taken = true;
        }
        self.entries.clone()
    }

    /// Looks at the value of a key without taking it.
    pub(super) fn peek(&self, name: &str) -> Option<Value<'a, 'd>> {
        self.entries.iter().find(|entry| entry.key == name).map(|entry| entry.value)
    }

    /// Takes the value of a key, where it is there.
    pub fn take(&mut self, name: &str) -> Option<Entry<'a, 'd>> {
        if !self.asked.iter().any(|asked| asked == name) {
            self.asked.push(name.to_string());
        }
        let entry = self.entries.iter_mut().find(|entry| entry.key == name)?;
        entry.taken = true;
        Some(entry.clone())
    }

    /// Takes the value of a key that is needed.
    pub fn need(&mut self, name: &str, accepted: Vec<String>) -> Option<Entry<'a, 'd>> {
        let entry = self.take(name);
        if entry.is_none() {
            let message = format!("{name} is missing");
            let accepted = accepted.into_iter().map(|what| format!("{name} = {what}")).collect();
            let (span, found) = (self.span.clone(), String::new());
            self.lacking.push(Mistake { span, found, accepted, message });
        }
        entry
    }

    /// Tells whether a key is there and was asked for.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.entries.iter().any(|entry| entry.taken && entry.key == name)
    }

    /// Tells whether there is a key that has not been asked for yet.
    pub(super) fn has_strangers(&self) -> bool {
        self.entries.iter().any(|entry| !entry.taken)
    }

    /// Lists the keys that were asked for.
    pub(super) fn asked(&self) -> &[String] {
        &self.asked
    }

    /// Ends the reading: what was not asked for is a mistake. Missing keys are told only where
    /// there is no unknown one, which is most likely the missing one misspelt.
    /// Tells whether all keys were known.
    pub fn finish(self, notes: &mut Notes<'_>) -> bool {
        let strangers: Vec<&Entry<'a, 'd>> =
            self.entries.iter().filter(|entry| !entry.taken).collect();
        if strangers.is_empty() {
            notes.mistakes.extend(self.lacking);
        }
        for entry in &strangers {
            notes.note(entry.key_span.clone(), "no such key here", self.asked.clone());
        }
        strangers.is_empty()
    }

    /// Reads a number by its key.
    pub(super) fn number(&mut self, key: &Key, notes: &mut Notes<'_>) -> Option<f64> {
        let Takes::Number { default, .. } = key.takes else { return None };
        let entry = match default {
            Some(value) => match self.take(key.name) {
                None => return Some(value),
                entry => entry,
            },
            None => self.need(key.name, key.accepted()),
        };
        read_number(entry?.value, key, notes)
    }

    /// Reads a number that may be absent.
    pub fn maybe_number(&mut self, key: &Key, notes: &mut Notes<'_>) -> Option<f64> {
        let entry = self.take(key.name)?;
        read_number(entry.value, key, notes)
    }

    /// Reads a whole number from `least` to `greatest`; `default` where absent.
    pub fn count(
        &mut self,
        name: &str,
        (least, greatest): (u32, u32),
        default: u32,
        notes: &mut Notes<'_>,
    ) -> Option<u32> {
        let Some(entry) = self.take(name) else { return Some(default) };
        let whole = read_whole(entry.value).and_then(|value| u32::try_from(value).ok());
        let good = whole.filter(|value| (least..=greatest).contains(value));
        if good.is_none() {
            let range = range_text(f64::from(least), f64::from(greatest));
            let accepted = alloc::vec![format!("a whole number from {range}")];
            notes.note(entry.value.span(), format!("{name} cannot be this"), accepted);
        }
        good
    }

    /// Reads `true` or `false`.
    pub(super) fn flag(
        &mut self,
        name: &str,
        default: bool,
        notes: &mut Notes<'_>,
    ) -> Option<bool> {
        let Some(entry) = self.take(name) else { return Some(default) };
        read_flag(entry.value, notes)
    }

    /// Reads a text that is needed.
    pub fn text(&mut self, name: &str, notes: &mut Notes<'_>) -> Option<&'a str> {
        let entry = self.need(name, alloc::vec!["\"..\"".into()])?;
        read_text(entry.value, notes)
    }

    /// Reads a text that may be absent.
    pub fn maybe_text(&mut self, name: &str, notes: &mut Notes<'_>) -> Option<&'a str> {
        read_text(self.take(name)?.value, notes)
    }

    /// Reads one of some words that may be absent: its place among them.
    pub(super) fn maybe_word(
        &mut self,
        name: &str,
        words: &[&str],
        notes: &mut Notes<'_>,
    ) -> Option<usize> {
        read_word(self.take(name)?.value, words, notes)
    }

    /// Reads one of some words: its place among them.
    pub fn word(
        &mut self,
        name: &str,
        words: &[&str],
        default: Option<usize>,
        notes: &mut Notes<'_>,
    ) -> Option<usize> {
        let entry = match default {
            Some(place) => match self.take(name) {
                None => return Some(place),
                entry => entry,
            },
            None => self.need(name, words.iter().map(|word| format!("\"{word}\"")).collect()),
        };
        read_word(entry?.value, words, notes)
    }
}
