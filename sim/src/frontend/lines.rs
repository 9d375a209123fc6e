//! What goes in: the lines by which core commands the electronics.

use ohmwarden_core::commands::{Bias, Commands, Discharge, Relay};
use ohmwarden_core::gate::{GateOut, Polarity};
use ohmwarden_core::profile::Shunt;

/// What core commands; the default is all safe.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lines {
    /// What the gate answered.
    pub gate: GateOut,
    /// Level of the supply enable; the supply lives on its changes.
    pub token: bool,
    /// The discharge resistor is wanted.
    pub discharge: bool,
    /// The continuity path is wanted, in this direction.
    pub continuity: Option<Polarity>,
    /// The output relay is wanted.
    pub relay: bool,
    /// The proving bias is wanted.
    pub bias: bool,
    /// Range of the current shunt.
    pub shunt: Shunt,
}

impl Lines {
    /// Takes over what core commands besides the gate, whose answer comes with every sample.
    pub fn obey(&mut self, commands: &Commands) {
        self.token = commands.supply_token();
        self.discharge = commands.discharge() == Discharge::Closed;
        self.continuity = commands.continuity();
        self.relay = commands.output_relay() == Relay::Closed;
        self.bias = commands.bias() == Bias::On;
        self.shunt = commands.shunt();
    }
}
