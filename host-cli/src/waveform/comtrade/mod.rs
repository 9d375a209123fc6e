//! COMTRADE recordings (IEEE C37.111, IEC 60255-24), revisions 1991, 1999 and 2013.
//!
//! Reads `.cfg` with `.dat` beside it, or `.cff`; data as text, 16-bit or 32-bit integers or 32-bit
//! floats. Values are `a * raw + b`, as recorded: primary or secondary, whichever the file holds.
//! Status channels are passed over. A recording with several rates is refused, not resampled.
//!
//! This is our own reader because the published `comtrade` package (0.2.1 was tried) refuses files
//! with carriage returns or letters outside UTF-8, reads 16-bit data as no samples, panics on a
//! `.cff` with binary data, and names neither line nor column of a mistake.
//!
//! The marks for missing samples (99999 in text, the least code in 16 and 32 bits) are from
//! memory of the format and agree with the sample files that are published as such.

mod config;
mod data;

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

use super::{ChannelData, Recording, bytes, decoded};
use crate::problem::Problem;
use config::{Config, Format};

/// Reads a `.cfg` and the `.dat` beside it; either may be given.
pub(super) fn read_pair(path: &Path) -> Result<Recording, Problem> {
    let config_path = beside(path, "cfg");
    let text = decoded(&bytes(&config_path)?);
    let config = Config::parse(&text, 1).map_err(|problem| problem.in_file(&config_path))?;
    let data_path = beside(path, "dat");
    let data = bytes(&data_path)?;
    recording(&config, &data, 1).map_err(|problem| problem.in_file(&data_path))
}

/// Reads a `.cff`: all parts in one file.
pub(super) fn read_single(file: &[u8]) -> Result<Recording, Problem> {
    let config = section(file, "CFG")?;
    let text = decoded(config.bytes);
    let config = Config::parse(&text, config.line)?;
    let data = section(file, "DAT")?;
    let data_bytes = match data.length {
        Some(length) => data.rest.get(..length).ok_or_else(|| {
            let found = format!("{} bytes of data of {length}", data.rest.len());
            Problem::input(found, "as many bytes as the head of the section says")
        })?,
        None => data.bytes,
    };
    recording(&config, data_bytes, data.line)
}

/// The file with another ending, in the case that is there.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let wanted = path.with_extension(ending);
    if path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending)) {
        return path.to_path_buf();
    }
    let upper = path.with_extension(ending.to_ascii_uppercase());
    let there = |path: &Path| fs::exists(path).unwrap_or(false);
    if !there(&wanted) && path.file_name() != Some(OsStr::new("")) && there(&upper) {
        upper
    } else {
        wanted
    }
}

/// A part of a `.cff`.
struct Section<'a> {
    /// The line that it begins at.
    line: usize,
    /// How many bytes its head says that it has.
    length: Option<usize>,
    /// What stands up to the next head.
    bytes: &'a [u8],
    /// What stands up to the end of the file: binary data may look like a head.
    rest: &'a [u8],
}

/// Finds the section whose head, `--- file type: NAME ... ---`, names it.
fn section<'a>(file: &'a [u8], name: &str) -> Result<Section<'a>, Problem> {
    let mut found: Option<Section<'a>> = None;
    let (mut at, mut line) = (0, 1);
    while at < file.len() {
        let end =
            file[at..].iter().position(|&byte| byte == b'\n').map_or(file.len(), |it| at + it + 1);
        let head = head(&file[at..end]);
        if let (Some(section), Some(_)) = (&mut found, &head) {
            section.bytes = &section.rest[..section.rest.len() - (file.len() - at)];
            break;
        }
        if let Some((_, length)) = head.filter(|(kind, _)| kind == name) {
            let rest = &file[end..];
            found = Some(Section { line: line + 1, length, bytes: rest, rest });
        }
        (at, line) = (end, line + 1);
    }
    found.ok_or_else(|| {
        let accepted = format!("a line `--- file type: {name} ---`");
        Problem::input(format!("no section {name}"), accepted)
    })
}

/// The kind of a section and how many bytes it has, if the line is the head of one.
fn head(line: &[u8]) -> Option<(String, Option<usize>)> {
    let line = core::str::from_utf8(line).ok()?.trim().to_ascii_uppercase();
    let inside = line.strip_prefix("---")?.strip_suffix("---")?;
    let (_, kind) = inside.split_once("FILE TYPE:")?;
    let (kind, length) = match kind.split_once(':') {
        Some((kind, length)) => (kind, length.trim().parse().ok()),
        None => (kind, None),
    };
    Some((kind.split_whitespace().next()?.to_owned(), length))
}

fn recording(config: &Config, bytes: &[u8], line: usize) -> Result<Recording, Problem> {
    let table = match config.format {
        Format::Ascii => data::read_text(config, &decoded(bytes), line)?,
        _ => data::read_binary(config, bytes)?,
    };
    let rate = match config.rate {
        Some(rate) => rate,
        None => table.rate(config.seconds_per_tick)?,
    };
    let analogue = config.analogue.iter().zip(table.columns);
    let channels: Vec<ChannelData> =
        analogue.map(|(channel, raw)| channel.data(raw, config.format)).collect();
    let kind = format!("COMTRADE {} {}", config.revision, config.format.name());
    Ok(Recording { kind, rate, channels })
}

#[cfg(test)]
mod tests;
