use crate::base::digest::Digest;
use crate::geometry::Brown;
use glam::{DVec2, DVec3};
use std::cell::RefCell;

/// A camera with square pixels and the principal point in the middle; what its lens bends decides where the frame ends.
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
    /// What the lens bends.
    pub lens: Brown,
}

impl CameraModel {
    /// A camera whose lens bends nothing.
    ///
    /// # Units
    /// - `width_px`, `height_px`, `focal_length_px`: pixels
    pub const fn pinhole(width_px: u32, height_px: u32, focal_length_px: f64) -> Self {
        CameraModel { width_px, height_px, focal_length_px, lens: Brown::NONE }
    }

    /// The same without its lens.
    #[must_use]
    pub fn without_lens(&self) -> Self {
        CameraModel { lens: Brown::NONE, ..*self }
    }

    /// Where a point of the frame would be imaged without the lens. Beyond a fold of the lens, which no sound scenario has
    /// within its frames, the point itself.
    ///
    /// # Units
    /// - `at`, returns: focal lengths, right and down of the principal point
    pub fn without_distortion(&self, at: DVec2) -> DVec2 {
        self.lens.undistorted(at).unwrap_or(at)
    }

    /// The frame's corners, from the top left one in the frame's order, as they are imaged.
    ///
    /// # Units
    /// - returns: focal lengths, right and down of the principal point
    pub fn corners(&self) -> [DVec2; 4] {
        let half = self.half_extent();
        [
            DVec2::new(-half.x, -half.y),
            DVec2::new(half.x, -half.y),
            DVec2::new(half.x, half.y),
            DVec2::new(-half.x, half.y),
        ]
    }

    /// The principal point (cx, cy), in pixels.
    ///
    /// # Units
    /// - returns: pixels, (0, 0) at the centre of the first
    ///
    /// # References
    /// Derived: the middle of the frame, pixels counted by their centres.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::CameraModel;
    /// let camera = CameraModel::pinhole(5472, 3648, 3648.0);
    /// assert_eq!(camera.principal_point_px().to_array(), [2735.5, 1823.5]);
    /// ```
    pub fn principal_point_px(&self) -> DVec2 {
        DVec2::new((f64::from(self.width_px) - 1.0) / 2.0, (f64::from(self.height_px) - 1.0) / 2.0)
    }

    /// Half the frame's sides at unit depth: tangent of the half field of view, across and along, of a lens that bends
    /// nothing.
    ///
    /// # Units
    /// - returns: no unit, in focal lengths
    ///
    /// # References
    /// Derived from the pinhole: half a side over the focal length.
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
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::CameraModel;
    /// // a sensor of 13.2 mm by 8.8 mm behind 8.8 mm of focal length: 100 m / 3648
    /// let camera = CameraModel::pinhole(5472, 3648, 3648.0);
    /// assert!((camera.vertical_gsd_m(100.0) - 0.027412281).abs() < 1e-9);
    /// ```
    pub fn vertical_gsd_m(&self, height_m: f64) -> f64 {
        height_m / self.focal_length_px
    }

    /// Sides of the rectangle that a level camera covers from a height: (across its heading, along it), in metres.
    ///
    /// # Units
    /// - `height_m`: metres above the surface
    /// - returns: metres on the surface
    ///
    /// # References
    /// Textbook relation of the vertical photo (side = height × sensor's side / focal length).
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::CameraModel;
    /// let camera = CameraModel::pinhole(5472, 3648, 3648.0);
    /// assert_eq!(camera.vertical_footprint_m(100.0).to_array(), [150.0, 100.0]);
    /// ```
    pub fn vertical_footprint_m(&self, height_m: f64) -> DVec2 {
        self.half_extent() * (2.0 * height_m)
    }

    /// Whether an image point lies in the frame.
    ///
    /// # Units
    /// - `uv`: pixels, (0, 0) at the centre of the first
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
    ///
    /// # Units
    /// - returns: no unit, a unit vector: east, north, up
    ///
    /// # References
    /// Derived from the definitions of heading and tilt.
    ///
    /// # Examples
    /// ```
    /// use glam::DVec3;
    /// use obliquity_planning::Pose;
    /// // tilted by 45° from nadir toward the north
    /// let tilt_rad = 45_f64.to_radians();
    /// let pose = Pose { position_m: DVec3::ZERO, heading_rad: 0.0, tilt_rad, roll_rad: 0.0 };
    /// assert!(pose.axis().abs_diff_eq(DVec3::new(0.0, 0.5_f64.sqrt(), -0.5_f64.sqrt()), 1e-12));
    /// ```
    pub fn axis(&self) -> DVec3 {
        let (sin_t, cos_t) = self.tilt_rad.sin_cos();
        let (sin_h, cos_h) = self.heading_rad.sin_cos();
        DVec3::new(sin_t * sin_h, sin_t * cos_h, -cos_t)
    }

