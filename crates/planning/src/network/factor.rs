//! Cholesky factor of the images' normal matrix, and solutions by it.

use super::supernodes::{POSE_LEN, Supernodes};
use crate::base::{Cancelled, Watch};
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{
    LltParams, LltRegularization, cholesky_in_place, cholesky_in_place_scratch,
};
use faer::linalg::matmul::matmul;
use faer::linalg::triangular_solve::{solve_lower_triangular_in_place, solve_upper_triangular_in_place};
use faer::{Accum, Auto, MatMut, MatRef, Par, Spec};
use rayon::prelude::*;

/// Pivots of the matrix with a unit diagonal that are no more than rounding: what they stand for is not determined.
/// They are taken as this, so that it is known to a million times less than it would be if all else were known.
const NO_PIVOT: f64 = 1e-12;

/// The factor L of a normal matrix with a unit diagonal; L Lᵀ is that matrix.
#[derive(Debug)]
pub(super) struct Factor {
    pub(super) pattern: Supernodes,
    pub(super) values: Vec<f64>,
    /// Pivots that were no more than rounding.
    pub(super) undetermined: usize,
}

impl Factor {
    /// Factorises in place.
    pub(super) fn new(
        pattern: Supernodes,
        mut values: Vec<f64>,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let mut undetermined = 0;
        for s in 0..pattern.len() {
            let (upto, after) = values.split_at_mut(pattern.offsets[s + 1]);
            let own = &mut upto[pattern.offsets[s]..];
            let step = || watch.step(s as u64, pattern.len() as u64);
            undetermined += eliminate(&pattern, s, own, &step)?;
            let own = &*own;
            ancestors(&pattern, s, after).into_par_iter().try_for_each_init(
                Vec::new,
                |product, (ancestor, run, values)| {
                    step()?;
                    multiply_below(&pattern, s, own, run.clone(), product);
                    subtract(&pattern, s, run, ancestor, product, values);
                    Ok(())
                },
            )?;
        }
        Ok(Factor { pattern, values, undetermined })
    }

    /// The values of a supernode: a column for each unknown of its images.
    pub(super) fn block(&self, s: usize) -> MatRef<'_, f64> {
        let own = &self.values[self.pattern.offsets[s]..self.pattern.offsets[s + 1]];
        MatRef::from_column_major_slice(own, self.pattern.row_count(s), self.pattern.column_count(s))
    }

    /// Solves half of it, L X = B, for some right sides, column after column, in place.
    pub(super) fn solve_half(&self, sides: &mut [f64], watch: &dyn Watch) -> Result<(), Cancelled> {
        self.forwards(sides, watch, self.pattern.len())
    }

    /// The same as the first of so many steps.
    fn forwards(&self, sides: &mut [f64], watch: &dyn Watch, steps: usize) -> Result<(), Cancelled> {
        let rows = POSE_LEN * self.pattern.image_count();
        if rows == 0 || sides.is_empty() {
            return Ok(());
        }
        let mut x = MatMut::from_column_major_slice_mut(sides, rows, sides_count(sides.len(), rows));
        for s in 0..self.pattern.len() {
            watch.step(s as u64, steps as u64)?;
            self.forward(s, x.as_mut());
        }
        Ok(())
    }

    /// Solves for some right sides, column after column, in place.
    pub(super) fn solve(&self, sides: &mut [f64], watch: &dyn Watch) -> Result<(), Cancelled> {
        self.forwards(sides, watch, 2 * self.pattern.len())?;
        let rows = POSE_LEN * self.pattern.image_count();
        if rows == 0 || sides.is_empty() {
            return Ok(());
        }
        let mut x = MatMut::from_column_major_slice_mut(sides, rows, sides_count(sides.len(), rows));
        for s in (0..self.pattern.len()).rev() {
            watch.step((2 * self.pattern.len() - s) as u64, 2 * self.pattern.len() as u64)?;
            self.backward(s, x.as_mut());
        }
        Ok(())
    }

    fn forward(&self, s: usize, mut x: MatMut<'_, f64>) {
        let (columns, width) = (self.pattern.columns(s), self.pattern.column_count(s));
        let (top, bottom) = self.block(s).split_at_row(width);
        let mut own = x.as_mut().subrows_mut(POSE_LEN * columns.start, width);
        solve_lower_triangular_in_place(top, own.as_mut(), Par::Seq);
        let sides = own.ncols();
        let mut product = vec![0.0; bottom.nrows() * sides];
        let mut moved = MatMut::from_column_major_slice_mut(&mut product, bottom.nrows(), sides);
        matmul(moved.as_mut(), Accum::Replace, bottom, own.as_ref(), 1.0, Par::Seq);
        for side in 0..sides {
            for (k, row) in self.rows_below(s).enumerate() {
                x[(row, side)] -= moved[(k, side)];
            }
        }
    }

    fn backward(&self, s: usize, x: MatMut<'_, f64>) {
        let (columns, width) = (self.pattern.columns(s), self.pattern.column_count(s));
        let (top, bottom) = self.block(s).split_at_row(width);
        let sides = x.ncols();
        let mut known = vec![0.0; bottom.nrows() * sides];
        let mut below = MatMut::from_column_major_slice_mut(&mut known, bottom.nrows(), sides);
        for side in 0..sides {
            for (k, row) in self.rows_below(s).enumerate() {
                below[(k, side)] = x[(row, side)];
            }
        }
        let mut own = x.subrows_mut(POSE_LEN * columns.start, width);
        matmul(own.as_mut(), Accum::Add, bottom.transpose(), below.as_ref(), -1.0, Par::Seq);
        solve_upper_triangular_in_place(top.transpose(), own, Par::Seq);
    }

    fn rows_below(&self, s: usize) -> impl Iterator<Item = usize> {
        let images = self.pattern.below[s].iter();
        images.flat_map(|&image| POSE_LEN * image as usize..POSE_LEN * (image as usize + 1))
    }
}

