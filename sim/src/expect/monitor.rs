//! Monitors: one expectation watched online, in constant time and memory a sample.

use alloc::string::String;

use super::signal::Signals;
use super::tree::{MARGIN_MAX, Now};
use super::window::{SAME_TIME, Verdict, Window};
use super::{Expect, Expression, Rule, Span, Stays};

/// A labelled moment of the scenario that has just come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fired {
    /// Its place in the list of labels given to [`Monitor::new`].
    pub label: usize,
    /// The exact moment, seconds from the start; it may lie between two samples.
    pub seconds: f64,
}

/// What an expectation came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// Whether it held; `None` where the run never decided it, which is not "held".
    pub held: Option<bool>,
    /// The worst margin, in `unit`: above zero to spare, below zero missed by.
    pub margin: Option<f64>,
    /// The unit of `margin`: `s` for expectations about time, the unit of the signals where they
    /// agree on one, `scale` where they do not.
    pub unit: &'static str,
    /// The margin without unit, for comparing and searching: scales, or for time the part of the
    /// window that is to spare. A missed window gives the worse of its lateness, as a multiple of
    /// the window, and the margin of its expression.
    pub score: Option<f64>,
    /// How often it was put to the test: samples looked at, or windows opened.
    pub exercised: u32,
    /// The moment of the worst, seconds.
    pub at_seconds: Option<f64>,
}

/// Watches one expectation while a run goes on.
#[derive(Clone, Debug)]
pub struct Monitor {
    watch: Watch,
    last: Option<f64>,
    interval: f64,
}

#[derive(Clone, Debug)]
enum Watch {
    Steady(Steady),
    Moment(Moment),
    Window(Timed),
    Until(Until),
}

impl Monitor {
    /// Starts watching. `labels` are the labels of the scenario in the order in which
    /// [`Fired::label`] counts them; one that the expectation names and that is not among them
    /// never comes.
    #[must_use]
    pub fn new<L: AsRef<str>>(expect: &Expect, labels: &[L]) -> Self {
        let place = |name: &str| labels.iter().position(|label| label.as_ref() == name);
        let watch = match &expect.rule {
            Rule::Always(that, span) => Watch::Steady(Steady::new(that, false, span, place)),
            Rule::Never(that, span) => Watch::Steady(Steady::new(that, true, span, place)),
            Rule::At { s, after, that } => Watch::Moment(Moment::new(*s, after, that, place)),
            Rule::Eventually { s, that, stays } => {
                Watch::Window(Timed::new(Opening::AtStart, *s, that, stays, place))
            }
            Rule::Within { after, s, that, stays } => {
                let opening = Opening::At(place(after));
                Watch::Window(Timed::new(opening, *s, that, stays, place))
            }
            Rule::Until { hold, until } => Watch::Until(Until::new(hold, until)),
        };
        Self { watch, last: None, interval: 0.0 }
    }

    /// Takes one sample at `t` seconds, and the labels that came since the sample before, up to
    /// and including `t`.
    pub fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        if let Some(last) = self.last {
            self.interval = t - last;
        }
        self.last = Some(t);
        match &mut self.watch {
            Watch::Steady(steady) => steady.step(t, signals, fired),
            Watch::Moment(moment) => moment.step(t, signals, fired),
            Watch::Window(timed) => timed.step(t, signals, fired),
            Watch::Until(until) => until.step(t, signals),
        }
    }

    /// Ends the run and tells what the expectation came to.
    #[must_use]
    pub fn finish(mut self) -> Outcome {
        let last = self.last.unwrap_or(0.0);
        match &mut self.watch {
            Watch::Steady(steady) => steady.finish(),
            Watch::Moment(moment) => moment.finish(),
            Watch::Window(timed) => timed.finish(last, last + self.interval),
            Watch::Until(until) => until.finish(),
        }
    }
}

