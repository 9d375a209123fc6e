//! Turns recorded values into the codes of a 16-bit converter.

use core::ops::Range;

use crate::waveform::ChannelData;

/// The code that the largest value of a window gets, where no full scale is given: a little off
/// the end, so that it does not read as clipped.
const PEAK_CODE: f64 = 32_000.0;
/// The code of full scale.
const END_CODE: f64 = 32_767.0;

/// Codes, and what they are worth: `value = units_per_code * code + zero`.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Quantised {
    pub(super) codes: Vec<i16>,
    pub(super) units_per_code: f64,
    pub(super) zero: f64,
    /// The codes at which the converter is at its end.
    pub(super) clip: (i16, i16),
    /// True where these are the codes that the file holds.
    pub(super) as_recorded: bool,
}

impl Quantised {
    /// Takes the codes of the file or, without any or with a full scale given, makes some.
    pub(super) fn of(channel: &ChannelData, window: Range<usize>, full_scale: Option<f64>) -> Self {
        match &channel.codes {
            // The offset must lie within the codes, for the sums to be moved by it.
            Some(codes) if full_scale.is_none() && (codes.offset / codes.gain).abs() < END_CODE => {
                Self {
                    codes: codes.raw[window].to_vec(),
                    units_per_code: codes.gain,
                    zero: codes.offset,
                    clip: codes.clip,
                    as_recorded: true,
                }
            }
            _ => Self::rounded(channel, window, full_scale),
        }
    }

    fn rounded(channel: &ChannelData, window: Range<usize>, full_scale: Option<f64>) -> Self {
        let samples = &channel.samples[window];
        let peak = samples.iter().fold(0.0_f64, |peak, sample| peak.max(sample.abs()));
        let units_per_code = match full_scale {
            Some(full_scale) => full_scale / END_CODE,
            None if peak > 0.0 => peak / PEAK_CODE,
            None => 1.0,
        };
        // A float becomes an integer held at its bounds.
        let code = |value: f64| (value / units_per_code).round() as i16;
        let clip = match channel.clip {
            Some((least, greatest)) => (code(least.min(greatest)), code(greatest.max(least))),
            None => (i16::MIN, i16::MAX),
        };
        let ends = if full_scale.is_some() { (-i16::MAX, i16::MAX) } else { (i16::MIN, i16::MAX) };
        Self {
            codes: samples.iter().map(|&sample| code(sample)).collect(),
            units_per_code,
            zero: 0.0,
            clip: (clip.0.max(ends.0), clip.1.min(ends.1)),
            as_recorded: false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{ChannelData, Quantised};
    use crate::waveform::Codes;

    fn plain(samples: &[f64], clip: Option<(f64, f64)>) -> ChannelData {
        let (name, unit) = ("U".to_owned(), "V".to_owned());
        ChannelData { name, unit, samples: samples.to_vec(), clip, codes: None }
    }

    #[test]
    fn the_largest_value_of_the_window_sets_the_scale() {
        let channel = plain(&[900.0, 1.0, -64.0, 32.0], None);
        let quantised = Quantised::of(&channel, 1..4, None);
        assert_eq!(quantised.units_per_code, 0.002);
        assert_eq!(quantised.codes, [500, -32_000, 16_000]);
        assert_eq!(quantised.clip, (i16::MIN, i16::MAX));
    }

    #[test]
    fn a_full_scale_holds_what_is_beyond_at_the_end() {
        let channel = plain(&[10.0, -20.0, 5.0, 0.0], None);
        let quantised = Quantised::of(&channel, 0..4, Some(10.0));
        assert_eq!(quantised.codes, [32_767, -32_768, 16_384, 0]);
        assert_eq!(quantised.clip, (-32_767, 32_767));
    }

    #[test]
    fn the_ends_of_the_recorder_stay_ends() {
        let channel = plain(&[1.0, -1.0, 0.5], Some((-1.0, 0.5)));
        let quantised = Quantised::of(&channel, 0..3, None);
        assert_eq!(quantised.clip, (-32_000, 16_000));
    }

    #[test]
    fn codes_of_the_file_are_used_unless_another_scale_is_wanted() {
        let codes = Codes { raw: vec![100, -100], gain: 0.5, offset: 1.0, clip: (-2_048, 2_047) };
        let channel = ChannelData { codes: Some(codes), ..plain(&[51.0, -49.0], None) };
        let quantised = Quantised::of(&channel, 0..2, None);
        assert!(quantised.as_recorded);
        assert_eq!((quantised.units_per_code, quantised.zero), (0.5, 1.0));
        assert!(!Quantised::of(&channel, 0..2, Some(60.0)).as_recorded);
    }

    #[test]
    fn silence_has_codes_of_zero() {
        assert_eq!(Quantised::of(&plain(&[0.0, 0.0], None), 0..2, None).codes, [0, 0]);
    }
}
