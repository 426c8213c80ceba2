#![expect(
    clippy::needless_bitwise_bool,
    reason = "loops over lanes without branches, which the compiler turns into vector code"
)]

use super::lanes::{Flags, Lanes, pack, used};
use crate::base::number::narrow;
use crate::geometry::PosedCamera;
use crate::ground::{TILE_LEN, Tile};
use crate::route::Stations;
use glam::{DVec2, DVec3};

/// Distance by which spheres are taken as larger, so that rounding in the lanes never meets a cull.
const SLACK_M: f64 = 1e-3;

/// A station's camera with the four planes that bound its frame.
#[derive(Debug, Clone)]
pub(crate) struct Frustum {
    pub(crate) camera: PosedCamera,
    half_extent: DVec2,
    /// Unit normals of the planes through the projection centre, pointing inward.
    inward: [DVec3; 4],
}

/// How a sphere lies to a frustum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lies {
    /// No point of it is in the frame.
    Outside,
    /// Some may be.
    Across,
    /// All are.
    Inside,
}

/// The frustums of all stations of a pass.
pub(crate) fn frustums(stations: &Stations) -> Vec<Frustum> {
    let half = stations.camera.half_extent();
    let frustum = |pose| {
        let camera = PosedCamera::new(stations.camera, pose);
        let inward = [
            camera.right + camera.forward * half.x,
            camera.forward * half.x - camera.right,
            camera.down + camera.forward * half.y,
            camera.forward * half.y - camera.down,
        ];
        Frustum { camera, half_extent: half, inward: inward.map(DVec3::normalize) }
    };
    stations.poses.iter().map(frustum).collect()
}

impl Frustum {
    /// How a sphere lies to the frustum; `Across` also where it merely may.
    pub(crate) fn sphere(&self, centre_m: DVec3, radius_m: f64) -> Lies {
        let to_centre = centre_m - self.camera.centre_m;
        let radius_m = radius_m + SLACK_M;
        let mut nearest = f64::INFINITY;
        for inward in &self.inward {
            nearest = nearest.min(inward.dot(to_centre));
        }
        if nearest < -radius_m {
            Lies::Outside
        } else if nearest > radius_m {
            Lies::Inside
        } else {
            Lies::Across
        }
    }

    /// The samples of a tile that are in the frame, by the half-open rule of [`crate::geometry::CameraModel::contains`].
    pub(crate) fn in_frame(&self, tile: &Tile) -> u64 {
        match self.sphere(tile.centre_m, tile.radius_m) {
            Lies::Outside => 0,
            Lies::Inside => used(tile),
            Lies::Across => self.lanes_in_frame(tile) & used(tile),
        }
    }

    /// −0.5 ≤ u < width − 0.5 is −x̂ z ≤ x < x̂ z with x̂ = width / (2 f), since cx = (width − 1)/2; so for v.
    fn lanes_in_frame(&self, tile: &Tile) -> u64 {
        let across = Along::new(self.camera.right, &self.camera, tile);
        let down = Along::new(self.camera.down, &self.camera, tile);
        let depth = Along::new(self.camera.forward, &self.camera, tile);
        let (half_x, half_y) = (narrow(self.half_extent.x), narrow(self.half_extent.y));
        let mut flags: Flags = [0; TILE_LEN];
        let (x, y, z) = (across.lanes(tile), down.lanes(tile), depth.lanes(tile));
        for k in 0..TILE_LEN {
            let (w, h) = (half_x * z[k], half_y * z[k]);
            let inside = (x[k] >= -w) & (x[k] < w) & (y[k] >= -h) & (y[k] < h) & (z[k] > 0.0);
            flags[k] = u8::from(inside);
        }
        pack(&flags)
    }
}

/// A camera axis as seen from a tile: coordinate along it = start + axis · sample.
pub(crate) struct Along {
    start_m: f32,
    axis: [f32; 3],
}

impl Along {
    /// The difference of camera and tile is taken in double precision, where it can be large.
    pub(crate) fn new(axis: DVec3, camera: &PosedCamera, tile: &Tile) -> Along {
        let start_m = narrow(axis.dot(tile.centre_m - camera.centre_m));
        Along { start_m, axis: axis.as_vec3().to_array() }
    }

    /// The coordinate of every sample, in metres from the camera.
    pub(crate) fn lanes(&self, tile: &Tile) -> Lanes {
        let [ax, ay, az] = self.axis;
        let mut along = [0.0; TILE_LEN];
        for (k, along) in along.iter_mut().enumerate() {
            *along = self.start_m + ax * tile.x_m[k] + ay * tile.y_m[k] + az * tile.z_m[k];
        }
        along
    }
}