    /// The camera's right and up directions in the local frame, roll applied.
    ///
    /// # Units
    /// - returns: no unit, unit vectors: east, north, up
    ///
    /// # References
    /// Derived from the definitions of heading, tilt and roll.
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

/// A camera that is placed again and again, most often looking one of a few ways: what was worked out for those is kept.
#[derive(Debug)]
pub(crate) struct Turning {
    model: CameraModel,
    kept: RefCell<Vec<([u64; 3], PosedCamera)>>,
}

/// Ways to look that are kept: an oblique camera has five attitudes and flies strips there and back.
const MOST_KEPT: usize = 10;

impl Turning {
    pub(crate) fn new(model: CameraModel) -> Self {
        Turning { model, kept: RefCell::new(Vec::with_capacity(MOST_KEPT)) }
    }

    /// As [`PosedCamera::new`], to the last bit.
    pub(crate) fn at(&self, pose: &Pose) -> PosedCamera {
        let angles = [pose.heading_rad, pose.tilt_rad, pose.roll_rad].map(f64::to_bits);
        let mut kept = self.kept.borrow_mut();
        let found = kept.iter().find(|(of, _)| *of == angles).map(|(_, camera)| *camera);
        let camera = found.unwrap_or_else(|| {
            let camera = PosedCamera::new(self.model, pose);
            if kept.len() == MOST_KEPT {
                kept.clear();
            }
            kept.push((angles, camera));
            camera
        });
        PosedCamera { centre_m: pose.position_m, ..camera }
    }
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
    ///
    /// # Examples
    /// ```
    /// use glam::DVec3;
    /// use obliquity_planning::{CameraModel, Pose, PosedCamera};
    /// let model = CameraModel::pinhole(5472, 3648, 3648.0);
    /// let position_m = DVec3::new(0.0, 0.0, 100.0);
    /// let level = Pose { position_m, heading_rad: 0.0, tilt_rad: 0.0, roll_rad: 0.0 };
    /// let camera = PosedCamera::new(model, &level);
    /// // 95 m below, 30 m to the right and 20 m up the frame: 3648 / 95 px a metre
    /// let at_px = camera.project(DVec3::new(30.0, 20.0, 5.0)).expect("in front");
    /// assert!((at_px.x - 3887.5).abs() < 1e-9 && (at_px.y - 1055.5).abs() < 1e-9);
    /// assert_eq!(camera.project(DVec3::new(0.0, 0.0, 101.0)), None);
    /// ```
    pub fn project(&self, point_m: DVec3) -> Option<DVec2> {
        let d = point_m - self.centre_m;
        let depth = d.dot(self.forward);
        (depth > 0.0).then(|| {
            let (focal_px, across) =
                (self.model.focal_length_px, DVec2::new(d.dot(self.right), d.dot(self.down)));
            let from_centre_px = if self.model.lens.is_none() {
                across * (focal_px / depth)
            } else {
                self.model.lens.distorted(across / depth) * focal_px
            };
            self.model.principal_point_px() + from_centre_px
        })
    }

    /// Direction in the local frame, not normalised, of the ray through an image point given at unit depth.
    ///
    /// # Units
    /// - `at_unit_depth`: focal lengths, right and down of the principal point
    /// - returns: no unit; east, north, up
    pub fn ray(&self, at_unit_depth: DVec2) -> DVec3 {
        self.forward + self.right * at_unit_depth.x + self.down * at_unit_depth.y
    }

    /// Side of one pixel's area on a surface: 1/√|det J| = √(z³ / (f² |n·d|)), J the Jacobian of pixel coordinates with
    /// respect to metres in the surface's tangent plane, d the vector from camera to point and z its depth.
    ///
    /// Returns nothing for a point behind the camera or a surface seen edge-on. What the lens bends is left out.
    ///
    /// # Units
    /// - `point_m`: metres in the local frame; `normal`: the surface's unit normal
    /// - returns: metres per pixel
    ///
    /// # References
    /// Derived from the collinearity equations; for a level surface and camera it is height / focal length in pixels.
    ///
    /// # Examples
    /// ```
    /// use glam::DVec3;
    /// use obliquity_planning::{CameraModel, Pose, PosedCamera};
    /// // a wall 50 m away, its foot looked at from 50 m above with the axis tilted by 45°
    /// let model = CameraModel::pinhole(5472, 3648, 3648.0);
    /// let position_m = DVec3::new(0.0, -50.0, 50.0);
    /// let pose = Pose { position_m, heading_rad: 0.0, tilt_rad: 45_f64.to_radians(), roll_rad: 0.0 };
    /// let gsd_m = PosedCamera::new(model, &pose).gsd_m(DVec3::ZERO, DVec3::NEG_Y).expect("in front");
    /// assert!((gsd_m - 0.023050889).abs() < 1e-8);
    /// ```
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
