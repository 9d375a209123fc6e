//! The scenario file: a TOML text of our own, read into a checked [`Scenario`].
//!
//! ```toml
//! ohmwarden = 1                      # the version of this format; must be there
//! why = "A charged cable is not a live one."
//! seed = 7                           # 0 where absent
//! profile = "general"                # or telecom, low_voltage, wet
//! samples_per_second = 10000         # 1000 to 100000
//! substeps = 1                       # 1 to 100, steps of the circuit in a sample
//! seconds = 3.0                      # the length of the run
//! limit = { at_least_ohms = 1e6, guarded = true }   # or at_most_ohms, .._ratio, .._discharge, or
//!                                    # { named = "installation_500v" }: `assess --list` has them
//!
//! [start]                            # the panel at the start
//! function = "insulation"            # or off, volts, continuity (amps), resistance
//! volts = 500
//! timed = "no"                       # or absorption_ratio, polarization_index, ..
//! test_held = true                   # also null_held, hold_held, battery_volts, lead_ohms
//! calibration = "valid"              # or due, damaged, absent
//! store = { pages = 4, overwrite = false }   # the board keeps records; 3 to 64 pages
//! celsius = 35                       # what a thermometer at the circuit says, to 1 K
//! correct = "oil"                    # the rule that brings readings to where the limit holds
//! reference_celsius = 20             # that of the named limit, or of the rule, where absent
//! pair = "0.5mm"                     # the telephone pair that the leads are on, for distances
//!
//! [part.cable.capacitor]             # [part.NAME.KIND]; all kinds are in `KINDS`
//! farads = 1.0e-6
//! across = ["lead.pos", "lead.neg"]  # or ground, or any name used at least twice
//!
//! [part.mains_switch.switch]
//! across = ["lead.pos", "street"]
//!
//! [part.mains.sine]
//! volts_rms = 230
//! hertz = 50
//! across = ["street", "lead.neg"]
//!
//! [[at]]                             # events in the order of time, one action each
//! s = 1.203
//! label = "mains_on"
//! close = "mains_switch"
//!
//! [sweep]                            # the full product, at most 20000 cases
//! mains_phase_deg = { from = 0, to = 345, step = 15 }
//! mains_on_s = [1.2, 1.21]
//!
//! [[expect]]
//! within = { after = "mains_on", s = 0.006, that = "source.off", stays = true }
//! ```
//!
//! Actions of an event: `close`, `open` (a switch); `press`, `release`, `tap` (a button: test, null,
//! hold); `select = { function = .., volts = .., amps = .., timed = .. }`;
//! `set = { part = "mains", volts_rms = 100 }`; `fault = { NAME = { .. } }`; `clear = "NAME"`;
//! `charge = { part = .., volts = .. }`; `lead = { open = "pos" }` (or `join`, `swap`, `short`,
//! `ohms`); `battery_volts`; `reset = true`; and where the board has a store `overwrite = true` (a
//! full one may overwrite its oldest page) and `cut_power_in_write = 37` (the power goes so many
//! operations of the flash later, words written or sixteenths of a page erased, and comes back at
//! once: a reset with whatever the flash holds).
//!
//! Expectations, one in each `[[expect]]`, with an optional `note`: `within = { after, s, that }`
//! and `eventually = { s, that }`, both with `stays = true` and then `until = LABEL`;
//! `at = { s, that, after }`; `until = { hold, until }`; `never = ".."` and `always = ".."`, both
//! with `after = LABEL` and `before = LABEL` beside them.
//!
//! `[storm]` takes `events_per_second`, `from_s`, `to_s` and `keys = ["test", "null", "hold",
//! "select"]`.
//!
//! Every number is finite and inside the range of its key; names are letters, digits and
//! underscores. A mistake carries its place, what was found and what is accepted, and reading goes
//! on after it. `write` gives a text that reads back to the same value.

use alloc::string::String;
use alloc::vec::Vec;

use ohmwarden_core::calibration::Standing;
use ohmwarden_core::correct::Surroundings;
use ohmwarden_core::judge::Unit;
use ohmwarden_core::limits;
use ohmwarden_core::profile::{GENERAL, LOW_VOLTAGE, Profile, TELECOM, WET};

use crate::expect::{Expect, Fired, SignalSpec};

mod chance;
mod event;
mod fault;
mod field;
mod key;
mod mistake;
mod part;
mod read;
mod reader;
mod store;
mod storm;
mod sweep;
mod value;
mod write;

pub use chance::{below, stream, unit};
pub use event::{Action, Button, Event, Function, Lead, Side, TAP_SECONDS, TIMED_WORDS};
pub use fault::{FaultCall, FaultSpec, Param};
pub use key::{Key, Takes};
pub use mistake::{Mistake, line_column};
pub use part::{Harmonic, KINDS, Kind, NamedPart, Part};
pub use read::{locate, parse, parse_with, read_tables};
pub use reader::{Entry, Notes, Table};
pub use store::StoreSpec;
pub use storm::{Storm, StormKey};
pub use sweep::{CASES_MAX, Sweep, Swept, Values};
pub use value::{Value, read_text};
pub use write::write;

