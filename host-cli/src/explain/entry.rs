//! Every word that a report may use, with what core itself says of it.

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::interlock::{Lock, Reason, State};
use ohmwarden_core::invariants::Rule;
use ohmwarden_core::judge::Flags;
use ohmwarden_core::limits;
use ohmwarden_core::measure::timed::Refusal;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::tone::Tone;
use ohmwarden_sim::{faults, world};

use super::words;

/// One word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Entry {
    pub(super) word: &'static str,
    pub(super) kind: &'static str,
    pub(super) plural: &'static str,
    /// What it means.
    pub(super) sentence: String,
    /// What a person may do; empty where there is nothing to do.
    pub(super) advice: String,
    /// Where it comes from.
    pub(super) origin: String,
}

/// Gives all words, kind by kind.
pub(super) fn entries() -> Vec<Entry> {
    let mut all: Vec<Entry> = Reason::ALL.into_iter().map(reason).collect();
    all.extend(Lock::ALL.into_iter().map(lock));
    all.extend(Rule::ALL.iter().copied().map(rule));
    all.extend(State::WORDS.iter().copied().map(words::state));
    all.extend(Circuit::ALL.into_iter().map(words::class));
    all.extend(Flags::WORDS.iter().map(|(flag, word)| words::flag(*flag, word)));
    all.extend(Refusal::ALL.into_iter().map(refusal));
    all.extend(limits::all().map(limit));
    all.extend(Tone::WORDS.iter().copied().map(words::tone));
    all.extend(world::SIGNALS.iter().map(signal));
    all.extend(faults::SPECS.iter().map(fault));
    all
}

/// An entry that gives no advice and no origin yet.
pub(super) fn entry(
    word: &'static str,
    (kind, plural): (&'static str, &'static str),
    sentence: &str,
) -> Entry {
    Entry {
        word,
        kind,
        plural,
        sentence: sentence.to_owned(),
        advice: String::new(),
        origin: String::new(),
    }
}

fn reason(reason: Reason) -> Entry {
    Entry {
        advice: reason.advice().to_owned(),
        origin: reason_origin(reason),
        ..entry(reason.word(), ("reason", "reasons"), reason.sentence())
    }
}

/// Which part of core gives a reason, with the numbers that it decides by.
fn reason_origin(reason: Reason) -> String {
    let trip = GENERAL.trip;
    let (rms, dc) = (trip.rms.as_volts(), trip.dc.as_volts());
    let quiet = GENERAL.quiet;
    let from = match reason {
        Reason::Live | Reason::LiveAc | Reason::LiveDc | Reason::LiveMixed | Reason::LivePulsed => {
            format!(
                "detect: {rms} V rms, {} V peak or {dc} V dc in the general profile, below the \
                 hazardous-live limits by the channel's tolerance (core/src/hazard.rs gives them \
                 with their sources)",
                trip.peak.as_volts()
            )
        }
        Reason::Residual => format!(
            "detect: between quiet ({} V dc, {} V rms) and the trip ({dc} V dc, {rms} V rms)",
            quiet.dc.as_volts(),
            quiet.ac.as_volts()
        ),
        Reason::Tripped => "gate: one of its rules held for three samples in a row \
            (core/src/gate/rules.rs says why the numbers are what they are)"
            .to_owned(),
        Reason::Flashover | Reason::LoadChanged => {
            "interlock: the fourth trip in one press; three times it proves again and goes on"
                .to_owned()
        }
        Reason::Charged
        | Reason::StoredOrLive
        | Reason::Standing
        | Reason::Induced
        | Reason::Unproven
        | Reason::ChannelsUnproved
        | Reason::SwapLeads => {
            "detect: the proof before a drive (core/src/detect/prove)".to_owned()
        }
        Reason::TooCapacitive => format!(
            "detect: more than {} nF or {} mJ in the general profile",
            GENERAL.c_max.as_nanofarads(),
            GENERAL.e_max.as_millijoules()
        ),
        Reason::TimeUp => format!(
            "interlock: {} s in one press, {} s where it is held",
            GENERAL.press_max.as_secs(),
            GENERAL.held_max.as_secs()
        ),
        Reason::Low => {
            format!("interlock: below {} mV", GENERAL.supply_min_mv)
        }
        Reason::Peeked => "detect: a look of some milliseconds with the source off, in which our \
            own voltage must sag (core/src/detect)"
            .to_owned(),
        Reason::NullRefused => {
            format!("measure: more than {} mohm, or not settled", GENERAL.null_max.as_milliohms())
        }
        _ => "interlock: one row of core/src/interlock/next.rs".to_owned(),
    };
    format!("Decided in core, {from}.")
}

