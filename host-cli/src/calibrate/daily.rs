//! A daily check as a table: each line a standard and what the instrument read on it.

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use ohmwarden_core::calibration::daily::{Daily, MOST_STEPS, Standard, Verdict};
use ohmwarden_core::judge::Reading;
use serde_json::json;

use super::budget::Stated;
use super::day::today;
use super::{Args, text_of, write_block};
use crate::caution;
use crate::layout::{Cell, quantity, table};
use crate::output::Format;
use crate::problem::Problem;
use crate::sheet::{Column, Row, rows, unknown};

const COLUMNS: [Column; 5] = [
    Column { name: "function", needed: true },
    Column { name: "volts", needed: false },
    Column { name: "reference", needed: true },
    Column { name: "uncertainty", needed: true },
    Column { name: "reading", needed: true },
];
const FUNCTIONS: [&str; 3] = ["insulation", "continuity", "voltage"];
const ABOVE_ZERO: &str = "a number above 0";

/// Judges the check and writes the answer.
///
/// # Errors
/// A table that cannot be read, an answer that cannot be written.
pub(super) fn run(path: &Path, args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let text = text_of(path)?;
    let daily = read(&text, args).map_err(|problem| problem.in_file(path))?;
    if let Some(file) = &args.out {
        write_block(file, &daily.to_bytes())?;
    }
    match args.format {
        Format::Human => human(&daily, args.out.as_deref(), out)?,
        Format::Json => json(&daily, out)?,
    }
    let held = daily.result() == Verdict::Agrees;
    Ok(if held { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn read(text: &str, args: &Args) -> Result<Daily, Problem> {
    let rows = rows(text, &COLUMNS)?;
    if let Some(beyond) = rows.get(MOST_STEPS) {
        let found = format!("{} steps", rows.len());
        let accepted = format!("at most {MOST_STEPS}");
        return Err(Problem::input(found, accepted).at(beyond.line, 1));
    }
    let steps: Vec<(Standard, Reading)> = rows.iter().map(step).collect::<Result<_, _>>()?;
    let standards: Vec<Standard> = steps.iter().map(|(standard, _)| *standard).collect();
    let mut daily = Daily::new(Some(args.made.unwrap_or_else(today)), &standards);
    for (number, (_, reading)) in steps.iter().enumerate() {
        daily.take(number, *reading);
    }
    Ok(daily)
}

/// The standard of a line, and the reading with the doubt that a calibrated instrument states.
fn step(row: &Row<'_>) -> Result<(Standard, Reading), Problem> {
    let number = |name: &str| {
        let field = row.need(name, ABOVE_ZERO)?;
        let number: f64 = field.finite(ABOVE_ZERO)?;
        if number > 0.0 { Ok(number as f32) } else { Err(field.problem(ABOVE_ZERO)) }
    };
    let function = row.need("function", "a function")?;
    let (value, doubt) = (number("reference")?, number("uncertainty")?);
    let read = row.need("reading", "a finite number")?.finite("a finite number")? as f32;
    let stated = Stated::new();
    let reading = match function.text {
        "insulation" => stated.insulation(number("volts")?, read),
        "continuity" => stated.continuity(read),
        "voltage" => stated.voltage(read),
        _ => return Err(unknown(function, FUNCTIONS.into_iter())),
    };
    if let Some(volts) = row.get("volts").filter(|_| function.text != "insulation") {
        return Err(volts.problem("nothing: volts belong to insulation"));
    }
    Ok((Standard { value, doubt, unit: reading.unit }, reading))
}

fn human(daily: &Daily, written: Option<&Path>, out: &mut dyn Write) -> std::io::Result<()> {
    let heads = ["step", "standard", "+-", "reading", "+-", "apart", ""];
    let mut rows: Vec<Vec<Cell>> = vec![heads.iter().map(|head| Cell::left(*head)).collect()];
    for (number, step) in daily.steps().iter().enumerate() {
        let unit = step.standard.unit.symbol();
        let of = |x: f32| Cell::right(quantity(f64::from(x), unit));
        let read = step.reading.value.amount().unwrap_or(f32::NAN);
        rows.push(vec![
            Cell::left((number + 1).to_string()),
            of(step.standard.value),
            of(step.standard.doubt),
            of(read),
            of(step.reading.doubt),
            of(read - step.standard.value),
            Cell::left(step.verdict().word()),
        ]);
    }
    let day = daily.date().map_or(String::new(), |date| format!(" of {date}"));
    writeln!(out, "daily check{day}")?;
    table(&rows, "", out)?;
    writeln!(out, "\n+- are standard uncertainties; a step agrees within twice both together")?;
    if let Some(path) = written {
        writeln!(out, "check written to {}", path.display())?;
    }
    writeln!(out, "the check {}", daily.result().word())?;
    writeln!(out, "{}", caution::BENCH)
}

fn json(daily: &Daily, out: &mut dyn Write) -> std::io::Result<()> {
    let steps: Vec<_> = daily
        .steps()
        .iter()
        .map(|step| {
            json!({
                "unit": step.standard.unit.symbol(),
                "reference": step.standard.value, "u_reference": step.standard.doubt,
                "reading": step.reading.value.amount(), "u_reading": step.reading.doubt,
                "verdict": step.verdict().word(),
            })
        })
        .collect();
    let date = daily.date().map(|date| date.to_string());
    let answer = json!({ "date": date, "steps": steps, "result": daily.result().word() });
    serde_json::to_writer_pretty(&mut *out, &answer)?;
    writeln!(out)
}
