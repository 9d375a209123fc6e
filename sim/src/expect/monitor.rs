//! Monitors: one expectation watched online, in constant time and memory a sample.

use super::signal::Signals;
use super::timed::{Opening, Timed};
use super::watch::{Moment, Steady, Until};
use super::{Expect, Rule};

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
