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

    /// Says whether an exposure shows nothing of the site, and so is not taken; with the ground below it where that is followed.
    fn off_site(&self) -> impl Fn(&Pose, Option<f64>) -> bool {
        |_, _| false
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
#[derive(Clone, Copy)]
pub(super) struct LevelLine {
    pub(super) from: DVec2,
    pub(super) to: DVec2,
    pub(super) heading_rad: f64,
    pub(super) tilt_rad: f64,
}

/// Rows along a level line, over each other: what does not depend on the level is found once.
pub(super) struct Rows<'a, F> {
    flier: &'a F,
    line: LevelLine,
    pieces: Vec<RowPiece>,
}

impl<'a, F: Flier> Rows<'a, F> {
    pub(super) fn new(flier: &'a F, line: LevelLine) -> Self {
        Rows { flier, line, pieces: Vec::new() }
    }

    /// Flies what of the line is free at a level, each piece from where it begins along the line to where it ends; says whether
    /// anything is.
    ///
    /// # Errors
    /// As [`fly`].
    pub(super) fn fly(
        &mut self,
        z_m: f64,
        free: &[(f64, f64)],
        sheet: &mut Sheet<'_>,
    ) -> Result<bool, PlanError> {
        let (flier, LevelLine { heading_rad, tilt_rad, .. }) = (self.flier, self.line);
        let pose = |at: &DVec2| Pose { position_m: at.extend(z_m), heading_rad, tilt_rad, roll_rad: 0.0 };
        for reach_m in free {
            let known = self.pieces.iter().position(|piece| piece.reach_m == *reach_m);
            let known = known.unwrap_or_else(|| {
                self.pieces.push(RowPiece::new(flier, &self.line, *reach_m));
                self.pieces.len() - 1
            });
            let RowPiece { from, to, speed_mps, base_m, stops, shots, ground_z_m, .. } = &self.pieces[known];
            if let Some(base_m) = base_m {
                sheet.flown.note_base(*base_m);
            }
            let from_m = sheet.link_to(from.extend(z_m), &flier.task().aircraft.airframe)?;
            let straight = Leg::straight(LegKind::Strip, from_m, to.extend(z_m), *speed_mps);
            sheet.expose(Leg { stops: stops.clone(), ..straight }, shots.iter().map(pose));
            sheet.known.note_shots(shots.len(), (z_m - ground_z_m.1, z_m - ground_z_m.0));
        }
        Ok(!free.is_empty())
    }
}

/// A free piece of a level line as it is flown and exposed, at whatever level.
struct RowPiece {
    /// From and to along the line.
    reach_m: (f64, f64),
    from: DVec2,
    to: DVec2,
    speed_mps: f64,
    /// Between exposures, where there are several.
    base_m: Option<f64>,
    stops: Vec<Stop>,
    shots: Vec<DVec2>,
    /// Least and greatest height of the ground below them.
    ground_z_m: (f64, f64),
}

impl RowPiece {
    fn new(flier: &impl Flier, line: &LevelLine, reach_m: (f64, f64)) -> Self {
        let direction = (line.to - line.from).normalize_or_zero();
        let length_m = reach_m.1 - reach_m.0;
        let place = |along_m: f64| line.from + direction * (reach_m.0 + along_m);
        let Placed { base_m, at } = flier.placed(length_m);
        let terrain = &flier.airspace().site.terrain;
        let shots: Vec<DVec2> = at.iter().map(|(along_m, _)| place(*along_m)).collect();
        let stops = at.iter().zip(0..).map(|((along_m, _), station)| Stop { along_m: *along_m, station });
        let wider = |range: (f64, f64), z_m: f64| (range.0.min(z_m), range.1.max(z_m));
        let heights_z_m = shots.iter().map(|at| terrain.height_m(*at));
        RowPiece {
            reach_m,
            from: place(0.0),
            to: place(length_m),
            speed_mps: speed_over_mps(flier.speed_mps(), base_m, flier.exposure(), flier.task().pass),
            base_m: (shots.len() > 1).then_some(base_m),
            stops: stops.collect(),
            ground_z_m: heights_z_m.fold((f64::INFINITY, f64::NEG_INFINITY), wider),
            shots,
        }
    }
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
    /// The same of its exposures.
    shots_m: Option<(f64, f64)>,
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
pub(super) fn fly(flier: &impl Flier, section: &Section<'_>, sheet: &mut Sheet<'_>) -> Result<(), PlanError> {
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
    let (mut flown, mut shots_m) = (FlownTerms::default(), None::<(f64, f64)>);
    let terrain = &flier.airspace().site.terrain;
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
            let ground_z_m = profile.as_ref().map(|_| terrain.height_m(pose.position_m.truncate()));
            if is_off_site(&pose, ground_z_m) {
                skipped += 1;
                taken.skip(attitude);
            } else {
                neighbours |= taken.take(attitude);
                stops.push(Stop { along_m, station: poses.len() as u32 });
                poses.push(pose);
                let above_m = ground_z_m.map(|ground_z_m| pose.position_m.z - ground_z_m);
                shots_m = above_m.map(|m| shots_m.map_or((m, m), |range| (range.0.min(m), range.1.max(m))));
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
        let FollowedLeg { leg, above_m } = profile.leg(terrain, reach_m, speed_mps, stops);
        (leg, Some(above_m))
    } else {
        let straight = Leg::straight(LegKind::Strip, at(0.0), at(reach_m), speed_mps);
        (Leg { stops, ..straight }, None)
    };
    LaidSection { leg, poses, above_m, shots_m, skipped, flown }
}

/// Joins a section to what was flown before.
///
/// # Errors
/// As [`fly`].
pub(super) fn join(flier: &impl Flier, laid: LaidSection, sheet: &mut Sheet<'_>) -> Result<(), PlanError> {
    let LaidSection { leg, poses, above_m, shots_m, skipped, flown } = laid;
    if let Some(shots_m) = shots_m {
        sheet.known.note_shots(poses.len(), shots_m);
    }
    sheet.skipped += skipped;
    sheet.flown.note(&flown);
    let from_m = sheet.link_to(leg.from_m, &flier.task().aircraft.airframe)?;
    sheet.expose(Leg { from_m, ..leg }, poses);
    sheet.known.strips_m.extend(above_m.map(|above_m| (sheet.legs.len() - 1, above_m)));
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
