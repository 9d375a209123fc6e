//! Capacitance of the free capacitors, with what those in a loop with them add to it.

use super::dense::Matrix;
use super::error::NetError;
use super::graph::Capacitor;
use super::model::Model;

impl Model {
    /// Turns currents (or charges) of the free capacitors into slopes (or volts).
    pub(super) fn divide_by_capacitance(&self, right: Matrix) -> Result<Matrix, NetError> {
        let free = self.free;
        let mut left = Matrix::zeros(free, free);
        for capacitor in &self.capacitors {
            for &(row, sign) in &capacitor.path {
                for &(column, other) in &capacitor.path {
                    left[(row, column)] += self.farads(capacitor) * sign * other;
                }
            }
        }
        // In picofarads, so that the smallest capacitance is far from the singularity test.
        left.scale(1e12);
        let mut slopes = left
            .solve(right)
            .map_err(|state| NetError::Unsolvable { at: self.capacitor_name(state) })?;
        slopes.scale(1e12);
        Ok(slopes)
    }

    fn capacitor_name(&self, state: usize) -> alloc::string::String {
        let own = |one: &&Capacitor| one.own == Some(state);
        let part = self.capacitors.iter().find(own).map_or(0, |one| one.part);
        self.net.parts[part].name.clone()
    }

    /// Puts the capacitors at given voltages and lets those in a loop share their charge.
    pub(super) fn share_charge(&self, volts: &[f64], states: &mut [f64]) -> Result<(), NetError> {
        let mut charge = Matrix::zeros(self.free, 1);
        for (capacitor, volts) in self.capacitors.iter().zip(volts) {
            for &(state, sign) in &capacitor.path {
                charge[(state, 0)] += self.farads(capacitor) * sign * volts;
            }
        }
        let shared = self.divide_by_capacitance(charge)?;
        for state in 0..shared.rows {
            states[state] = shared[(state, 0)];
        }
        Ok(())
    }
}
