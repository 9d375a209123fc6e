//! Products and quotients of 64 bits, once for all: on a 32-bit processor each costs a hundred
//! bytes where it is written out, and none of them is needed every millisecond.

/// Gives `value * by / over`, truncated; the product is held at the bounds. `None` over zero.
#[inline(never)]
pub(crate) const fn scaled(value: i64, by: i64, over: i64) -> Option<i64> {
    value.saturating_mul(by).checked_div(over)
}

#[cfg(test)]
mod tests {
    use super::scaled;

    #[test]
    fn quotients_are_truncated_and_products_held() {
        for (value, by, over, expected) in [
            (7, 3, 2, Some(10)),
            (-7, 3, 2, Some(-10)),
            (7, -3, -2, Some(10)),
            (1 << 62, 4, 2, Some(i64::MAX / 2)),
            (1 << 62, -4, 1, Some(i64::MIN)),
            (0, 5, 9, Some(0)),
            (5, 5, 0, None),
        ] {
            assert_eq!(scaled(value, by, over), expected, "{value} * {by} / {over}");
        }
    }
}
