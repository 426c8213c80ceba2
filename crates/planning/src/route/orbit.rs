//! Closed rings about a structure or a place.

use super::layout::{also_bound, azimuth_rad, heading_to_rad};
use super::sheet::{Sheet, Terms, refused};
use super::stand_off::StandOff;
use super::strips::MOST_EXPOSURES;
use super::{PassPlan, PlanError, SpeedBound};
use crate::motion::YAW_RADPS;
use crate::polygon::centroid_m;
use crate::{Aircraft, Conditions, OrbitCentre, OrbitRadius, Pass, Pose, SiteOutline};
use glam::{DVec2, DVec3};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Fewest exposures on a ring.
const FEWEST: f64 = 3.0;

/// The pattern's settings.
pub(super) struct Orbit {
    pub(super) around: OrbitCentre,
    pub(super) radius: OrbitRadius,
    pub(super) heights_m: Vec<f64>,
    pub(super) target_height_m: f64,
}

/// What is in the middle.
struct Middle {
    at_m: DVec2,
    circle_m: f64,
    ground_z_m: f64,
}

/// Lays out an orbit: each ring closed, clockwise, flown without stopping, exposures one air base apart along their
/// chords; climbs from ring to ring where the first one began.
pub(super) fn plan(
    pass: &Pass,
    orbit: &Orbit,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let middle = middle(orbit.around, site);
    let set_m = match (orbit.radius, &middle) {
        (OrbitRadius::Set { m }, Some(middle)) => Some(m - middle.circle_m),
        _ => None,
    };
    let sides = |camera: &crate::CameraModel, m: f64| camera.vertical_footprint_m(m.max(0.0));
    let mut stand_off = StandOff::new(pass, aircraft, site, conditions, set_m, sides);
    let no = |stand_off: StandOff<'_>, reason: String| {
        Ok(refused(pass, stand_off.camera, stand_off.terms, reason))
    };
    let Some(middle) = middle else {
        return no(stand_off, "the structure that it goes round is not on the site".to_owned());
    };
    let radius_m = middle.circle_m + stand_off.m;
    if stand_off.m <= 0.0 {
        let reason = format!(
            "the radius of {radius_m:.0} m lies inside the structure's circle of {:.0} m; widen it",
            middle.circle_m
        );
        return no(stand_off, reason);
    }
    stand_off.terms.speed = curved(stand_off.speed(), radius_m, aircraft.airframe.acceleration_mps2);
    let base_m = stand_off.terms.layout.air_base_m;
    let step_rad = 2.0 * (base_m / (2.0 * radius_m)).min(1.0).asin();
    let count = (TAU / step_rad - 1e-9).ceil().max(FEWEST);
    let about = count * orbit.heights_m.len() as f64;
    if about.is_nan() || about > MOST_EXPOSURES {
        return Err(PlanError::TooManyExposures { about });
    }
    let ring = Ring { middle: &middle, radius_m, count: count as u32, home: site.take_off_m };
    let mut sheet = Sheet::default();
    let mut lowest_z = f64::INFINITY;
    for height_m in &orbit.heights_m {
        let z = middle.ground_z_m + height_m;
        lowest_z = lowest_z.min(z);
        let tilt_rad = (radius_m).atan2(height_m - orbit.target_height_m);
        let corners = ring.corners(z);
        let stops = stand_off.gimbal_stops(tilt_rad.to_degrees());
        let keep_m = conditions.clearance_m.min(stand_off.m * 0.999);
        let near = || {
            let why = stand_off.obstructed(&corners, keep_m)?;
            Some(format!("the ring at {height_m:.0} m {why}; change its height or its radius"))
        };
        if let Some(reason) = stops.or_else(near) {
            return no(stand_off, reason);
        }
        sheet.link_to(corners[0], &stand_off.airspace, &aircraft.airframe)?;
        let shots = shots(pass, &middle, &corners, tilt_rad);
        sheet.run(&corners, shots, stand_off.speed().speed_mps);
    }
    stand_off.note_lowest(lowest_z);
    let layout = &mut stand_off.terms.layout;
    layout.strips = orbit.heights_m.len() as u32;
    layout.air_base_m = base_m;
    let StandOff { camera, terms, .. } = stand_off;
    Ok(sheet.plan(pass, camera, Terms { ..terms }, false, site))
}

fn middle(around: OrbitCentre, site: &SiteOutline) -> Option<Middle> {
    let (at_m, circle_m) = match around {
        OrbitCentre::Point { x_m, y_m } => (DVec2::new(x_m, y_m), 0.0),
        OrbitCentre::Structure(id) => {
            let ring = &site.structure(id)?.footprint_m;
            let centre = centroid_m(ring);
            (centre, ring.iter().map(|p| p.distance(centre)).fold(0.0, f64::max))
        }
    };
    Some(Middle { at_m, circle_m, ground_z_m: site.terrain.height_m(at_m) })
}

/// Speed on a ring: sideways acceleration v²/r within what the airframe can, yaw v/r within its rate.
fn curved(speed: super::SpeedTerms, radius_m: f64, acceleration_mps2: f64) -> super::SpeedTerms {
    also_bound(speed, (acceleration_mps2 * radius_m).sqrt().min(YAW_RADPS * radius_m), SpeedBound::Curve)
}

struct Ring<'a> {
    middle: &'a Middle,
    radius_m: f64,
    count: u32,
    home: DVec2,
}

impl Ring<'_> {
    /// Stations in order and back to the first, beginning at the side nearest to the take-off point.
    fn corners(&self, z: f64) -> Vec<DVec3> {
        let toward = self.home - self.middle.at_m;
        let first_rad = if toward == DVec2::ZERO { PI } else { azimuth_rad(toward) };
        let at = |k: u32| {
            let azimuth = first_rad + TAU * f64::from(k % self.count) / f64::from(self.count);
            (self.middle.at_m + DVec2::new(azimuth.sin(), azimuth.cos()) * self.radius_m).extend(z)
        };
        (0..=self.count).map(at).collect()
    }
}

fn shots(pass: &Pass, middle: &Middle, corners: &[DVec3], tilt_rad: f64) -> Vec<(f64, Pose)> {
    let aim = pass.attitudes[0].aim;
    let stations = &corners[..corners.len() - 1];
    let chord_m = corners[0].distance(corners[1]);
    stations
        .iter()
        .enumerate()
        .map(|(k, at)| {
            let inward_rad = azimuth_rad(middle.at_m - at.truncate());
            // Clockwise, the middle lies to the right of the track.
            let track_rad = inward_rad - FRAC_PI_2;
            let heading_rad = match aim {
                crate::Aim::AtSubject { .. } => heading_to_rad(aim, track_rad, track_rad, inward_rad),
                _ => inward_rad,
            };
            let pose = Pose { position_m: *at, heading_rad, tilt_rad, roll_rad: 0.0 };
            (k as f64 * chord_m, pose)
        })
        .collect()
}
