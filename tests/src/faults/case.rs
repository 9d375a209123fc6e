//! One fault with its parameters in one phase.

use core::fmt;

use ohmwarden_sim::scenario::{Action, FaultCall, Param, Scenario};

use super::phase::{Moments, Phase};
use crate::scene::{at, fault, sort};

/// A parameter of a fault as a table writes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// A number, in the unit of its key.
    N(f64),
    /// A word.
    W(&'static str),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::N(number) => write!(f, "{number}"),
            Self::W(word) => f.write_str(word),
        }
    }
}

/// A fault in a phase.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// Its name in the catalogue.
    pub fault: &'static str,
    /// What differs from its defaults.
    pub with: &'static [(&'static str, Value)],
    /// When it begins.
    pub phase: Phase,
}

impl Case {
    /// The run of the sound instrument in this phase, with the fault in it.
    #[must_use]
    pub fn scenario(&self, moments: &Moments) -> Scenario {
        let mut scenario = self.phase.sound(moments);
        let begins = Action::Fault(call(self.fault, self.with));
        scenario.events.push(at(self.phase.begins(moments), begins));
        sort(&mut scenario);
        scenario
    }
}

impl Case {
    /// The fault with what differs from its defaults, as a table writes it.
    #[must_use]
    pub fn variant(&self) -> String {
        self.with
            .iter()
            .fold(self.fault.into(), |text, (key, value)| format!("{text} {key}={value}"))
    }
}

impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, in {}", self.variant(), self.phase.word())
    }
}

/// A call of the catalogue with some parameters set.
///
/// # Panics
/// There is no such fault, no such parameter, or its value is out of range: a mistake of the table.
#[must_use]
pub fn call(name: &str, with: &[(&'static str, Value)]) -> FaultCall {
    use ohmwarden_sim::scenario::Takes;
    let mut call = fault(name);
    for (key, value) in with {
        let takes = call.spec.param(key).expect("a parameter of this fault").takes;
        let param = match (*value, takes) {
            (Value::N(number), Takes::Number { least, greatest, .. }) => {
                assert!((least..=greatest).contains(&number), "{name}: {key} = {number}");
                Param::Number(number)
            }
            (Value::W(word), Takes::Word { accepted, .. }) => {
                assert!(accepted.contains(&word), "{name}: {key} = {word}");
                Param::Word(word.into())
            }
            _ => panic!("{name}: {key} is of another kind"),
        };
        let place = call.params.iter_mut().find(|(known, _)| known == key);
        place.expect("every parameter is in a call").1 = param;
    }
    call
}
