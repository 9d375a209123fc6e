//! Storms: random panel events, drawn once from the scenario's seed and then plain events.

use alloc::vec::Vec;

use super::chance::{below, stream, unit};
use super::event::{Action, Button, Event, Function};
use super::key::Key;
use super::{Scenario, sweep};

/// A hail of panel events between two moments.
#[derive(Clone, Debug, PartialEq)]
pub struct Storm {
    /// Mean rate of events.
    pub events_per_second: f64,
    /// The first moment, seconds.
    pub from_s: f64,
    /// The last moment, seconds.
    pub to_s: f64,
    /// What is worked; never empty.
    pub keys: Vec<StormKey>,
}

/// One thing on the panel that a storm works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StormKey {
    /// A button, down if it is up and up if it is down.
    Button(Button),
    /// The selector, to any function.
    Select,
}

impl StormKey {
    /// All of them, in the order of [`StormKey::WORDS`].
    pub const ALL: [Self; 4] = [
        Self::Button(Button::Test),
        Self::Button(Button::Null),
        Self::Button(Button::Hold),
        Self::Select,
    ];
    /// Their words in the text.
    pub const WORDS: [&'static str; 4] = ["test", "null", "hold", "select"];

    /// Gives its word in the text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Button(button) => button.word(),
            Self::Select => "select",
        }
    }
}

/// The rate of a storm: at most one event for each sample of the default rate.
pub(super) const RATE: Key = Key::number("events_per_second", 0.01, 10_000.0);
/// The most events that a storm may be expected to bring.
pub(super) const EVENTS_MAX: f64 = 200_000.0;

/// The test voltages that the selector offers in a storm.
const STORM_VOLTS: [f64; 6] = [10.0, 50.0, 100.0, 250.0, 500.0, 1_000.0];

impl Scenario {
    /// Gives the same scenario with its storm turned into events; sorted by time.
    #[must_use]
    pub fn settled(&self) -> Self {
        let mut settled = self.clone();
        if let Some(storm) = settled.storm.take() {
            let drawn = self.drawn(&storm);
            settled.events.extend(drawn);
            sweep::sort_events(&mut settled.events);
        }
        settled
    }

    /// Gives everything that happens, in order: events, storm, and each `tap` as press and release.
    #[must_use]
    pub fn timeline(&self) -> Vec<Event> {
        let mut timeline = Vec::new();
        for event in self.settled().events {
            let Action::Tap(button) = event.action else {
                timeline.push(event);
                continue;
            };
            let s = event.s + super::event::TAP_SECONDS;
            timeline.push(Event { action: Action::Press(button), ..event });
            timeline.push(Event { s, label: None, action: Action::Release(button) });
        }
        sweep::sort_events(&mut timeline);
        timeline
    }

    /// Draws the events of a storm: independent, at a constant mean rate.
    fn drawn(&self, storm: &Storm) -> Vec<Event> {
        let mut rng = stream(self.seed, "storm");
        let held = [
            (self.start.test_held, Button::Test),
            (self.start.null_held, Button::Null),
            (self.start.hold_held, Button::Hold),
        ];
        let mut down: Vec<Button> =
            held.into_iter().filter(|(held, _)| *held).map(|(_, button)| button).collect();
        let mut events = Vec::new();
        let mut s = storm.from_s;
        loop {
            s += -libm::log(1.0 - unit(&mut rng)) / storm.events_per_second;
            if s > storm.to_s || events.len() as f64 > 2.0 * EVENTS_MAX {
                return events;
            }
            let place = below(&mut rng, storm.keys.len() as u32);
            let action = match storm.keys.get(place as usize) {
                Some(StormKey::Button(button)) => toggled(*button, &mut down),
                Some(StormKey::Select) => {
                    let volts = below(&mut rng, STORM_VOLTS.len() as u32);
                    let volts = STORM_VOLTS.get(volts as usize).copied().unwrap_or(500.0);
                    Action::Select(any_function(below(&mut rng, 5), volts))
                }
                None => return events,
            };
            events.push(Event { s, label: None, action });
        }
    }
}

fn toggled(button: Button, down: &mut Vec<Button>) -> Action {
    if down.contains(&button) {
        down.retain(|other| *other != button);
        Action::Release(button)
    } else {
        down.push(button);
        Action::Press(button)
    }
}

fn any_function(place: u32, volts: f64) -> Function {
    match place {
        0 => Function::Off,
        1 => Function::Volts,
        2 => Function::Continuity { amps: 0.2 },
        3 => Function::Resistance,
        _ => Function::Insulation { volts, timed: None },
    }
}
