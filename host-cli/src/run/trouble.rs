//! What is wrong with the input, with its place: drawn for a person, listed for a program.

use core::ops::Range;
use std::path::Path;
use std::sync::Arc;

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteDiagnostic, NamedSource, Report,
};
use ohmwarden_sim::scenario::{Mistake, line_column};
use serde::Serialize;

use crate::layout::cut;
use crate::look::Look;
use crate::nearest::nearest;
use crate::problem::Problem;

/// What was found is told in at most so many letters.
const FOUND_LENGTH: usize = 60;

/// Something in the input that stops a scenario from being run.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Trouble {
    /// The file that it is in.
    pub(crate) file: String,
    line: Option<u32>,
    column: Option<u32>,
    message: String,
    found: String,
    accepted: Vec<String>,
    nearest: Option<String>,
    #[serde(skip)]
    drawn: Option<(Arc<str>, Range<usize>)>,
}

impl Trouble {
    /// Says something of a file as a whole.
    pub(crate) fn of_file(file: &Path, message: impl Into<String>, accepted: &[&str]) -> Self {
        Self {
            file: file.display().to_string(),
            line: None,
            column: None,
            message: message.into(),
            found: String::new(),
            accepted: accepted.iter().map(ToString::to_string).collect(),
            nearest: None,
            drawn: None,
        }
    }

    /// Says something of a place in a text.
    pub(crate) fn at(
        file: &Path,
        text: &Arc<str>,
        span: Range<usize>,
        message: impl Into<String>,
    ) -> Self {
        let (line, column) = line_column(text, span.start);
        Self {
            line: Some(line),
            column: Some(column),
            drawn: Some((Arc::clone(text), span)),
            ..Self::of_file(file, message, &[])
        }
    }

    /// Takes over a mistake that the reader of scenarios found.
    pub(crate) fn mistake(file: &Path, text: &Arc<str>, mistake: Mistake) -> Self {
        let found =
            cut(&mistake.found.split_whitespace().collect::<Vec<_>>().join(" "), FOUND_LENGTH);
        Self {
            nearest: nearest(&mistake.found, mistake.accepted.iter().map(String::as_str)),
            found,
            accepted: mistake.accepted,
            ..Self::at(file, text, mistake.span, mistake.message)
        }
    }

    /// Takes over what the reader of a recording found; `wanted_by` names part and scenario.
    pub(crate) fn recording(problem: &Problem, wanted_by: &str) -> Self {
        let file = problem.file().unwrap_or(Path::new(""));
        let place = |number: Option<usize>| number.and_then(|n| u32::try_from(n).ok());
        let (line, column) = (place(problem.line()), place(problem.column()));
        let drawn = line.zip(column).and_then(|(line, column)| drawn_from(file, line, column));
        let refused = problem.accepted();
        let found = refused.map_or("", |_| problem.found()).to_owned();
        let message = match refused {
            Some(_) => format!("this recording cannot be used ({wanted_by})"),
            None => format!("this recording {} ({wanted_by})", problem.found()),
        };
        Self {
            line,
            column,
            found,
            accepted: refused.map(str::to_owned).into_iter().collect(),
            drawn,
            ..Self::of_file(file, message, &[])
        }
    }

    /// Says that it came from an option of the command line and not from the file itself.
    pub(crate) fn of_command_line(self, option: &str) -> Self {
        let message = format!("{option}: {}", self.message);
        Self { line: None, column: None, drawn: None, message, ..self }
    }

    /// Adds what is accepted.
    pub(crate) fn accepting(self, accepted: String) -> Self {
        Self { accepted: vec![accepted], ..self }
    }

