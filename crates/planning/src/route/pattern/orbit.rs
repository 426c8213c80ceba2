//! Closed rings about a structure or a place.

use super::PatternPlanner;
use crate::base::choice::{EQUAL_RATIO, up};
use crate::geometry::motion::YAW_RADPS;
use crate::geometry::polygon::{azimuth_rad, circle_m};
use crate::geometry::{CameraModel, Pose};
use crate::ground::SiteOutline;
use crate::route::blur::before_wall;
use crate::route::layout::also_bound;
use crate::route::refusal::{Count, KEEP_OFF};
use crate::route::sheet::Sheet;
use crate::route::stand_off::StandOff;
use crate::route::task::PassTask;
use crate::route::{Nose, PassPlan, PlanError, RingTerms, SpeedBound, SpeedTerms, Subject};
use crate::scenario::{Aim, Orbit, OrbitCentre, OrbitRadius, Pass};
use glam::{DVec2, DVec3};
use std::f64::consts::TAU;

/// Fewest exposures on a ring.
const FEWEST: f64 = 3.0;

/// What is in the middle.
struct Middle {
    /// Nothing of a place.
    name: Option<String>,
    at_m: DVec2,
    circle_m: f64,
    ground_z_m: f64,
}

/// Tilt toward the target from a ring.
///
/// # References
/// Derived: a right triangle.
fn tilt_rad(orbit: &Orbit, radius_m: f64, height_m: f64) -> f64 {
    radius_m.atan2(height_m - orbit.target_height_m)
}

/// Corners of the outline that stands for a ring.
const OUTLINE_CORNERS: u32 = 72;

impl PatternPlanner for Orbit {
    /// What the rings enclose.
    fn region(&self, task: PassTask<'_>) -> Result<Vec<Vec<DVec2>>, PlanError> {
        let (middle, stand_off) = about(self, task)?;
        let radius_m = middle.circle_m + stand_off.m;
        let corner = |k: u32| {
            let angle_rad = TAU * f64::from(k) / f64::from(OUTLINE_CORNERS);
            middle.at_m + DVec2::from_angle(angle_rad) * radius_m
        };
        Ok(vec![(0..OUTLINE_CORNERS).map(corner).collect()])
    }

    /// Each ring closed, flown without stopping, exposures one air base apart along their chords; climbs from ring to ring
    /// where the first one began.
    ///
    /// A ring begins at the side nearest to the take-off point and goes round by the side of the site's middle; clockwise
    /// where that lies on neither side.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let PassTask { pass, aircraft, site, conditions } = task;
        let (middle, mut stand_off) = about(self, task)?;
        let radius_m = middle.circle_m + stand_off.m;
        stand_off.terms.speed = curved(stand_off.speed(), radius_m, aircraft.airframe.acceleration_mps2);
        let base_m = stand_off.terms.layout.air_base_m;
        count_of(self, radius_m, base_m).bounded()?;
        let ring = FlownRing::new(&middle, radius_m, on_ring(radius_m, base_m) as u32, site);
        let heights_m = self.rings.heights_m();
        let mut sheet = Sheet::new(stand_off.airspace);
        let mut lowest_z = f64::INFINITY;
        for height_m in &heights_m {
            let z = middle.ground_z_m + height_m;
            lowest_z = lowest_z.min(z);
            let tilt_rad = tilt_rad(self, radius_m, *height_m);
            let corners = ring.corners(z);
            stand_off.can_tilt(tilt_rad.to_degrees())?;
            let keep_m = conditions.clearance_m.min(stand_off.m * 0.999);
            if let Some(why) = stand_off.obstructed(&corners, keep_m) {
                let reason = format!("the ring at {height_m:.0} m {why}; change its height or its radius");
                return Err(PlanError::because(reason));
            }
            sheet.link_to(corners[0], &aircraft.airframe)?;
            let shots = shots(pass, &middle, &corners, tilt_rad);
            sheet.flown.note_base(corners[0].distance(corners[1]));
            sheet.run(&corners, shots, stand_off.terms.speed.speed_mps);
            if let Some(ring) = sheet.legs.last_mut() {
                ring.nose = Nose::Toward { place_m: middle.at_m, turned_rad: turned_rad(pass) };
            }
        }
        let rings = heights_m.len() as u32;
        let mut upward_m = heights_m;
        upward_m.sort_by(f64::total_cmp);
        upward_m.windows(2).for_each(|pair| sheet.flown.note_spacing(pair[1] - pair[0]));
        let (circle_m, ground_z_m) = (middle.circle_m, middle.ground_z_m);
        sheet.flown.ring = Some(RingTerms { middle_m: middle.at_m, radius_m, circle_m, ground_z_m });
        stand_off.note_lowest(lowest_z);
        stand_off.terms.layout.strips = rings;
        Ok(sheet.plan(task, stand_off.camera, stand_off.terms, false))
    }

    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError> {
        let (middle, stand_off) = about(self, task)?;
        Ok(count_of(self, middle.circle_m + stand_off.m, stand_off.terms.layout.air_base_m))
    }
}

