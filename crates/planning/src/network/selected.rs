//! Selected inverse: of the inverse of the images' normal matrix, what stands where the factor has entries.

use super::factor::Factor;
use super::supernodes::{POSE_LEN, Supernodes};
use crate::base::{Cancelled, Watch};
use faer::linalg::matmul::matmul;
use faer::linalg::triangular_solve::solve_lower_triangular_in_place;
use faer::{Accum, MatMut, MatRef, Par};
use rayon::prelude::*;

/// Columns that are worked out between two questions whether to go on.
const COLUMNS_A_STEP: usize = 48;

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
        let (mut y, mut panel) = (Vec::new(), Vec::new());
        for s in (0..pattern.len()).rev() {
            let (upto, after) = values.split_at_mut(pattern.offsets[s + 1]);
            let own = &mut upto[pattern.offsets[s]..];
            let step = || watch.step((pattern.len() - s) as u64, pattern.len() as u64);
            invert(&pattern, s, own, after, (&mut y, &mut panel), &step)?;
        }
        Ok(SelectedInverse { pattern, values })
    }

    /// Where the block of two images stands, if the factor has entries there: rows of the one with the higher number.
    pub(super) fn place(&self, one: u32, other: u32) -> Option<BlockPlace> {
        let (row, column) = (one.max(other), one.min(other));
        let s = self.pattern.of_image[column as usize] as usize;
        let first = POSE_LEN * self.pattern.place(s, row)?;
        let height = self.pattern.row_count(s);
        let column = POSE_LEN * (column as usize - self.pattern.columns(s).start);
        Some(BlockPlace { start: self.pattern.offsets[s] + column * height + first, height })
    }

    /// The columns of a block.
    pub(super) fn columns(&self, place: BlockPlace) -> impl Iterator<Item = &[f64; POSE_LEN]> {
        let whole = "blocks are whole";
        (0..POSE_LEN).map(move |k| self.values[place.start + k * place.height..].first_chunk().expect(whole))
    }
}

/// Where a block of two images stands among the values.
#[derive(Debug, Clone, Copy)]
pub(super) struct BlockPlace {
    start: usize,
    height: usize,
}

/// What is asked between two pieces of work.
type MayGoOn<'a> = &'a (dyn Fn() -> Result<(), Cancelled> + Sync);

/// Puts a supernode's part of the inverse in the place of its part of the factor.
fn invert(
    pattern: &Supernodes,
    s: usize,
    own: &mut [f64],
    after: &[f64],
    (y, panel): (&mut Vec<f64>, &mut Vec<f64>),
    step: MayGoOn<'_>,
) -> Result<(), Cancelled> {
    let (width, height) = (pattern.column_count(s), pattern.row_count(s));
    let size = height - width;
    let mut unit = vec![0.0; width * width];
    unit.iter_mut().step_by(width + 1).for_each(|value| *value = 1.0);
    let mut inverse = MatMut::from_column_major_slice_mut(&mut unit, width, width);
    let block = MatRef::from_column_major_slice(own, height, width);
    solve_lower_triangular_in_place(block.subrows(0, width), inverse.as_mut(), Par::Seq);
    let inverse = inverse.as_ref();
    y.resize(size * width, 0.0);
    if size > 0 {
        let below = block.subrows(width, size);
        y.par_chunks_mut(size * COLUMNS_A_STEP).enumerate().try_for_each(|(k, y)| {
            step()?;
            let y = MatMut::from_column_major_slice_mut(y, size, y.len() / size);
            let columns = inverse.subcols(k * COLUMNS_A_STEP, y.ncols());
            matmul(y, Accum::Replace, below, columns, 1.0, Par::Seq);
            Ok(())
        })?;
    }
    let y = MatRef::from_column_major_slice(y, size, width);
    own.chunks_exact_mut(height).for_each(|column| column[width..].fill(0.0));
    for (ancestor, run) in pattern.runs(s) {
        let values = &after[pattern.offsets[ancestor] - pattern.offsets[s + 1]..];
        let known = gather(pattern, (s, ancestor), &run, values, panel);
        own.par_chunks_mut(height * COLUMNS_A_STEP).enumerate().try_for_each(|(k, own)| {
            step()?;
            let columns = own.len() / height;
            let own = MatMut::from_column_major_slice_mut(own, height, columns);
            let below = own.split_at_row_mut(width).1;
            take_off_known(known, &run, y.subcols(k * COLUMNS_A_STEP, columns), below);
            Ok(())
        })?;
    }
    own.par_chunks_mut(height * COLUMNS_A_STEP).enumerate().try_for_each(|(k, own)| {
        step()?;
        let columns = own.len() / height;
        let own = MatMut::from_column_major_slice_mut(own, height, columns);
        let (mut top, below) = own.split_at_row_mut(width);
        let columns = inverse.subcols(k * COLUMNS_A_STEP, columns);
        matmul(top.as_mut(), Accum::Replace, inverse.transpose(), columns, 1.0, Par::Seq);
        matmul(top, Accum::Add, y.transpose(), below.as_ref(), -1.0, Par::Seq);
        Ok(())
    })
}

/// Columns of the inverse that belong to a run of what is below a supernode, from the run's own rows on; out of the values of
/// the supernode that the run is in.
fn gather<'a>(
    pattern: &Supernodes,
    (s, ancestor): (usize, usize),
    run: &std::ops::Range<usize>,
    values: &[f64],
    panel: &'a mut Vec<f64>,
) -> MatRef<'a, f64> {
    let below = &pattern.below[s][run.start..];
    let places: Vec<usize> = below
        .iter()
        .map(|&image| POSE_LEN * pattern.place(ancestor, image).expect("a factor's pattern is closed"))
        .collect();
    let (height, rows) = (pattern.row_count(ancestor), POSE_LEN * below.len());
    panel.resize(rows * POSE_LEN * run.len(), 0.0);
    panel.par_chunks_mut(rows * POSE_LEN).enumerate().for_each(|(column, into)| {
        for (k, into) in into.chunks_exact_mut(rows).enumerate() {
            let from = &values[(places[column] + k) * height..][..height];
            for (&place, into) in places.iter().zip(into.chunks_exact_mut(POSE_LEN)) {
                into.copy_from_slice(&from[place..place + POSE_LEN]);
            }
        }
    });
    MatRef::from_column_major_slice(panel, rows, POSE_LEN * run.len())
}

/// Takes Z Y off, as far as some columns of the symmetric Z, from their own rows on, tell it.
fn take_off_known(
    known: MatRef<'_, f64>,
    run: &std::ops::Range<usize>,
    y: MatRef<'_, f64>,
    mut below: MatMut<'_, f64>,
) {
    let (start, count) = (POSE_LEN * run.start, POSE_LEN * run.len());
    let from_own = below.as_mut().subrows_mut(start, known.nrows());
    matmul(from_own, Accum::Add, known, y.subrows(start, count), -1.0, Par::Seq);
    let later = known.subrows(count, known.nrows() - count);
    let rest = y.subrows(start + count, later.nrows());
    matmul(below.subrows_mut(start, count), Accum::Add, later.transpose(), rest, -1.0, Par::Seq);
}
