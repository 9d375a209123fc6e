//! What one converter code is worth: gain, zero and the codes at which the converter clips.
//!
//! Code positions inside this folder are counted in 1/65536 of a code (`q16`): wide enough to keep
//! what the exact sums know, narrow enough for 64-bit squares.

use core::marker::PhantomData;

use crate::unit::{Current, Voltage};

/// Fraction bits of the gain: base units per code, times 2^24.
const GAIN_BITS: u32 = 24;
/// Fraction bits of a code position.
pub(super) const CODE_BITS: u32 = 16;

/// Codes in the block whose mean is asked for most.
const BLOCK_CODES: u32 = 10;

/// A quantity that a channel can deliver, seen as a whole number of its own base unit.
pub trait Quantity: Copy {
    /// From base units (microvolts, picoamperes); held at the bounds of the quantity.
    fn from_base(units: i64) -> Self;
    /// The value in base units.
    fn as_base(self) -> i64;
}

impl Quantity for Voltage {
    fn from_base(units: i64) -> Self {
        Self::from_microvolts(held(units))
    }

    fn as_base(self) -> i64 {
        i64::from(self.as_microvolts())
    }
}

/// A whole number held at the bounds of 32 bits.
#[inline(never)]
fn held(units: i64) -> i32 {
    let bound = if units < 0 { i32::MIN } else { i32::MAX };
    i32::try_from(units).unwrap_or(bound)
}

impl Quantity for Current {
    fn from_base(units: i64) -> Self {
        Self::from_picoamps(units)
    }

    fn as_base(self) -> i64 {
        self.as_picoamps()
    }
}

/// Calibration of one converter channel: `value = (code - offset) * gain`.
///
/// ```
/// use ohmwarden_core::{signal::Channel, unit::Voltage};
/// const CHANNEL: Channel<Voltage> = Channel::<Voltage>::new(Voltage::from_volts(1_500), 30_000);
/// assert_eq!(CHANNEL.to_quantity(4_600), Voltage::from_volts(230));
/// assert_eq!(CHANNEL.lsb(), Voltage::from_millivolts(50));
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Channel<Q> {
    gain: i64,
    /// What one code in the sum of a block adds to its mean, times 2^24; 0 where that is too much.
    block_gain: i64,
    offset_q16: i32,
    least: i16,
    greatest: i16,
    quantity: PhantomData<Q>,
}

impl Channel<Voltage> {
    /// From a voltage and the code that it gives; a code of 0 makes every value zero.
    #[must_use]
    pub const fn new(voltage: Voltage, at_code: i16) -> Self {
        Self::from_ratio(voltage.as_microvolts() as i64, at_code as i64)
    }
}

impl Channel<Current> {
    /// From a current and the code that it gives; a code of 0 makes every value zero.
    #[must_use]
    pub const fn new(current: Current, at_code: i16) -> Self {
        Self::from_ratio(current.as_picoamps(), at_code as i64)
    }
}

impl<Q> Channel<Q> {
    /// From base units per so many codes; held where the gain would pass 2^39 units per code.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "clamped to the bounds of i64 just above")]
    pub const fn from_ratio(units: i64, codes: i64) -> Self {
        let scaled = (units as i128) << GAIN_BITS;
        let gain = match scaled.checked_div(codes as i128) {
            Some(gain) if gain > i64::MAX as i128 => i64::MAX,
            Some(gain) if gain < i64::MIN as i128 => i64::MIN,
            Some(gain) => gain as i64,
            None => 0,
        };
        Self {
            gain,
            block_gain: block_gain(gain),
            offset_q16: 0,
            least: i16::MIN,
            greatest: i16::MAX,
            quantity: PhantomData,
        }
    }

    /// The same channel with its zero at `offset` 65536ths of a code (to +-32768 codes).
    #[must_use]
    pub const fn with_offset_q16(self, offset: i32) -> Self {
        Self { offset_q16: offset, ..self }
    }

    /// The same channel with the codes at (and beyond) which the converter is at its end.
    #[must_use]
    pub const fn with_clip(self, least: i16, greatest: i16) -> Self {
        Self { least, greatest, ..self }
    }

    /// The codes at which the converter is at its end, least and greatest.
    #[must_use]
    pub const fn clip(&self) -> (i16, i16) {
        (self.least, self.greatest)
    }

    /// True where the code stands at either end of the converter: the true value may be beyond.
    #[must_use]
    pub const fn is_clipped(&self, code: i16) -> bool {
        code <= self.least || code >= self.greatest
    }

    /// Base units per code, times 2^24.
    #[must_use]
    pub const fn gain_q24(&self) -> i64 {
        self.gain
    }

    /// The zero of the channel, in whole codes, truncated downwards.
    #[must_use]
    pub const fn zero_code(&self) -> i32 {
        self.offset_q16 >> CODE_BITS
    }

    /// The zero of the channel, in 65536ths of a code.
    pub(super) const fn offset_q16(&self) -> i64 {
        self.offset_q16 as i64
    }

    /// The numbers alone.
    pub(super) const fn scaling(&self) -> Scaling {
        Scaling { gain: self.gain, block_gain: self.block_gain, offset_q16: self.offset_q16() }
    }
}

impl<Q: Quantity> Channel<Q> {
    /// The magnitude of one code, rounded to the base unit.
    #[must_use]
    pub fn lsb(&self) -> Q {
        Q::from_base(self.scaling().size(1 << CODE_BITS))
    }

