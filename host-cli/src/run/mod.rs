//! `ohmwarden run`: replays scenarios, draws one, tabulates many, writes traces.
//!
//! Every case of every scenario is played on as many threads as there are; what comes out is the
//! same on any number of them. Bad input stops only the scenario that it stands in.

mod expectation;
mod find;
mod happening;
mod human;
mod json;
mod load;
mod picture;
mod play;
mod progress;
mod recordings;
mod score;
mod summary;
mod trace;
mod trouble;

use core::sync::atomic::Ordering;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::ValueEnum;
use rayon::prelude::*;

use crate::look::Look;
use crate::problem::Problem;
use load::{Loaded, Put};
use picture::{Picture, drawing};
use progress::Progress;
use summary::Summary;
use trouble::Trouble;

/// Replay scenarios: a drawing and a verdict for one, a table for many.
///
/// Exit code: 0 where all rules and expectations held, 1 where something did not (or the run was
/// stopped before its end), 2 where some input cannot be used.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Args {
    /// Scenario files, and folders that are searched for files *.toml.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// How to answer.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
    /// Write trace.csv, trace.vcd and result.json of each scenario (its worst case) in here.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Only every so many-th sample goes into the traces.
    #[arg(long, value_name = "N", requires = "out", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    every: u32,
    /// Play only this case of a sweep, from 1.
    #[arg(long, value_name = "K", value_parser = clap::value_parser!(u32).range(1..))]
    case: Option<u32>,
    /// Put in a value by the name that a sweep would use, as mains_phase_deg=240; may be repeated.
    #[arg(long, value_name = "NAME=NUMBER")]
    set: Vec<Put>,
    /// Print only the name and the digest of each scenario.
    #[arg(long, conflicts_with = "format")]
    digest: bool,
    /// Threads; by default as many as the machine has.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    jobs: Option<u16>,
    /// Print only what did not hold, and no progress.
    #[arg(short, long)]
    quiet: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Human,
    Json,
}

/// Everything that was played, and everything that could not be.
struct Played {
    scenarios: Vec<(Loaded, Summary)>,
    troubles: Vec<Trouble>,
    left_out: usize,
}

/// Plays everything and writes the answer.
///
/// # Errors
/// Threads that cannot be had, an answer or a trace that cannot be written. Bad input is no error
/// of this function: it is told beside the results.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    stop_when_asked();
    let threads = rayon::ThreadPoolBuilder::new().num_threads(args.jobs.map_or(0, usize::from));
    let pool = threads.build().map_err(|error| {
        Problem::input(format!("threads that cannot be had: {error}"), "fewer --jobs")
    })?;
    let (files, mut troubles) = find::find(&args.paths);
    let progress = Progress::new(files.len(), args.quiet || args.digest);
    let mut played = pool.install(|| play_all(&files, args, &progress));
    troubles.append(&mut played.troubles);
    played.troubles = troubles;
    let elapsed = progress.elapsed();
    drop(progress);
    if let Some(root) = &args.out {
        pool.install(|| write_traces(root, &played, args.every))?;
    }
    answer(args, &played, elapsed, out)?;
    out.flush()?;
    if args.format == Format::Human {
        tell(&played.troubles);
    }
    Ok(played.exit_code())
}

/// The first wish to stop ends the run after the cases in hand, the second at once.
fn stop_when_asked() {
    // Without a handler the run simply ends at once, as programs do.
    let _none = ctrlc::set_handler(|| {
        if play::STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
}

fn play_all(files: &[find::Found], args: &Args, progress: &Progress) -> Played {
    let results: Vec<Result<Option<(Loaded, Summary)>, Vec<Trouble>>> = files
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
    found: &find::Found,
    args: &Args,
    progress: &Progress,
) -> Result<Option<(Loaded, Summary)>, Vec<Trouble>> {
    let loaded = load::load(found, &args.set)?;
    let wanted = wanted(&loaded, args.case).map_err(|trouble| vec![trouble])?;
    let cases = play::cases(&loaded, &wanted, progress).map_err(|trouble| vec![trouble])?;
    if cases.is_empty() {
        return Ok(None);
    }
    let summary = Summary::of(&loaded, wanted.len(), cases);
    Ok(Some((loaded, summary)))
}

fn wanted(loaded: &Loaded, case: Option<u32>) -> Result<Vec<usize>, Trouble> {
    let count = loaded.scenario.case_count();
    let Some(case) = case else { return Ok((0..count).collect()) };
    let index = usize::try_from(case).unwrap_or(usize::MAX) - 1;
    if index < count {
        return Ok(vec![index]);
    }
    let message = format!("--case: there is no case {case}");
    Err(Trouble::of_file(&loaded.file, message, &[]).accepting(format!("1 to {count}")))
}

fn write_traces(root: &Path, played: &Played, every: u32) -> Result<(), Problem> {
    played.scenarios.par_iter().try_for_each(|(loaded, summary)| {
        let folder = trace::folder(root, &summary.name);
        let mut trace = trace::create(&folder, &summary.name, every)?;
        if let Some(case) = summary.worst_case() {
            // It was built once before, so it is again.
            let _same = play::one(loaded, case, &mut trace);
        }
        trace.finish().map_err(|error| Problem::unwritable(&folder, &error))?;
        trace::write_result(&folder, summary)
    })
}

fn answer(
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
    if let ([path], [(loaded, summary)]) = (args.paths.as_slice(), played.scenarios.as_slice()) {
        if path.is_file() {
            return draw(loaded, summary, args.quiet, look, out);
        }
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
    if !quiet {
        let _same = play::one(loaded, case, &mut picture);
    }
    human::write_one(&human::One { summary, case, picture: &picture, quiet }, look, out)?;
    Ok(())
}

/// Draws what is wrong on the standard error, where it disturbs no other program.
fn tell(troubles: &[Trouble]) {
    let look = Look::of_stderr();
    let mut err = std::io::stderr().lock();
    for trouble in troubles {
        // Whoever closed it does not want to know.
        let _gone = writeln!(err, "{}", trouble.draw(look).trim_end());
    }
    if !troubles.is_empty() {
        let files: std::collections::BTreeSet<&str> =
            troubles.iter().map(|trouble| trouble.file.as_str()).collect();
        let _gone = writeln!(err, "ohmwarden: {} of the inputs cannot be used", files.len());
    }
}

impl Played {
    fn is_stopped(&self) -> bool {
        let unfinished = |(_, summary): &(Loaded, Summary)| summary.played < summary.cases;
        self.left_out > 0 || self.scenarios.iter().any(unfinished)
    }

    /// Bad input first: without it, nothing can be said of the whole.
    fn exit_code(&self) -> ExitCode {
        if !self.troubles.is_empty() {
            return ExitCode::from(2);
        }
        let held = self.scenarios.iter().all(|(_, summary)| summary.held());
        if held && !self.is_stopped() { ExitCode::SUCCESS } else { ExitCode::from(1) }
    }
}
