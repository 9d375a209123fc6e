//! One step: the fast path, and the search for the instant at which a segment ends.
//!
//! The fast path is one product and a look at the test rows. When a test fails the step is done
//! again in halves, quarters and so on down to the slot in which it fails; at the end of that slot
//! the segments are settled and the rest of the step goes on from there. The work is bounded: after
//! many events in one step the slots become coarse, there is at most one settling a slot, and each
//! settling has a bounded number of tries.

use super::Circuit;
use super::error::Diverged;
use super::kernel::Kernel;
use super::model::{MOST_INPUTS, MOST_ROWS};
use super::part::Part;
use super::segment::IDLE;
use super::topology::FINEST;

const SLOTS: usize = 1 << FINEST;
/// After so many events in one step the slots are those of this level: a thousandth of it.
const FINE_EVENTS: u32 = 64;
const COARSE: usize = 10;
/// Tries in which every failed test switches; after them only the first one does, which for
/// resistive networks is known to end (least-index principal pivoting).
const BOLD_TRIES: usize = 8;
const MOST_TRIES: usize = 400;
/// Steps between two looks at whether every number is still finite.
const FINITE_EVERY: u64 = 64;
const LARGEST: f64 = 1e15;

/// A search that found nothing; the caller knows the time.
pub(super) struct Lost;

impl Circuit {
    /// Advances by one step.
    ///
    /// # Errors
    ///
    /// [`Diverged`] when no choice of segments is consistent, when a number is no longer finite,
    /// or when a setter was given a value that is not usable. The circuit is then of no more use.
    #[inline]
    pub fn step(&mut self) -> Result<(), Diverged> {
        let done = match (self.shape.pairs, self.shape.panels) {
            (4, 1) => self.step_padded::<4, 1>(),
            (5, 1) => self.step_padded::<5, 1>(),
            (6, 1) => self.step_padded::<6, 1>(),
            (7, 1) => self.step_padded::<7, 1>(),
            (8, 1) => self.step_padded::<8, 1>(),
            (9, 1) => self.step_padded::<9, 1>(),
            (10, 1) => self.step_padded::<10, 1>(),
            (11, 1) => self.step_padded::<11, 1>(),
            (12, 1) => self.step_padded::<12, 1>(),
            (13, 1) => self.step_padded::<13, 1>(),
            (14, 1) => self.step_padded::<14, 1>(),
            (8, 2) => self.step_padded::<8, 2>(),
            (9, 2) => self.step_padded::<9, 2>(),
            (10, 2) => self.step_padded::<10, 2>(),
            (11, 2) => self.step_padded::<11, 2>(),
            (12, 2) => self.step_padded::<12, 2>(),
            (13, 2) => self.step_padded::<13, 2>(),
            (14, 2) => self.step_padded::<14, 2>(),
            (10, 3) => self.step_padded::<10, 3>(),
            (11, 3) => self.step_padded::<11, 3>(),
            _ => self.step_padded::<12, 3>(),
        };
        done.map_err(|Lost| Diverged { seconds: self.seconds() })
    }

    #[inline(always)]
    fn step_padded<const PAIRS: usize, const PANELS: usize>(&mut self) -> Result<(), Lost> {
        if self.touched {
            self.step_by_parts()?;
        } else {
            let states = &self.now[..self.states];
            let next = self.topology.step.product::<PAIRS, PANELS>(states, &self.inputs);
            // Written so that a number which is not one fails too.
            let next = next.as_flattened().as_flattened();
            if next[self.first_test..].iter().all(|&test| test >= 0.0) {
                self.now[..2 * PAIRS * PANELS].copy_from_slice(next);
            } else {
                self.step_by_parts()?;
            }
        }
        for ramp in &self.model.ramps {
            self.inputs[ramp.value] += self.inputs[ramp.rise];
            self.inputs[ramp.rise] = 0.0;
        }
        self.steps += 1;
        if self.steps.is_multiple_of(FINITE_EVERY) { self.check_finite() } else { Ok(()) }
    }

    fn check_finite(&self) -> Result<(), Lost> {
        let finite = self.now.iter().all(|value| value.abs() < LARGEST);
        if finite { Ok(()) } else { Err(Lost) }
    }

    #[cold]
    #[inline(never)]
    fn step_by_parts(&mut self) -> Result<(), Lost> {
        if self.broken {
            return Err(Lost);
        }
        let mut barred = 0;
        // An input may have jumped since the last step.
        self.settle(0, &mut barred)?;
        let (mut slot, mut events) = (0, 0);
        while slot < SLOTS {
            let finest = if events < FINE_EVENTS { FINEST } else { COARSE };
            let (length, next, held) = self.longest(slot, finest, barred)?;
            self.now = next;
            slot += length;
            if !held {
                events += 1;
                self.settle(slot, &mut barred)?;
            }
        }
        self.touched = false;
        self.check_finite()
    }

