//! The answer: a table for a person, JSON for a program.

use std::io::{self, Write};

use serde::Serialize;

use super::quantise::Quantised;
use super::reading::Reading;
use crate::waveform::ChannelData;

/// Digits of a value that a person is shown.
const DIGITS: i32 = 6;
const HEADS: [&str; 11] =
    ["channel", "unit", "from", "samples", "rms", "dc", "ac", "peak", "crest", "hz", "clipped"];

/// What a file gave.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct FileReport {
    pub(super) file: String,
    pub(super) kind: String,
    pub(super) samples_per_second: f64,
    pub(super) channels: Vec<Measured>,
}

/// What one channel gave, with the quantisation that it was measured through.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Measured {
    name: String,
    unit: String,
    quantisation: Quantisation,
    readings: Vec<Reading>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct Quantisation {
    /// `as_recorded`: the codes of the file; `rounded`: made here.
    codes: &'static str,
    units_per_code: f64,
    units_at_code_zero: f64,
}

impl Measured {
    /// Joins a channel, what its codes are worth and what was read.
    pub(super) fn new(
        channel: &ChannelData,
        quantised: &Quantised,
        readings: Vec<Reading>,
    ) -> Self {
        let codes = if quantised.as_recorded { "as_recorded" } else { "rounded" };
        let quantisation = Quantisation {
            codes,
            units_per_code: quantised.units_per_code,
            units_at_code_zero: quantised.zero,
        };
        Self { name: channel.name.clone(), unit: channel.unit.clone(), quantisation, readings }
    }
}

/// Writes JSON: one object with a list of files.
pub(super) fn json(reports: &[FileReport], out: &mut dyn Write) -> io::Result<()> {
    #[derive(Serialize)]
    struct Answer<'a> {
        files: &'a [FileReport],
    }
    serde_json::to_writer_pretty(&mut *out, &Answer { files: reports })?;
    writeln!(out)
}

/// Writes a table for each file.
pub(super) fn human(reports: &[FileReport], out: &mut dyn Write) -> io::Result<()> {
    for (number, report) in reports.iter().enumerate() {
        if number > 0 {
            writeln!(out)?;
        }
        let rate = significant(report.samples_per_second);
        writeln!(out, "{}: {}, {rate} samples/s", report.file, report.kind)?;
        let mut rows: Vec<Vec<String>> = vec![HEADS.iter().map(|&head| head.to_owned()).collect()];
        rows[0].push("one code".to_owned());
        for channel in &report.channels {
            rows.extend(channel.readings.iter().map(|reading| row(channel, reading)));
        }
        table(&rows, out)?;
        if rows.len() == 1 {
            writeln!(out, "(shorter than the 0.2 s that the meter needs)")?;
        }
    }
    Ok(())
}

fn row(channel: &Measured, reading: &Reading) -> Vec<String> {
    let or_none = |value: Option<f64>| value.map_or("--".to_owned(), significant);
    let quantisation = &channel.quantisation;
    let mut cells = vec![
        channel.name.clone(),
        channel.unit.clone(),
        reading.first_sample.to_string(),
        reading.samples.to_string(),
    ];
    cells.extend([reading.rms, reading.dc, reading.ac, reading.peak].map(significant));
    cells.extend([or_none(reading.crest), or_none(reading.frequency_hz)]);
    cells.push(reading.clipped_samples.to_string());
    let codes = if quantisation.codes == "as_recorded" { " (as recorded)" } else { " (rounded)" };
    cells.push(significant(quantisation.units_per_code) + codes);
    cells
}

/// Writes rows in columns as wide as they need: text to the left, numbers to the right.
fn table(rows: &[Vec<String>], out: &mut dyn Write) -> io::Result<()> {
    let width =
        |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..HEADS.len()).map(width).collect();
    for row in rows {
        for (column, (cell, &width)) in row.iter().zip(&widths).enumerate() {
            if column < 2 {
                write!(out, "{cell:<width$}  ")?
            } else {
                write!(out, "{cell:>width$}  ")?
            }
        }
        writeln!(out, "{}", row[HEADS.len()])?;
    }
    Ok(())
}

/// A number with six digits that count, without zeros behind the last.
fn significant(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let exponent = value.abs().log10().floor() as i32;
    if !(-4..=9).contains(&exponent) {
        return format!("{value:.5e}");
    }
    let decimals = usize::try_from(DIGITS - 1 - exponent).unwrap_or(0);
    let text = format!("{value:.decimals$}");
    if decimals == 0 { text } else { text.trim_end_matches('0').trim_end_matches('.').to_owned() }
}

#[cfg(test)]
mod tests {
    use super::significant;

    #[test]
    fn six_digits_count() {
        for (value, text) in [
            (0.0, "0"),
            (230.0, "230"),
            (230.123_456, "230.123"),
            (-0.006_320_4, "-0.0063204"),
            (1_348.162_7, "1348.16"),
            (5_760.0, "5760"),
            (1_234_567.0, "1234567"),
            (1.5e-7, "1.50000e-7"),
            (3.0e12, "3.00000e12"),
        ] {
            assert_eq!(significant(value), text);
        }
    }
}
