//! Columns of numbers, with or without a head.
//!
//! The separator (comma, semicolon, tab, blanks) is that of the first line of numbers; between
//! semicolons or tabs a comma is taken as the decimal point. A head of one line names the columns,
//! `name (unit)`, `name [unit]` or `name/unit`. A column named `time` or `t` gives the rate. Lines
//! that begin with `#` and empty lines count for nothing.

mod time;

use super::number::Field;
use super::{ChannelData, Hints, Recording};
use crate::problem::Problem;
use time::{is_time, rate_of, time_with_unit};

const NUMBER: &str = "a finite number";

/// Reads the text of a file.
pub(super) fn read(text: &str, hints: &Hints) -> Result<Recording, Problem> {
    let lines: Vec<(usize, &str)> = (1..)
        .zip(text.lines())
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'))
        .collect();
    let mut sheet = Sheet::of(&lines)?;
    sheet.leave_out(&hints.only);
    let mut columns: Vec<Vec<f64>> = vec![Vec::new(); sheet.heads.len()];
    for &(number, line) in &lines[sheet.first_row..] {
        let fields = sheet.fields(number, line);
        if fields.len() != columns.len() {
            let found = format!("{} columns", fields.len());
            let accepted = format!("{} columns, as in the lines above", columns.len());
            return Err(Problem::input(found, accepted).at(number, 1));
        }
        for ((column, field), left_out) in columns.iter_mut().zip(fields).zip(&sheet.left_out) {
            if !left_out {
                column.push(sheet.value(field)?);
            }
        }
    }
    sheet.recording(columns, &lines, hints)
}

/// How the file is laid out.
struct Sheet {
    separator: Option<char>,
    decimal_comma: bool,
    heads: Vec<(String, String)>,
    /// Columns that need not hold numbers, because nobody wants them.
    left_out: Vec<bool>,
    first_row: usize,
}

impl Sheet {
    /// Finds the layout from the first line, and from the second where the first is a head.
    fn of(lines: &[(usize, &str)]) -> Result<Self, Problem> {
        let empty = || Problem::input("no line of numbers", "at least two lines of numbers");
        let &(number, first) = lines.first().ok_or_else(empty)?;
        let has_head = Self::guess(first).fields(number, first).iter().any(|field| {
            let text = field.text.trim_matches('"');
            text.chars().any(char::is_alphabetic) && text.parse::<f64>().is_err()
        });
        let first_row = usize::from(has_head);
        let &(row, line) = lines.get(first_row).ok_or_else(empty)?;
        let mut sheet = Self::guess(line);
        sheet.first_row = first_row;
        let count = sheet.fields(row, line).len();
        sheet.heads =
            (1..=count).map(|column| (format!("column {column}"), String::new())).collect();
        if has_head {
            let names = sheet.fields(number, first);
            if names.len() != count {
                let found = format!("{} names over {count} columns of numbers", names.len());
                return Err(Problem::input(found, "one name for each column").at(number, 1));
            }
            sheet.heads = names.iter().map(|field| head(field.text)).collect();
        }
        Ok(sheet)
    }

    fn guess(line: &str) -> Self {
        let separator = [';', '\t', ','].into_iter().find(|&separator| line.contains(separator));
        let decimal_comma = matches!(separator, Some(';' | '\t')) && !line.contains('.');
        let (heads, left_out) = (Vec::new(), Vec::new());
        Self { separator, decimal_comma, heads, left_out, first_row: 0 }
    }

    /// Leaves out all columns but the wanted ones and that of time; where a name is not there, none,
    /// so that whoever asked can be told of those that are.
    fn leave_out(&mut self, wanted: &[String]) {
        let named = |name: &String| self.heads.iter().any(|(head, _)| head == name);
        let all = wanted.is_empty() || !wanted.iter().all(named);
        let stays = |name: &String| all || is_time(name) || wanted.contains(name);
        self.left_out = self.heads.iter().map(|(name, _)| !stays(name)).collect();
    }

    fn fields<'a>(&self, number: usize, line: &'a str) -> Vec<Field<'a>> {
        match self.separator {
            Some(separator) => Field::split(number, line, separator),
            None => Field::split_blanks(number, line),
        }
    }

    fn value(&self, field: Field<'_>) -> Result<f64, Problem> {
        if self.decimal_comma && field.text.contains(',') {
            let point = field.text.replacen(',', ".", 1);
            return Field { text: &point, ..field }
                .finite(NUMBER)
                .map_err(|_| field.problem(NUMBER));
        }
        field.finite(NUMBER)
    }

    fn recording(
        self,
        mut columns: Vec<Vec<f64>>,
        lines: &[(usize, &str)],
        hints: &Hints,
    ) -> Result<Recording, Problem> {
        let kept = |place: usize| !self.left_out.get(place).is_some_and(|left_out| *left_out);
        let mut place = (0..).map(kept);
        columns.retain(|_| place.next().unwrap_or(true));
        let heads = self.heads.into_iter().enumerate().filter(|(place, _)| kept(*place));
        let mut heads: Vec<(String, String)> = heads.map(|(_, head)| head).collect();
        let time = heads.iter().position(|(name, _)| is_time(name));
        let rate = match (time, hints.rate) {
            (_, Some(rate)) => rate,
            (Some(at), None) => {
                rate_of(&columns[at], &heads[at].1, |row| lines[self.first_row + row].0)?
            }
            (None, None) => {
                let found = "neither a column named `time` nor a rate";
                return Err(Problem::input(found, "one of them: give --rate"));
            }
        };
        if let Some(at) = time {
            columns.remove(at);
            heads.remove(at);
        }
        if heads.is_empty() {
            return Err(Problem::input("only a time column", "a column to measure"));
        }
        let channel = |((name, unit), samples)| ChannelData::plain(name, unit, samples);
        let channels = heads.into_iter().zip(columns).map(channel).collect();
        Ok(Recording { kind: "CSV".to_owned(), rate, channels })
    }
}

/// A name and its unit.
fn head(text: &str) -> (String, String) {
    let text = text.trim_matches('"').trim();
    let parts = |open: char, close: &str| {
        let (name, unit) = text.strip_suffix(close)?.split_once(open)?;
        Some((name.trim().to_owned(), unit.trim().to_owned()))
    };
    parts('(', ")")
        .or_else(|| parts('[', "]"))
        .or_else(|| parts('/', ""))
        .or_else(|| time_with_unit(text))
        .unwrap_or_else(|| (text.to_owned(), String::new()))
}

#[cfg(test)]
mod tests;
