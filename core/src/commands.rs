//! What comes out: commands that are safe where they say nothing, and the view.
//!
//! ```compile_fail
//! // A board cannot write "on": the fields are private and the only constant is SAFE.
//! let forged = ohmwarden_core::Commands { ..ohmwarden_core::Commands::SAFE };
//! ```

use crate::gate::{Permit, Polarity};
use crate::interlock::{Reason, State};
use crate::kept::Kept;
use crate::profile::Shunt;
use crate::tone::Tone;
use crate::view::View;

/// Everything that the main loop is to do in this block. Whatever it does not say is safe.
#[derive(Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[must_use]
pub struct Commands {
    pub(crate) permit: Option<Permit>,
    pub(crate) supply_token: bool,
    pub(crate) discharge: Discharge,
    pub(crate) continuity: Option<Polarity>,
    pub(crate) relay: Relay,
    pub(crate) bias: Bias,
    pub(crate) shunt: Shunt,
    pub(crate) tone: Tone,
    pub(crate) view: View,
    pub(crate) keep_power: bool,
    pub(crate) event: Option<Event>,
    pub(crate) committed: bool,
    pub(crate) kept: Kept,
}

/// The discharge resistor.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Discharge {
    /// Not across the terminals.
    #[default]
    Open,
    /// Across the terminals.
    Closed,
}

/// The output relay, which joins the high-voltage source and its output capacitor to the terminals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Relay {
    /// Apart.
    #[default]
    Open,
    /// Joined.
    Closed,
}

/// The proving bias: plus on the first voltage channel, minus on the second; the load sees none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Bias {
    /// Off.
    #[default]
    Off,
    /// On.
    On,
}

/// A change of state, with its reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Event {
    /// The state before.
    pub from: State,
    /// The state from now on.
    pub to: State,
    /// Why, where there is something to say.
    pub reason: Option<Reason>,
}

impl Commands {
    /// Everything off.
    pub const SAFE: Self = Self {
        permit: None,
        supply_token: false,
        discharge: Discharge::Open,
        continuity: None,
        relay: Relay::Open,
        bias: Bias::Off,
        shunt: Shunt::Milliamps2,
        tone: Tone::Silent,
        view: View::BLANK,
        keep_power: false,
        event: None,
        committed: false,
        kept: Kept::NOTHING,
    };

    /// Takes the permit, if there is one: for [`Gate::follow`](crate::gate::Gate::follow), in every
    /// block.
    pub const fn take_permit(&mut self) -> Option<Permit> {
        self.permit.take()
    }

    /// The epoch of the permit, if there is one: for watchers of the rules.
    #[must_use]
    pub const fn permit_epoch(&self) -> Option<u32> {
        match &self.permit {
            Some(permit) => Some(permit.epoch),
            None => None,
        }
    }

    /// The level of the supply enable. It toggles in every block in which the high-voltage supply
    /// may run; hardware drops the supply 20 ms after it stops.
    #[must_use]
    pub const fn supply_token(&self) -> bool {
        self.supply_token
    }

    /// Where the discharge resistor goes.
    #[must_use]
    pub const fn discharge(&self) -> Discharge {
        self.discharge
    }

    /// The direction of the continuity path, if it is to be made.
    #[must_use]
    pub const fn continuity(&self) -> Option<Polarity> {
        self.continuity
    }

    /// Where the output relay goes.
    #[must_use]
    pub const fn output_relay(&self) -> Relay {
        self.relay
    }

    /// Whether the proving bias is on.
    #[must_use]
    pub const fn bias(&self) -> Bias {
        self.bias
    }

    /// The range of the measuring shunt.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        self.shunt
    }

    /// What is to be heard.
    #[must_use]
    pub const fn tone(&self) -> Tone {
        self.tone
    }

    /// What is to be shown.
    #[must_use]
    pub const fn view(&self) -> &View {
        &self.view
    }

    /// Whether power-off must be refused.
    #[must_use]
    pub const fn keep_power(&self) -> bool {
        self.keep_power
    }

    /// The change of state in this block, if there was one.
    #[must_use]
    pub const fn event(&self) -> Option<&Event> {
        self.event.as_ref()
    }

    /// Whether a reading was committed in this block: make its record now, by
    /// [`Instrument::record`](crate::Instrument::record).
    #[must_use]
    pub const fn committed(&self) -> bool {
        self.committed
    }

    /// What must survive a power cut; store it when it differs from what was stored.
    #[must_use]
    pub const fn kept(&self) -> Kept {
        self.kept
    }
}
