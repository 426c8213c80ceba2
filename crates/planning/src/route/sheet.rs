//! The legs and stations of a pass as they are laid.

use super::airspace::{Airspace, legs_along};
use super::{
    ExposureTerms, GroundTerms, LayoutTerms, Leg, LegKind, PassPlan, PlanError, SpeedTerms, Standing,
    Stations, Stop,
};
use crate::{Airframe, CameraModel, Pass, Pose, SiteOutline, Subject};
use glam::DVec3;
use std::sync::Arc;

/// The terms behind a plan.
pub(super) struct Terms {
    pub(super) layout: LayoutTerms,
    pub(super) speed: SpeedTerms,
    pub(super) exposure: ExposureTerms,
}

/// What has been flown so far.
#[derive(Default)]
pub(super) struct Sheet {
    pub(super) legs: Vec<Leg>,
    pub(super) poses: Vec<Pose>,
    pub(super) skipped: u32,
}

impl Sheet {
    /// Goes to a leg's start by the airspace's way.
    pub(super) fn link_to(
        &mut self,
        place_m: DVec3,
        airspace: &Airspace<'_>,
        airframe: &Airframe,
    ) -> Result<(), PlanError> {
        let Some(before) = self.legs.last().map(|leg| leg.to_m) else { return Ok(()) };
        if before != place_m {
            let way = airspace.way(before, place_m).ok_or(PlanError::NoWayRound)?;
            self.legs.extend(legs_along(&way, LegKind::Link, airframe));
        }
        Ok(())
    }

    /// Adds an exposed leg through corners, with its shots by their distance along it.
    pub(super) fn run(&mut self, corners: &[DVec3], shots: Vec<(f64, Pose)>, speed_mps: f64) {
        let [from_m, via_m @ .., to_m] = corners else { return };
        let mut stops = Vec::with_capacity(shots.len());
        for (along_m, pose) in shots {
            stops.push(Stop { along_m, station: self.poses.len() as u32 });
            self.poses.push(pose);
        }
        let (from_m, to_m, via_m) = (*from_m, *to_m, via_m.to_vec());
        self.legs.push(Leg {
            kind: LegKind::Strip,
            from_m,
            via_m,
            to_m,
            speed_mps,
            stops,
            standing: None,
            curve_m: None,
        });
    }

    /// The finished plan. A pass that follows the ground learns its least height here.
    pub(super) fn plan(
        mut self,
        pass: &Pass,
        camera: CameraModel,
        terms: Terms,
        find_lowest: bool,
        site: &SiteOutline,
    ) -> PassPlan {
        let Terms { mut layout, speed, exposure } = terms;
        let standing = pass
            .hover_s
            .map(|first_s| Standing { first_s, further_s: exposure.cycle_s / exposure.dwell_s.len() as f64 });
        self.legs.iter_mut().filter(|leg| !leg.stops.is_empty()).for_each(|leg| leg.standing = standing);
        let strips = || self.legs.iter().filter(|l| l.kind == LegKind::Strip);
        layout.strips_length_m = strips().map(Leg::length_m).sum();
        let lowest_z_m = strips().flat_map(Leg::corners_m).map(|p| p.z).reduce(f64::min);
        if let (true, Some(z)) = (find_lowest, lowest_z_m) {
            layout.lowest_m = z - site.reference_z_m;
        }
        PassPlan {
            pass: pass.id,
            pattern: pass.pattern.kind(),
            refused: None,
            subject: Subject::of(pass, layout.stand_off_m),
            layout,
            speed,
            exposure,
            ground: GroundTerms::new(&self.legs, &self.poses, &site.terrain),
            legs: self.legs,
            stations: Arc::new(Stations { camera, poses: self.poses }),
            skipped: self.skipped,
        }
    }
}

/// The plan of a pass that cannot be flown.
pub(super) fn refused(pass: &Pass, camera: CameraModel, terms: Terms, reason: String) -> PassPlan {
    PassPlan {
        pass: pass.id,
        pattern: pass.pattern.kind(),
        refused: Some(reason),
        subject: Subject::of(pass, terms.layout.stand_off_m),
        layout: terms.layout,
        speed: terms.speed,
        exposure: terms.exposure,
        ground: None,
        legs: Vec::new(),
        stations: Arc::new(Stations { camera, poses: Vec::new() }),
        skipped: 0,
    }
}
