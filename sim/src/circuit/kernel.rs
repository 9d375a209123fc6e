//! One padded matrix-vector product: the inner loop of the whole simulator.
//!
//! Columns are padded to a height known at compile time and added one after the other, so that the
//! sums stay in registers and the order of summation is part of the contract: the same bits on
//! every machine. No fused multiply-add.

use alloc::vec::Vec;

use super::dense::Matrix;
use super::model::MOST_INPUTS;

/// A matrix in panels of rows, each in padded columns.
#[derive(Clone, Debug)]
pub(super) struct Kernel {
    panels: Vec<Vec<f64>>,
}

impl Kernel {
    /// Pads a matrix to panels of this shape.
    pub(super) fn new(matrix: &Matrix, shape: Shape) -> Self {
        let panel = |index: usize| {
            let mut columns = alloc::vec![0.0; shape.height * matrix.columns];
            let first = index * shape.height;
            for row in first..matrix.rows.min(first + shape.height) {
                for column in 0..matrix.columns {
                    columns[column * shape.height + row - first] = matrix[(row, column)];
                }
            }
            columns
        };
        Self { panels: (0..shape.panels).map(panel).collect() }
    }

    /// Gives the product with the states and inputs, panel by panel.
    #[inline(always)]
    pub(super) fn product<const HEIGHT: usize, const PANELS: usize>(
        &self,
        states: &[f64],
        inputs: &[f64; MOST_INPUTS],
    ) -> [[f64; HEIGHT]; PANELS] {
        let mut sums = [[0.0; HEIGHT]; PANELS];
        for (sum, panel) in sums.iter_mut().zip(&self.panels) {
            *sum = panel_product(panel, states, inputs);
        }
        sums
    }
}

#[inline(always)]
fn panel_product<const HEIGHT: usize>(
    panel: &[f64],
    states: &[f64],
    inputs: &[f64; MOST_INPUTS],
) -> [f64; HEIGHT] {
    let (columns, _) = panel.as_chunks::<HEIGHT>();
    let (by_state, by_input) = columns.split_at(states.len().min(columns.len()));
    let mut sum = [0.0; HEIGHT];
    for (column, &value) in by_state.iter().zip(states) {
        add(&mut sum, column, value);
    }
    for (column, &value) in by_input.iter().zip(inputs) {
        add(&mut sum, column, value);
    }
    sum
}

#[inline(always)]
fn add<const HEIGHT: usize>(sum: &mut [f64; HEIGHT], column: &[f64; HEIGHT], value: f64) {
    for (total, factor) in sum.iter_mut().zip(column) {
        *total += factor * value;
    }
}

/// How the rows are padded: so many panels of so many rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shape {
    pub(super) height: usize,
    pub(super) panels: usize,
}

/// The sums of one panel must fit in the registers of a plain 64-bit processor.
const HIGHEST: usize = 24;

impl Shape {
    /// Gives the padded shape for a number of rows.
    pub(super) fn of(rows: usize) -> Self {
        let panels = rows.div_ceil(HIGHEST).max(1);
        Self { height: rows.div_ceil(panels).next_multiple_of(4).max(8), panels }
    }
}
