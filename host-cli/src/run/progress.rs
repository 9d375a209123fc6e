//! One line on the terminal that says how far it is; nothing where there is no terminal.

use core::sync::atomic::{AtomicUsize, Ordering};
use std::io::{IsTerminal, Write, stderr};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// The line is written anew at most this often.
const PAUSE: Duration = Duration::from_millis(100);

/// Counts what is done and says so.
#[derive(Debug)]
pub(crate) struct Progress {
    shown: bool,
    scenarios: usize,
    done: AtomicUsize,
    cases: AtomicUsize,
    begun: Instant,
    written: Mutex<Instant>,
}

impl Progress {
    /// Begins; `quiet` never shows anything.
    pub(crate) fn new(scenarios: usize, quiet: bool) -> Self {
        let now = Instant::now();
        Self {
            shown: !quiet && stderr().is_terminal(),
            scenarios,
            done: AtomicUsize::new(0),
            cases: AtomicUsize::new(0),
            begun: now,
            written: Mutex::new(now),
        }
    }

    /// One case more.
    pub(crate) fn case(&self) {
        self.cases.fetch_add(1, Ordering::Relaxed);
        self.show();
    }

    /// One scenario more.
    pub(crate) fn scenario(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
        self.show();
    }

    /// The time since the beginning.
    pub(crate) fn elapsed(&self) -> Duration {
        self.begun.elapsed()
    }

    fn show(&self) {
        // Whoever finds it busy leaves the writing to the other.
        let Some(mut written) = self.shown.then(|| self.written.try_lock().ok()).flatten() else {
            return;
        };
        if written.elapsed() < PAUSE {
            return;
        }
        *written = Instant::now();
        let (done, cases) = (self.done.load(Ordering::Relaxed), self.cases.load(Ordering::Relaxed));
        let seconds = self.begun.elapsed().as_secs();
        let line = format!("{done} of {} scenarios, {cases} cases, {seconds} s", self.scenarios);
        // A terminal that went away is no reason to stop.
        let _gone = write!(stderr(), "\r{line}\u{1b}[K");
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown {
            let _gone = write!(stderr(), "\r\u{1b}[K");
        }
    }
}