/// The worst of what was seen.
#[derive(Clone, Copy, Debug)]
struct Worst {
    holds: bool,
    margin: f64,
    at: f64,
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
struct Steady {
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
    fn new(
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

    fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        self.begun |= came(self.after, fired);
        self.ended |= came(self.before, fired);
        if !self.begun || self.ended {
            return;
        }
        let now = self.that.now(signals);
        let now = if self.never { now.not() } else { now };
        self.samples = self.samples.saturating_add(1);
        self.worst = Some(match self.worst {
            Some(worst) if now.margin >= worst.margin => {
                Worst { holds: worst.holds && now.holds, ..worst }
            }
            worst => {
                let holds = now.holds && worst.is_none_or(|worst| worst.holds);
                Worst { holds, margin: now.margin, at: t }
            }
        });
    }

    fn finish(&self) -> Outcome {
        told(self.that.unit(), self.worst, self.samples)
    }
}

/// Whether a label, where one is named, is among those that came.
fn came(label: Option<Option<usize>>, fired: &[Fired]) -> bool {
    label.flatten().is_some_and(|label| fired.iter().any(|event| event.label == label))
}

/// `at`.
#[derive(Clone, Debug)]
struct Moment {
    that: Expression,
    delay: f64,
    after: Option<Option<usize>>,
    due: Option<f64>,
    worst: Option<Worst>,
    looked: u32,
}

impl Moment {
    fn new(
        delay: f64,
        after: &Option<String>,
        that: &Expression,
        place: impl Fn(&str) -> Option<usize>,
    ) -> Self {
        let after = after.as_deref().map(place);
        let due = after.is_none().then_some(delay);
        Self { that: that.clone(), delay, after, due, worst: None, looked: 0 }
    }

    fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
        if let Some(Some(label)) = self.after {
            for event in fired.iter().filter(|event| event.label == label) {
                self.due = Some(event.seconds + self.delay);
            }
        }
        let Some(due) = self.due else { return };
        if t < due - SAME_TIME {
            return;
        }
        self.due = None;
        self.looked = self.looked.saturating_add(1);
        let Now { holds, margin } = self.that.now(signals);
        let now = Worst { holds, margin, at: t };
        self.worst = Some(match self.worst {
            Some(worst) if now.holds || !worst.holds => worst,
            _ => now,
        });
    }

    fn finish(&self) -> Outcome {
        told(self.that.unit(), self.worst, self.looked)
    }
}

/// What opens a window.
#[derive(Clone, Copy, Debug)]
enum Opening {
    AtStart,
    At(Option<usize>),
    Done,
}

/// `within` and `eventually`.
#[derive(Clone, Debug)]
struct Timed {
    that: Expression,
    opening: Opening,
    until: Option<usize>,
    length: f64,
    window: Window,
}

impl Timed {
    fn new(
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

    fn step(&mut self, t: f64, signals: &dyn Signals, fired: &[Fired]) {
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

    fn finish(&mut self, last: f64, end: f64) -> Outcome {
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

/// `until`: the best over all moments of the lesser of `until` then and `hold` before.
#[derive(Clone, Debug)]
struct Until {
    hold: Expression,
    until: Expression,
    held_so_far: Option<Now>,
    best: Option<Worst>,
    samples: u32,
}

impl Until {
    fn new(hold: &Expression, until: &Expression) -> Self {
        let (hold, until) = (hold.clone(), until.clone());
        Self { hold, until, held_so_far: None, best: None, samples: 0 }
    }

    fn step(&mut self, t: f64, signals: &dyn Signals) {
        self.samples = self.samples.saturating_add(1);
        let until = self.until.now(signals);
        let now = self.held_so_far.map_or(until, |held| held.and(until));
        self.best = Some(match self.best {
            Some(best) if now.margin <= best.margin => {
                Worst { holds: best.holds || now.holds, ..best }
            }
            best => {
                let holds = now.holds || best.is_some_and(|best| best.holds);
                Worst { holds, margin: now.margin, at: t }
            }
        });
        let hold = self.hold.now(signals);
        self.held_so_far = Some(self.held_so_far.map_or(hold, |held| held.and(hold)));
    }

    fn finish(&self) -> Outcome {
        let unit = self.hold.unit().filter(|unit| self.until.unit() == Some(*unit));
        told(unit, self.best, self.samples)
    }
}
