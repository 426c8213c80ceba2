//! What the passes that fly above their subject rest on, wherever their strips run.

use super::airspace::Airspace;
use super::blur::{Blur, over_level};
use super::layout::{exposure_terms, extents_m, heading_rad, height_m, speed_terms};
use super::off_site::SiteFrames;
use super::plan::BlurOn;
use super::profile::Follow;
use super::profile::Profile;
use super::reach::can_look;
use super::refusal::PlanError;
use super::section::{Flier, Placed};
use super::sections::open_m;
use super::task::PassTask;
use super::{ExposureTerms, FlownTerms, LayoutTerms, SpeedTerms};
use crate::geometry::footprint::{chord_m, footprint_m};
use crate::geometry::polygon::bounds;
use crate::geometry::{CameraModel, Pose, PosedCamera};
use crate::ground::SiteOutline;
use crate::scenario::{Above, Attitude, CountingRule};
use glam::{DVec2, DVec3};
use std::f64::consts::PI;

/// Height, extents, speed and exposure terms of a pass above its subject.
pub(super) struct Basis<'a> {
    pub(super) task: PassTask<'a>,
    pub(super) airspace: Airspace<'a>,
    pub(super) camera: CameraModel,
    /// Height flown at, where it is one height.
    pub(super) flight_z_m: f64,
    /// How the ground is followed, where it is.
    pub(super) follow: Option<Follow>,
    /// Highest roof to reckon with, below the height.
    pub(super) roof_m: f64,
    /// Everything but what depends on where the strips run.
    pub(super) layout: LayoutTerms,
    pub(super) exposure: ExposureTerms,
    pub(super) speed: SpeedTerms,
    past_nadir: Vec<bool>,
    /// The boxes about what stands, of its footprints that count.
    footprint_bounds: Vec<(DVec2, DVec2)>,
}

impl<'a> Basis<'a> {
    /// For strips along all these tracks; they are told by the first.
    pub(super) fn new(
        task: PassTask<'a>,
        tracks_rad: &[f64],
        counting: CountingRule,
    ) -> Result<Self, PlanError> {
        let PassTask { pass, aircraft, site, conditions } = task;
        let direction_rad = tracks_rad.first().copied().unwrap_or_default();
        can_look(&pass.attitudes, &aircraft.gimbal)?;
        let camera = aircraft.camera.model();
        let above = pass.distance.above();
        let (height_m, capped) = height_m(pass.distance, &camera, conditions.height_ceiling_m);
        let turned = heading_rad(pass.attitudes[0].aim, direction_rad, direction_rad) - direction_rad;
        let extent = extents_m(&camera, height_m, turned);
        let air_base_m = (1.0 - pass.forward_overlap) * extent.x;
        let strip_spacing_m = (1.0 - pass.sidelap) * extent.y;
        let exposure = exposure_terms(pass, aircraft);
        let (flight_z_m, lowest_m) = match above {
            Above::MeanGround | Above::Ground => (site.reference_z_m + height_m, height_m),
            Above::TakeOff => {
                let z = site.take_off_z_m + height_m;
                (z, z - site.reference_z_m)
            }
        };
        if above != Above::Ground {
            above_all(lowest_m, site)?;
        }
        let highest_roof_m = match above {
            // Over what is taller the line rises to the clearance.
            Above::Ground => site
                .tallest_roof_m
                .and(site.tallest_above_ground())
                .map(|(_, stands_m)| stands_m.min((height_m - conditions.clearance_m).max(0.0))),
            Above::MeanGround | Above::TakeOff => site.tallest_roof_m,
        };
        let roof_m = highest_roof_m.unwrap_or(0.0);
        let (near_m, on) = nearest(site, above, lowest_m, highest_roof_m);
        let blur = Blur::at(near_m, fastest(&pass.attitudes, &camera, tracks_rad), on, aircraft, conditions);
        let speed = speed_terms(pass, aircraft, exposure.cycle_s, air_base_m, blur);
        let over_roof = |overlap: f64| roof_overlap(overlap, lowest_m, highest_roof_m);
        let reached =
            axis_overlaps(&camera, &pass.attitudes[0], height_m, turned, [air_base_m, strip_spacing_m]);
        let layout = LayoutTerms {
            asked: pass.distance,
            height_m,
            above,
            lowest_m,
            stand_off_m: None,
            capped,
            vertical_gsd_m: camera.vertical_gsd_m(height_m),
            extent_along_m: extent.x,
            extent_across_m: extent.y,
            air_base_m,
            strip_spacing_m,
            counting: Some(counting),
            strips: 0,
            direction_rad: Some(direction_rad),
            corner_rad: None,
            margin_m: None,
            boundary_width_m: None,
            region_width_m: None,
            strips_length_m: 0.0,
            roof_forward_overlap: over_roof(pass.forward_overlap),
            roof_sidelap: over_roof(pass.sidelap),
            axis_forward_overlap: reached.map(|r| r.x),
            axis_sidelap: reached.map(|r| r.y),
            flown: FlownTerms::default(),
        };
        let past_nadir = pass
            .attitudes
            .iter()
            .map(|attitude| pass.attitudes.len() > 1 && reached_past_nadir(attitude, aircraft))
            .collect();
        let follow =
            (above == Above::Ground).then(|| Follow::new(height_m, &aircraft.airframe, speed.speed_mps));
        let airspace = Airspace { site, clearance_m: conditions.clearance_m };
        let footprint_bounds = site.footprints_m.iter().map(|ring| bounds(ring)).collect();
        Ok(Basis {
            task,
            airspace,
            camera,
            flight_z_m,
            follow,
            roof_m,
            layout,
            exposure,
            speed,
            past_nadir,
            footprint_bounds,
        })
    }

