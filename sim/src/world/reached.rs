//! Which states, reasons, classes and tones a run reached.

use alloc::collections::BTreeSet;

use ohmwarden_core::commands::Commands;

/// What was reached, by name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reached {
    /// States.
    pub states: BTreeSet<&'static str>,
    /// Reasons.
    pub reasons: BTreeSet<&'static str>,
    /// Classes of circuit.
    pub classes: BTreeSet<&'static str>,
}

impl Reached {
    pub(super) fn note(&mut self, commands: &Commands) {
        // Most blocks change nothing, and a set is not cheap.
        if commands.event().is_some() || self.states.is_empty() {
            let view = commands.view();
            self.states.insert(view.state.word());
            self.reasons.insert(view.reason.word());
        }
        if let Some(class) = commands.view().circuit
            && !self.classes.contains(class.word())
        {
            self.classes.insert(class.word());
        }
    }

    /// Takes over what another run reached.
    pub fn merge(&mut self, other: &Self) {
        self.states.extend(&other.states);
        self.reasons.extend(&other.reasons);
        self.classes.extend(&other.classes);
    }
}
