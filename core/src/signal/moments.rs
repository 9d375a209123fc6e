//! Weighted moments of codes and what follows from them: mean and spread, without cancellation.

use super::channel::CODE_BITS;

/// Weight, weighted sum and weighted sum of squares of codes.
///
/// The total weight stays below 2^33, and a code has 16 bits: nothing below can overflow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Moments {
    pub(super) weight: u64,
    pub(super) sum: i64,
    pub(super) squares: u64,
}

const _: () = {
    let weight = 1_u128 << 33;
    let square = 1_u128 << 30;
    assert!(weight * square <= u64::MAX as u128, "the sum of squares");
    assert!(weight * weight <= u128::MAX / square, "weight times squares");
    assert!(weight * (1 << 15) * (1 << CODE_BITS) - 1 <= u64::MAX as u128, "the shifted sum");
};

impl Moments {
    /// Nothing yet.
    pub(super) const EMPTY: Self = Self { weight: 0, sum: 0, squares: 0 };

    /// Adds a stretch of codes, each weighing `weight`.
    pub(super) fn add(&mut self, weight: u16, stretch: Self) {
        let by = u64::from(weight);
        self.weight = self.weight.wrapping_add(stretch.weight.wrapping_mul(by));
        self.sum = self.sum.wrapping_add(stretch.sum.wrapping_mul(i64::from(weight)));
        self.squares = self.squares.wrapping_add(stretch.squares.wrapping_mul(by));
    }

    /// What is in these and was not in an earlier state of them.
    pub(super) const fn since(self, earlier: Self) -> Self {
        Self {
            weight: self.weight.wrapping_sub(earlier.weight),
            sum: self.sum.wrapping_sub(earlier.sum),
            squares: self.squares.wrapping_sub(earlier.squares),
        }
    }

    /// The mean in 65536ths of a code, to the nearest; zero of nothing.
    pub(super) fn mean_q16(&self) -> i64 {
        let scaled = self.sum.unsigned_abs() << CODE_BITS;
        let size = i64::try_from(quotient(scaled, self.weight)).unwrap_or(i64::MAX);
        if self.sum < 0 { size.saturating_neg() } else { size }
    }

    /// The RMS of what varies about the mean, in 65536ths of a code.
    pub(super) fn spread_q16(&self) -> u64 {
        let sum = u128::from(self.sum.unsigned_abs());
        let whole = u128::from(self.weight).wrapping_mul(u128::from(self.squares));
        let (narrow, halvings) = narrow(whole.saturating_sub(sum.wrapping_mul(sum)));
        let root = root(narrow) << CODE_BITS;
        if halvings < 0 {
            return quotient(root << halvings.unsigned_abs(), self.weight);
        }
        let fine = quotient(root, self.weight);
        rounded_shift(fine, halvings.unsigned_abs())
    }
}

/// The integer root. Not inlined, because the algorithm is long.
#[inline(never)]
pub(super) fn root(square: u64) -> u64 {
    square.isqrt()
}

/// A value of at most 64 bits, all in use but one, and `h` such that `value = narrow / 4^h`.
fn narrow(value: u128) -> (u64, i32) {
    let spare = value.leading_zeros().cast_signed();
    let halvings = spare.saturating_sub(64) >> 1;
    let shift = halvings.unsigned_abs().wrapping_mul(2);
    let moved = if value == 0 {
        0
    } else if halvings < 0 {
        value >> shift
    } else {
        value << shift
    };
    (u64::try_from(moved).unwrap_or(u64::MAX), halvings)
}

/// `dividend / divisor` to the nearest; zero where the divisor is.
fn quotient(dividend: u64, divisor: u64) -> u64 {
    dividend.saturating_add(divisor >> 1).checked_div(divisor).unwrap_or(0)
}

/// `value / 2^bits` to the nearest.
fn rounded_shift(value: u64, bits: u32) -> u64 {
    match bits.checked_sub(1) {
        Some(less) => value.saturating_add(1_u64.wrapping_shl(less)).wrapping_shr(bits),
        None => value,
    }
}

#[cfg(test)]
mod tests {
    use super::{Moments, narrow};

    fn of(codes: &[i64]) -> Moments {
        Moments {
            weight: codes.len() as u64,
            sum: codes.iter().sum(),
            squares: codes.iter().map(|code| (code * code) as u64).sum(),
        }
    }

    #[test]
    fn nothing_has_neither_mean_nor_spread() {
        assert_eq!((Moments::EMPTY.mean_q16(), Moments::EMPTY.spread_q16()), (0, 0));
    }

    #[test]
    fn a_square_wave_spreads_by_its_amplitude_wherever_its_mean_is() {
        for mean in [-32_000, -1, 0, 7, 32_000] {
            for amplitude in [1, 3, 700] {
                let moments = of(&[mean - amplitude, mean + amplitude]);
                assert_eq!(moments.mean_q16(), mean << 16);
                assert_eq!(moments.spread_q16(), (amplitude as u64) << 16, "{mean} {amplitude}");
            }
        }
    }

    #[test]
    fn one_code_in_four_is_told_to_a_65536th() {
        // 0 0 0 1: mean 1/4, spread sqrt(3)/4 = 0.433012..., times 65536 = 28377.9
        let moments = of(&[0, 0, 0, 1]);
        assert_eq!((moments.mean_q16(), moments.spread_q16()), (16_384, 28_378));
    }

    #[test]
    fn the_longest_stretch_at_the_end_codes_fits() {
        let pairs = u64::from(u32::MAX >> 1);
        let squares = pairs * (32_768 * 32_768 + 32_767 * 32_767);
        let sum = -i64::try_from(pairs).unwrap();
        let moments = Moments { weight: 2 * pairs, sum, squares };
        assert_eq!((moments.mean_q16(), moments.spread_q16()), (-32_768, 2_147_450_880));
    }

    #[test]
    fn narrowing_keeps_63_bits_and_an_even_shift() {
        for bits in 0..94 {
            let value = (1_u128 << bits) | 1;
            let (narrow, halvings) = narrow(value);
            assert!(narrow >= 1 << 62, "{bits}");
            let back = if halvings < 0 {
                u128::from(narrow) << (2 * halvings.unsigned_abs())
            } else {
                u128::from(narrow) >> (2 * halvings.unsigned_abs())
            };
            assert!(value - back <= value >> 62, "{bits}");
        }
    }
}
