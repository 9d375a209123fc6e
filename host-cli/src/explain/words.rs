//! The words that core gives a name but no sentence: states, classes, flags, tones.

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::judge::Flags;

use super::entry::{Entry, entry};

/// A state of the interlock.
pub(super) fn state(word: &'static str) -> Entry {
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

/// A class of circuit.
pub(super) fn class(class: Circuit) -> Entry {
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

/// A flag of a reading.
pub(super) fn flag(flag: Flags, word: &'static str) -> Entry {
    let sentence = match word {
        "unsettled" => "not settled: charging, absorbing, or an inductance still taking current",
        "rising" => {
            "still climbing by more than 5 % in 10 s although settled from window to window"
        }
        "source_limited" => "the source was at its limit, so the voltage stood below nominal",
        "disturbed" => "alternating voltage lies on the test voltage",
        "clipped" => "a channel was at its end, or stood still",
        "low_current" => "less current than the function promises",
        "asymmetric" => "the two directions of current disagree: a junction, a battery, an oxide",
        "null_larger" => "the lead null is larger than the reading: wrong leads",
        "at_null" => "within its doubt of the lead null: shown as zero",
        "path_unproved" => "nothing shows that the leads reached the circuit",
        "standing" => {
            "a standing voltage was corrected for; the reading holds its source in parallel"
        }
        "source_beside" => {
            "the source of a standing voltage is not ten times the limit: it would hide the insulation"
        }
        "breakdown" => "the voltage broke down under test",
        "frozen" => "not the present state of the terminals any more",
        "one_way" => "measured in one direction only, because the load is inductive",
        "aborted" => "the drive was cut short",
        "standing_moved" => "the standing voltage was not the same after the test as before it",
        "uncalibrated" => "no valid calibration constants: absent, or damaged",
        "calibration_due" => "the calibration is past its due date, or the date is not known",
        "slow_ramp" => "the voltage took longer than 3 s to come up, as into a large store",
        "step_fall" => "the resistance fell by a quarter or more from one step to the next",
        "disagreeing" => "two ways to the same capacitance do not agree",
        "temperature_corrected" => "brought to another temperature by a rule",
        _ => "",
    };
    let spoils = if flag.any(Flags::SPOILING) {
        "A reading that carries it is never a pass."
    } else {
        "A reading that carries it may still pass."
    };
    Entry {
        origin: format!("{spoils} Set in core, measure, and weighed in judge."),
        ..entry(word, ("flag of a reading", "flags of a reading"), sentence)
    }
}

/// What is heard.
pub(super) fn tone(word: &'static str) -> Entry {
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
