//! Windows of time: `within` and `eventually`, with and without `stays`.
//!
//! Both work on one obligation at a time in constant memory. What a person reads is the time to
//! spare: the end of the window minus the moment at which the expression became true (for `stays`:
//! became true for good). It goes on counting after the window, so that a miss is told as a
//! lateness.

use super::tree::Now;

/// How far two times may differ and still be the same: far below any sample, far above rounding.
pub(super) const SAME_TIME: f64 = 1.0e-9;

/// The worst obligation so far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Verdict {
    pub(super) held: bool,
    /// Seconds to spare; below zero, late by at least so much.
    pub(super) spare: f64,
    /// The margin of the expression: best in the window, or for `stays` worst after it; scales.
    pub(super) value: f64,
    /// When it became true, or when looking ended.
    pub(super) at: f64,
}

impl Verdict {
    /// Keeps the worse of the two: one that failed, then the less time to spare.
    fn worse(self, other: Self) -> Self {
        let other_is_worse = match (self.held, other.held) {
            (true, false) => true,
            (false, true) => false,
            _ => other.spare < self.spare,
        };
        if other_is_worse { other } else { self }
    }
}

/// One window at a time and the worst verdict of those that closed.
#[derive(Clone, Debug)]
pub(super) struct Window {
    length: f64,
    stays: bool,
    open: Option<Open>,
    worst: Option<Verdict>,
    opened: u32,
}

/// The obligation under way.
#[derive(Clone, Copy, Debug)]
struct Open {
    opening: f64,
    deadline: f64,
    /// The first true sample of the present unbroken row.
    since: Option<f64>,
    /// Best margin inside the window, or worst after it.
    value: f64,
    /// Whether a sample at or after the deadline, or before it, has entered `value`.
    valued: bool,
}

impl Window {
    pub(super) fn new(length: f64, stays: bool) -> Self {
        Self { length, stays, open: None, worst: None, opened: 0 }
    }

    pub(super) fn opened(&self) -> u32 {
        self.opened
    }

    pub(super) fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Opens the window at a moment. While one is open, a second one that only asks for a first
    /// true sample is met by whatever meets the first; for `stays` it ends the first.
    pub(super) fn start(&mut self, at: f64) {
        self.opened = self.opened.saturating_add(1);
        if self.open.is_some() {
            if !self.stays {
                return;
            }
            self.stop(at);
        }
        let deadline = at + self.length;
        self.open = Some(Open { opening: at, deadline, since: None, value: 0.0, valued: false });
    }

    /// Takes one sample.
    pub(super) fn sample(&mut self, t: f64, now: Now) {
        let Some(open) = &mut self.open else { return };
        let in_window = t <= open.deadline + SAME_TIME;
        if in_window != self.stays {
            open.value = match (open.valued, self.stays) {
                (false, _) => now.margin,
                (true, false) => open.value.max(now.margin),
                (true, true) => open.value.min(now.margin),
            };
            open.valued = true;
        }
        if !now.holds {
            open.since = None;
        } else if open.since.is_none() {
            open.since = Some(t);
        }
        if now.holds && !self.stays {
            self.close(t);
        }
    }

    /// Ends what must stay, at a label or at the next opening, where that comes after the opening.
    pub(super) fn stop(&mut self, at: f64) {
        if let Some(open) = self.open.as_mut().filter(|open| at > open.opening) {
            open.deadline = open.deadline.min(at);
            self.close(at);
        }
    }

    /// Ends the run; `end` is one sample after the last one, `last` the last one.
    pub(super) fn finish(&mut self, last: f64, end: f64) -> Option<Verdict> {
        let met = self.open.is_some_and(|open| end + SAME_TIME < open.deadline);
        if met {
            // The run ended inside the window: nothing is decided by this one.
            self.open = None;
        } else {
            self.close(last);
        }
        self.worst
    }

    fn close(&mut self, at: f64) {
        let Some(open) = self.open.take() else { return };
        let moment = open.since.unwrap_or(at);
        let held = open.since.is_some() && moment <= open.deadline + SAME_TIME;
        let spare = open.deadline - moment;
        let spare = if held { spare.max(0.0) } else { spare.min(0.0) };
        let value = if held { open.value.max(0.0) } else { open.value.min(0.0) };
        let verdict = Verdict { held, spare, value, at: moment };
        self.worst = Some(self.worst.map_or(verdict, |worst| worst.worse(verdict)));
    }
}
