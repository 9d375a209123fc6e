//! Text for a person: numbers with units, lines that fit, columns that stand under each other.

use std::io::{self, Write};

/// Writes a number with three digits that count and an SI prefix; units that are not SI keep none.
pub(crate) fn quantity(value: f64, unit: &str) -> String {
    match unit {
        "V" | "A" | "s" | "ohm" | "Hz" | "F" | "J" => with_prefix(value, unit),
        _ => format!("{} {unit}", three_digits(value)),
    }
}

/// Writes a number with three digits that count.
pub(crate) fn three_digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return if value.is_nan() {
            "--"
        } else if value > 0.0 {
            "inf"
        } else {
            "-inf"
        }
        .to_owned();
    }
    // Rounded first, so that 9.996 is written as 10.0 and not as 10.00.
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    let exponent = rounded.abs().log10().floor();
    if !(-4.0..6.0).contains(&exponent) {
        return format!("{rounded:.2e}");
    }
    let decimals = (2.0 - exponent).max(0.0) as usize;
    format!("{rounded:.decimals$}")
}

fn with_prefix(value: f64, unit: &str) -> String {
    const PREFIXES: [(f64, &str); 8] = [
        (1e9, "G"),
        (1e6, "M"),
        (1e3, "k"),
        (1.0, ""),
        (1e-3, "m"),
        (1e-6, "u"),
        (1e-9, "n"),
        (1e-12, "p"),
    ];
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    let fits = |(size, _): &(f64, &str)| rounded.abs() >= size * (1.0 - 1e-9);
    let (size, prefix) = match PREFIXES.into_iter().find(fits) {
        Some(found) if rounded.is_finite() => found,
        _ => (1.0, ""),
    };
    format!("{} {prefix}{unit}", three_digits(value / size))
}

/// Writes a part of a whole in percent.
pub(crate) fn percent(part: f64) -> String {
    let percent = part * 100.0;
    if percent.abs() >= 1_000.0 {
        return if percent > 0.0 { ">999 %" } else { "<-999 %" }.to_owned();
    }
    if percent.abs() < 10.0 { format!("{percent:.1} %") } else { format!("{percent:.0} %") }
}

/// Breaks a text into lines of at most so many letters; a longer word stands alone.
pub(crate) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Cuts a text to so many letters; two points show that something is missing.
pub(crate) fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width.saturating_sub(2)).collect();
    format!("{}..", kept.trim_end())
}

/// A cell of a table: what is written, and how wide it is without its colours.
#[derive(Clone, Debug)]
pub(crate) struct Cell {
    text: String,
    width: usize,
    right: bool,
}

impl Cell {
    /// A cell whose text begins at the left.
    pub(crate) fn left(text: impl Into<String>) -> Self {
        let text = text.into();
        Self { width: text.chars().count(), text, right: false }
    }

    /// A cell whose text ends at the right, as numbers do.
    pub(crate) fn right(text: impl Into<String>) -> Self {
        Self { right: true, ..Self::left(text) }
    }

    /// The same cell in colours.
    pub(crate) fn painted(self, paint: impl FnOnce(&str) -> String) -> Self {
        Self { text: paint(&self.text), ..self }
    }
}

/// Writes rows in columns as wide as they need, two blanks apart.
///
/// # Errors
/// What the writer reports.
pub(crate) fn table(rows: &[Vec<Cell>], indent: &str, out: &mut dyn Write) -> io::Result<()> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.width).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for row in rows {
        let mut line = indent.to_owned();
        for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
            let gap = " ".repeat(width.saturating_sub(cell.width));
            let (before, after) = if cell.right { (gap.as_str(), "") } else { ("", gap.as_str()) };
            line.push_str(if column > 0 { "  " } else { "" });
            line.push_str(before);
            line.push_str(&cell.text);
            line.push_str(after);
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_three_digits_that_count() {
        for (value, text) in [
            (0.0, "0"),
            (1.3, "1.30"),
            (-12.04, "-12.0"),
            (9.996, "10.0"),
            (999.6, "1000"),
            (123_456.0, "123000"),
            (2.5e-9, "2.50e-9"),
            (f64::NEG_INFINITY, "-inf"),
        ] {
            assert_eq!(three_digits(value), text);
        }
    }

    #[test]
    fn prefixes_keep_a_number_between_one_and_a_thousand() {
        for (value, unit, text) in [
            (0.0013, "s", "1.30 ms"),
            (25.04e6, "ohm", "25.0 Mohm"),
            (999.96e-6, "A", "1.00 mA"),
            (-231.0, "V", "-231 V"),
            (0.0, "V", "0 V"),
            (132.0, "ms", "132 ms"),
            (1.0, "rule", "1.00 rule"),
            (3.0e-15, "A", "3.00e-15 A"),
            (f64::INFINITY, "V", "inf V"),
        ] {
            assert_eq!(quantity(value, unit), text);
        }
    }

    #[test]
    fn lines_fit_and_lose_no_word() {
        let lines = wrapped("one two  three fourfivesix", 8);
        assert_eq!(lines, ["one two", "three", "fourfivesix"]);
        assert_eq!(cut("drop_on_live", 8), "drop_o..");
        assert_eq!(cut("short", 8), "short");
    }

    #[test]
    fn colours_do_not_move_columns() {
        let painted = Cell::left("a").painted(|text| format!("\u{1b}[1m{text}\u{1b}[0m"));
        let rows = [vec![painted, Cell::right("1")], vec![Cell::left("bcd"), Cell::right("22")]];
        let mut out = Vec::new();
        table(&rows, "", &mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert_eq!(text, "\u{1b}[1ma\u{1b}[0m     1\nbcd  22\n");
    }

    #[test]
    fn percents_stay_short() {
        assert_eq!(percent(0.217), "22 %");
        assert_eq!(percent(0.0217), "2.2 %");
        assert_eq!(percent(1.0e6), ">999 %");
    }
}
