//! Classes of circuit, and the numbers behind a class.

use crate::unit::{Frequency, Resistance, Voltage};

/// What the terminals are joined to, as far as it can be proved with the source off.
///
/// Tags only; the numbers are in [`Evidence`]. Deliberately exhaustive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Circuit {
    /// Quiet, open and in the drive topology.
    Dead,
    /// A store that discharges as a passive circuit does.
    Charged,
    /// A weak direct source, within what the profile permits.
    Standing,
    /// Alternating voltage that collapses under a light load.
    Induced,
    /// Alternating voltage.
    LiveAc,
    /// Direct voltage that does not decay, or comes back.
    LiveDc,
    /// Both.
    LiveMixed,
    /// Pulses between which it looks quiet.
    LivePulsed,
    /// It does not discharge: a source, or a store too large to tell from one.
    StoredOrLive,
    /// A small voltage of unknown kind, or nothing consistent.
    Unproven,
}

impl Circuit {
    /// All names, in the order of the variants.
    pub const WORDS: &'static [&'static str] = &[
        "dead",
        "charged",
        "standing",
        "induced",
        "live_ac",
        "live_dc",
        "live_mixed",
        "live_pulsed",
        "stored_or_live",
        "unproven",
    ];

    /// All classes, in the order of the variants.
    pub const ALL: [Self; 10] = [
        Self::Dead,
        Self::Charged,
        Self::Standing,
        Self::Induced,
        Self::LiveAc,
        Self::LiveDc,
        Self::LiveMixed,
        Self::LivePulsed,
        Self::StoredOrLive,
        Self::Unproven,
    ];

    /// The position of this class in [`Circuit::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Dead => 0,
            Self::Charged => 1,
            Self::Standing => 2,
            Self::Induced => 3,
            Self::LiveAc => 4,
            Self::LiveDc => 5,
            Self::LiveMixed => 6,
            Self::LivePulsed => 7,
            Self::StoredOrLive => 8,
            Self::Unproven => 9,
        }
    }

    /// Its name.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.get(self.index()).copied().unwrap_or("")
    }
}

impl Evidence {
    /// Nothing seen.
    pub const NONE: Self = Self {
        dc: Voltage::ZERO,
        ac: Voltage::ZERO,
        peak: Voltage::ZERO,
        hz: None,
        loaded: None,
        source: None,
    };
}

/// The numbers that a class was decided on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Evidence {
    /// Direct part with the terminals open, or in the drive topology once that was seen.
    pub dc: Voltage,
    /// Alternating part there, true RMS.
    pub ac: Voltage,
    /// Largest excursion from the direct part there.
    pub peak: Voltage,
    /// Its frequency, where the voltmeter told one.
    pub hz: Option<Frequency>,
    /// What was left of it under the discharge resistor: direct part, or RMS of the alternating one.
    pub loaded: Option<Voltage>,
    /// Resistance of the source behind it, where open and loaded told one.
    pub source: Option<Resistance>,
}
