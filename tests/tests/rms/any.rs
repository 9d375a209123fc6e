//! Any mixture, any codes, any cut: against phasors, sums in `f64`, and the whole.

use core::f64::consts::TAU;

use ohmwarden_core::signal::Sums;
use ohmwarden_core::unit::Voltage;
use proptest::prelude::*;

use crate::{RATES, VOLTS_A_CODE, WINDOW, channel, error, measure, volts};

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// A fundamental, direct voltage and four harmonics below 4 kHz, at any frequency and phase.
    #[test]
    fn any_mixture_within_the_band_reads_true(
        hertz in 15.0_f64..450.0,
        rate in prop::sample::select(RATES.to_vec()),
        dc in -0.5_f64..0.5,
        harmonics in prop::collection::vec((2_u32..40, 0.0_f64..0.2, 0.0_f64..1.0), 4),
        phase in 0.0_f64..1.0,
    ) {
        let within = |order: u32| f64::from(order) * hertz < 4_000.0;
        let parts: Vec<_> = harmonics.into_iter().filter(|part| within(part.0)).collect();
        let signal = |sample: f64| {
            let cycles = sample * hertz / f64::from(rate) + phase;
            let part = |&(order, size, phase): &(u32, f64, f64)| {
                size * (TAU * (f64::from(order) * cycles + phase)).sin()
            };
            400.0 * (dc + (TAU * cycles).sin() + parts.iter().map(part).sum::<f64>())
        };
        // Parts of the same order add up as phasors.
        let mut power = dc * dc;
        for order in 1..40 {
            let phasors = parts.iter().filter(|part| part.0 == order).map(|part| (part.1, part.2));
            let own = (order == 1).then_some((1.0, 0.0));
            let (x, y) = phasors.chain(own).fold((0.0, 0.0), |(x, y), (size, phase)| {
                (x + size * (TAU * phase).cos(), y + size * (TAU * phase).sin())
            });
            power += (x * x + y * y) / 2.0;
        }
        let rms = 400.0 * power.sqrt();
        // A strong harmonic costs a few windows until the frequency is known.
        for level in &measure(rate, 10, WINDOW, signal)[5..] {
            let (off, held) = error(level, rms);
            prop_assert!(held, "{off} of {rms}: {level:?}");
        }
    }

    /// The oracle sums in `f64` about the mean; the library sums codes about zero.
    #[test]
    fn any_codes_give_the_level_of_the_f64_oracle(
        codes in prop::collection::vec(any::<i16>(), 1..400),
        shrink in 0_u32..15,
        shift in any::<i16>(),
        offset in -32_768_i32 << 8..32_767 << 8,
    ) {
        // Small variations on a large mean are what cancellation would spoil.
        let codes: Vec<i16> = codes.iter().map(|it| (it >> shrink).saturating_add(shift)).collect();
        let offset_q16 = offset << 8;
        let cal = channel().with_offset_q16(offset_q16);
        let zero = f64::from(offset_q16) / 65_536.0;
        let mut sums = Sums::EMPTY;
        sums.add_block(codes.iter().copied());
        let level = sums.level(&cal);

        let count = codes.len() as f64;
        let value = |code: &i16| (f64::from(*code) - zero) * VOLTS_A_CODE;
        let values: Vec<f64> = codes.iter().map(value).collect();
        let mean = values.iter().sum::<f64>() / count;
        let ac = (values.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / count).sqrt();
        let rms = (values.iter().map(|it| it.powi(2)).sum::<f64>() / count).sqrt();
        let peak = values.iter().fold(0.0_f64, |peak, it| peak.max(it.abs()));
        // 1/32 768 of a code, and the microvolt of the quantity.
        let tolerance = VOLTS_A_CODE / 32_768.0 + 1e-6;
        let held = |read: Voltage, exact: f64| {
            (volts(read) - exact.clamp(-2_147.48, 2_147.48)).abs() <= tolerance
                || exact.abs() > 2_147.4
        };
        prop_assert!(held(level.dc, mean), "dc {mean} {level:?}");
        prop_assert!(held(level.ac, ac), "ac {ac} {level:?}");
        prop_assert!(held(level.rms, rms), "rms {rms} {level:?}");
        prop_assert!(held(level.peak, peak), "peak {peak} {level:?}");
    }

    #[test]
    fn any_cut_of_a_stretch_merges_to_the_whole(
        codes in prop::collection::vec(any::<i16>(), 0..200), cut in 0_usize..200
    ) {
        let of = |codes: &[i16]| {
            let mut sums = Sums::EMPTY;
            sums.add_block(codes.iter().copied());
            sums
        };
        let cut = cut.min(codes.len());
        let mut merged = of(&codes[..cut]);
        merged.merge(&of(&codes[cut..]));
        prop_assert_eq!(merged, of(&codes));
    }
}
