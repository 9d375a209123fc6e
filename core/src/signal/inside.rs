//! A range of codes, asked after in one comparison.

/// The codes from `first` up to, but not with, `end`; none where `end` is not above.
///
/// Few codes of a signal are remarkable, so the loop over samples runs until it meets one that is
/// not inside such a range, and is left for it: kept in the loop, what follows would cost every
/// sample twenty instructions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Inside {
    first: i32,
    end: i32,
}

impl Inside {
    /// Every code.
    pub(super) const ALL: Self = Self { first: i16::MIN as i32, end: 1 << 15 };

    /// The codes between two others, without those.
    pub(super) const fn between(below: i16, above: i16) -> Self {
        Self { first: (below as i32).wrapping_add(1), end: above as i32 }
    }

    /// The codes up to and with `greatest`.
    pub(super) const fn up_to(greatest: i16) -> Self {
        Self { end: (greatest as i32).wrapping_add(1), ..Self::ALL }
    }

    /// The codes from `least` on.
    pub(super) const fn from(least: i16) -> Self {
        Self { first: least as i32, ..Self::ALL }
    }

    /// The codes that are inside both.
    pub(super) fn and(self, other: Self) -> Self {
        Self { first: self.first.max(other.first), end: self.end.min(other.end) }
    }

    /// True where a code is inside.
    pub(super) const fn holds(self, code: i16) -> bool {
        self.first <= code as i32 && (code as i32) < self.end
    }

    /// The same question prepared for a loop: one comparison.
    pub(super) fn test(self) -> impl Fn(i16) -> bool {
        let width = self.end.max(self.first).wrapping_sub(self.first).cast_unsigned();
        move |code| i32::from(code).wrapping_sub(self.first).cast_unsigned() < width
    }
}

#[cfg(test)]
mod tests {
    use super::Inside;

    #[test]
    fn ranges_hold_their_ends_as_their_names_say() {
        for code in i16::MIN..=i16::MAX {
            assert!(Inside::ALL.holds(code));
            for end in [i16::MIN, -1, 0, 5, i16::MAX] {
                assert_eq!(Inside::up_to(end).holds(code), code <= end);
                assert_eq!(Inside::from(end).holds(code), code >= end);
                assert_eq!(Inside::between(-2, end).holds(code), -2 < code && code < end);
                let both = Inside::from(3).and(Inside::up_to(end));
                assert_eq!(both.holds(code), 3 <= code && code <= end);
                assert_eq!(both.test()(code), both.holds(code));
            }
        }
    }

    #[test]
    fn nothing_is_between_the_wrong_way_round() {
        let none = Inside::between(i16::MAX, i16::MIN);
        let test = none.test();
        assert!((i16::MIN..=i16::MAX).all(|code| !none.holds(code) && !test(code)));
    }
}
