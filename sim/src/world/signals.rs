//! What an expectation may talk about, and the moment that it reads.

use ohmwarden_core::Instrument;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::correct::{Corrected, Located, NoCorrection, NoDistance};
use ohmwarden_core::detect::Circuit;
use ohmwarden_core::frame::Panel;
use ohmwarden_core::gate::GateOut;
use ohmwarden_core::interlock::{Lock, Reason, State};
use ohmwarden_core::invariants::Truth;
use ohmwarden_core::judge::{Flags, Reading, Unit, Value, Verdict};
use ohmwarden_core::measure::timed::Refusal;
use ohmwarden_core::tone::Tone;
use ohmwarden_core::view::Progress;

use super::Stored;
use crate::expect::{Dimension, SignalSpec, Signals};
use crate::frontend::Truth as Physical;

/// One moment of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Snapshot {
    /// Time since the start, seconds.
    pub seconds: f64,
    /// Voltage between the terminals.
    pub terminal_volts: f64,
    /// What the source delivers, its own dividers included.
    pub source_amps: f64,
    /// Current in the leads.
    pub lead_amps: f64,
    /// Energy that the discharge resistor took since the start.
    pub discharge_joules: f64,
    /// The discharge resistor is across the terminals.
    pub discharging: bool,
    /// The gate is open: the command.
    pub gate: GateOut,
    /// A source in the circuit would hold the terminals above the trip.
    pub outside_live: bool,
    /// The test key is down.
    pub test_down: bool,
    /// What core last showed.
    pub view: Option<ohmwarden_core::view::View>,
    /// What is heard.
    pub tone: Tone,
    /// Power-off is refused.
    pub keep_power: bool,
    /// The committed reading brought to another temperature, or why not.
    pub corrected: Option<Result<Corrected, NoCorrection>>,
    /// The place of an open end or a short along the pair, or why there is none.
    pub distance: Option<Result<Located, NoDistance>>,
    /// The lead null, ohms.
    pub null_ohms: Option<f64>,
    /// An actuator lock is remembered.
    pub lock_kept: bool,
    /// What the board's store holds, where it has one.
    pub store: Option<Stored>,
    truth: Truth,
}

impl Snapshot {
    pub(super) fn physical(
        &mut self,
        truth: &Truth,
        bench: &Physical,
        gate: GateOut,
        panel: &Panel,
    ) {
        self.truth = *truth;
        self.seconds = truth.at_us as f64 / 1.0e6;
        self.terminal_volts = bench.terminal_volts;
        self.source_amps = bench.source_amps;
        self.lead_amps = bench.lead_amps;
        self.discharge_joules = bench.discharge_joules;
        self.discharging = bench.discharge_on;
        self.gate = gate;
        self.outside_live = truth.outside_live;
        self.test_down = panel.test.pressed;
    }

    pub(super) fn shown(&mut self, instrument: &Instrument, commands: &Commands) {
        self.view = Some(*commands.view());
        self.corrected = instrument.corrected();
        self.distance = instrument.distance();
        self.tone = commands.tone();
        self.keep_power = commands.keep_power();
        self.null_ohms = commands.kept().null.map(|r| r.as_milliohms() as f64 / 1.0e3);
        self.lock_kept = commands.kept().lock.is_some();
    }

    pub(super) const fn truth(&self) -> Truth {
        self.truth
    }

    fn reading(&self, unit: Unit) -> Option<Reading> {
        self.view.map(|view| view.main).filter(|r| r.unit == unit && r.value != Value::None)
    }

    fn number(&self, unit: Unit) -> Option<f64> {
        match self.reading(unit)?.value {
            Value::Number(x) => Some(f64::from(x)),
            Value::Above(_) | Value::Below(_) | Value::None => None,
        }
    }

    fn leakage(&self) -> Option<f64> {
        let second = self.view.map(|view| view.second).filter(|r| r.unit == Unit::Ampere)?;
        second.value.amount().map(f64::from)
    }

    fn corrected_ohms(&self) -> Option<f64> {
        match self.corrected?.ok()?.reading.value {
            Value::Number(x) => Some(f64::from(x)),
            Value::Above(_) | Value::Below(_) | Value::None => None,
        }
    }

    fn metres(&self) -> Option<f64> {
        self.distance?.ok()?.distance.value.amount().map(f64::from)
    }

    fn timed(&self) -> Option<Progress> {
        self.view.and_then(|view| view.timed)
    }

    fn flag(&self, flag: Flags) -> Option<f64> {
        self.view.map(|view| f64::from(u8::from(view.main.flags.any(flag))))
    }
}

/// Names of the states, for `state is ...`.
const STATES: &[&str] = State::WORDS;
/// Names of the reasons, for `reason is ...`: those of [`Reason::ALL`], then those of [`Lock::ALL`].
const REASONS: &[&str] = &{
    let mut words = [""; Reason::ALL.len() + Lock::ALL.len()];
    let mut n = 0;
    while n < Reason::ALL.len() {
        words[n] = Reason::ALL[n].word();
        n += 1;
    }
    let mut k = 0;
    while k < Lock::ALL.len() {
        words[n + k] = Lock::ALL[k].word();
        k += 1;
    }
    words
};