    /// Height flown at over a place, as far as the ground says.
    pub(super) fn follow_z_m(&self, at: DVec2) -> f64 {
        match self.follow {
            Some(_) => self.airspace.site.terrain.height_m(at) + self.layout.height_m,
            None => self.flight_z_m,
        }
    }

    pub(super) fn pose(&self, at: DVec3, attitude: usize, track_rad: f64, strips_rad: f64) -> Pose {
        let Attitude { tilt_deg, aim } = self.task.pass.attitudes[attitude];
        Pose {
            position_m: at,
            heading_rad: heading_rad(aim, track_rad, strips_rad),
            tilt_rad: tilt_deg.to_radians(),
            roll_rad: if self.past_nadir[attitude] { PI } else { 0.0 },
        }
    }

    /// How far the last cycle may run on past a section's end: less than a base, up to the first keep-out, and nothing
    /// without a cycle.
    pub(super) fn beyond_end_m(&self, end: DVec2, direction: DVec2) -> f64 {
        let runs_on = self.task.pass.attitudes.len() > 1 && self.task.pass.hover_s.is_none();
        if runs_on {
            open_m(self.airspace.site, (end, end + direction * self.layout.air_base_m))
        } else {
            0.0
        }
    }

    /// Where the first air base of a section begins, and what they have to cover.
    fn exposed_m(&self, length_m: f64) -> (f64, f64) {
        match self.layout.counting {
            Some(CountingRule::FootprintCover) => {
                let inside = (self.layout.extent_along_m / 2.0).min(length_m / 2.0);
                (inside, length_m - 2.0 * inside)
            }
            _ => (0.0, length_m),
        }
    }

    /// How many exposures [`Basis::exposures`] would lay on a section.
    pub(super) fn planned_on(&self, length_m: f64) -> f64 {
        let count = super::exposure_count(self.exposed_m(length_m).1, self.layout.air_base_m, 1);
        f64::from(count) * self.task.pass.attitudes.len() as f64
    }
}

impl Flier for Basis<'_> {
    fn task(&self) -> PassTask<'_> {
        self.task
    }

    fn airspace(&self) -> &Airspace<'_> {
        &self.airspace
    }

    fn exposure(&self) -> &ExposureTerms {
        &self.exposure
    }

    fn speed_mps(&self) -> f64 {
        self.speed.speed_mps
    }

    fn runs_on_m(&self, end: DVec2, direction: DVec2) -> Option<f64> {
        Some(self.beyond_end_m(end, direction))
    }

    fn profile(&self, from: DVec2, to: DVec2) -> Option<Profile> {
        self.follow.map(|follow| Profile::new(&self.airspace, from, to, &follow))
    }

    fn off_site(&self) -> impl Fn(&Pose, Option<f64>) -> bool {
        let site = self.airspace.site;
        let frames = SiteFrames::new(self.camera, site, &self.footprint_bounds);
        move |pose, ground_z_m| frames.is_off_site(pose, ground_z_m.unwrap_or(site.reference_z_m))
    }

    /// Where the exposures of a section lie, from its start, with the attitude of each.
    fn placed(&self, length_m: f64) -> Placed {
        let (air_base_m, attitudes) = (self.layout.air_base_m, self.task.pass.attitudes.len());
        let (first_m, span_m) = self.exposed_m(length_m);
        let count = super::exposure_count(span_m, air_base_m, 1);
        let base_m = if count > 1 { span_m / f64::from(count - 1) } else { air_base_m };
        let mut at = Vec::with_capacity(count as usize * attitudes);
        for k in 0..count {
            let mut waited_s = 0.0;
            for attitude in 0..attitudes {
                let moving = self.task.pass.hover_s.is_none();
                let share = if moving { waited_s / self.exposure.cycle_s } else { 0.0 };
                at.push((first_m + (f64::from(k) + share) * base_m, attitude));
                waited_s += self.exposure.dwell_s[attitude];
            }
        }
        Placed { base_m, at }
    }
}

