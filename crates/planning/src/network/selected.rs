//! Selected inverse: of the inverse of the images' normal matrix, what stands where the factor has entries.

use super::factor::Factor;
use super::supernodes::{POSE_LEN, Supernodes};
use crate::base::{Cancelled, Watch};
use faer::linalg::matmul::matmul;
use faer::linalg::triangular_solve::solve_lower_triangular_in_place;
use faer::{Accum, MatMut, MatRef, Par};

/// Columns that are worked out between two questions whether to go on.
const COLUMNS_A_STEP: usize = 96;

/// Rows of one image's unknowns (place east, north, up; turns about them), columns of another's.
pub type PoseBlock = [[f64; POSE_LEN]; POSE_LEN];

/// Blocks of the inverse of a matrix that was factorised, in the place of its factor.
#[derive(Debug)]
pub(super) struct SelectedInverse {
    pattern: Supernodes,
    values: Vec<f64>,
}

impl SelectedInverse {
    /// Turns a factor into the selected inverse of what it is the factor of.
    ///
    /// Supernode by supernode from the last: with L = (D; B), Y = B D⁻¹ and the inverse Z of what is below, the block
    /// below is −Z Y and the own one (D Dᵀ)⁻¹ + Yᵀ Z Y.
    ///
    /// References: Takahashi, Fagan & Chin 1973; Erisman & Tinney 1975 (from memory).
    pub(super) fn new(factor: Factor, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let Factor { pattern, mut values, .. } = factor;
        let mut known = Vec::new();
        for s in (0..pattern.len()).rev() {
            let (upto, after) = values.split_at_mut(pattern.offsets[s + 1]);
            let own = &mut upto[pattern.offsets[s]..];
            gather(&pattern, s, after, &mut known);
            let step = || watch.step((pattern.len() - s) as u64, pattern.len() as u64);
            invert(&pattern, s, own, &known, &step)?;
        }
        Ok(SelectedInverse { pattern, values })
    }

    /// Whether the block of two images is there.
    pub(super) fn has(&self, one: u32, other: u32) -> bool {
        let (row, column) = (one.max(other), one.min(other));
        self.pattern.place(self.pattern.of_image[column as usize] as usize, row).is_some()
    }

    /// The block of two images, if the factor has entries there.
    pub(super) fn block(&self, row: u32, column: u32) -> Option<PoseBlock> {
        if row < column {
            return self.block(column, row).map(|block| transposed(&block));
        }
        let s = self.pattern.of_image[column as usize] as usize;
        let first = POSE_LEN * self.pattern.place(s, row)?;
        let height = self.pattern.row_count(s);
        let column = POSE_LEN * (column as usize - self.pattern.columns(s).start);
        let values = &self.values[self.pattern.offsets[s]..];
        let mut block = PoseBlock::default();
        for (r, line) in block.iter_mut().enumerate() {
            for (c, value) in line.iter_mut().enumerate() {
                *value = values[(column + c) * height + first + r];
            }
        }
        Some(block)
    }
}

fn transposed(block: &PoseBlock) -> PoseBlock {
    let mut turned = PoseBlock::default();
    for (r, line) in block.iter().enumerate() {
        for (c, &value) in line.iter().enumerate() {
            turned[c][r] = value;
        }
    }
    turned
}

/// The inverse of everything below a supernode, both halves, out of the supernodes after it.
fn gather(pattern: &Supernodes, s: usize, after: &[f64], known: &mut Vec<f64>) {
    let below = &pattern.below[s];
    let size = POSE_LEN * below.len();
    known.resize(size * size, 0.0);
    for (ancestor, run) in pattern.runs(s) {
        let values = &after[pattern.offsets[ancestor] - pattern.offsets[s + 1]..];
        let height = pattern.row_count(ancestor);
        let places: Vec<usize> = below[run.start..]
            .iter()
            .map(|&image| POSE_LEN * pattern.place(ancestor, image).expect("a factor's pattern is closed"))
            .collect();
        for at in run.clone() {
            let first = places[at - run.start];
            for k in 0..POSE_LEN {
                let from = &values[(first + k) * height..][..height];
                let into = &mut known[(POSE_LEN * at + k) * size..][..size];
                for (other, &place) in places.iter().enumerate().skip(at - run.start) {
                    let row = POSE_LEN * (run.start + other);
                    into[row..row + POSE_LEN].copy_from_slice(&from[place..place + POSE_LEN]);
                }
            }
        }
    }
    mirror(known, size);
}

/// Copies the lower half of a square to the upper one, in squares that stay in the cache.
fn mirror(square: &mut [f64], size: usize) {
    const SIDE: usize = 32;
    for from in (0..size).step_by(SIDE) {
        for row_from in (from..size).step_by(SIDE) {
            for column in from..(from + SIDE).min(size) {
                for row in row_from.max(column + 1)..(row_from + SIDE).min(size) {
                    square[row * size + column] = square[column * size + row];
                }
            }
        }
    }
}

/// Puts a supernode's part of the inverse in the place of its part of the factor.
fn invert(
    pattern: &Supernodes,
    s: usize,
    own: &mut [f64],
    known: &[f64],
    step: &dyn Fn() -> Result<(), Cancelled>,
) -> Result<(), Cancelled> {
    let (width, size) = (pattern.column_count(s), POSE_LEN * pattern.below[s].len());
    let mut unit = vec![0.0; width * width];
    unit.iter_mut().step_by(width + 1).for_each(|value| *value = 1.0);
    let mut inverse = MatMut::from_column_major_slice_mut(&mut unit, width, width);
    let block = MatMut::from_column_major_slice_mut(own, width + size, width);
    let (mut top, mut bottom) = block.split_at_row_mut(width);
    solve_lower_triangular_in_place(top.as_ref(), inverse.as_mut(), Par::Seq);
    let inverse = inverse.as_ref();
    let mut times = vec![0.0; size * width];
    let mut y = MatMut::from_column_major_slice_mut(&mut times, size, width);
    matmul(y.as_mut(), Accum::Replace, bottom.as_ref(), inverse, 1.0, Par::Seq);
    matmul(top.as_mut(), Accum::Replace, inverse.transpose(), inverse, 1.0, Par::Seq);
    let known = MatRef::from_column_major_slice(known, size, size);
    for from in (0..width).step_by(COLUMNS_A_STEP) {
        step()?;
        let count = COLUMNS_A_STEP.min(width - from);
        let part = bottom.as_mut().subcols_mut(from, count);
        matmul(part, Accum::Replace, known, y.as_ref().subcols(from, count), -1.0, Par::Seq);
    }
    matmul(top, Accum::Add, y.as_ref().transpose(), bottom.as_ref(), -1.0, Par::Seq);
    Ok(())
}
