//! The constants as a table for a person and as JSON for a program.

use std::io::{self, Write};
use std::path::Path;

use serde::Serialize;
use serde_json::json;

use super::points::code_of;
use super::scale::ScaleReport;
use crate::caution;
use crate::layout::{Cell, quantity, table, three_digits, wrapped};
use crate::look::Look;

/// Writes a table of scales, and below it what speaks against those that do not meet.
pub(super) fn human(
    scales: &[ScaleReport],
    written: Option<&Path>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let heads = ["scale", "points", "gain", "+-", "zero", "+-", "chi-square", "largest left", ""];
    let mut rows: Vec<Vec<Cell>> = vec![heads.iter().map(|head| Cell::left(*head)).collect()];
    rows.extend(scales.iter().map(row));
    table(&rows, "", out)?;
    let width = Look::of_stdout().width.saturating_sub(2);
    for report in scales.iter().filter(|report| !report.meets()) {
        writeln!(out, "\n{} does not meet its specification", report.scale.word())?;
        for line in report.against.iter().flat_map(|why| wrapped(why, width)) {
            writeln!(out, "  {line}")?;
        }
    }
    writeln!(out, "\ntrue = (read - zero) (1 + gain); +- are standard uncertainties")?;
    if let Some(path) = written {
        writeln!(out, "constants written to {}", path.display())?;
    }
    writeln!(out, "{}", caution::BENCH)
}

fn row(report: &ScaleReport) -> Vec<Cell> {
    let unit = report.scale.symbol();
    let (zero, u_zero) = report.line.zero();
    let ppm = |share: f64| format!("{:.0} ppm", share * 1.0e6);
    let largest = report.points.iter().map(|p| p.left.abs()).fold(0.0, f64::max);
    let verdict = if report.meets() { "meets" } else { "DOES NOT MEET" };
    let chi = format!("{} of {}", three_digits(report.line.chi_square), report.line.freedom);
    vec![
        Cell::left(report.scale.word()),
        Cell::right(report.points.len().to_string()),
        Cell::right(ppm(report.line.slope - 1.0)),
        Cell::right(ppm(report.line.u_slope)),
        Cell::right(quantity(zero, unit)),
        Cell::right(quantity(u_zero, unit)),
        Cell::right(chi),
        Cell::right(quantity(largest, unit)),
        Cell::left(verdict),
    ]
}

/// Writes JSON: everything, in base units.
pub(super) fn json(
    scales: &[ScaleReport],
    written: Option<&Path>,
    out: &mut dyn Write,
) -> io::Result<()> {
    #[derive(Serialize)]
    struct Answer {
        meets: bool,
        written: Option<String>,
        scales: Vec<serde_json::Value>,
    }
    let answer = Answer {
        meets: scales.iter().all(ScaleReport::meets),
        written: written.map(|path| path.display().to_string()),
        scales: scales.iter().map(value).collect(),
    };
    serde_json::to_writer_pretty(&mut *out, &answer)?;
    writeln!(out)
}

fn value(report: &ScaleReport) -> serde_json::Value {
    let line = &report.line;
    let ((zero, u_zero), code) = (line.zero(), code_of(report.scale));
    let points: Vec<_> = report
        .points
        .iter()
        .map(|p| {
            json!({
                "line": p.line, "read": p.point.read, "reference": p.point.reference,
                "uncertainty": p.point.doubt, "residual": p.left, "allowed": p.allowed,
            })
        })
        .collect();
    json!({
        "scale": report.scale.word(), "unit": report.scale.symbol(),
        "gain": line.slope - 1.0, "u_gain": line.u_slope,
        "zero": zero, "u_zero": u_zero, "zero_codes": zero / code, "u_zero_codes": u_zero / code,
        "intercept": line.intercept, "slope": line.slope,
        "u_intercept": line.u_intercept, "u_slope": line.u_slope, "covariance": line.covariance,
        "chi_square": line.chi_square, "degrees_of_freedom": line.freedom,
        "stored": report.constants.map(|c| json!({
            "gain": c.gain(), "zero_codes": c.zero(),
            "u_gain": c.u_gain(), "u_zero_codes": c.u_zero(),
        })),
        "points": points, "meets": report.meets(), "against": report.against,
    })
}
