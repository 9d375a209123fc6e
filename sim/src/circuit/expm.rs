//! The exact step of a linear system, by scaling and squaring.
//!
//! What is doubled is `exp(A h) - 1`, not `exp(A h)`: `E(2h) = 2 E(h) + E(h)^2` keeps the relative
//! precision of a slow mode, which `1 + tiny` would lose at every squaring when a fast mode beside
//! it asks for many of them. Inputs ride along as states that do not change; a ramped input as one
//! that grows by its rise. The intermediate results are the steps of the halved times for free.

use alloc::vec::Vec;

use super::dense::{Matrix, axpy};
use super::model::{Model, Ramp};

/// The norm from which the series starts, and how many terms it then needs: the next one is below
/// `(1/16)^10 / 11! = 2e-20` of the first.
const SERIES_NORM: f64 = 1.0 / 16.0;
const SERIES_TERMS: u32 = 10;
/// A norm beyond this many doublings is not a circuit.
const MOST_DOUBLINGS: usize = 120;

/// `exp(A h) - 1` over states and inputs, for one step length.
#[derive(Clone, Debug)]
pub(super) struct Growth {
    /// The change of each state for each column.
    pub(super) change: Matrix,
    /// The share of its rise by which a ramped input grows.
    pub(super) rise: f64,
}

/// Gives the growth over `step / 2^level` for every level from 0 to `levels`, in that order.
///
/// Empty when the derivative holds a number that is not finite or beyond reason.
pub(super) fn growths(model: &Model, derivative: &Matrix, levels: usize) -> Option<Vec<Growth>> {
    let doublings = doublings(model, derivative)?.max(levels);
    let fraction = exact_power_of_half(doublings);
    let mut scaled = derivative.clone();
    scaled.scale(model.step_seconds * fraction);
    let mut growth = series(model, scaled, fraction);
    let mut found = Vec::with_capacity(levels + 1);
    for level in (0..=doublings).rev() {
        if level <= levels {
            found.push(growth.clone());
        }
        if level > 0 {
            growth = growth.doubled(&model.ramps, model.states);
        }
    }
    found.reverse();
    Some(found)
}

/// Counts the halvings after which the step is small against every mode.
///
/// The norm is taken in energy units, where a resonance between a small capacitor and a large
/// inductor does not look faster than it is.
fn doublings(model: &Model, derivative: &Matrix) -> Option<usize> {
    let size = energy_scales(model);
    let mut norm: f64 = 0.0;
    for row in 0..model.states {
        let entries = derivative.row(row).iter().take(model.states).enumerate();
        let sum = entries.fold(0.0, |sum, (column, value)| sum + (value / size[column]).abs());
        let sum = sum * size[row] * model.step_seconds;
        if !sum.is_finite() {
            return None;
        }
        norm = norm.max(sum);
    }
    let mut count = 0;
    while norm > SERIES_NORM {
        norm *= 0.5;
        count += 1;
    }
    (count <= MOST_DOUBLINGS).then_some(count)
}

/// The square root of twice the energy of each state at one volt or ampere.
fn energy_scales(model: &Model) -> Vec<f64> {
    use super::part::Part;
    let mut scales = alloc::vec![1.0; model.states];
    for capacitor in &model.capacitors {
        if let Some(state) = capacitor.own {
            scales[state] = libm::sqrt(model.farads(capacitor));
        }
    }
    for inductor in &model.inductors {
        if let Part::Inductor { henries, .. } = *model.part(inductor.part) {
            scales[inductor.state] = libm::sqrt(henries);
        }
    }
    // A sine is driven by nothing; made large, what it drives does not count.
    for sine in &model.sines {
        scales[sine.state] = 1e12;
        scales[sine.state + 1] = 1e12;
    }
    scales
}

fn exact_power_of_half(count: usize) -> f64 {
    (0..count).fold(1.0, |power, _| power * 0.5)
}

/// Sums `M + M^2/2 + M^3/6 + ...`; `rise` is how much a ramped input grows over this step.
fn series(model: &Model, scaled: Matrix, rise: f64) -> Growth {
    let mut term = scaled.clone();
    let mut change = scaled.clone();
    for order in 2..=SERIES_TERMS {
        let mut next = scaled.times(&term);
        if order == 2 {
            add_rises(&mut next, &scaled, &model.ramps, model.states, rise);
        }
        next.scale(1.0 / f64::from(order));
        change.add_scaled(&next, 1.0);
        term = next;
    }
    Growth { change, rise }
}

fn add_rises(to: &mut Matrix, from: &Matrix, ramps: &[Ramp], states: usize, rise: f64) {
    for row in 0..to.rows {
        for ramp in ramps {
            to[(row, states + ramp.rise)] += from[(row, states + ramp.value)] * rise;
        }
    }
}

impl Growth {
    fn doubled(&self, ramps: &[Ramp], states: usize) -> Self {
        let mut change = self.change.times(&self.change);
        add_rises(&mut change, &self.change, ramps, states, self.rise);
        change.add_scaled(&self.change, 2.0);
        Self { change, rise: 2.0 * self.rise }
    }

    /// Gives states and outputs at the end of the step over the columns at its beginning.
    pub(super) fn rows(&self, model: &Model, outputs: &Matrix) -> Matrix {
        let mut all = Matrix::zeros(model.rows, model.columns());
        for state in 0..model.states {
            let row = all.row_mut(state);
            row.copy_from_slice(self.change.row(state));
            row[state] += 1.0;
        }
        for row in 0..outputs.rows {
            let target = all.row_mut(model.states + row);
            target.copy_from_slice(outputs.row(row));
            for state in 0..model.states {
                axpy(target, outputs[(row, state)], self.change.row(state));
            }
            for ramp in &model.ramps {
                let held = outputs[(row, model.states + ramp.value)];
                target[model.states + ramp.rise] += held * self.rise;
            }
        }
        all
    }
}
