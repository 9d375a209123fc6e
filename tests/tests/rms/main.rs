//! True RMS, crest and frequency of textbook waveforms, through converter codes and `core::signal`.
//!
//! Goal: 0.1 % and one code from 15 Hz to 450 Hz and at DC, at any phase, without being locked to
//! the signal. Method: the closed form beside each waveform is the oracle.
//! Run with `--nocapture` for the worst errors.

mod any;
mod shares;
mod textbook;
mod waveform;

use ohmwarden_core::signal::{Channel, Level, Meter, SampleRate};
use ohmwarden_core::unit::Voltage;

/// The promise: 0.1 % of reading and one code.
const RELATIVE: f64 = 0.001;
/// One code, and the voltage of the channel below: 50 mV.
const VOLTS_A_CODE: f64 = 0.05;
const HERTZ: [f64; 6] = [15.0, 50.0 / 3.0, 50.0, 60.0, 400.0, 450.0];
const RATES: [u32; 2] = [10_000, 9_973];
/// Samples in a window of 0.2 s at either rate.
const WINDOW: u32 = 2_000;

fn channel() -> Channel<Voltage> {
    Channel::<Voltage>::new(Voltage::from_volts(1_500), 30_000)
}

/// The code of a voltage, held at the ends of the converter.
fn code(volts: f64) -> i16 {
    (volts / VOLTS_A_CODE).round() as i16
}

fn volts(voltage: Voltage) -> f64 {
    f64::from(voltage.as_microvolts()) * 1e-6
}

/// Measures a signal given as volts at a sample number; leaves out the first two windows, in which
/// a low frequency is not known yet.
fn measure(rate: u32, windows: u32, samples: u32, at: impl Fn(f64) -> f64) -> Vec<Level<Voltage>> {
    let mut meter = Meter::new(SampleRate::from_per_second(rate));
    let codes: Vec<i16> =
        (0..windows * samples).map(|sample| code(at(f64::from(sample)))).collect();
    let levels: Vec<_> = codes
        .chunks(10)
        .filter_map(|block| meter.add_block(block.iter().copied(), &channel()))
        .collect();
    assert!(levels.len() >= windows as usize - 1, "a window is 0.21 s at the most");
    levels[2..].to_vec()
}

/// How far a reading is off, as a part of the true value, and whether the promise holds.
fn error(level: &Level<Voltage>, rms: f64) -> (f64, bool) {
    let off = (volts(level.rms) - rms).abs();
    (off / rms, off <= RELATIVE * rms + VOLTS_A_CODE)
}