fn sides_count(len: usize, rows: usize) -> usize {
    debug_assert_eq!(len % rows, 0);
    len / rows
}

/// The supernodes that one has entries with, each with the run of its own images and its values.
type Ancestor<'a> = (usize, std::ops::Range<usize>, &'a mut [f64]);

/// The supernodes that one has entries with, out of the values of all after it.
fn ancestors<'a>(pattern: &Supernodes, s: usize, after: &'a mut [f64]) -> Vec<Ancestor<'a>> {
    let (mut rest, mut at) = (after, pattern.offsets[s + 1]);
    let take = |(ancestor, run): (usize, std::ops::Range<usize>)| {
        let (start, end) = (pattern.offsets[ancestor], pattern.offsets[ancestor + 1]);
        let (_, tail) = std::mem::take(&mut rest).split_at_mut(start - at);
        let (values, tail) = tail.split_at_mut(end - start);
        (rest, at) = (tail, end);
        (ancestor, run, values)
    };
    pattern.runs(s).into_iter().map(take).collect()
}

/// Rows of a supernode that are solved for at a time: short enough to be asked between.
const ROWS_A_STEP: usize = 384;

/// Solves X Lᵀ = B for B, in pieces of rows.
fn solve_rows(
    top: MatRef<'_, f64>,
    rows: MatMut<'_, f64>,
    step: &(dyn Fn() -> Result<(), Cancelled> + Sync),
) -> Result<(), Cancelled> {
    if rows.nrows() <= ROWS_A_STEP {
        step()?;
        solve_lower_triangular_in_place(top, rows.transpose_mut(), Par::Seq);
        return Ok(());
    }
    let middle = rows.nrows() / 2;
    let (one, other) = rows.split_at_row_mut(middle);
    let (one, other) = rayon::join(|| solve_rows(top, one, step), || solve_rows(top, other, step));
    one.and(other)
}

/// Factorises a supernode's own part and solves for what is below; counts pivots that are no more than rounding.
fn eliminate(
    pattern: &Supernodes,
    s: usize,
    own: &mut [f64],
    step: &(dyn Fn() -> Result<(), Cancelled> + Sync),
) -> Result<usize, Cancelled> {
    let width = pattern.column_count(s);
    let block = MatMut::from_column_major_slice_mut(own, pattern.row_count(s), width);
    let (mut top, bottom) = block.split_at_row_mut(width);
    let params: Spec<LltParams, f64> = Spec::new(<LltParams as Auto<f64>>::auto());
    let mut memory = MemBuffer::new(cholesky_in_place_scratch::<f64>(width, Par::Seq, params));
    let floor = LltRegularization {
        dynamic_regularization_delta: NO_PIVOT,
        dynamic_regularization_epsilon: NO_PIVOT,
    };
    let done = cholesky_in_place(top.as_mut(), floor, Par::Seq, MemStack::new(&mut memory), params);
    let undetermined = done.map_or(width, |info| info.dynamic_regularization_count);
    solve_rows(top.as_ref(), bottom, step)?;
    Ok(undetermined)
}

/// L of the rows from a run of `below` on, times that of the run's own, transposed.
fn multiply_below(
    pattern: &Supernodes,
    s: usize,
    own: &[f64],
    run: std::ops::Range<usize>,
    product: &mut Vec<f64>,
) {
    let width = pattern.column_count(s);
    let block = MatRef::from_column_major_slice(own, pattern.row_count(s), width);
    let rows = block.subrows(width + POSE_LEN * run.start, POSE_LEN * (pattern.below[s].len() - run.start));
    let columns = rows.subrows(0, POSE_LEN * run.len());
    product.resize(rows.nrows() * columns.nrows(), 0.0);
    let into = MatMut::from_column_major_slice_mut(product, rows.nrows(), columns.nrows());
    matmul(into, Accum::Replace, rows, columns.transpose(), 1.0, Par::Seq);
}

/// Takes a product of [`multiply_below`] off the values of the supernode that the run is in.
fn subtract(
    pattern: &Supernodes,
    s: usize,
    run: std::ops::Range<usize>,
    ancestor: usize,
    product: &[f64],
    values: &mut [f64],
) {
    let below = &pattern.below[s][run.start..];
    let rows: Vec<usize> = below
        .iter()
        .map(|&image| POSE_LEN * pattern.place(ancestor, image).expect("a factor's pattern is closed"))
        .collect();
    let (height, own_height) = (POSE_LEN * below.len(), pattern.row_count(ancestor));
    for (column_image, &first) in rows[..run.len()].iter().enumerate() {
        for k in 0..POSE_LEN {
            let from = &product[(POSE_LEN * column_image + k) * height..][..height];
            let into = &mut values[(first + k) * own_height..][..own_height];
            for (part, &row) in from.chunks_exact(POSE_LEN).zip(&rows).skip(column_image) {
                for (value, &taken) in into[row..row + POSE_LEN].iter_mut().zip(part) {
                    *value -= taken;
                }
            }
        }
    }
}
