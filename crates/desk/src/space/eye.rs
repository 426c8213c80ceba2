use glam::{DVec2, DVec3};

/// Angle of view from the lower to the upper edge.
const FIELD_RAD: f64 = 0.62;
/// The eye looks down at least and at most this much, so that up stays up; below 0 it looks up, at an underside.
const DOWN_RAD: (f64, f64) = (-1.45, 1.565);
/// Of the canvas, what a fitted site fills.
const FILLED: f64 = 0.92;
/// The eye comes no nearer to what it turns about, and goes no farther.
const DISTANCE_M: (f64, f64) = (2.0, 100_000.0);

/// What lies nearer to the eye is cut away.
pub(super) const NEAR_M: f64 = 0.5;

/// From where the site is looked at: it turns about a place that it keeps in the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// What is in the middle.
    pub target_m: DVec3,
    /// Compass direction of looking, clockwise from north.
    pub azimuth_rad: f64,
    /// How far the look goes below level; negative for an eye that looks up.
    pub down_rad: f64,
    /// Distance from the target.
    pub distance_m: f64,
}

/// An eye before a canvas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Projection {
    position_m: DVec3,
    forward: DVec3,
    right: DVec3,
    up: DVec3,
    focal_px: f64,
    middle_px: DVec2,
}

impl Eye {
    /// An eye from the south-south-west, with places in the middle of a canvas and as large as it has room for.
    ///
    /// # Units
    /// - `size_px`: width and height of the canvas
    pub fn fitted(places_m: &[DVec3], size_px: DVec2) -> Eye {
        let start = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let (low, high) = places_m.iter().fold(start, |(low, high), &p| (low.min(p), high.max(p)));
        let mut eye =
            Eye { target_m: DVec3::ZERO, azimuth_rad: 0.42, down_rad: 0.62, distance_m: DISTANCE_M.0 };
        if low.cmple(high).all() {
            eye.target_m = low.midpoint(high);
            eye.zoom(DISTANCE_M.0 / (2.0 * low.distance(high)).max(DISTANCE_M.0));
        }
        for _ in 0..12 {
            eye.fit_closer(places_m, size_px);
        }
        eye
    }

    /// One step towards a fit: puts the middle of what is drawn in the middle, and comes nearer or goes away.
    fn fit_closer(&mut self, places_m: &[DVec3], size_px: DVec2) {
        let projection = self.project(size_px);
        let drawn = places_m.iter().map(|&p| projection.at(p));
        let Some(drawn) = drawn.collect::<Option<Vec<_>>>().filter(|drawn| !drawn.is_empty()) else {
            self.zoom(0.5);
            return;
        };
        let start = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let (low, high) = drawn.iter().fold(start, |(low, high), (p, _)| (low.min(*p), high.max(*p)));
        let off = (low.midpoint(high) - size_px / 2.0) * (self.distance_m / projection.focal_px);
        self.target_m += projection.right * off.x - projection.up * off.y;
        let share = ((high - low) / (size_px * FILLED)).max_element();
        self.zoom(1.0 / share.clamp(0.1, 10.0));
    }

    /// Turns about the target: `by_px` to the right and down on a canvas `height_px` high.
    pub fn orbit(&mut self, by_px: DVec2, height_px: f64) {
        let turn = by_px * std::f64::consts::PI / height_px.max(1.0);
        self.azimuth_rad = (self.azimuth_rad + turn.x).rem_euclid(std::f64::consts::TAU);
        self.down_rad = (self.down_rad + turn.y).clamp(DOWN_RAD.0, DOWN_RAD.1);
    }

