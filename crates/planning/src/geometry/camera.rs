use crate::base::digest::Digest;
use glam::{DVec2, DVec3};

/// A pinhole camera with square pixels and the principal point in the middle.
///
/// Pixel (0, 0) is the centre of the first pixel, so the principal point is ((width − 1)/2, (height − 1)/2) and a point
/// is in the frame when −0.5 ≤ u < width − 0.5, and so for v.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraModel {
    /// Pixels along the camera's x axis (right).
    pub width_px: u32,
    /// Pixels along the camera's y axis (down).
    pub height_px: u32,
    /// Focal length in pixels.
    pub focal_length_px: f64,
}

impl CameraModel {
    /// The principal point (cx, cy), in pixels.
    pub fn principal_point_px(&self) -> DVec2 {
        DVec2::new((f64::from(self.width_px) - 1.0) / 2.0, (f64::from(self.height_px) - 1.0) / 2.0)
    }

    /// Half the frame's sides at unit depth: tangent of the half field of view, across and along.
    pub fn half_extent(&self) -> DVec2 {
        DVec2::new(f64::from(self.width_px), f64::from(self.height_px)) / (2.0 * self.focal_length_px)
    }

    /// Ground sample distance of a level camera over level ground: height / focal length in pixels.
    ///
    /// # Units
    /// - `height_m`: metres above the surface
    /// - returns: metres on the surface per pixel
    ///
    /// # References
    /// Textbook relation of the vertical photo (scale = focal length / height).
    pub fn vertical_gsd_m(&self, height_m: f64) -> f64 {
        height_m / self.focal_length_px
    }

    /// Sides of the rectangle that a level camera covers from a height: (across its heading, along it), in metres.
    pub fn vertical_footprint_m(&self, height_m: f64) -> DVec2 {
        self.half_extent() * (2.0 * height_m)
    }

    /// Whether an image point lies in the frame.
    pub fn contains(&self, uv: DVec2) -> bool {
        uv.x >= -0.5
            && uv.x < f64::from(self.width_px) - 0.5
            && uv.y >= -0.5
            && uv.y < f64::from(self.height_px) - 0.5
    }
}

/// Where a camera is and where it looks.
///
/// Heading is the azimuth of the optical axis, clockwise from north (at tilt 0 and 180 the limit as the tilt approaches
/// it); tilt is from nadir; roll turns about the axis, clockwise seen from behind the camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Projection centre in the local frame.
    pub position_m: DVec3,
    /// Azimuth of the optical axis.
    pub heading_rad: f64,
    /// From nadir.
    pub tilt_rad: f64,
    /// About the optical axis.
    pub roll_rad: f64,
}

impl Pose {
    /// Direction of the optical axis: (sin t sin h, sin t cos h, −cos t).
    pub fn axis(&self) -> DVec3 {
        let (sin_t, cos_t) = self.tilt_rad.sin_cos();
        let (sin_h, cos_h) = self.heading_rad.sin_cos();
        DVec3::new(sin_t * sin_h, sin_t * cos_h, -cos_t)
    }

    /// The camera's right and up directions in the local frame, roll applied.
    pub fn right_up(&self) -> (DVec3, DVec3) {
        let (sin_t, cos_t) = self.tilt_rad.sin_cos();
        let (sin_h, cos_h) = self.heading_rad.sin_cos();
        let right = DVec3::new(cos_h, -sin_h, 0.0);
        let up = DVec3::new(cos_t * sin_h, cos_t * cos_h, sin_t);
        if self.roll_rad == 0.0 {
            return (right, up);
        }
        let (sin_r, cos_r) = self.roll_rad.sin_cos();
        (right * cos_r - up * sin_r, up * cos_r + right * sin_r)
    }
}

/// A camera at a pose, with its axes worked out once: what projects points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PosedCamera {
    /// The intrinsics.
    pub model: CameraModel,
    /// Projection centre.
    pub centre_m: DVec3,
    /// Camera x axis in the local frame.
    pub right: DVec3,
    /// Camera y axis in the local frame.
    pub down: DVec3,
    /// Camera z axis in the local frame.
    pub forward: DVec3,
}

impl PosedCamera {
    /// Places a camera.
    pub fn new(model: CameraModel, pose: &Pose) -> Self {
        let (right, up) = pose.right_up();
        PosedCamera { model, centre_m: pose.position_m, right, down: -up, forward: pose.axis() }
    }

    /// Pixel coordinates (u, v) of a point, or nothing if it is not in front of the camera.
    ///
    /// # Units
    /// - `point_m`: metres in the local frame
    /// - returns: pixels, (0, 0) at the centre of the first
    ///
    /// # References
    /// Collinearity equations, e.g. Wolf, Dewitt & Wilkinson, *Elements of Photogrammetry*, app. D (from memory).
    pub fn project(&self, point_m: DVec3) -> Option<DVec2> {
        let d = point_m - self.centre_m;
        let depth = d.dot(self.forward);
        (depth > 0.0).then(|| {
            let scale = self.model.focal_length_px / depth;
            self.model.principal_point_px() + DVec2::new(d.dot(self.right), d.dot(self.down)) * scale
        })
    }

    /// Direction in the local frame, not normalised, of the ray through an image point given at unit depth.
    pub fn ray(&self, at_unit_depth: DVec2) -> DVec3 {
        self.forward + self.right * at_unit_depth.x + self.down * at_unit_depth.y
    }

    /// Side of one pixel's area on a surface: 1/√|det J| = √(z³ / (f² |n·d|)), J the Jacobian of pixel coordinates with
    /// respect to metres in the surface's tangent plane, d the vector from camera to point and z its depth.
    ///
    /// Returns nothing for a point behind the camera or a surface seen edge-on.
    ///
    /// # Units
    /// - returns: metres per pixel
    ///
    /// # References
    /// Derived from the collinearity equations; for a level surface and camera it is height / focal length in pixels.
    pub fn gsd_m(&self, point_m: DVec3, normal: DVec3) -> Option<f64> {
        let d = point_m - self.centre_m;
        let depth = d.dot(self.forward);
        let facing = d.dot(normal).abs();
        (depth > 0.0 && facing > 0.0)
            .then(|| (depth * depth * depth / facing).sqrt() / self.model.focal_length_px)
    }
}

impl Digest {
    pub(crate) fn pose(&mut self, pose: &Pose) -> &mut Self {
        let p = pose.position_m;
        self.numbers(&[p.x, p.y, p.z, pose.heading_rad, pose.tilt_rad, pose.roll_rad])
    }
}
