//! What the passes that keep a stand-off from their surface rest on.

use super::airspace::Airspace;
use super::blur::Blur;
use super::layout::{exposure_terms, height_m, speed_terms};
use super::plan::BlurOn;
use super::reach::can_tilt;
use super::refusal::PlanError;
use super::section::{Flier, Placed};
use super::sections::names_entered;
use super::sheet::Terms;
use super::task::PassTask;
use super::{ExposureTerms, FlownTerms, LayoutTerms, SpeedTerms, Subject, exposure_count};
use crate::geometry::CameraModel;
use glam::{DVec2, DVec3};

/// Stand-off, extents, speed and exposure terms of a pass that faces its surface.
pub(super) struct StandOff<'a> {
    pub(super) task: PassTask<'a>,
    pub(super) airspace: Airspace<'a>,
    pub(super) camera: CameraModel,
    pub(super) m: f64,
    pub(super) terms: Terms,
}

impl<'a> StandOff<'a> {
    /// `extent` gives the footprint's extents along and across the flight from its sides (across the heading, along it).
    pub(super) fn new(
        task: PassTask<'a>,
        set_m: Option<f64>,
        extent: impl Fn(&CameraModel, f64) -> DVec2,
    ) -> Self {
        let PassTask { pass, aircraft, site, conditions } = task;
        let camera = aircraft.camera.model();
        let (asked_m, cut) = height_m(pass.distance, &camera, conditions.height_ceiling_m);
        let (m, capped) = set_m.map_or((asked_m, cut), |m| (m, false));
        let extent = extent(&camera, m);
        let air_base_m = (1.0 - pass.forward_overlap) * extent.x;
        let exposure = exposure_terms(pass, aircraft);
        let gsd_m = camera.vertical_gsd_m(m);
        let blur = Blur::at(m, 1.0, BlurOn::Facing { name: None }, aircraft, conditions);
        let speed = speed_terms(pass, aircraft, exposure.cycle_s, air_base_m, blur);
        let layout = LayoutTerms {
            asked: pass.distance,
            height_m: 0.0,
            above: pass.distance.above(),
            lowest_m: 0.0,
            stand_off_m: Some(m),
            capped,
            vertical_gsd_m: gsd_m,
            extent_along_m: extent.x,
            extent_across_m: extent.y,
            air_base_m,
            strip_spacing_m: (1.0 - pass.sidelap) * extent.y,
            counting: None,
            strips: 0,
            direction_rad: None,
            corner_rad: None,
            margin_m: None,
            boundary_width_m: None,
            region_width_m: None,
            strips_length_m: 0.0,
            roof_forward_overlap: None,
            roof_sidelap: None,
            axis_forward_overlap: None,
            axis_sidelap: None,
            flown: FlownTerms::default(),
        };
        let airspace = Airspace { site, clearance_m: conditions.clearance_m };
        StandOff {
            task,
            airspace,
            camera,
            m,
            terms: Terms { layout, speed, exposure, subject: Subject::Ground },
        }
    }

    /// Sets what the pass faces, by its name and as its images see it, and how many times as fast as straight before the
    /// camera the fastest place in any frame moves.
    pub(super) fn facing(self, name: Option<String>, fastest: f64, subject: Subject) -> Self {
        let PassTask { pass, aircraft, conditions, .. } = self.task;
        let blur = Blur::at(self.m, fastest, BlurOn::Facing { name }, aircraft, conditions);
        let (cycle_s, air_base_m) = (self.terms.exposure.cycle_s, self.terms.layout.air_base_m);
        let speed = speed_terms(pass, aircraft, cycle_s, air_base_m, blur);
        StandOff { terms: Terms { speed, subject, ..self.terms }, ..self }
    }

    pub(super) fn speed(&self) -> SpeedTerms {
        self.terms.speed.clone()
    }

    /// Sets the heights that the terms tell of.
    pub(super) fn note_lowest(&mut self, lowest_z_m: f64) {
        let above_m = lowest_z_m - self.airspace.site.reference_z_m;
        self.terms.layout.height_m = above_m;
        self.terms.layout.lowest_m = above_m;
    }

    /// Whether the gimbal comes to a tilt.
    pub(super) fn can_tilt(&self, tilt_deg: f64) -> Result<(), PlanError> {
        can_tilt(&self.task.aircraft.gimbal, tilt_deg)
    }

    /// What a line of this pass comes too near to, as the end of a sentence.
    pub(super) fn obstructed(&self, corners: &[DVec3], clearance_m: f64) -> Option<String> {
        if let Some(name) = self.airspace.too_near(corners, clearance_m) {
            return Some(format!("comes nearer than {clearance_m:.1} m to \"{name}\""));
        }
        let level: Vec<(DVec2, DVec2)> =
            corners.windows(2).map(|pair| (pair[0].truncate(), pair[1].truncate())).collect();
        if let Some(names) = names_entered(self.airspace.site, &level) {
            return Some(format!("enters {names}"));
        }
        let above_m = self.airspace.least_above_ground_m(corners);
        (above_m < 1.0).then(|| format!("comes to {above_m:.1} m above the ground"))
    }
}

impl Flier for StandOff<'_> {
    fn task(&self) -> PassTask<'_> {
        self.task
    }

    fn airspace(&self) -> &Airspace<'_> {
        &self.airspace
    }

    fn exposure(&self) -> &ExposureTerms {
        &self.terms.exposure
    }

    fn speed_mps(&self) -> f64 {
        self.terms.speed.speed_mps
    }

    /// From end to end, one air base apart at most.
    fn placed(&self, length_m: f64) -> Placed {
        let count = exposure_count(length_m, self.terms.layout.air_base_m, 1);
        let base_m = length_m / f64::from(count.max(2) - 1);
        Placed { base_m, at: (0..count).map(|k| (f64::from(k) * base_m, 0)).collect() }
    }
}
