//! Reads a fault and its parameters, against the registry.

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::super::Known;
use super::super::fault::{FaultCall, Param};
use super::super::key::{Key, Takes};
use super::super::reader::{Entry, Notes, Table};

/// Reads `{ NAME = { .. } }`, complete with its defaults.
pub(super) fn read_fault(
    entry: &Entry<'_, '_>,
    known: &Known,
    notes: &mut Notes<'_>,
) -> Option<FaultCall> {
    let table = Table::of(entry.value, entry.key_span.clone(), notes)?.take_all();
    let names = || known.faults.iter().map(|spec| spec.name.to_string()).collect::<Vec<String>>();
    let [fault] = table.as_slice() else {
        notes.note(entry.value.span(), "one fault is needed: { NAME = { .. } }", names());
        return None;
    };
    let Some(spec) = known.faults.iter().find(|spec| spec.name == fault.key) else {
        notes.note(fault.key_span.clone(), "no such fault", names());
        return None;
    };
    let mut table = Table::of(fault.value, fault.key_span.clone(), notes)?;
    let params: Vec<Option<(&'static str, Param)>> =
        spec.params.iter().map(|key| read_param(key, &mut table, notes)).collect();
    table.finish(notes);
    Some(FaultCall { spec, params: params.into_iter().collect::<Option<Vec<_>>>()? })
}

fn read_param(
    key: &'static Key,
    table: &mut Table<'_, '_>,
    notes: &mut Notes<'_>,
) -> Option<(&'static str, Param)> {
    let value = match key.takes {
        Takes::Number { .. } => Param::Number(table.number(key, notes)?),
        Takes::Flag { default } => Param::Flag(table.flag(key.name, default, notes)?),
        Takes::Text | Takes::Harmonics => Param::Word(table.text(key.name, notes)?.to_string()),
        Takes::Word { accepted, default } => {
            let default = default.and_then(|word| accepted.iter().position(|w| *w == word));
            let place = table.word(key.name, accepted, default, notes)?;
            Param::Word(accepted.get(place).copied().unwrap_or_default().to_string())
        }
    };
    Some((key.name, value))
}
