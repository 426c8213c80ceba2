//! Strips below a deck.

use super::PatternPlanner;
use crate::base::choice::least;
use crate::geometry::CameraModel;
use crate::geometry::lie::{size_m, strips_along};
use crate::geometry::polygon::{azimuth_rad, merged, sides, without};
use crate::ground::{Obstacle, SiteOutline};
use crate::route::airspace::highest_ground_m;
use crate::route::blur::over_level;
use crate::route::counting::{strip_count, strip_row};
use crate::route::free_line::FreeLine;
use crate::route::layout::{also_bound, extents_m, heading_rad};
use crate::route::refusal::{Count, KEEP_OFF};
use crate::route::section::{LevelLine, Rows};
use crate::route::sections::{LEAST_M, ground_above, inside, names_entered};
use crate::route::sheet::Sheet;
use crate::route::stand_off::StandOff;
use crate::route::task::PassTask;
use crate::route::{PassPlan, PlanError, SpeedBound, Subject, exposure_count};
use crate::scenario::{Attitude, CountingRule, Pass, Underside};
use glam::DVec2;
use std::f64::consts::PI;

/// Speed below a deck where the user sets none. Common practice, no source.
const DEFAULT_SPEED_MPS: f64 = 2.0;

/// A deck seen from below.
struct Deck<'a> {
    ring_m: &'a [DVec2],
    soffit_z_m: f64,
    along: DVec2,
    right: DVec2,
    /// Where its length begins and ends, along.
    length_m: (f64, f64),
    /// Where its width begins and ends, to the right.
    width_m: (f64, f64),
}

impl<'a> Deck<'a> {
    fn new(ring_m: &'a [DVec2], soffit_z_m: f64, home_m: DVec2) -> Self {
        let along = strips_along(ring_m, home_m);
        let right = -along.perp();
        let range = |axis: DVec2| {
            let places = ring_m.iter().map(|p| p.dot(axis));
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        Deck { ring_m, soffit_z_m, along, right, length_m: range(along), width_m: range(right) }
    }

    fn place(&self, along_m: f64, right_m: f64) -> DVec2 {
        self.along * along_m + self.right * right_m
    }

    /// Whether its strips are begun on the right: where that is nearer to the take-off point, or at one distance nearer to
    /// the site's middle.
    fn begins_right(&self, site: &SiteOutline) -> bool {
        let key = |right_m: f64| {
            let at = self.place(self.length_m.0, right_m);
            [at.distance(site.take_off_m), at.distance(site.middle_m)]
        };
        least([key(self.width_m.0), key(self.width_m.1)], size_m(self.ring_m)) == Some(1)
    }
}

impl PatternPlanner for Underside {
    /// Strips along the deck, spread over its width, section after section, at the stand-off below the soffit, from the
    /// corner nearest to the take-off point.
    ///
    /// Flown only below the deck, where the ground leaves its clearance and piers leave theirs (as from the soffit). Where
    /// the stand-off leaves no room it is lessened to the clearance.
    fn plan(&self, task: PassTask<'_>) -> Result<PassPlan, PlanError> {
        let deck = deck(self, task.site)?;
        for stand_off in tries(self, task)? {
            if let Some(plan) = flown(stand_off, self, &deck)? {
                return Ok(plan);
            }
        }
        Err(no_room(self, &deck, task.site))
    }

    /// With the stand-off asked for.
    fn count(&self, task: PassTask<'_>) -> Result<Count, PlanError> {
        let deck = deck(self, task.site)?;
        let [asked, _] = tries(self, task)?;
        Ok(count_of(&asked, self, &deck))
    }
}

fn no_room(underside: &Underside, deck: &Deck<'_>, site: &SiteOutline) -> PlanError {
    let ground_z = highest_ground_m(&site.terrain, &[deck.ring_m, &deck.ring_m[..1]].concat());
    let edges: Vec<_> = sides(deck.ring_m).collect();
    let shut = names_entered(site, &edges).map_or(String::new(), |names| format!(" outside {names}"));
    PlanError::because(format!(
        "no room below the deck{shut}: its soffit is {:.1} m above the ground, this pass needs {:.1} m to the soffit and {:.1} m to \
         the ground",
        deck.soffit_z_m - ground_z,
        underside.soffit_clearance_m,
        underside.ground_clearance_m
    ))
}

/// Every strip from end to end of its section, as if nothing cut it.
fn count_of(stand_off: &StandOff<'_>, underside: &Underside, deck: &Deck<'_>) -> Count {
    let layout = &stand_off.terms.layout;
    let width_m = deck.width_m.1 - deck.width_m.0;
    let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
    let across = strip_count(CountingRule::HalfSpacingInside, width_m, spacing_m, swath_m);
    let sections = underside.sections.max(1);
    let piece_m = (deck.length_m.1 - deck.length_m.0) / f64::from(sections);
    let strips = f64::from(across) * f64::from(sections);
    let on_strip = f64::from(exposure_count(piece_m, layout.air_base_m, 1));
    Count { exposures: strips * on_strip, strips, mend: KEEP_OFF }
}

fn deck<'a>(underside: &Underside, site: &'a SiteOutline) -> Result<Deck<'a>, PlanError> {
    let structure = site.structure(underside.structure);
    let deck = structure.and_then(|s| Some(Deck::new(&s.footprint_m, s.soffit_z_m?, site.take_off_m)));
    deck.ok_or_else(|| match structure {
        None => PlanError::because("the deck is not on the site"),
        Some(s) => PlanError::because(format!(
            "\"{}\" stands on the ground and has no underside; choose a deck",
            s.name
        )),
    })
}

