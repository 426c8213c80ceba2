//! Combinations of points' coordinates: how well they are known, and what a wrong calibration does to them.

use super::calibration::Calibration;
use super::interior::InteriorTerm;
use super::solved::Network;
use super::supernodes::POSE_LEN;
use crate::base::{Cancelled, Watch};
use faer::linalg::matmul::triangular::{BlockStructure, matmul};
use faer::{Accum, MatMut, MatRef, Par};
use glam::{DVec2, DVec3};

/// A weighted sum of coordinates of a block's points, in metres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PointFunctional {
    /// Numbers of points, each with the weights of its east, north and up.
    pub terms: Vec<(u32, DVec3)>,
}

/// Share of the ground at the middle, and of that at the edge, between which a dome is measured.
const DOME_SHARE: f64 = 0.1;

impl PointFunctional {
    /// The dome of some points: mean height of the tenth of them nearest to their centroid less that of the farthest
    /// tenth, at least one each.
    ///
    /// # Units
    /// - `points`: number and place of each, metres in the local frame
    ///
    /// # References
    /// Derived from the project's definition of calibration strength.
    pub fn dome(points: &[(u32, DVec3)]) -> Self {
        let centroid = points.iter().map(|(_, at)| at.truncate()).sum::<DVec2>() / points.len().max(1) as f64;
        let mut by_distance = points.to_vec();
        let distance = |at: &DVec3| at.truncate().distance_squared(centroid);
        by_distance.sort_by(|a, b| distance(&a.1).total_cmp(&distance(&b.1)).then(a.0.cmp(&b.0)));
        let count = ((DOME_SHARE * points.len() as f64).round() as usize).max(1).min(points.len());
        let weighed = |points: &[(u32, DVec3)], sign: f64| {
            let weight = DVec3::new(0.0, 0.0, sign / points.len() as f64);
            points.iter().map(|(number, _)| (*number, weight)).collect::<Vec<_>>()
        };
        let mut terms = weighed(&by_distance[..count], 1.0);
        terms.extend(weighed(&by_distance[by_distance.len() - count..], -1.0));
        PointFunctional { terms }
    }

    /// East, north and up of one point.
    pub fn coordinates(point: u32) -> [Self; 3] {
        DVec3::AXES.map(|axis| PointFunctional { terms: vec![(point, axis)] })
    }
}

/// Movement, in shares of a functional's weights, that is rounding.
const NO_MOVEMENT: f64 = 1e-9;

/// Some functionals of a network, ready to be asked about.
#[derive(Debug)]
pub struct Functionals {
    /// Covariance if the images were error-free, square.
    own: Vec<f64>,
    /// Covariance that the images bring in while all that they share is held, square.
    by_images: Vec<f64>,
    /// How each moves with what the images share, once these have given way; a row for each functional.
    by_shared: Vec<f64>,
    shared: usize,
    determined: Vec<bool>,
}

impl Functionals {
    /// Prepares combinations of points' coordinates, to be asked about under any calibration.
    ///
    /// # Errors
    /// [`Cancelled`], when the watch says so.
    pub fn new(network: &Network, of: &[PointFunctional], watch: &dyn Watch) -> Result<Self, Cancelled> {
        let (n, rows) = (of.len(), POSE_LEN * network.order.len());
        let mut images = vec![0.0; n * rows];
        let mut by_shared = vec![0.0; n * network.shared];
        let mut determined = Vec::with_capacity(n);
        for (k, functional) in of.iter().enumerate() {
            let (images, shared) = (&mut images[k * rows..][..rows], &mut by_shared[k * network.shared..]);
            determined.push(gather(network, functional, images, shared));
        }
        for i in 0..n {
            for k in 0..network.shared {
                by_shared[i * network.shared + k] -= network.dot(&images, i, &network.solved, k);
            }
        }
        // Aᵀ (L Lᵀ)⁻¹ A is the square of L⁻¹ A
        let mut half = images;
        network.factor.solve_half(&mut half, watch)?;
        let by_images = squares(&half, n, rows);
        let own = own_covariance(network, of);
        Ok(Functionals { own, by_images, by_shared, shared: network.shared, determined })
    }

    /// Covariance of two of them; nothing where one depends on what nothing holds, or on a point that does not carry the
    /// network.
    ///
    /// # Units
    /// - returns: square metres
    pub fn covariance_m2(&self, i: usize, j: usize, calibration: &Calibration) -> Option<f64> {
        let n = self.determined.len();
        let shared = |k: usize| -> Vec<f64> {
            calibration.free.iter().map(|&column| self.by_shared[k * self.shared + column]).collect()
        };
        (self.determined[i] && self.determined[j]).then(|| {
            self.own[i * n + j] + self.by_images[i * n + j] + calibration.product(&shared(i), &shared(j))
        })
    }

