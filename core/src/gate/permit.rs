//! Permission to drive: made by the interlock alone, used up by arming, void after any closing.

use crate::unit::Voltage;

/// Permission to drive once, minted by the interlock from what it allowed and what was proved.
///
/// It cannot be made, copied or kept by anyone else:
///
/// ```compile_fail
/// use ohmwarden_core::{gate::{Kind, Permit}, unit::Voltage};
/// let forged = Permit {
///     epoch: 0,
///     kind: Kind::Insulation { widen: Voltage::ZERO },
///     set: Voltage::from_volts(500),
///     v_start: Voltage::ZERO,
/// };
/// ```
///
/// ```compile_fail
/// fn twice(permit: ohmwarden_core::gate::Permit) -> [ohmwarden_core::gate::Permit; 2] {
///     [permit.clone(), permit]
/// }
/// ```
#[derive(Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[must_use]
pub struct Permit {
    pub(crate) epoch: u32,
    pub(crate) kind: Kind,
    pub(crate) set: Voltage,
    pub(crate) v_start: Voltage,
}

/// Which of its two rules the gate applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Kind {
    /// High voltage: ramp, residual, reversal, over-voltage.
    Insulation {
        /// The measured peak of a pick-up that this profile permits, by which two of the rules
        /// widen; zero otherwise.
        widen: Voltage,
    },
    /// Low voltage, current limited.
    Continuity {
        /// The direction of the current.
        polarity: Polarity,
    },
}

/// Direction of the continuity current.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Polarity {
    /// Out of the positive lead.
    #[default]
    Forward,
    /// Into the positive lead.
    Reversed,
}

impl Polarity {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Forward => Self::Reversed,
            Self::Reversed => Self::Forward,
        }
    }
}
