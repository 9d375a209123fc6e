//! `ohmwarden measure`: true RMS, direct part, crest and frequency of a recorded waveform.
//!
//! Samples become 16-bit codes and go through `ohmwarden_core::signal`, as in an instrument; what
//! a code is worth is printed. Codes that the file holds are used as they are. A window is summed
//! plainly, every sample weighing the same; `--meter` shows what the instrument's meter reads.

mod quantise;
mod reading;
mod report;

use core::ops::Range;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use crate::output::Format;
use crate::problem::Problem;
use crate::waveform::{self, ChannelData, Hints, Recording};
use quantise::Quantised;
use reading::Reading;
use report::{FileReport, Measured};

/// Tell true RMS, DC, AC, peak, crest and frequency of recorded waveforms.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Args {
    /// CSV, WAV or COMTRADE files.
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Measure this channel only, by name or number from 1; may be given again.
    #[arg(long, value_name = "NAME")]
    column: Vec<String>,
    /// Samples per second, over what the file says.
    #[arg(long, value_name = "S/s", allow_negative_numbers = true, value_parser = above_zero)]
    rate: Option<f64>,
    /// Multiply every number by this: a divider's ratio, or what full scale of a WAV is worth.
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true, value_parser = not_zero)]
    scale: Option<f64>,
    /// The unit of what comes out, over what the file says.
    #[arg(long)]
    unit: Option<String>,
    /// The value at the end of the converter; by default what the window needs.
    #[arg(long, value_name = "VALUE", value_parser = above_zero)]
    full_scale: Option<f64>,
    /// First sample of a window, from 0; may be given again for more windows.
    #[arg(long, value_name = "SAMPLE")]
    from: Vec<usize>,
    /// Samples in a window; by default all up to the end.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..))]
    samples: Option<u32>,
    /// Read as the instrument's meter does: weighed windows of about 0.2 s, one after the other.
    #[arg(long)]
    meter: bool,
    /// How to answer.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
}

/// Measures every file and writes the answer.
///
/// # Errors
/// A file that cannot be read, a channel or a window that is not there, an answer not written.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let reports: Vec<FileReport> =
        args.files.iter().map(|file| measure_file(file, args)).collect::<Result<_, _>>()?;
    match args.format {
        Format::Human => report::human(&reports, out)?,
        Format::Json => report::json(&reports, out)?,
    }
    Ok(ExitCode::SUCCESS)
}

fn measure_file(path: &Path, args: &Args) -> Result<FileReport, Problem> {
    let hints = Hints {
        rate: args.rate,
        scale: args.scale,
        unit: args.unit.clone(),
        only: args.column.clone(),
    };
    let recording = waveform::read(path, &hints)?;
    let measured = channels(&recording, &args.column)
        .and_then(|channels| {
            let mut measured = Vec::new();
            for channel in channels {
                for window in windows(channel.samples.len(), args)? {
                    measured.push(measure_window(&recording, channel, window, args)?);
                }
            }
            Ok(measured)
        })
        .map_err(|problem| problem.in_file(path))?;
    Ok(FileReport {
        file: path.display().to_string(),
        kind: recording.kind,
        samples_per_second: recording.rate,
        channels: measured,
    })
}

/// The channels asked for; all where none is.
fn channels<'a>(
    recording: &'a Recording,
    asked: &[String],
) -> Result<Vec<&'a ChannelData>, Problem> {
    let all = &recording.channels;
    if asked.is_empty() {
        return Ok(all.iter().collect());
    }
    let find = |name: &String| {
        let named = all.iter().find(|channel| channel.name == *name);
        let numbered = || all.get(name.parse::<usize>().ok()?.checked_sub(1)?);
        named.or_else(numbered).ok_or_else(|| {
            let names: Vec<&str> = all.iter().map(|channel| channel.name.as_str()).collect();
            let accepted = format!("1 to {} or one of: {}", all.len(), names.join(", "));
            Problem::input(format!("no channel `{name}`"), accepted)
        })
    };
    asked.iter().map(find).collect()
}

/// The windows asked for, within a recording of so many samples.
fn windows(length: usize, args: &Args) -> Result<Vec<Range<usize>>, Problem> {
    let starts = if args.from.is_empty() { &[0][..] } else { &args.from };
    let window = |&start: &usize| {
        let end = match args.samples {
            Some(count) => start.checked_add(count as usize),
            None => Some(length),
        };
        end.filter(|&end| start < end && end <= length).map(|end| start..end).ok_or_else(|| {
            let count = args.samples.map_or("all".to_owned(), |count| count.to_string());
            let found = format!("a window of {count} samples from sample {start}");
            Problem::input(found, format!("a window within the {length} samples (0 is the first)"))
        })
    };
    starts.iter().map(window).collect()
}

fn measure_window(
    recording: &Recording,
    channel: &ChannelData,
    window: Range<usize>,
    args: &Args,
) -> Result<Measured, Problem> {
    if let Some(at) = channel.samples[window.clone()].iter().position(|sample| sample.is_nan()) {
        let found = format!("no value of `{}` at sample {}", channel.name, window.start + at);
        return Err(Problem::input(found, "a window in which no sample is missing"));
    }
    let quantised = Quantised::of(channel, window.clone(), args.full_scale);
    let readings = if args.meter {
        reading::by_meter(&quantised, recording.rate, window.start)
    } else {
        vec![Reading::of_window(&quantised, recording.rate, window.start)]
    };
    Ok(Measured::new(channel, &quantised, readings))
}

fn above_zero(text: &str) -> Result<f64, String> {
    not_zero(text)
        .ok()
        .filter(|&number| number > 0.0)
        .ok_or("a number above 0 is needed".to_owned())
}

fn not_zero(text: &str) -> Result<f64, String> {
    let number = text.parse().ok().filter(|number: &f64| number.is_finite() && *number != 0.0);
    number.ok_or("a number other than 0 is needed".to_owned())
}

#[cfg(test)]
mod tests;
