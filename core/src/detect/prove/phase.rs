//! Where the sequence of a proof can stand, and how long it stays there.

use crate::profile::Profile;

/// Where the sequence stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Phase {
    Idle,
    Relays,
    Open,
    Pulse { on: bool },
    Load,
    Close,
    BiasOn,
    Bias,
    BiasOff,
    Topology,
}

/// Blocks of 1 ms that the bias takes to settle before it is read, and to die away afterwards.
const BIAS_SETTLE: u16 = 5;
/// Blocks over which it is read.
const BIAS_READ: u16 = 15;
/// Blocks of one pulse of the discharge resistor.
const PULSE_ON: u16 = 20;
/// Blocks between two pulses.
const PULSE_OFF: u16 = 40;
/// Blocks under load for an alternating voltage.
const LOAD: u16 = 60;

impl Phase {
    /// The last blocks under load, over which it is read: two cycles of 50 Hz, after the coupling
    /// has settled.
    pub(super) const LOAD_READ: u16 = 40;

    /// How many blocks it lasts.
    pub(super) const fn blocks(self, profile: &Profile) -> u16 {
        match self {
            Self::Idle => 0,
            Self::Relays | Self::Close => blocks(profile.front_end.relay.as_millis()),
            Self::Open | Self::Topology => blocks(profile.window.as_millis()),
            Self::Pulse { on: true } => PULSE_ON,
            Self::Pulse { on: false } => PULSE_OFF,
            Self::Load => LOAD,
            Self::BiasOn | Self::BiasOff => BIAS_SETTLE,
            Self::Bias => BIAS_READ,
        }
    }
}

const fn blocks(millis: u32) -> u16 {
    if millis > u16::MAX as u32 {
        u16::MAX
    } else {
        #[expect(clippy::cast_possible_truncation, reason = "bounded by the line above")]
        let blocks = millis as u16;
        blocks
    }
}
