//! A drawn trace with two labelled moments, and a monitor that runs over it.

use ohmwarden_sim::expect::{Expect, Expression, Fired, Monitor, Now, Outcome, Rule};
use ohmwarden_tests::small_world::Moment;
use proptest::prelude::*;

use crate::STEP;
use crate::said::moment;

/// A trace and two labelled moments in it.
#[derive(Clone, Debug)]
pub(crate) struct Trace {
    moments: Vec<Moment>,
    pub(crate) first: f64,
    pub(crate) second: f64,
}

impl Trace {
    fn times(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.moments.len()).map(|place| place as f64 * STEP)
    }

    fn last(&self) -> f64 {
        (self.moments.len() - 1) as f64 * STEP
    }

    pub(crate) fn nows(&self, that: &Expression) -> Vec<(f64, Now)> {
        self.times().zip(self.moments.iter().map(|at| that.now(at))).collect()
    }

    /// When a label is told: at the first sample not before it; never where the trace ends first.
    pub(crate) fn told(&self, moment: f64) -> Option<f64> {
        (moment <= self.last()).then_some(moment)
    }

    pub(crate) fn run(&self, rule: &Rule) -> Outcome {
        let expect = Expect { rule: rule.clone(), note: String::new() };
        let mut monitor = Monitor::new(&expect, &["first", "second"]);
        let labels = [self.first, self.second];
        let mut before = f64::NEG_INFINITY;
        for (t, at) in self.times().zip(&self.moments) {
            let mut fired: Vec<Fired> = labels
                .iter()
                .enumerate()
                .filter(|(_, seconds)| **seconds > before && **seconds <= t)
                .map(|(label, seconds)| Fired { label, seconds: *seconds })
                .collect();
            fired.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
            monitor.step(t, at, &fired);
            before = t;
        }
        monitor.finish()
    }
}

/// Moments fall on quarters of a sample, so that ties with samples are tried.
pub(crate) fn quarter() -> impl Strategy<Value = f64> {
    (0..80_u32).prop_map(|quarters| f64::from(quarters) * STEP / 4.0)
}

pub(crate) fn trace() -> impl Strategy<Value = Trace> {
    (prop::collection::vec(moment(), 1..24), quarter(), quarter())
        .prop_map(|(moments, first, second)| Trace { moments, first, second })
        .prop_filter("two moments", |trace| trace.first != trace.second)
}
