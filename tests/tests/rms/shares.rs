//! What a level tells apart: its direct part, its alternating part, its frequency.

use core::f64::consts::{FRAC_1_SQRT_2, TAU};

use crate::{HERTZ, RELATIVE, VOLTS_A_CODE, WINDOW, measure, volts};

#[test]
fn direct_voltage_reads_to_half_a_code_with_its_sign() {
    for dc in [-1_200.0, -0.06, 0.0, 0.025, 12.34, 1_000.0] {
        for level in measure(10_000, 4, WINDOW, |_| dc) {
            assert!((volts(level.dc) - dc).abs() <= VOLTS_A_CODE / 2.0 + 1e-6, "{dc}: {level:?}");
            assert_eq!((level.rms, level.hz), (level.dc.abs(), None));
        }
    }
}

#[test]
fn direct_and_alternating_parts_are_told_apart() {
    for hertz in HERTZ {
        for (dc, ac) in [(100.0, 325.0), (-600.0, 5.0), (12.0, 600.0)] {
            let turns = hertz / 10_000.0;
            for level in measure(10_000, 5, WINDOW, |sample| dc + ac * (TAU * turns * sample).sin())
            {
                let rms = ac * FRAC_1_SQRT_2;
                let off = (volts(level.ac) - rms).abs();
                assert!(off <= RELATIVE * rms + VOLTS_A_CODE, "{dc} {ac} {hertz}: {level:?}");
                // At 15 Hz the window leaks up to half a percent of the amplitude into the mean.
                let dc_off = (volts(level.dc) - dc).abs();
                assert!(dc_off <= 0.005 * ac + VOLTS_A_CODE, "{dc} {ac} {hertz}: {level:?}");
            }
        }
    }
}

#[test]
fn the_frequency_is_right_to_a_tenth_of_a_hertz_at_fifty() {
    let mut noise = 1_u32;
    let mut random = move || {
        noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(noise) / f64::from(u32::MAX) - 0.5
    };
    for (hertz, noise_volts) in [(50.0, 0.0), (50.0, 2.6), (49.9, 0.0), (60.0, 2.6)]
        .into_iter()
        .chain(HERTZ.map(|it| (it, 0.0)))
    {
        let mut worst = 0.0_f64;
        for step in 0..16 {
            let phase = f64::from(step) / 16.0;
            let signal: Vec<f64> = (0..5 * WINDOW)
                .map(|sample| {
                    let angle = TAU * (f64::from(sample) * hertz / 10_000.0 + phase);
                    325.0 * angle.sin() + noise_volts * random()
                })
                .collect();
            for level in measure(10_000, 5, WINDOW, |sample| signal[sample as usize]) {
                let read = level.hz.expect("more than two cycles").as_millihertz();
                worst = worst.max((f64::from(read) / 1_000.0 / hertz - 1.0).abs());
            }
        }
        println!("{hertz:6.2} Hz, noise {noise_volts} V: frequency off {:.4} %", worst * 100.0);
        assert!(worst <= 0.002, "{hertz} Hz, noise {noise_volts} V: {worst}");
    }
}