    /// Standard deviation of one of them; nothing as for [`Functionals::covariance_m2`].
    ///
    /// # Units
    /// - returns: metres
    pub fn sigma_m(&self, i: usize, calibration: &Calibration) -> Option<f64> {
        self.covariance_m2(i, i, calibration).map(|m2| m2.max(0.0).sqrt())
    }

    /// What one of them comes out wrong by if a term of the interior orientation is held at a value that is wrong.
    ///
    /// Linear: the least-squares response to image points that are off by as much. The calibration must hold the term.
    ///
    /// # Units
    /// - `unmodelled`: the true value less the held one, in the term's unit
    /// - returns: metres; nothing where the functional is not determined or the term is free
    pub fn bias_m(
        &self,
        i: usize,
        term: InteriorTerm,
        unmodelled: f64,
        network: &Network,
        calibration: &Calibration,
    ) -> Option<f64> {
        let column = InteriorTerm::ALL.iter().position(|known| *known == term)?;
        if !self.determined[i] || calibration.free.contains(&column) {
            return None;
        }
        // What is free of the shared part gives way to the wrong term: b = T⁻¹ (S_bk − S_bc S_cc⁻¹ S_ck).
        let pull: Vec<f64> = calibration
            .free
            .iter()
            .map(|&free| {
                let own = network.corner[free * network.shared + column];
                own - network.dot(&network.border, free, &network.solved, column)
            })
            .collect();
        let own = &self.by_shared[i * self.shared..][..self.shared];
        let free: Vec<f64> = calibration.free.iter().map(|&free| own[free]).collect();
        Some(unmodelled * (own[column] - calibration.product(&free, &pull)))
    }
}

/// Aᵀ A of n columns, square.
fn squares(a: &[f64], n: usize, rows: usize) -> Vec<f64> {
    let mut found = vec![0.0; n * n];
    let a = MatRef::from_column_major_slice(a, rows, n);
    let into = MatMut::from_column_major_slice_mut(&mut found, n, n);
    let (half, whole) = (BlockStructure::TriangularLower, BlockStructure::Rectangular);
    matmul(into, half, Accum::Replace, a.transpose(), whole, a, whole, 1.0, Par::Seq);
    for column in 0..n {
        for row in column + 1..n {
            found[row * n + column] = found[column * n + row];
        }
    }
    found
}

/// Puts how a functional depends on the images, scaled, and on what they share where they belong; says whether it is
/// determined.
fn gather(network: &Network, functional: &PointFunctional, images: &mut [f64], shared: &mut [f64]) -> bool {
    let mut carried = true;
    for &(number, weights) in &functional.terms {
        let Ok(point) = network.carried.points.binary_search(&number) else {
            carried = false;
            continue;
        };
        let eliminated = &network.points[point];
        let moved = eliminated.inverse * weights;
        for ray in network.rays_of(point) {
            let first = POSE_LEN * network.rays.image[ray] as usize;
            for (k, line) in network.rays.coupling[ray].iter().enumerate() {
                images[first + k] += network.scale[first + k] * line.dot(moved);
            }
        }
        for (sum, column) in shared.iter_mut().zip(&eliminated.by_interior) {
            *sum += column.dot(moved);
        }
    }
    carried && !drifts(network, functional)
}

/// Whether a functional moves with a movement of a part that nothing holds.
fn drifts(network: &Network, functional: &PointFunctional) -> bool {
    let size: f64 = functional.terms.iter().map(|(_, weights)| weights.length()).sum();
    network.parts.iter().enumerate().any(|(part, of)| {
        let mut sums = vec![0.0; of.defects.count()];
        for &(number, weights) in &functional.terms {
            let Ok(point) = network.carried.points.binary_search(&number) else { continue };
            if network.part_of_point[point] as usize == part {
                let moves = of.moves_of(network.points[point].position_m);
                sums.iter_mut().zip(moves).for_each(|(sum, moved)| *sum += moved.dot(weights));
            }
        }
        sums.iter().any(|sum| sum.abs() > NO_MOVEMENT * size)
    })
}

/// Covariance of functionals through the points that both of a pair weigh, if the images were error-free; square.
fn own_covariance(network: &Network, of: &[PointFunctional]) -> Vec<f64> {
    let numbered = of.iter().enumerate();
    let mut terms: Vec<(u32, usize, DVec3)> = numbered
        .flat_map(|(k, functional)| {
            functional.terms.iter().map(move |&(number, weights)| (number, k, weights))
        })
        .collect();
    terms.sort_by_key(|&(number, k, _)| (number, k));
    let mut found = vec![0.0; of.len() * of.len()];
    for same in terms.chunk_by(|a, b| a.0 == b.0) {
        let Ok(point) = network.carried.points.binary_search(&same[0].0) else { continue };
        for &(_, i, one) in same {
            let moved = network.points[point].inverse * one;
            for &(_, j, other) in same {
                found[i * of.len() + j] += moved.dot(other);
            }
        }
    }
    found
}
