//! Whether a flight comes into anything, found out by geometry of this file alone.

use glam::{DVec2, DVec3};
use obliquity_planning::{
    Above, Facade, Flight, FlownLeg, Leg, LegKind, Outcome, OutlineStructure, Pattern, Scenario, SiteOutline,
    Terrain, Underside,
};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::{FRAC_PI_4, PI};

/// Distance between the places that are looked at for structures and ground.
const STEP_M: f64 = 0.5;

/// A keep-out's sides may be touched.
const TOUCHED_M: f64 = 0.01;

/// What flies over its subject keeps this from the ground.
const LEAST_ABOVE_GROUND_M: f64 = 2.0;

/// A ring keeps this from the ground.
const RING_ABOVE_GROUND_M: f64 = 1.0;

/// A site, and what stands on it.
pub(crate) struct Surroundings<'a> {
    scenario: &'a Scenario,
    structures: Vec<(OutlineStructure, Bounds)>,
    keep_outs: Vec<(&'a [DVec2], Bounds)>,
}

/// What a leg has to keep from each structure and from the ground.
struct Room {
    structures_m: Vec<f64>,
    ground_m: f64,
}

impl<'a> Surroundings<'a> {
    pub(crate) fn new(scenario: &'a Scenario) -> Self {
        let outline = SiteOutline::new(&scenario.site).expect("a sound site");
        let structures = outline.structures.iter().map(|s| (s.clone(), Bounds::of(&s.footprint_m))).collect();
        let keep_outs = scenario.site.keep_outs.iter();
        let keep_outs = keep_outs.map(|k| (&*k.outline_m, Bounds::of(&k.outline_m))).collect();
        Surroundings { scenario, structures, keep_outs }
    }

    /// Everything that the legs of a flight come into or too near to: a sentence for the first place on each leg.
    ///
    /// No leg comes into a structure, below the ground or into a keep-out; ways to, from and between strips keep the
    /// clearance of the conditions from structures and ground unless they begin or end nearer; rows and strips along a
    /// structure keep the clearances of their pass, and what follows the ground its height above it.
    pub(crate) fn hits(&self, outcome: &Outcome) -> Vec<String> {
        let Some(flight) = outcome.flight() else { return Vec::new() };
        let hit = |(flown, ends): (&FlownLeg, [DVec3; 2])| {
            let room = self.room(outcome, flown, ends);
            let hit = flown.leg.pieces_m().find_map(|piece| self.hit(piece, &room))?;
            Some(format!("{}: {:?} of pass {:?}: {hit}", outcome.name, flown.leg.kind, flown.pass))
        };
        flight.legs.iter().zip(ends_of_ways(outcome, flight)).filter_map(hit).collect()
    }

    fn room(&self, outcome: &Outcome, flown: &FlownLeg, ends: [DVec3; 2]) -> Room {
        if is_strip(flown) {
            let (own_m, ground_m) = self.kept_by_pass(flown, outcome);
            return Room { structures_m: vec![own_m; self.structures.len()], ground_m };
        }
        let clearance_m = self.scenario.conditions.clearance_m;
        let kept = |(structure, _): &(OutlineStructure, Bounds)| {
            let at_ends = ends.map(|end| distance_m(structure, end) * corner_cut(&structure.footprint_m));
            clearance_m.min(at_ends[0]).min(at_ends[1])
        };
        let above = ends.map(|end| end.z - ground_m(&self.scenario.site.terrain, end.truncate()));
        let kept_at = |above_m: f64| if above_m < 0.5 { clearance_m } else { above_m };
        Room {
            structures_m: self.structures.iter().map(kept).collect(),
            ground_m: clearance_m.min(kept_at(above[0])).min(kept_at(above[1])),
        }
    }

