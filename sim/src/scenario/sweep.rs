//! Sweeps: one scenario over lists or ranges of named values, the full product of them.
//!
//! A name is `PART_KEY` (`mains_phase_deg`), `LABEL_s` (the moment of an event), `LABEL_KEY` (a
//! number that the event carries), `start_volts`, `start_amps` or `seed`.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::Scenario;
use super::event::{
    Action, BATTERY_VOLTS, CHARGE_VOLTS, Event, LEAD_OHMS, Lead, TEST_AMPS, TEST_VOLTS,
};
use super::key::Key;
use super::store::CUT_POWER;

/// The greatest number of cases that one scenario may have.
pub const CASES_MAX: usize = 20_000;

/// Named values to run over.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// The names in the order of the text; the last one changes fastest.
    pub names: Vec<Swept>,
}

/// One name and its values.
#[derive(Clone, Debug, PartialEq)]
pub struct Swept {
    /// The name as in the text.
    pub name: String,
    /// Its values.
    pub values: Values,
}

/// Values of one name.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// These.
    List(Vec<f64>),
    /// `from`, `from + step`, and so on up to and including `to`.
    Range {
        /// The first.
        from: f64,
        /// The last, where a step falls on it.
        to: f64,
        /// The distance.
        step: f64,
    },
}

impl Values {
    /// Tells how many values there are; 0 for a step that never arrives.
    #[must_use]
    pub fn count(&self) -> usize {
        match self {
            Self::List(list) => list.len(),
            Self::Range { from, to, step } => {
                // The small part keeps a last value that rounding moved just beyond `to`.
                let steps = libm::floor((to - from) / step + 1.0e-9);
                if steps >= 0.0 && steps < CASES_MAX as f64 { steps as usize + 1 } else { 0 }
            }
        }
    }

    /// Gives one of them.
    #[must_use]
    pub fn get(&self, place: usize) -> Option<f64> {
        match self {
            Self::List(list) => list.get(place).copied(),
            Self::Range { from, to, step } => {
                let value = from + step * place as f64;
                // Rounding must not carry the last value beyond the end, and so beyond its range.
                let held = if *step > 0.0 { value.min(*to) } else { value.max(*to) };
                (place < self.count()).then_some(held)
            }
        }
    }
}

/// What a name of a sweep stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Target {
    Seed,
    Start { key: Key },
    Part { part: usize, key: Key },
    Moment { event: usize, key: Key },
    Carried { event: usize, key: Key },
}

impl Target {
    /// Gives the key whose range binds the values.
    pub(super) fn key(&self) -> Key {
        match self {
            Self::Seed => Key::number("seed", 0.0, 9.0e15),
            Self::Start { key }
            | Self::Part { key, .. }
            | Self::Moment { key, .. }
            | Self::Carried { key, .. } => *key,
        }
    }

    /// Tells whether only whole numbers make sense.
    pub(super) fn is_whole(&self) -> bool {
        match self {
            Self::Seed => true,
            Self::Carried { key, .. } => key.name == CUT_POWER.name,
            Self::Start { .. } | Self::Part { .. } | Self::Moment { .. } => false,
        }
    }
}

/// Sorts events by time; those of one moment keep their order.
pub(super) fn sort_events(events: &mut [Event]) {
    events.sort_by(|a, b| a.s.total_cmp(&b.s));
}

