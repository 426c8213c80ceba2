//! How the images' normal matrix is laid out once it is factorised: columns of images that are alike, side by side.

use faer::Side;
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholeskyRaw, SymmetricOrdering, factorize_symbolic_cholesky,
};

/// Unknowns of an image: three of its place, three turns.
pub(super) const POSE_LEN: usize = 6;

/// Most images side by side: what is done between two questions whether to go on stays short.
const MOST_ABREAST: usize = 48;

/// The pattern of the factor, in images. Images are numbered as they are eliminated.
#[derive(Debug)]
pub(super) struct Supernodes {
    /// First image of each supernode, and at the end their number.
    pub(super) starts: Vec<usize>,
    /// Images below each supernode that it has entries with, ascending.
    pub(super) below: Vec<Vec<u32>>,
    /// Where the values of each start, and at the end their number.
    pub(super) offsets: Vec<usize>,
    /// The supernode that each image is in.
    pub(super) of_image: Vec<u32>,
}

impl Supernodes {
    /// An order of elimination that keeps the factor sparse (old numbers by new), and the factor's pattern in it.
    ///
    /// `neighbours` holds, for each image, the others with higher numbers that it shares a point with, ascending.
    pub(super) fn new(neighbours: &[Vec<u32>]) -> (Vec<u32>, Self) {
        let n = neighbours.len();
        let (mut column_starts, mut rows) = (vec![0_u32], Vec::new());
        for (image, others) in neighbours.iter().enumerate() {
            rows.push(image as u32);
            rows.extend_from_slice(others);
            column_starts.push(rows.len() as u32);
        }
        let pattern = SymbolicSparseColMatRef::new_checked(n, n, &column_starts, None, &rows);
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..Default::default()
        };
        let symbolic = factorize_symbolic_cholesky(pattern, Side::Lower, SymmetricOrdering::Amd, params)
            .expect("indices of images fit");
        let order = symbolic.perm().map_or_else(|| (0..n as u32).collect(), |perm| perm.arrays().0.to_vec());
        let SymbolicCholeskyRaw::Supernodal(raw) = symbolic.raw() else {
            unreachable!("supernodes were asked for")
        };
        let whole = (0..raw.n_supernodes()).map(|s| {
            let supernode = raw.supernode(s);
            (supernode.start()..raw.supernode_end()[s] as usize, supernode.pattern())
        });
        (order, Self::cut(n, whole))
    }

    /// Wide supernodes in slices.
    fn cut<'a>(n: usize, whole: impl Iterator<Item = (std::ops::Range<usize>, &'a [u32])>) -> Self {
        let mut made =
            Supernodes { starts: Vec::new(), below: Vec::new(), offsets: vec![0], of_image: vec![0; n] };
        for (columns, pattern) in whole {
            let mut from = columns.start;
            while from < columns.end {
                let to = (from + MOST_ABREAST).min(columns.end);
                let below: Vec<u32> =
                    (to as u32..columns.end as u32).chain(pattern.iter().copied()).collect();
                made.push(from..to, below);
                from = to;
            }
        }
        made.starts.push(n);
        made
    }

    fn push(&mut self, columns: std::ops::Range<usize>, below: Vec<u32>) {
        for image in columns.clone() {
            self.of_image[image] = self.starts.len() as u32;
        }
        let values = (columns.len() + below.len()) * columns.len() * POSE_LEN * POSE_LEN;
        self.offsets.push(self.offsets[self.starts.len()] + values);
        self.starts.push(columns.start);
        self.below.push(below);
    }

    /// Number of supernodes.
    pub(super) fn len(&self) -> usize {
        self.below.len()
    }

    /// Number of images.
    pub(super) fn image_count(&self) -> usize {
        self.of_image.len()
    }

    /// Images in a supernode.
    pub(super) fn columns(&self, s: usize) -> std::ops::Range<usize> {
        self.starts[s]..self.starts[s + 1]
    }

    /// Rows of a supernode's values: unknowns of its own images and of those below.
    pub(super) fn row_count(&self, s: usize) -> usize {
        POSE_LEN * (self.columns(s).len() + self.below[s].len())
    }

    /// Columns of a supernode's values.
    pub(super) fn column_count(&self, s: usize) -> usize {
        POSE_LEN * self.columns(s).len()
    }

    /// Where an image's rows begin in a supernode, counted in images; it must be of its pattern.
    pub(super) fn place(&self, s: usize, image: u32) -> Option<usize> {
        let columns = self.columns(s);
        if columns.contains(&(image as usize)) {
            return Some(image as usize - columns.start);
        }
        self.below[s].binary_search(&image).ok().map(|at| at + columns.len())
    }

    /// The values of each supernode, out of all.
    pub(super) fn split<'a>(&self, values: &'a mut [f64]) -> Vec<(usize, &'a mut [f64])> {
        let mut rest = values;
        let take = |s: usize| {
            let (own, after) = std::mem::take(&mut rest).split_at_mut(self.offsets[s + 1] - self.offsets[s]);
            rest = after;
            (s, own)
        };
        (0..self.len()).map(take).collect()
    }

    /// Runs of `below` that are in one supernode each: the supernode, and the run.
    pub(super) fn runs(&self, s: usize) -> Vec<(usize, std::ops::Range<usize>)> {
        let below = &self.below[s];
        let mut found: Vec<(usize, std::ops::Range<usize>)> = Vec::new();
        for (at, image) in below.iter().enumerate() {
            let of = self.of_image[*image as usize] as usize;
            match found.last_mut() {
                Some((last, run)) if *last == of => run.end = at + 1,
                _ => found.push((of, at..at + 1)),
            }
        }
        found
    }
}
