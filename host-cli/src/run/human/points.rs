//! The points of a timed test as a table: when, how much, at which voltage.

use std::io::{self, Write};

use ohmwarden_core::judge::Value;
use ohmwarden_core::measure::Point;

use crate::layout::{Cell, quantity, table};
use crate::look::Look;

/// Writes the table; nothing where there are no points.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(curve: &[Point], look: Look, out: &mut dyn Write) -> io::Result<()> {
    if curve.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{}", look.head("points of the timed test"))?;
    let rows: Vec<Vec<Cell>> = curve.iter().map(row).collect();
    table(&rows, "  ", out)
}

fn row(point: &Point) -> Vec<Cell> {
    let volts = f64::from(point.v.as_microvolts()) / 1.0e6;
    vec![
        Cell::right(format!("{} s", point.seconds)),
        Cell::right(ohms(point.value)),
        Cell::right(quantity(volts, "V")),
    ]
}

fn ohms(value: Value) -> String {
    let (sign, amount) = match value {
        Value::None => return String::from("--"),
        Value::Number(amount) => ("", amount),
        Value::Below(amount) => ("< ", amount),
        Value::Above(amount) => ("> ", amount),
    };
    format!("{sign}{}", quantity(f64::from(amount), "ohm"))
}
