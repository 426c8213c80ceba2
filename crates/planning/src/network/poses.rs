//! Covariances of the images' poses after the adjustment, and of points that are intersected from them.

use super::block::ImageBlock;
use super::calibration::Calibration;
use super::datum::NetworkPart;
use super::image_point::ImagePoint;
use super::interior::INTERIOR_LEN;
use super::intersection::{inverse_if_determined, outer};
use super::normals::{PoseByPoint, by_pose};
use super::selected::{BlockPlace, PoseBlock, SelectedInverse};
use super::solved::Network;
use super::supernodes::POSE_LEN;
use crate::base::{Cancelled, Watch};
use glam::{DMat3, DVec3};

/// Covariances of the poses of a block's images, those of pairs that are tied included.
#[derive(Debug)]
pub struct Poses {
    parts: Vec<NetworkPart>,
    /// Where each of the block's images stands in the order of elimination.
    place: Vec<Option<u32>>,
    /// The part of each, in the order of elimination.
    part: Vec<u32>,
    inverse: SelectedInverse,
    scale: Vec<f64>,
    solved: Vec<f64>,
    image_sigma_px: f64,
}

/// What makes a point that is intersected uncertain, in m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointErrors {
    /// The noise of its own image points.
    pub of_rays_m2: DMat3,
    /// The poses of its images, and what they share.
    pub of_images_m2: DMat3,
}

/// A ray of a point that is intersected: its image, in the order of elimination, and how the point moves with its pose.
struct Moving {
    image: u32,
    /// A column for each unknown of the pose, scaled.
    point_by_pose: PoseByPoint,
    /// The same.
    lanes: [Padded; POSE_LEN],
}

/// Three numbers and a zero: what fills registers of two or four.
type Padded = [f64; 4];

impl Poses {
    /// Gives a network's factor up for the covariances of its images' poses.
    ///
    /// # Errors
    /// [`Cancelled`], when the watch says so.
    pub fn new(network: Network, watch: &dyn Watch) -> Result<Self, Cancelled> {
        let last = network.order.iter().max().map_or(0, |&last| last as usize + 1);
        let mut place = vec![None; last];
        for (at, &image) in network.order.iter().enumerate() {
            place[image as usize] = Some(at as u32);
        }
        let mut part = vec![0; network.order.len()];
        for (number, of) in network.parts.iter().enumerate() {
            let places = of.images.iter().filter_map(|&image| place[image as usize]);
            places.for_each(|at| part[at as usize] = number as u32);
        }
        Ok(Poses {
            inverse: SelectedInverse::new(network.factor, watch)?,
            parts: network.parts,
            place,
            part,
            scale: network.scale,
            solved: network.solved,
            image_sigma_px: network.image_sigma_px,
        })
    }

    /// Covariance of an image's pose: its place in metres, then turns about east, north and up in radians.
    ///
    /// Nothing for an image that does not carry the network or whose part something leaves to drift.
    pub fn pose_covariance(&self, image: u32, calibration: &Calibration) -> Option<PoseBlock> {
        let at = self.held(image)?;
        let mut block = PoseBlock::default();
        for (c, column) in self.inverse.columns(self.inverse.place(at, at)?).enumerate() {
            block.iter_mut().zip(column).for_each(|(line, value)| line[c] = *value);
        }
        let shared: Vec<Vec<f64>> = (0..POSE_LEN).map(|k| self.by_shared(at, k, calibration)).collect();
        for (r, line) in block.iter_mut().enumerate() {
            for (c, value) in line.iter_mut().enumerate() {
                let scale = self.scale[POSE_LEN * at as usize + r] * self.scale[POSE_LEN * at as usize + c];
                *value = scale * (*value + calibration.product(&shared[r], &shared[c]));
            }
        }
        Some(block)
    }