/// What flies at one height flies above everything that stands inside the boundary, and above all ground there.
fn above_all(lowest_m: f64, site: &SiteOutline) -> Result<(), PlanError> {
    let ground_m = site.highest_ground_z_m - site.reference_z_m;
    let what = match site.tallest_roof_m {
        Some(roof_m) if lowest_m <= roof_m => format!("not above the highest roof ({roof_m:.0} m)"),
        _ if lowest_m <= ground_m => {
            format!("not above the highest ground inside the boundary ({ground_m:.0} m)")
        }
        _ => return Ok(()),
    };
    Err(PlanError::because(format!("flies at {lowest_m:.0} m, {what}; raise it well above")))
}

/// Ground that rises by less above its mean is level.
const LEVEL_M: f64 = 1e-3;

/// How far below the line the nearest surface lies that the pass looks at, and what it is: a roof or ground inside the
/// boundary.
fn nearest(site: &SiteOutline, above: Above, lowest_m: f64, roof_m: Option<f64>) -> (f64, BlurOn) {
    let roof = |name: &str, height_m: f64| BlurOn::Roof { name: name.to_owned(), height_m };
    if above == Above::Ground {
        return match (site.tallest_above_ground(), roof_m) {
            (Some((tallest, stands_m)), Some(roof_m)) if roof_m > 0.0 => {
                (lowest_m - roof_m, roof(&tallest.name, stands_m))
            }
            _ => (lowest_m, BlurOn::Ground),
        };
    }
    let ground_m = site.highest_ground_z_m - site.reference_z_m;
    match (roof_m, &site.tallest_name) {
        (Some(roof_m), Some(name)) if roof_m >= ground_m => (lowest_m - roof_m, roof(name, roof_m)),
        _ if ground_m < LEVEL_M => (lowest_m, BlurOn::Ground),
        _ => (lowest_m - ground_m, BlurOn::HighestGround),
    }
}

/// How many times as fast as straight below the fastest place in any frame of a pass moves.
fn fastest(attitudes: &[Attitude], camera: &CameraModel, tracks_rad: &[f64]) -> f64 {
    let direction_rad = tracks_rad.first().copied().unwrap_or_default();
    let of = |attitude: &Attitude| {
        let turned = |track: &f64| heading_rad(attitude.aim, *track, direction_rad) - track;
        let on_tracks = tracks_rad.iter().map(turned);
        on_tracks.map(|turned| over_level(camera, attitude.tilt_deg.to_radians(), turned)).fold(0.0, f64::max)
    };
    attitudes.iter().map(of).fold(0.0, f64::max)
}

/// Overlap over a roof of height h: 1 − (1 − o) H / (H − h); none where nothing stands or the roof is not below.
///
/// # References
/// Derived: a footprint shrinks with the distance, the base stays.
fn roof_overlap(overlap: f64, height_m: f64, roof_m: Option<f64>) -> Option<f64> {
    let roof_m = roof_m?;
    (height_m > roof_m).then(|| 1.0 - (1.0 - overlap) * height_m / (height_m - roof_m))
}

/// Overlaps really reached where the tilted axis meets level ground: (forward, side), each measured on the chord of
/// the frame's outline through that point. None when the axis itself is beyond the cut of the frames.
///
/// # References
/// Derived: 1 − base / chord, and 1 − spacing / chord.
fn axis_overlaps(
    camera: &CameraModel,
    attitude: &Attitude,
    height_m: f64,
    turned_rad: f64,
    [base_m, spacing_m]: [f64; 2],
) -> Option<DVec2> {
    let tilt_rad = attitude.tilt_deg.to_radians();
    let position_m = DVec3::new(0.0, 0.0, height_m);
    let pose = Pose { position_m, heading_rad: turned_rad, tilt_rad, roll_rad: 0.0 };
    let axis = pose.axis();
    if height_m <= 0.0 || axis.z >= -(75.0_f64.to_radians().cos()) {
        return None;
    }
    let frame = footprint_m(&PosedCamera::new(camera.without_lens(), &pose), 0.0)?;
    let hit = axis.truncate() * (height_m / -axis.z);
    // With heading measured from the track, north is along it and east across.
    let chords = DVec2::new(chord_m(&frame, hit, DVec2::Y), chord_m(&frame, hit, DVec2::X));
    Some(DVec2::ONE - DVec2::new(base_m, spacing_m) / chords)
}

/// Whether a gimbal reaches an attitude only by tilting past nadir, which turns the image upside down.
fn reached_past_nadir(attitude: &Attitude, aircraft: &crate::scenario::Aircraft) -> bool {
    use super::reach::{Reach, reach};
    reach(&aircraft.gimbal, attitude) == Reach::PastNadir
}
