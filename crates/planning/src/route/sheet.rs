//! The legs and stations of a pass as they are laid.

use super::airspace::{Airspace, legs_along};
use super::ground::KnownHeights;
use super::plain_ways::PlainWays;
use super::{
    ExposureTerms, FlownTerms, GroundTerms, LayoutTerms, Leg, LegKind, PassPlan, PlanError, SAME_PLACE_M,
    SpeedTerms, Standing, Stations, Stop, nose,
};
use crate::geometry::{CameraModel, Pose};
use crate::route::Subject;
use crate::route::task::PassTask;
use crate::scenario::Airframe;
use glam::DVec3;
use std::sync::Arc;

/// The terms behind a plan.
pub(super) struct Terms {
    pub(super) layout: LayoutTerms,
    pub(super) speed: SpeedTerms,
    pub(super) exposure: ExposureTerms,
    /// What the images look at.
    pub(super) subject: Subject,
}

/// What has been flown so far.
pub(super) struct Sheet<'a> {
    pub(super) legs: Vec<Leg>,
    pub(super) poses: Vec<Pose>,
    pub(super) skipped: u32,
    pub(super) flown: FlownTerms,
    pub(super) known: KnownHeights,
    pub(super) ways: PlainWays<'a>,
}

impl<'a> Sheet<'a> {
    /// Nothing flown as yet.
    pub(super) fn new(airspace: Airspace<'a>) -> Self {
        Sheet::with_room(PlainWays::anywhere(airspace), 0, 0)
    }

    /// The same with room for so many legs and exposures; `ways` may know where it runs.
    pub(super) fn with_room(ways: PlainWays<'a>, legs: usize, exposures: usize) -> Self {
        Sheet {
            legs: Vec::with_capacity(legs),
            poses: Vec::with_capacity(exposures),
            skipped: 0,
            flown: FlownTerms::default(),
            known: KnownHeights::default(),
            ways,
        }
    }

    /// Goes to a leg's start by the airspace's way, and says where the leg then starts: there or, where that is one place
    /// with the end of the leg before or lies right above or below it, at that very place.
    pub(super) fn link_to(&mut self, place_m: DVec3, airframe: &Airframe) -> Result<DVec3, PlanError> {
        let Some(before) = self.legs.last().map(|leg| leg.to_m) else { return Ok(place_m) };
        if before.distance(place_m) < SAME_PLACE_M {
            return Ok(before);
        }
        let upright = before.truncate().distance(place_m.truncate()) < SAME_PLACE_M;
        let place_m = if upright { before.with_z(place_m.z) } else { place_m };
        if let Some(plain) = self.ways.way(before, place_m) {
            let first = self.legs.len();
            self.legs.extend(legs_along(plain.corners(), LegKind::Link, airframe));
            if let Some(highest_m) = plain.highest_m {
                self.known.note_links(first..self.legs.len(), highest_m);
            }
            return Ok(place_m);
        }
        let airspace = self.ways.airspace();
        let shut = || PlanError::NoWayRound { what: airspace.in_the_way(before, place_m) };
        let way = airspace.way(before, place_m).ok_or_else(shut)?;
        self.legs.extend(legs_along(&way, LegKind::Link, airframe));
        Ok(place_m)
    }

    /// Adds an exposed leg through corners, with its shots by their distance along it.
    pub(super) fn run(&mut self, corners: &[DVec3], shots: Vec<(f64, Pose)>, speed_mps: f64) {
        let [from_m, via_m @ .., to_m] = corners else { return };
        let stop = |(station, (along_m, _)): (usize, &(f64, Pose))| Stop {
            along_m: *along_m,
            station: station as u32,
        };
        let stops = shots.iter().enumerate().map(stop).collect();
        let straight = Leg::straight(LegKind::Strip, *from_m, *to_m, speed_mps);
        let poses = shots.into_iter().map(|(_, pose)| pose);
        self.expose(Leg { via_m: via_m.to_vec(), stops, ..straight }, poses);
    }

    /// Adds an exposed leg whose stops count the poses that come with it.
    pub(super) fn expose(&mut self, mut leg: Leg, poses: impl IntoIterator<Item = Pose>) {
        let before = self.poses.len() as u32;
        leg.stops.iter_mut().for_each(|stop| stop.station += before);
        self.poses.extend(poses);
        self.legs.push(leg);
    }

    /// The finished plan. A pass that follows the ground learns its least height here.
    pub(super) fn plan(
        mut self,
        task: PassTask<'_>,
        camera: CameraModel,
        terms: Terms,
        find_lowest: bool,
    ) -> PassPlan {
        let PassTask { pass, site, .. } = task;
        let Terms { mut layout, speed, exposure, subject } = terms;
        layout.flown = self.flown;
        let standing = pass
            .hover_s
            .map(|first_s| Standing { first_s, further_s: exposure.cycle_s / exposure.dwell_s.len() as f64 });
        self.legs.iter_mut().filter(|leg| !leg.stops.is_empty()).for_each(|leg| leg.standing = standing);
        nose::point(&mut self.legs, pass, &layout, &self.poses);
        let strips = || self.legs.iter().filter(|l| l.kind == LegKind::Strip);
        layout.strips_length_m = strips().map(Leg::length_m).sum();
        let lowest_z_m = || strips().flat_map(Leg::corners_m).map(|p| p.z).reduce(f64::min);
        if let Some(z) = find_lowest.then(lowest_z_m).flatten() {
            layout.lowest_m = z - site.reference_z_m;
        }
        PassPlan {
            pass: pass.id,
            pattern: pass.pattern.kind(),
            subject,
            layout,
            speed,
            exposure,
            ground: GroundTerms::new(&self.legs, &self.known, &self.poses, &site.terrain),
            legs: self.legs,
            stations: Arc::new(Stations { camera, poses: self.poses }),
            skipped: self.skipped,
        }
    }
}