/// The stand-off asked for, or the clearance where that is more; and the clearance itself.
fn tries<'a>(underside: &Underside, task: PassTask<'a>) -> Result<[StandOff<'a>; 2], PlanError> {
    let attitude = pass_attitude(task.pass);
    let (tilt_rad, turned_rad) = (attitude.tilt_deg.to_radians(), heading_rad(attitude.aim, 0.0, 0.0));
    // Looking up at a soffit is the mirror image of looking down.
    let fastest = over_level(&task.aircraft.camera.model(), PI - tilt_rad, turned_rad);
    let name = || task.site.structure(underside.structure).map(|structure| structure.name.clone());
    let at = |set_m| {
        let stand_off = StandOff::new(task, set_m, extents(task.pass));
        let subject = Subject::Soffit { stand_off_m: stand_off.m };
        stand_off.facing(name(), fastest, subject)
    };
    let asked = at(None);
    asked.can_tilt(attitude.tilt_deg)?;
    let nearest_m = underside.soffit_clearance_m;
    let first = if asked.m < nearest_m { at(Some(nearest_m)) } else { asked };
    Ok([first, at(Some(nearest_m))])
}

fn extents(pass: &Pass) -> impl Fn(&CameraModel, f64) -> DVec2 {
    let turned_rad = heading_rad(pass.attitudes[0].aim, 0.0, 0.0);
    move |camera, m| extents_m(camera, m, turned_rad)
}

/// The plan at one stand-off; nothing where there is no room.
fn flown(
    mut stand_off: StandOff<'_>,
    underside: &Underside,
    deck: &Deck<'_>,
) -> Result<Option<PassPlan>, PlanError> {
    let task = stand_off.task;
    if task.pass.speed_mps.is_none() {
        stand_off.terms.speed = also_bound(stand_off.speed(), DEFAULT_SPEED_MPS, SpeedBound::Pattern);
    }
    count_of(&stand_off, underside, deck).bounded()?;
    let z = deck.soffit_z_m - stand_off.m;
    let layout = &stand_off.terms.layout;
    let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
    let width_m = deck.width_m.1 - deck.width_m.0;
    let row = strip_row(CountingRule::HalfSpacingInside, width_m, spacing_m, swath_m);
    let length_m = deck.length_m.1 - deck.length_m.0;
    let mut sheet = Sheet::new(stand_off.airspace);
    if row.offsets_m.len() > 1 {
        sheet.flown.note_spacing(row.spacing_m);
    }
    let piece_m = length_m / f64::from(underside.sections.max(1));
    let begins_right = deck.begins_right(stand_off.airspace.site);
    let mut to_and_fro = 0;
    for section in 0..underside.sections.max(1) {
        let low = deck.length_m.0 + f64::from(section) * piece_m;
        // Sections follow each other; within one the strips go to and fro across the deck and back.
        let mut offsets = row.offsets_m.clone();
        if (section % 2 == 1) != begins_right {
            offsets.reverse();
        }
        for offset in offsets {
            let right_m = deck.width_m.0 + offset;
            let (a, b) = (deck.place(low, right_m), deck.place(low + piece_m, right_m));
            let ends = if to_and_fro % 2 == 1 { (b, a) } else { (a, b) };
            to_and_fro += u32::from(fly_strip(&stand_off, underside, deck, ends, z, &mut sheet)?);
        }
    }
    if sheet.poses.is_empty() {
        return Ok(None);
    }
    stand_off.note_lowest(z);
    let layout = &mut stand_off.terms.layout;
    layout.strips = to_and_fro;
    layout.direction_rad = Some(azimuth_rad(deck.along));
    layout.region_width_m = Some(width_m);
    Ok(Some(sheet.plan(task, stand_off.camera, stand_off.terms, false)))
}

/// Flies one strip of a section; says whether anything of it could be flown.
fn fly_strip(
    stand_off: &StandOff<'_>,
    underside: &Underside,
    deck: &Deck<'_>,
    (from, to): (DVec2, DVec2),
    z: f64,
    sheet: &mut Sheet<'_>,
) -> Result<bool, PlanError> {
    let track_rad = azimuth_rad((to - from).normalize_or_zero());
    let attitude = pass_attitude(stand_off.task.pass);
    let heading_rad = heading_rad(attitude.aim, track_rad, azimuth_rad(deck.along));
    let strip = LevelLine { from, to, heading_rad, tilt_rad: attitude.tilt_deg.to_radians() };
    let free = room(stand_off, underside, deck, (from, to), z, sheet.ways.near());
    Rows::new(stand_off, strip).fly(z, &free, sheet)
}

fn pass_attitude(pass: &Pass) -> Attitude {
    pass.attitudes[0]
}

/// Where a strip runs below the deck with room to everything.
fn room(
    stand_off: &StandOff<'_>,
    underside: &Underside,
    deck: &Deck<'_>,
    (from, to): (DVec2, DVec2),
    z: f64,
    near: &[&Obstacle],
) -> Vec<(f64, f64)> {
    let site = stand_off.airspace.site;
    let high = ground_above(site, (from, to), z - underside.ground_clearance_m);
    let beside = without(&[(0.0, from.distance(to))], &merged(inside(deck.ring_m, from, to)));
    let shut = merged(high.into_iter().chain(beside).collect());
    let line = FreeLine::new(site, near, (from, to), (z, z), underside.soffit_clearance_m);
    let free = without(&line.at(z), &shut);
    free.into_iter().filter(|section| section.1 - section.0 >= LEAST_M).collect()
}
