//! What is to be known about a reading besides its number.

/// A set of flags.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "u32")
)]
pub struct Flags(u32);

macro_rules! flags {
    ($($(#[$doc:meta])* $name:ident = $bit:expr, $word:literal;)+) => {
        impl Flags {
            $($(#[$doc])* pub const $name: Self = Self(1 << $bit);)+
            /// Each flag with its word.
            pub const WORDS: &'static [(Self, &'static str)] = &[$((Self::$name, $word),)+];
            /// Every bit that has a name.
            const NAMED: u32 = $((1 << $bit))|+;
        }
    };
}

flags! {
    /// Not settled: charging, absorbing, or an inductance still taking current.
    UNSETTLED = 0, "unsettled";
    /// Still climbing by more than 5 % in 10 s although settled from window to window.
    RISING = 1, "rising";
    /// The source was at its limit, so the voltage stood below nominal.
    SOURCE_LIMITED = 2, "source_limited";
    /// Alternating voltage on top of the test voltage.
    DISTURBED = 3, "disturbed";
    /// A channel clipped, or stood still.
    CLIPPED = 4, "clipped";
    /// Less current than the function promises.
    LOW_CURRENT = 5, "low_current";
    /// The two directions of current disagree: a junction, a battery, an oxide.
    ASYMMETRIC = 6, "asymmetric";
    /// The lead null is larger than the reading: wrong leads.
    NULL_LARGER = 7, "null_larger";
    /// Within its doubt of the lead null: shown as zero.
    AT_NULL = 8, "at_null";
    /// Nothing shows that the leads reached the circuit.
    PATH_UNPROVED = 9, "path_unproved";
    /// A standing voltage was corrected for; the reading holds its source in parallel.
    STANDING = 10, "standing";
    /// The voltage broke down under test.
    BREAKDOWN = 11, "breakdown";
    /// Not the present state of the terminals any more.
    FROZEN = 12, "frozen";
    /// Measured in one direction only, because the load is inductive.
    ONE_WAY = 13, "one_way";
    /// The drive was cut short.
    ABORTED = 14, "aborted";
    /// The standing voltage was not the same after the test as before it.
    STANDING_MOVED = 15, "standing_moved";
    /// No valid calibration constants: absent, or damaged.
    UNCALIBRATED = 16, "uncalibrated";
    /// The calibration is past its due date, or the date is not known.
    CALIBRATION_DUE = 17, "calibration_due";
    /// The voltage took longer than 3 s to come up, so that times counted from there say little.
    SLOW_RAMP = 18, "slow_ramp";
    /// The resistance fell from one step of voltage to the next.
    STEP_FALL = 19, "step_fall";
    /// Two ways to the same capacitance do not agree.
    DISAGREEING = 20, "disagreeing";
    /// Corrected to another temperature by a rule; the raw value is kept beside it.
    TEMPERATURE = 21, "temperature_corrected";
    /// The source of a standing voltage is not ten times the limit: it lies across the insulation and
    /// would hide it.
    SOURCE_BESIDE = 22, "source_beside";
}

impl Flags {
    /// None.
    pub const NONE: Self = Self(0);
    /// Any of these, and the reading is never a pass.
    pub const SPOILING: Self = Self(
        Self::UNSETTLED.0
            | Self::RISING.0
            | Self::SOURCE_LIMITED.0
            | Self::DISTURBED.0
            | Self::CLIPPED.0
            | Self::LOW_CURRENT.0
            | Self::ASYMMETRIC.0
            | Self::NULL_LARGER.0
            | Self::PATH_UNPROVED.0
            | Self::BREAKDOWN.0
            | Self::ABORTED.0
            | Self::STANDING_MOVED.0
            | Self::UNCALIBRATED.0
            | Self::STEP_FALL.0
            | Self::DISAGREEING.0
            | Self::SOURCE_BESIDE.0,
    );
    /// Any of these can make an insulation reading look worse than the circuit is, so a fail cannot
    /// be decided on it; the other spoiling ones only make it look better.
    pub const MAY_LOOK_WORSE: Self = Self(
        Self::UNSETTLED.0
            | Self::RISING.0
            | Self::DISTURBED.0
            | Self::CLIPPED.0
            | Self::ASYMMETRIC.0
            | Self::NULL_LARGER.0
            | Self::STANDING_MOVED.0
            | Self::UNCALIBRATED.0
            | Self::DISAGREEING.0
            | Self::SOURCE_BESIDE.0,
    );

    /// Both sets together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// `self` and, if `when`, `other` too.
    #[must_use]
    pub const fn with_if(self, other: Self, when: bool) -> Self {
        if when { self.with(other) } else { self }
    }

    /// `self` less what is in `other`.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Whether any flag of `other` is set.
    #[must_use]
    pub const fn any(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// The set as bits, in the order of [`Flags::WORDS`].
    #[must_use]
    pub const fn bits(self) -> u32 {
        self.0
    }

    /// The set that such bits stand for; `None` if a bit among them has no name.
    #[must_use]
    pub const fn from_bits(bits: u32) -> Option<Self> {
        if bits & !Self::NAMED == 0 { Some(Self(bits)) } else { None }
    }
}

#[cfg(feature = "serde")]
impl TryFrom<u32> for Flags {
    type Error = &'static str;

    fn try_from(bits: u32) -> Result<Self, Self::Error> {
        Self::from_bits(bits).ok_or("a flag without a name is set")
    }
}
