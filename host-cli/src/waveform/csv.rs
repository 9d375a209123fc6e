//! Columns of numbers, with or without a head.
//!
//! The separator (comma, semicolon, tab, blanks) is that of the first line of numbers; between
//! semicolons or tabs a comma is taken as the decimal point. A head of one line names the columns,
//! `name (unit)`, `name [unit]` or `name/unit`. A column named `time` or `t` gives the rate; its
//! unit is `s`, `ms`, `us` or `ns` (`time_s` will do as well), and without one seconds, or what makes of a large whole number
//! a moment since 1970. Lines that begin with `#` and empty lines count for nothing.

use super::number::Field;
use super::{ChannelData, Hints, Recording};
use crate::problem::Problem;

const NUMBER: &str = "a finite number";
/// How far the steps of a time column may differ from their mean.
const UNEVEN: f64 = 0.02;

/// Reads the text of a file.
pub(super) fn read(text: &str, hints: &Hints) -> Result<Recording, Problem> {
    let lines: Vec<(usize, &str)> = (1..)
        .zip(text.lines())
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'))
        .collect();
    let sheet = Sheet::of(&lines)?;
    let mut columns: Vec<Vec<f64>> = vec![Vec::new(); sheet.heads.len()];
    for &(number, line) in &lines[sheet.first_row..] {
        let fields = sheet.fields(number, line);
        if fields.len() != columns.len() {
            let found = format!("{} columns", fields.len());
            let accepted = format!("{} columns, as in the lines above", columns.len());
            return Err(Problem::input(found, accepted).at(number, 1));
        }
        for (column, field) in columns.iter_mut().zip(fields) {
            column.push(sheet.value(field)?);
        }
    }
    sheet.recording(columns, &lines, hints)
}

/// How the file is laid out.
struct Sheet {
    separator: Option<char>,
    decimal_comma: bool,
    heads: Vec<(String, String)>,
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
        Self { separator, decimal_comma, heads: Vec::new(), first_row: 0 }
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
        let is_time = |name: &str| matches!(name.to_ascii_lowercase().as_str(), "time" | "t");
        let mut heads = self.heads;
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

/// A time column as programs like to name it: `time_s`.
fn time_with_unit(text: &str) -> Option<(String, String)> {
    let (name, unit) = text.split_once('_')?;
    let is_time = matches!(name.to_ascii_lowercase().as_str(), "time" | "t");
    let known = matches!(unit, "s" | "ms" | "us" | "ns");
    (is_time && known).then(|| (name.to_owned(), unit.to_owned()))
}

/// Samples per second from a time column.
fn rate_of(times: &[f64], unit: &str, line: impl Fn(usize) -> usize) -> Result<f64, Problem> {
    let ([first, .., last], steps) = (times, times.len().saturating_sub(1)) else {
        return Err(Problem::input("one moment only", "at least two lines of numbers"));
    };
    let per_second = match unit {
        "s" => 1.0,
        "ms" => 1e3,
        "us" => 1e6,
        "ns" => 1e9,
        "" => unwritten_unit(*first),
        other => {
            let found = format!("time in `{other}`");
            return Err(Problem::input(found, "s, ms, us or ns").at(line(0).saturating_sub(1), 1));
        }
    };
    let step = (last - first) / steps as f64;
    let uneven = times.windows(2).position(|pair| {
        let own = pair[1] - pair[0];
        own <= 0.0 || (own - step).abs() > UNEVEN * step
    });
    match uneven {
        Some(row) => {
            let found = format!("a step of {} after steps of {step}", times[row + 1] - times[row]);
            Err(Problem::input(found, "even steps; or give --rate").at(line(row + 1), 1))
        }
        None => Ok(per_second / step),
    }
}

/// What makes a second of a moment without a unit: since 1970 where it is that large.
fn unwritten_unit(first: f64) -> f64 {
    let whole = first.fract() == 0.0;
    match first {
        _ if whole && first > 1e17 => 1e9,
        _ if whole && first > 1e14 => 1e6,
        _ if whole && first > 1e11 => 1e3,
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::{Hints, read};

    fn hints(rate: f64) -> Hints {
        Hints { rate: Some(rate), ..Hints::default() }
    }

    #[test]
    fn names_units_and_rate_come_from_the_head_and_the_time() {
        let text = "# made by hand\ntime (ms),U [V],I/A\n0,1,2\n0.1,-3,4\n0.2,5,6\n";
        let recording = read(text, &Hints::default()).unwrap();
        assert!((recording.rate - 10_000.0).abs() < 1e-6);
        let [u, i] = &recording.channels[..] else { panic!("{recording:?}") };
        assert_eq!((u.name.as_str(), u.unit.as_str()), ("U", "V"));
        assert_eq!(u.samples, [1.0, -3.0, 5.0]);
        assert_eq!((i.name.as_str(), i.unit.as_str()), ("I", "A"));
    }

    #[test]
    fn a_time_column_may_carry_its_unit_in_its_name() {
        for (head, rate) in [("time_s", 5.0), ("t_ms", 5_000.0), ("Time_us", 5.0e6)] {
            let recording =
                read(&format!("{head},volts\n0,1\n0.2,2\n"), &Hints::default()).unwrap();
            assert!((recording.rate / rate - 1.0).abs() < 1e-9, "{head}: {}", recording.rate);
            assert_eq!(recording.channels.len(), 1);
        }
        let told = read("time_of_day,volts\n0,1\n1,2\n", &Hints::default()).unwrap_err();
        assert!(told.to_string().contains("neither a column named"), "{told}");
    }

    #[test]
    fn separators_and_decimal_commas_are_found() {
        for text in ["1.5,2\n3,4", "1,5;2\n3;4", "1,5\t2\n3\t4", "1.5  2\n3 4", "1.5;2\r\n3;4\r\n"]
        {
            let recording = read(text, &hints(50.0)).unwrap();
            let columns: Vec<_> = recording.channels.iter().map(|it| it.samples.clone()).collect();
            assert_eq!(columns, [vec![1.5, 3.0], vec![2.0, 4.0]], "{text:?}");
            assert_eq!(recording.channels[1].name, "column 2");
        }
    }

    #[test]
    fn a_large_whole_moment_is_since_1970() {
        let recording =
            read("Time,U\n1735554592842,1\n1735554592862,2", &Hints::default()).unwrap();
        assert_eq!(recording.rate, 50.0);
    }

    #[test]
    fn mistakes_are_pointed_at() {
        for (text, problem) in [
            ("", "no line of numbers"),
            ("U (V)\n", "no line of numbers"),
            ("1,2\n3,x\n", ":2:3: found `x`"),
            ("1,2\n3\n", ":2:1: found 1 columns"),
            ("1,2\n3,\n", ":2:3: found nothing"),
            ("1\nnan\n", ":2:1: found `nan`"),
            ("1\n2\n", "give --rate"),
            ("time,U\n0,1\n", "one moment only"),
            ("time\n0\n1\n", "only a time column"),
            ("time (h),U\n0,1\n1,2\n", "time in `h`"),
            ("time,U\n0,1\n1,2\n3,3\n", ":3:1: found a step of 1 "),
            ("time,U\n1,1\n1,2\n", ":3:1: found a step of 0"),
            ("a,b\n1,2,3\n", ":1:1: found 2 names over 3 columns"),
        ] {
            let found = read(text, &Hints::default()).unwrap_err();
            let found = found.in_file("f".as_ref()).to_string();
            assert!(found.contains(problem), "{text:?}: {found}");
        }
    }
}
