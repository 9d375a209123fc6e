//! How text looks on this terminal: its width, colour or none, plain letters or line drawing.

use std::env;
use std::io::{IsTerminal, stderr, stdout};

/// The width where there is no terminal.
const WIDTH: usize = 100;
/// Narrower than this nothing can be drawn; wider than this nothing is easier to read.
const WIDTH_RANGE: (usize, usize) = (60, 180);

/// What may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Look {
    /// Columns of a line.
    pub(crate) width: usize,
    /// Colours.
    pub(crate) colour: bool,
    /// Letters beyond ASCII.
    pub(crate) unicode: bool,
}

impl Look {
    /// Looks at the standard output.
    pub(crate) fn of_stdout() -> Self {
        Self::of(stdout().is_terminal())
    }

    /// Looks at the standard error.
    pub(crate) fn of_stderr() -> Self {
        Self::of(stderr().is_terminal())
    }

    fn of(terminal: bool) -> Self {
        let width = terminal
            .then(terminal_size::terminal_size)
            .flatten()
            .map_or(WIDTH, |(width, _)| usize::from(width.0));
        let dumb = env::var_os("TERM").is_some_and(|term| term == "dumb");
        let refused = env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        Self {
            width: width.clamp(WIDTH_RANGE.0, WIDTH_RANGE.1),
            colour: terminal && !dumb && !refused,
            unicode: speaks_unicode(),
        }
    }

    /// Marks what held.
    pub(crate) fn good(self, text: &str) -> String {
        self.painted("32", text)
    }

    /// Marks what broke.
    pub(crate) fn bad(self, text: &str) -> String {
        self.painted("1;31", text)
    }

    /// Marks what was not reached.
    pub(crate) fn faint(self, text: &str) -> String {
        self.painted("2", text)
    }

    /// Marks a head.
    pub(crate) fn head(self, text: &str) -> String {
        self.painted("1", text)
    }

    fn painted(self, code: &str, text: &str) -> String {
        if self.colour && !text.is_empty() {
            format!("\u{1b}[{code}m{text}\u{1b}[0m")
        } else {
            text.to_owned()
        }
    }
}

/// The locale decides, as everywhere.
fn speaks_unicode() -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .find_map(|name| env::var(name).ok().filter(|value| !value.is_empty()));
    let locale = locale.unwrap_or_default().to_ascii_lowercase();
    locale.contains("utf-8") || locale.contains("utf8")
}

#[cfg(test)]
mod tests {
    use super::Look;

    #[test]
    fn without_colour_the_text_stays_as_it_is() {
        let plain = Look { width: 80, colour: false, unicode: false };
        assert_eq!(plain.bad("BROKE"), "BROKE");
        let colour = Look { colour: true, ..plain };
        assert_eq!(colour.bad("BROKE"), "\u{1b}[1;31mBROKE\u{1b}[0m");
        assert_eq!(colour.good(""), "");
    }
}
