//! Whether a frame shows anything of a site.

use crate::base::choice::EQUAL_RATIO;
use crate::geometry::footprint::footprint_m;
use crate::geometry::polygon::{bounds, contains, rings_meet};
use crate::geometry::{CameraModel, Pose, PosedCamera};
use crate::ground::SiteOutline;
use glam::{DVec2, DVec3};
use std::cell::RefCell;
use std::f64::consts::{FRAC_PI_2, PI};

/// Up to this tilt the axis meets the ground well inside the cut of the frames, so that a frame holds that place.
const SURELY_IN_FRAME_RAD: f64 = PI / 3.0;

/// Ways to look that are kept: an oblique camera has five attitudes and flies strips there and back.
const MOST_LOOKS: usize = 10;

/// The frames of a camera over a site.
pub(super) struct SiteFrames<'a> {
    camera: CameraModel,
    site: &'a SiteOutline,
    /// The boxes about what stands, of its footprints that count.
    footprint_bounds: &'a [(DVec2, DVec2)],
    /// Of the ways to look that came last.
    looks: RefCell<Vec<FrameShape>>,
}

/// What is the same for all frames that look one way: how they lie on a plane 1 m below. A frame grows with the height and
/// moves with the place.
struct FrameShape {
    angles_rad: [f64; 3],
    /// Where a steep enough axis meets that plane.
    foot_m: Option<DVec2>,
    /// Drawn in by a hair: a frame that only touches what it might show shows nothing of it.
    outline_m: Vec<DVec2>,
    /// The box about it.
    bounds_m: (DVec2, DVec2),
}

impl FrameShape {
    fn new(camera: CameraModel, pose: &Pose) -> Self {
        let posed = PosedCamera::new(camera, &Pose { position_m: DVec3::Z, ..*pose });
        let axis = posed.forward;
        let outline_m = drawn_in(&footprint_m(&posed, 0.0).unwrap_or_default());
        FrameShape {
            angles_rad: angles_rad(pose),
            foot_m: (pose.tilt_rad <= SURELY_IN_FRAME_RAD).then(|| axis.truncate() / -axis.z),
            bounds_m: bounds(&outline_m),
            outline_m,
        }
    }
}

impl<'a> SiteFrames<'a> {
    pub(super) fn new(
        camera: CameraModel,
        site: &'a SiteOutline,
        footprint_bounds: &'a [(DVec2, DVec2)],
    ) -> Self {
        SiteFrames { camera, site, footprint_bounds, looks: RefCell::default() }
    }

    /// Whether a frame shows neither the boundary's inside nor a structure, all of it at the height of a plane (tilts up to
    /// level only).
    pub(super) fn is_off_site(&self, pose: &Pose, plane_z_m: f64) -> bool {
        let (at, height_m) = (pose.position_m.truncate(), pose.position_m.z - plane_z_m);
        if pose.tilt_rad > FRAC_PI_2 || height_m <= 0.0 {
            return false;
        }
        let mut looks = self.looks.borrow_mut();
        let known = looks.iter().position(|look| look.angles_rad == angles_rad(pose));
        let known = known.unwrap_or_else(|| {
            if looks.len() == MOST_LOOKS {
                looks.clear();
            }
            looks.push(FrameShape::new(self.camera, pose));
            looks.len() - 1
        });
        let look = &looks[known];
        // the frame holds the place that its axis meets, which lies inside the boundary for most
        if look.foot_m.is_some_and(|foot_m| contains(&self.site.boundary_m, at + foot_m * height_m)) {
            return false;
        }
        let (low, high) = (at + look.bounds_m.0 * height_m, at + look.bounds_m.1 * height_m);
        let apart = |from: DVec2, to: DVec2| low.cmpgt(to).any() || high.cmplt(from).any();
        if apart(self.site.low_m, self.site.high_m) {
            return true;
        }
        let frame: Vec<DVec2> = look.outline_m.iter().map(|corner| at + *corner * height_m).collect();
        let footprints = self.site.footprints_m.iter().zip(self.footprint_bounds);
        let mut near = footprints.filter(|(_, (from, to))| !apart(*from, *to));
        !rings_meet(&frame, &self.site.boundary_m) && !near.any(|(ring, _)| rings_meet(&frame, ring))
    }
}

fn angles_rad(pose: &Pose) -> [f64; 3] {
    [pose.heading_rad, pose.tilt_rad, pose.roll_rad]
}

fn drawn_in(frame: &[DVec2]) -> Vec<DVec2> {
    let middle = frame.iter().sum::<DVec2>() / frame.len().max(1) as f64;
    frame.iter().map(|corner| corner.lerp(middle, EQUAL_RATIO)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Derived: up to the tilt from which nothing is looked up, the frame, drawn in, holds the place that the axis meets,
        /// whatever the camera; and it lies where the frame of the place itself does.
        #[test]
        fn a_frame_holds_what_the_axis_meets(
            tilt_rad in 0.0..1.5_f64, heading_rad in 0.0..6.3_f64, height_m in 5.0..150.0_f64,
            width_px in 300_u32..9000, height_px in 300_u32..9000, focal_length_px in 900.0..20_000.0_f64,
        ) {
            let camera = CameraModel::pinhole(width_px, height_px, focal_length_px);
            let position_m = DVec3::new(40.0, -70.0, height_m);
            let pose = Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 };
            let look = FrameShape::new(camera, &pose);
            let at_place = |m: DVec2| position_m.truncate() + m * height_m;
            let frame: Vec<DVec2> = look.outline_m.iter().map(|corner| at_place(*corner)).collect();
            let there = footprint_m(&PosedCamera::new(camera, &pose), 0.0).expect("above the plane");
            for (corner, exact) in frame.iter().zip(drawn_in(&there)) {
                prop_assert!(corner.distance(exact) < 1e-9, "{corner} {exact}"); // rounding of some hundred metres
            }
            prop_assert_eq!(frame.len(), there.len());
            prop_assert_eq!(look.foot_m.is_some(), tilt_rad <= SURELY_IN_FRAME_RAD);
            if let Some(foot_m) = look.foot_m {
                prop_assert!(contains(&frame, at_place(foot_m)));
                let axis = pose.axis();
                let hit_m = position_m + axis * (height_m / -axis.z);
                prop_assert!(at_place(foot_m).distance(hit_m.truncate()) < 1e-9);
            }
        }
    }
}
