//! A handful of signals and faults for the tests of scenarios and expectations.

use ohmwarden_sim::expect::{Dimension, SignalSpec, Signals};
use ohmwarden_sim::scenario::{FaultSpec, Key, Known};

/// The words of `state`.
pub const STATES: &[&str] = &["rest", "prove", "drive"];

const fn signal(name: &'static str, dimension: Dimension, scale: f64) -> SignalSpec {
    SignalSpec { name, dimension, scale, says: "A signal of the tests." }
}

/// The signals.
pub const SIGNALS: &[SignalSpec] = &[
    signal("source.off", Dimension::Bool, 1.0),
    signal("gate.open", Dimension::Bool, 1.0),
    signal("leads.volts", Dimension::Volt, 10.0),
    signal("source.amps", Dimension::Amp, 1.0e-3),
    signal("reading.value", Dimension::Ohm, 1.0e6),
    signal("store.farads", Dimension::Farad, 1.0e-9),
    signal("mains.hertz", Dimension::Hertz, 1.0),
    signal("view.age", Dimension::Second, 0.1),
    signal("discharge.energy", Dimension::Joule, 0.1),
    signal("reading.gain", Dimension::Ratio, 0.01),
    signal("state", Dimension::Word(STATES), 1.0),
];

/// The faults.
pub const FAULTS: &[FaultSpec] = &[
    FaultSpec {
        name: "gate_shorted",
        params: &[Key::number("ohms", 0.1, 1.0e6).or(10.0), Key::flag("sticky", true)],
        sentence: "The gate conducts whatever it is told.",
    },
    FaultSpec {
        name: "channel_stuck",
        params: &[
            Key::word("channel", &["v1", "v2"], None),
            Key::number("volts", -1_500.0, 1_500.0),
        ],
        sentence: "A channel reads one value.",
    },
];

/// Both.
pub const KNOWN: Known = Known { faults: FAULTS, signals: SIGNALS };

/// Values for all signals at one moment.
#[derive(Clone, Debug)]
pub struct Moment(Vec<Option<f64>>);

impl Moment {
    /// Makes a moment at which nothing has a value.
    #[must_use]
    pub fn blank() -> Self {
        Self(vec![None; SIGNALS.len()])
    }

    /// Gives a signal a value.
    ///
    /// # Panics
    /// No signal has this name.
    #[must_use]
    pub fn with(mut self, name: &str, value: f64) -> Self {
        let place = SIGNALS.iter().position(|spec| spec.name == name).expect("a known signal");
        self.0[place] = Some(value);
        self
    }
}

impl Signals for Moment {
    fn specs(&self) -> &'static [SignalSpec] {
        SIGNALS
    }

    fn read(&self, index: usize) -> Option<f64> {
        self.0[index]
    }
}
