//! Reads what happens: `[[at]]`.

use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use super::super::event::{Action, Event};
use super::super::key::{Key, range_text};
use super::super::reader::{Entry, Notes, Table};
use super::super::value::{check_name, read_list, read_number, read_text};
use super::super::{Known, Scenario};
use super::action::read_action;

/// Reads all events into the scenario; they refer to its parts and to each other's faults.
pub(super) fn read_events(
    root: &mut Table<'_, '_>,
    known: &Known,
    scenario: &mut Scenario,
    notes: &mut Notes<'_>,
) {
    let Some(entry) = root.take("at") else { return };
    let Some(list) = read_list(entry.value, "[[at]]", notes) else { return };
    let mut last = 0.0;
    let mut clears: Vec<(String, Range<usize>)> = Vec::new();
    for value in list.iter() {
        let Some(mut table) = Table::of(value, value.span(), notes) else { continue };
        let clear = table.peek("clear");
        let event = read_event(&mut table, &mut last, known, scenario, notes);
        table.finish(notes);
        if let (Some(Event { action: Action::Clear(name), .. }), Some(clear)) = (&event, clear) {
            clears.push((name.clone(), clear.span()));
        }
        scenario.events.extend(event);
    }
    check_clears(&clears, scenario, notes);
}

fn read_event(
    table: &mut Table<'_, '_>,
    last: &mut f64,
    known: &Known,
    scenario: &Scenario,
    notes: &mut Notes<'_>,
) -> Option<Event> {
    let s = read_moment(table, last, scenario.seconds, notes);
    let label = match table.take("label") {
        None => Some(None),
        Some(entry) => read_label(&entry, scenario, notes).map(Some),
    };
    let action = read_action(table, known, scenario, notes);
    Some(Event { s: s?, label: label?, action: action? })
}

fn read_moment(
    table: &mut Table<'_, '_>,
    last: &mut f64,
    seconds: f64,
    notes: &mut Notes<'_>,
) -> Option<f64> {
    let key = Key::number("s", 0.0, seconds);
    let entry = table.need("s", key.accepted())?;
    let s = read_number(entry.value, &key, notes)?;
    if s < *last {
        let accepted = alloc::vec![range_text(*last, seconds)];
        notes.note(entry.value.span(), "events stand in the order of time", accepted);
        return None;
    }
    *last = s;
    Some(s)
}

fn read_label(entry: &Entry<'_, '_>, scenario: &Scenario, notes: &mut Notes<'_>) -> Option<String> {
    let label = read_text(entry.value, notes)?;
    if !check_name(label, entry.value.span(), notes) {
        return None;
    }
    if scenario.labels().contains(&label) {
        let message = "another event has this label";
        notes.note(entry.value.span(), message, alloc::vec!["a label of its own".into()]);
        return None;
    }
    Some(label.to_string())
}

/// Checks that every fault that ends also begins. A sweep may move the end before the beginning,
/// so their order is not asked for.
fn check_clears(clears: &[(String, Range<usize>)], scenario: &Scenario, notes: &mut Notes<'_>) {
    let begun: Vec<&str> = scenario.events.iter().filter_map(fault_name).collect();
    for (name, span) in clears {
        if !begun.contains(&name.as_str()) {
            let accepted = begun.iter().map(ToString::to_string).collect();
            notes.note(span.clone(), "no fault of this name begins", accepted);
        }
    }
}

fn fault_name(event: &Event) -> Option<&'static str> {
    match &event.action {
        Action::Fault(call) => Some(call.spec.name),
        _ => None,
    }
}
