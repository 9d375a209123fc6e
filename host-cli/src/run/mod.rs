//! `ohmwarden run`: replays scenarios, draws one, tabulates many, writes traces.
//!
//! Every case of every scenario is played on as many threads as there are; what comes out is the
//! same on any number of them. Bad input stops only the scenario that it stands in.

mod all;
mod answer;
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
pub(crate) mod trouble;

use core::sync::atomic::Ordering;
use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use crate::input::tell;
use crate::output::Format;
use crate::problem::Problem;
use load::Put;
use progress::Progress;

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
    /// Write trace.csv, trace.vcd and result.json of each scenario (its worst case) in here, and what
    /// the flash of its board holds, where it has one, as NAME.flash.bin.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Only every so many-th sample goes into the traces.
    #[arg(long, value_name = "N", requires = "out", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    every: u32,
    /// Play only this case of a sweep, from 1.
    #[arg(long, value_name = "K", value_parser = clap::value_parser!(u32).range(1..))]
    case: Option<u32>,
    /// Put in a value by the name that a sweep would use; may be given again.
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
    if let Some(root) = &args.out {
        // Told before anything is played, not after.
        fs::create_dir_all(root).map_err(|error| Problem::unwritable(root, &error))?;
    }
    let (files, mut troubles) = find::find(&args.paths);
    let progress = Progress::new(files.len(), args.quiet || args.digest);
    let mut played = pool.install(|| all::play_all(&files, args, &progress));
    troubles.append(&mut played.troubles);
    played.troubles = troubles;
    let elapsed = progress.elapsed();
    drop(progress);
    answer::answer(args, &played, elapsed, out)?;
    out.flush()?;
    if let Some(root) = &args.out {
        pool.install(|| answer::write_traces(root, &played, args.every))?;
    }
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
