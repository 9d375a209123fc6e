//! The signals of a trace: one list for every format.

use ohmwarden_core::judge::Value as Amount;
use ohmwarden_core::view::View;
use ohmwarden_sim::world::Snapshot;

/// What a signal is at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Value {
    /// A number in the signal's unit.
    Number(f64),
    /// Yes or no.
    Bit(bool),
    /// A word.
    Word(&'static str),
    /// There is none now.
    None,
}

/// What kind of values a signal has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Numbers in this unit.
    Number(&'static str),
    /// Yes or no.
    Bit,
    /// Words.
    Word,
}

/// One signal.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Signal {
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    pub(crate) read: fn(&Snapshot) -> Value,
}

const fn number(name: &'static str, unit: &'static str, read: fn(&Snapshot) -> Value) -> Signal {
    Signal { name, kind: Kind::Number(unit), read }
}

const fn bit(name: &'static str, read: fn(&Snapshot) -> Value) -> Signal {
    Signal { name, kind: Kind::Bit, read }
}

const fn word(name: &'static str, read: fn(&Snapshot) -> Value) -> Signal {
    Signal { name, kind: Kind::Word, read }
}

/// All of them, in the order of the columns; first what really is, then what core shows.
pub(crate) const SIGNALS: [Signal; 22] = [
    number("terminals", "V", |s| Value::Number(s.terminal_volts)),
    number("source", "A", |s| Value::Number(s.source_amps)),
    number("leads", "A", |s| Value::Number(s.lead_amps)),
    bit("gate_open", |s| Value::Bit(s.gate.on)),
    number("set_point", "V", |s| volts(s.gate.set_point.as_microvolts())),
    bit("discharge_on", |s| Value::Bit(s.discharging)),
    number("discharge_energy", "J", |s| Value::Number(s.discharge_joules)),
    bit("truth_live", |s| Value::Bit(s.outside_live)),
    bit("test_key", |s| Value::Bit(s.test_down)),
    word("state", |s| of(s, |view| Value::Word(view.state.word()))),
    word("reason", |s| of(s, |view| Value::Word(view.reason.word()))),
    word("circuit", |s| of(s, |view| view.circuit.map_or(Value::None, |c| Value::Word(c.word())))),
    number("view_volts", "V", |s| {
        of(s, |view| view.volts.map_or(Value::None, |v| volts(v.as_microvolts())))
    }),
    number("view_frequency", "Hz", |s| of(s, hertz)),
    bit("view_live", |s| of(s, |view| Value::Bit(view.live))),
    bit("view_driving", |s| of(s, |view| Value::Bit(view.driving))),
    bit("view_claims_dead", |s| of(s, |view| Value::Bit(view.claims_dead))),
    bit("keep_power", |s| Value::Bit(s.keep_power)),
    word("tone", tone),
    number("reading", "base unit", |s| of(s, reading)),
    word("reading_is", |s| of(s, reading_is)),
    word("reading_unit", |s| {
        of(s, |view| match view.main.value {
            Amount::None => Value::None,
            Amount::Number(_) | Amount::Below(_) | Amount::Above(_) => {
                Value::Word(view.main.unit.symbol())
            }
        })
    }),
];

fn volts(microvolts: i32) -> Value {
    Value::Number(f64::from(microvolts) / 1.0e6)
}

/// Reads the view, where there is one yet.
fn of(now: &Snapshot, read: impl FnOnce(&View) -> Value) -> Value {
    now.view.as_ref().map_or(Value::None, read)
}

fn hertz(view: &View) -> Value {
    view.hz.map_or(Value::None, |hz| Value::Number(f64::from(hz.as_millihertz()) / 1.0e3))
}

fn reading(view: &View) -> Value {
    view.main.value.amount().map_or(Value::None, |amount| Value::Number(f64::from(amount)))
}

fn reading_is(view: &View) -> Value {
    match view.main.value {
        Amount::None => Value::None,
        Amount::Number(_) => Value::Word("equal"),
        Amount::Below(_) => Value::Word("below"),
        Amount::Above(_) => Value::Word("above"),
    }
}

fn tone(now: &Snapshot) -> Value {
    let word = ohmwarden_core::tone::Tone::WORDS.get(now.tone.index());
    word.map_or(Value::None, |word| Value::Word(word))
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::interlock::State;

    use super::*;
    use crate::run::picture::tests::snapshot;

    #[test]
    fn every_signal_has_a_name_of_its_own_and_values_of_its_kind() {
        let now = snapshot(0.0, 0.0, State::Rest);
        for (place, signal) in SIGNALS.iter().enumerate() {
            assert!(SIGNALS[..place].iter().all(|other| other.name != signal.name));
            let fits = match (signal.read)(&now) {
                Value::None => true,
                Value::Number(_) => matches!(signal.kind, Kind::Number(_)),
                Value::Bit(_) => signal.kind == Kind::Bit,
                Value::Word(_) => signal.kind == Kind::Word,
            };
            assert!(fits, "{}", signal.name);
        }
    }
}
