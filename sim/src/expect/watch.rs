//! Watches of values: `always`, `never`, `at` and `until`.

use alloc::string::String;

use super::monitor::{Fired, Outcome};
use super::signal::Signals;
use super::tree::Now;
use super::window::SAME_TIME;
use super::{Expression, Span};

/// The worst of what was seen.
#[derive(Clone, Copy, Debug)]
struct Worst {
    holds: bool,
    margin: f64,
    at: f64,
}

impl Worst {
    /// Keeps the worse of two, the first of equals: what fails, then the lesser margin. Most
    /// samples are no worse, and then nothing is written.
    fn keep(worst: &mut Option<Self>, now: Self) {
        let is_worse = worst.is_none_or(|worst| match (worst.holds, now.holds) {
            (true, false) => true,
            (false, true) => false,
            _ => now.margin < worst.margin,
        });
        if is_worse {
            *worst = Some(now);
        }
    }
}

/// Tells a margin in the unit of the expression, or in scales where it has none.
fn told(unit: Option<(&'static str, f64)>, worst: Option<Worst>, exercised: u32) -> Outcome {
    let (unit, scale) = unit.unwrap_or(("scale", 1.0));
    Outcome {
        held: worst.map(|worst| worst.holds),
        margin: worst.map(|worst| worst.margin * scale),
        unit,
        score: worst.map(|worst| worst.margin),
        exercised,
        at_seconds: worst.map(|worst| worst.at),
    }
}

/// `always` and `never`.
#[derive(Clone, Debug)]
pub(super) struct Steady {
    that: Expression,
    never: bool,
    after: Option<Option<usize>>,
    before: Option<Option<usize>>,
    begun: bool,
    ended: bool,
    worst: Option<Worst>,
    samples: u32,
}

impl Steady {
    pub(super) fn new(
        that: &Expression,
        never: bool,
        span: &Span,
        place: impl Fn(&str) -> Option<usize>,
    ) -> Self {
        let after = span.after.as_deref().map(&place);
        let before = span.before.as_deref().map(&place);
        let begun = after.is_none();
        let that = that.clone();
        Self { that, never, after, before, begun, ended: false, worst: None, samples: 0 }
    }

    pub(super) fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        self.begun |= came(self.after, fired);
        self.ended |= came(self.before, fired);
        if !self.begun || self.ended {
            return;
        }
        let now = self.that.now(signals);
        let now = if self.never { now.opposite() } else { now };
        self.samples = self.samples.saturating_add(1);
        let now = Worst { holds: now.holds, margin: now.margin, at: t };
        Worst::keep(&mut self.worst, now);
    }

    pub(super) fn finish(&self) -> Outcome {
        told(self.that.unit(), self.worst, self.samples)
    }
}

/// Whether a label, where one is named, is among those that came.
fn came(label: Option<Option<usize>>, fired: &[Fired]) -> bool {
    label.flatten().is_some_and(|label| fired.iter().any(|event| event.label == label))
}

/// `at`.
#[derive(Clone, Debug)]
pub(super) struct Moment {
    that: Expression,
    delay: f64,
    after: Option<Option<usize>>,
    due: Option<f64>,
    worst: Option<Worst>,
    looked: u32,
}

impl Moment {
    pub(super) fn new(
        delay: f64,
        after: &Option<String>,
        that: &Expression,
        place: impl Fn(&str) -> Option<usize>,
    ) -> Self {
        let after = after.as_deref().map(place);
        let due = after.is_none().then_some(delay);
        Self { that: that.clone(), delay, after, due, worst: None, looked: 0 }
    }

    pub(super) fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        // A moment that is due now is looked at before the label that sets the next one.
        self.look(t, signals);
        let Some(Some(label)) = self.after else { return };
        for event in fired.iter().filter(|event| event.label == label) {
            self.due = Some(event.seconds + self.delay);
            self.look(t, signals);
        }
    }

    /// Looks where the moment has come.
    fn look(&mut self, t: f64, signals: &dyn Signals) {
        if self.due.is_none_or(|due| t < due - SAME_TIME) {
            return;
        }
        self.due = None;
        self.looked = self.looked.saturating_add(1);
        let Now { holds, margin } = self.that.now(signals);
        let now = Worst { holds, margin, at: t };
        Worst::keep(&mut self.worst, now);
    }

    pub(super) fn finish(&self) -> Outcome {
        told(self.that.unit(), self.worst, self.looked)
    }
}

/// `until`: the best over all moments of the lesser of `until` then and `hold` before.
#[derive(Clone, Debug)]
pub(super) struct Until {
    hold: Expression,
    until: Expression,
    held_so_far: Option<Now>,
    best: Option<Worst>,
    samples: u32,
}

impl Until {
    pub(super) fn new(hold: &Expression, until: &Expression) -> Self {
        let (hold, until) = (hold.clone(), until.clone());
        Self { hold, until, held_so_far: None, best: None, samples: 0 }
    }

    pub(super) fn step(&mut self, t: f64, signals: &dyn Signals) {
        self.samples = self.samples.saturating_add(1);
        let until = self.until.now(signals);
        let now = self.held_so_far.map_or(until, |held| held.and(until));
        self.best = Some(match self.best {
            Some(best) if now.margin <= best.margin => {
                Worst { holds: best.holds || now.holds, ..best }
            }
            // A greater margin than one that held is above zero, so it holds as well.
            _ => Worst { holds: now.holds, margin: now.margin, at: t },
        });
        let hold = self.hold.now(signals);
        self.held_so_far = Some(self.held_so_far.map_or(hold, |held| held.and(hold)));
    }

    pub(super) fn finish(&self) -> Outcome {
        let unit = self.hold.unit().filter(|unit| self.until.unit() == Some(*unit));
        told(unit, self.best, self.samples)
    }
}
