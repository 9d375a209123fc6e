//! The daily check: known resistors and a known voltage, before the instrument is relied on.
//!
//! A step agrees where the reading and the standard differ by no more than their uncertainties
//! together, at `k = 2`; it differs where they do by more; nothing can be said where the reading is
//! none, is a bound that reaches the standard, is of another unit, or carries a flag that forbids
//! it. The check is good if every step agrees (common practice: a check box of a few resistors).

mod bytes;

pub use bytes::LENGTH;

use crate::date::Date;
use crate::judge::{COVER, Flags, Reading, Unit, Value};

/// The most steps of one check.
pub const MOST_STEPS: usize = 8;

/// A known resistor or voltage.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Standard {
    /// Its value, in the base unit.
    pub value: f32,
    /// Its standard uncertainty.
    pub doubt: f32,
    /// What it is of.
    pub unit: Unit,
}

/// What a step, or the whole check, says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Verdict {
    /// Not taken yet, or nothing can be said.
    #[default]
    Undecided,
    /// Reading and standard agree within their uncertainties.
    Agrees,
    /// They do not.
    Differs,
}

/// One step: the standard, what was read on it and what that says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Step {
    /// What was known.
    pub standard: Standard,
    /// What was read; no reading as long as the step is not taken.
    pub reading: Reading,
}

/// A whole check.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Daily {
    date: Option<Date>,
    steps: heapless::Vec<Step, MOST_STEPS>,
}

impl Verdict {
    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Undecided => "undecided",
            Self::Agrees => "agrees",
            Self::Differs => "differs",
        }
    }
}

impl Step {
    /// What the step says.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let Self { standard, reading } = self;
        let spoiled = reading.flags.any(Flags::SPOILING.without(NOT_OF_A_STANDARD));
        if spoiled || reading.unit != standard.unit {
            return Verdict::Undecided;
        }
        let doubt = COVER * libm::hypotf(reading.doubt, standard.doubt);
        let off = |x: f32| x - standard.value;
        let (apart, may_agree) = match reading.value {
            Value::None => return Verdict::Undecided,
            Value::Number(x) => (libm::fabsf(off(x)), true),
            Value::Above(x) => (off(x), false),
            Value::Below(x) => (-off(x), false),
        };
        if !(apart.is_finite() && doubt.is_finite()) {
            Verdict::Undecided
        } else if apart > doubt {
            Verdict::Differs
        } else if may_agree {
            Verdict::Agrees
        } else {
            Verdict::Undecided
        }
    }
}

/// A resistor on a check box needs no proof of the path: reading it is one.
const NOT_OF_A_STANDARD: Flags = Flags::PATH_UNPROVED;

impl Daily {
    /// Begins a check of these standards, in this order; those beyond [`MOST_STEPS`] are left out.
    #[must_use]
    pub fn new(date: Option<Date>, standards: &[Standard]) -> Self {
        let step = |standard: &Standard| Step { standard: *standard, reading: Reading::NONE };
        Self { date, steps: standards.iter().take(MOST_STEPS).map(step).collect() }
    }

    /// Takes the reading of a step, counted from 0; answers what it says, `None` where there is no
    /// such step. A step may be taken again: the last reading counts.
    pub fn take(&mut self, step: usize, reading: Reading) -> Option<Verdict> {
        let step = self.steps.get_mut(step)?;
        step.reading = reading;
        Some(step.verdict())
    }

    /// What the whole check says: differs if any step does, agrees if all do.
    #[must_use]
    pub fn result(&self) -> Verdict {
        let any = |verdict| self.steps.iter().any(|step| step.verdict() == verdict);
        if any(Verdict::Differs) {
            Verdict::Differs
        } else if self.steps.is_empty() || any(Verdict::Undecided) {
            Verdict::Undecided
        } else {
            Verdict::Agrees
        }
    }

    /// The day of the check, where it was known.
    #[must_use]
    pub const fn date(&self) -> Option<Date> {
        self.date
    }

    /// Its steps.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MEGOHM: Standard = Standard { value: 1.0e6, doubt: 3.0e3, unit: Unit::Ohm };

    fn read(ohms: f32) -> Reading {
        Reading { value: Value::Number(ohms), doubt: 4.0e3, ..Reading::NONE }
    }

    fn said(reading: Reading) -> Verdict {
        Step { standard: MEGOHM, reading }.verdict()
    }

    #[test]
    fn the_two_uncertainties_count_together() {
        // 3 and 4 make 5; at k = 2 the two may be 10 kohm apart.
        assert_eq!(said(read(1.0099e6)), Verdict::Agrees);
        assert_eq!(said(read(0.9901e6)), Verdict::Agrees);
        assert_eq!(said(read(1.0101e6)), Verdict::Differs);
        assert_eq!(said(read(0.9899e6)), Verdict::Differs);
    }

    #[test]
    fn a_bound_can_differ_but_never_agree() {
        let bound = |value| Reading { value, ..read(0.0) };
        assert_eq!(said(bound(Value::Above(2.0e6))), Verdict::Differs);
        assert_eq!(said(bound(Value::Above(0.5e6))), Verdict::Undecided);
        assert_eq!(said(bound(Value::Below(0.5e6))), Verdict::Differs);
        assert_eq!(said(bound(Value::Below(2.0e6))), Verdict::Undecided);
    }

    #[test]
    fn what_is_no_reading_of_that_standard_decides_nothing() {
        assert_eq!(said(Reading::NONE), Verdict::Undecided);
        assert_eq!(said(Reading { unit: Unit::Volt, ..read(1.0e6) }), Verdict::Undecided);
        assert_eq!(said(read(1.0e6).flagged(Flags::DISTURBED)), Verdict::Undecided);
        assert_eq!(said(read(f32::NAN)), Verdict::Undecided);
        assert_eq!(said(read(1.0e6).flagged(Flags::PATH_UNPROVED)), Verdict::Agrees);
    }

    #[test]
    fn a_check_is_good_only_once_every_step_agrees() {
        let mut daily = Daily::new(None, &[MEGOHM, MEGOHM]);
        assert_eq!(daily.result(), Verdict::Undecided);
        assert_eq!(daily.take(0, read(1.0e6)), Some(Verdict::Agrees));
        assert_eq!(daily.result(), Verdict::Undecided, "a step is still missing");
        assert_eq!(daily.take(1, read(2.0e6)), Some(Verdict::Differs));
        assert_eq!(daily.result(), Verdict::Differs);
        daily.take(1, read(1.001e6));
        assert_eq!(daily.result(), Verdict::Agrees);
        assert_eq!(daily.take(2, read(1.0e6)), None);
        assert_eq!(Daily::new(None, &[]).result(), Verdict::Undecided, "nothing was checked");
    }
}