    /// Finds the longest part of the step from `slot` on that ends with every test held; at level
    /// `finest` it is taken whether they hold or not.
    fn longest(
        &mut self,
        slot: usize,
        finest: usize,
        barred: u64,
    ) -> Result<(usize, [f64; MOST_ROWS], bool), Lost> {
        let inputs = self.inputs_at(slot);
        let states = &self.now[..self.states];
        if slot == 0 {
            let next = self.topology.step.product_of_any_shape(states, &inputs);
            let held = self.failed(&next, barred).next().is_none();
            if held && (!self.touched || self.topology.tests.is_empty()) {
                return Ok((SLOTS, next, true));
            }
        }
        let ladder = self.store.ladder(&self.model, self.segments).map_err(|_| Lost)?;
        if slot == 0 && self.touched {
            return self.longest_from_the_start(&ladder, barred);
        }
        for (level, kernel) in ladder.iter().enumerate().skip(1) {
            let length = SLOTS >> level;
            if !slot.is_multiple_of(length) {
                continue;
            }
            let next = kernel.product_of_any_shape(states, &inputs);
            let held = self.failed(&next, barred).next().is_none();
            if held || level >= finest {
                return Ok((length, next, held));
            }
        }
        Err(Lost)
    }

    /// Finds the longest part of a step that begins with a change from outside: one of which every
    /// shorter part ends with every test held too.
    ///
    /// A circuit may ring after the change and be at rest before the step ends; each part is twice
    /// the one before, so that none of them leaps over the first swing. Parts that begin after an
    /// event grow in the same way by themselves, for they keep to the grid.
    fn longest_from_the_start(
        &self,
        ladder: &[Kernel],
        barred: u64,
    ) -> Result<(usize, [f64; MOST_ROWS], bool), Lost> {
        let inputs = self.inputs_at(0);
        let mut found = None;
        for (level, kernel) in ladder.iter().enumerate().rev() {
            let next = kernel.product_of_any_shape(&self.now[..self.states], &inputs);
            let held = self.failed(&next, barred).next().is_none();
            if !held && found.is_some() {
                break;
            }
            found = Some((SLOTS >> level, next, held));
            if !held {
                break;
            }
        }
        found.ok_or(Lost)
    }

    /// Gives the inputs at a slot within the step: ramped ones have grown in proportion.
    fn inputs_at(&self, slot: usize) -> [f64; MOST_INPUTS] {
        let mut inputs = self.inputs;
        let part = slot as f64 / SLOTS as f64;
        for ramp in &self.model.ramps {
            inputs[ramp.value] += inputs[ramp.rise] * part;
        }
        inputs
    }

    /// Lists the elements whose test fails, with the segment to try.
    fn failed(&self, rows: &[f64], barred: u64) -> impl Iterator<Item = (usize, u8)> {
        let tests = self.topology.tests.iter().zip(rows.iter().skip(self.first_test));
        tests
            .filter(move |((element, next), value)| {
                let may_strike = *next == IDLE || (barred >> element) & 1 == 0;
                // Not a number fails too.
                (**value < 0.0 || value.is_nan()) && may_strike
            })
            .map(|(test, _)| *test)
    }

    /// Looks for segments that agree with the states and inputs at a slot within the step.
    ///
    /// An arc that strikes and goes out in one settling is barred from striking again in this step.
    pub(super) fn settle(&mut self, slot: usize, barred: &mut u64) -> Result<(), Lost> {
        let inputs = self.inputs_at(slot);
        let mut struck = 0_u64;
        for tries in 0..MOST_TRIES {
            let topology = self.store.topology(&self.model, self.segments);
            self.topology = topology.map_err(|_| Lost)?;
            let states = &self.now[..self.states];
            let seen = self.topology.observe.product_of_any_shape(states, &inputs);
            let mut segments = self.segments;
            let most = if tries < BOLD_TRIES { usize::MAX } else { 1 };
            for (element, next) in self.failed(&seen, *barred).take(most) {
                segments.set(element, next);
                if matches!(self.model.part(self.model.elements[element]), Part::Arc { .. }) {
                    let arc = 1_u64 << element;
                    if next == IDLE { *barred |= struck & arc } else { struck |= arc }
                }
            }
            if segments == self.segments {
                self.now = seen;
                return Ok(());
            }
            self.segments = segments;
        }
        Err(Lost)
    }
}
