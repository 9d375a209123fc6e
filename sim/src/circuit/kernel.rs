//! One padded matrix-vector product: the inner loop of the whole simulator.
//!
//! Columns are padded to a height known at compile time and added one after the other, so that the
//! sums stay in registers and the order of summation is part of the contract: the same bits on
//! every machine. No fused multiply-add.

use alloc::vec::Vec;

use super::dense::Matrix;
use super::model::{MOST_INPUTS, MOST_ROWS};

/// Two neighbouring rows of a column, aligned so that one instruction loads and multiplies them.
#[derive(Clone, Copy, Debug)]
#[repr(align(16))]
struct Pair([f64; 2]);

/// The rows of a product: pairs, in panels.
pub(super) type Rows<const PAIRS: usize, const PANELS: usize> = [[[f64; 2]; PAIRS]; PANELS];

/// A matrix in panels of rows, each in padded columns.
#[derive(Clone, Debug)]
pub(super) struct Kernel {
    pairs: usize,
    panels: Vec<Vec<Pair>>,
}

impl Kernel {
    /// Pads a matrix to panels of this shape.
    pub(super) fn new(matrix: &Matrix, shape: Shape) -> Self {
        let panel = |index: usize| {
            let mut columns = alloc::vec![Pair([0.0; 2]); shape.pairs * matrix.columns];
            let first = index * 2 * shape.pairs;
            for row in first..matrix.rows.min(first + 2 * shape.pairs) {
                let pairs = columns.iter_mut().skip((row - first) / 2).step_by(shape.pairs);
                for (pair, value) in pairs.zip(matrix.row(row)) {
                    pair.0[(row - first) % 2] = *value;
                }
            }
            columns
        };
        Self { pairs: shape.pairs, panels: (0..shape.panels).map(panel).collect() }
    }

    /// Gives the product with the states and inputs, panel by panel.
    #[inline(always)]
    pub(super) fn product<const PAIRS: usize, const PANELS: usize>(
        &self,
        states: &[f64],
        inputs: &[f64; MOST_INPUTS],
    ) -> Rows<PAIRS, PANELS> {
        let mut sums = [[[0.0; 2]; PAIRS]; PANELS];
        for (sum, panel) in sums.iter_mut().zip(&self.panels) {
            *sum = panel_product(panel, states, inputs);
        }
        sums
    }

    /// Gives the same product, to the bit, with the shape found at run time.
    pub(super) fn product_of_any_shape(
        &self,
        states: &[f64],
        inputs: &[f64; MOST_INPUTS],
    ) -> [f64; MOST_ROWS] {
        let mut rows = [0.0; MOST_ROWS];
        let height = 2 * self.pairs;
        for (sums, panel) in rows.chunks_mut(height).zip(&self.panels) {
            let columns = panel.chunks_exact(self.pairs);
            for (column, &value) in columns.zip(states.iter().chain(inputs)) {
                for (sum, factor) in sums.as_chunks_mut::<2>().0.iter_mut().zip(column) {
                    sum[0] += factor.0[0] * value;
                    sum[1] += factor.0[1] * value;
                }
            }
        }
        rows
    }
}

impl Kernel {
    /// Gives the sum of the sizes of the terms of one row: what its rounding is a fraction of.
    pub(super) fn size(&self, row: usize, states: &[f64], inputs: &[f64; MOST_INPUTS]) -> f64 {
        let height = 2 * self.pairs;
        let Some(panel) = self.panels.get(row / height) else { return 0.0 };
        let place = row % height;
        let columns = panel.chunks_exact(self.pairs).zip(states.iter().chain(inputs));
        columns
            .fold(0.0, |sum, (column, value)| sum + (column[place / 2].0[place % 2] * value).abs())
    }
}

#[inline(always)]
fn panel_product<const PAIRS: usize>(
    panel: &[Pair],
    states: &[f64],
    inputs: &[f64; MOST_INPUTS],
) -> [[f64; 2]; PAIRS] {
    let (columns, _) = panel.as_chunks::<PAIRS>();
    let (by_state, by_input) = columns.split_at(states.len().min(columns.len()));
    let mut sum = [[0.0; 2]; PAIRS];
    for (column, &value) in by_state.iter().zip(states) {
        add(&mut sum, column, value);
    }
    for (column, &value) in by_input.iter().zip(inputs) {
        add(&mut sum, column, value);
    }
    sum
}

#[inline(always)]
fn add<const PAIRS: usize>(sum: &mut [[f64; 2]; PAIRS], column: &[Pair; PAIRS], value: f64) {
    for (total, factor) in sum.iter_mut().zip(column) {
        total[0] += factor.0[0] * value;
        total[1] += factor.0[1] * value;
    }
}

/// How the rows are padded: so many panels of so many pairs of rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shape {
    pub(super) pairs: usize,
    pub(super) panels: usize,
}

/// The sums of one panel, one factor and one product must fit in the sixteen registers of a plain
/// 64-bit processor.
const MOST_PAIRS: usize = 14;

impl Shape {
    /// Gives the padded shape for a number of rows.
    pub(super) fn of(rows: usize) -> Self {
        let pairs = rows.div_ceil(2).max(4);
        let panels = pairs.div_ceil(MOST_PAIRS);
        Self { pairs: pairs.div_ceil(panels), panels }
    }
}
