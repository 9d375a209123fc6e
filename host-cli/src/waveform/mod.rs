//! Recorded waveforms: CSV, WAV and COMTRADE files, read into one shape.
//!
//! Which reader is used follows from the ending of the name. A file whose samples are whole codes
//! of 16 bits keeps them, so that they can be measured exactly as they were recorded.

mod comtrade;
mod csv;
pub(crate) mod number;
mod wav;

use std::fs;
use std::path::Path;

use crate::problem::Problem;

/// What was recorded at the same instants.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Recording {
    /// The kind of file, in words.
    pub(crate) kind: String,
    /// Samples per second.
    pub(crate) rate: f64,
    /// The channels, in the order of the file; all are as long as each other.
    pub(crate) channels: Vec<ChannelData>,
}

/// One channel.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ChannelData {
    pub(crate) name: String,
    /// Empty where the file does not say.
    pub(crate) unit: String,
    /// In that unit; not a number where the file marks a sample as missing.
    pub(crate) samples: Vec<f64>,
    /// The values at (and beyond) which the recorder was at its end.
    pub(crate) clip: Option<(f64, f64)>,
    /// The samples as the codes that the file holds.
    pub(crate) codes: Option<Codes>,
}

/// Samples as whole codes: `value = gain * code + offset`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Codes {
    pub(crate) raw: Vec<i16>,
    pub(crate) gain: f64,
    pub(crate) offset: f64,
    /// The codes at which the recorder was at its end.
    pub(crate) clip: (i16, i16),
}

/// What the person says about a file, over what the file says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hints {
    /// Samples per second.
    pub(crate) rate: Option<f64>,
    /// What every number is multiplied by.
    pub(crate) scale: Option<f64>,
    /// The unit of what comes out.
    pub(crate) unit: Option<String>,
    /// The channels that are wanted, by name; a reader may leave others out. Empty: all.
    pub(crate) only: Vec<String>,
}

/// Endings that are known, as shown to a person.
const ENDINGS: &str = "a file that ends in .csv, .tsv, .txt, .wav, .cfg, .dat or .cff";

/// Reads a file.
///
/// # Errors
/// A file that cannot be read, or that holds what its reader does not accept.
pub(crate) fn read(path: &Path, hints: &Hints) -> Result<Recording, Problem> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or("");
    let recording = match ending.to_ascii_lowercase().as_str() {
        "csv" | "tsv" | "txt" => csv::read(&text(path)?, hints),
        "wav" => wav::read(&bytes(path)?),
        "cfg" | "dat" => return Ok(hinted(comtrade::read_pair(path)?, hints)),
        "cff" => comtrade::read_single(&bytes(path)?),
        other => Err(Problem::input(format!("a name that ends in `{other}`"), ENDINGS)),
    };
    Ok(hinted(recording.map_err(|problem| problem.in_file(path))?, hints))
}

fn bytes(path: &Path) -> Result<Vec<u8>, Problem> {
    fs::read(path).map_err(|error| Problem::unreadable(path, &error))
}

fn text(path: &Path) -> Result<String, Problem> {
    Ok(decoded(&bytes(path)?))
}

/// Text in UTF-8 or, where it is not, in Latin-1; without the end-of-file marks of old systems.
fn decoded(bytes: &[u8]) -> String {
    let text = match core::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
    };
    text.trim_start_matches('\u{feff}').trim_end_matches('\u{1a}').to_owned()
}

/// Applies what the person said; a scale changes what the codes are worth, not the codes.
fn hinted(mut recording: Recording, hints: &Hints) -> Recording {
    recording.rate = hints.rate.unwrap_or(recording.rate);
    let scale = hints.scale.unwrap_or(1.0);
    for channel in &mut recording.channels {
        channel.samples.iter_mut().for_each(|sample| *sample *= scale);
        channel.clip = channel.clip.map(|(least, greatest)| (least * scale, greatest * scale));
        if let Some(codes) = &mut channel.codes {
            codes.gain *= scale;
            codes.offset *= scale;
        }
        if let Some(unit) = &hints.unit {
            channel.unit.clone_from(unit);
        }
    }
    recording
}

impl ChannelData {
    /// A channel of plain numbers.
    fn plain(name: String, unit: String, samples: Vec<f64>) -> Self {
        Self { name, unit, samples, clip: None, codes: None }
    }

    /// A channel of codes; `missing` is the code that marks a sample as missing.
    fn of_codes(name: String, unit: String, codes: Codes, missing: Option<i16>) -> Self {
        let value = |code: i16| codes.gain * f64::from(code) + codes.offset;
        let samples = codes
            .raw
            .iter()
            .map(|&code| if Some(code) == missing { f64::NAN } else { value(code) })
            .collect();
        let clip = Some((value(codes.clip.0), value(codes.clip.1)));
        Self { name, unit, samples, clip, codes: Some(codes) }
    }
}
