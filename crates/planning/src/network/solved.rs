//! A block's normal equations, factorised, and what may be asked of them.

use super::block::{Carried, ImageBlock};
use super::datum::{NetworkPart, parts};
use super::factor::Factor;
use super::interior::{INTERIOR_LEN, InteriorFreedom};
use super::normals::{Eliminated, Normals, TieRays, rays_of};
use super::supernodes::POSE_LEN;
use crate::base::{Cancelled, Watch};
use glam::DVec3;
use rayon::prelude::*;
use thiserror::Error;

/// Why a block has no network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NetworkError {
    /// No image sees tie points enough.
    #[error(
        "no image sees {} tie points that other images see too, not on one line; add overlap",
        super::LEAST_POINTS
    )]
    NothingTied,
    /// The owner no longer wants it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// A block's normal equations, factorised once for whatever is free of its calibration.
///
/// Six unknowns an image, three a tie point, the interior orientation and, for each set-up of a base, what satellite
/// positioning is wrong by for all of its images. Tie points are eliminated; the images' matrix is factorised sparse, and
/// what all images share stands beside it as a border.
///
/// # References
/// Reduced camera system: Brown 1958; Triggs and others, "Bundle adjustment — a modern
/// synthesis", 2000 (from memory).
#[derive(Debug)]
pub struct Network {
    /// Which images and points carry it.
    pub carried: Carried,
    /// Its parts, which share no tie point, and what holds each.
    pub parts: Vec<NetworkPart>,
    /// The part of each carried point.
    pub(super) part_of_point: Vec<u32>,
    /// Numbers of the block's images in the order of elimination.
    pub(super) order: Vec<u32>,
    pub(super) factor: Factor,
    /// What each unknown of the images was multiplied by, so that its own weight is 1.
    pub(super) scale: Vec<f64>,
    /// The border, scaled, and what solves it.
    pub(super) border: Vec<f64>,
    pub(super) solved: Vec<f64>,
    pub(super) corner: Vec<f64>,
    pub(super) shared: usize,
    pub(super) points: Vec<Eliminated>,
    pub(super) rays: TieRays,
    pub(super) image_sigma_px: f64,
    constant_sigma_m: DVec3,
}

impl Network {
    /// Sets up and factorises the normal equations of a block.
    ///
    /// Movements of whole parts that nothing holds are held by as many unknowns as there are movements: what does not
    /// depend on them comes out as it is, what does is told to be undetermined.
    ///
    /// # Errors
    /// [`NetworkError::NothingTied`] if no image is left, [`NetworkError::Cancelled`] when the watch says so.
    pub fn new(block: &ImageBlock, watch: &dyn Watch) -> Result<Self, NetworkError> {
        let carried = block.carried_asking(watch)?;
        if carried.images.is_empty() {
            return Err(NetworkError::NothingTied);
        }
        let mut normals = Normals::new(block, &carried, watch)?;
        let (parts, part_of_point) = parts(block, &normals, &carried.points);
        watch.step(0, 1)?;
        hold(block, &parts, &mut normals);
        let scale = scale(&mut normals, watch)?;
        let Normals { order, pattern, values, points, rays, mut border, corner, shared } = normals;
        let factor = Factor::new(pattern, values, watch)?;
        for column in border.chunks_exact_mut(scale.len()) {
            column.iter_mut().zip(&scale).for_each(|(value, scale)| *value *= scale);
        }
        let mut solved = border.clone();
        factor.solve(&mut solved, watch)?;
        Ok(Network {
            carried,
            parts,
            part_of_point,
            order,
            factor,
            scale,
            border,
            solved,
            corner,
            shared,
            points,
            rays,
            image_sigma_px: block.image_sigma_px,
            constant_sigma_m: block.positioning.as_ref().map_or(DVec3::ZERO, |p| p.constant_sigma_m),
        })
    }

    /// Unknowns that the block leaves open though no movement of a whole part explains it: parts that hang together by
    /// too few points. They count as known to about a million times their own precision.
    pub fn hinges(&self) -> usize {
        self.factor.undetermined
    }

    /// Columns of the border that are free, each with the standard deviation that it has beforehand: what is free of the
    /// interior orientation, and what positioning is wrong by in common.
    pub(super) fn free(&self, freedom: &InteriorFreedom) -> Vec<(usize, f64)> {
        let base = (INTERIOR_LEN..self.shared).map(|k| {
            let sigma_m = self.constant_sigma_m[(k - INTERIOR_LEN) % 3];
            (k, (sigma_m > 0.0).then_some(sigma_m))
        });
        let interior = freedom.prior_sigma.iter().copied().enumerate();
        interior.chain(base).filter_map(|(k, sigma)| Some((k, sigma?))).collect()
    }

    /// The rays of a carried point.
    pub(super) fn rays_of(&self, point: usize) -> std::ops::Range<usize> {
        rays_of(&self.points, &self.rays, point)
    }

    /// Aᵀ B of two sets of columns over the images' unknowns, entry (i, j).
    pub(super) fn dot(&self, a: &[f64], i: usize, b: &[f64], j: usize) -> f64 {
        let rows = POSE_LEN * self.order.len();
        a[i * rows..][..rows].iter().zip(&b[j * rows..][..rows]).map(|(a, b)| a * b).sum()
    }
}

/// Holds what nothing holds, by as few unknowns as it takes.
fn hold(block: &ImageBlock, parts: &[NetworkPart], normals: &mut Normals) {
    for (image, k) in parts.iter().flat_map(|part| part.to_hold(block, &normals.order)) {
        let (s, at) = normals.diagonal(image);
        // As firmly as all the rest together holds it: what does not depend on it is the same for any weight.
        normals.values[at + k * (normals.pattern.row_count(s) + 1)] *= 2.0;
    }
}

/// Scales the images' matrix to a unit diagonal; gives the factors.
fn scale(normals: &mut Normals, watch: &dyn Watch) -> Result<Vec<f64>, Cancelled> {
    let mut scale = Vec::with_capacity(POSE_LEN * normals.order.len());
    for image in 0..normals.order.len() {
        let (s, at) = normals.diagonal(image);
        let height = normals.pattern.row_count(s);
        let own = (0..POSE_LEN).map(|k| normals.values[at + k * (height + 1)]);
        scale.extend(own.map(|weight| 1.0 / weight.max(f64::MIN_POSITIVE).sqrt()));
    }
    let pattern = &normals.pattern;
    let of = |(s, values): (usize, &mut [f64])| {
        watch.step(s as u64, pattern.len() as u64)?;
        let columns = pattern.columns(s);
        let images = columns.clone().chain(pattern.below[s].iter().map(|&image| image as usize));
        let by_row: Vec<f64> =
            images.flat_map(|image| scale[POSE_LEN * image..][..POSE_LEN].iter().copied()).collect();
        for (column, values) in values.chunks_exact_mut(by_row.len()).enumerate() {
            let own = by_row[column];
            values.iter_mut().zip(&by_row).for_each(|(value, row)| *value *= own * row);
        }
        Ok(())
    };
    pattern.split(&mut normals.values).into_par_iter().try_for_each(of)?;
    Ok(scale)
}