fn bit(value: bool) -> Option<f64> {
    Some(f64::from(u8::from(value)))
}

fn place(words: &[&str], word: &str) -> Option<f64> {
    words.iter().position(|known| *known == word).map(|at| at as f64)
}

fn volts(v: ohmwarden_core::unit::Voltage) -> f64 {
    f64::from(v.as_microvolts()) / 1.0e6
}

/// Writes the table of signals and the code that reads them, from one list.
macro_rules! signals {
    ($($name:literal, $dimension:expr, $scale:literal, $says:literal, $read:expr;)+) => {
        /// All signals.
        pub const SIGNALS: &[SignalSpec] = &[$(SignalSpec {
            name: $name,
            dimension: $dimension,
            scale: $scale,
            says: $says,
        },)+];

        type Read = fn(&Snapshot) -> Option<f64>;
        const READS: &[Read] = &[$($read,)+];
    };
}

signals! {
    "source.off", Dimension::Bool, 1.0, "the source delivers less than 50 uA, its own dividers included", |s| bit(s.source_amps < 50.0e-6);
    "source.current", Dimension::Amp, 1.0e-3, "what the source delivers, its own dividers included", |s| Some(s.source_amps);
    "gate.open", Dimension::Bool, 1.0, "the gate lets the source deliver: the command", |s| bit(s.gate.on);
    "gate.set_point", Dimension::Volt, 100.0, "what the source is to regulate to", |s| Some(volts(s.gate.set_point));
    "terminals.volts", Dimension::Volt, 100.0, "the voltage between the terminals", |s| Some(s.terminal_volts);
    "leads.current", Dimension::Amp, 1.0e-3, "the current out of the positive lead", |s| Some(s.lead_amps);
    "discharge.on", Dimension::Bool, 1.0, "the discharge resistor is across the terminals", |s| bit(s.discharging);
    "discharge.energy", Dimension::Joule, 1.0, "what the discharge resistor took since the start", |s| Some(s.discharge_joules);
    "truth.live", Dimension::Bool, 1.0, "a source in the circuit would hold the terminals above the trip", |s| bit(s.outside_live);
    "panel.test", Dimension::Bool, 1.0, "the test key is down", |s| bit(s.test_down);
    "time", Dimension::Second, 1.0, "time since the start", |s| Some(s.seconds);
    "state", Dimension::Word(STATES), 1.0, "what core is doing", |s| s.view.and_then(|v| place(STATES, v.state.word()));
    "reason", Dimension::Word(REASONS), 1.0, "why core is where it is", |s| s.view.and_then(|v| place(REASONS, v.reason.word()));
    "circuit", Dimension::Word(Circuit::WORDS), 1.0, "the class that was told, while it holds", |s| s.view.and_then(|v| v.circuit).and_then(|c| place(Circuit::WORDS, c.word()));
    "verdict", Dimension::Word(Verdict::WORDS), 1.0, "what a committed reading says about the limit", |s| s.view.and_then(|v| v.judged).map(|j| j.verdict().index() as f64);
    "tone", Dimension::Word(Tone::WORDS), 1.0, "what is heard", |s| Some(s.tone.index() as f64);
    "view.live", Dimension::Bool, 1.0, "the view says that voltage from outside is there", |s| s.view.and_then(|v| bit(v.live));
    "view.driving", Dimension::Bool, 1.0, "the view says that our own voltage is or may be there", |s| s.view.and_then(|v| bit(v.driving));
    "view.claims_dead", Dimension::Bool, 1.0, "the view claims that the circuit is dead", |s| s.view.and_then(|v| bit(v.claims_dead));
    "view.volts", Dimension::Volt, 100.0, "the voltage on the view", |s| s.view.and_then(|v| v.volts).map(volts);
    "view.hertz", Dimension::Hertz, 50.0, "the frequency on the view", |s| s.view.and_then(|v| v.hz).map(|f| f64::from(f.as_millihertz()) / 1.0e3);
    "view.keep_power", Dimension::Bool, 1.0, "power-off is refused", |s| bit(s.keep_power);
    "evidence.open", Dimension::Volt, 100.0, "the alternating voltage that the last class was told on", |s| s.view.map(|v| volts(v.evidence.ac));
    "evidence.dc", Dimension::Volt, 100.0, "the direct voltage that the last class was told on", |s| s.view.map(|v| volts(v.evidence.dc));
    "evidence.loaded", Dimension::Volt, 100.0, "what was left of it under the discharge resistor", |s| s.view.and_then(|v| v.evidence.loaded).map(volts);
    "reading.ohms", Dimension::Ohm, 1.0e6, "the main reading, where it is a number of ohms", |s| s.number(Unit::Ohm);
    "reading.volts", Dimension::Volt, 100.0, "the main reading, where it is a number of volts", |s| s.number(Unit::Volt);
    "reading.above", Dimension::Bool, 1.0, "the main reading is a bound from below", |s| s.view.and_then(|v| bit(matches!(v.main.value, Value::Above(_))));
    "reading.bound", Dimension::Ohm, 1.0e6, "the bound, where the main reading is one", |s| s.reading(Unit::Ohm).and_then(|r| match r.value { Value::Above(x) | Value::Below(x) => Some(f64::from(x)), Value::Number(_) | Value::None => None });
    "reading.ratio", Dimension::Ratio, 1.0, "the main reading, where it is a ratio of two resistances", |s| s.number(Unit::Ratio);
    "reading.discharge", Dimension::Ratio, 1.0, "the main reading, where it is a discharge figure in mA/(V F)", |s| s.number(Unit::MilliampPerVoltFarad);
    "reading.leakage", Dimension::Amp, 1.0e-6, "the current beside a reading of insulation", |s| s.leakage();
    "timed.seconds", Dimension::Second, 1.0, "how long the voltage of a timed test has stood", |s| s.timed().map(|t| f64::from(t.elapsed.as_millis()) / 1.0e3);
    "timed.points", Dimension::Ratio, 1.0, "points that a timed test has taken", |s| s.timed().map(|t| f64::from(t.points));
    "timed.refused", Dimension::Word(Refusal::WORDS), 1.0, "why a timed test has no answer", |s| s.timed().and_then(|t| t.refused).map(|r| r.index() as f64);
    "capacitance.farads", Dimension::Farad, 1.0e-9, "what the circuit stores, once it was let down", |s| s.view.and_then(|v| match v.capacitance.value { Value::Number(x) => Some(f64::from(x)), Value::Above(_) | Value::Below(_) | Value::None => None });
    "corrected.ohms", Dimension::Ohm, 1.0e6, "the committed reading at the temperature that it was brought to", |s| s.corrected_ohms();
    "distance.metres", Dimension::Metre, 1.0e3, "how far away the open end or the short of the pair is", |s| s.metres();
    "null.ohms", Dimension::Ohm, 1.0, "the learned lead resistance", |s| s.null_ohms;
    "lock.kept", Dimension::Bool, 1.0, "an actuator lock is remembered", |s| bit(s.lock_kept);
    "store.records", Dimension::Ratio, 1.0, "records that can be read out of the board's store", |s| s.store.map(|store| f64::from(store.records));
    "store.damaged", Dimension::Ratio, 1.0, "records in the board's store that are damaged", |s| s.store.map(|store| f64::from(store.damaged));
    "store.full", Dimension::Bool, 1.0, "the last reading was refused because the store is full", |s| s.store.and_then(|store| bit(store.full));
    "flag.unsettled", Dimension::Bool, 1.0, "the reading is not settled", |s| s.flag(Flags::UNSETTLED);
    "flag.rising", Dimension::Bool, 1.0, "the reading still climbs", |s| s.flag(Flags::RISING);
    "flag.source_limited", Dimension::Bool, 1.0, "the source was at its limit", |s| s.flag(Flags::SOURCE_LIMITED);
    "flag.disturbed", Dimension::Bool, 1.0, "alternating voltage lies on the test voltage", |s| s.flag(Flags::DISTURBED);
    "flag.low_current", Dimension::Bool, 1.0, "less current than promised", |s| s.flag(Flags::LOW_CURRENT);
    "flag.asymmetric", Dimension::Bool, 1.0, "the two directions disagree", |s| s.flag(Flags::ASYMMETRIC);
    "flag.null_larger", Dimension::Bool, 1.0, "the lead null is larger than the reading", |s| s.flag(Flags::NULL_LARGER);
    "flag.at_null", Dimension::Bool, 1.0, "shown as zero within the doubt of the null", |s| s.flag(Flags::AT_NULL);
    "flag.path_unproved", Dimension::Bool, 1.0, "nothing shows that the leads reached the circuit", |s| s.flag(Flags::PATH_UNPROVED);
    "flag.standing", Dimension::Bool, 1.0, "a standing voltage was corrected for", |s| s.flag(Flags::STANDING);
    "flag.breakdown", Dimension::Bool, 1.0, "the voltage broke down under test", |s| s.flag(Flags::BREAKDOWN);
    "flag.aborted", Dimension::Bool, 1.0, "the drive was cut short", |s| s.flag(Flags::ABORTED);
    "flag.slow_ramp", Dimension::Bool, 1.0, "the voltage took longer than 3 s to come up", |s| s.flag(Flags::SLOW_RAMP);
    "flag.step_fall", Dimension::Bool, 1.0, "the resistance fell from one step of voltage to the next", |s| s.flag(Flags::STEP_FALL);
    "flag.uncalibrated", Dimension::Bool, 1.0, "no sound calibration constants", |s| s.flag(Flags::UNCALIBRATED);
    "flag.calibration_due", Dimension::Bool, 1.0, "past the due day of the calibration", |s| s.flag(Flags::CALIBRATION_DUE);
    "flag.one_way", Dimension::Bool, 1.0, "measured in one direction only", |s| s.flag(Flags::ONE_WAY);
}

impl Signals for Snapshot {
    fn specs(&self) -> &'static [SignalSpec] {
        SIGNALS
    }

    fn read(&self, index: usize) -> Option<f64> {
        READS.get(index).and_then(|read| read(self))
    }
}
