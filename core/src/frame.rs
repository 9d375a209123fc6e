//! What goes in: samples, panel, and what the hardware itself reports.
//!
//! A [`Sample`] is what the interrupt reads once per sample period; a [`Frame`] is what the main
//! loop hands to [`crate::Instrument::step`] once per block. Codes are raw converter codes; their
//! calibration stands in [`crate::profile::FrontEnd`].

use crate::gate::GateStatus;
use crate::unit::{Current, Voltage};

/// Samples in one block: the main loop runs once per block, 1 ms at 10 000 samples a second.
pub const BLOCK: usize = 10;

/// One set of simultaneous converter codes.
///
/// `v` and `v2` come from two independent dividers across the terminals, on the terminal side of
/// every fuse. `i` is the ranged measuring shunt, `i_gate` the gate's own fixed channel of
/// 2 mA either way; both see what leaves the instrument after its dividers. `low` is the terminal
/// voltage on a fixed low range, clamped beyond it: it serves continuity readings and decides
/// nothing about safety, because it clips far below a hazardous voltage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[repr(C)]
pub struct Sample {
    /// First divider.
    pub v: i16,
    /// Second divider.
    pub v2: i16,
    /// Ranged measuring shunt.
    pub i: i16,
    /// Fixed coarse current channel of the gate.
    pub i_gate: i16,
    /// Terminal voltage, low range.
    pub low: i16,
}

/// What one block brings to the main loop.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Frame<'a> {
    /// The samples that arrived, oldest first; fewer than [`BLOCK`] when some were missed.
    pub samples: &'a [Sample],
    /// The keys and the selector as they stand now.
    pub panel: Panel,
    /// A clock independent of the sampling clock, in microseconds; wraps.
    pub elapsed_us: u32,
    /// Supply voltage in millivolts.
    pub supply_mv: u16,
    /// What the hardware reports of itself.
    pub seen: Seen,
}

/// What the hardware itself reports, as opposed to what was commanded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Seen {
    /// Whether the source delivers more than 50 uA; `None` where a board cannot tell.
    pub drive_sense: Option<bool>,
    /// What the gate last did.
    pub gate: GateStatus,
    /// Samples or blocks that were lost since the last frame.
    pub overruns: u8,
}

/// A key with two contacts: one closes as the other opens.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Key {
    /// The contact that closes when the key is pressed.
    pub pressed: bool,
    /// The contact that is closed while the key is up.
    pub rest: bool,
}

impl Key {
    /// A key that nobody touches.
    pub const UP: Self = Self { pressed: false, rest: true };
    /// A key that is held down.
    pub const DOWN: Self = Self { pressed: true, rest: false };

    /// The key as two agreeing contacts.
    #[must_use]
    pub const fn new(down: bool) -> Self {
        if down { Self::DOWN } else { Self::UP }
    }

    /// Whether both contacts agree.
    #[must_use]
    pub const fn agrees(self) -> bool {
        self.pressed != self.rest
    }
}

/// The keys and the selector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Panel {
    /// What the selector stands on.
    pub function: Function,
    /// The test key.
    pub test: Key,
    /// The key that nulls the lead resistance.
    pub null: bool,
    /// The request to go on without the test key; its gesture is the panel's own.
    pub hold: bool,
}

impl Panel {
    /// Nothing pressed, selector on `function`.
    #[must_use]
    pub const fn idle(function: Function) -> Self {
        Self { function, test: Key::UP, null: false, hold: false }
    }
}

/// What the selector stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Function {
    /// Between two positions, or two positions at once: nothing may be driven.
    Between,
    /// Continuity with lead null and polarity reversal, at up to the given current.
    Continuity(Current),
    /// Insulation resistance at the given test voltage, while the key is held.
    Insulation(Voltage),
    /// Off: the display may go dark once the terminals are safe.
    Off,
    /// Resistance at a low current.
    Resistance,
    /// A test of insulation at the given voltage that runs by the clock, key released.
    Timed(Voltage, TimedTest),
    /// Voltage only.
    Volts,
}

impl Function {
    /// The voltage that this function asks the source for; zero where it asks for none.
    #[must_use]
    pub const fn test_voltage(self) -> Voltage {
        match self {
            Self::Insulation(v) | Self::Timed(v, _) => v,
            Self::Between | Self::Continuity(_) | Self::Off | Self::Resistance | Self::Volts => {
                Voltage::ZERO
            }
        }
    }

    /// The task that the interlock sees.
    #[must_use]
    pub const fn task(self) -> Task {
        match self {
            Self::Insulation(_) => Task::Insulation,
            Self::Timed(..) => Task::Timed,
            Self::Continuity(_) | Self::Resistance => Task::Continuity,
            Self::Between | Self::Off | Self::Volts => Task::Watch,
        }
    }
}

/// What a timed test is to tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum TimedTest {
    /// Dielectric absorption ratio: the resistance at one minute over that at half a minute.
    AbsorptionRatio,
    /// Dielectric discharge: the current a minute after the discharge began.
    Discharge,
    /// The resistance at the end of the profile's time, with the curve of readings up to there.
    #[default]
    Plain,
    /// Polarization index: the resistance at ten minutes over that at one minute.
    PolarizationIndex,
    /// Five equal steps up to the voltage, a minute each.
    Steps,
}

impl TimedTest {
    /// All of them, in the order of [`TimedTest::WORDS`].
    pub const ALL: [Self; 5] =
        [Self::AbsorptionRatio, Self::Discharge, Self::Plain, Self::PolarizationIndex, Self::Steps];
    /// Their names.
    pub const WORDS: &'static [&'static str] =
        &["absorption_ratio", "dielectric_discharge", "plain", "polarization_index", "steps"];

    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::AbsorptionRatio => "absorption_ratio",
            Self::Discharge => "dielectric_discharge",
            Self::Plain => "plain",
            Self::PolarizationIndex => "polarization_index",
            Self::Steps => "steps",
        }
    }
}

/// A function as the interlock sees it: what it would drive, without the numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Task {
    /// Nothing is driven, the voltmeter works.
    Watch,
    /// Low voltage, current limited, both polarities.
    Continuity,
    /// High voltage while the key is held.
    Insulation,
    /// High voltage for a set time.
    Timed,
}
