//! Sound files as waveforms: a full scale of 1 is worth what `--scale` says.

use std::io::Cursor;

use hound::{SampleFormat, WavReader, WavSpec};

use super::{ChannelData, Codes, Recording};
use crate::problem::Problem;

type Reader<'a> = WavReader<Cursor<&'a [u8]>>;

/// Reads integers of 8 to 32 bits and floats of 32 bits.
pub(super) fn read(bytes: &[u8]) -> Result<Recording, Problem> {
    let broken = |error: hound::Error| {
        Problem::input(format!("a broken file ({error})"), "WAV of 8, 16, 24 or 32 bits or float")
    };
    let reader = Reader::new(Cursor::new(bytes)).map_err(broken)?;
    let spec = reader.spec();
    let channels = match (spec.sample_format, spec.bits_per_sample) {
        (SampleFormat::Float, _) => {
            let samples: Result<Vec<f32>, _> = reader.into_samples().collect();
            floats(&spec, &samples.map_err(broken)?)?
        }
        (SampleFormat::Int, 1..=16) => {
            let samples: Result<Vec<i16>, _> = reader.into_samples().collect();
            short_codes(&spec, &samples.map_err(broken)?)
        }
        (SampleFormat::Int, _) => {
            let samples: Result<Vec<i32>, _> = reader.into_samples().collect();
            long_codes(&spec, &samples.map_err(broken)?)
        }
    };
    let format = if spec.sample_format == SampleFormat::Float { "float" } else { "integer" };
    let kind = format!("WAV {}-bit {format}", spec.bits_per_sample);
    Ok(Recording { kind, rate: f64::from(spec.sample_rate), channels })
}

fn names(spec: &WavSpec) -> impl Iterator<Item = (usize, String)> {
    (0..usize::from(spec.channels)).map(|channel| (channel, format!("channel {}", channel + 1)))
}

/// Every sample of one channel.
fn every<T: Copy>(samples: &[T], spec: &WavSpec, channel: usize) -> impl Iterator<Item = T> {
    samples.iter().skip(channel).step_by(usize::from(spec.channels)).copied()
}

fn full_scale(spec: &WavSpec) -> f64 {
    2.0_f64.powi(i32::from(spec.bits_per_sample) - 1)
}

fn floats(spec: &WavSpec, samples: &[f32]) -> Result<Vec<ChannelData>, Problem> {
    if let Some(at) = samples.iter().position(|sample| !sample.is_finite()) {
        let found = format!("{} as sample {}", samples[at], at / usize::from(spec.channels));
        return Err(Problem::input(found, "finite numbers"));
    }
    let channel = |(channel, name)| {
        ChannelData::plain(
            name,
            String::new(),
            every(samples, spec, channel).map(f64::from).collect(),
        )
    };
    Ok(names(spec).map(channel).collect())
}

fn short_codes(spec: &WavSpec, samples: &[i16]) -> Vec<ChannelData> {
    let gain = full_scale(spec).recip();
    let top = i16::try_from((1_i32 << (spec.bits_per_sample - 1)) - 1).unwrap_or(i16::MAX);
    let channel = |(channel, name)| {
        let raw = every(samples, spec, channel).collect();
        let codes = Codes { raw, gain, offset: 0.0, clip: (-top - 1, top) };
        ChannelData::of_codes(name, String::new(), codes, None)
    };
    names(spec).map(channel).collect()
}

fn long_codes(spec: &WavSpec, samples: &[i32]) -> Vec<ChannelData> {
    let full = full_scale(spec);
    let channel = |(channel, name)| {
        let values = every(samples, spec, channel).map(|code| f64::from(code) / full).collect();
        let clip = Some((-1.0, (full - 1.0) / full));
        ChannelData { clip, ..ChannelData::plain(name, String::new(), values) }
    };
    names(spec).map(channel).collect()
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use hound::{SampleFormat, WavSpec, WavWriter};

    use super::read;

    fn written(
        bits: u16,
        format: SampleFormat,
        write: impl Fn(&mut WavWriter<&mut Cursor<Vec<u8>>>),
    ) -> Vec<u8> {
        let spec = WavSpec {
            channels: 2,
            sample_rate: 48_000,
            bits_per_sample: bits,
            sample_format: format,
        };
        let mut file = Cursor::new(Vec::new());
        let mut writer = WavWriter::new(&mut file, spec).unwrap();
        write(&mut writer);
        writer.finalize().unwrap();
        file.into_inner()
    }

    #[test]
    fn every_width_reads_as_parts_of_full_scale() {
        for bits in [8_u16, 16, 24, 32] {
            let half = 1_i32 << (bits - 2);
            let bytes = written(bits, SampleFormat::Int, |writer| {
                for sample in [half, 0, -half, -2 * half] {
                    writer.write_sample(sample).unwrap();
                }
            });
            let recording = read(&bytes).unwrap();
            assert_eq!(recording.rate, 48_000.0);
            assert_eq!(recording.channels[0].samples, [0.5, -0.5], "{bits} bits");
            assert_eq!(recording.channels[1].samples, [0.0, -1.0], "{bits} bits");
            assert_eq!(recording.channels[1].clip.unwrap().0, -1.0);
            assert_eq!(recording.channels[0].codes.is_some(), bits <= 16);
        }
    }

    #[test]
    fn floats_read_as_they_are_and_must_be_finite() {
        for (value, read_well) in [(0.25_f32, true), (f32::NAN, false), (f32::INFINITY, false)] {
            let bytes = written(32, SampleFormat::Float, |writer| {
                writer.write_sample(value).unwrap();
                writer.write_sample(1.5_f32).unwrap();
            });
            assert_eq!(read(&bytes).is_ok(), read_well, "{value}");
        }
    }

    #[test]
    fn a_broken_file_is_said_to_be_broken() {
        let problem = read(b"RIFF1234WAVEjunk").unwrap_err().to_string();
        assert!(problem.contains("a broken file"), "{problem}");
    }
}
