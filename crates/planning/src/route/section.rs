//! One straight line, flown and exposed: the same for all patterns that fly lines.

use super::airspace::Airspace;
use super::layout::speed_over_mps;
use super::profile::{FollowedLeg, Profile};
use super::sheet::Sheet;
use super::{ExposureTerms, FlownTerms, Leg, LegKind, PlanError, SAME_PLACE_M, Stop};
use crate::geometry::Pose;
use crate::route::task::PassTask;
use glam::{DVec2, DVec3};

/// A straight line that is flown without stopping, exposed on parts of it.
pub(super) struct Section<'a> {
    /// The place at a distance along it.
    pub(super) place: &'a dyn Fn(f64) -> DVec2,
    pub(super) direction: DVec2,
    pub(super) length_m: f64,
    /// Where each exposed part begins along it, and how long it is.
    pub(super) parts: &'a [(f64, f64)],
    /// Height where no ground is followed.
    pub(super) level_z_m: f64,
    /// The pose at a place of it, of an attitude.
    pub(super) pose: &'a dyn Fn(DVec3, usize) -> Pose,
}

/// What flies sections: what passes above their subject and passes before it do each in their own way.
pub(super) trait Flier {
    fn task(&self) -> PassTask<'_>;

    fn airspace(&self) -> &Airspace<'_>;

    fn exposure(&self) -> &ExposureTerms;

    /// Greatest speed of the pass.
    fn speed_mps(&self) -> f64;

    /// Where the exposures of a part lie.
    fn placed(&self, length_m: f64) -> Placed;

    /// Says whether an exposure shows nothing of the site, and so is not taken.
    fn off_site(&self) -> impl Fn(&Pose) -> bool {
        |_| false
    }

    /// How far the last cycle may run on past the section's end; nothing where it is flown to its end and no farther.
    fn runs_on_m(&self, _end: DVec2, _direction: DVec2) -> Option<f64> {
        None
    }

    /// Heights along it, where the ground is followed.
    fn profile(&self, _from: DVec2, _to: DVec2) -> Option<Profile> {
        None
    }
}

/// A straight level line before a surface or below it, all of its exposures looking one way.
pub(super) struct LevelLine {
    pub(super) from: DVec2,
    pub(super) to: DVec2,
    pub(super) z_m: f64,
    pub(super) heading_rad: f64,
    pub(super) tilt_rad: f64,
}

/// Flies what of a level line is free, each piece from where it begins along the line to where it ends; says whether anything
/// is.
///
/// # Errors
/// As [`fly`].
pub(super) fn fly_free(
    flier: &impl Flier,
    line: &LevelLine,
    free: &[(f64, f64)],
    sheet: &mut Sheet,
) -> Result<bool, PlanError> {
    let LevelLine { from, to, z_m, heading_rad, tilt_rad } = *line;
    let direction = (to - from).normalize_or_zero();
    for (start, end) in free {
        let section = Section {
            place: &|along| from + direction * (start + along),
            direction,
            length_m: end - start,
            parts: &[(0.0, end - start)],
            level_z_m: z_m,
            pose: &|position_m, _| Pose { position_m, heading_rad, tilt_rad, roll_rad: 0.0 },
        };
        fly(flier, &section, sheet)?;
    }
    Ok(!free.is_empty())
}

/// Exposures laid on a part: each by its distance from the part's start, with its attitude.
pub(super) struct Placed {
    pub(super) base_m: f64,
    pub(super) at: Vec<(f64, usize)>,
}

/// A section as it is flown and exposed, not yet joined to what is flown before it.
pub(super) struct LaidSection {
    /// Its stops count its own poses.
    leg: Leg,
    poses: Vec<Pose>,
    /// Least and greatest height above the ground, where that is followed.
    above_m: Option<(f64, f64)>,
    skipped: u32,
    /// Distances between exposures, of the parts that have neighbours.
    flown: FlownTerms,
}

impl LaidSection {
    pub(super) fn exposures(&self) -> usize {
        self.poses.len()
    }
}