    /// What a pass keeps from structures along its own rows and strips, and from the ground.
    fn kept_by_pass(&self, flown: &FlownLeg, outcome: &Outcome) -> (f64, f64) {
        let mut passes = self.scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
        let pass = passes.find(|pass| Some(pass.id) == flown.pass).expect("a pass of the scenario");
        let planned = outcome.passes.iter().find(|p| Some(p.pass) == flown.pass).expect("it is flown");
        let (layout, clearance_m) =
            (planned.laid().expect("it is laid out").layout, self.scenario.conditions.clearance_m);
        match &pass.pattern {
            Pattern::Facade(Facade { clearance_m, lowest_m, .. }) => (*clearance_m, *lowest_m),
            Pattern::Underside(Underside { soffit_clearance_m, ground_clearance_m, .. }) => {
                (*soffit_clearance_m, *ground_clearance_m)
            }
            Pattern::Orbit(_) => {
                (clearance_m.min(layout.stand_off_m.expect("it keeps one")), RING_ABOVE_GROUND_M)
            }
            _ if layout.above == Above::Ground => (clearance_m, layout.height_m),
            _ => (0.0, LEAST_ABOVE_GROUND_M),
        }
    }

    fn hit(&self, (a, b): (DVec3, DVec3), room: &Room) -> Option<String> {
        let (p, q) = (a.truncate(), b.truncate());
        let entered = self
            .keep_outs
            .iter()
            .position(|(ring, bounds)| bounds.meets(p, q, 0.0) && deepest_m(ring, p, q) > TOUCHED_M);
        if let Some(k) = entered {
            let name = &self.scenario.site.keep_outs[k].name;
            return Some(format!("enters \"{name}\" from {a} to {b}"));
        }
        let near: Vec<_> = self
            .structures
            .iter()
            .zip(&room.structures_m)
            .filter(|((_, bounds), kept_m)| bounds.meets(p, q, **kept_m + STEP_M))
            .collect();
        let steps = (a.distance(b) / STEP_M).ceil().max(1.0);
        (0..=steps as u32).find_map(|k| {
            let at = a.lerp(b, f64::from(k) / steps);
            for ((structure, _), kept_m) in &near {
                let away_m = distance_m(structure, at);
                // Reasons: a thousandth is left so that an end at the clearance is no hindrance to itself; rounding.
                if away_m <= 0.0 || away_m < *kept_m * 0.999 - 1e-6 {
                    return Some(format!("{away_m} of {kept_m} m from \"{}\" at {at}", structure.name));
                }
            }
            // Take-off and landing are on the ground, and climbs and descents may begin or end there.
            let kept_m = if p == q { 0.0 } else { room.ground_m };
            let above_m = at.z - ground_m(&self.scenario.site.terrain, at.truncate());
            // Reason for 1e-6: rounding.
            (above_m < kept_m - 1e-6).then(|| format!("{above_m} of {kept_m} m above the ground at {at}"))
        })
    }
}

/// For each leg the ends of the whole way that it belongs to: within a pass from one strip to the next, as planned; else
/// from or to the ground or a strip, even one that is not flown yet.
fn ends_of_ways(outcome: &Outcome, flight: &Flight) -> Vec<[DVec3; 2]> {
    let bits = |leg: &Leg| [leg.from_m, leg.to_m].map(|at| at.to_array().map(f64::to_bits));
    let (mut planned, mut strips) = (BTreeMap::new(), BTreeSet::new());
    for plan in outcome.plans() {
        for way in plan.legs.chunk_by(|a, b| a.kind != LegKind::Strip && b.kind != LegKind::Strip) {
            let ends = [way[0].from_m, way[way.len() - 1].to_m];
            planned.extend(way.iter().map(|leg| ((Some(plan.pass), bits(leg)), ends)));
            let is_strip = way[0].kind == LegKind::Strip;
            strips.extend(way.iter().filter(|_| is_strip).flat_map(bits));
        }
    }
    let own = |flown: &FlownLeg| planned.get(&(flown.pass, bits(&flown.leg))).copied();
    let together = |a: &FlownLeg, b: &FlownLeg| {
        a.pass == b.pass && a.sortie == b.sortie && !strips.contains(&bits(&b.leg)[0])
    };
    let of_way = |way: &[FlownLeg]| {
        let ends = [way[0].leg.from_m, way[way.len() - 1].leg.to_m];
        way.iter().map(|flown| own(flown).unwrap_or(ends)).collect::<Vec<_>>()
    };
    flight.legs.chunk_by(together).flat_map(of_way).collect()
}

fn is_strip(flown: &FlownLeg) -> bool {
    flown.leg.kind == LegKind::Strip
}

