//! One padded matrix-vector product: the inner loop of the whole simulator.
//!
//! Columns are padded to a height known at compile time and added one after the other, so that the
//! sums stay in registers and the order of summation is part of the contract: the same bits on
//! every machine. No fused multiply-add.

use alloc::vec::Vec;

use super::dense::Matrix;
use super::model::{MOST_INPUTS, MOST_ROWS};

/// A matrix in padded columns.
#[derive(Clone, Debug)]
pub(super) struct Kernel {
    columns: Vec<f64>,
}

impl Kernel {
    /// Pads a matrix to columns of `height`.
    pub(super) fn new(matrix: &Matrix, height: usize) -> Self {
        let mut columns = alloc::vec![0.0; height * matrix.columns];
        for row in 0..matrix.rows {
            for column in 0..matrix.columns {
                columns[column * height + row] = matrix[(row, column)];
            }
        }
        Self { columns }
    }

    /// Gives the product with the states and inputs.
    #[inline(always)]
    pub(super) fn product<const ROWS: usize>(
        &self,
        states: &[f64],
        inputs: &[f64; MOST_INPUTS],
    ) -> [f64; ROWS] {
        let (columns, _) = self.columns.as_chunks::<ROWS>();
        let (by_state, by_input) = columns.split_at(states.len().min(columns.len()));
        let mut sum = [0.0; ROWS];
        for (column, &value) in by_state.iter().zip(states) {
            add::<ROWS>(&mut sum, column, value);
        }
        for (column, &value) in by_input.iter().zip(inputs) {
            add::<ROWS>(&mut sum, column, value);
        }
        sum
    }
}

#[inline(always)]
fn add<const ROWS: usize>(sum: &mut [f64; ROWS], column: &[f64; ROWS], value: f64) {
    for (total, factor) in sum.iter_mut().zip(column) {
        *total += factor * value;
    }
}

/// Gives the padded height for a number of rows.
pub(super) fn height(rows: usize) -> usize {
    const HEIGHTS: [usize; 10] = [8, 12, 16, 20, 24, 28, 32, 40, 48, MOST_ROWS];
    HEIGHTS.into_iter().find(|&height| height >= rows).unwrap_or(MOST_ROWS)
}
