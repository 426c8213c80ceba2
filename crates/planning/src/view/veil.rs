use super::lanes::{Flags, Lanes, pack};
use crate::base::number::narrow;
use crate::ground::TILE_LEN;
use glam::DVec3;

/// Nearer than this to the edge of a shadow, single precision does not decide.
const UNSURE_M: f32 = 2e-3;

/// How deep each sample of a tile lies in the shadow that edges throw, seen from one camera.
///
/// The shadow of an edge is what lies beyond it, between the two upright planes through the camera and its ends, and
/// below the plane through the camera and the edge. All places are relative to the tile's centre.
pub(crate) struct Veil {
    camera_m: DVec3,
    radius_m: f32,
    /// Least distance inside the four planes, greatest over the edges; negative outside.
    depth_m: Lanes,
    touched: bool,
}

/// One of the planes that bound a shadow: distance inside = start + normal · place.
#[derive(Clone, Copy)]
struct BoundPlane {
    start_m: f32,
    normal: [f32; 3],
}

/// A plane through a place, before its normal is made a unit vector.
#[derive(Clone, Copy)]
struct Raw {
    start: f64,
    normal: DVec3,
}

impl Raw {
    fn through(place_m: DVec3, normal: DVec3) -> Raw {
        Raw { start: -normal.dot(place_m), normal }
    }

    /// Whether all within a radius of the tile's centre lies outside.
    fn leaves_out(&self, radius_m: f64) -> bool {
        self.start < 0.0 && self.start * self.start > radius_m * radius_m * self.normal.length_squared()
    }

    fn unit(&self) -> Option<BoundPlane> {
        let length = self.normal.length();
        let unit = || BoundPlane {
            start_m: narrow(self.start / length),
            normal: (self.normal / length).as_vec3().to_array(),
        };
        (length > 0.0).then(unit)
    }
}

impl Veil {
    /// Nothing hides a tile of a radius as yet.
    pub(crate) fn new(camera_m: DVec3, radius_m: f32) -> Veil {
        Veil { camera_m, radius_m, depth_m: [f32::NEG_INFINITY; TILE_LEN], touched: false }
    }

    /// Adds the shadow of an edge.
    pub(crate) fn add(&mut self, ends_m: [DVec3; 2], [x_m, y_m, z_m]: [&Lanes; 3]) {
        let Some([left, right, beyond, under]) = self.planes(ends_m) else { return };
        self.touched = true;
        let at = |plane: &BoundPlane, k: usize| {
            plane.start_m + plane.normal[0] * x_m[k] + plane.normal[1] * y_m[k] + plane.normal[2] * z_m[k]
        };
        // upright planes have level normals
        let beside = |plane: &BoundPlane, k: usize| {
            plane.start_m + plane.normal[0] * x_m[k] + plane.normal[1] * y_m[k]
        };
        for k in 0..TILE_LEN {
            let inside =
                least(least(beside(&left, k), beside(&right, k)), least(beside(&beyond, k), at(&under, k)));
            let before = self.depth_m[k];
            self.depth_m[k] = if inside > before { inside } else { before };
        }
    }

    /// The planes that bound the shadow of an edge, their normals pointing into it; nothing where no sample can be in it.
    fn planes(&self, [first, second]: [DVec3; 2]) -> Option<[BoundPlane; 4]> {
        let (mut a, mut b) = (first - self.camera_m, second - self.camera_m);
        if a.truncate().perp_dot(b.truncate()) < 0.0 {
            (a, b) = (b, a);
        }
        let upright = |along: DVec3| DVec3::new(-along.y, along.x, 0.0);
        let [left, right] = [upright(a), -upright(b)].map(|normal| Raw::through(self.camera_m, normal));
        let beyond = Raw::through(self.camera_m + a, -upright(b - a));
        let under = Raw::through(self.camera_m, -a.cross(b));
        let radius_m = f64::from(self.radius_m + UNSURE_M);
        if [left, right, beyond, under].iter().any(|plane| plane.leaves_out(radius_m)) {
            return None;
        }
        Some([left.unit()?, right.unit()?, beyond.unit()?, under.unit()?])
    }

    /// Bits of the samples that are hidden for sure, and of those too near the edge of a shadow to tell.
    pub(crate) fn hidden_and_unsure(&self) -> (u64, u64) {
        if !self.touched {
            return (0, 0);
        }
        let (mut hidden, mut near): (Flags, Flags) = ([0; TILE_LEN], [0; TILE_LEN]);
        for k in 0..TILE_LEN {
            hidden[k] = u8::from(self.depth_m[k] > UNSURE_M);
            near[k] = u8::from(self.depth_m[k] >= -UNSURE_M);
        }
        let hidden = pack(&hidden);
        (hidden, pack(&near) & !hidden)
    }
}

fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}