    /// Covariance of a point that is intersected from some of the block's images, in m².
    ///
    /// What the poses have in common is kept. For a tie point of the network it is what the adjustment gives; for any
    /// other point, intersected with the poses of the adjustment, which it does not change itself. Images that do not
    /// carry the network are left out, and so is one that no tie, direct or by the factor's pattern, sets beside another
    /// that is used already: the point is then told somewhat worse than it is. Nothing is returned where less than two
    /// rays that are not parallel remain, or where the point would drift with its part.
    ///
    /// # Units
    /// - `images`: numbers of the block's images that see the point
    /// - `point_m`: metres in the local frame
    /// - returns: square metres
    pub fn point_covariance_m2(
        &self,
        block: &ImageBlock,
        images: &[u32],
        point_m: DVec3,
        calibration: &Calibration,
    ) -> Option<DMat3> {
        let PointErrors { of_rays_m2, of_images_m2 } =
            self.point_errors_m2(block, images, point_m, calibration)?;
        Some(of_rays_m2 + of_images_m2)
    }

    /// The same in its two parts.
    ///
    /// # Units
    /// - as [`Poses::point_covariance_m2`]
    pub fn point_errors_m2(
        &self,
        block: &ImageBlock,
        images: &[u32],
        point_m: DVec3,
        calibration: &Calibration,
    ) -> Option<PointErrors> {
        let (rays, places) = self.used(block, images, point_m);
        let weight = self.image_sigma_px.powi(-2);
        let rows = || rays.iter().flat_map(|(_, ray)| ray.by_point);
        let normal = rows().fold(DMat3::ZERO, |sum, row| sum + outer(row, weight * row));
        let inverse = inverse_if_determined(&normal).filter(|_| rays.len() >= 2)?;
        let moving: Vec<Moving> =
            rays.iter().map(|(at, ray)| self.moving(*at, ray, inverse * weight)).collect();
        let of_images_m2 =
            self.by_images(&moving, &places) + self.by_all(&rays, &moving, inverse * weight, calibration);
        Some(PointErrors { of_rays_m2: inverse, of_images_m2 })
    }

    /// Rays that are used, with the places of their images; and where the blocks of each with those before it and itself stand.
    fn used(
        &self,
        block: &ImageBlock,
        images: &[u32],
        point_m: DVec3,
    ) -> (Vec<(u32, ImagePoint)>, Vec<BlockPlace>) {
        let mut used: Vec<(u32, ImagePoint)> = Vec::with_capacity(images.len());
        let mut places = Vec::with_capacity(images.len() * (images.len() + 1) / 2);
        for &image in images {
            let Some(at) = self.held_for(image, point_m) else { continue };
            let Some(ray) = ImagePoint::of(&block.images[image as usize], &block.lens, point_m) else {
                continue;
            };
            let before = places.len();
            let all = used.iter().map(|(other, _)| *other).chain([at]);
            places.extend(all.map_while(|other| self.inverse.place(at, other)));
            if places.len() - before > used.len() {
                used.push((at, ray));
            } else {
                places.truncate(before);
            }
        }
        (used, places)
    }

    /// The place of an image whose part nothing leaves to drift.
    fn held(&self, image: u32) -> Option<u32> {
        let at = (*self.place.get(image as usize)?)?;
        (self.parts[self.part[at as usize] as usize].defects.count() == 0).then_some(at)
    }

    /// The place of an image whose part leaves a point where it is.
    fn held_for(&self, image: u32, point_m: DVec3) -> Option<u32> {
        let at = (*self.place.get(image as usize)?)?;
        let still = |moved: DVec3| moved.length() < STILL;
        self.parts[self.part[at as usize] as usize].moves_of(point_m).all(still).then_some(at)
    }

    fn moving(&self, image: u32, ray: &ImagePoint, weighed: DMat3) -> Moving {
        let (u, v) = (by_pose(ray, 0), by_pose(ray, 1));
        let mut point_by_pose = [DVec3::ZERO; POSE_LEN];
        for (k, column) in point_by_pose.iter_mut().enumerate() {
            let pull = u[k] * ray.by_point[0] + v[k] * ray.by_point[1];
            *column = self.scale[POSE_LEN * image as usize + k] * (weighed * pull);
        }
        let lanes = point_by_pose.map(|column| [column.x, column.y, column.z, 0.0]);
        Moving { image, point_by_pose, lanes }
    }

