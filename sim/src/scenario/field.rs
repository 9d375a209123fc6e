//! What stands on the right of a part's key: read, written, and found again as a number.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::ops::Range;

use super::key::{Key, Takes, number_text};
use super::part::Harmonic;
use super::reader::{Notes, Table};
use super::value::{Value, read_flag, read_list, read_text};
use super::write::quoted;

/// A value that a key of a part may hold.
pub(super) trait Field: Sized {
    fn read(table: &mut Table<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Self>;
    fn text(&self) -> String;
    fn number(&mut self) -> Option<&mut f64> {
        None
    }
}

impl Field for f64 {
    fn read(table: &mut Table<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Self> {
        table.number(key, notes)
    }

    fn text(&self) -> String {
        number_text(*self)
    }

    fn number(&mut self) -> Option<&mut f64> {
        Some(self)
    }
}

impl Field for bool {
    fn read(table: &mut Table<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Self> {
        let Takes::Flag { default } = key.takes else { return None };
        match table.take(key.name) {
            None => Some(default),
            Some(entry) => read_flag(entry.value, notes),
        }
    }

    fn text(&self) -> String {
        format!("{self}")
    }
}

impl Field for String {
    fn read(table: &mut Table<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Self> {
        let entry = table.need(key.name, key.accepted())?;
        let text = read_text(entry.value, notes)?;
        if text.is_empty() {
            notes.note(entry.value.span(), "this text is empty", key.accepted());
            return None;
        }
        Some(text.into())
    }

    fn text(&self) -> String {
        quoted(self)
    }
}

impl Field for Vec<Harmonic> {
    fn read(table: &mut Table<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Self> {
        let Some(entry) = table.take(key.name) else { return Some(Self::new()) };
        let list = read_list(entry.value, "[{ order = 3, fraction = 0.1 }]", notes)?;
        let read: Vec<Option<Harmonic>> =
            list.iter().map(|value| read_harmonic(value, value.span(), notes)).collect();
        read.into_iter().collect()
    }

    fn text(&self) -> String {
        let one = |h: &Harmonic| {
            let (fraction, phase) = (number_text(h.fraction), number_text(h.phase_deg));
            format!("{{ order = {}, fraction = {fraction}, phase_deg = {phase} }}", h.order)
        };
        format!("[{}]", self.iter().map(one).collect::<Vec<String>>().join(", "))
    }
}

fn read_harmonic(
    value: Value<'_, '_>,
    span: Range<usize>,
    notes: &mut Notes<'_>,
) -> Option<Harmonic> {
    let mut table = Table::of(value, span, notes)?;
    let order = table.need("order", alloc::vec!["2 to 100".into()]).is_some();
    let order = if order { table.count("order", (2, 100), 2, notes) } else { None };
    let fraction = table.number(&Key::number("fraction", 0.0, 2.0), notes);
    let phase_deg = table.number(&Key::number("phase_deg", -360.0, 360.0).or(0.0), notes);
    table.finish(notes);
    Some(Harmonic { order: order?, fraction: fraction?, phase_deg: phase_deg? })
}
