//! Watches of time: `within` and `eventually`.

use super::monitor::{Fired, Outcome};
use super::signal::Signals;
use super::tree::MARGIN_MAX;
use super::window::{Verdict, Window};
use super::{Expression, Stays};

/// What opens a window.
#[derive(Clone, Copy, Debug)]
pub(super) enum Opening {
    AtStart,
    At(Option<usize>),
    Done,
}

/// `within` and `eventually`.
#[derive(Clone, Debug)]
pub(super) struct Timed {
    that: Expression,
    opening: Opening,
    until: Option<usize>,
    length: f64,
    window: Window,
}

impl Timed {
    pub(super) fn new(
        opening: Opening,
        length: f64,
        that: &Expression,
        stays: &Stays,
        place: impl Fn(&str) -> Option<usize>,
    ) -> Self {
        let until = stays.label().and_then(place);
        let window = Window::new(length, *stays != Stays::No);
        Self { that: that.clone(), opening, until, length, window }
    }

    pub(super) fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        if matches!(self.opening, Opening::AtStart) {
            self.window.start(0.0);
            self.opening = Opening::Done;
        }
        for event in fired {
            if self.until == Some(event.label) {
                self.window.stop(event.seconds);
            }
            if matches!(self.opening, Opening::At(Some(label)) if label == event.label) {
                self.window.start(event.seconds);
            }
        }
        if self.window.is_open() {
            self.window.sample(t, self.that.now(signals));
        }
    }

    pub(super) fn finish(&mut self, last: f64, end: f64) -> Outcome {
        let verdict = self.window.finish(last, end);
        let part = |spare: f64| if self.length > 0.0 { spare / self.length } else { spare };
        let score = |verdict: Verdict| {
            let time = part(verdict.spare).max(-MARGIN_MAX);
            if verdict.held { time } else { time.min(verdict.value) }
        };
        Outcome {
            held: verdict.map(|verdict| verdict.held),
            margin: verdict.map(|verdict| verdict.spare),
            unit: "s",
            score: verdict.map(score),
            exercised: self.window.opened(),
            at_seconds: verdict.map(|verdict| verdict.at),
        }
    }
}
