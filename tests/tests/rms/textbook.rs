//! The waveforms of the books, as they are, with their band limited, and with their jumps.
//!
//! Waveforms without a jump are sampled as they are. Those with a jump hold harmonics without end:
//! they are sampled finely, or with what lies above 4 kHz taken away; sampled as they are at
//! 10 kS/s, the instant of a jump is known to a sample only, and the bound is Koksma's: variation
//! times discrepancy.

use core::f64::consts::TAU;

use ohmwarden_core::signal::Level;
use ohmwarden_core::unit::Voltage;

use crate::waveform::{Waveform, band_limited, jumping_ones, smooth_ones};
use crate::{HERTZ, RATES, VOLTS_A_CODE, WINDOW, error, measure, volts};

/// The levels of a waveform of `size` volts.
fn levels_of(
    waveform: &Waveform,
    size: f64,
    (rate, windows, samples): (u32, u32, u32),
    (hertz, phase): (f64, f64),
) -> Vec<Level<Voltage>> {
    let cycles_a_sample = hertz / f64::from(rate);
    measure(rate, windows, samples, |sample| {
        size * (waveform.at)((sample * cycles_a_sample + phase).rem_euclid(1.0))
    })
}

#[test]
fn any_waveform_without_a_jump_reads_true_at_every_phase() {
    for rate in RATES {
        for hertz in HERTZ {
            let mut worst = (0.0, "");
            for whole in smooth_ones() {
                // Above 100 Hz even the kink of a triangle has harmonics that 10 kS/s do not carry.
                let orders = (4_000.0 / hertz).ceil() as u32;
                let waveform = if hertz < 100.0 { whole } else { band_limited(&whole, orders) };
                for (size, step) in (0..16).flat_map(|step| [(650.0, step), (3.0, step)]) {
                    let phase = f64::from(step) / 16.0;
                    for level in levels_of(&waveform, size, (rate, 5, WINDOW), (hertz, phase)) {
                        let rms = size * waveform.rms;
                        let (off, held) = error(&level, rms);
                        assert!(held, "{} {hertz} Hz {phase} {size} V: {level:?}", waveform.name);
                        if size > 100.0 && off > worst.0 {
                            worst = (off, waveform.name);
                        }
                    }
                }
            }
            println!("{rate} S/s {hertz:6.2} Hz: worst {:.4} % ({})", worst.0 * 100.0, worst.1);
        }
    }
}

#[test]
fn any_waveform_sampled_finely_has_the_rms_and_crest_of_the_books() {
    const RATE: u32 = 999_983;
    for waveform in smooth_ones().iter().chain(&jumping_ones()) {
        for hertz in HERTZ {
            let levels = levels_of(waveform, 650.0, (RATE, 3, 208_000), (hertz, 0.123));
            for level in levels {
                let (off, held) = error(&level, 650.0 * waveform.rms);
                let label = format!("{} ({}) {hertz} Hz", waveform.name, waveform.source);
                assert!(held, "{label}: {off} {level:?}");
                let crest = f64::from(level.crest().expect("not silent")) / 1_000.0;
                assert!((crest / waveform.crest - 1.0).abs() < 0.002, "{label}: crest {crest}");
            }
        }
    }
}

#[test]
fn any_waveform_with_a_jump_reads_true_once_its_band_is_limited() {
    for hertz in HERTZ {
        let mut worst = (0.0, "");
        for jumping in jumping_ones() {
            let waveform = band_limited(&jumping, (4_000.0 / hertz).ceil() as u32);
            for (rate, phase) in RATES.into_iter().flat_map(|rate| [(rate, 0.0), (rate, 0.37)]) {
                let rms = 650.0 * waveform.rms;
                for level in levels_of(&waveform, 650.0, (rate, 4, WINDOW), (hertz, phase)) {
                    let (off, held) = error(&level, rms);
                    assert!(held, "{} {hertz} Hz {rate} {phase}: {level:?}", waveform.name);
                    worst = if off > worst.0 { (off, waveform.name) } else { worst };
                }
            }
        }
        println!("below 4 kHz {hertz:6.2} Hz: worst {:.4} % ({})", worst.0 * 100.0, worst.1);
    }
}

