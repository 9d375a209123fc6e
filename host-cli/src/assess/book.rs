//! The limits that can be named: those of core, and a user's own.

use core::ops::Range;
use std::path::Path;

use ohmwarden_core::limits::{self, Entry};
use ohmwarden_sim::scenario::Mistake;

use super::own::{self, Own};
use crate::input::read_text;
use crate::run::trouble::Trouble;

/// All limits.
#[derive(Debug, Default)]
pub(super) struct Book {
    own: Vec<Own>,
}

impl Book {
    /// The built-in limits, and those of a file where there is one.
    ///
    /// # Errors
    /// Everything that is wrong with the file.
    pub(super) fn read(file: Option<&Path>) -> Result<Self, Vec<Trouble>> {
        let Some(file) = file else { return Ok(Self::default()) };
        let text = read_text(file).map_err(|trouble| vec![*trouble])?;
        let told = |mistake| Trouble::mistake(file, &text, mistake);
        let own = own::read(&text).map_err(|all| all.into_iter().map(told).collect::<Vec<_>>())?;
        Ok(Self { own })
    }

    /// All of them, the user's own last.
    pub(super) fn all(&self) -> impl Iterator<Item = Entry<'_>> {
        let built_in: Vec<Entry<'_>> = limits::all().copied().collect();
        built_in.into_iter().chain(self.own.iter().map(Own::entry))
    }

    /// Finds one by its word, as found at a place of a text.
    ///
    /// # Errors
    /// There is none of that name.
    pub(super) fn find(&self, word: &str, span: Range<usize>) -> Result<Entry<'_>, Mistake> {
        self.all().find(|entry| entry.word == word).ok_or_else(|| Mistake {
            span,
            found: word.to_owned(),
            accepted: self.all().map(|entry| entry.word.to_owned()).collect(),
            message: "no such limit".to_owned(),
        })
    }
}
