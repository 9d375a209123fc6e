//! `ohmwarden records`: what an instrument kept, out of a copy of its flash or a captured stream.
//!
//! Whatever is whole comes out; what is damaged is told by its place and length and left out.

mod find;
mod report;
mod row;
mod words;

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::ValueEnum;

use crate::look::Look;
use crate::problem::Problem;
use find::Findings;

/// Decode kept records from a copy of an instrument's flash, or from bytes captured from its wire.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Args {
    /// A raw copy of the pages of the store, or a captured stream of frames.
    file: PathBuf,
    /// What the file is; by default what more comes out of.
    #[arg(long = "as", value_enum, value_name = "WHAT")]
    what: Option<What>,
    /// How to answer.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum What {
    /// A raw copy of the pages of the store.
    Image,
    /// Frames, as they came over a wire.
    Stream,
}

impl What {
    const fn word(self) -> &'static str {
        match self {
            Self::Image => "image",
            Self::Stream => "stream",
        }
    }
}

/// For whom the records are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Human,
    Csv,
    Json,
}

/// Decodes the file and writes what was in it: exit 0 if all was whole, 1 if something was damaged.
///
/// # Errors
/// A file that cannot be read or of which nothing can be decoded, an answer not written.
pub(crate) fn run(args: &Args, out: &mut dyn Write) -> Result<ExitCode, Problem> {
    let bytes = fs::read(&args.file).map_err(|error| Problem::unreadable(&args.file, &error))?;
    let found = decode(&bytes, args.what).map_err(|problem| problem.in_file(&args.file))?;
    match args.format {
        Format::Human => report::human(&args.file, &found, Look::of_stdout(), out)?,
        Format::Csv => {
            report::csv(&found, out)?;
            for part in &found.damaged {
                // Whoever closed the standard error does not want to know.
                let _gone = writeln!(std::io::stderr(), "{}: {part}", args.file.display());
            }
        }
        Format::Json => report::json(&args.file, &found, out)?,
    }
    Ok(if found.damaged.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// Decodes bytes as what they are said to be, or as what more comes out of.
fn decode(bytes: &[u8], what: Option<What>) -> Result<Findings, Problem> {
    if bytes.is_empty() {
        return Err(Problem::input("an empty file", accepted()));
    }
    let found = match what {
        Some(What::Image) => find::in_image(bytes),
        Some(What::Stream) => find::in_stream(bytes),
        None => {
            let (image, stream) = (find::in_image(bytes), find::in_stream(bytes));
            if stream.whole() > image.whole() { stream } else { image }
        }
    };
    if found.whole() == 0 && !found.damaged.is_empty() {
        let found = format!("{} bytes without one whole block", bytes.len());
        return Err(Problem::input(found, accepted()));
    }
    Ok(found)
}

fn accepted() -> String {
    "a raw copy of the pages of a store (--as image) or frames captured from a wire (--as stream)"
        .to_owned()
}

#[cfg(test)]
mod tests;