    /// Moves level, so that what is in the middle follows a pointer moved by so many pixels.
    pub fn pan(&mut self, by_px: DVec2, size_px: DVec2) {
        let step_m = self.distance_m / self.project(size_px).focal_px;
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let ahead = DVec3::new(sin, cos, 0.0);
        let right = DVec3::new(cos, -sin, 0.0);
        // Seen from below, what is farther ahead stands lower.
        let steep = self.down_rad.sin().abs().max(0.25).copysign(self.down_rad);
        self.target_m += (ahead * (by_px.y / steep) - right * by_px.x) * step_m;
    }

    /// Comes nearer by a factor above 1, goes away by one below.
    pub fn zoom(&mut self, factor: f64) {
        if factor.is_finite() && factor > 0.0 {
            self.distance_m = (self.distance_m / factor).clamp(DISTANCE_M.0, DISTANCE_M.1);
        }
    }

    /// Comes nearer to a place, or goes away from it, which stays where it is on the canvas. The eye stops short of the
    /// place.
    pub fn zoom_to(&mut self, factor: f64, place_m: DVec3) {
        if !(factor.is_finite() && factor > 0.0) {
            return;
        }
        let at_m = self.position_m();
        let forward = (self.target_m - at_m).normalize_or_zero();
        let depth_m = (place_m - at_m).dot(forward);
        if depth_m <= 0.0 {
            return self.zoom(factor);
        }
        // What is in the middle lies as far away as the place from now on, so that both bounds mean the same.
        self.target_m = at_m + forward * depth_m;
        self.distance_m = depth_m;
        let distance_m = (depth_m / factor).clamp(DISTANCE_M.0.min(depth_m), DISTANCE_M.1);
        self.target_m = place_m + (self.target_m - place_m) * (distance_m / depth_m);
        self.distance_m = distance_m;
    }

    /// Where it is.
    pub fn position_m(&self) -> DVec3 {
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let (sink, level) = self.down_rad.sin_cos();
        self.target_m - DVec3::new(sin * level, cos * level, -sink) * self.distance_m
    }

    /// The eye before a canvas.
    pub fn project(&self, size_px: DVec2) -> Projection {
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let (sink, level) = self.down_rad.sin_cos();
        let forward = DVec3::new(sin * level, cos * level, -sink);
        let right = DVec3::new(cos, -sin, 0.0);
        Projection {
            position_m: self.target_m - forward * self.distance_m,
            forward,
            right,
            up: right.cross(forward),
            focal_px: size_px.y / 2.0 / (FIELD_RAD / 2.0).tan(),
            middle_px: size_px / 2.0,
        }
    }
}

impl Projection {
    /// Whether the eye is on the side of a plane that its normal points to.
    pub fn is_before(&self, place_m: DVec3, normal: DVec3) -> bool {
        (self.position_m - place_m).dot(normal) > 0.0
    }

    /// A place as the eye has it: metres to the right, up and ahead.
    pub fn seen_m(&self, place_m: DVec3) -> DVec3 {
        let from_eye = place_m - self.position_m;
        DVec3::new(from_eye.dot(self.right), from_eye.dot(self.up), from_eye.dot(self.forward))
    }

    /// Pixel (from the left, from the top) of a place as the eye has it, which must lie ahead.
    pub fn pixel(&self, seen_m: DVec3) -> DVec2 {
        self.middle_px + DVec2::new(seen_m.x, -seen_m.y) * (self.focal_px / seen_m.z)
    }

    /// The way from the eye through a pixel.
    ///
    /// # Units
    /// - returns: where the eye is, and a direction that is one metre long along the look
    pub fn ray(&self, pixel: DVec2) -> (DVec3, DVec3) {
        let off = (pixel - self.middle_px) / self.focal_px;
        (self.position_m, self.forward + self.right * off.x - self.up * off.y)
    }

    /// Pixel and depth in metres of a place; nothing for one that does not lie ahead.
    pub fn at(&self, place_m: DVec3) -> Option<(DVec2, f64)> {
        let seen_m = self.seen_m(place_m);
        (seen_m.z > NEAR_M).then(|| (self.pixel(seen_m), seen_m.z))
    }
}
