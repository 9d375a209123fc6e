//! What happens in a scenario, and when.

use alloc::string::String;
use alloc::vec::Vec;

use ohmwarden_core::frame::TimedTest;

use super::fault::FaultCall;
use super::key::Key;
use super::store::CUT_POWER;

/// One event.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// When, seconds from the start of the run.
    pub s: f64,
    /// A name for the moment, for expectations and sweeps.
    pub label: Option<String>,
    /// What happens.
    pub action: Action,
}

/// What happens at an event.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// The battery has this voltage from now on.
    BatteryVolts(f64),
    /// A capacitor is put to a voltage.
    Charge {
        /// The capacitor.
        part: String,
        /// Its voltage, first node against second.
        volts: f64,
    },
    /// A fault ends.
    Clear(String),
    /// A switch closes.
    Close(String),
    /// The power goes so many operations of the board's flash later, and comes back at once.
    CutPowerInWrite(f64),
    /// A fault begins.
    Fault(FaultCall),
    /// Something happens to the leads.
    Lead(Lead),
    /// A switch opens.
    Open(String),
    /// A full store may overwrite its oldest records from now on, or not.
    Overwrite(bool),
    /// A button goes down.
    Press(Button),
    /// A button comes up.
    Release(Button),
    /// The processor is reset.
    Reset,
    /// The selector moves.
    Select(Function),
    /// Values of a part change.
    Set {
        /// The part.
        part: String,
        /// Its new values by key, in the order of the text.
        values: Vec<(String, f64)>,
    },
    /// A button goes down and comes up [`TAP_SECONDS`] later.
    Tap(Button),
}

/// How long a `tap` holds the button, seconds: longer than any debouncing, shorter than a hold.
pub const TAP_SECONDS: f64 = 0.15;

/// A button of the instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Button {
    /// Keeps a drive on without the hand.
    Hold,
    /// Starts a lead null.
    Null,
    /// Starts a drive.
    Test,
}

impl Button {
    /// All buttons, in the order of [`Button::WORDS`].
    pub const ALL: [Self; 3] = [Self::Test, Self::Null, Self::Hold];
    /// Their words in the text.
    pub const WORDS: [&'static str; 3] = ["test", "null", "hold"];

    /// Gives its word in the text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Test => "test",
            Self::Null => "null",
            Self::Hold => "hold",
        }
    }
}

/// What the selector asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Function {
    /// Continuity at a current.
    Continuity {
        /// Amperes.
        amps: f64,
    },
    /// Insulation at a voltage.
    Insulation {
        /// Volts.
        volts: f64,
        /// How the test runs.
        timed: Option<TimedTest>,
    },
    /// Off.
    Off,
    /// Resistance.
    Resistance,
    /// Volts.
    Volts,
}

impl Function {
    /// The words in the text.
    pub const WORDS: [&'static str; 5] = ["off", "volts", "continuity", "resistance", "insulation"];

    /// Gives its word in the text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Volts => "volts",
            Self::Continuity { .. } => "continuity",
            Self::Resistance => "resistance",
            Self::Insulation { .. } => "insulation",
        }
    }

    /// Gives the place of a number by its key.
    pub(super) fn number_mut(&mut self, key: &str) -> Option<&mut f64> {
        match self {
            Self::Insulation { volts, .. } if key == "volts" => Some(volts),
            Self::Continuity { amps } if key == "amps" => Some(amps),
            _ => None,
        }
    }
}

/// How an insulation test runs: for as long as the button is held, or by the clock.
pub const TIMED_WORDS: [&str; 6] =
    ["no", "absorption_ratio", "dielectric_discharge", "plain", "polarization_index", "steps"];

/// Gives the timed test of a place in [`TIMED_WORDS`].
pub(super) fn timed_at(place: usize) -> Option<TimedTest> {
    TimedTest::ALL.get(place.checked_sub(1)?).copied()
}

/// Gives the word of how an insulation test runs.
pub(super) fn timed_word(timed: Option<TimedTest>) -> &'static str {
    timed.map_or("no", TimedTest::word)
}

/// What happens to the leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lead {
    /// One lead comes off or breaks.
    Open(Side),
    /// One lead is on again.
    Join(Side),
    /// The resistance of the pair changes, ohms.
    Ohms(f64),
    /// The leads touch each other, or no longer.
    Short(bool),
    /// The leads are changed over, or back.
    Swap(bool),
}

/// One of the two leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The negative one.
    Neg,
    /// The positive one.
    Pos,
}

impl Side {
    /// Both, in the order of [`Side::WORDS`].
    pub const ALL: [Self; 2] = [Self::Pos, Self::Neg];
    /// Their words in the text.
    pub const WORDS: [&'static str; 2] = ["pos", "neg"];

    /// Gives its word in the text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pos => "pos",
            Self::Neg => "neg",
        }
    }
}

/// The test voltage of an insulation test.
pub(super) const TEST_VOLTS: Key = Key::number("volts", 1.0, 1_000.0);
/// The current of a continuity test.
pub(super) const TEST_AMPS: Key = Key::number("amps", 1.0e-3, 0.2).or(0.2);
/// The battery.
pub(super) const BATTERY_VOLTS: Key = Key::number("battery_volts", 0.0, 20.0);
/// The voltage that a `charge` event puts on a capacitor.
pub(super) const CHARGE_VOLTS: Key = Key::number("volts", -20_000.0, 20_000.0);
/// The resistance of the pair of leads.
pub(super) const LEAD_OHMS: Key = Key::number("ohms", 0.0, 1.0e6);

impl Action {
    /// The keys of an event, one for each action.
    pub const KEYS: [&'static str; 15] = [
        "close",
        "open",
        "press",
        "release",
        "tap",
        "select",
        "set",
        "fault",
        "clear",
        "charge",
        "lead",
        "battery_volts",
        "reset",
        "cut_power_in_write",
        "overwrite",
    ];

    /// Gives the place of a number by its key, for a sweep.
    pub(super) fn number_mut(&mut self, key: &str) -> Option<&mut f64> {
        match self {
            Self::BatteryVolts(volts) if key == "battery_volts" => Some(volts),
            Self::CutPowerInWrite(operations) if key == CUT_POWER.name => Some(operations),
            Self::Charge { volts, .. } if key == "volts" => Some(volts),
            Self::Lead(Lead::Ohms(ohms)) if key == "ohms" => Some(ohms),
            Self::Select(function) => function.number_mut(key),
            Self::Fault(call) => call.number_mut(key),
            Self::Set { values, .. } => {
                values.iter_mut().find(|(name, _)| name == key).map(|(_, value)| value)
            }
            _ => None,
        }
    }
}
