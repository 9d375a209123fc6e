//! What is to be heard.

/// A pattern of sound; how it is made is the board's.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Tone {
    /// Nothing.
    #[default]
    Silent,
    /// Slow pips: our own test voltage is, or may still be, on the terminals.
    Driving,
    /// A steady tone: the path is below the beeper threshold.
    Joined,
    /// Fast alternation: voltage from outside is on the terminals.
    Live,
}

impl Tone {
    /// All names, in the order of the variants.
    pub const WORDS: &'static [&'static str] = &["silent", "driving", "joined", "live"];

    /// The position of this name in [`Tone::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Silent => 0,
            Self::Driving => 1,
            Self::Joined => 2,
            Self::Live => 3,
        }
    }

    /// On and off times in milliseconds, repeated: both zero for silence, no off time for a steady
    /// tone.
    #[must_use]
    pub const fn pattern_ms(self) -> (u16, u16) {
        match self {
            Self::Silent => (0, 0),
            Self::Driving => (60, 940),
            Self::Joined => (u16::MAX, 0),
            Self::Live => (120, 120),
        }
    }
}
