//! The fifteen states, in the order in which a measurement passes through them.

use super::Lock;
use super::reason::Reason;

/// What the instrument is doing. Payloads are bounded, so that every state can be listed.
///
/// Deliberately exhaustive: a new state must break every `match` that decides something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum State {
    /// Just powered up: everything off, looking whether a reset left the terminals charged.
    Boot,
    /// Nothing driven; the voltmeter works.
    Rest,
    /// As `Rest`, with a supply too low to drive.
    RestLow,
    /// Source off: proving the channels and the circuit.
    Prove {
        /// Trips so far in this press, 0 to 3.
        restarts: u8,
    },
    /// The set point climbs.
    Ramp {
        /// Trips so far in this press, 0 to 3.
        restarts: u8,
    },
    /// At voltage, measuring while the key is held.
    Drive {
        /// Trips so far in this press, 0 to 3.
        restarts: u8,
    },
    /// Source off for a moment inside a drive, to see whether the voltage is ours.
    Peek {
        /// Trips so far in this press, 0 to 3.
        restarts: u8,
    },
    /// A timed drive, ramp included; goes on without the key.
    TimedDrive {
        /// Trips so far in this press, 0 to 3.
        restarts: u8,
    },
    /// Continuity current flows.
    ContRun,
    /// Learning the lead resistance.
    Nulling,
    /// Continuity current dies away before the path opens.
    Unwind,
    /// The discharge resistor takes the stored charge out.
    Discharging {
        /// How often absorption brought the voltage back, 0 to 10.
        absorb: u8,
        /// What follows.
        then: Then,
    },
    /// Discharge open: does the voltage stay down?
    Settle {
        /// How often absorption brought the voltage back, 0 to 10.
        absorb: u8,
    },
    /// Something forbids a drive for now.
    Inhibited {
        /// What.
        why: Reason,
    },
    /// Something is broken: nothing is driven until a power cycle and a passed self-test.
    Locked {
        /// What.
        why: Lock,
    },
}

/// What follows a discharge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Then {
    /// The voltage is watched, then rest.
    Settle,
    /// Something is broken.
    Lock(Lock),
}

/// What a state may drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum DriveLevel {
    /// High voltage, at the insulation set.
    High,
    /// The continuity source.
    Low,
}

impl State {
    /// All names, in the order of [`State::index`].
    pub const WORDS: &'static [&'static str] = &[
        "boot",
        "rest",
        "rest_low",
        "prove",
        "ramp",
        "drive",
        "peek",
        "timed_drive",
        "cont_run",
        "nulling",
        "unwind",
        "discharging",
        "settle",
        "inhibited",
        "locked",
    ];

    /// The position of this state's name in [`State::WORDS`].
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::Boot => 0,
            Self::Rest => 1,
            Self::RestLow => 2,
            Self::Prove { .. } => 3,
            Self::Ramp { .. } => 4,
            Self::Drive { .. } => 5,
            Self::Peek { .. } => 6,
            Self::TimedDrive { .. } => 7,
            Self::ContRun => 8,
            Self::Nulling => 9,
            Self::Unwind => 10,
            Self::Discharging { .. } => 11,
            Self::Settle { .. } => 12,
            Self::Inhibited { .. } => 13,
            Self::Locked { .. } => 14,
        }
    }

    /// Its name.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.get(self.index()).copied().unwrap_or("")
    }

    /// What may be driven in this state.
    #[must_use]
    pub const fn drive(self) -> Option<DriveLevel> {
        match self {
            Self::Ramp { .. } | Self::Drive { .. } | Self::TimedDrive { .. } => {
                Some(DriveLevel::High)
            }
            Self::ContRun | Self::Nulling => Some(DriveLevel::Low),
            Self::Boot
            | Self::Rest
            | Self::RestLow
            | Self::Prove { .. }
            | Self::Peek { .. }
            | Self::Unwind
            | Self::Discharging { .. }
            | Self::Settle { .. }
            | Self::Inhibited { .. }
            | Self::Locked { .. } => None,
        }
    }
}
