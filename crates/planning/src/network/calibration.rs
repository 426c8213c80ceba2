//! What a block tells about the camera that took it.

use super::interior::{INTERIOR_LEN, InteriorFreedom, InteriorTerm};
use super::small::inverse;
use super::solved::Network;

/// Covariances of what all images share, under one freedom of the calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// What is free, as columns of the border.
    pub(super) free: Vec<usize>,
    /// Their covariance, square.
    pub(super) covariance: Vec<f64>,
}

impl Calibration {
    /// What a network tells of the camera if so much of its calibration is free.
    pub fn new(network: &Network, freedom: &InteriorFreedom) -> Self {
        let free = network.free(freedom);
        let n = free.len();
        let (mut left, mut given) = (vec![0.0; n * n], vec![0.0; n]);
        for (i, &(row, sigma)) in free.iter().enumerate() {
            let prior = sigma.powi(-2);
            given[i] = network.corner[row * network.shared + row] + prior;
            for (j, &(column, _)) in free.iter().enumerate() {
                let own = network.corner[row * network.shared + column];
                left[i * n + j] = own - network.dot(&network.border, row, &network.solved, column);
            }
            left[i * n + i] += prior;
        }
        Calibration {
            covariance: inverse(&left, &given),
            free: free.into_iter().map(|(column, _)| column).collect(),
        }
    }

    /// Standard deviation of a term; nothing where it is held.
    ///
    /// # Units
    /// - returns: pixels, or no unit for a coefficient of distortion
    pub fn sigma(&self, term: InteriorTerm) -> Option<f64> {
        let at = self.place(term)?;
        Some(self.covariance[at * (self.free.len() + 1)].sqrt())
    }

    /// Correlation of two terms; nothing where one is held.
    ///
    /// # Units
    /// - returns: no unit, −1 to 1
    pub fn correlation(&self, one: InteriorTerm, other: InteriorTerm) -> Option<f64> {
        let (i, j) = (self.place(one)?, self.place(other)?);
        let covariance = self.covariance[i * self.free.len() + j];
        Some(covariance / (self.sigma(one)? * self.sigma(other)?))
    }

    /// The two different terms that are most correlated, with their correlation; nothing where fewer than two are free.
    ///
    /// # Units
    /// - returns: no unit, −1 to 1
    pub fn strongest_correlation(&self) -> Option<(InteriorTerm, InteriorTerm, f64)> {
        let pairs = (0..INTERIOR_LEN).flat_map(|i| (i + 1..INTERIOR_LEN).map(move |j| (i, j)));
        let told = pairs.filter_map(|(i, j)| {
            let (one, other) = (InteriorTerm::ALL[i], InteriorTerm::ALL[j]);
            Some((one, other, self.correlation(one, other)?))
        });
        told.max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))
    }

    fn place(&self, term: InteriorTerm) -> Option<usize> {
        let column = InteriorTerm::ALL.iter().position(|known| *known == term)?;
        self.free.iter().position(|free| *free == column)
    }

    /// vᵀ Σ w, over what is free.
    pub(super) fn product(&self, v: &[f64], w: &[f64]) -> f64 {
        let n = self.free.len();
        let line = |i: usize| self.covariance[i * n..][..n].iter().zip(w).map(|(a, b)| a * b).sum::<f64>();
        (0..n).map(|i| v[i] * line(i)).sum()
    }
}
