//! What a person may do next, by the verdict and by what was measured.

use crate::judge::{Judged, Limit, Unit, Verdict, Why};

/// Gives what to do next, as one or two sentences.
///
/// It never says that a circuit may be touched or energised.
#[must_use]
pub fn next_step(judged: &Judged) -> &'static str {
    match judged.verdict() {
        Verdict::Pass => {
            "Write it down with test voltage, time, temperature and humidity, and compare it with \
             earlier readings of the same circuit: a steady fall counts although each one passes."
        }
        Verdict::Fail => after_fail(judged),
        Verdict::Undecided(why) => after_nothing(why),
    }
}

fn after_fail(judged: &Judged) -> &'static str {
    match (judged.reading().unit, judged.limit()) {
        (Unit::Ohm, Limit::AtLeast(_)) => {
            "Leave it isolated. Take off what is connected, divide the circuit and test each part \
             and each pair of conductors; look for moisture, dirt and damage."
        }
        (Unit::Ohm, Limit::AtMost(_)) => {
            "Null the leads and test again on clean metal. Then follow the circuit from joint to \
             joint for one that is loose, corroded or open, and check length and cross-section."
        }
        (Unit::Ratio | Unit::MilliampPerVoltFarad, _) => {
            "Clean and dry the insulation and repeat it at the same voltage, connections and \
             temperature; where it stays so, have the insulation looked at."
        }
        _ => "Repeat it, and find out what differs from what was expected.",
    }
}

const fn after_nothing(why: Why) -> &'static str {
    match why {
        Why::NoReading | Why::NotANumber => "Measure it: there is no number to judge.",
        Why::Flagged => {
            "Remove what the flags say (ohmwarden explain tells what each one means) and measure \
             again: a flagged reading is no pass."
        }
        Why::GuardBand => {
            "The limit lies within the doubt of the reading: measure again with less doubt, or \
             treat it as not met."
        }
        Why::BoundTooWeak => {
            "A bound short of the limit decides nothing: measure again in a range, or at a \
             voltage, that reaches the limit."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::{Flags, Reading, Value};
    use std::collections::BTreeSet;

    #[test]
    fn each_outcome_is_answered_in_its_own_words() {
        let of = |value, unit, limit, flags| {
            next_step(&Reading { value, unit, doubt: 0.1, flags, ..Reading::NONE }.judge(limit))
        };
        let (least, most) = (Limit::AtLeast(10.0), Limit::AtMost(10.0));
        let (low, high) = (Value::Number(5.0), Value::Number(20.0));
        let answers: BTreeSet<&str> = [
            of(high, Unit::Ohm, least, Flags::NONE),
            of(low, Unit::Ohm, least, Flags::NONE),
            of(high, Unit::Ohm, most, Flags::NONE),
            of(low, Unit::Ratio, least, Flags::NONE),
            of(high, Unit::Ohm, least, Flags::PATH_UNPROVED),
            of(Value::Number(10.0), Unit::Ohm, least, Flags::NONE),
            of(Value::Above(5.0), Unit::Ohm, least, Flags::NONE),
            of(Value::None, Unit::Ohm, least, Flags::NONE),
        ]
        .into();
        assert_eq!(answers.len(), 8);
        assert!(answers.iter().all(|it| !it.contains("safe")));
    }
}
