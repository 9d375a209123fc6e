//! Plays every file that was found; what cannot be played is told beside what can.

use std::process::ExitCode;

use rayon::prelude::*;

use super::Args;
use super::find::Found;
use super::load::{self, Loaded};
use super::play;
use super::progress::Progress;
use super::summary::Summary;
use super::trouble::Trouble;

/// A scenario and what it came to.
type Scenario = (Loaded, Summary);

/// Everything that was played, and everything that could not be.
#[derive(Debug)]
pub(super) struct Played {
    pub(super) scenarios: Vec<Scenario>,
    pub(super) troubles: Vec<Trouble>,
    /// Scenarios that were not begun, because a person asked to stop.
    pub(super) left_out: usize,
}

impl Played {
    /// Whether something was left out, because a person asked to stop.
    pub(super) fn is_stopped(&self) -> bool {
        let unfinished = |(_, summary): &Scenario| summary.played < summary.cases;
        self.left_out > 0 || self.scenarios.iter().any(unfinished)
    }

    /// Gives the exit code. Bad input first: without it, nothing can be said of the whole.
    pub(super) fn exit_code(&self) -> ExitCode {
        if !self.troubles.is_empty() {
            return ExitCode::from(2);
        }
        let held = self.scenarios.iter().all(|(_, summary)| summary.held());
        if held && !self.is_stopped() { ExitCode::SUCCESS } else { ExitCode::from(1) }
    }
}

/// Plays all files, in their order.
pub(super) fn play_all(files: &[Found], args: &Args, progress: &Progress) -> Played {
    let results: Vec<Result<Option<Scenario>, Vec<Trouble>>> = files
        .par_iter()
        .map(|found| {
            let result = play_file(found, args, progress);
            progress.scenario();
            result
        })
        .collect();
    let mut played = Played { scenarios: Vec::new(), troubles: Vec::new(), left_out: 0 };
    for result in results {
        match result {
            Ok(Some(scenario)) => played.scenarios.push(scenario),
            Ok(None) => played.left_out += 1,
            Err(troubles) => played.troubles.extend(troubles),
        }
    }
    played
}

/// Plays one file; nothing where a person asked to stop before its first case.
fn play_file(
    found: &Found,
    args: &Args,
    progress: &Progress,
) -> Result<Option<Scenario>, Vec<Trouble>> {
    let loaded = load::load(found, &args.set)?;
    let wanted = wanted(&loaded, args.case).map_err(|trouble| vec![*trouble])?;
    let cases = play::cases(&loaded, &wanted, progress).map_err(|trouble| vec![*trouble])?;
    if cases.is_empty() {
        return Ok(None);
    }
    let summary = Summary::of(&loaded, wanted.len(), cases);
    Ok(Some((loaded, summary)))
}

fn wanted(loaded: &Loaded, case: Option<u32>) -> Result<Vec<usize>, Box<Trouble>> {
    let count = loaded.scenario.case_count();
    let Some(case) = case else { return Ok((0..count).collect()) };
    let index = usize::try_from(case).unwrap_or(usize::MAX) - 1;
    if index < count {
        return Ok(vec![index]);
    }
    let message = format!("--case: there is no case {case}");
    let trouble = Trouble::of_file(&loaded.file, message, &[]);
    Err(Box::new(trouble.accepting(format!("1 to {count}"))))
}
