//! No route of any example comes into anything, found out by geometry of this file alone.

use crate::examples::scenarios;
use crate::sample;
use glam::{DVec2, DVec3};
use obliquity_planning::{
    Above, FlownLeg, LegKind, Outcome, OutlineStructure, Pattern, Scenario, SiteOutline, Terrain,
};
use std::path::Path;

/// Distance between the places looked at.
const STEP_M: f64 = 0.5;

/// A keep-out's sides may be touched.
const TOUCHED_M: f64 = 0.01;

/// Ways round a corner cut it outside the circle of the clearance, by the offset of a side turned half of the corner's
/// angle: of a right angle cos 22.5° = 0.92. Where an end of a way has less room than the clearance, the way may be as
/// near as that.
const CORNER_CUT: f64 = 0.92;

/// Derived: sampled every half metre, no segment of any flight of any example comes into a structure, below the ground or
/// into a keep-out; transits and links keep the clearance of the conditions from structures and ground unless they begin
/// or end nearer; rows and strips along a structure keep the clearances of their pass, and what follows the ground its
/// height above it.
#[test]
fn no_example_flies_into_anything() {
    for (path, scenario) in scenarios() {
        let outline = SiteOutline::new(&scenario.site).unwrap();
        let course = Course { path: &path, scenario: &scenario, outline: &outline };
        for outcome in sample::quick_outcomes(&scenario) {
            let legs = &outcome.flight.legs;
            for (k, flown) in legs.iter().enumerate() {
                let room = Room::of(&course, &outcome, k);
                flown.leg.pieces_m().for_each(|(a, b)| course.check_piece(&outcome, flown, (a, b), &room));
            }
        }
    }
}

struct Course<'a> {
    path: &'a Path,
    scenario: &'a Scenario,
    outline: &'a SiteOutline,
}

/// What a leg has to keep from each structure and from the ground.
struct Room {
    structures_m: Vec<f64>,
    ground_m: f64,
}

impl Room {
    fn of(course: &Course<'_>, outcome: &Outcome, k: usize) -> Room {
        let (structures, legs) = (&course.outline.structures, &outcome.flight.legs);
        if legs[k].leg.kind == LegKind::Strip {
            let (own_m, ground_m) = course.kept_by_pass(&legs[k], outcome);
            return Room { structures_m: vec![own_m; structures.len()], ground_m };
        }
        // the ends of the whole way from one strip to the next, or from and to the ground
        let is_way = |flown: &&FlownLeg| flown.leg.kind != LegKind::Strip && flown.sortie == legs[k].sortie;
        let first = legs[..=k].iter().rev().take_while(is_way).last().unwrap();
        let last = legs[k..].iter().take_while(is_way).last().unwrap();
        let ends = [first.leg.from_m, last.leg.to_m];
        let clearance_m = course.scenario.conditions.clearance_m;
        let kept = |structure| {
            let at_ends = ends.map(|end| distance_m(structure, end) * CORNER_CUT);
            clearance_m.min(at_ends[0]).min(at_ends[1])
        };
        let above = ends.map(|end| end.z - ground_m(&course.scenario.site.terrain, end.truncate()));
        let kept_at = |above_m: f64| if above_m < 0.5 { clearance_m } else { above_m };
        Room {
            structures_m: structures.iter().map(kept).collect(),
            ground_m: clearance_m.min(kept_at(above[0])).min(kept_at(above[1])),
        }
    }
}