impl Scenario {
    /// Gives every case of the sweep: its values by name, and the scenario with them put in and no
    /// sweep. A scenario without a sweep is one case without names. At most [`CASES_MAX`] cases.
    pub fn cases(&self) -> impl Iterator<Item = (Vec<(String, f64)>, Self)> + '_ {
        (0..self.case_count()).map(|index| self.case(index))
    }

    /// Tells how many cases there are.
    #[must_use]
    pub fn case_count(&self) -> usize {
        let names = self.sweep.as_ref().map_or(&[][..], |sweep| &sweep.names);
        let product =
            names.iter().try_fold(1_usize, |all, swept| all.checked_mul(swept.values.count()));
        product.unwrap_or(usize::MAX).min(CASES_MAX)
    }

    /// Gives one case; an index beyond the last one counts on from the first.
    #[must_use]
    pub fn case(&self, index: usize) -> (Vec<(String, f64)>, Self) {
        let mut case = self.clone();
        let Some(sweep) = case.sweep.take() else { return (Vec::new(), case) };
        let mut rest = index;
        let mut values: Vec<(String, f64)> = Vec::new();
        for swept in sweep.names.iter().rev() {
            let count = swept.values.count().max(1);
            let value = swept.values.get(rest % count).unwrap_or(0.0);
            rest /= count;
            values.push((swept.name.clone(), value));
        }
        values.reverse();
        let targets: Vec<Option<Target>> =
            values.iter().map(|(name, _)| case.targets(name).first().copied()).collect();
        for ((_, value), target) in values.iter().zip(targets) {
            if let Some(target) = target {
                case.put(target, *value);
            }
        }
        sort_events(&mut case.events);
        (values, case)
    }

    fn put(&mut self, target: Target, value: f64) {
        let place = match target {
            Target::Seed => {
                self.seed = value as u64;
                return;
            }
            Target::Start { key } => self.start.function.number_mut(key.name),
            Target::Part { part, key } => {
                self.parts.get_mut(part).and_then(|part| part.part.number_mut(key.name))
            }
            Target::Moment { event, .. } => self.events.get_mut(event).map(|event| &mut event.s),
            Target::Carried { event, key } => {
                self.events.get_mut(event).and_then(|event| event.action.number_mut(key.name))
            }
        };
        if let Some(place) = place {
            *place = value;
        }
    }

    /// Finds everything that a name may stand for; one is right, none or several a mistake.
    pub(super) fn targets(&self, name: &str) -> Vec<Target> {
        self.all_targets()
            .into_iter()
            .filter(|(known, _)| known == name)
            .map(|(_, target)| target)
            .collect()
    }

    /// Lists every name that may be swept.
    pub(super) fn all_targets(&self) -> Vec<(String, Target)> {
        let mut all = alloc::vec![("seed".to_string(), Target::Seed)];
        let mut start = self.start.function;
        for key in [TEST_VOLTS, TEST_AMPS] {
            if start.number_mut(key.name).is_some() {
                all.push((format!("start_{}", key.name), Target::Start { key }));
            }
        }
        for (place, part) in self.parts.iter().enumerate() {
            let mut numbers = part.part.clone();
            for (key, _) in part.part.texts() {
                if let (Some(_), Some(key)) = (numbers.number_mut(key), part.key(key)) {
                    let target = Target::Part { part: place, key: *key };
                    all.push((format!("{}_{}", part.name, key.name), target));
                }
            }
        }
        for (place, event) in self.events.iter().enumerate() {
            let Some(label) = &event.label else { continue };
            let key = Key::number("s", 0.0, self.seconds);
            all.push((format!("{label}_s"), Target::Moment { event: place, key }));
            for key in self.carried(&event.action) {
                let target = Target::Carried { event: place, key };
                all.push((format!("{label}_{}", key.name), target));
            }
        }
        all
    }

    /// Lists the numbers that an action carries.
    fn carried(&self, action: &Action) -> Vec<Key> {
        let mut probe = action.clone();
        let mut only = |keys: &[Key]| {
            keys.iter().filter(|key| probe.number_mut(key.name).is_some()).copied().collect()
        };
        match action {
            Action::BatteryVolts(_) => only(&[BATTERY_VOLTS]),
            Action::CutPowerInWrite(_) => only(&[CUT_POWER]),
            Action::Charge { .. } => only(&[CHARGE_VOLTS]),
            Action::Lead(Lead::Ohms(_)) => only(&[LEAD_OHMS]),
            Action::Select(_) => only(&[TEST_VOLTS, TEST_AMPS]),
            Action::Set { part, .. } => {
                let part = self.parts.iter().find(|known| known.name == *part);
                let kind = part.and_then(|part| super::Kind::find(part.part.kind()));
                only(kind.map_or(&[], |kind| kind.keys))
            }
            Action::Fault(call) => only(call.spec.params),
            _ => Vec::new(),
        }
    }
}
