//! The configuration part: the channels, what a raw value is worth, how data is laid out.

use super::super::number::Field;
use super::super::{ChannelData, Codes};
use crate::problem::Problem;

/// The mark of a missing sample in text.
const MISSING_TEXT: f64 = 99_999.0;

/// How the data part is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Ascii,
    Binary16,
    Binary32,
    Float32,
}

impl Format {
    /// In words.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Ascii => "text",
            Self::Binary16 => "16-bit",
            Self::Binary32 => "32-bit",
            Self::Float32 => "float",
        }
    }

    /// Bytes of an analogue value.
    pub(super) fn width(self) -> usize {
        if self == Self::Binary16 { 2 } else { 4 }
    }

    /// The raw value that marks a sample as missing.
    fn missing(self) -> Option<f64> {
        match self {
            Self::Ascii => Some(MISSING_TEXT),
            Self::Binary16 => Some(f64::from(i16::MIN)),
            Self::Binary32 => Some(f64::from(i32::MIN)),
            Self::Float32 => None,
        }
    }
}

/// An analogue channel.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Analogue {
    name: String,
    unit: String,
    gain: f64,
    offset: f64,
    least: f64,
    greatest: f64,
}

impl Analogue {
    /// Reads `n, name, phase, component, unit, a, b, skew, min, max, ...`.
    fn parse(fields: &[Field<'_>]) -> Result<Self, Problem> {
        let &[_, name, _, _, unit, gain, offset, _, least, greatest, ..] = fields else {
            return Err(fields[0].problem("an analogue channel of at least 10 fields"));
        };
        let gain_number = gain.finite("the factor a, a number")?;
        if gain_number == 0.0 {
            return Err(gain.problem("a factor a that is not 0"));
        }
        Ok(Self {
            name: name.text.to_owned(),
            unit: unit.text.to_owned(),
            gain: gain_number,
            offset: offset.finite("the offset b, a number")?,
            least: least.finite("the least raw value, a number")?,
            greatest: greatest.finite("the greatest raw value, a number")?,
        })
    }

    /// The samples of the channel; whole raw values of 16 bits stay what they are.
    pub(super) fn data(&self, raw: Vec<f64>, format: Format) -> ChannelData {
        let missing = format.missing();
        let codes: Option<Vec<i16>> = raw.iter().map(|&value| code(value)).collect();
        if let Some(codes) = codes {
            let clip =
                (code(self.least).unwrap_or(i16::MIN), code(self.greatest).unwrap_or(i16::MAX));
            let codes = Codes { raw: codes, gain: self.gain, offset: self.offset, clip };
            let missing = missing.and_then(code);
            return ChannelData::of_codes(self.name.clone(), self.unit.clone(), codes, missing);
        }
        let value = |raw: f64| {
            if Some(raw) == missing { f64::NAN } else { self.gain * raw + self.offset }
        };
        let samples = raw.iter().map(|&raw| value(raw)).collect();
        let ends = [self.least, self.greatest].map(|raw| self.gain * raw + self.offset);
        let clip = Some((ends[0].min(ends[1]), ends[0].max(ends[1])));
        // What a float recorder calls its ends is a range to draw, not a limit of the converter.
        let clip = clip.filter(|_| format != Format::Float32);
        let plain = ChannelData::plain(self.name.clone(), self.unit.clone(), samples);
        ChannelData { clip, ..plain }
    }
}

/// A whole number of 16 bits.
fn code(value: f64) -> Option<i16> {
    let whole =
        value.fract() == 0.0 && (f64::from(i16::MIN)..=f64::from(i16::MAX)).contains(&value);
    whole.then_some(value as i16)
}

/// What the configuration says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Config {
    pub(super) revision: String,
    pub(super) analogue: Vec<Analogue>,
    pub(super) status_count: usize,
    /// Samples per second; `None` where only the time stamps tell.
    pub(super) rate: Option<f64>,
    pub(super) samples: usize,
    pub(super) format: Format,
    pub(super) seconds_per_tick: f64,
}

/// The lines of the configuration, one after the other.
struct Lines<'a> {
    lines: core::str::Lines<'a>,
    number: usize,
}

impl<'a> Lines<'a> {
    fn next(&mut self, what: &str) -> Result<Vec<Field<'a>>, Problem> {
        self.number += 1;
        match self.lines.next() {
            Some(line) => Ok(Field::split(self.number, line, ',')),
            None => Err(Problem::input("the end of the configuration", what).at(self.number, 1)),
        }
    }
}

