//! How steeply uneven ground can hide a tile.

use crate::base::number::whole;
use glam::DVec2;

/// Directions that a horizon tells apart, in quarters of a quarter-turn's diamond.
pub(super) const SECTORS: usize = 64;

/// Sectors in a quarter turn.
pub(super) const QUARTER: f64 = SECTORS as f64 / 4.0;

/// How steeply the ground can hide a tile's samples: for each direction, the greatest rise per metre at which a ray
/// can still meet it. Steeper rays are free of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Horizon {
    pub(super) steepest: [f32; SECTORS],
    pub(super) overall: f32,
}

impl Horizon {
    /// The bound for rays that leave a tile of a radius for a place seen from its centre.
    pub(crate) fn steepest_towards(&self, x_m: f32, y_m: f32, radius_m: f32) -> f32 {
        let distance_m = (x_m * x_m + y_m * y_m).sqrt();
        if distance_m <= 2.0 * radius_m {
            return self.overall;
        }
        // asin(s) ≤ s π/2, and the diamond's angle grows no faster than the circle's
        let spread = f64::from(radius_m / distance_m) * std::f64::consts::FRAC_PI_2;
        let towards = diamond(DVec2::new(f64::from(x_m), f64::from(y_m)));
        // below 0 before east, so a whole turn is added
        let turn = SECTORS as f64;
        let (first, last) =
            (whole((towards - spread) * QUARTER + turn), whole((towards + spread) * QUARTER + turn));
        (first..=last).map(|k| self.steepest[k % SECTORS]).fold(0.0, f32::max)
    }
}

/// A direction as a number from 0 to 4 that grows anticlockwise from east: the place on a diamond's edge.
pub(super) fn diamond(towards: DVec2) -> f64 {
    let up = towards.y / (towards.x.abs() + towards.y.abs()).max(f64::MIN_POSITIVE);
    match (towards.x < 0.0, towards.y < 0.0) {
        (false, false) => up,
        (true, _) => 2.0 - up,
        (false, true) => 4.0 + up,
    }
}
