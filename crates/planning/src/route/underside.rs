//! Strips below a deck.

use super::airspace::highest_ground_m;
use super::counting::strip_row;
use super::layout::{also_bound, azimuth_rad, extents_m, heading_rad};
use super::sections::{free_sections, inside};
use super::sheet::{Sheet, refused};
use super::stand_off::StandOff;
use super::strips::MOST_EXPOSURES;
use super::{PassPlan, PlanError, SpeedBound, exposure_count};
use crate::polygon::{least_width, merged, without};
use crate::{Aircraft, CameraModel, Conditions, CountingRule, Id, Pass, Pose, SiteOutline};
use glam::{DVec2, DVec3};

/// Speed below a deck where the user sets none. Common practice, no source.
const DEFAULT_SPEED_MPS: f64 = 2.0;

/// Distance between the places at which the ground below a strip is asked for its height.
const GROUND_STEP_M: f64 = 1.0;

/// The pattern's settings.
pub(super) struct Underside {
    pub(super) structure: Id,
    pub(super) sections: u32,
    pub(super) soffit_clearance_m: f64,
    pub(super) ground_clearance_m: f64,
}

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
    fn new(ring_m: &'a [DVec2], soffit_z_m: f64) -> Self {
        let (azimuth, _) = least_width(ring_m);
        let (sin, cos) = azimuth.sin_cos();
        let (along, right) = (DVec2::new(sin, cos), DVec2::new(cos, -sin));
        let range = |axis: DVec2| {
            let places = ring_m.iter().map(|p| p.dot(axis));
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        Deck { ring_m, soffit_z_m, along, right, length_m: range(along), width_m: range(right) }
    }

    fn place(&self, along_m: f64, right_m: f64) -> DVec2 {
        self.along * along_m + self.right * right_m
    }
}

