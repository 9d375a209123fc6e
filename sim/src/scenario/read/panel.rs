//! Reads the panel: `[start]` and the function that a selector asks for.

use alloc::format;

use ohmwarden_core::calibration::Standing;

use super::super::event::{
    BATTERY_VOLTS, Function, LEAD_OHMS, TEST_AMPS, TEST_VOLTS, TIMED_WORDS, timed_at,
};
use super::super::key::Key;
use super::super::reader::{Notes, Table};
use super::super::{Start, StoreSpec};

/// How an instrument may stand with its calibration, the usual first.
const STANDINGS: [Standing; 4] =
    [Standing::Valid, Standing::Due, Standing::Damaged, Standing::Absent];
/// The words of them.
const CALIBRATIONS: [&str; 4] = {
    let [a, b, c, d] = STANDINGS;
    [a.word(), b.word(), c.word(), d.word()]
};

/// Reads `[start]`; absent, everything is off.
pub(super) fn read_start(root: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<Start> {
    let Some(entry) = root.take("start") else { return Some(Start::default()) };
    let mut table = Table::of(entry.value, entry.key_span, notes)?;
    let function = read_function(&mut table, Some(0), notes);
    let test_held = table.flag("test_held", false, notes);
    let null_held = table.flag("null_held", false, notes);
    let hold_held = table.flag("hold_held", false, notes);
    let battery_volts = table.maybe_number(&BATTERY_VOLTS, notes);
    let lead_ohms = table.maybe_number(&Key { name: "lead_ohms", ..LEAD_OHMS }, notes);
    let calibration = table.word("calibration", &CALIBRATIONS, Some(0), notes);
    let store = read_store(&mut table, notes);
    table.finish(notes);
    Some(Start {
        function: function?,
        test_held: test_held?,
        null_held: null_held?,
        hold_held: hold_held?,
        battery_volts,
        lead_ohms,
        calibration: STANDINGS.get(calibration?).copied()?,
        store,
    })
}

/// Reads `store`; absent, or wrong, the board has none.
fn read_store(start: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<StoreSpec> {
    let entry = start.take("store")?;
    let mut table = Table::of(entry.value, entry.key_span, notes)?;
    let pages = table.count("pages", StoreSpec::PAGES, StoreSpec::USUAL_PAGES, notes);
    let overwrite = table.flag("overwrite", false, notes);
    table.finish(notes);
    Some(StoreSpec { pages: pages?, overwrite: overwrite? })
}

/// Reads `function` and the keys that belong to it.
pub(super) fn read_function(
    table: &mut Table<'_, '_>,
    default: Option<usize>,
    notes: &mut Notes<'_>,
) -> Option<Function> {
    let place = table.word("function", &Function::WORDS, default, notes)?;
    let word = Function::WORDS.get(place).copied().unwrap_or_default();
    for (key, owner) in [("volts", "insulation"), ("timed", "insulation"), ("amps", "continuity")] {
        if word == owner {
            continue;
        }
        if let Some(entry) = table.take(key) {
            let accepted = alloc::vec![format!("function = \"{owner}\"")];
            notes.note(entry.key_span, format!("{key} belongs to {owner}"), accepted);
        }
    }
    match word {
        "volts" => Some(Function::Volts),
        "continuity" => Some(Function::Continuity { amps: table.number(&TEST_AMPS, notes)? }),
        "resistance" => Some(Function::Resistance),
        "insulation" => {
            let volts = table.number(&TEST_VOLTS, notes);
            let timed = table.word("timed", &TIMED_WORDS, Some(0), notes);
            let timed = timed.map(timed_at);
            Some(Function::Insulation { volts: volts?, timed: timed? })
        }
        _ => Some(Function::Off),
    }
}
