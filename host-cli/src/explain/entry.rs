//! Every word that a report may use, with what core itself says of it.

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::interlock::{Lock, Reason, State};
use ohmwarden_core::invariants::Rule;
use ohmwarden_core::judge::Flags;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::tone::Tone;
use ohmwarden_sim::{faults, world};

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
    all.extend(State::WORDS.iter().copied().map(state));
    all.extend(Circuit::ALL.into_iter().map(class));
    all.extend(Flags::WORDS.iter().map(|(flag, word)| self::flag(*flag, word)));
    all.extend(Tone::WORDS.iter().copied().map(tone));
    all.extend(world::SIGNALS.iter().map(signal));
    all.extend(faults::SPECS.iter().map(fault));
    all
}

fn entry(
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
            "detect: the proof before a drive (core/src/detect/prove.rs)".to_owned()
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

fn state(word: &'static str) -> Entry {
    let sentence = match word {
        "boot" => {
            "just powered up: everything off, looking whether a reset left the terminals charged"
        }
        "rest" => "nothing is driven; the voltmeter works",
        "rest_low" => "as rest, with a supply too low to drive anything",
        "prove" => "source off: the channels and the circuit are being proved",
        "ramp" => "the test voltage climbs, by at most 2 V a millisecond",
        "drive" => "at voltage, measuring while the key is held",
        "peek" => "source off for a moment inside a drive, to see whether the voltage is ours",
        "timed_drive" => "a timed drive, its ramp included; it goes on without the key",
        "cont_run" => "continuity current flows",
        "nulling" => "the lead resistance is being learned",
        "unwind" => "continuity current dies away before its path opens",
        "discharging" => "the discharge resistor takes the stored charge out",
        "settle" => "the discharge is open: does the voltage stay down?",
        "inhibited" => "something forbids a drive for now; the reason says what",
        "locked" => {
            "something is broken: nothing is driven until a power cycle and a passed self-test"
        }
        _ => "",
    };
    Entry {
        origin: "Decided in core, interlock: one pure function of state and input \
            (core/src/interlock/next.rs)."
            .to_owned(),
        ..entry(word, ("state", "states"), sentence)
    }
}

fn class(class: Circuit) -> Entry {
    let sentence = match class {
        Circuit::Dead => {
            "quiet, open and in the drive topology: proved a moment ago, and no longer than that"
        }
        Circuit::Charged => "a store that discharges as a passive circuit does",
        Circuit::Standing => "a weak direct source, within what the profile permits",
        Circuit::Induced => "alternating voltage that collapses under a light load",
        Circuit::LiveAc => "alternating voltage from outside",
        Circuit::LiveDc => "direct voltage that does not decay, or comes back",
        Circuit::LiveMixed => "direct and alternating voltage from outside",
        Circuit::LivePulsed => "pulses from outside, between which it looks quiet",
        Circuit::StoredOrLive => {
            "it does not discharge: a source, or a store too large to tell from one"
        }
        Circuit::Unproven => "a small voltage of unknown kind, or nothing consistent",
    };
    Entry {
        origin: "Decided in core, detect, with the source off; the numbers behind it are on the \
            view as evidence."
            .to_owned(),
        ..entry(class.word(), ("class of circuit", "classes of circuit"), sentence)
    }
}

fn flag(flag: Flags, word: &'static str) -> Entry {
    let sentence = match word {
        "unsettled" => "not settled: charging, absorbing, or an inductance still taking current",
        "rising" => {
            "still climbing by more than 5 % in 10 s although settled from window to window"
        }
        "source_limited" => "the source was at its limit, so the voltage stood below nominal",
        "disturbed" => "alternating voltage lies on the test voltage",
        "clipped" => "a channel was at its end",
        "low_current" => "less current than the function promises",
        "asymmetric" => "the two directions of current disagree: a junction, a battery, an oxide",
        "null_larger" => "the lead null is larger than the reading: wrong leads",
        "at_null" => "within its doubt of the lead null: shown as zero",
        "path_unproved" => "nothing shows that the leads reached the circuit",
        "standing" => {
            "a standing voltage was corrected for; the reading holds its source in parallel"
        }
        "breakdown" => "the voltage broke down under test",
        "frozen" => "not the present state of the terminals any more",
        "one_way" => "measured in one direction only, because the load is inductive",
        "aborted" => "the drive was cut short",
        _ => "",
    };
    let spoils = if flag.any(Flags::SPOILING) {
        "A reading that carries it is never a pass."
    } else {
        "A reading that carries it may still pass."
    };
    Entry {
        advice: spoils.to_owned(),
        origin: "Set in core, measure, and weighed in judge.".to_owned(),
        ..entry(word, ("flag of a reading", "flags of a reading"), sentence)
    }
}

fn tone(word: &'static str) -> Entry {
    let sentence = match word {
        "silent" => "nothing is heard",
        "driving" => "slow pips: our own test voltage is, or may still be, on the terminals",
        "joined" => "a steady tone: the path is below the beeper threshold",
        "live" => "fast alternation: voltage from outside is on the terminals",
        _ => "",
    };
    Entry {
        origin: "Commanded by core (core/src/tone.rs).".to_owned(),
        ..entry(word, ("tone", "tones"), sentence)
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