/// Lays out an underside pass: strips along the deck, spread over its width, section after section, at the stand-off
/// below the soffit.
///
/// Flown only below the deck, where the ground leaves its clearance and piers leave theirs (as from the soffit). Where
/// the stand-off leaves no room it is lessened to the clearance.
pub(super) fn plan(
    pass: &Pass,
    underside: &Underside,
    aircraft: &Aircraft,
    site: &SiteOutline,
    conditions: &Conditions,
) -> Result<PassPlan, PlanError> {
    let structure = site.structure(underside.structure);
    let deck = structure.and_then(|s| Some(Deck::new(&s.footprint_m, s.soffit_z_m?)));
    let Some(deck) = deck else {
        let none = StandOff::new(pass, aircraft, site, conditions, None, extents(pass));
        let reason = match structure {
            None => "the deck is not on the site".to_owned(),
            Some(s) => format!("\"{}\" stands on the ground and has no underside; choose a deck", s.name),
        };
        return Ok(refused(pass, none.camera, none.terms, reason));
    };
    let asked = StandOff::new(pass, aircraft, site, conditions, None, extents(pass));
    if let Some(reason) = asked.gimbal_stops(pass.attitudes[0].tilt_deg) {
        return Ok(refused(pass, asked.camera, asked.terms, reason));
    }
    let nearest_m = underside.soffit_clearance_m;
    let tries = [asked.m.max(nearest_m), nearest_m];
    for stand_off_m in tries {
        let set_m = (stand_off_m != asked.m).then_some(stand_off_m);
        let stand_off = StandOff::new(pass, aircraft, site, conditions, set_m, extents(pass));
        if let Some(plan) = flown(stand_off, underside, &deck)? {
            return Ok(plan);
        }
    }
    let ground_z = highest_ground_m(&site.terrain, &[deck.ring_m, &deck.ring_m[..1]].concat());
    let reason = format!(
        "no room below the deck: its soffit is {:.1} m above the ground, this pass needs {:.1} m to the soffit and {:.1} m to \
         the ground",
        deck.soffit_z_m - ground_z,
        nearest_m,
        underside.ground_clearance_m
    );
    Ok(refused(pass, asked.camera, asked.terms, reason))
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
    let pass = stand_off.pass;
    if pass.speed_mps.is_none() {
        stand_off.terms.speed = also_bound(stand_off.speed(), DEFAULT_SPEED_MPS, SpeedBound::Pattern);
    }
    let z = deck.soffit_z_m - stand_off.m;
    let layout = &stand_off.terms.layout;
    let (spacing_m, swath_m) = (layout.strip_spacing_m, layout.extent_across_m);
    let width_m = deck.width_m.1 - deck.width_m.0;
    let row = strip_row(CountingRule::HalfSpacingInside, width_m, spacing_m, swath_m);
    let length_m = deck.length_m.1 - deck.length_m.0;
    let about = row.offsets_m.len() as f64 * length_m / layout.air_base_m;
    if about.is_nan() || about > MOST_EXPOSURES {
        return Err(PlanError::TooManyExposures { about });
    }
    let mut sheet = Sheet::default();
    let piece_m = length_m / f64::from(underside.sections.max(1));
    let mut to_and_fro = 0;
    for section in 0..underside.sections.max(1) {
        let low = deck.length_m.0 + f64::from(section) * piece_m;
        // Sections follow each other; within one the strips go to and fro across the deck and back.
        let mut offsets = row.offsets_m.clone();
        if section % 2 == 1 {
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
    layout.direction_rad = azimuth_rad(deck.along).rem_euclid(std::f64::consts::PI);
    layout.region_width_m = width_m;
    let StandOff { camera, terms, airspace, .. } = stand_off;
    Ok(Some(sheet.plan(pass, camera, terms, false, airspace.site)))
}

/// Flies one strip of a section; says whether anything of it could be flown.
fn fly_strip(
    stand_off: &StandOff<'_>,
    underside: &Underside,
    deck: &Deck<'_>,
    (from, to): (DVec2, DVec2),
    z: f64,
    sheet: &mut Sheet,
) -> Result<bool, PlanError> {
    let direction = (to - from).normalize_or_zero();
    let track_rad = azimuth_rad(direction);
    let attitude = pass_attitude(stand_off.pass);
    let heading = heading_rad(attitude.aim, track_rad, azimuth_rad(deck.along));
    let base_m = stand_off.terms.layout.air_base_m;
    let mut any = false;
    for (start, end) in room(stand_off, underside, deck, (from, to), z) {
        let at = |along: f64| (from + direction * (start + along)).extend(z);
        let length_m = end - start;
        let count = exposure_count(length_m, base_m, 1);
        let step_m = length_m / f64::from(count.max(2) - 1);
        let shot = |k: u32| {
            let along_m = f64::from(k) * step_m;
            let tilt_rad = attitude.tilt_deg.to_radians();
            (along_m, Pose { position_m: at(along_m), heading_rad: heading, tilt_rad, roll_rad: 0.0 })
        };
        let ends: [DVec3; 2] = [at(0.0), at(length_m)];
        sheet.link_to(ends[0], &stand_off.airspace, &stand_off.aircraft.airframe)?;
        sheet.run(&ends, (0..count).map(shot).collect(), stand_off.speed_over_mps(step_m));
        any = true;
    }
    Ok(any)
}

fn pass_attitude(pass: &Pass) -> crate::Attitude {
    pass.attitudes[0]
}

/// Where a strip runs below the deck with room to everything.
fn room(
    stand_off: &StandOff<'_>,
    underside: &Underside,
    deck: &Deck<'_>,
    (from, to): (DVec2, DVec2),
    z: f64,
) -> Vec<(f64, f64)> {
    let site = stand_off.airspace.site;
    let length_m = from.distance(to);
    let steps = (length_m / GROUND_STEP_M).ceil().max(1.0) as u32;
    let too_high = |k: &u32| {
        let at = from.lerp(to, f64::from(*k) / f64::from(steps));
        site.terrain.height_m(at) + underside.ground_clearance_m > z + 1e-9
    };
    let step_m = length_m / f64::from(steps);
    let high = (0..=steps).filter(too_high).map(|k| {
        let at = f64::from(k) * step_m;
        ((at - step_m).max(0.0), (at + step_m).min(length_m))
    });
    let beside = without(&[(0.0, length_m)], &merged(inside(deck.ring_m, from, to)));
    let shut = merged(high.chain(beside).collect());
    without(&free_sections(site, (from, to), z, underside.soffit_clearance_m), &shut)
}