/// What the rings go round, and how far from it.
fn about<'a>(orbit: &Orbit, task: PassTask<'a>) -> Result<(Middle, StandOff<'a>), PlanError> {
    let gone = || PlanError::because("the structure that it goes round is not on the site");
    let middle = middle(&orbit.around, task.site).ok_or_else(gone)?;
    let set_m = match orbit.radius {
        OrbitRadius::Set { m } if m <= middle.circle_m => {
            return Err(PlanError::because(format!(
                "the radius of {m:.0} m lies inside the structure's circle of {:.0} m; widen it",
                middle.circle_m
            )));
        }
        OrbitRadius::Set { m } => Some(m - middle.circle_m),
        OrbitRadius::StandOff => None,
    };
    let sides = |camera: &CameraModel, m: f64| camera.vertical_footprint_m(m);
    let stand_off = StandOff::new(task, set_m, sides);
    let radius_m = middle.circle_m + stand_off.m;
    let heights_m = orbit.rings.heights_m();
    let tilts_rad = heights_m.iter().map(|height_m| tilt_rad(orbit, radius_m, *height_m));
    let each = tilts_rad.map(|tilt_rad| before_wall(&stand_off.camera, tilt_rad, turned_rad(task.pass)));
    let (name, fastest) = (middle.name.clone(), each.fold(0.0, f64::max));
    Ok((middle, stand_off.facing(name, fastest, Subject::Ground)))
}

/// Exposures on a ring: chords of an air base at most.
fn on_ring(radius_m: f64, base_m: f64) -> f64 {
    let step_rad = 2.0 * (base_m / (2.0 * radius_m)).min(1.0).asin();
    up(TAU / step_rad).max(FEWEST)
}

fn count_of(orbit: &Orbit, radius_m: f64, base_m: f64) -> Count {
    let strips = orbit.rings.heights_m().len() as f64;
    Count { exposures: strips * on_ring(radius_m, base_m), strips, mend: KEEP_OFF }
}

fn middle(around: &OrbitCentre, site: &SiteOutline) -> Option<Middle> {
    let (name, (at_m, circle_m)) = match around {
        OrbitCentre::Point { x_m, y_m } => (None, (DVec2::new(*x_m, *y_m), 0.0)),
        OrbitCentre::Structure(_) | OrbitCentre::Structures(_) => {
            let group = site.group(&around.structures())?;
            let circle = circle_m(&group.footprint_m);
            (Some(group.name), circle)
        }
    };
    Some(Middle { name, at_m, circle_m, ground_z_m: site.terrain.height_m(at_m) })
}

/// Speed on a ring: sideways acceleration v²/r within what the airframe can, yaw v/r within its rate.
fn curved(speed: SpeedTerms, radius_m: f64, acceleration_mps2: f64) -> SpeedTerms {
    also_bound(speed, (acceleration_mps2 * radius_m).sqrt().min(YAW_RADPS * radius_m), SpeedBound::Curve)
}

struct FlownRing<'a> {
    middle: &'a Middle,
    radius_m: f64,
    count: u32,
    /// Azimuth of the first station.
    first_rad: f64,
    /// 1 clockwise, −1 the other way round.
    sense: f64,
}

impl<'a> FlownRing<'a> {
    fn new(middle: &'a Middle, radius_m: f64, count: u32, site: &SiteOutline) -> Self {
        let far = |way: &DVec2| way.length() > EQUAL_RATIO * site.size_m;
        let toward = [site.take_off_m, site.middle_m].map(|at| at - middle.at_m).into_iter().find(far);
        let first_rad = toward.map_or(site.best_strips_rad, azimuth_rad);
        let first = DVec2::new(first_rad.sin(), first_rad.cos());
        // On the left of the way out to the first station: counter-clockwise leads there.
        let beside_m = first.perp_dot(site.middle_m - middle.at_m);
        let sense = if beside_m > EQUAL_RATIO * site.size_m { -1.0 } else { 1.0 };
        FlownRing { middle, radius_m, count, first_rad, sense }
    }

    /// Stations in order and back to the first.
    fn corners(&self, z: f64) -> Vec<DVec3> {
        let at = |k: u32| {
            let turned_rad = TAU * f64::from(k % self.count) / f64::from(self.count);
            let azimuth = self.first_rad + self.sense * turned_rad;
            (self.middle.at_m + DVec2::new(azimuth.sin(), azimuth.cos()) * self.radius_m).extend(z)
        };
        (0..=self.count).map(at).collect()
    }
}

/// From the direction to the middle to the camera's heading, and with it the nose's, clockwise.
fn turned_rad(pass: &Pass) -> f64 {
    match pass.attitudes[0].aim {
        Aim::AtSubject { deg } => deg.to_radians(),
        Aim::FromTrack { .. } | Aim::FromStrips { .. } | Aim::FromNorth { .. } => 0.0,
    }
}

fn shots(pass: &Pass, middle: &Middle, corners: &[DVec3], tilt_rad: f64) -> Vec<(f64, Pose)> {
    let turned_rad = turned_rad(pass);
    let stations = &corners[..corners.len() - 1];
    let chord_m = corners[0].distance(corners[1]);
    stations
        .iter()
        .enumerate()
        .map(|(k, at)| {
            let inward_rad = azimuth_rad(middle.at_m - at.truncate());
            let heading_rad = (inward_rad + turned_rad).rem_euclid(TAU);
            let pose = Pose { position_m: *at, heading_rad, tilt_rad, roll_rad: 0.0 };
            (k as f64 * chord_m, pose)
        })
        .collect()
}
