//! `ohmwarden calibrate`: constants from points at the bench, the daily check, the uncertainty budget.
//!
//! The line through the points, the constants and the judging are core's; this reads tables, checks
//! that they are enough to fit, and writes answers. A block of constants is written only where every
//! scale meets its specification.

mod budget;
mod daily;
mod day;
mod points;
mod report;
mod scale;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use ohmwarden_core::calibration::{Calibration, Constants};
use ohmwarden_core::date::Date;
use ohmwarden_core::profile::SCALES;

use crate::output::Format;
use crate::problem::Problem;
use day::{parsed, today};
use scale::ScaleReport;

/// Work out calibration constants from bench points, judge a daily check, or print the budget.
///
/// POINTS.csv has a first line of column names: channel (`voltage`, `voltage_2`, `low_voltage`,
/// `current`), range (of current: 250nA, 2.5uA, 25uA, 250uA, 2.5mA, 250mA), reference and its
/// standard uncertainty, and either read (volts or amperes, made with the nominal constants) or
/// codes; besides repeats (readings behind the mean) and deviation (standard deviation of one).
#[derive(Clone, Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["points", "daily", "budget"])))]
pub(crate) struct Args {
    /// Points at the bench, as a CSV file.
    #[arg(value_name = "POINTS.csv")]
    points: Option<PathBuf>,
    /// A daily check: columns function (insulation, continuity, voltage), volts, reference,
    /// uncertainty, reading.
    #[arg(long, value_name = "FILE.csv")]
    daily: Option<PathBuf>,
    /// Print where the doubt of each function comes from, and the readings that prove usual limits.
    #[arg(long)]
    budget: bool,
    /// The day of the calibration or of the check; today where it is not given.
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parsed)]
    made: Option<Date>,
    /// The last day on which the calibration counts.
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parsed, requires = "points")]
    due: Option<Date>,
    /// Write the block of bytes that the instrument keeps.
    #[arg(long, value_name = "FILE", conflicts_with = "budget")]
    out: Option<PathBuf>,
    /// How to answer.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
}

/// Does what is asked and writes the answer.
///
/// # Errors
/// A table that cannot be read or is not enough, an answer that cannot be written.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    if let Some(path) = &args.daily {
        return daily::run(path, args, out);
    }
    match &args.points {
        Some(path) => constants(path, args, out),
        None => {
            budget::write(args.format, out)?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

fn constants(path: &Path, args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let text = text_of(path)?;
    let scales = points::read(&text)
        .and_then(|points| scale::fitted(&points))
        .map_err(|problem| problem.in_file(path))?;
    let meets = scales.iter().all(ScaleReport::meets);
    let block =
        args.out.as_deref().map(|file| (file, block_of(&scales, args))).map(|(file, block)| {
            match block {
                Err(problem) => Err(problem.in_file(path)),
                Ok(block) if meets => write_block(file, &block).map(|()| file),
                Ok(_) => Ok(file),
            }
        });
    let written = block.transpose()?.filter(|_| meets);
    match args.format {
        Format::Human => report::human(&scales, written, out)?,
        Format::Json => report::json(&scales, written, out)?,
    }
    Ok(if meets { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// The block to write; that some scale has no constants shows in its own report.
fn block_of(scales: &[ScaleReport], args: &Args) -> Result<Vec<u8>, Problem> {
    let due = args.due.ok_or_else(|| Problem::input("--out without --due", "--due YYYY-MM-DD"))?;
    let made = args.made.unwrap_or_else(today);
    let mut all = [Constants::NOMINAL; SCALES.len()];
    for (place, scale) in all.iter_mut().zip(SCALES) {
        let report = scales.iter().find(|report| report.scale == scale).ok_or_else(|| {
            let found = format!("no points of {}", scale.word());
            Problem::input(found, "points of every channel and range, to write a block")
        })?;
        *place = report.constants.unwrap_or(Constants::NOMINAL);
    }
    let calibration = Calibration::new(all, made, due)
        .map_err(|unfit| Problem::input(unfit.to_string(), "constants that an instrument takes"))?;
    Ok(calibration.to_bytes().to_vec())
}

fn write_block(path: &Path, block: &[u8]) -> Result<(), Problem> {
    fs::write(path, block).map_err(|error| Problem::unwritable(path, &error))
}

/// The text of a table.
fn text_of(path: &Path) -> Result<String, Problem> {
    let text = fs::read_to_string(path).map_err(|error| Problem::unreadable(path, &error))?;
    Ok(text.trim_start_matches('\u{feff}').to_owned())
}
