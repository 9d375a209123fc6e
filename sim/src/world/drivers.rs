//! Sources that are driven from outside the circuit: direct, pulsed, gliding, recorded.

use alloc::string::String;
use alloc::sync::Arc;
use alloc::vec::Vec;

use ohmwarden_core::signal::SampleRate;

use super::build::Recording;
use crate::circuit::{Circuit, InputId};

/// All driven sources of a scenario.
#[derive(Clone, Debug, Default)]
pub(super) struct Drivers(pub(super) Vec<Driver>, f64);

/// One driven source.
#[derive(Clone, Debug)]
pub(super) struct Driver {
    /// The part's name.
    pub(super) name: String,
    /// What it drives.
    pub(super) input: InputId,
    /// How.
    pub(super) shape: Shape,
}

/// A voltage over time.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    Steady(f64),
    Pulse { volts: f64, width: f64, period: f64, delay: f64 },
    Exponential { volts: f64, tau: f64 },
    Glide { volts_rms: f64, from: f64, to: f64, seconds: f64 },
    Recorded { samples: Arc<[f64]>, rate: f64, scale: f64, repeat: bool },
}

impl Drivers {
    /// The same drivers for a sample rate; sub-steps within a sample follow a straight line.
    pub(super) fn at(mut self, rate: SampleRate) -> Self {
        self.1 = f64::from(rate.as_per_second());
        self
    }

    /// Sets every input to what it is at the end of the sample that begins now.
    pub(super) fn drive(&self, circuit: &mut Circuit, sample: u64) {
        if self.0.is_empty() {
            return;
        }
        let t = (sample as f64 + 1.0) / self.1;
        for driver in &self.0 {
            circuit.set_input(driver.input, driver.shape.at(t));
        }
    }

    /// Changes a direct source; false where there is none of that name.
    pub(super) fn set_steady(&mut self, name: &str, volts: f64) -> bool {
        let found = self.0.iter_mut().find(|driver| driver.name == name);
        match found.map(|driver| &mut driver.shape) {
            Some(Shape::Steady(steady)) => {
                *steady = volts;
                true
            }
            _ => false,
        }
    }
}

impl Shape {
    pub(super) fn recorded(recording: Recording, scale: f64, repeat: bool) -> Self {
        Self::Recorded { samples: recording.samples.into(), rate: recording.rate, scale, repeat }
    }

    /// The voltage at `t` seconds.
    pub(super) fn at(&self, t: f64) -> f64 {
        match self {
            Self::Steady(volts) => *volts,
            Self::Pulse { volts, width, period, delay } => {
                let since = t - delay;
                let inside = since >= 0.0 && libm::fmod(since, *period) < *width;
                if inside { *volts } else { 0.0 }
            }
            Self::Exponential { volts, tau } => volts * libm::exp(-t / tau),
            Self::Glide { volts_rms, from, to, seconds } => {
                // The phase is the integral of a frequency that moves in a straight line.
                let s = if t < *seconds { t } else { *seconds };
                let cycles = from * s + (to - from) * s * s / (2.0 * seconds) + to * (t - s);
                core::f64::consts::SQRT_2
                    * volts_rms
                    * libm::sin(core::f64::consts::TAU * libm::fmod(cycles, 1.0))
            }
            Self::Recorded { samples, rate, scale, repeat } => {
                scale * interpolated(samples, t * rate, *repeat)
            }
        }
    }
}

/// The value between two samples, on a straight line; nothing before the start and after the end.
fn interpolated(samples: &[f64], position: f64, repeat: bool) -> f64 {
    let length = samples.len() as f64;
    if samples.is_empty() {
        return 0.0;
    }
    let position = if repeat { libm::fmod(position, length) } else { position };
    if !(0.0..length).contains(&position) {
        return 0.0;
    }
    let before = libm::floor(position);
    let at = before as usize;
    let next = if repeat && at + 1 >= samples.len() { 0 } else { at + 1 };
    let a = samples.get(at).copied().unwrap_or(0.0);
    let b = samples.get(next).copied().unwrap_or(a);
    a + (b - a) * (position - before)
}
