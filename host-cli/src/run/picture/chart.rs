//! A chart of one quantity over time, some rows high, with an axis of round numbers.
//!
//! Each column of text shows the whole span between the least and the greatest value in its time,
//! in half rows: a steady voltage is a line, an alternating one a band.

use crate::layout::three_digits;

/// The least and the greatest value of one column; `None` where the run did not get so far.
pub(crate) type Span = Option<(f64, f64)>;

/// A scale of equal rows of two halves; a value belongs to the half that it is nearest to, so that
/// noise round a level stays on one line.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    /// The height of a row.
    step: f64,
    /// The lowest row, in steps from zero.
    lowest: i64,
    /// The number of rows.
    rows: i64,
}

impl Scale {
    /// Finds the smallest round step with which all values and zero fit into so many rows.
    fn of(spans: &[Span], rows: usize) -> Self {
        let most = i64::try_from(rows.max(2)).unwrap_or(i64::MAX);
        let (low, high) = spans
            .iter()
            .flatten()
            .filter(|(low, high)| low.is_finite() && high.is_finite())
            .fold((0.0_f64, 0.0_f64), |(low, high), span| (low.min(span.0), high.max(span.1)));
        let whole = (high - low).max(f64::MIN_POSITIVE);
        let mut decade = 10.0_f64.powf((whole / most as f64).log10().floor());
        loop {
            for round in [1.0, 2.0, 2.5, 5.0] {
                let step = round * decade;
                let (lowest, highest) = (row_of(low, step), row_of(high, step));
                if highest - lowest < most as f64 {
                    let lowest = lowest as i64;
                    return Self { step, lowest, rows: highest as i64 - lowest + 1 };
                }
            }
            decade *= 10.0;
        }
    }

    /// The half row that a value falls into, counted from the bottom.
    fn half(&self, value: f64) -> i64 {
        let halves = half_of(value, self.step) as i64 - 2 * self.lowest;
        halves.clamp(0, 2 * self.rows - 1)
    }
}

/// The nearest half row, counted from zero.
fn half_of(value: f64, step: f64) -> f64 {
    (value / step * 2.0 + 0.5).floor()
}

/// The row of that half, counted from zero.
fn row_of(value: f64, step: f64) -> f64 {
    (half_of(value, step) / 2.0).floor()
}

/// The letters of a chart.
#[derive(Clone, Copy, Debug)]
struct Letters {
    upper: char,
    lower: char,
    both: char,
    zero: char,
    edge: &'static str,
}

const PLAIN: Letters = Letters { upper: '\'', lower: '.', both: '|', zero: '-', edge: " +" };
const DRAWN: Letters = Letters {
    upper: '\u{2580}',
    lower: '\u{2584}',
    both: '\u{2588}',
    zero: '\u{2508}',
    edge: " \u{2524}",
};

/// Draws the rows from the top down, each with its lower edge in `unit` in a margin of `margin`
/// letters.
pub(crate) fn chart(
    spans: &[Span],
    rows: usize,
    (unit, margin): (&str, usize),
    unicode: bool,
) -> Vec<String> {
    let letters = if unicode { DRAWN } else { PLAIN };
    let scale = Scale::of(spans, rows);
    let line = |row: i64| {
        let level = scale.lowest + row;
        let number = three_digits(level as f64 * scale.step);
        // Trailing zeros behind a point carry nothing on an axis.
        let number = if number.contains('.') {
            number.trim_end_matches('0').trim_end_matches('.')
        } else {
            &number
        };
        let label = format!("{number} {unit}");
        let cells: String = spans.iter().map(|span| cell(span, row, &scale, letters)).collect();
        format!("{label:>width$}{}{cells}", letters.edge, width = margin - 2)
    };
    (0..scale.rows).rev().map(line).map(|line| line.trim_end().to_owned()).collect()
}

fn cell(span: &Span, row: i64, scale: &Scale, letters: Letters) -> char {
    let empty = if scale.lowest + row == 0 { letters.zero } else { ' ' };
    let Some((low, high)) = span else { return ' ' };
    let (from, to) = (scale.half(*low), scale.half(*high));
    let covers = |half: i64| from <= half && half <= to;
    match (covers(2 * row + 1), covers(2 * row)) {
        (true, true) => letters.both,
        (true, false) => letters.upper,
        (false, true) => letters.lower,
        (false, false) => empty,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_steady_voltage_stands_in_the_row_of_its_number() {
        let lines = chart(&[Some((500.0, 500.0)); 3], 6, ("V", 8), false);
        assert_eq!(
            lines,
            [" 500 V +...", " 400 V +", " 300 V +", " 200 V +", " 100 V +", "   0 V +---"]
                .map(|line| line[0..].to_owned())
        );
    }

    #[test]
    fn noise_round_a_level_stays_on_one_line() {
        let lines = chart(&[Some((-3.0, 3.0)), Some((497.0, 503.0))], 6, ("V", 8), false);
        assert!(lines[0].ends_with("+ ."), "{lines:?}");
        assert!(lines[5].ends_with("+.-"), "{lines:?}");
        assert_eq!(lines.len(), 6);
    }

    #[test]
    fn an_alternating_voltage_is_a_band_on_both_sides_of_zero() {
        let lines = chart(&[Some((-325.0, 325.0)), None], 8, ("V", 8), false);
        assert!(lines.len() <= 8, "{lines:?}");
        assert!(lines[0].starts_with(" 300 V +"), "{lines:?}");
        let drawn = lines.iter().filter(|line| line.ends_with(['|', '.', '\''])).count();
        assert_eq!(drawn, lines.len());
    }

    #[test]
    fn any_values_fit_into_the_rows_that_there_are() {
        for high in [0.0, 1e-12, 0.0017, 0.999, 1.0, 499.99, 500.0, 976.0, 3.3e7] {
            for low in [0.0, -1e-9, -325.0, -high] {
                for rows in 2..12 {
                    let lines = chart(&[Some((low, high))], rows, ("V", 12), false);
                    assert!((1..=rows).contains(&lines.len()), "{low} {high} {rows}: {lines:?}");
                }
            }
        }
    }

    #[test]
    fn what_is_no_number_cannot_stop_a_drawing() {
        let lines = chart(&[Some((f64::NAN, f64::INFINITY)), Some((0.0, 1.0))], 5, ("V", 8), true);
        assert!(lines.len() <= 5);
    }
}
