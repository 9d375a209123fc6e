//! Writes the answer in the form that was asked for, and the traces.

use std::io::Write;
use std::path::Path;

use rayon::prelude::*;

use super::all::Played;
use super::load::Loaded;
use super::picture::{Picture, drawing};
use super::summary::Summary;
use super::{Args, human, json, play, trace};
use crate::look::Look;
use crate::output::Format;
use crate::problem::Problem;

/// Writes the traces of the worst case of each scenario, and what the scenario came to.
///
/// # Errors
/// A folder or a file that cannot be made or written.
pub(super) fn write_traces(root: &Path, played: &Played, every: u32) -> Result<(), Problem> {
    played.scenarios.par_iter().try_for_each(|(loaded, summary)| {
        let folder = trace::folder(root, &summary.name);
        let mut trace = trace::create(&folder, &summary.name, every)?;
        // It was built once before, so it is again.
        let again = summary.worst_case().map(|case| play::one(loaded, case, &mut trace));
        if let Some(flash) = again.and_then(Result::ok).and_then(|case| case.flash) {
            trace::write_flash(&folder, &flash)?;
        }
        trace.finish().map_err(|error| Problem::unwritable(&folder, &error))?;
        trace::write_result(&folder, summary)
    })
}

/// Writes the answer: digests, JSON, a drawing or a table.
///
/// # Errors
/// An answer that cannot be written.
pub(super) fn answer(
    args: &Args,
    played: &Played,
    elapsed: core::time::Duration,
    out: &mut dyn Write,
) -> Result<(), Problem> {
    let summaries = || played.scenarios.iter().map(|(_, summary)| summary);
    if args.digest {
        for summary in summaries() {
            writeln!(out, "{} {:016x}", summary.name, summary.digest)?;
        }
        return Ok(());
    }
    if args.format == Format::Json {
        let all: Vec<&Summary> = summaries().collect();
        json::write(&all, &played.troubles, played.is_stopped(), out)?;
        return Ok(());
    }
    let look = Look::of_stdout();
    if let ([path], [(loaded, summary)]) = (args.paths.as_slice(), played.scenarios.as_slice())
        && path.is_file()
    {
        return draw(loaded, summary, args.quiet, look, out);
    }
    let summaries: Vec<&Summary> = summaries().collect();
    if !summaries.is_empty() {
        let (left_out, quiet) = (played.left_out, args.quiet);
        let many = human::Many { summaries: &summaries, left_out, elapsed, quiet };
        human::write_many(&many, look, out)?;
    }
    Ok(())
}

/// Draws the worst case of a scenario: played once more, because only now is it known which.
fn draw(
    loaded: &Loaded,
    summary: &Summary,
    quiet: bool,
    look: Look,
    out: &mut dyn Write,
) -> Result<(), Problem> {
    let mut picture = Picture::new(drawing::columns(look), loaded.scenario.seconds);
    let case = summary.worst_case().unwrap_or(0);
    let again = (!quiet).then(|| play::one(loaded, case, &mut picture));
    let curve = again.and_then(Result::ok).map(|case| case.curve).unwrap_or_default();
    let picture = &picture;
    human::write_one(&human::One { summary, case, picture, curve: &curve, quiet }, look, out)?;
    Ok(())
}
