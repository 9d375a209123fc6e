//! Plays the cases of a scenario, on as many threads as there are, with the same result on any.

use core::panic::AssertUnwindSafe;
use core::sync::atomic::{AtomicBool, Ordering};
use core::time::Duration;
use std::panic::catch_unwind;
use std::time::Instant;

use ohmwarden_core::measure::Curve;
use ohmwarden_sim::circuit::Diverged;
use ohmwarden_sim::world::{Nobody, Observer, Reached, Report, World};
use rayon::prelude::*;

use super::load::Loaded;
use super::progress::Progress;
use super::score::Entry;
use super::trouble::Trouble;

/// Set once a person has asked to stop: what has not begun is left out.
pub(crate) static STOP: AtomicBool = AtomicBool::new(false);

/// What one case came to.
#[derive(Debug)]
pub(crate) struct Case {
    pub(crate) index: usize,
    /// Rules first, then expectations; empty where the run did not come to its end.
    pub(crate) entries: Vec<Entry>,
    pub(crate) digest: u64,
    pub(crate) reached: Reached,
    /// The points of the last timed test.
    pub(crate) curve: Curve,
    /// What the board's flash holds at the end, where it has one.
    pub(crate) flash: Option<Vec<u8>>,
    /// Why the run did not come to its end: never a pass.
    pub(crate) defect: Option<Defect>,
    pub(crate) took: Duration,
}

/// A failure of this program, and not of what it tests.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Defect {
    /// Its name.
    pub(crate) name: &'static str,
    /// What happened.
    pub(crate) words: String,
}

/// Plays the wanted cases, in the order of their indices. Those not begun when [`STOP`] was set are
/// missing.
///
/// # Errors
/// The first case whose world cannot be built.
pub(crate) fn cases(
    loaded: &Loaded,
    wanted: &[usize],
    progress: &Progress,
) -> Result<Vec<Case>, Box<Trouble>> {
    let play = |&index: &usize| {
        let case = (!STOP.load(Ordering::Relaxed)).then(|| one(loaded, index, &mut Nobody));
        progress.case();
        case
    };
    wanted.par_iter().filter_map(play).collect()
}

/// Plays one case while somebody looks on.
///
/// # Errors
/// Its world cannot be built.
pub(crate) fn one(
    loaded: &Loaded,
    index: usize,
    observer: &mut dyn Observer,
) -> Result<Case, Box<Trouble>> {
    let (_, scenario) = loaded.scenario.case(index);
    let begun = Instant::now();
    let world = World::new(&scenario, &loaded.recordings)
        .map_err(|error| Box::new(loaded.refused(&error)))?;
    let ended = catch_unwind(AssertUnwindSafe(|| world.run(observer)));
    let mut case = Case {
        index,
        entries: Vec::new(),
        digest: 0,
        reached: Reached::default(),
        curve: Curve::new(),
        flash: None,
        defect: None,
        took: begun.elapsed(),
    };
    match ended {
        Ok(Ok(report)) => case.take(report, loaded),
        Ok(Err(diverged)) => case.defect = Some(Defect::diverged(diverged)),
        Err(_) => case.defect = Some(Defect::panicked()),
    }
    Ok(case)
}

impl Case {
    fn take(&mut self, report: Report, loaded: &Loaded) {
        let rules = report
            .rules
            .iter()
            .map(|(rule, margin)| Entry::of_rule(*rule, margin, &loaded.scenario, self.index));
        let expectations = report
            .expectations
            .iter()
            .enumerate()
            .map(|(place, outcome)| Entry::of_expectation(place, outcome, self.index));
        self.entries = rules.chain(expectations).collect();
        self.digest = report.digest;
        self.reached = report.reached;
        self.curve = report.curve;
        self.flash = report.flash;
    }
}

impl Defect {
    fn diverged(diverged: Diverged) -> Self {
        Self { name: "sim_diverged", words: diverged.to_string() }
    }

    fn panicked() -> Self {
        Self {
            name: "sim_panicked",
            words: "the simulator stopped on a defect of its own".to_owned(),
        }
    }
}
