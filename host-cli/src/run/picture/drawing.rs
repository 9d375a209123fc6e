//! One run, drawn from left to right in text.

use std::io::{self, Write};

use super::chart::{Span, chart};
use super::{Moment, Picture, Slot, bands, marks};
use crate::look::Look;

/// Letters to the left of the drawing, for names and numbers.
pub(crate) const MARGIN: usize = 12;
/// Rows of the voltage and of the current.
const VOLT_ROWS: usize = 11;
const AMP_ROWS: usize = 4;
/// Below this the source delivers nothing worth a chart, amperes.
const NO_AMPS: f64 = 1.0e-9;

/// Columns of a drawing on this terminal.
pub(crate) const fn columns(look: Look) -> usize {
    look.width - MARGIN
}

/// Writes the drawing: state, class, voltage, current, lines that are on or off, marks, time.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(picture: &Picture, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let slots = &picture.slots;
    let width = slots.len();
    let row = |name: &str, text: &str| format!("{name:<MARGIN$}{text}").trim_end().to_owned();
    writeln!(out, "{}", row("time", &marks::axis(picture.seconds, width)))?;
    let states: Vec<Option<&str>> = slots.iter().map(|slot| slot.state).collect();
    writeln!(out, "{}", row("state", &bands::names(&states, look.unicode)))?;
    let classes: Vec<Option<&str>> = slots.iter().map(|slot| slot.circuit).collect();
    if classes.iter().any(Option::is_some) {
        writeln!(out, "{}", row("told", &bands::names(&classes, look.unicode)))?;
    }
    writeln!(out, "terminals")?;
    let volts: Vec<Span> = slots.iter().map(|slot| slot.volts).collect();
    let (volts, unit) = in_unit(&volts, "V");
    write_lines(&chart(&volts, VOLT_ROWS, (&unit, MARGIN), look.unicode), out)?;
    write_amps(slots, look, out)?;
    for (name, on) in LINES {
        if slots.iter().any(on) {
            writeln!(out, "{}", row(name, &bands::line(slots.iter().map(on), look.unicode)))?;
        }
    }
    write_marks(picture, out)
}

fn write_amps(slots: &[Slot], look: Look, out: &mut dyn Write) -> io::Result<()> {
    let amps: Vec<Span> = slots.iter().map(|slot| slot.amps).collect();
    if amps.iter().flatten().all(|(_, high)| *high < NO_AMPS) {
        return writeln!(out, "{:<MARGIN$}off throughout", "source");
    }
    writeln!(out, "source")?;
    let (amps, unit) = in_unit(&amps, "A");
    write_lines(&chart(&amps, AMP_ROWS, (&unit, MARGIN), look.unicode), out)
}

type Line = (&'static str, fn(&Slot) -> bool);

/// The lines that are on or off; one that is never on is left out.
const LINES: [Line; 5] = [
    ("test key", |slot| slot.test),
    ("gate open", |slot| slot.gate),
    ("discharge", |slot| slot.discharge),
    ("is live", |slot| slot.live),
    ("says live", |slot| slot.said),
];

fn write_marks(picture: &Picture, out: &mut dyn Write) -> io::Result<()> {
    let width = picture.slots.len();
    let at = |seconds: &f64| picture.column(*seconds);
    let closings = picture.moments.iter().filter(|(_, it)| matches!(it, Moment::GateClosed { .. }));
    let crosses = marks::crosses(closings.map(|(seconds, _)| at(seconds)), width, 'x');
    if !crosses.is_empty() {
        writeln!(out, "{:<MARGIN$}{crosses}", "gate closed")?;
    }
    let labelled: Vec<(usize, String)> = picture
        .moments
        .iter()
        .filter_map(|(seconds, it)| match it {
            Moment::Event { label, what } => {
                Some((at(seconds), label.clone().unwrap_or_else(|| what.clone())))
            }
            Moment::GateClosed { .. } | Moment::Change(_) | Moment::Store(_) => None,
        })
        .collect();
    let (rows, left_out) = marks::labels(&labelled, width);
    for (number, line) in rows.iter().enumerate() {
        let name = if number == 0 { "events" } else { "" };
        writeln!(out, "{name:<MARGIN$}{line}")?;
    }
    if left_out > 0 {
        writeln!(out, "{:<MARGIN$}and {left_out} more events", "")?;
    }
    Ok(())
}

fn write_lines(lines: &[String], out: &mut dyn Write) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{line}"))
}

/// Brings values into the unit whose numbers are easiest to read.
fn in_unit(spans: &[Span], unit: &str) -> (Vec<Span>, String) {
    let most = spans
        .iter()
        .flatten()
        .fold(0.0_f64, |most, (low, high)| most.max(low.abs()).max(high.abs()));
    let (size, prefix) = match most {
        most if most >= 3_000.0 => (1.0e3, "k"),
        most if most >= 1.0 || most == 0.0 => (1.0, ""),
        most if most >= 1.0e-3 => (1.0e-3, "m"),
        most if most >= 1.0e-6 => (1.0e-6, "u"),
        _ => (1.0e-9, "n"),
    };
    let scaled = |span: &Span| span.map(|(low, high)| (low / size, high / size));
    (spans.iter().map(scaled).collect(), format!("{prefix}{unit}"))
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::interlock::State;
    use ohmwarden_sim::world::Observer;

    use super::super::tests::snapshot;
    use super::*;

    fn drawn(look: Look) -> String {
        let mut picture = Picture::new(columns(look), 2.0);
        for n in 0..2_000 {
            let seconds = f64::from(n) / 1.0e3;
            let drives = (500..1_200).contains(&n);
            let state = if drives { State::Drive { restarts: 0 } } else { State::Rest };
            let mut now = snapshot(seconds, if drives { 500.0 } else { 0.0 }, state);
            now.gate.on = drives && n < 1_199;
            now.source_amps = if now.gate.on { 0.5e-3 } else { 0.0 };
            picture.sample(&now);
        }
        let mains = Moment::Event { label: Some("mains_on".to_owned()), what: String::new() };
        picture.moments.push((1.2, mains));
        let mut out = Vec::new();
        write(&picture, look, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    const PLAIN: Look = Look { width: 80, colour: false, unicode: false };

    #[test]
    fn a_drawing_has_all_its_parts_and_keeps_to_its_width() {
        for look in [PLAIN, Look { unicode: true, width: 132, ..PLAIN }] {
            let text = drawn(look);
            for part in [
                "state",
                "rest",
                "drive",
                "500 V",
                "400 uA",
                "gate open",
                "gate closed",
                "^mains_on",
            ] {
                assert!(text.contains(part), "{part} is not in\n{text}");
            }
            for line in text.lines() {
                assert!(line.chars().count() <= look.width, "{line}");
            }
        }
    }

    #[test]
    fn without_unicode_a_drawing_is_plain_ascii() {
        assert!(drawn(PLAIN).is_ascii());
    }

    #[test]
    fn a_line_that_is_never_on_is_left_out() {
        assert!(!drawn(PLAIN).contains("says live"));
    }
}
