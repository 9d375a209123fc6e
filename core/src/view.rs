//! What is to be shown, as data: a display draws it, holds no rule and adds nothing.

use crate::detect::{Circuit, Evidence};
use crate::frame::{Function, Task, TimedTest};
use crate::interlock::{Reason, State};
use crate::judge::{Judged, Reading, Unit, Value};
use crate::measure::timed::Refusal;
use crate::text;
use crate::unit::{Duration, Frequency, Voltage};

/// Above this it is not called 0 V: the quiet level of the default profile.
const UNKNOWN: Voltage = Voltage::from_volts(10);

/// Everything that a person may see.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct View {
    /// What the instrument is doing.
    pub state: State,
    /// Why it is where it is.
    pub reason: Reason,
    /// The function that the readings are of.
    pub function: Function,
    /// The voltage at the terminals: direct part with its sign, or true RMS where `alternating`;
    /// `None` while the converter stands still and nothing is known.
    pub volts: Option<Voltage>,
    /// Whether `volts` is an RMS value.
    pub alternating: bool,
    /// Frequency of an alternating voltage, where it is known.
    pub hz: Option<Frequency>,
    /// Voltage from outside above the trip level, now or within the last second.
    pub live: bool,
    /// Our own voltage is, or may still be, on the terminals.
    pub driving: bool,
    /// The class that was last proved or told, while it still describes the terminals.
    pub circuit: Option<Circuit>,
    /// The numbers behind it.
    pub evidence: Evidence,
    /// The main reading, as it was read: [`crate::Instrument::corrected`] brings it to another
    /// temperature, [`crate::Instrument::distance`] places it along a pair.
    pub main: Reading,
    /// The quantity beside it: the current of the test; once a timed test has told its ratio, the
    /// resistance at its end.
    pub second: Reading,
    /// How far a timed test has come, or came.
    pub timed: Option<Progress>,
    /// What the circuit stores, known once it was let down.
    pub capacitance: Reading,
    /// What the committed reading, corrected where that is asked for, says about the limit; `None`
    /// too where it cannot be corrected, for the limit holds elsewhere.
    pub judged: Option<Judged>,
    /// Channel, path and class together prove the circuit dead now.
    pub claims_dead: bool,
}

impl View {
    /// A blank display.
    pub const BLANK: Self = Self {
        state: State::Boot,
        reason: Reason::Ready,
        function: Function::Off,
        volts: None,
        alternating: false,
        hz: None,
        live: false,
        driving: false,
        circuit: None,
        evidence: Evidence::NONE,
        main: Reading::NONE,
        second: Reading::NONE,
        timed: None,
        capacitance: Reading::NONE,
        judged: None,
        claims_dead: false,
    };

    /// What is to be said of the terminals, before any number.
    #[must_use]
    pub const fn says(&self) -> &'static str {
        let Some(volts) = self.volts else {
            return "the terminals cannot be measured: take them for live";
        };
        if self.live {
            "voltage from outside on the terminals"
        } else if self.driving {
            "test voltage on the terminals: hands off"
        } else if self.claims_dead {
            "dead when proved a moment ago; this is no proof for touching it"
        } else if UNKNOWN.is_below(volts.abs()) {
            "a voltage of unknown kind on the terminals"
        } else {
            "0 V at the leads proves nothing: the leads are not proved"
        }
    }

    /// Position of the main reading on a straight logarithmic scale, 0 to 100; `None` without one.
    #[must_use]
    pub fn bar(&self) -> Option<u8> {
        let amount = self.main.value.amount()?;
        let (least, greatest) = match self.main.unit {
            Unit::Ohm if matches!(self.function.task(), Task::Insulation | Task::Timed) => {
                (1.0e3, 200.0e9)
            }
            Unit::Ohm => (0.01, 2.0e6),
            Unit::Volt => (1.0, 1_000.0),
            Unit::Ampere => (1.0e-9, 0.25),
            Unit::Farad => (1.0e-9, 10.0e-6),
            Unit::Hertz => (10.0, 1_000.0),
            Unit::Ratio | Unit::MilliampPerVoltFarad => (0.1, 10.0),
            Unit::Metre => (1.0, 10_000.0),
        };
        Some(text::log_position(amount, least, greatest))
    }

    /// The main reading in words and digits.
    #[must_use]
    pub fn main_text(&self) -> text::Text {
        reading_text(&self.main)
    }
}

/// How far a timed test has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Progress {
    /// What it is to tell.
    pub test: TimedTest,
    /// How long the voltage has stood.
    pub elapsed: Duration,
    /// How long it is to stand.
    pub length: Duration,
    /// Points that were taken; [`crate::Instrument::curve`] has them.
    pub points: u8,
    /// Why the test has no answer, once it is over.
    pub refused: Option<Refusal>,
}

/// A reading in digits, with its bound and unit; dashes without one.
#[must_use]
pub fn reading_text(reading: &Reading) -> text::Text {
    let symbol = reading.unit.symbol();
    let resolution = text::resolution(reading.doubt);
    match reading.value {
        Value::None => text::engineering(f32::NAN, symbol, 0.0),
        Value::Number(x) => text::engineering(x, symbol, resolution),
        Value::Above(x) => text::above(x, symbol, resolution),
        Value::Below(x) => text::below(x, symbol, resolution),
    }
}
