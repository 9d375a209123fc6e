//! What the interlock is told: small finite data, numbers already judged.

use super::Lock;
use crate::detect::Circuit;
use crate::frame::Task;

/// Everything that a decision of the interlock depends on, besides its state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Input {
    /// A fresh press in this block.
    pub press: Press,
    /// Whether the drive is still asked for.
    pub asked: Asked,
    /// What the selector stands on.
    pub task: Task,
    /// Whether the press that led here was for a lead null.
    pub null: bool,
    /// Voltage from outside above the trip, and not one that was proved and is permitted.
    pub live: bool,
    /// What a proof or classification that ended in this block says.
    pub proof: Proof,
    /// Whether the gate closed by itself.
    pub trip: Trip,
    /// What is broken.
    pub fault: Option<Lock>,
    /// The supply is too low to drive.
    pub supply_low: bool,
    /// How the load takes its charge.
    pub store: Store,
    /// The state's time is over.
    pub due: bool,
    /// What the state waits for has come.
    pub ready: bool,
    /// The voltage does not behave as that of a passive circuit.
    pub stiff: bool,
    /// The terminals hold a decaying or slowly returning voltage above the safe level.
    pub charged: bool,
}

impl Input {
    /// Nothing pressed, nothing wrong, nothing due.
    pub const QUIET: Self = Self {
        press: Press::None,
        asked: Asked::Yes,
        task: Task::Watch,
        null: false,
        live: false,
        proof: Proof::Pending,
        trip: Trip::None,
        fault: None,
        supply_low: false,
        store: Store::Fits,
        due: false,
        ready: false,
        stiff: false,
        charged: false,
    };
}

/// A fresh press: seen released for 100 ms before, debounced.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Press {
    /// None in this block.
    #[default]
    None,
    /// The test key.
    Test,
    /// The null key.
    Null,
}

/// Whether a drive is still asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Asked {
    /// The key is held, or a held or timed drive runs.
    Yes,
    /// The key was let go.
    #[default]
    Released,
    /// A key ended a held or timed drive.
    AnyKey,
    /// The function was changed.
    Changed,
}

/// What a proof says when it ends.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Proof {
    /// No proof ended in this block.
    #[default]
    Pending,
    /// A voltage channel did not answer.
    Channels,
    /// Both channels work and this function may drive the circuit.
    Permitted,
    /// The circuit is of a class that this function may not drive.
    Refused(Circuit),
    /// As before, with the standing voltage against our own direction.
    Reversed,
}

/// Whether the gate closed by itself.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Trip {
    /// It did not.
    #[default]
    None,
    /// It did; the circuit has to be proved again.
    Load,
    /// It did, and the restarts so far looked like a breakdown of the circuit under test.
    Breakdown,
    /// It did, because our own source went too high.
    Own,
}

/// How the load takes its charge.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Store {
    /// Within what can be let down again.
    #[default]
    Fits,
    /// The voltage has stopped climbing below the set: the source is at its limit.
    Flat,
    /// More than can be let down again in time.
    TooMuch,
}