/// A checked scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// What a reader should learn from it.
    pub why: String,
    /// Decides everything that is random.
    pub seed: u64,
    /// The instrument's profile.
    pub profile: ProfileName,
    /// Samples per second.
    pub rate: u32,
    /// Steps of the circuit in one sample.
    pub substeps: u32,
    /// The length of the run, seconds.
    pub seconds: f64,
    /// The panel at the start.
    pub start: Start,
    /// The limit that a reading is judged by.
    pub limit: Option<LimitSpec>,
    /// The circuit at the leads, in the order of the text.
    pub parts: Vec<NamedPart>,
    /// What happens, by time; faults among it.
    pub events: Vec<Event>,
    /// What must hold beside the named rules.
    pub expects: Vec<Expect>,
    /// Values to run over.
    pub sweep: Option<Sweep>,
    /// Random panel events.
    pub storm: Option<Storm>,
}

impl Scenario {
    /// Lists the labels in the order of the events: the numbering of
    /// [`Fired::label`](crate::expect::Fired).
    #[must_use]
    pub fn labels(&self) -> Vec<&str> {
        self.events.iter().filter_map(|event| event.label.as_deref()).collect()
    }

    /// Lists the moments of all labels, by time, as monitors take them.
    #[must_use]
    pub fn fired(&self) -> Vec<Fired> {
        let moments = self.events.iter().filter(|event| event.label.is_some());
        let fired = |(label, event): (usize, &Event)| Fired { label, seconds: event.s };
        moments.enumerate().map(fired).collect()
    }

    /// Tells when a label comes, seconds; `None` for a label that no event has.
    #[must_use]
    pub fn moment_of(&self, label: &str) -> Option<f64> {
        let event = self.events.iter().find(|event| event.label.as_deref() == Some(label));
        event.map(|event| event.s)
    }
}

/// The instrument's profile by name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ProfileName {
    /// General installation.
    #[default]
    General,
    /// Low voltage.
    LowVoltage,
    /// Telecom line.
    Telecom,
    /// Wet location.
    Wet,
}

impl ProfileName {
    /// All profiles, in the order of [`ProfileName::WORDS`].
    pub const ALL: [Self; 4] = [Self::General, Self::Telecom, Self::LowVoltage, Self::Wet];
    /// Their words in the text.
    pub const WORDS: [&'static str; 4] = ["general", "telecom", "low_voltage", "wet"];

    /// Gives its word in the text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::General => "general",
            Self::Telecom => "telecom",
            Self::LowVoltage => "low_voltage",
            Self::Wet => "wet",
        }
    }

    /// Gives the profile of this name.
    #[must_use]
    pub const fn profile(self) -> &'static Profile {
        match self {
            Self::General => &GENERAL,
            Self::LowVoltage => &LOW_VOLTAGE,
            Self::Telecom => &TELECOM,
            Self::Wet => &WET,
        }
    }
}

/// The panel at the start of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// What the selector asks for.
    pub function: Function,
    /// Whether the test button is down from the start.
    pub test_held: bool,
    /// Whether the null button is down from the start.
    pub null_held: bool,
    /// Whether the hold button is down from the start.
    pub hold_held: bool,
    /// The battery, volts; `None`: full.
    pub battery_volts: Option<f64>,
    /// The resistance of the pair of leads, ohms; `None`: the leads that belong to the instrument.
    pub lead_ohms: Option<f64>,
    /// How the instrument stands with its calibration.
    pub calibration: Standing,
    /// The store of the board; `None`: it keeps no records.
    pub store: Option<StoreSpec>,
    /// What the instrument is told of the surroundings of the circuit.
    pub surroundings: Surroundings,
}

impl Default for Start {
    fn default() -> Self {
        Self {
            function: Function::Off,
            test_held: false,
            null_held: false,
            hold_held: false,
            battery_volts: None,
            lead_ohms: None,
            calibration: Standing::Valid,
            store: None,
            surroundings: Surroundings::UNKNOWN,
        }
    }
}

/// The limit that a reading is judged by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitSpec {
    /// The limit itself.
    pub bound: Bound,
    /// What it is a limit of.
    pub of: LimitOf,
    /// Whether the limit is guarded by the uncertainty.
    pub guarded: bool,
    /// The limit of core's table that gave the value, where it was named.
    pub named: Option<&'static limits::Entry<'static>>,
}

/// What a limit may be of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitOf {
    /// A resistance, ohms.
    Ohms,
    /// A ratio of two resistances.
    Ratio,
    /// A dielectric discharge, mA/(V F).
    Discharge,
}

impl LimitOf {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Ohms, Self::Ratio, Self::Discharge];

    /// Gives what readings it is for.
    #[must_use]
    pub const fn unit(self) -> Unit {
        match self {
            Self::Ohms => Unit::Ohm,
            Self::Ratio => Unit::Ratio,
            Self::Discharge => Unit::MilliampPerVoltFarad,
        }
    }

    /// Gives the keys of the two sides.
    #[must_use]
    pub const fn keys(self) -> [&'static str; 2] {
        match self {
            Self::Ohms => ["at_least_ohms", "at_most_ohms"],
            Self::Ratio => ["at_least_ratio", "at_most_ratio"],
            Self::Discharge => ["at_least_discharge", "at_most_discharge"],
        }
    }
}

/// A limit with its side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bound {
    /// A reading must not be below.
    AtLeast(f64),
    /// A reading must not be above.
    AtMost(f64),
}

/// What names a scenario may use beside its own.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// The faults that can be injected.
    pub faults: &'static [FaultSpec],
    /// The signals that expressions can read.
    pub signals: &'static [SignalSpec],
}

/// What [`parse`] knows: the simulator's own faults and signals.
pub const KNOWN: Known = Known { faults: crate::faults::SPECS, signals: crate::world::SIGNALS };
