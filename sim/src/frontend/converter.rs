//! From volts and amperes to codes: noise, gain, rounding, clipping.

use rand_core::RngCore;
use rand_pcg::Pcg64Mcg;

use crate::scenario::stream;

/// One converter channel.
#[derive(Clone, Debug)]
pub(super) struct Converter {
    noise: Pcg64Mcg,
    /// Codes, least and greatest.
    pub(super) ends: (f64, f64),
}

impl Converter {
    /// Makes a channel with its own stream of noise.
    pub(super) fn new(seed: u64, name: &str, ends: (f64, f64)) -> Self {
        Self { noise: stream(seed, name), ends }
    }

    /// Gives the code of a value in codes, with noise of so many codes rms.
    #[inline]
    pub(super) fn code(&mut self, value: f64, noise_rms: f64) -> i16 {
        let noisy = value + noise_rms * normal(&mut self.noise);
        rounded(noisy.clamp(self.ends.0, self.ends.1))
    }
}

/// Draws about a normal number: the sum of four 16-bit numbers, mean 0, variance 1, at most 3.46.
#[inline]
fn normal(rng: &mut Pcg64Mcg) -> f64 {
    /// The standard deviation of the sum, `sqrt(4 (2^32 - 1) / 12)`.
    const ONE_OVER_DEVIATION: f64 = 1.0 / 37_837.227;
    const MEAN: i32 = 2 * 65_535;
    let bits = rng.next_u64();
    let part = |shift: u32| ((bits >> shift) & 0xffff) as i32;
    f64::from(part(0) + part(16) + part(32) + part(48) - MEAN) * ONE_OVER_DEVIATION
}

/// Rounds half to even; what is not a number gives 0.
#[inline]
fn rounded(value: f64) -> i16 {
    // Adding and taking off 1.5 * 2^52 leaves the nearest whole number, without a call.
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    ((value + WHOLE) - WHOLE) as i16
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_is_white_of_unit_variance() {
        let mut rng = stream(1, "noise");
        let n = 200_000;
        let (mut sum, mut squares, mut lagged, mut before) = (0.0, 0.0, 0.0, 0.0);
        for _ in 0..n {
            let x = normal(&mut rng);
            sum += x;
            squares += x * x;
            lagged += x * before;
            before = x;
        }
        let n = f64::from(n);
        // Five standard errors each.
        assert!(libm::fabs(sum / n) < 5.0 / libm::sqrt(n));
        assert!(libm::fabs(squares / n - 1.0) < 5.0 * libm::sqrt(2.0 / n));
        assert!(libm::fabs(lagged / n) < 5.0 / libm::sqrt(n));
    }

    #[test]
    fn codes_round_and_clip() {
        let mut converter = Converter::new(1, "v", (-2_000.0, 2_000.0));
        for (value, code) in [(0.49, 0), (0.51, 1), (-0.51, -1), (1e9, 2_000), (-1e9, -2_000)] {
            assert_eq!(converter.code(value, 0.0), code);
        }
        assert_eq!(rounded(f64::NAN), 0);
    }
}
