//! What a window of codes reads, through `ohmwarden_core::signal`.

use ohmwarden_core::signal::{Channel, Level, Meter, Quantity, SampleRate, Sums};
use serde::Serialize;

use super::quantise::Quantised;

/// Codes in 65536ths, as a quantity of core: what the sums hold, before it gets a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Fraction(i64);

const FRACTIONS: i64 = 1 << 16;
/// Codes that the meter is fed with at a time, as in the instrument.
const BLOCK: usize = 10;
/// The most samples per second at which core can still name half of them as a frequency.
const MOST_RATE: f64 = 4e6;

impl Quantity for Fraction {
    fn from_base(units: i64) -> Self {
        Self(units)
    }

    fn as_base(self) -> i64 {
        self.0
    }
}

/// A reading in the unit of its channel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Reading {
    pub(super) first_sample: usize,
    pub(super) samples: u32,
    pub(super) rms: f64,
    pub(super) dc: f64,
    pub(super) ac: f64,
    pub(super) peak: f64,
    pub(super) min: f64,
    pub(super) max: f64,
    /// Peak over RMS; nothing where the RMS is zero.
    pub(super) crest: Option<f64>,
    pub(super) frequency_hz: Option<f64>,
    pub(super) clipped_samples: u16,
}

impl Reading {
    /// Reads a window plainly: every sample weighs the same.
    pub(super) fn of_window(quantised: &Quantised, rate: f64, first_sample: usize) -> Self {
        let mut sums = Sums::EMPTY;
        sums.add_slice(&quantised.codes);
        // Core counts whole samples per second: a multiple keeps the digits of a broken rate.
        let times = 10_f64.powf((MOST_RATE / rate).log10().floor().clamp(0.0, 9.0));
        let (core_rate, correction) = core_rate(rate * times);
        let hz = sums.frequency(quantised.codes.iter().copied(), core_rate);
        let level = sums.level(&channel(quantised));
        let frequency_hz = hz.map(|hz| f64::from(hz.as_millihertz()) / 1e3 * correction / times);
        Self { frequency_hz, ..Self::from_level(&level, quantised, first_sample, 1.0) }
    }

    /// From a level in codes; `correction` is the true rate over that which core was told.
    fn from_level(
        level: &Level<Fraction>,
        quantised: &Quantised,
        first_sample: usize,
        correction: f64,
    ) -> Self {
        let value = |part: Fraction| part.0 as f64 / FRACTIONS as f64 * quantised.units_per_code;
        let size = |part: Fraction| value(part).abs();
        let (one, other) = (value(level.min), value(level.max));
        let (rms, peak) = (size(level.rms), size(level.peak));
        Self {
            first_sample,
            samples: level.samples,
            rms,
            dc: value(level.dc),
            ac: size(level.ac),
            peak,
            min: one.min(other),
            max: one.max(other),
            crest: (rms > 0.0).then_some(peak / rms),
            frequency_hz: level.hz.map(|hz| f64::from(hz.as_millihertz()) / 1e3 * correction),
            clipped_samples: level.clipped,
        }
    }
}

/// Reads as the instrument's meter does, window after window; what is left at the end is dropped.
pub(super) fn by_meter(quantised: &Quantised, rate: f64, first_sample: usize) -> Vec<Reading> {
    let (core_rate, correction) = core_rate(rate);
    let channel = channel(quantised);
    let mut meter = Meter::new(core_rate);
    let mut next = first_sample;
    let mut readings = Vec::new();
    for block in quantised.codes.chunks(BLOCK) {
        if let Some(level) = meter.add_block(block.iter().copied(), &channel) {
            readings.push(Reading::from_level(&level, quantised, next, correction));
            next += level.samples as usize;
        }
    }
    readings
}

/// Codes as 65536ths of a code, about the code at which the value is zero.
fn channel(quantised: &Quantised) -> Channel<Fraction> {
    let zero_code = -quantised.zero / quantised.units_per_code;
    Channel::from_ratio(FRACTIONS, 1)
        .with_offset_q16((zero_code * FRACTIONS as f64).round() as i32)
        .with_clip(quantised.clip.0, quantised.clip.1)
}

/// The nearest rate that core can be told, and the true rate over it.
fn core_rate(rate: f64) -> (SampleRate, f64) {
    let told = SampleRate::from_per_second(rate.round() as u32);
    (told, rate / f64::from(told.as_per_second()))
}

#[cfg(test)]
mod tests {
    use super::{Quantised, Reading, by_meter};

    fn sine(hertz: f64, rate: f64, samples: u32) -> Quantised {
        let angle = |sample| core::f64::consts::TAU * hertz * f64::from(sample) / rate;
        Quantised {
            codes: (0..samples).map(|it| (20_000.0 * angle(it).sin()).round() as i16).collect(),
            units_per_code: 0.01,
            zero: 0.0,
            clip: (i16::MIN, i16::MAX),
            as_recorded: false,
        }
    }

    #[test]
    fn a_broken_rate_keeps_its_digits() {
        for (hertz, rate) in [(50.0, 5_759.3), (0.05, 3.7), (1_000.0, 44_100.5), (50e3, 1e6)] {
            let quantised = sine(hertz, rate, (rate / hertz * 20.0) as u32);
            let read = Reading::of_window(&quantised, rate, 0).frequency_hz.unwrap();
            assert!((read / hertz - 1.0).abs() < 1e-4, "{hertz} at {rate}: {read}");
        }
    }

    #[test]
    fn meter_and_window_agree_on_a_sine() {
        let quantised = sine(50.0, 10_000.0, 10_000);
        let plain = Reading::of_window(&quantised, 10_000.0, 7);
        let metered = by_meter(&quantised, 10_000.0, 7);
        assert_eq!(metered.len(), 5);
        assert_eq!(metered[1].first_sample, 2_007);
        for reading in &metered {
            assert!((reading.rms / plain.rms - 1.0).abs() < 1e-4, "{reading:?} {plain:?}");
        }
    }

    #[test]
    fn a_falling_scale_and_an_offset_give_the_values_of_the_file() {
        let quantised = Quantised {
            codes: vec![100, -300],
            units_per_code: -0.5,
            zero: 20.0,
            clip: (i16::MIN, i16::MAX),
            as_recorded: true,
        };
        // Values -30 and 170.
        let reading = Reading::of_window(&quantised, 1_000.0, 0);
        assert_eq!((reading.min, reading.max, reading.dc), (-30.0, 170.0, 70.0));
        assert_eq!((reading.ac, reading.peak), (100.0, 170.0));
        assert!((reading.rms - 14_900.0_f64.sqrt()).abs() < 1e-4);
    }
}