impl Config {
    /// Reads the text of a configuration that begins at a line of its file.
    pub(super) fn parse(text: &str, first_line: usize) -> Result<Self, Problem> {
        let mut lines = Lines { lines: text.lines(), number: first_line - 1 };
        let station = lines.next("station, recorder and revision")?;
        let revision = revision(&station)?;
        let (analogue_count, status_count) = counts(&lines.next("the numbers of channels")?)?;
        let analogue = (0..analogue_count)
            .map(|_| Analogue::parse(&lines.next("an analogue channel")?))
            .collect::<Result<_, _>>()?;
        for _ in 0..status_count {
            lines.next("a status channel")?;
        }
        lines.next("the line frequency")?;
        let (rate, samples) = rates(&mut lines)?;
        lines.next("the moment of the first sample")?;
        lines.next("the moment of the trigger")?;
        let format = format(lines.next("the kind of data")?[0])?;
        // From 1999 on: what a tick of a time stamp is worth, in microseconds.
        let factor = lines.next("a factor").ok().map(|fields| fields[0]);
        let factor = factor.filter(|field| !field.text.is_empty());
        let ticks = factor.map_or(Ok(1.0), |field| field.finite("the factor of time stamps"))?;
        let seconds_per_tick = ticks * 1e-6;
        Ok(Self { revision, analogue, status_count, rate, samples, format, seconds_per_tick })
    }
}

fn revision(fields: &[Field<'_>]) -> Result<String, Problem> {
    match fields.get(2).filter(|field| !field.text.is_empty()) {
        None => Ok("1991".to_owned()),
        Some(field) if ["1991", "1999", "2001", "2013"].contains(&field.text) => {
            Ok(field.text.to_owned())
        }
        Some(field) => Err(field.problem("revision 1991, 1999 or 2013")),
    }
}

/// The numbers of analogue and status channels, from `total, nA, nD`.
fn counts(fields: &[Field<'_>]) -> Result<(usize, usize), Problem> {
    let &[total, analogue, status] = fields else {
        return Err(
            fields[0].problem("three fields: all, analogue (`4A`) and status channels (`8D`)")
        );
    };
    let count = |field: Field<'_>, letter: char| {
        let accepted = format!("a number of channels with the letter {letter}");
        let upper = field.text.to_ascii_uppercase();
        let digits = upper.strip_suffix(letter).ok_or_else(|| field.problem(&accepted))?;
        digits.trim().parse::<usize>().map_err(|_| field.problem(&accepted))
    };
    let (analogue, status) = (count(analogue, 'A')?, count(status, 'D')?);
    let sum = analogue.checked_add(status);
    if Some(total.parse::<usize>("a number of channels")?) != sum || sum > Some(100_000) {
        return Err(total.problem("the sum of analogue and status channels"));
    }
    Ok((analogue, status))
}

/// The one rate and the number of samples.
fn rates(lines: &mut Lines<'_>) -> Result<(Option<f64>, usize), Problem> {
    let count = lines.next("the number of sampling rates")?[0];
    let number: usize = count.parse("a number of sampling rates")?;
    if number > 1 {
        return Err(count.problem("one sampling rate through the recording"));
    }
    let fields = lines.next("a sampling rate and the number of the last sample")?;
    let &[rate, last] = &fields[..] else {
        return Err(fields[0].problem("a sampling rate and the number of the last sample"));
    };
    let accepted = if number == 0 { "0, where there is no rate" } else { "a rate above 0" };
    let value = rate.finite(accepted)?;
    if (number == 0) != (value == 0.0) || value < 0.0 {
        return Err(rate.problem(accepted));
    }
    Ok(((number == 1).then_some(value), last.parse("the number of the last sample")?))
}

fn format(field: Field<'_>) -> Result<Format, Problem> {
    match field.text.to_ascii_uppercase().as_str() {
        "ASCII" => Ok(Format::Ascii),
        "BINARY" => Ok(Format::Binary16),
        "BINARY32" => Ok(Format::Binary32),
        "FLOAT32" => Ok(Format::Float32),
        _ => Err(field.problem("ASCII, BINARY, BINARY32 or FLOAT32")),
    }
}
