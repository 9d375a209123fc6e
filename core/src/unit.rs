//! Quantities as types: what a number measures is in its type, its unit in the name of the method.
//!
//! Integers, so that the safety path holds no float and the same bits come out everywhere. All
//! arithmetic saturates: an overflow ends at the bound, never wraps and never panics.

/// Writes one integer quantity: storage, bounds, constructors, accessors, saturating arithmetic.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident($int:ty) { $($(#[$udoc:meta])* $from:ident / $as:ident = $scale:expr;)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        #[repr(Rust, packed(4))]
        pub struct $name($int);

        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);
            /// The greatest value that can be held; larger ones saturate here.
            pub const MAX: Self = Self(<$int>::MAX);
            /// The least value that can be held; smaller ones saturate here.
            pub const MIN: Self = Self(<$int>::MIN);
            $(
                $(#[$udoc])*
                #[must_use]
                pub const fn $from(value: $int) -> Self { Self(value.saturating_mul($scale)) }
                /// The value in this unit, truncated towards zero.
                #[must_use]
                pub const fn $as(self) -> $int {
                    match self.0.checked_div($scale) { Some(v) => v, None => 0 }
                }
            )+
            /// The sum, held at the bounds.
            #[must_use]
            pub const fn saturating_add(self, other: Self) -> Self { Self(self.0.saturating_add(other.0)) }
            /// The difference, held at the bounds.
            #[must_use]
            pub const fn saturating_sub(self, other: Self) -> Self { Self(self.0.saturating_sub(other.0)) }
            /// The value times a whole number, held at the bounds.
            #[must_use]
            pub const fn saturating_mul(self, by: $int) -> Self { Self(self.0.saturating_mul(by)) }
            /// The value divided by a whole number, truncated; `by` of zero gives zero.
            #[must_use]
            pub const fn div(self, by: $int) -> Self {
                match self.0.checked_div(by) { Some(v) => Self(v), None => Self(0) }
            }
            /// True where `self` is less than `other`; usable in `const`.
            #[must_use]
            pub const fn is_below(self, other: Self) -> bool { self.0 < other.0 }
            /// The smaller of the two; usable in `const`.
            #[must_use]
            pub const fn least(self, other: Self) -> Self { if self.0 < other.0 { self } else { other } }
            /// The larger of the two; usable in `const`.
            #[must_use]
            pub const fn greatest(self, other: Self) -> Self { if self.0 > other.0 { self } else { other } }
        }
    };
}

quantity! {
    /// Electric potential difference, in steps of 1 uV, to about +-2147 V.
    Voltage(i32) {
        /// From whole microvolts.
        from_microvolts / as_microvolts = 1;
        /// From whole millivolts.
        from_millivolts / as_millivolts = 1_000;
        /// From whole volts.
        from_volts / as_volts = 1_000_000;
    }
}

quantity! {
    /// Electric current, in steps of 1 pA, so that 200 Gohm at 1 kV still has four digits.
    Current(i64) {
        /// From whole picoamperes.
        from_picoamps / as_picoamps = 1;
        /// From whole nanoamperes.
        from_nanoamps / as_nanoamps = 1_000;
        /// From whole microamperes.
        from_microamps / as_microamps = 1_000_000;
        /// From whole milliamperes.
        from_milliamps / as_milliamps = 1_000_000_000;
    }
}

quantity! {
    /// Electric resistance, in steps of 1 mohm.
    Resistance(u64) {
        /// From whole milliohms.
        from_milliohms / as_milliohms = 1;
        /// From whole ohms.
        from_ohms / as_ohms = 1_000;
        /// From whole kilohms.
        from_kilohms / as_kilohms = 1_000_000;
        /// From whole megohms.
        from_megohms / as_megohms = 1_000_000_000;
    }
}

quantity! {
    /// Electric capacitance, in steps of 1 pF, to about 4.3 mF.
    Capacitance(u32) {
        /// From whole picofarads.
        from_picofarads / as_picofarads = 1;
        /// From whole nanofarads.
        from_nanofarads / as_nanofarads = 1_000;
        /// From whole microfarads.
        from_microfarads / as_microfarads = 1_000_000;
    }
}

quantity! {
    /// Frequency, in steps of 1 mHz.
    Frequency(u32) {
        /// From whole millihertz.
        from_millihertz / as_millihertz = 1;
        /// From whole hertz.
        from_hertz / as_hertz = 1_000;
    }
}

quantity! {
    /// A length of time, in steps of 1 us, to about 71 minutes.
    Duration(u32) {
        /// From whole microseconds.
        from_micros / as_micros = 1;
        /// From whole milliseconds.
        from_millis / as_millis = 1_000;
        /// From whole seconds.
        from_secs / as_secs = 1_000_000;
    }
}

quantity! {
    /// Energy, in steps of 1 uJ.
    Energy(u32) {
        /// From whole microjoules.
        from_microjoules / as_microjoules = 1;
        /// From whole millijoules.
        from_millijoules / as_millijoules = 1_000;
    }
}

quantity! {
    /// Electric charge, in steps of 1 pC.
    Charge(i64) {
        /// From whole picocoulombs.
        from_picocoulombs / as_picocoulombs = 1;
        /// From whole microcoulombs.
        from_microcoulombs / as_microcoulombs = 1_000_000;
    }
}

quantity! {
    /// Temperature on the Celsius scale, in steps of 1 mK.
    Temperature(i32) {
        /// From thousandths of a degree Celsius.
        from_millicelsius / as_millicelsius = 1;
        /// From whole degrees Celsius.
        from_celsius / as_celsius = 1_000;
    }
}

quantity! {
    /// A length, in steps of 1 mm, to about 4 295 km.
    Length(u32) {
        /// From whole millimetres.
        from_millimetres / as_millimetres = 1;
        /// From whole metres.
        from_metres / as_metres = 1_000;
    }
}

impl Voltage {
    /// The magnitude.
    #[must_use]
    pub const fn abs(self) -> Self {
        // Shorter on a small processor than the library's saturating magnitude, and the same.
        if self.0 < 0 { Self(0_i32.saturating_sub(self.0)) } else { self }
    }
}

impl Current {
    /// The magnitude.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }
}