    /// Σ M Z Mᵀ over all pairs of rays.
    fn by_images(&self, rays: &[Moving], places: &[BlockPlace]) -> DMat3 {
        let (mut halves, mut own) = (DMat3::ZERO, DMat3::ZERO);
        let mut places = places.iter();
        for (k, one) in rays.iter().enumerate() {
            for (other, place) in rays[..k].iter().zip(&mut places) {
                let (row, column) = if one.image > other.image { (one, other) } else { (other, one) };
                halves += sandwich(row, self.inverse.columns(*place), column);
            }
            own +=
                places.next().map_or(DMat3::ZERO, |place| sandwich(one, self.inverse.columns(*place), one));
        }
        halves + halves.transpose() + own
    }

    /// What the images share brings in.
    fn by_all(
        &self,
        rays: &[(u32, ImagePoint)],
        moving: &[Moving],
        weighed: DMat3,
        calibration: &Calibration,
    ) -> DMat3 {
        let by_free: Vec<DVec3> = calibration
            .free
            .iter()
            .map(|&column| {
                let own: DVec3 = rays.iter().map(|(_, ray)| pull_of(ray, column)).sum();
                let given_way = moving.iter().map(|ray| self.given_way(ray, column)).sum::<DVec3>();
                weighed * own - given_way
            })
            .collect();
        let axis = |k: usize| by_free.iter().map(|moved| moved[k]).collect::<Vec<f64>>();
        let axes = [axis(0), axis(1), axis(2)];
        let entry = |r: usize, c: usize| calibration.product(&axes[r], &axes[c]);
        let column = |c: usize| DVec3::new(entry(0, c), entry(1, c), entry(2, c));
        DMat3::from_cols(column(0), column(1), column(2))
    }

    /// How far a point follows an image that gives way to a shared unknown.
    fn given_way(&self, ray: &Moving, column: usize) -> DVec3 {
        let first = self.scale.len() * column + POSE_LEN * ray.image as usize;
        let solved = &self.solved[first..first + POSE_LEN];
        ray.point_by_pose.iter().zip(solved).map(|(moved, way)| *moved * *way).sum()
    }

    fn by_shared(&self, image: u32, k: usize, calibration: &Calibration) -> Vec<f64> {
        let row = POSE_LEN * image as usize + k;
        calibration.free.iter().map(|&column| self.solved[self.scale.len() * column + row]).collect()
    }
}

/// Movement that is rounding, in shares of a movement of the whole part.
const STILL: f64 = 1e-9;

/// Bᵀ c of a ray, c its column for a shared unknown; satellites do not see points.
fn pull_of(ray: &ImagePoint, column: usize) -> DVec3 {
    if column >= INTERIOR_LEN {
        return DVec3::ZERO;
    }
    ray.by_interior[0][column] * ray.by_point[0] + ray.by_interior[1][column] * ray.by_point[1]
}

/// M Z Mᵀ of two images, Z by its columns: what takes most of the time of all points.
fn sandwich<'a>(row: &Moving, between: impl Iterator<Item = &'a [f64; POSE_LEN]>, column: &Moving) -> DMat3 {
    let mut sum = [[0.0; 4]; 3];
    for (z, by) in between.zip(&column.point_by_pose) {
        let mut reached = [0.0; 4];
        for (z, moved) in z.iter().zip(&row.lanes) {
            add_scaled(&mut reached, moved, *z);
        }
        for (sum, by) in sum.iter_mut().zip(by.to_array()) {
            add_scaled(sum, &reached, by);
        }
    }
    let [x_axis, y_axis, z_axis] = sum.map(|[x, y, z, _]| DVec3::new(x, y, z));
    DMat3::from_cols(x_axis, y_axis, z_axis)
}

#[inline]
fn add_scaled(sum: &mut Padded, lanes: &Padded, by: f64) {
    for (sum, lane) in sum.iter_mut().zip(lanes) {
        *sum += lane * by;
    }
}
