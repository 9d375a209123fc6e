//! Reads what multiplies a scenario: `[sweep]`.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use toml::de::DeValue;

use super::super::Scenario;
use super::super::key::{Key, number_text, range_text};
use super::super::reader::{Entry, Notes, Table};
use super::super::sweep::{CASES_MAX, Sweep, Swept, Values};
use super::super::value::read_number;

/// Any finite number: the range of a step.
const STEP: Key = Key::number("step", -1.0e15, 1.0e15);

/// Reads `[sweep]`; its names refer to everything else.
pub(super) fn read_sweep(root: &mut Table<'_, '_>, scenario: &mut Scenario, notes: &mut Notes<'_>) {
    let Some(entry) = root.take("sweep") else { return };
    let Some(mut table) = Table::of(entry.value, entry.key_span.clone(), notes) else { return };
    let entries = table.take_all();
    let names: Vec<Option<Swept>> =
        entries.iter().map(|name| read_swept(name, scenario, notes)).collect();
    let Some(names) = names.into_iter().collect::<Option<Vec<Swept>>>() else { return };
    if names.is_empty() {
        notes.note(entry.key_span, "a sweep needs a name", accepted_names(scenario));
        return;
    }
    let product =
        names.iter().try_fold(1_usize, |all, swept| all.checked_mul(swept.values.count()));
    if product.is_none_or(|count| count > CASES_MAX) {
        let count = product.map_or_else(|| "too many".to_string(), |count| count.to_string());
        let message = format!("this sweep has {count} cases");
        notes.note(entry.key_span, message, alloc::vec![format!("at most {CASES_MAX}")]);
        return;
    }
    if let Some(message) = moved_window(&names, scenario) {
        notes.note(entry.key_span, message, alloc::vec!["moments that fit".into()]);
        return;
    }
    scenario.sweep = Some(Sweep { names });
}

/// Finds a swept moment at which an expectation would leave the run or its own labels: every case
/// must be a scenario that could be written by itself.
fn moved_window(names: &[Swept], scenario: &Scenario) -> Option<String> {
    let moments = |label: Option<&str>| -> Vec<f64> {
        let Some(label) = label else { return alloc::vec![0.0] };
        let name = format!("{label}_s");
        match names.iter().find(|swept| swept.name == name) {
            Some(swept) => (0..swept.values.count()).filter_map(|i| swept.values.get(i)).collect(),
            None => scenario.moment_of(label).into_iter().collect(),
        }
    };
    for expect in &scenario.expects {
        let Some((after, s, until)) = expect.rule.window() else { continue };
        let ends = until.map(|label| moments(Some(label)));
        for from in moments(after) {
            if from + s > scenario.seconds + 1.0e-9 {
                return Some(format!("an expectation ends after the run if it begins at {from} s"));
            }
            let early = ends.iter().flatten().find(|until| **until <= from);
            if let Some(until) = early {
                return Some(format!("an expectation from {from} s must stay until {until} s"));
            }
        }
    }
    None
}

fn accepted_names(scenario: &Scenario) -> Vec<String> {
    scenario.all_targets().into_iter().map(|(name, _)| name).collect()
}

fn read_swept(entry: &Entry<'_, '_>, scenario: &Scenario, notes: &mut Notes<'_>) -> Option<Swept> {
    let targets = scenario.targets(entry.key);
    let [target] = targets.as_slice() else {
        let message = if targets.is_empty() {
            "nothing here has this name"
        } else {
            "this name stands for more than one thing; rename a part or a label"
        };
        let accepted = if targets.is_empty() { accepted_names(scenario) } else { Vec::new() };
        notes.note(entry.key_span.clone(), message, accepted);
        return None;
    };
    let values = read_values(entry, &target.key(), notes)?;
    let fractions = (0..values.count())
        .any(|place| values.get(place).is_some_and(|value| libm::trunc(value) != value));
    if target.is_whole() && fractions {
        let accepted = alloc::vec!["whole numbers".into()];
        let message = format!("{} is a whole number", target.key().name);
        notes.note(entry.value.span(), message, accepted);
        return None;
    }
    Some(Swept { name: entry.key.to_string(), values })
}

fn read_values(entry: &Entry<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Values> {
    match entry.value.get_ref() {
        DeValue::Array(list) => {
            let read: Vec<Option<f64>> =
                list.iter().map(|value| read_number(value, key, notes)).collect();
            let list = read.into_iter().collect::<Option<Vec<f64>>>()?;
            if list.is_empty() {
                let accepted = alloc::vec!["[1, 2]".into()];
                notes.note(entry.value.span(), "a sweep needs a value", accepted);
                return None;
            }
            Some(Values::List(list))
        }
        DeValue::Table(_) => read_range(entry, key, notes),
        _ => {
            let accepted = alloc::vec!["[1, 2]".into(), "{ from = 0, to = 345, step = 15 }".into()];
            notes.note(entry.value.span(), "a list or a range is needed here", accepted);
            None
        }
    }
}

fn read_range(entry: &Entry<'_, '_>, key: &Key, notes: &mut Notes<'_>) -> Option<Values> {
    let mut table = Table::of(entry.value, entry.key_span.clone(), notes)?;
    let from = table.number(&Key { name: "from", ..*key }.needed(), notes);
    let to = table.number(&Key { name: "to", ..*key }.needed(), notes);
    let step_entry = table.take("step");
    let step = table.number(&STEP, notes);
    table.finish(notes);
    let (from, to, step) = (from?, to?, step?);
    let values = Values::Range { from, to, step };
    let span = step_entry.map_or(entry.key_span.clone(), |entry| entry.value.span());
    if step == 0.0 || (to - from) * step < 0.0 {
        let message =
            format!("no such step leads from {} to {}", number_text(from), number_text(to));
        let accepted = alloc::vec![if to < from { "below 0".into() } else { "above 0".into() }];
        notes.note(span, message, accepted);
        return None;
    }
    if values.count() == 0 {
        let least = (to - from) / CASES_MAX as f64;
        let accepted = alloc::vec![range_text(least, to - from)];
        notes.note(span, "this step gives too many values", accepted);
        return None;
    }
    Some(values)
}
