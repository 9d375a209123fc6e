//! A trace as columns of numbers and words, one row a sample.
//!
//! The head gives each column's unit in brackets. Numbers carry the nine digits of a single
//! precision, yes and no are 1 and 0, and what has no value is left empty.

use std::io::{self, Write};

use ohmwarden_sim::world::Snapshot;

use super::signals::{Kind, SIGNALS, Value};

/// Writes the head.
///
/// # Errors
/// What the writer reports.
pub(super) fn head(out: &mut dyn Write) -> io::Result<()> {
    write!(out, "time (s)")?;
    for signal in &SIGNALS {
        match signal.kind {
            Kind::Number(unit) => write!(out, ",{} ({unit})", signal.name)?,
            Kind::Bit | Kind::Word => write!(out, ",{}", signal.name)?,
        }
    }
    writeln!(out, ",event")
}

/// Writes one row; `events` are the labels that came since the row before.
///
/// # Errors
/// What the writer reports.
pub(super) fn row(now: &Snapshot, events: &str, out: &mut dyn Write) -> io::Result<()> {
    write!(out, "{}", now.seconds)?;
    for signal in &SIGNALS {
        match (signal.read)(now) {
            Value::Number(value) => write!(out, ",{}", value as f32)?,
            Value::Bit(bit) => write!(out, ",{}", u8::from(bit))?,
            Value::Word(word) => write!(out, ",{word}")?,
            Value::None => write!(out, ",")?,
        }
    }
    writeln!(out, ",{events}")
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::interlock::State;

    use super::*;
    use crate::run::picture::tests::snapshot;

    #[test]
    fn a_row_has_as_many_fields_as_the_head_and_units_stand_in_the_head() {
        let mut text = Vec::new();
        head(&mut text).unwrap();
        row(&snapshot(0.0123, 230.25, State::Rest), "mains_on", &mut text).unwrap();
        row(&Snapshot::default(), "", &mut text).unwrap();
        let text = String::from_utf8(text).unwrap();
        let lines: Vec<Vec<&str>> = text.lines().map(|line| line.split(',').collect()).collect();
        assert!(lines.iter().all(|line| line.len() == SIGNALS.len() + 2), "{text}");
        assert_eq!(lines[0][..2], ["time (s)", "terminals (V)"]);
        assert_eq!(lines[1][..2], ["0.0123", "230.25"]);
        assert_eq!(lines[1].last(), Some(&"mains_on"));
    }
}
