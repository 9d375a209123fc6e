//! Textbook waveforms: one cycle as a function, with RMS and crest in closed form.

use core::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2, TAU};

/// One waveform of unit size, and what a book says about it.
pub(crate) struct Waveform {
    pub(crate) name: &'static str,
    /// Where RMS and crest come from.
    pub(crate) source: &'static str,
    /// The value at a phase from 0 to 1.
    pub(crate) at: Box<dyn Fn(f64) -> f64>,
    /// RMS, direct part included.
    pub(crate) rms: f64,
    /// Peak over RMS.
    pub(crate) crest: f64,
    /// Total variation of the square over a cycle, where the waveform jumps; else nothing.
    pub(crate) jumps: Option<f64>,
}

fn smooth(
    name: &'static str,
    source: &'static str,
    (rms, crest): (f64, f64),
    at: impl Fn(f64) -> f64 + 'static,
) -> Waveform {
    Waveform { name, source, at: Box::new(at), rms, crest, jumps: None }
}

const TABLE: &str = "crest factor tables and 'RMS of common waveforms' (public text)";
const PARTS: &str = "sum of squares of orthogonal parts (public text)";
const DIMMER: &str = "analogue dimmer circuit analysis (public text); crest by mathematics";

/// Those without a jump.
pub(crate) fn smooth_ones() -> Vec<Waveform> {
    let third = 1.0 / 3.0_f64.sqrt();
    vec![
        smooth("sine", TABLE, (FRAC_1_SQRT_2, SQRT_2), |x| (TAU * x).sin()),
        smooth("full-wave rectified", TABLE, (FRAC_1_SQRT_2, SQRT_2), |x| (TAU * x).sin().abs()),
        smooth("half-wave rectified", TABLE, (0.5, 2.0), |x| (TAU * x).sin().max(0.0)),
        smooth("triangle", TABLE, (third, 1.0 / third), triangle),
        smooth("sine and DC", PARTS, (0.54_f64.sqrt(), 1.2 / 0.54_f64.sqrt()), |x| {
            0.6 + 0.6 * (TAU * x).sin()
        }),
        // Third 10 %, fifth 6 %, seventh 5 % of the fundamental, all in phase at the zero.
        smooth("harmonics", PARTS, harmonics_rms_and_crest(), harmonics),
    ]
}

/// Those with a jump.
pub(crate) fn jumping_ones() -> Vec<Waveform> {
    let third = 1.0 / 3.0_f64.sqrt();
    let mut all = vec![
        Waveform {
            jumps: Some(2.0),
            ..smooth("sawtooth", TABLE, (third, 1.0 / third), |x| 2.0 * x - 1.0)
        },
        Waveform {
            jumps: Some(0.0),
            ..smooth("square", TABLE, (1.0, 1.0), |x| if x < 0.5 { 1.0 } else { -1.0 })
        },
    ];
    all.extend([0.05, 0.2].map(|duty: f64| Waveform {
        jumps: Some(2.0),
        ..smooth("pulse", TABLE, (duty.sqrt(), 1.0 / duty.sqrt()), move |x| f64::from(x < duty))
    }));
    all.extend([60.0, 90.0, 120.0, 135.0].map(|degrees: f64| phase_cut(degrees.to_radians())));
    all
}

/// A sine of unit amplitude that a dimmer holds back until the angle `fire` of each half cycle.
fn phase_cut(fire: f64) -> Waveform {
    let rms = (0.5 - fire / TAU + (2.0 * fire).sin() / (2.0 * TAU)).sqrt();
    let peak = if fire <= PI / 2.0 { 1.0 } else { fire.sin() };
    let at = move |x: f64| if (TAU * x) % PI < fire { 0.0 } else { (TAU * x).sin() };
    let jumps = Some(4.0 * peak * peak);
    Waveform { jumps, ..smooth("phase-cut", DIMMER, (rms, peak / rms), at) }
}

fn triangle(x: f64) -> f64 {
    1.0 - 4.0 * ((x + 0.25) % 1.0 - 0.5).abs()
}

const HARMONICS: [(f64, f64); 4] = [(1.0, 0.8), (3.0, 0.08), (5.0, 0.048), (7.0, 0.04)];

fn harmonics(x: f64) -> f64 {
    HARMONICS.iter().map(|(order, size)| size * (TAU * order * x).sin()).sum()
}

fn harmonics_rms_and_crest() -> (f64, f64) {
    let rms = HARMONICS.iter().map(|(_, size)| size * size / 2.0).sum::<f64>().sqrt();
    let peak = (0..20_000).map(|step| harmonics(f64::from(step) / 20_000.0)).fold(0.0, f64::max);
    (rms, peak / rms)
}

/// The harmonics of a cycle from the first up to, but not with, `orders`; and its direct part.
///
/// By projection of 32 768 points; each harmonic turns by complex products, renewed every point.
fn harmonics_of(waveform: &Waveform, orders: u32) -> (f64, Vec<(f64, f64)>) {
    const POINTS: u32 = 32_768;
    let mut parts = vec![(0.0, 0.0); orders as usize];
    for point in 0..POINTS {
        let place = (f64::from(point) + 0.5) / f64::from(POINTS);
        let value = 2.0 / f64::from(POINTS) * (waveform.at)(place);
        let (sine, cosine) = (TAU * place).sin_cos();
        let (mut turned_cosine, mut turned_sine) = (1.0, 0.0);
        for part in &mut parts {
            part.0 += value * turned_cosine;
            part.1 += value * turned_sine;
            (turned_cosine, turned_sine) = (
                turned_cosine * cosine - turned_sine * sine,
                turned_sine * cosine + turned_cosine * sine,
            );
        }
    }
    let dc = parts[0].0 / 2.0;
    (dc, parts.split_off(1))
}

/// A waveform with nothing left at and above `orders` times its own frequency.
///
/// The RMS is that of what is left (Parseval); the crest is not told.
pub(crate) fn band_limited(waveform: &Waveform, orders: u32) -> Waveform {
    let (dc, parts) = harmonics_of(waveform, orders);
    let power: f64 = parts.iter().map(|(cosine, sine)| (cosine.powi(2) + sine.powi(2)) / 2.0).sum();
    let rms = (dc * dc + power).sqrt();
    // The sum by Clenshaw's recurrence, from the highest order down.
    let at = move |x: f64| {
        let (sine, cosine) = (TAU * x).sin_cos();
        let down = parts.iter().rev().fold([(0.0, 0.0); 2], |[next, after], part| {
            let now = |part: f64, next: f64, after: f64| part + 2.0 * cosine * next - after;
            [(now(part.0, next.0, after.0), now(part.1, next.1, after.1)), next]
        });
        let [first, second] = down;
        dc + first.0 * cosine - second.0 + first.1 * sine
    };
    smooth(waveform.name, waveform.source, (rms, f64::NAN), at)
}
