//! A trace as a value change dump (IEEE 1364), for any waveform viewer: real and wire variables, in
//! steps of a microsecond.
//!
//! Words become numbers on wires of several bits; a comment in the head lists what each number
//! stands for, in the order of the words' first appearance in core. A real that has no value now
//! keeps its last one, because a real cannot be unknown; a wire becomes `x`.

use std::io::{self, Write};

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::interlock::{Lock, Reason, State};
use ohmwarden_core::tone::Tone;
use ohmwarden_sim::world::Snapshot;

use super::signals::{Kind, SIGNALS, Value};

/// Bits of a wire that stands for words: enough for the reasons.
const WORD_BITS: usize = 6;

/// What was last written of each signal.
#[derive(Clone, Debug, Default)]
pub(super) struct Dump {
    last: Option<[Value; SIGNALS.len()]>,
    words: Vec<(&'static str, Vec<&'static str>)>,
}

impl Dump {
    /// Begins: nothing was written yet.
    pub(super) fn new() -> Self {
        let reasons = Reason::ALL.iter().map(|reason| reason.word());
        let reasons = reasons.chain(Lock::ALL.iter().map(|lock| lock.word())).collect();
        let words = vec![
            ("state", State::WORDS.to_vec()),
            ("reason", reasons),
            ("circuit", Circuit::WORDS.to_vec()),
            ("tone", Tone::WORDS.to_vec()),
            ("reading_is", vec!["equal", "below", "above"]),
            ("reading_unit", vec!["ohm", "V", "A", "F", "Hz"]),
        ];
        Self { last: None, words }
    }

    /// Writes the head with all variables.
    ///
    /// # Errors
    /// What the writer reports.
    pub(super) fn head(&self, scenario: &str, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "$version ohmwarden {} $end", env!("CARGO_PKG_VERSION"))?;
        writeln!(out, "$comment {scenario} $end")?;
        for (signal, words) in &self.words {
            let listed = words.iter().enumerate().map(|(number, word)| format!(" {number}={word}"));
            writeln!(out, "$comment {signal}:{} $end", listed.collect::<String>())?;
        }
        writeln!(out, "$timescale 1 us $end\n$scope module ohmwarden $end")?;
        for (place, signal) in SIGNALS.iter().enumerate() {
            let (id, name) = (identifier(place), signal.name);
            match signal.kind {
                Kind::Number(unit) => {
                    let unit = unit.replace(' ', "_");
                    writeln!(out, "$var real 64 {id} {name}_{unit} $end")?;
                }
                Kind::Bit => writeln!(out, "$var wire 1 {id} {name} $end")?,
                Kind::Word => {
                    let most = WORD_BITS - 1;
                    writeln!(out, "$var wire {WORD_BITS} {id} {name} [{most}:0] $end")?;
                }
            }
        }
        writeln!(out, "$upscope $end\n$enddefinitions $end")
    }

    /// Writes what changed since the last sample; all of it the first time.
    ///
    /// # Errors
    /// What the writer reports.
    pub(super) fn sample(&mut self, now: &Snapshot, out: &mut dyn Write) -> io::Result<()> {
        let values = SIGNALS.map(|signal| (signal.read)(now));
        let at = (now.seconds * 1.0e6).round() as u64;
        match self.last {
            None => {
                writeln!(out, "#{at}\n$dumpvars")?;
                for (place, value) in values.iter().enumerate() {
                    self.change(place, *value, true, out)?;
                }
                writeln!(out, "$end")?;
            }
            Some(last) => {
                let mut told = false;
                for (place, (value, before)) in values.iter().zip(&last).enumerate() {
                    if value != before {
                        if !told {
                            writeln!(out, "#{at}")?;
                            told = true;
                        }
                        self.change(place, *value, false, out)?;
                    }
                }
            }
        }
        self.last = Some(values);
        Ok(())
    }

    fn change(
        &self,
        place: usize,
        value: Value,
        first: bool,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        let id = identifier(place);
        let Some(signal) = SIGNALS.get(place) else { return Ok(()) };
        match (value, signal.kind) {
            (Value::Number(number), _) => writeln!(out, "r{number} {id}"),
            (Value::Bit(bit), _) => writeln!(out, "{}{id}", u8::from(bit)),
            (Value::Word(word), _) => writeln!(out, "b{:b} {id}", self.number(signal.name, word)),
            (Value::None, Kind::Number(_)) if first => writeln!(out, "r0 {id}"),
            (Value::None, Kind::Number(_)) => Ok(()),
            (Value::None, Kind::Bit) => writeln!(out, "x{id}"),
            (Value::None, Kind::Word) => writeln!(out, "bx {id}"),
        }
    }

    fn number(&self, signal: &str, word: &str) -> usize {
        let words = self.words.iter().find(|(name, _)| *name == signal);
        words.and_then(|(_, words)| words.iter().position(|known| *known == word)).unwrap_or(0)
    }
}

/// A printable letter for each variable.
fn identifier(place: usize) -> char {
    u8::try_from(place).map_or('~', |place| char::from(b'!'.saturating_add(place).min(b'~')))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::picture::tests::snapshot;

    #[test]
    fn every_variable_has_an_identifier_of_its_own_and_every_word_a_number() {
        let ids: std::collections::BTreeSet<char> = (0..SIGNALS.len()).map(identifier).collect();
        assert_eq!(ids.len(), SIGNALS.len());
        let dump = Dump::new();
        for (signal, words) in &dump.words {
            assert!(words.len() <= 1 << WORD_BITS, "{signal}");
            assert!(SIGNALS.iter().any(|known| known.name == *signal), "{signal}");
        }
    }

    #[test]
    fn a_second_sample_tells_only_what_changed() {
        let mut dump = Dump::new();
        let mut out = Vec::new();
        dump.sample(&snapshot(0.0001, 1.5, State::Rest), &mut out).unwrap();
        out.clear();
        dump.sample(&snapshot(0.0002, 1.5, State::Rest), &mut out).unwrap();
        assert!(out.is_empty());
        let mut later = snapshot(0.0003, -2.25, State::Rest);
        later.gate.on = true;
        dump.sample(&later, &mut out).unwrap();
        assert_eq!(String::from_utf8(out).unwrap(), "#300\nr-2.25 !\n1$\n");
    }

    #[test]
    fn before_the_first_view_its_wires_are_unknown() {
        let mut dump = Dump::new();
        let mut out = Vec::new();
        dump.sample(&Snapshot::default(), &mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        let state = identifier(SIGNALS.iter().position(|signal| signal.name == "state").unwrap());
        assert!(text.contains(&format!("\nbx {state}\n")), "{text}");
        let mut out = Vec::new();
        dump.sample(&snapshot(0.0, 0.0, State::Boot), &mut out).unwrap();
        assert!(String::from_utf8(out).unwrap().contains(&format!("b0 {state}")));
    }
}
