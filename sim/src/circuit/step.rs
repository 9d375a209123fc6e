//! One step: the fast path, and the search for the instant at which a segment ends.
//!
//! The fast path is one product and a look at the test rows. When a test fails the step is done
//! again in halves, quarters and so on down to the slot in which it fails; at the end of that slot
//! the segments are settled and the rest of the step goes on from there. The work is bounded: at
//! most one settling a slot, and each settling has a bounded number of tries.

use super::Circuit;
use super::error::Diverged;
use super::model::MOST_INPUTS;
use super::part::Part;
use super::segment::IDLE;
use super::topology::FINEST;

const SLOTS: usize = 1 << FINEST;
/// Tries in which every failed test switches; after them only the first one does, which for
/// resistive networks is known to end (least-index principal pivoting).
const BOLD_TRIES: usize = 8;
const MOST_TRIES: usize = 400;
/// Steps between two looks at whether every number is still finite.
const FINITE_EVERY: u64 = 16;
const LARGEST: f64 = 1e15;

/// Calls a method with the padded height of this circuit as a constant.
macro_rules! padded {
    ($circuit:expr, $method:ident $(, $argument:expr)*) => {
        match ($circuit.shape.height, $circuit.shape.panels) {
            (8, 1) => $circuit.$method::<8, 1>($($argument),*),
            (12, 1) => $circuit.$method::<12, 1>($($argument),*),
            (16, 1) => $circuit.$method::<16, 1>($($argument),*),
            (20, 1) => $circuit.$method::<20, 1>($($argument),*),
            (24, 1) => $circuit.$method::<24, 1>($($argument),*),
            (16, 2) => $circuit.$method::<16, 2>($($argument),*),
            (20, 2) => $circuit.$method::<20, 2>($($argument),*),
            (24, 2) => $circuit.$method::<24, 2>($($argument),*),
            _ => $circuit.$method::<24, 3>($($argument),*),
        }
    };
}

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
        let done = padded!(self, step_padded);
        done.map_err(|Lost| Diverged { seconds: self.seconds() })
    }

    /// Settles the segments at the start, before the first step.
    pub(super) fn settle_padded(&mut self) -> Result<(), Lost> {
        padded!(self, settle, 0, &mut 0)
    }

    #[inline(always)]
    fn step_padded<const HEIGHT: usize, const PANELS: usize>(&mut self) -> Result<(), Lost> {
        if self.touched {
            self.step_by_parts::<HEIGHT, PANELS>()?;
        } else {
            let states = &self.now[..self.states];
            let next = self.topology.step.product::<HEIGHT, PANELS>(states, &self.inputs);
            // Written so that a number which is not one fails too.
            let next = next.as_flattened();
            if next[self.first_test..].iter().all(|&test| test >= 0.0) {
                self.now[..HEIGHT * PANELS].copy_from_slice(next);
            } else {
                self.step_by_parts::<HEIGHT, PANELS>()?;
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
    fn step_by_parts<const HEIGHT: usize, const PANELS: usize>(&mut self) -> Result<(), Lost> {
        if self.broken {
            return Err(Lost);
        }
        let mut barred = 0;
        // An input may have jumped since the last step.
        self.settle::<HEIGHT, PANELS>(0, &mut barred)?;
        let mut slot = 0;
        while slot < SLOTS {
            let (length, next, held) = self.longest::<HEIGHT, PANELS>(slot, barred)?;
            self.now[..HEIGHT * PANELS].copy_from_slice(next.as_flattened());
            slot += length;
            if !held {
                self.settle::<HEIGHT, PANELS>(slot, &mut barred)?;
            }
        }
        self.touched = false;
        self.check_finite()
    }

    /// Finds the longest part of the step from `slot` on that ends with every test held; the
    /// shortest part is taken whether they hold or not.
    fn longest<const HEIGHT: usize, const PANELS: usize>(
        &mut self,
        slot: usize,
        barred: u64,
    ) -> Result<(usize, [[f64; HEIGHT]; PANELS], bool), Lost> {
        let inputs = self.inputs_at(slot);
        let states = &self.now[..self.states];
        if slot == 0 {
            let next = self.topology.step.product::<HEIGHT, PANELS>(states, &inputs);
            if self.failed(next.as_flattened(), barred).next().is_none() {
                return Ok((SLOTS, next, true));
            }
        }
        let ladder = self.store.ladder(&self.model, self.segments).map_err(|_| Lost)?;
        for (level, kernel) in ladder.iter().enumerate().skip(1) {
            let length = SLOTS >> level;
            if !slot.is_multiple_of(length) {
                continue;
            }
            let next = kernel.product::<HEIGHT, PANELS>(states, &inputs);
            let held = self.failed(next.as_flattened(), barred).next().is_none();
            if held || length == 1 {
                return Ok((length, next, held));
            }
        }
        Err(Lost)
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
                !(**value >= 0.0) && may_strike
            })
            .map(|(test, _)| *test)
    }

    /// Looks for segments that agree with the states and inputs at a slot within the step.
    ///
    /// An arc that strikes and goes out in one settling is barred from striking again in this step.
    pub(super) fn settle<const HEIGHT: usize, const PANELS: usize>(
        &mut self,
        slot: usize,
        barred: &mut u64,
    ) -> Result<(), Lost> {
        let inputs = self.inputs_at(slot);
        let mut struck = 0_u64;
        for tries in 0..MOST_TRIES {
            let topology = self.store.topology(&self.model, self.segments);
            self.topology = topology.map_err(|_| Lost)?;
            let states = &self.now[..self.states];
            let seen = self.topology.observe.product::<HEIGHT, PANELS>(states, &inputs);
            let mut segments = self.segments;
            let most = if tries < BOLD_TRIES { usize::MAX } else { 1 };
            for (element, next) in self.failed(seen.as_flattened(), *barred).take(most) {
                segments.set(element, next);
                if matches!(self.model.part(self.model.elements[element]), Part::Arc { .. }) {
                    let arc = 1_u64 << element;
                    if next == IDLE { *barred |= struck & arc } else { struck |= arc }
                }
            }
            if segments == self.segments {
                self.now[..HEIGHT * PANELS].copy_from_slice(seen.as_flattened());
                return Ok(());
            }
            self.segments = segments;
        }
        Err(Lost)
    }
}
