//! The lines of a sheet cut into fields, each with its place in the text.

use core::ops::Range;

use ohmwarden_sim::scenario::Mistake;

/// A field and its place in the text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell<'t> {
    pub(super) text: &'t str,
    pub(super) start: usize,
}

impl Cell<'_> {
    /// Its place.
    pub(super) fn span(self) -> Range<usize> {
        self.start..self.start + self.text.len()
    }

    /// A mistake inside the field as one of the whole text.
    pub(super) fn moved(self, mistake: Mistake) -> Mistake {
        let span = self.start + mistake.span.start..self.start + mistake.span.end;
        Mistake { span, ..mistake }
    }

    /// A mistake that is the whole field.
    pub(super) fn mistake(self, message: impl Into<String>, accepted: Vec<String>) -> Mistake {
        let found = self.text.to_owned();
        Mistake { span: self.span(), found, accepted, message: message.into() }
    }
}

/// The lines that count, from 1, cut into fields.
pub(super) fn lines(text: &str) -> Vec<(usize, Vec<Cell<'_>>)> {
    let mut start = 0;
    let mut lines = Vec::new();
    for (number, line) in (1..).zip(text.split_inclusive('\n')) {
        let bare = line.trim_start_matches('\u{feff}').trim();
        if !bare.is_empty() && !bare.starts_with('#') {
            lines.push((number, cells(line, start)));
        }
        start += line.len();
    }
    lines
}

fn cells(line: &str, mut start: usize) -> Vec<Cell<'_>> {
    let cell = |part: &'_ str| -> (usize, usize) {
        let blank = |c: char| c.is_whitespace() || c == '\u{feff}';
        let before = part.len() - part.trim_start_matches(blank).len();
        (before, part.trim_matches(blank).len())
    };
    let mut cells = Vec::new();
    for part in line.split(',') {
        let (before, length) = cell(part);
        let before = if length == 0 { 0 } else { before };
        cells.push(Cell { text: &part[before..before + length], start: start + before });
        start += part.len() + 1;
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::lines;

    #[test]
    fn every_field_knows_its_bytes() {
        let text = "\u{feff}name, v\u{e9} ,\r\n# no\n\n ,x\n";
        let found: Vec<(usize, Vec<&str>)> = lines(text)
            .into_iter()
            .map(|(line, cells)| (line, cells.iter().map(|it| &text[it.span()]).collect()))
            .collect();
        assert_eq!(found, [(1, vec!["name", "v\u{e9}", ""]), (4, vec!["", "x"])]);
    }
}
