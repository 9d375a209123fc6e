//! A small dense matrix and Gaussian elimination, in a fixed order of operations.

use alloc::vec::Vec;
use core::ops::{Index, IndexMut};

/// A matrix stored row by row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Matrix {
    pub(crate) rows: usize,
    pub(crate) columns: usize,
    data: Vec<f64>,
}

impl Matrix {
    /// Makes a matrix of zeros.
    pub(crate) fn zeros(rows: usize, columns: usize) -> Self {
        Self { rows, columns, data: alloc::vec![0.0; rows * columns] }
    }

    /// Gives one row.
    pub(crate) fn row(&self, row: usize) -> &[f64] {
        &self.data[row * self.columns..][..self.columns]
    }

    /// Gives one row for change.
    pub(crate) fn row_mut(&mut self, row: usize) -> &mut [f64] {
        &mut self.data[row * self.columns..][..self.columns]
    }

    /// Multiplies every element.
    pub(crate) fn scale(&mut self, factor: f64) {
        for value in &mut self.data {
            *value *= factor;
        }
    }

    /// Adds `factor` times another matrix of the same shape.
    pub(crate) fn add_scaled(&mut self, other: &Self, factor: f64) {
        for (value, added) in self.data.iter_mut().zip(&other.data) {
            *value += factor * added;
        }
    }

    /// Gives the product of the left square part of `self` (as many columns as `other` has rows)
    /// and `other`.
    pub(crate) fn times(&self, other: &Self) -> Self {
        let mut product = Self::zeros(self.rows, other.columns);
        for row in 0..self.rows {
            let target = &mut product.data[row * other.columns..][..other.columns];
            for (inner, &factor) in self.row(row).iter().take(other.rows).enumerate() {
                axpy(target, factor, other.row(inner));
            }
        }
        product
    }

    /// Solves `self * x = right` in place; `Err` names the first column without a pivot.
    pub(crate) fn solve(mut self, mut right: Self) -> Result<Self, usize> {
        for column in 0..self.rows {
            let pivot = self.pivot(column)?;
            self.swap_rows(column, pivot);
            right.swap_rows(column, pivot);
            for row in column + 1..self.rows {
                let factor = self[(row, column)] / self[(column, column)];
                if factor != 0.0 {
                    self.subtract_row(row, column, factor);
                    right.subtract_row(row, column, factor);
                }
            }
        }
        for row in (0..self.rows).rev() {
            for later in row + 1..self.rows {
                right.subtract_row(row, later, self[(row, later)]);
            }
            let pivot = self[(row, row)];
            right.row_mut(row).iter_mut().for_each(|value| *value /= pivot);
        }
        Ok(right)
    }

    fn pivot(&self, column: usize) -> Result<usize, usize> {
        let mut best = (column, 0.0);
        for row in column..self.rows {
            let size = self[(row, column)].abs();
            if size > best.1 {
                best = (row, size);
            }
        }
        if best.1 > SMALLEST_PIVOT && best.1.is_finite() { Ok(best.0) } else { Err(column) }
    }

    fn swap_rows(&mut self, one: usize, other: usize) {
        if one != other {
            for column in 0..self.columns {
                self.data.swap(one * self.columns + column, other * self.columns + column);
            }
        }
    }

    fn subtract_row(&mut self, from: usize, row: usize, factor: f64) {
        let (low, high) = (from.min(row), from.max(row));
        let (head, tail) = self.data.split_at_mut(high * self.columns);
        let first = &mut head[low * self.columns..][..self.columns];
        let second = &mut tail[..self.columns];
        if from == low { axpy(first, -factor, second) } else { axpy(second, -factor, first) }
    }
}

/// Below the least conductance in a netlist by a wide margin: only true singularity comes here.
const SMALLEST_PIVOT: f64 = 1e-20;

impl Index<(usize, usize)> for Matrix {
    type Output = f64;
    fn index(&self, (row, column): (usize, usize)) -> &f64 {
        &self.data[row * self.columns + column]
    }
}

impl IndexMut<(usize, usize)> for Matrix {
    fn index_mut(&mut self, (row, column): (usize, usize)) -> &mut f64 {
        &mut self.data[row * self.columns + column]
    }
}

/// Adds `factor` times a row to another. Many factors are nothing, and nothing changes then.
#[inline]
pub(crate) fn axpy(target: &mut [f64], factor: f64, source: &[f64]) {
    if factor == 0.0 {
        return;
    }
    for (value, added) in target.iter_mut().zip(source) {
        *value += factor * added;
    }
}
