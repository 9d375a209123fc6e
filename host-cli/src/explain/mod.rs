//! `ohmwarden explain`: what a word means, what to do, and where it comes from.

mod entry;

use std::io::Write;
use std::process::ExitCode;

use crate::caution;
use crate::layout::wrapped;
use crate::look::Look;
use crate::nearest::nearest;
use crate::problem::Problem;
use entry::{Entry, entries};

/// Explain a reason, lock, rule, state, class, flag or tone; without a word, list them all.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Args {
    /// The word, as in a report: live_ac, drop_on_live, inhibited, ...
    word: Option<String>,
}

/// Writes the explanation.
///
/// # Errors
/// A word that is not known, an answer that cannot be written.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let look = Look::of_stdout();
    let all = entries();
    match &args.word {
        None => list(&all, look, out)?,
        Some(word) => {
            let word = word.to_ascii_lowercase().replace('-', "_");
            let found: Vec<&Entry> = all.iter().filter(|entry| entry.word == word).collect();
            if found.is_empty() {
                return Err(unknown(&word, &all));
            }
            for entry in found {
                one(entry, look, out)?;
            }
        }
    }
    writeln!(out, "{}", caution::LONG)?;
    Ok(ExitCode::SUCCESS)
}

fn unknown(word: &str, all: &[Entry]) -> Problem {
    let hint = nearest(word, all.iter().map(|entry| entry.word))
        .map_or(String::new(), |near| format!("; did you mean {near}?"));
    let accepted = format!("a word that `ohmwarden explain` lists{hint}");
    Problem::input(format!("the word `{word}`"), accepted)
}

fn one(entry: &Entry, look: Look, out: &mut dyn Write) -> Result<(), Problem> {
    writeln!(out, "{} ({})", look.head(entry.word), entry.kind)?;
    for text in [&entry.sentence, &entry.advice, &entry.origin] {
        for line in wrapped(text, look.width - 2) {
            writeln!(out, "  {line}")?;
        }
    }
    writeln!(out)?;
    Ok(())
}

fn list(all: &[Entry], look: Look, out: &mut dyn Write) -> Result<(), Problem> {
    let width = all.iter().map(|entry| entry.word.len()).max().unwrap_or(0);
    for kind in all.chunk_by(|one, next| one.kind == next.kind) {
        if let Some(first) = kind.first() {
            writeln!(out, "{}", look.head(first.plural))?;
        }
        for entry in kind {
            let lines = wrapped(&entry.sentence, look.width.saturating_sub(width + 4));
            for (number, line) in lines.iter().enumerate() {
                let word = if number == 0 { entry.word } else { "" };
                writeln!(out, "  {word:<width$}  {line}")?;
            }
        }
        writeln!(out)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn explained(word: Option<&str>) -> Result<String, Problem> {
        let mut out = Vec::new();
        run(&Args { word: word.map(str::to_owned) }, &mut out)?;
        Ok(String::from_utf8(out).unwrap())
    }

    #[test]
    fn every_word_that_is_listed_can_be_explained() {
        let list = explained(None).unwrap();
        for entry in entries() {
            assert!(list.contains(entry.word), "{}", entry.word);
            let text = explained(Some(entry.word)).unwrap();
            assert!(text.contains(entry.kind) && text.contains("Caution"), "{text}");
        }
    }

    #[test]
    fn an_unknown_word_is_answered_with_the_nearest() {
        let problem = explained(Some("live_acc")).unwrap_err().to_string();
        assert!(problem.contains("did you mean live_ac?"), "{problem}");
        let problem = explained(Some("xyzzy")).unwrap_err().to_string();
        assert!(!problem.contains("did you mean"), "{problem}");
    }

    #[test]
    fn a_word_of_more_than_one_kind_is_explained_in_each() {
        let text = explained(Some("unproven")).unwrap();
        assert!(text.contains("(reason)") && text.contains("(class of circuit)"), "{text}");
    }
}
