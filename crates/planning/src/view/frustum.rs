#![expect(
    clippy::needless_bitwise_bool,
    reason = "loops over lanes without branches, which the compiler turns into vector code"
)]

use super::lanes::{Flags, Lanes, pack, used};
use crate::base::number::narrow;
use crate::geometry::{Brown, CameraModel, PosedCamera};
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
    /// Unit normals of the planes through the projection centre that hold the frame, pointing inward.
    inward: [DVec3; 4],
    bent: Option<Bent>,
}

/// A frame that its lens bends.
#[derive(Debug, Clone, Copy)]
struct Bent {
    lens: [f32; 5],
    /// What is in the frame lies no farther from the axis, squared, in focal lengths: beyond it a lens may fold.
    farthest2: f32,
}

/// A rectangle at unit depth that holds what is imaged in the frame.
struct Enclosing {
    low: DVec2,
    high: DVec2,
    bent: Option<Bent>,
}

/// Pieces of each side of the frame along which a lens is followed.
const PIECES: usize = 16;
/// By which the rectangle that holds a bent frame is larger than those pieces say.
const ROOM: f64 = 1.01;

impl Enclosing {
    fn new(model: &CameraModel) -> Self {
        let half = model.half_extent();
        if model.lens.is_none() {
            return Enclosing { low: -half, high: half, bent: None };
        }
        let corners = model.corners();
        let along =
            |k: usize, piece: usize| corners[k].lerp(corners[(k + 1) % 4], piece as f64 / PIECES as f64);
        let edge = (0..4).flat_map(|k| (0..PIECES).map(move |piece| along(k, piece)));
        let edge: Vec<DVec2> = edge.map(|at| model.without_distortion(at)).collect();
        let reach = |low: DVec2, at: &DVec2| low.min(*at);
        let low = edge.iter().fold(DVec2::ZERO, reach);
        let high = edge.iter().fold(DVec2::ZERO, |high, at| high.max(*at));
        let farthest2 = edge.iter().map(|at| at.length_squared()).fold(0.0, f64::max);
        let Brown { k1, k2, k3, p1, p2 } = model.lens;
        let bent = Bent { lens: [k1, k2, k3, p1, p2].map(narrow), farthest2: narrow(farthest2 * ROOM) };
        Enclosing { low: low * ROOM, high: high * ROOM, bent: Some(bent) }
    }
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
    let (half_extent, Enclosing { low, high, bent }) =
        (stations.camera.half_extent(), Enclosing::new(&stations.camera));
    let frustum = |pose| {
        let camera = PosedCamera::new(stations.camera, pose);
        let inward = [
            camera.right - camera.forward * low.x,
            camera.forward * high.x - camera.right,
            camera.down - camera.forward * low.y,
            camera.forward * high.y - camera.down,
        ];
        Frustum { camera, half_extent, inward: inward.map(DVec3::normalize), bent }
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
        match (self.sphere(tile.centre_m, tile.radius_m), &self.bent) {
            (Lies::Outside, _) => 0,
            (Lies::Inside, None) => used(tile),
            (Lies::Across, None) => self.lanes_in_frame(tile) & used(tile),
            (Lies::Inside | Lies::Across, Some(bent)) => self.lanes_in_bent_frame(tile, bent) & used(tile),
        }
    }

    /// As [`Frustum::lanes_in_frame`], of where the lens images the samples.
    fn lanes_in_bent_frame(&self, tile: &Tile, bent: &Bent) -> u64 {
        let along = |axis| Along::new(axis, &self.camera, tile).lanes(tile);
        let (x, y, z) = (along(self.camera.right), along(self.camera.down), along(self.camera.forward));
        let (half_x, half_y) = (narrow(self.half_extent.x), narrow(self.half_extent.y));
        let [k1, k2, k3, p1, p2] = bent.lens;
        let mut flags: Flags = [0; TILE_LEN];
        for k in 0..TILE_LEN {
            let (x, y) = (x[k] / z[k], y[k] / z[k]);
            let r2 = x * x + y * y;
            let (radial, across) = (1.0 + r2 * (k1 + r2 * (k2 + r2 * k3)), 2.0 * x * y);
            let u = x * radial + p1 * across + p2 * (r2 + 2.0 * x * x);
            let v = y * radial + p1 * (r2 + 2.0 * y * y) + p2 * across;
            let inside = (u >= -half_x) & (u < half_x) & (v >= -half_y) & (v < half_y);
            flags[k] = u8::from(inside & (z[k] > 0.0) & (r2 <= bent.farthest2));
        }
        pack(&flags)
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