/// Flies a section: joins it to what was flown before, and exposes it.
///
/// # Errors
/// [`PlanError::NoWayRound`] where it cannot be reached.
pub(super) fn fly(flier: &impl Flier, section: &Section<'_>, sheet: &mut Sheet) -> Result<(), PlanError> {
    join(flier, lay(flier, section), sheet)
}

/// Lays a section: all that does not depend on where the aircraft comes from.
pub(super) fn lay(flier: &impl Flier, section: &Section<'_>) -> LaidSection {
    let place = section.place;
    let runs_on_m = flier.runs_on_m(place(section.length_m), section.direction);
    let longest_m = section.length_m + runs_on_m.unwrap_or(0.0);
    let profile = flier.profile(place(0.0), place(longest_m));
    let z_at = |along_m: f64| profile.as_ref().map_or(section.level_z_m, |profile| profile.z_at(along_m));
    let at = |along_m: f64| place(along_m).extend(z_at(along_m));
    let (pass, is_off_site) = (flier.task().pass, flier.off_site());
    let (mut reach_m, mut speed_mps) = (section.length_m, flier.speed_mps());
    let (mut stops, mut poses, mut skipped) = (Vec::new(), Vec::new(), 0);
    let mut flown = FlownTerms::default();
    for (near_m, length_m) in section.parts {
        let placed = flier.placed(*length_m);
        speed_mps = speed_over_mps(speed_mps, placed.base_m, flier.exposure(), pass);
        let (mut taken, mut neighbours) = (Taken::new(pass.attitudes.len()), false);
        stops.reserve(placed.at.len());
        poses.reserve(placed.at.len());
        for (along_m, attitude) in placed.at {
            let along_m = near_m + along_m;
            if along_m > longest_m + SAME_PLACE_M {
                continue;
            }
            let pose = (section.pose)(at(along_m), attitude);
            if is_off_site(&pose) {
                skipped += 1;
                taken.skip(attitude);
            } else {
                neighbours |= taken.take(attitude);
                stops.push(Stop { along_m, station: poses.len() as u32 });
                poses.push(pose);
            }
            // The last cycle runs on past the section's end, whether or not its exposures are taken.
            if runs_on_m.is_some() {
                reach_m = reach_m.max(along_m);
            }
        }
        if neighbours {
            flown.note_base(placed.base_m);
        }
    }
    let (leg, above_m) = if let Some(profile) = &profile {
        let terrain = &flier.airspace().site.terrain;
        let FollowedLeg { leg, above_m } = profile.leg(terrain, reach_m, speed_mps, stops);
        (leg, Some(above_m))
    } else {
        let straight = Leg::straight(LegKind::Strip, at(0.0), at(reach_m), speed_mps);
        (Leg { stops, ..straight }, None)
    };
    LaidSection { leg, poses, above_m, skipped, flown }
}

/// Joins a section to what was flown before.
///
/// # Errors
/// As [`fly`].
pub(super) fn join(flier: &impl Flier, laid: LaidSection, sheet: &mut Sheet) -> Result<(), PlanError> {
    let LaidSection { leg, poses, above_m, skipped, flown } = laid;
    sheet.skipped += skipped;
    sheet.flown.note(&flown);
    let from_m = sheet.link_to(leg.from_m, flier.airspace(), &flier.task().aircraft.airframe)?;
    sheet.expose(Leg { from_m, ..leg }, poses);
    sheet.above_m.extend(above_m.map(|above_m| (sheet.legs.len() - 1, above_m)));
    Ok(())
}

/// Which attitudes of a part's last cycle were taken.
struct Taken(Vec<bool>);

impl Taken {
    fn new(attitudes: usize) -> Self {
        Taken(vec![false; attitudes])
    }

    /// Takes an exposure; says whether the one before of the same attitude was taken as well.
    fn take(&mut self, attitude: usize) -> bool {
        std::mem::replace(&mut self.0[attitude], true)
    }

    fn skip(&mut self, attitude: usize) {
        self.0[attitude] = false;
    }
}