impl Course<'_> {
    /// What a pass keeps from structures along its own rows and strips, and from the ground.
    fn kept_by_pass(&self, flown: &FlownLeg, outcome: &Outcome) -> (f64, f64) {
        let mut passes = self.scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
        let pattern = passes.find(|pass| Some(pass.id) == flown.pass).map(|pass| &pass.pattern);
        match pattern {
            Some(Pattern::Facade { clearance_m, .. }) => (*clearance_m, 0.0),
            Some(Pattern::Underside { soffit_clearance_m, ground_clearance_m, .. }) => {
                (*soffit_clearance_m, *ground_clearance_m)
            }
            _ => {
                let planned = outcome.passes.iter().find(|pass| Some(pass.plan.pass) == flown.pass).unwrap();
                let layout = planned.plan.layout;
                (0.0, if layout.above == Above::Ground { layout.height_m } else { 0.0 })
            }
        }
    }

    fn check_piece(&self, outcome: &Outcome, flown: &FlownLeg, (a, b): (DVec3, DVec3), room: &Room) {
        let upright = a.truncate() == b.truncate();
        let steps = (a.distance(b) / STEP_M).ceil().max(1.0);
        let structures = self.outline.structures.iter().zip(&room.structures_m);
        let near: Vec<_> = structures.filter(|(s, kept_m)| may_reach(s, **kept_m, (a, b))).collect();
        for k in 0..=steps as u32 {
            let at = a.lerp(b, f64::from(k) / steps);
            let place = || format!("{} {} {:?} at {at}", self.path.display(), outcome.name, flown.leg.kind);
            for &(structure, &kept_m) in &near {
                let away_m = distance_m(structure, at);
                // Reasons: a thousandth is left so that an end at the clearance is no hindrance to itself; rounding.
                assert!(away_m > 0.0 && away_m >= kept_m * 0.999 - 1e-6, "{}: {away_m} of {kept_m}", place());
            }
            // Take-off and landing are on the ground, and climbs and descents may begin or end there.
            let above_m = at.z - ground_m(&self.scenario.site.terrain, at.truncate());
            let kept_m = if upright { 0.0 } else { room.ground_m };
            // Reason for 1e-6: rounding.
            assert!(above_m >= kept_m - 1e-6, "{}: {above_m} m of {kept_m} above the ground", place());
            let keep_outs = &self.scenario.site.keep_outs;
            let shut = keep_outs.iter().find(|k| {
                is_inside(&k.outline_m, at.truncate()) && to_ring_m(&k.outline_m, at.truncate()) > TOUCHED_M
            });
            assert_eq!(shut, None, "{}", place());
        }
    }
}

/// Whether a piece comes as near as that to the box about a structure's footprint.
fn may_reach(structure: &OutlineStructure, kept_m: f64, (a, b): (DVec3, DVec3)) -> bool {
    let ring = &structure.footprint_m;
    let low = ring.iter().copied().reduce(DVec2::min).unwrap() - kept_m - STEP_M;
    let high = ring.iter().copied().reduce(DVec2::max).unwrap() + kept_m + STEP_M;
    let (a, b) = (a.truncate(), b.truncate());
    a.max(b).cmpge(low).all() && a.min(b).cmple(high).all()
}

/// Distance from a structure's solids; 0 inside.
fn distance_m(structure: &OutlineStructure, at: DVec3) -> f64 {
    let bottom_z = structure.soffit_z_m.unwrap_or(f64::NEG_INFINITY);
    let body = from_solid_m(&structure.footprint_m, (bottom_z, structure.top_z_m), at);
    let pier = |ring: &Vec<DVec2>| from_solid_m(ring, (f64::NEG_INFINITY, bottom_z), at);
    structure.piers_m.iter().map(pier).fold(body, f64::min)
}

fn from_solid_m(ring: &[DVec2], (bottom_z, top_z): (f64, f64), at: DVec3) -> f64 {
    let aside_m = if is_inside(ring, at.truncate()) { 0.0 } else { to_ring_m(ring, at.truncate()) };
    let upright_m = (at.z - top_z).max(bottom_z - at.z).max(0.0);
    aside_m.hypot(upright_m)
}

fn to_ring_m(ring: &[DVec2], at: DVec2) -> f64 {
    let side_m = |k: usize| {
        let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
        let share = ((at - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        at.distance(a.lerp(b, share))
    };
    (0..ring.len()).map(side_m).fold(f64::INFINITY, f64::min)
}

/// By the number of sides that a line to the east crosses.
fn is_inside(ring: &[DVec2], at: DVec2) -> bool {
    let crosses = |k: &usize| {
        let (a, b) = (ring[*k], ring[(k + 1) % ring.len()]);
        (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    (0..ring.len()).filter(crosses).count() % 2 == 1
}

/// Height of the ground: of a grid, on the plane through the three nodes about a place, cells split south-west to
/// north-east; the examples' routes stay on their grids.
fn ground_m(terrain: &Terrain, at: DVec2) -> f64 {
    let grid = match terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            return at_origin_m + slope_east * at.x + slope_north * at.y;
        }
        Terrain::Grid(grid) => grid,
    };
    assert!(grid.covers(at), "{at} lies off the grid");
    let place = (at - grid.south_west_m()) / grid.spacing_m();
    let (columns, rows) = grid.size();
    let (c, r) = ((place.x as usize).min(columns - 2), (place.y as usize).min(rows - 2));
    let (x, y) = (place.x - c as f64, place.y - r as f64);
    let (low, high) = (grid.node_m(c, r), grid.node_m(c + 1, r + 1));
    let aside = if x > y { grid.node_m(c + 1, r) } else { grid.node_m(c, r + 1) };
    // barycentric: the nearer of x and y belongs to the diagonal
    let (major, minor) = (x.max(y), x.min(y));
    low * (1.0 - major) + aside * (major - minor) + high * minor
}
