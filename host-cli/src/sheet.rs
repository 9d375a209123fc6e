//! Tables with named columns, in any order: what a person writes in a spreadsheet and saves as CSV.
//!
//! The first line names the columns; the separator (comma, semicolon or tab) is that of this line.
//! Empty lines and lines that begin with `#` count for nothing. Every mistake has a line and a column.

use crate::nearest::nearest;
use crate::problem::Problem;
use crate::waveform::number::Field;

/// A column that a table may have.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Column {
    /// Its name in the first line.
    pub(crate) name: &'static str,
    /// Whether the table is of no use without it.
    pub(crate) needed: bool,
}

/// One line below the first.
#[derive(Clone, Debug)]
pub(crate) struct Row<'a> {
    /// The line of the file, from 1.
    pub(crate) line: usize,
    fields: Vec<(&'static str, Field<'a>)>,
}

impl<'a> Row<'a> {
    /// The field of a column; `None` where the table has no such column or nothing stands there.
    pub(crate) fn get(&self, name: &str) -> Option<Field<'a>> {
        let found = self.fields.iter().find(|(column, _)| *column == name);
        found.map(|(_, field)| *field).filter(|field| !field.text.is_empty())
    }

    /// The field of a column that must not be empty.
    pub(crate) fn need(&self, name: &str, accepted: &str) -> Result<Field<'a>, Problem> {
        self.get(name).ok_or_else(|| {
            let at = self.fields.iter().find(|(column, _)| *column == name);
            let column = at.map_or(1, |(_, field)| field.column);
            let found = format!("nothing under `{name}`");
            Problem::input(found, accepted).at(self.line, column)
        })
    }
}

/// Reads a table.
///
/// # Errors
/// A column that is not known, twice there or missing; a line with more or fewer fields than the
/// first; no line at all.
pub(crate) fn rows<'a>(text: &'a str, columns: &[Column]) -> Result<Vec<Row<'a>>, Problem> {
    let counts =
        |(_, line): &(usize, &str)| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    let mut lines = (1..).zip(text.lines()).filter(counts);
    let names = || columns.iter().map(|column| column.name).collect::<Vec<_>>().join(", ");
    let (number, first) = lines
        .next()
        .ok_or_else(|| Problem::input("an empty table", format!("a first line of {}", names())))?;
    let separator = [';', '\t'].into_iter().find(|s| first.contains(*s)).unwrap_or(',');
    let heads = heads(Field::split(number, first, separator), columns)?;
    let missing = columns.iter().find(|c| c.needed && !heads.contains(&c.name));
    if let Some(missing) = missing {
        let found = format!("no column `{}`", missing.name);
        return Err(Problem::input(found, format!("columns {}", names())).at(number, 1));
    }
    let row = |(line, text): (usize, &'a str)| {
        let fields = Field::split(line, text, separator);
        if fields.len() != heads.len() {
            let found = format!("{} fields", fields.len());
            let accepted = format!("{} fields, as the first line has", heads.len());
            return Err(Problem::input(found, accepted).at(line, 1));
        }
        Ok(Row { line, fields: heads.iter().copied().zip(fields).collect() })
    };
    let rows: Vec<Row<'a>> = lines.map(row).collect::<Result<_, _>>()?;
    if rows.is_empty() {
        return Err(Problem::input("no line below the first", "at least one").at(number, 1));
    }
    Ok(rows)
}

fn heads(fields: Vec<Field<'_>>, columns: &[Column]) -> Result<Vec<&'static str>, Problem> {
    let mut heads: Vec<&'static str> = Vec::new();
    for field in fields {
        let Some(column) = columns.iter().find(|column| column.name == field.text) else {
            return Err(unknown(field, columns.iter().map(|column| column.name)));
        };
        if heads.contains(&column.name) {
            return Err(field.problem("each column once"));
        }
        heads.push(column.name);
    }
    Ok(heads)
}

/// A word that is none of those accepted, with the nearest of them.
pub(crate) fn unknown(field: Field<'_>, accepted: impl Iterator<Item = &'static str>) -> Problem {
    let words: Vec<&str> = accepted.collect();
    let hint = nearest(field.text, words.iter().copied())
        .map_or(String::new(), |near| format!("; did you mean {near}?"));
    field.problem(&format!("one of {}{hint}", words.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: [Column; 3] = [
        Column { name: "channel", needed: true },
        Column { name: "reference", needed: true },
        Column { name: "repeats", needed: false },
    ];

    #[test]
    fn columns_are_found_by_name_in_any_order() {
        let text = "# a bench\n\nreference; channel\n 1.5 ; low\n;x\n";
        let rows = rows(text, &COLUMNS).expect("a table");
        assert_eq!(rows.len(), 2);
        let field = rows[0].get("reference").expect("there");
        assert_eq!((field.text, field.line, field.column), ("1.5", 4, 2));
        assert!(rows[0].get("repeats").is_none() && rows[1].get("reference").is_none());
        assert!(rows[1].need("reference", "a number").is_err());
    }

    #[test]
    fn what_is_wrong_with_a_table_is_pointed_at() {
        for (text, place, part) in [
            ("", None, "an empty table"),
            ("channel,refrence\n", Some((1, 9)), "did you mean reference?"),
            ("channel,repeats\n", Some((1, 1)), "no column `reference`"),
            ("channel,channel\n", Some((1, 9)), "each column once"),
            ("channel,reference\n", Some((1, 1)), "no line below the first"),
            ("channel,reference\na,1\nb\n", Some((3, 1)), "found 1 fields; accepted is 2 fields"),
        ] {
            let problem = rows(text, &COLUMNS).expect_err(text);
            assert_eq!(problem.line().zip(problem.column()), place, "{text:?}");
            assert!(problem.to_string().contains(part), "{part} is not in {problem}");
        }
    }
}
