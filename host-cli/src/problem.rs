//! What stops a command: where, what was found, what is accepted.

use core::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Bad input or a failure of our own, with as much of its place as is known.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    exit: u8,
    file: Option<PathBuf>,
    line: Option<usize>,
    column: Option<usize>,
    found: String,
    accepted: Option<String>,
}

impl Problem {
    /// Reports bad input (exit 2): what was found instead of what is accepted.
    pub(crate) fn input(found: impl Into<String>, accepted: impl Into<String>) -> Self {
        Self { accepted: Some(accepted.into()), ..Self::with_exit(2, found.into()) }
    }

    /// Reports that a file could not be read (exit 2).
    pub(crate) fn unreadable(path: &Path, error: &io::Error) -> Self {
        Self::with_exit(2, format!("cannot be read: {error}")).in_file(path)
    }

    /// Reports that a file or folder could not be written (exit 2).
    pub(crate) fn unwritable(path: &Path, error: &io::Error) -> Self {
        Self::with_exit(2, format!("cannot be written: {error}")).in_file(path)
    }

    /// Reports that the answer could not be written (exit 1).
    pub(crate) fn output(error: &io::Error) -> Self {
        Self::with_exit(1, format!("cannot write the answer: {error}"))
    }

    /// Adds the file.
    pub(crate) fn in_file(self, path: &Path) -> Self {
        Self { file: Some(path.to_path_buf()), ..self }
    }

    /// Adds the line and the column, from 1.
    pub(crate) fn at(self, line: usize, column: usize) -> Self {
        Self { line: Some(line), column: Some(column), ..self }
    }

    /// Gives the file, where it is known.
    pub(crate) fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// Gives the line, from 1.
    pub(crate) const fn line(&self) -> Option<usize> {
        self.line
    }

    /// Gives the column, from 1.
    pub(crate) const fn column(&self) -> Option<usize> {
        self.column
    }

    /// Gives what was found.
    pub(crate) fn found(&self) -> &str {
        &self.found
    }

    /// Gives what is accepted instead, where that can be said.
    pub(crate) fn accepted(&self) -> Option<&str> {
        self.accepted.as_deref()
    }

    /// Gives the exit code: 2 for bad input, 1 for what is not the fault of the input.
    pub(crate) fn exit_code(&self) -> ExitCode {
        ExitCode::from(self.exit)
    }

    fn with_exit(exit: u8, found: String) -> Self {
        Self { exit, file: None, line: None, column: None, found, accepted: None }
    }
}

impl From<io::Error> for Problem {
    fn from(error: io::Error) -> Self {
        Self::output(&error)
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(file) = &self.file {
            write!(f, "{}", file.display())?;
            for number in [self.line, self.column].into_iter().flatten() {
                write!(f, ":{number}")?;
            }
            f.write_str(": ")?;
        }
        match &self.accepted {
            Some(accepted) => write!(f, "found {}; accepted is {accepted}", self.found),
            None => f.write_str(&self.found),
        }
    }
}
