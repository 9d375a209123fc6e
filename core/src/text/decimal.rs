//! Rounds an `f32` to a decimal place, exactly, in integers.
//!
//! An `f32` stands for every decimal number nearer to it than to its neighbours. Rounding looks at
//! that whole interval: half-way numbers that were written in decimal round as written.

/// Least and greatest place that a display shows.
const LEAST_PLACE: i32 = -15;
const GREATEST_PLACE: i32 = 11;
/// The place of the smallest and of the largest prefix.
const LEAST_PREFIX: i32 = -12;
const GREATEST_PREFIX: i32 = 9;

/// 10^-15 to 10^11, the nearest `f32` of each.
const POWERS: [f32; 27] = [
    1e-15, 1e-14, 1e-13, 1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1,
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
];

/// Which way a magnitude is rounded.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Rounding {
    Down,
    Nearest,
    Up,
}

/// A rounded number: `count * 10^place`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    pub(super) negative: bool,
    pub(super) count: u32,
    pub(super) place: i32,
}

impl Decimal {
    /// The largest bound that a display can state: 999 G.
    pub(super) const LARGEST: Self = Self { negative: false, count: 999, place: GREATEST_PREFIX };

    /// One unit of a place of 0 or above, written out: 10^4 as 10 thousand.
    pub(super) fn one_of(place: i32) -> Self {
        let zeros = place.rem_euclid(3);
        let count = 10_u32.saturating_pow(zeros.unsigned_abs());
        Self { negative: false, count, place: place.saturating_sub(zeros) }
    }

    /// Rounds to `place` (`None`: as fine as fits) and at most `digits` digits.
    ///
    /// `None` where the value is not a number or 10^12 and more.
    pub(super) fn rounded(
        value: f32,
        place: Option<i32>,
        digits: u32,
        way: Rounding,
    ) -> Option<Self> {
        if !value.is_finite() {
            return None;
        }
        let size = value.abs();
        let spare = i32::try_from(digits).unwrap_or(0).saturating_sub(1);
        let finest = match self::place(size) {
            Some(leading) => leading.saturating_sub(spare).max(LEAST_PREFIX.saturating_sub(spare)),
            // Less than any place, or zero: only the place asked for says how to write it.
            None if size > 0.0 => LEAST_PLACE,
            None => place.unwrap_or(0_i32.saturating_sub(spare)),
        };
        let mut place = place.unwrap_or(finest).max(finest).min(GREATEST_PREFIX);
        let limit = 10_u64.saturating_pow(digits);
        let mut count = count(size, place, way);
        if count >= limit {
            place = place.saturating_add(1);
            count = self::count(size, place, way);
        }
        let rounded = Self {
            negative: value < 0.0,
            count: u32::try_from(count).ok().filter(|_| count < limit)?,
            place,
        };
        (rounded.leading() < GREATEST_PREFIX.saturating_add(3)).then_some(rounded)
    }

    /// Chooses the prefix: its number (0 for 10^-12) and how many digits stand behind the point.
    ///
    /// The largest that leaves a digit before the point, unless zeros would have to be made up.
    pub(super) fn prefix(self) -> (usize, u32) {
        let least = if self.count == 0 {
            // At least one decimal, so that zero shows how well it is known.
            self.place.saturating_add(1)
        } else {
            self.place
        };
        let floor = self.leading().div_euclid(3).saturating_mul(3);
        let ceiling = least.saturating_add(2).div_euclid(3).saturating_mul(3);
        let power = floor.max(ceiling).clamp(LEAST_PREFIX, GREATEST_PREFIX);
        let step = power.saturating_sub(LEAST_PREFIX).div_euclid(3);
        let decimals = power.saturating_sub(self.place);
        (usize::try_from(step).unwrap_or(0), u32::try_from(decimals).unwrap_or(0))
    }

    /// The place of the first digit; of a zero, its only place.
    fn leading(self) -> i32 {
        let behind = self.count.checked_ilog10().unwrap_or(0);
        self.place.saturating_add(i32::try_from(behind).unwrap_or(0))
    }
}

/// The place of the first digit of a positive number, held at 11; `None` below 10^-15.
pub(super) fn place(value: f32) -> Option<i32> {
    let found = POWERS.iter().rposition(|&power| value >= power)?;
    Some(i32::try_from(found).ok()?.saturating_add(LEAST_PLACE).min(GREATEST_PLACE))
}

/// 10 to the power of a place.
pub(super) fn power(place: i32) -> Option<f32> {
    POWERS.get(usize::try_from(place.checked_sub(LEAST_PLACE)?).ok()?).copied()
}

/// A magnitude counted in units of its place.
fn count(size: f32, place: i32, way: Rounding) -> u64 {
    let (mantissa, exponent) = parts(size);
    let power = |wanted: bool| tens(if wanted { place.unsigned_abs() } else { 0 });
    let (finer, coarser) = (power(place < 0), power(place > 0));
    // The edge counts halves of a mantissa step, so this is twice the value: one bit for rounding.
    let edge = Edge { upper: way != Rounding::Up, open: mantissa & 1 == 1 };
    let halves = if mantissa == 0 { 0 } else { edge.scaled(mantissa, finer, exponent) };
    let step = coarser.saturating_mul(2);
    let added = match way {
        Rounding::Down => 0,
        Rounding::Nearest => coarser,
        Rounding::Up => step.saturating_sub(1),
    };
    halves.saturating_add(added).checked_div(step).unwrap_or(0)
}

/// 10 to a power of at most 18.
fn tens(power: u32) -> u64 {
    (0..power).fold(1, |product: u64, _| product.saturating_mul(10))
}

/// An edge of the interval that an `f32` stands for; an odd mantissa does not own its edges.
#[derive(Clone, Copy)]
struct Edge {
    upper: bool,
    open: bool,
}

impl Edge {
    /// The last whole number inside the edge of `mantissa`, as `(2 m +- 1) * finer * 2^bits`.
    fn scaled(self, mantissa: u32, finer: u64, bits: i32) -> u64 {
        let doubled = u64::from(mantissa) << 1;
        let edge = if self.upper { doubled.saturating_add(1) } else { doubled.saturating_sub(1) };
        // At most 2^25 times 10^18, which is below 2^85. Bit by bit: it is done once a display, and
        // shifts of 128 bits by any length are long.
        let mut whole = u128::from(edge).wrapping_mul(u128::from(finer));
        let mut lost = false;
        for _ in 0..bits.unsigned_abs() {
            if bits < 0 {
                lost |= whole & 1 == 1;
                whole >>= 1;
            } else if whole <= u128::from(u64::MAX) {
                whole <<= 1;
            }
        }
        let whole = u64::try_from(whole).unwrap_or(u64::MAX);
        if self.upper {
            whole.saturating_sub(u64::from(self.open && !lost))
        } else {
            whole.saturating_add(u64::from(self.open || lost))
        }
    }
}

/// The mantissa and the binary exponent of a finite, positive number or zero.
fn parts(size: f32) -> (u32, i32) {
    const MANTISSA_BITS: u32 = 23;
    let bits = size.to_bits();
    let fraction = bits & ((1 << MANTISSA_BITS) - 1);
    match bits >> MANTISSA_BITS {
        0 => (fraction, -149),
        biased => {
            let exponent = i32::try_from(biased).unwrap_or(0).saturating_sub(150);
            (fraction | (1 << MANTISSA_BITS), exponent)
        }
    }
}
