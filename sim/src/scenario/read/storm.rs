//! Reads random panel events: `[storm]`.

use alloc::format;
use alloc::string::ToString;
use alloc::vec::Vec;

use super::super::Scenario;
use super::super::key::{Key, number_text};
use super::super::reader::{Notes, Table};
use super::super::storm::{EVENTS_MAX, RATE, Storm, StormKey};
use super::super::value::{read_list, read_word};

/// Reads `[storm]`.
pub(super) fn read_storm(root: &mut Table<'_, '_>, scenario: &mut Scenario, notes: &mut Notes<'_>) {
    let Some(entry) = root.take("storm") else { return };
    let Some(mut table) = Table::of(entry.value, entry.key_span.clone(), notes) else { return };
    let rate = table.number(&RATE, notes);
    let from = Key::number("from_s", 0.0, scenario.seconds).or(0.0);
    let from_s = table.number(&from, notes);
    let to = Key::number("to_s", from_s.unwrap_or(0.0), scenario.seconds).or(scenario.seconds);
    let to_s = table.number(&to, notes);
    let keys = read_keys(&mut table, notes);
    table.finish(notes);
    let (Some(events_per_second), Some(from_s), Some(to_s), Some(keys)) =
        (rate, from_s, to_s, keys)
    else {
        return;
    };
    let count = events_per_second * (to_s - from_s);
    if count > EVENTS_MAX {
        let message = format!("this storm would bring {} events", number_text(count));
        let accepted = alloc::vec![format!("at most {}", number_text(EVENTS_MAX))];
        notes.note(entry.key_span, message, accepted);
        return;
    }
    scenario.storm = Some(Storm { events_per_second, from_s, to_s, keys });
}

fn read_keys(table: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<Vec<StormKey>> {
    let Some(entry) = table.take("keys") else { return Some(StormKey::ALL.to_vec()) };
    let list = read_list(entry.value, "[\"test\", \"select\"]", notes)?;
    let keys: Vec<Option<StormKey>> = list
        .iter()
        .map(|value| {
            let place = read_word(value, &StormKey::WORDS, notes)?;
            StormKey::ALL.get(place).copied()
        })
        .collect();
    let keys = keys.into_iter().collect::<Option<Vec<StormKey>>>()?;
    if keys.is_empty() {
        let accepted = StormKey::WORDS.iter().map(ToString::to_string).collect();
        notes.note(entry.value.span(), "a storm needs something to work", accepted);
        return None;
    }
    Some(keys)
}