    /// Draws it as a person wants to see it.
    pub(crate) fn draw(&self, look: Look) -> String {
        let mut diagnostic = MietteDiagnostic::new(self.message.clone());
        if let Some(help) = self.help() {
            diagnostic = diagnostic.with_help(help);
        }
        let report = match &self.drawn {
            None => {
                diagnostic.message = format!("{}: {}", self.place(), self.message);
                Report::new(diagnostic)
            }
            Some((text, span)) => {
                let label = if self.found.is_empty() {
                    "here".to_owned()
                } else {
                    format!("found {}", self.found)
                };
                let span = visible(text, span);
                let label = LabeledSpan::new_primary_with_span(Some(label), span);
                let source = NamedSource::new(&self.file, text.to_string());
                Report::new(diagnostic.with_label(label)).with_source_code(source)
            }
        };
        let theme = match (look.unicode, look.colour) {
            (true, true) => GraphicalTheme::unicode(),
            (true, false) => GraphicalTheme::unicode_nocolor(),
            (false, true) => GraphicalTheme {
                characters: miette::ThemeCharacters::ascii(),
                ..GraphicalTheme::unicode()
            },
            (false, false) => GraphicalTheme::none(),
        };
        let handler =
            GraphicalReportHandler::new_themed(theme).with_width(look.width).with_links(false);
        let mut drawing = String::new();
        match handler.render_report(&mut drawing, report.as_ref()) {
            Ok(()) => drawing,
            Err(_) => format!("{}: {}\n", self.place(), self.message),
        }
    }

    /// File, line and column as one word.
    pub(crate) fn place(&self) -> String {
        let number = |n: Option<u32>| n.map_or(String::new(), |n| format!(":{n}"));
        format!("{}{}{}", self.file, number(self.line), number(self.column))
    }

    fn help(&self) -> Option<String> {
        let mut lines = Vec::new();
        if let Some(nearest) = &self.nearest {
            lines.push(format!("did you mean {nearest}?"));
        }
        if !self.accepted.is_empty() {
            lines.push(format!("accepted: {}", self.accepted.join(", ")));
        }
        if self.drawn.is_none() && !self.found.is_empty() {
            lines.push(format!("found: {}", self.found));
        }
        (!lines.is_empty()).then(|| lines.join("\n"))
    }
}

/// An empty span at the end of a text is drawn under its last letter.
fn visible(text: &str, span: &Range<usize>) -> Range<usize> {
    let start = span.start.min(text.trim_end().len());
    let first_line_end =
        text.get(start..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| start + at);
    start..span.end.clamp(start, first_line_end)
}

/// The text of a recording for a drawing, where it is a text.
fn drawn_from(file: &Path, line: u32, column: u32) -> Option<(Arc<str>, Range<usize>)> {
    let text = std::fs::read_to_string(file).ok()?;
    let before: usize = text.split_inclusive('\n').take(line as usize - 1).map(str::len).sum();
    let rest = text.get(before..)?.lines().next()?;
    let from: usize =
        rest.chars().take((column as usize).saturating_sub(1)).map(char::len_utf8).sum();
    let end = rest.get(from..)?.find([',', ';', '\t']).map_or(rest.len(), |at| from + at);
    Some((text.into(), before + from..before + end))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Look = Look { width: 80, colour: false, unicode: false };

    fn mistake(text: &str, span: Range<usize>, accepted: &[&str]) -> Trouble {
        let found = text[span.clone()].to_owned();
        let accepted = accepted.iter().map(ToString::to_string).collect();
        let mistake = Mistake { span, found, accepted, message: "no such key here".to_owned() };
        Trouble::mistake(Path::new("a.toml"), &Arc::from(text), mistake)
    }

    #[test]
    fn a_drawing_shows_place_finding_and_nearest_name() {
        let text = "why = \"x\"\nfarrads = 1\n";
        let drawing = mistake(text, 10..17, &["farads", "volts"]).draw(PLAIN);
        for part in [
            "a.toml:2:1",
            "farrads = 1",
            "found farrads",
            "did you mean farads?",
            "accepted: farads, volts",
        ] {
            assert!(drawing.contains(part), "{part} is not in\n{drawing}");
        }
    }

    #[test]
    fn any_span_of_any_text_can_be_drawn() {
        for text in ["", "\n", "a", "a\n\n", "\u{e9}\u{20ac} = 1\n[x]\ny = 2"] {
            let places: Vec<usize> =
                (0..=text.len()).filter(|&at| text.is_char_boundary(at)).collect();
            for &start in &places {
                for &end in places.iter().filter(|&&end| end >= start) {
                    let drawing = mistake(text, start..end, &[]).draw(PLAIN);
                    assert!(
                        drawing.contains("no such key here"),
                        "{text:?} {start}..{end}: {drawing}"
                    );
                    assert!(!drawing.contains("Failed"), "{text:?} {start}..{end}: {drawing}");
                }
            }
        }
    }
}
