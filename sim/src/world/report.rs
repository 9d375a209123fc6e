//! What a run tells: to who looks on while it runs, and at its end.

use alloc::vec::Vec;

use ohmwarden_core::commands::Event as Change;
use ohmwarden_core::invariants::{Margin, Rule};
use ohmwarden_core::measure::Curve;

use super::{Reached, Snapshot, StoreEvent};
use crate::expect::Outcome;
use crate::scenario::Event;

/// What a run came to.
#[derive(Clone, Debug)]
pub struct Report {
    /// Every rule with its margin.
    pub rules: Vec<(Rule, Margin)>,
    /// Every expectation of the scenario, in its order.
    pub expectations: Vec<Outcome>,
    /// Hash of the whole trace.
    pub digest: u64,
    /// States, reasons and classes that were reached.
    pub reached: Reached,
    /// The last moment of the run.
    pub last: Snapshot,
    /// The points of the last timed test.
    pub curve: Curve,
    /// What the board's flash holds, where it has one.
    pub flash: Option<Vec<u8>>,
}

impl Report {
    /// Whether no rule broke and every expectation held.
    #[must_use]
    pub fn held(&self) -> bool {
        self.rules.iter().all(|(_, margin)| margin.held() != Some(false))
            && self.expectations.iter().all(|outcome| outcome.held == Some(true))
    }
}

/// Looks on while a world runs.
pub trait Observer {
    /// After every sample.
    fn sample(&mut self, _: &Snapshot) {}
    /// After every block, with the change of state in it.
    fn change(&mut self, _: &Snapshot, _: &Change) {}
    /// Something of the scenario happened.
    fn event(&mut self, _: f64, _: &Event) {}
    /// Something was to be kept.
    fn store(&mut self, _: &Snapshot, _: StoreEvent) {}
}

/// Nobody looks on.
#[derive(Clone, Copy, Debug)]
pub struct Nobody;

impl Observer for Nobody {}
