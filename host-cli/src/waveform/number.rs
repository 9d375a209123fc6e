//! Fields of a line: where each begins, and numbers with an error that points at them.

use core::str::FromStr;

use crate::problem::Problem;

/// A field of a line of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Field<'a> {
    pub(crate) text: &'a str,
    /// The line and the column that it begins at, from 1.
    pub(crate) line: usize,
    pub(crate) column: usize,
}

impl<'a> Field<'a> {
    /// Splits a line; blanks round a field are left out.
    pub(crate) fn split(line: usize, text: &'a str, separator: char) -> Vec<Self> {
        let mut column = 1;
        text.split(separator)
            .map(|part| {
                let blanks = part.chars().take_while(|letter| letter.is_whitespace()).count();
                let field = Self { text: part.trim(), line, column: column + blanks };
                column += part.chars().count() + 1;
                field
            })
            .collect()
    }

    /// Splits a line at runs of blanks.
    pub(crate) fn split_blanks(line: usize, text: &'a str) -> Vec<Self> {
        let single = Self::split(line, text, ' ');
        single.into_iter().filter(|field| !field.text.is_empty()).collect()
    }

    /// Reads the field as a number of the kind wanted.
    pub(crate) fn parse<T: FromStr>(self, accepted: &str) -> Result<T, Problem> {
        self.text.parse().map_err(|_| self.problem(accepted))
    }

    /// Reads the field as a finite number.
    pub(crate) fn finite(self, accepted: &str) -> Result<f64, Problem> {
        let number: f64 = self.parse(accepted)?;
        if number.is_finite() { Ok(number) } else { Err(self.problem(accepted)) }
    }

    /// Says what was found here instead of what is accepted.
    pub(crate) fn problem(self, accepted: &str) -> Problem {
        let found = if self.text.is_empty() {
            "nothing".to_owned()
        } else {
            format!("`{}`", self.text.chars().take(40).collect::<String>())
        };
        Problem::input(found, accepted).at(self.line, self.column)
    }
}

#[cfg(test)]
mod tests {
    use super::Field;

    #[test]
    fn fields_know_the_column_that_they_begin_at() {
        let fields = Field::split(3, "a,  bé ,,c", ',');
        let places: Vec<_> = fields.iter().map(|field| (field.text, field.column)).collect();
        assert_eq!(places, [("a", 1), ("bé", 5), ("", 9), ("c", 10)]);
        let fields = Field::split_blanks(1, "  1   22 3");
        let places: Vec<_> = fields.iter().map(|field| (field.text, field.column)).collect();
        assert_eq!(places, [("1", 3), ("22", 7), ("3", 10)]);
    }

    #[test]
    fn what_is_not_a_finite_number_is_pointed_at() {
        for text in ["", "x", "nan", "inf", "1e999"] {
            let field = Field { text, line: 7, column: 9 };
            let problem = field.finite("a number").unwrap_err().to_string();
            assert!(problem.contains("accepted is a number"), "{problem}");
        }
    }
}
