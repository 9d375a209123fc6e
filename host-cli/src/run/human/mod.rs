//! The answer for a person: one scenario as a drawing, many as a table.

mod made;
mod many;
mod one;
mod points;
mod verdicts;

pub(crate) use many::{Many, write as write_many};
pub(crate) use one::{One, write as write_one};

use super::score::Entry;
use super::summary::Summary;
use crate::layout::{percent, quantity};

/// A margin with its unit; a rule that holds or does not has none worth a number.
fn margin(entry: &Entry) -> String {
    match (entry.held, entry.margin) {
        (None, _) | (_, None) => "not reached".to_owned(),
        (Some(held), Some(_)) if entry.unit == "rule" => {
            if held { "holds" } else { "does not hold" }.to_owned()
        }
        (Some(_), Some(margin)) if margin.abs() >= 1.0e30 => "no margin at all".to_owned(),
        // Atoms of several units have no unit together: only the part of a scale can be told.
        (Some(_), Some(_)) if entry.unit == "scale" => "mixed".to_owned(),
        (Some(_), Some(margin)) => quantity(margin, entry.unit),
    }
}

/// The margin as a part of what is allowed.
fn relative(entry: &Entry) -> String {
    match (entry.unit, entry.relative) {
        ("rule", _) | (_, None) => String::new(),
        (_, Some(relative)) => percent(relative),
    }
}

/// The swept values of a case, as in the text; empty where nothing is swept.
fn values(values: &[(String, f64)]) -> String {
    let one = |(name, value): &(String, f64)| format!("{name} = {}", tidy(*value));
    values.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// A value without the digits that adding up steps left behind.
fn tidy(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

/// What came closest to breaking, in one line.
fn worst_line(summary: &Summary) -> String {
    if let Some((case, defect)) = summary.defects.first() {
        return format!("{} in case {}: {}", defect.name, case + 1, defect.words);
    }
    let Some(entry) = summary.worst() else { return "nothing was played".to_owned() };
    let relative = relative(entry);
    let part = if relative.is_empty() { relative } else { format!(" ({relative})") };
    format!("{}: {}{part}", summary.name_of(entry), margin(entry))
}
