//! One mistake in a scenario text: where, what was found, what is accepted.

use alloc::string::String;
use alloc::vec::Vec;
use core::fmt;
use core::ops::Range;

/// A mistake in a text. Nearest names and drawings are the affair of whoever shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The place, in bytes of the text; empty where something is missing at the end.
    pub span: Range<usize>,
    /// What stands there; empty where something is missing.
    pub found: String,
    /// What would be accepted there: names, words, or ranges with their unit in the key's name.
    pub accepted: Vec<String>,
    /// What is wrong, as one short clause.
    pub message: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}", self.message)?;
        if !self.found.is_empty() {
            write!(out, " (found {})", self.found)?;
        }
        if !self.accepted.is_empty() {
            write!(out, "; accepted: {}", self.accepted.join(", "))?;
        }
        Ok(())
    }
}

impl core::error::Error for Mistake {}

/// Tells line and column, both counted from 1, of a byte of the text; columns count characters.
///
/// A place beyond the end is told as the end.
#[must_use]
pub fn line_column(text: &str, at: usize) -> (u32, u32) {
    let mut line = 1_u32;
    let mut column = 1_u32;
    for (place, letter) in text.char_indices() {
        if place >= at {
            break;
        }
        if letter == '\n' {
            line = line.saturating_add(1);
            column = 1;
        } else {
            column = column.saturating_add(1);
        }
    }
    (line, column)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_from_one_and_in_characters() {
        let text = "ab\nµc\n";
        assert_eq!(line_column(text, 0), (1, 1));
        assert_eq!(line_column(text, 1), (1, 2));
        assert_eq!(line_column(text, 3), (2, 1));
        assert_eq!(line_column(text, 5), (2, 2));
        assert_eq!(line_column(text, 99), (3, 1));
    }
}
