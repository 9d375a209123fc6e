//! The data part: raw values and time stamps.

use super::super::number::Field;
use super::config::{Config, Format};
use crate::problem::Problem;

/// How far the steps of the time stamps may differ from their mean.
const UNEVEN: f64 = 0.02;

/// Raw values, one column for each analogue channel.
pub(super) struct Table {
    pub(super) columns: Vec<Vec<f64>>,
    /// Ticks, where there are any.
    stamps: Vec<Option<f64>>,
}

impl Table {
    fn with_columns(count: usize) -> Self {
        Self { columns: vec![Vec::new(); count], stamps: Vec::new() }
    }

    /// Samples per second from the time stamps.
    pub(super) fn rate(&self, seconds_per_tick: f64) -> Result<f64, Problem> {
        let accepted = "a sampling rate in the configuration, or even time stamps";
        let stamps: Option<Vec<f64>> = self.stamps.iter().copied().collect();
        let stamps =
            stamps.ok_or_else(|| Problem::input("samples without a time stamp", accepted))?;
        let [first, .., last] = stamps[..] else {
            return Err(Problem::input("less than two samples", accepted));
        };
        let step = (last - first) / (stamps.len() - 1) as f64;
        let even = |pair: &[f64]| (pair[1] - pair[0] - step).abs() <= (UNEVEN * step).max(1.0);
        match stamps.windows(2).position(|pair| !even(pair)) {
            None if step > 0.0 => Ok(1.0 / (step * seconds_per_tick)),
            at => {
                let found = format!("uneven time stamps at sample {}", at.unwrap_or(0) + 1);
                Err(Problem::input(found, accepted))
            }
        }
    }
}

/// Reads lines of `number, time stamp, analogue..., status...`.
pub(super) fn read_text(config: &Config, text: &str, first_line: usize) -> Result<Table, Problem> {
    let mut table = Table::with_columns(config.analogue.len());
    let count = 2 + config.analogue.len() + config.status_count;
    let lines = (first_line..).zip(text.lines()).filter(|(_, line)| !line.trim().is_empty());
    for (number, line) in lines.take(config.samples) {
        let fields = Field::split(number, line, ',');
        if fields.len() != count {
            let found = format!("{} fields", fields.len());
            return Err(Problem::input(found, format!("{count} fields")).at(number, 1));
        }
        let stamp = fields[1];
        table.stamps.push(if stamp.text.is_empty() {
            None
        } else {
            Some(stamp.finite("a time stamp or nothing")?)
        });
        for (column, field) in table.columns.iter_mut().zip(&fields[2..]) {
            let missing = field.text.is_empty();
            column.push(if missing { f64::NAN } else { field.finite("a raw value, a number")? });
        }
    }
    complete(table, config.samples)
}

/// Reads records of number, time stamp, analogue values and words of status bits, little-endian.
pub(super) fn read_binary(config: &Config, bytes: &[u8]) -> Result<Table, Problem> {
    const HEAD: usize = 8;
    let width = config.format.width();
    let values = config.analogue.len() * width;
    let record = HEAD + values + 2 * config.status_count.div_ceil(16);
    let mut table = Table::with_columns(config.analogue.len());
    for bytes in bytes.chunks_exact(record).take(config.samples) {
        let stamp = u32::from_le_bytes([bytes[4], bytes[5], bytes[6], bytes[7]]);
        table.stamps.push((stamp != u32::MAX).then_some(f64::from(stamp)));
        let fields = bytes[HEAD..HEAD + values].chunks_exact(width);
        for (column, field) in table.columns.iter_mut().zip(fields) {
            column.push(raw(config.format, field));
        }
    }
    complete(table, config.samples)
}

fn raw(format: Format, field: &[u8]) -> f64 {
    match (format, field) {
        (Format::Float32, &[a, b, c, d]) => f64::from(f32::from_le_bytes([a, b, c, d])),
        (_, &[a, b, c, d]) => f64::from(i32::from_le_bytes([a, b, c, d])),
        (_, &[a, b]) => f64::from(i16::from_le_bytes([a, b])),
        _ => f64::NAN,
    }
}

/// Refuses data that ends before the configuration says.
fn complete(table: Table, samples: usize) -> Result<Table, Problem> {
    let found = table.stamps.len();
    if found == 0 || found < samples {
        let accepted = format!("{samples}, as the configuration says (at least 1)");
        return Err(Problem::input(format!("{found} samples"), accepted));
    }
    Ok(table)
}
