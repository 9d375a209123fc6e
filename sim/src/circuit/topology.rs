//! What is computed once for each choice of segments, and the store that keeps it.

use alloc::collections::BTreeMap;
use alloc::sync::Arc;
use alloc::vec::Vec;

use super::dense::Matrix;
use super::equations::Equations;
use super::error::NetError;
use super::expm::{Growth, growths};
use super::kernel::{Kernel, Shape};
use super::model::Model;
use super::segment::Segments;

/// A step is halved this often to find where a segment ends: 6 ps of 100 us.
pub(super) const FINEST: usize = 24;
/// How many topologies are kept; beyond that the store starts anew.
const MOST_KEPT: usize = 512;

/// One choice of segments, ready to step.
#[derive(Debug)]
pub(super) struct Topology {
    /// States and outputs at the end of a step.
    pub(super) step: Kernel,
    /// States and outputs now.
    pub(super) observe: Kernel,
    /// For each test row: its element and the segment to try when it fails.
    pub(super) tests: Vec<(usize, u8)>,
    equations: Equations,
}

impl Topology {
    fn new(model: &Model, segments: Segments) -> Result<Self, NetError> {
        let equations = Equations::new(model, segments)?;
        let still = Growth { change: Matrix::zeros(model.states, model.columns()), rise: 0.0 };
        let observe = still.rows(model, &equations.outputs);
        let whole = Self::kernels(model, &equations, 0)?;
        let step = whole.into_iter().next().ok_or(NetError::NoOperatingPoint)?;
        let observe = Kernel::new(&observe, Shape::of(model.rows));
        let tests = equations.tests.clone();
        Ok(Self { step, observe, tests, equations })
    }

    fn kernels(
        model: &Model,
        equations: &Equations,
        levels: usize,
    ) -> Result<Vec<Kernel>, NetError> {
        let growths =
            growths(model, &equations.derivative, levels).ok_or(NetError::NoOperatingPoint)?;
        let kernel = |growth: &Growth| {
            Kernel::new(&growth.rows(model, &equations.outputs), Shape::of(model.rows))
        };
        Ok(growths.iter().map(kernel).collect())
    }
}

/// The kernels of a topology for `step / 2^level`, level 0 first.
pub(super) type Ladder = Arc<Vec<Kernel>>;

#[derive(Clone, Debug)]
struct Kept {
    topology: Arc<Topology>,
    ladder: Option<Ladder>,
}

/// The topologies met so far; forks share it until one of them meets a new one.
#[derive(Clone, Debug, Default)]
pub(super) struct Store(Arc<BTreeMap<Segments, Kept>>);

impl Store {
    /// Counts the topologies.
    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether more was computed here, shorter steps included.
    pub(super) fn knows_more_than(&self, other: &Self) -> bool {
        let worth = |store: &Self| -> usize {
            store.0.values().map(|kept| 1 + usize::from(kept.ladder.is_some())).sum()
        };
        !Arc::ptr_eq(&self.0, &other.0) && worth(self) > worth(other)
    }

    /// Gives the topology for these segments, computing it if it is new.
    pub(super) fn topology(
        &mut self,
        model: &Model,
        segments: Segments,
    ) -> Result<Arc<Topology>, NetError> {
        if let Some(kept) = self.0.get(&segments) {
            return Ok(Arc::clone(&kept.topology));
        }
        let topology = Arc::new(Topology::new(model, segments)?);
        let store = Arc::make_mut(&mut self.0);
        if store.len() >= MOST_KEPT {
            store.clear();
        }
        store.insert(segments, Kept { topology: Arc::clone(&topology), ladder: None });
        Ok(topology)
    }

    /// Gives the shorter steps for these segments, computing them if they are new.
    pub(super) fn ladder(&mut self, model: &Model, segments: Segments) -> Result<Ladder, NetError> {
        if let Some(ladder) = self.0.get(&segments).and_then(|kept| kept.ladder.clone()) {
            return Ok(ladder);
        }
        let topology = self.topology(model, segments)?;
        let ladder = Arc::new(Topology::kernels(model, &topology.equations, FINEST)?);
        if let Some(kept) = Arc::make_mut(&mut self.0).get_mut(&segments) {
            kept.ladder = Some(Arc::clone(&ladder));
        }
        Ok(ladder)
    }
}