    /// The value of a code.
    #[must_use]
    pub fn to_quantity(&self, code: i16) -> Q {
        let position = i64::from(code) << CODE_BITS;
        self.value(position.saturating_sub(self.offset_q16()))
    }

    /// The mean of `codes` codes that sum to `sum`; zero of none.
    ///
    /// For blocks: exact to one base unit as long as the sum stays within +-2^20.
    #[must_use]
    pub fn mean(&self, sum: i32, codes: u32) -> Q {
        Q::from_base(self.scaling().mean(sum, codes))
    }

    /// The value of a distance from the zero, in 65536ths of a code, with its sign.
    fn value(&self, distance_q16: i64) -> Q {
        Q::from_base(self.scaling().value(distance_q16))
    }
}

/// `gain / BLOCK_CODES`, where its product with the sum of a block of any codes fits 64 bits.
const fn block_gain(gain: i64) -> i64 {
    const CODES: i64 = BLOCK_CODES as i64;
    if gain.unsigned_abs() < 1 << 47 { gain.wrapping_div(CODES) } else { 0 }
}

/// The numbers of a channel without what they are of, so that one copy of the code serves all.
#[derive(Clone, Copy)]
pub(super) struct Scaling {
    gain: i64,
    block_gain: i64,
    pub(super) offset_q16: i64,
}

impl Scaling {
    #[inline(never)]
    fn mean(self, sum: i32, codes: u32) -> i64 {
        let zeros = i64::from(codes).wrapping_mul(self.offset_q16) >> CODE_BITS;
        let about = i64::from(sum).saturating_sub(zeros);
        if codes == BLOCK_CODES && self.block_gain != 0 {
            // The one length that comes in every millisecond is spared a long division.
            return self.block_gain.wrapping_mul(about) >> GAIN_BITS;
        }
        let product = (self.gain >> 8).saturating_mul(about);
        product.checked_div(i64::from(codes)).map_or(0, |mean| mean >> (GAIN_BITS - 8))
    }

    /// A distance from the zero in base units, half away from zero; a distance is at most 2^16 codes.
    pub(super) fn value(self, distance_q16: i64) -> i64 {
        let size = self.size(distance_q16.unsigned_abs());
        if (distance_q16 < 0) == (self.gain < 0) { size } else { size.wrapping_neg() }
    }

    /// The size of a distance, whatever the sign of the gain.
    pub(super) fn size(self, distance_q16: u64) -> i64 {
        scale(distance_q16, self.gain.unsigned_abs())
    }
}

/// `distance * gain / 2^40`, rounded to nearest: two short products for the two halves of the gain;
/// what is below 2^32 cannot carry.
#[inline(never)]
fn scale(distance_q16: u64, gain: u64) -> i64 {
    const BITS: u32 = GAIN_BITS + CODE_BITS - 32;
    let distance = u64::from(u32::try_from(distance_q16).unwrap_or(u32::MAX));
    let high = distance.wrapping_mul(gain >> 32);
    let low = distance.wrapping_mul(gain & 0xffff_ffff) >> 32;
    (high.wrapping_add(low).wrapping_add(1 << (BITS - 1)) >> BITS).cast_signed()
}

#[cfg(test)]
mod tests {
    use super::Channel;
    use crate::unit::{Current, Voltage};

    #[test]
    fn zero_and_both_ends_follow_gain_and_offset() {
        let channel = Channel::<Voltage>::new(Voltage::from_volts(1_500), 30_000);
        for (offset_codes, code, millivolts) in [
            (0, 0, 0),
            (0, 1, 50),
            (0, -1, -50),
            (0, i16::MAX, 1_638_350),
            (0, i16::MIN, -1_638_400),
            (20, 20, 0),
            (-20, 0, 1_000),
        ] {
            let moved = channel.with_offset_q16(offset_codes << 16);
            assert_eq!(moved.to_quantity(code), Voltage::from_millivolts(millivolts), "{code}");
        }
    }

    #[test]
    fn a_gain_below_one_unit_per_code_keeps_its_fraction() {
        let channel = Channel::<Current>::new(Current::from_picoamps(10), 30_000);
        assert_eq!(channel.lsb(), Current::ZERO);
        assert_eq!(channel.to_quantity(30_000), Current::from_picoamps(10));
        assert_eq!(channel.to_quantity(-15_000), Current::from_picoamps(-5));
    }

    #[test]
    fn a_gain_too_large_or_of_no_codes_is_held_not_wrapped() {
        assert_eq!(
            Channel::<Current>::from_ratio(i64::MAX, 1).to_quantity(2),
            Current::from_picoamps(1 << 40)
        );
        assert_eq!(Channel::<Current>::from_ratio(1, 0).to_quantity(5), Current::ZERO);
        assert_eq!(Channel::<Voltage>::from_ratio(1 << 30, 1).to_quantity(5), Voltage::MAX);
        assert_eq!(Channel::<Voltage>::from_ratio(1 << 30, 1).to_quantity(-5), Voltage::MIN);
    }

    #[test]
    fn codes_at_and_beyond_the_ends_count_as_clipped() {
        let channel =
            Channel::<Voltage>::new(Voltage::from_volts(1), 1_000).with_clip(-2_048, 2_047);
        assert_eq!(
            [-2_049, -2_048, -2_047, 0, 2_046, 2_047, 2_048].map(|code| channel.is_clipped(code)),
            [true, true, false, false, false, true, true]
        );
    }
}