/// Least and greatest coordinates of a ring.
struct Bounds(DVec2, DVec2);

impl Bounds {
    fn of(ring: &[DVec2]) -> Self {
        let low = ring.iter().copied().reduce(DVec2::min).expect("a ring has corners");
        let high = ring.iter().copied().reduce(DVec2::max).expect("a ring has corners");
        Bounds(low, high)
    }

    /// Whether the box about a segment comes as near as that.
    fn meets(&self, a: DVec2, b: DVec2, room_m: f64) -> bool {
        a.max(b).cmpge(self.0 - room_m).all() && a.min(b).cmple(self.1 + room_m).all()
    }
}

/// Ways round a corner cut it outside the circle of the clearance, by the offset of a side turned half of the corner's
/// angle; so where an end of a way has less room than the clearance, the way may be nearer than that end: by the cosine
/// of a quarter of the turn, of a right angle cos 22.5° = 0.92. A concave outline is cut into parts whose corners may turn
/// by up to 180°.
fn corner_cut(ring: &[DVec2]) -> f64 {
    let side = |k: usize| ring[(k + 1) % ring.len()] - ring[k % ring.len()];
    let turns: Vec<f64> = (0..ring.len()).map(|k| side(k).angle_to(side(k + 1))).collect();
    let sharpest_rad = turns.iter().copied().fold(0.0, f64::max);
    let convex = turns.iter().all(|turn| *turn >= 0.0);
    if convex { (sharpest_rad.min(PI) / 4.0).cos() } else { FRAC_PI_4.cos() }
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

/// How deep a segment comes into a ring: cut where it crosses the ring's sides, each part is looked at every half metre
/// and in its middle.
fn deepest_m(ring: &[DVec2], a: DVec2, b: DVec2) -> f64 {
    let way = b - a;
    let mut shares = vec![0.0, 1.0];
    for k in 0..ring.len() {
        let (c, d) = (ring[k], ring[(k + 1) % ring.len()]);
        let across = way.perp_dot(d - c);
        let (share, on_side) = ((c - a).perp_dot(d - c) / across, (c - a).perp_dot(way) / across);
        if across != 0.0 && (0.0..=1.0).contains(&share) && (-1e-9..=1.0 + 1e-9).contains(&on_side) {
            shares.push(share);
        }
    }
    shares.sort_by(f64::total_cmp);
    let deep_m = |at: DVec2| if is_inside(ring, at) { to_ring_m(ring, at) } else { 0.0 };
    let mut deepest_m = 0.0_f64;
    for pair in shares.windows(2) {
        let length_m = (pair[1] - pair[0]) * way.length();
        // no deeper than half of its length
        if length_m < TOUCHED_M && way != DVec2::ZERO {
            continue;
        }
        let steps = 2.0 * (length_m / STEP_M).ceil().max(1.0);
        for k in 0..=steps as u32 {
            let share = pair[0] + (pair[1] - pair[0]) * f64::from(k) / steps;
            deepest_m = deepest_m.max(deep_m(a + way * share));
        }
    }
    deepest_m
}

/// Height of the ground: of a grid, on the plane through the three nodes about a place, cells split south-west to
/// north-east; beyond it, that of its nearest edge.
fn ground_m(terrain: &Terrain, at: DVec2) -> f64 {
    let grid = match terrain {
        Terrain::Plane { at_origin_m, slope_east, slope_north } => {
            return at_origin_m + slope_east * at.x + slope_north * at.y;
        }
        Terrain::Grid(grid) => grid,
    };
    let (columns, rows) = grid.size();
    let place = (at.clamp(grid.south_west_m(), grid.north_east_m()) - grid.south_west_m()) / grid.spacing_m();
    let (c, r) = ((place.x as usize).min(columns - 2), (place.y as usize).min(rows - 2));
    let (x, y) = (place.x - c as f64, place.y - r as f64);
    let (low, high) = (grid.node_m(c, r), grid.node_m(c + 1, r + 1));
    let aside = if x > y { grid.node_m(c + 1, r) } else { grid.node_m(c, r + 1) };
    // barycentric: the nearer of x and y belongs to the diagonal
    let (major, minor) = (x.max(y), x.min(y));
    low * (1.0 - major) + aside * (major - minor) + high * minor
}
