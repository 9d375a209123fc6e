//! Reads the action of an event, and checks it against the parts that are there.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use super::super::event::{Action, BATTERY_VOLTS, Button, CHARGE_VOLTS, LEAD_OHMS, Lead, Side};
use super::super::part::{Kind, Part};
use super::super::reader::{Entry, Notes, Table};
use super::super::store::CUT_POWER;
use super::super::value::{read_flag, read_number, read_text, read_word};
use super::super::{Known, Scenario};
use super::fault::read_fault;
use super::panel::read_function;

/// Reads the one action of an event.
pub(super) fn read_action(
    table: &mut Table<'_, '_>,
    known: &Known,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<Action> {
    let found: Vec<Entry<'_, '_>> = Action::KEYS.iter().filter_map(|key| table.take(key)).collect();
    let [entry] = found.as_slice() else {
        let accepted: Vec<String> = Action::KEYS.iter().map(ToString::to_string).collect();
        match found.get(1) {
            Some(second) => {
                let message = "an event has exactly one action; this is a second";
                notes.note(second.key_span.clone(), message, alloc::vec!["another [[at]]".into()]);
            }
            None if table.has_strangers() => {}
            None => {
                let message = "an event needs an action".to_string();
                notes.missing(table.span.clone(), message, accepted);
            }
        }
        return None;
    };
    read_one(entry, known, scenario, notes)
}

fn read_one(
    entry: &Entry<'_, '_>,
    known: &Known,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<Action> {
    let button = |notes: &mut Notes<'_>| {
        let place = read_word(entry.value, &Button::WORDS, notes)?;
        Button::ALL.get(place).copied()
    };
    let is_switch = |part: &Part| matches!(part, Part::Switch { .. });
    let span = entry.key_span.clone();
    match entry.key {
        "close" => Some(Action::Close(part_name(entry, "switch", is_switch, scenario, notes)?)),
        "open" => Some(Action::Open(part_name(entry, "switch", is_switch, scenario, notes)?)),
        "press" => button(notes).map(Action::Press),
        "release" => button(notes).map(Action::Release),
        "tap" => button(notes).map(Action::Tap),
        "select" => {
            let mut table = Table::of(entry.value, span, notes)?;
            let function = read_function(&mut table, None, notes);
            table.finish(notes);
            function.map(Action::Select)
        }
        "set" => read_set(entry, scenario, notes),
        "fault" => read_fault(entry, known, notes).map(Action::Fault),
        "clear" => read_text(entry.value, notes).map(|name| Action::Clear(name.to_string())),
        "charge" => read_charge(entry, scenario, notes),
        "lead" => read_lead(entry, notes).map(Action::Lead),
        "battery_volts" => {
            read_number(entry.value, &BATTERY_VOLTS, notes).map(Action::BatteryVolts)
        }
        "cut_power_in_write" | "overwrite" => read_of_store(entry, scenario, notes),
        _ => read_reset(entry, notes),
    }
}

/// Reads the name of an existing part of the right kind.
fn part_name(
    entry: &Entry<'_, '_>,
    kind: &str,
    fits: impl Fn(&Part) -> bool,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<String> {
    let name = read_text(entry.value, notes)?;
    let fitting: Vec<String> = scenario
        .parts
        .iter()
        .filter(|part| fits(&part.part))
        .map(|part| part.name.clone())
        .collect();
    if fitting.iter().any(|known| known == name) {
        return Some(name.to_string());
    }
    let message = match scenario.parts.iter().find(|part| part.name == name) {
        Some(part) => format!("{name} is a {}, not a {kind}", part.part.kind()),
        None => format!("there is no {kind} of this name"),
    };
    notes.note(entry.value.span(), message, fitting);
    None
}

fn read_set(entry: &Entry<'_, '_>, scenario: &Scenario, notes: &mut Notes<'_>) -> Option<Action> {
    let mut table = Table::of(entry.value, entry.key_span.clone(), notes)?;
    let part = table.need("part", alloc::vec!["\"PART\"".into()]);
    let part = part.and_then(|entry| part_name(&entry, "part", |_| true, scenario, notes));
    let Some(part) = part else {
        // The other keys cannot be judged without the part.
        table.take_all();
        table.finish(notes);
        return None;
    };
    let kind = scenario.parts.iter().find(|known| known.name == part)?.part.kind();
    let keys = Kind::find(kind)?.keys.iter().filter(|key| key.settable);
    let mut values = Vec::new();
    let mut found = false;
    for key in keys {
        let there = table.take(key.name);
        found |= there.is_some();
        values.extend(
            there.and_then(|entry| {
                Some((key.name.to_string(), read_number(entry.value, key, notes)?))
            }),
        );
    }
    let (span, strangers) = (table.span.clone(), table.has_strangers());
    let mut accepted = table.asked().to_vec();
    table.finish(notes);
    if !found && !strangers {
        accepted.retain(|key| key != "part");
        notes.missing(span, format!("nothing to set on a {kind}"), accepted);
    }
    (!values.is_empty()).then_some(Action::Set { part, values })
}

fn read_charge(
    entry: &Entry<'_, '_>,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<Action> {
    let mut table = Table::of(entry.value, entry.key_span.clone(), notes)?;
    let stores = |part: &Part| matches!(part, Part::Capacitor { .. } | Part::Insulation { .. });
    let part = table.need("part", alloc::vec!["\"CAPACITOR\"".into()]);
    let part = part.and_then(|entry| part_name(&entry, "capacitor", stores, scenario, notes));
    let volts = table.number(&CHARGE_VOLTS, notes);
    table.finish(notes);
    Some(Action::Charge { part: part?, volts: volts? })
}

fn read_lead(entry: &Entry<'_, '_>, notes: &mut Notes<'_>) -> Option<Lead> {
    const KEYS: [&str; 5] = ["open", "join", "swap", "short", "ohms"];
    let mut table = Table::of(entry.value, entry.key_span.clone(), notes)?;
    let found: Vec<Entry<'_, '_>> = KEYS.iter().filter_map(|key| table.take(key)).collect();
    let strangers = table.has_strangers();
    table.finish(notes);
    let [one] = found.as_slice() else {
        if !strangers {
            let accepted = KEYS.iter().map(ToString::to_string).collect();
            notes.note(entry.value.span(), "one thing happens to the leads", accepted);
        }
        return None;
    };
    let side = |notes: &mut Notes<'_>| {
        let place = read_word(one.value, &Side::WORDS, notes)?;
        Side::ALL.get(place).copied()
    };
    match one.key {
        "open" => side(notes).map(Lead::Open),
        "join" => side(notes).map(Lead::Join),
        "swap" => read_flag(one.value, notes).map(Lead::Swap),
        "short" => read_flag(one.value, notes).map(Lead::Short),
        _ => read_number(one.value, &LEAD_OHMS, notes).map(Lead::Ohms),
    }
}

/// Reads what only a board with a store can meet.
fn read_of_store(
    entry: &Entry<'_, '_>,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<Action> {
    if scenario.start.store.is_none() {
        let accepted = alloc::vec!["store = { pages = 4 } in [start]".into()];
        notes.note(entry.key_span.clone(), "the board has no store", accepted);
        return None;
    }
    if entry.key == "overwrite" {
        return read_flag(entry.value, notes).map(Action::Overwrite);
    }
    let operations = read_number(entry.value, &CUT_POWER, notes)?;
    if libm::trunc(operations) != operations {
        let message = format!("{} is a whole number", CUT_POWER.name);
        notes.note(entry.value.span(), message, CUT_POWER.accepted());
        return None;
    }
    Some(Action::CutPowerInWrite(operations))
}

fn read_reset(entry: &Entry<'_, '_>, notes: &mut Notes<'_>) -> Option<Action> {
    if read_flag(entry.value, notes)? {
        return Some(Action::Reset);
    }
    let span: Range<usize> = entry.value.span();
    notes.note(span, "a reset that does not happen is no event", alloc::vec!["true".into()]);
    None
}