fn refusal(refusal: Refusal) -> Entry {
    Entry {
        advice: match refusal {
            Refusal::TooHigh => "Judge the resistance itself: so much of it is an answer.",
            Refusal::StoreTooSmall => "Ask for the resistance, or for an absorption ratio.",
            Refusal::Inequality => "The bound itself may be enough for a limit of resistance.",
            Refusal::CutShort
            | Refusal::RangeChanged
            | Refusal::SlowRamp
            | Refusal::VoltageChanged => {
                "What was measured is kept; for an answer the test has to be run again."
            }
        }
        .to_owned(),
        origin: "Decided in core, measure: core/src/measure/timed says from which numbers on."
            .to_owned(),
        ..entry(refusal.word(), ("refusal", "refusals of timed tests"), refusal.says())
    }
}

fn limit(limit: &'static limits::Entry<'static>) -> Entry {
    let source = limit.source;
    Entry {
        advice: limit.remark.map_or_else(String::new, |remark| remark.says.to_owned()),
        origin: format!("{}, {}: {}.", source.cited, source.edition, source.standing.sentence()),
        ..entry(limit.word, ("limit", "limits"), limit.about)
    }
}

fn lock(lock: Lock) -> Entry {
    let remembered = if lock.is_remembered() {
        " It is remembered across a power cut until that actuator passes a test."
    } else {
        ""
    };
    Entry {
        advice: Reason::Locked(lock).advice().to_owned(),
        origin: format!("Decided in core, interlock: nothing is driven any more.{remembered}"),
        ..entry(lock.word(), ("lock", "locks"), lock.sentence())
    }
}

fn rule(rule: Rule) -> Entry {
    let margin = match rule.unit() {
        "rule" => "It holds or does not; there is no margin to speak of.".to_owned(),
        unit => format!("Its margin is told in {unit}."),
    };
    Entry {
        origin: format!(
            "Watched in every run by core/src/invariants, against what really happened at the \
             terminals; no scenario can switch it off. {margin}"
        ),
        ..entry(rule.word(), ("rule", "rules"), rule.sentence())
    }
}

fn signal(spec: &ohmwarden_sim::expect::SignalSpec) -> Entry {
    let unit = spec.dimension.unit();
    let unit = if unit.is_empty() { String::new() } else { format!(" Its unit: {unit}.") };
    Entry {
        origin: format!("An expectation of a scenario may read it.{unit}"),
        ..entry(spec.name, ("signal", "signals of expectations"), spec.says)
    }
}

fn fault(spec: &ohmwarden_sim::scenario::FaultSpec) -> Entry {
    let params: Vec<&str> = spec.params.iter().map(|key| key.name).collect();
    let params = if params.is_empty() { "none".to_owned() } else { params.join(", ") };
    Entry {
        origin: format!(
            "A scenario may inject it: fault = {{ {} = {{ .. }} }}; its parameters: {params}.",
            spec.name
        ),
        ..entry(spec.name, ("fault", "faults"), spec.sentence)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_a_sentence_and_an_origin() {
        for entry in entries() {
            assert!(entry.sentence.len() > 10, "{}: {}", entry.word, entry.sentence);
            assert!(entry.origin.len() > 10, "{}", entry.word);
        }
    }

    #[test]
    fn a_kind_stands_together_and_holds_no_word_twice() {
        let all = entries();
        let kinds: Vec<&str> =
            all.chunk_by(|a, b| a.kind == b.kind).map(|run| run[0].kind).collect();
        let distinct: std::collections::BTreeSet<&str> = kinds.iter().copied().collect();
        assert_eq!(kinds.len(), distinct.len());
        let words: std::collections::BTreeSet<(&str, &str)> =
            all.iter().map(|e| (e.kind, e.word)).collect();
        assert_eq!(words.len(), all.len());
    }
}