/// The most that the sampled phases, as weighed, depart from even spread over the cycle.
fn discrepancy(rate: u32, hertz: f64, first: u32, phase: f64) -> f64 {
    let weight = |sample: u32| {
        let angle = TAU / 2.0 * (f64::from(sample / 10) + 0.5) / f64::from(WINDOW / 10);
        angle.sin().powi(4) / (0.375 * f64::from(WINDOW))
    };
    let mut points: Vec<(f64, f64)> = (0..WINDOW)
        .map(|sample| {
            let cycles = f64::from(first + sample) * hertz / f64::from(rate) + phase;
            (cycles.rem_euclid(1.0), weight(sample))
        })
        .collect();
    points.sort_by(|left, right| left.0.total_cmp(&right.0));
    let mut sum = 0.0;
    points.iter().fold(0.0_f64, |worst, (place, weight)| {
        let before = (sum - place).abs();
        sum += weight;
        worst.max(before).max((sum - place).abs())
    })
}

#[test]
fn any_jump_sampled_as_it_is_errs_within_variation_times_discrepancy() {
    for rate in RATES {
        for hertz in HERTZ {
            let mut worst = (0.0, "");
            for (waveform, step) in
                jumping_ones().iter().flat_map(|it| (0..8).map(move |step| (it, step)))
            {
                let phase = f64::from(step) / 8.0;
                let level = levels_of(waveform, 650.0, (rate, 4, WINDOW), (hertz, phase))[0];
                let spread = discrepancy(rate, hertz, WINDOW, phase);
                let power = waveform.jumps.expect("jumps") * spread;
                let rms = waveform.rms * 650.0;
                let high = (waveform.rms.powi(2) + power).sqrt() * 650.0 - rms;
                let low = rms - (waveform.rms.powi(2) - power).max(0.0).sqrt() * 650.0;
                let off = volts(level.rms) - rms;
                // Rounding to codes comes on top: half a code of each sample at the most.
                assert!(
                    (-low - VOLTS_A_CODE..=high + VOLTS_A_CODE).contains(&off),
                    "{} {rate} {hertz} {phase}: {off} of {rms}, -{low} +{high}",
                    waveform.name
                );
                worst = if off.abs() / rms > worst.0 {
                    (off.abs() / rms, waveform.name)
                } else {
                    worst
                };
            }
            println!(
                "as it is {rate} S/s {hertz:6.2} Hz: worst {:.3} % ({})",
                worst.0 * 100.0,
                worst.1
            );
        }
    }
}

/// Published examples: 10 V pulse of 5 % duty; half-wave of 20 V peak; 230 V cut by a dimmer.
#[test]
fn the_worked_examples_come_out_as_published() {
    const RATE: u32 = 999_983;
    let jumping = jumping_ones();
    let cut = |name: &str, crest: f64| {
        let found = jumping.iter().find(|it| it.name == name && (it.crest - crest).abs() < 0.01);
        found.expect("a waveform with that crest")
    };
    let smooth = smooth_ones();
    let peak = 230.0 * 2.0_f64.sqrt();
    // Sources: allaboutcircuits thread "RMS math" (first two); the dimmer formula of Electronics
    // StackExchange 274267 (the rest), all quoted in public text.
    for (waveform, size, rms, crest) in [
        (cut("pulse", 4.472), 10.0, 2.236, None),
        (&smooth[2], 20.0, 10.0, None),
        (cut("phase-cut", 1.577), peak, 206.30, None),
        (cut("phase-cut", 2.0), peak, 162.63, Some(2.000)),
        (cut("phase-cut", 2.770), peak, 101.70, Some(2.770)),
        (cut("phase-cut", 3.318), peak, 69.32, None),
    ] {
        assert!((waveform.rms * size - rms).abs() < 0.005, "closed form: {}", waveform.rms * size);
        for level in levels_of(waveform, size, (RATE, 3, 208_000), (50.0, 0.0)) {
            let (off, held) = error(&level, rms);
            assert!(held, "{} {size} V: {off} {level:?}", waveform.name);
            let measured = f64::from(level.crest().expect("not silent")) / 1_000.0;
            assert!(crest.is_none_or(|crest| (measured - crest).abs() < 0.005), "{measured}");
        }
    }
}
