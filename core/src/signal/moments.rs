//! Weighted moments of codes and what follows from them: mean and spread, without cancellation.

use super::channel::{CODE_BITS, Channel, Quantity, Scaling};

/// Weight, weighted sum and weighted sum of squares of codes.
///
/// The total weight stays below 2^33, and a code has 16 bits: nothing below can overflow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Moments {
    pub(super) weight: u64,
    pub(super) sum: i64,
    pub(super) squares: u64,
}

/// Up to this weight, what the spread is made of fits 64 bits.
const SHORT: u64 = 1 << 16;

const _: () = {
    let sum = SHORT as u128 * (1 << 15);
    assert!(sum * sum <= u64::MAX as u128, "the square of a short sum");
    let weight = 1_u128 << 33;
    let square = 1_u128 << 30;
    assert!(weight * square <= u64::MAX as u128, "the sum of squares");
    assert!(weight * weight <= u128::MAX / square, "weight times squares");
    assert!(weight * (1 << 15) * (1 << CODE_BITS) - 1 <= u64::MAX as u128, "the shifted sum");
};

impl Moments {
    /// Nothing yet.
    pub(super) const EMPTY: Self = Self { weight: 0, sum: 0, squares: 0 };

    /// Adds a stretch of less than 2^16 codes, each weighing `weight`.
    pub(super) fn add(&mut self, weight: u16, stretch: Self) {
        let by = u64::from(weight);
        // Of so few codes number and sum are words, so each takes a single multiplication.
        let codes = u32::try_from(stretch.weight).unwrap_or(u32::MAX);
        let sum = i32::try_from(stretch.sum).unwrap_or(0);
        self.weight = self.weight.wrapping_add(u64::from(codes).wrapping_mul(by));
        self.sum = self.sum.wrapping_add(i64::from(sum).wrapping_mul(i64::from(weight)));
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
    #[inline(never)]
    pub(super) fn mean_q16(&self) -> i64 {
        let scaled = self.sum.unsigned_abs() << CODE_BITS;
        let size = i64::try_from(quotient(scaled, self.weight)).unwrap_or(i64::MAX);
        if self.sum < 0 { size.saturating_neg() } else { size }
    }

    /// The mean in the units of a channel.
    pub(super) fn mean<Q: Quantity>(&self, cal: &Channel<Q>) -> Q {
        Q::from_base(self.mean_in(cal.scaling()))
    }

    /// The mean in base units.
    #[inline(never)]
    pub(super) fn mean_in(&self, scaling: Scaling) -> i64 {
        scaling.value(self.mean_q16().saturating_sub(scaling.offset_q16))
    }

    /// The RMS of what varies about the mean, in 65536ths of a code.
    pub(super) fn spread_q16(&self) -> u64 {
        let sum = self.sum.unsigned_abs();
        let (narrow, halvings) = if self.weight <= SHORT {
            let whole = self.weight.wrapping_mul(self.squares);
            narrow_word(whole.saturating_sub(sum.wrapping_mul(sum)))
        } else {
            let whole = u128::from(self.weight).wrapping_mul(u128::from(self.squares));
            narrow(whole.saturating_sub(u128::from(sum).wrapping_mul(u128::from(sum))))
        };
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
    let spare = value.leading_zeros();
    let low = u64::try_from(value & u128::from(u64::MAX)).unwrap_or(0);
    let high = u64::try_from(value >> 64).unwrap_or(0);
    let Some(halvings) = 65_u32.checked_sub(spare).map(|used| used >> 1) else {
        return narrow_word(low);
    };
    // Two words become one; by their whole length, the lower falls out.
    let shift = halvings.wrapping_mul(2);
    let kept = low.checked_shr(shift).unwrap_or(0);
    let moved = high.checked_shl(64_u32.wrapping_sub(shift)).unwrap_or(0) | kept;
    (moved, 0_i32.wrapping_sub(halvings.cast_signed()))
}

/// As [`narrow`], of a value that was not longer.
fn narrow_word(value: u64) -> (u64, i32) {
    let halvings = value.leading_zeros() >> 1;
    (value.checked_shl(halvings.wrapping_mul(2)).unwrap_or(0), halvings.cast_signed())
}

/// `dividend / divisor` to the nearest; zero where the divisor is.
#[inline(never)]
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
    use super::{Moments, SHORT, narrow, narrow_word};

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
    fn short_and_long_stretches_spread_alike() {
        // The same codes four times over have the same spread, and are no longer short.
        for (one, other) in [(-32_768_i64, 32_767_i64), (5, 6), (-3, 12_345)] {
            let half = SHORT / 2;
            let count = i64::try_from(half).unwrap();
            let squares = half * (one * one + other * other) as u64;
            let short = Moments { weight: SHORT, sum: count * (one + other), squares };
            let long =
                Moments { weight: 4 * SHORT, sum: 4 * short.sum, squares: 4 * short.squares };
            assert_eq!(short.spread_q16(), long.spread_q16(), "{one} {other}");
            assert_eq!(short.spread_q16(), (other - one).unsigned_abs() << 15, "{one} {other}");
        }
    }

    #[test]
    fn narrowing_keeps_63_bits_and_an_even_shift() {
        for bits in 0..128 {
            let value = (1_u128 << bits) | 1;
            let (narrow, halvings) = narrow(value);
            assert!(narrow >= 1 << 62, "{bits}");
            if let Ok(word) = u64::try_from(value) {
                assert_eq!(narrow_word(word), (narrow, halvings), "{bits}");
            }
            let back = if halvings < 0 {
                u128::from(narrow) << (2 * halvings.unsigned_abs())
            } else {
                u128::from(narrow) >> (2 * halvings.unsigned_abs())
            };
            assert!(value - back <= value >> 62, "{bits}");
        }
    }
}
