//! Structures and ground below: overlap, clearance, people inside, positioning below decks.

use crate::base::wording::{InUnits, held, named};
use crate::base::{Id, Unit};
use crate::flight::take_off_name;
use crate::geometry::polygon::{bounds, distance_m, merged};
use crate::ground::Obstacle;
use crate::result::caution::{Caution, CautionSource, Stretch, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::place::longest_first;
use crate::route::{PassPlan, within};
use crate::scenario::{Above, Near};
use glam::{DVec2, DVec3};

/// Overlaps over the highest roof or ground below these (forward, side) are cautioned. Common practice, no source.
const LEAST_OVERLAP: [f64; 2] = [0.60, 0.40];

/// Walls nearer than this shade satellites and stir the wind. Common practice, no source.
const NEAR_WALL_M: f64 = 15.0;

/// Clearance over the tallest structure below this is cautioned. Common practice, no source.
const LEAST_CLEARANCE_M: f64 = 15.0;

pub(super) fn roof_overlap(facts: &Facts<'_>) -> Option<Caution> {
    let over_roofs =
        facts.plans().filter_map(|plan| Some((plan.layout.roof_forward_overlap?, plan.layout.roof_sidelap?)));
    overlap("roof-overlap", over_roofs, "roof", "fly higher or raise the overlaps")
}

/// Over ground that rises and falls; where it does not, the overlap is the one that was set.
pub(super) fn ground_overlap(facts: &Facts<'_>) -> Option<Caution> {
    let over_ground = facts.plans().filter(|plan| plan.pattern.flies_over()).filter_map(|plan| {
        let ground = plan.ground.filter(|ground| ground.varies() && ground.least_m > 0.0)?;
        Some(plan.layout.overlaps_at(ground.least_m))
    });
    overlap("ground-overlap", over_ground, "ground", "follow the ground, fly higher or raise the overlaps")
}

fn overlap(
    id: &'static str,
    overlaps: impl Iterator<Item = (f64, f64)>,
    what: &str,
    mend: &str,
) -> Option<Caution> {
    let (forward, side) = overlaps.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)))?;
    (forward < LEAST_OVERLAP[0] || side < LEAST_OVERLAP[1]).then(|| {
        let [least_forward, least_side] = LEAST_OVERLAP;
        let [forward, side] = [(forward, least_forward), (side, least_side)]
            .map(|(overlap, least)| (held(Unit::Share, overlap.max(0.0), least), least - overlap));
        let text = format!(
            "over the highest {what} the overlap falls to {} forward and {} to the side, {} and {} are common: {mend}",
            forward.0.value, side.0.value, forward.0.limit, side.0.limit
        );
        let gauge = format!("{} / {}", forward.0.value.trim_end_matches(" %"), side.0.value);
        check(id, text, CautionSource::Practice).gauged(forward.1.max(side.1), gauge)
    })
}

pub(super) fn clearance(facts: &Facts<'_>) -> Option<Caution> {
    let tallest = facts.site.tallest_anywhere_m?;
    // What follows the ground, goes round or goes along keeps clearances of its own.
    let at_a_height =
        facts.plans().filter(|plan| plan.pattern.flies_over() && plan.layout.above != Above::Ground);
    let lowest = at_a_height.map(|plan| plan.layout.lowest_m).reduce(f64::min)?;
    let clearance = lowest - tallest;
    (clearance < LEAST_CLEARANCE_M).then(|| {
        let what =
            if facts.site.assumed { "the assumed buildings" } else { "the tallest modelled structure" };
        let text = InUnits::of(|units| {
            format!(
                "clears {what}, {}, by {} only; masts, cranes and wires may stand higher",
                units.length(tallest),
                units.held_lengths(clearance, LEAST_CLEARANCE_M).value
            )
        });
        let told = InUnits::of(|units| units.length(clearance));
        check("clearance", text, CautionSource::Practice).gauged(-clearance, told)
    })
}

pub(super) fn below_deck(facts: &Facts<'_>) -> Option<Caution> {
    let below = |plan: &&PassPlan| plan.pattern.about().near == Near::Deck;
    let passes: Vec<Id> = facts.plans().filter(below).map(|plan| plan.pass).collect();
    if passes.is_empty() {
        return None;
    }
    let text = "satellite positioning is poor below a deck: the aircraft may drift toward soffit or piers and its logged \
                positions are not to be trusted there; fly by hand or with other means of holding position, and survey \
                control points below";
    let walk = facts.walk();
    let places = walk.longest_first(&walk.runs(|point| point.pass.is_some_and(|id| passes.contains(&id))));
    Some(check("satellite-below-deck", text.to_owned(), CautionSource::Practice).placed(places))
}

/// Flown beside walls: what they do to reception and to the wind.
pub(super) fn near_walls(facts: &Facts<'_>) -> Option<Caution> {
    let beside = |plan: &&PassPlan| plan.pattern.about().near == Near::Walls;
    let passes: Vec<Id> = facts.plans().filter(beside).map(|plan| plan.pass).collect();
    if passes.is_empty() || facts.site.assumed {
        return None;
    }
    let walls: Vec<_> = facts.site.structures.iter().map(|s| (s, bounds(&s.footprint_m))).collect();
    let walk = facts.walk();
    let mut nearest_m = f64::INFINITY;
    let runs = walk.runs(|point| {
        if !point.pass.is_some_and(|id| passes.contains(&id)) {
            return false;
        }
        let at_m = point.position_m;
        let beside = walls.iter().filter(|(structure, _)| structure.top_z_m > at_m.z);
        let apart_m = beside.fold(NEAR_WALL_M, |nearest_m, (structure, (low, high))| {
            let place = at_m.truncate();
            // what lies in a box is no nearer than the box
            if place.distance(place.clamp(*low, *high)) >= nearest_m {
                return nearest_m;
            }
            nearest_m.min(distance_m(&structure.footprint_m, place))
        });
        nearest_m = nearest_m.min(apart_m);
        apart_m < NEAR_WALL_M
    });
    (!runs.is_empty()).then(|| {
        let text = InUnits::of(|units| {
            let told = units.held_lengths(nearest_m, NEAR_WALL_M);
            format!(
                "comes as near as {} to walls, nearer than {}: satellite reception is weak beside them and wind gusts round \
                 corners; fly it when the wind is light, and do not trust the logged positions alone",
                told.value, told.limit
            )
        });
        let nearest = InUnits::of(|units| units.held_lengths(nearest_m, NEAR_WALL_M).value);
        let places = walk.longest_first(&runs);
        check("near-walls", text, CautionSource::Practice).placed(places).gauged(-nearest_m, nearest)
    })
}

/// A take-off point nearer to a structure than the clearance: upright climbs and descents are flown there all the same.
pub(super) fn near_take_off(facts: &Facts<'_>) -> Option<Caution> {
    let (site, clearance_m) = (facts.site, facts.conditions.clearance_m);
    if site.assumed {
        return None;
    }
    let flight = facts.flight();
    let used = (0..facts.homes.len()).filter(|&k| flight.sorties.iter().any(|s| s.home as usize == k));
    let solids = used.flat_map(|home| {
        let home_m = facts.homes[home].at_m;
        site.obstacles.iter().map(move |solid| (apart_m(solid, home_m), solid, home))
    });
    let nearest = solids.min_by(|a, b| a.0.total_cmp(&b.0));
    let (nearest_m, solid, home) = nearest.filter(|(m, _, _)| *m < clearance_m)?;
    let at = if home == 0 { String::new() } else { format!(" at {}", take_off_name(home)) };
    let text = InUnits::of(|units| {
        let told = units.held_lengths(nearest_m, clearance_m);
        format!(
            "takes off and lands{at} {} from \"{}\", nearer than the clearance of {}: wind gusts round its corners; climb \
             and land by hand with nobody beside it, or move the take-off point",
            told.value, site.structures[solid.structure].name, told.limit
        )
    });
    let nearest = InUnits::of(|units| units.held_lengths(nearest_m, clearance_m).value);
    let home_m = facts.homes[home].at_m;
    let legs = facts.flight().legs.iter().enumerate();
    let upright = legs.filter(|(_, flown)| flown.leg.from_m == home_m || flown.leg.to_m == home_m);
    let places = upright.map(|(k, _)| facts.walk().of_leg(k)).collect();
    Some(check("near-take-off", text, CautionSource::Plan).placed(places).gauged(-nearest_m, nearest))
}

/// Take-off points from which nothing is flown, each place once: whoever put them there expects otherwise.
pub(super) fn unused_take_offs(facts: &Facts<'_>) -> Option<Caution> {
    let (homes, sorties) = (facts.homes, &facts.flight().sorties);
    let is_used =
        |home: usize| sorties.iter().any(|sortie| homes[sortie.home as usize].at_m == homes[home].at_m);
    let is_first = |home: usize| homes[..home].iter().all(|before| before.at_m != homes[home].at_m);
    let unused: Vec<String> = (0..homes.len())
        .filter(|&home| is_first(home) && !is_used(home))
        .map(|home| format!("take-off point {}", home + 1))
        .collect();
    (!unused.is_empty()).then(|| {
        let text = format!(
            "no sortie starts at {}: as planned it changes nothing; move it to where more of the route is seen, or take it \
             out",
            named(&unused)
        );
        reminder("take-off-unused", text, CautionSource::Plan).gauged(unused.len() as f64, named(&unused))
    })
}

/// How far a solid is from a place on the ground.
fn apart_m(solid: &Obstacle, at_m: DVec3) -> f64 {
    let below_m = (solid.bottom_z_m - at_m.z).max(0.0);
    distance_m(&solid.ring_m, at_m.truncate()).hypot(below_m)
}

/// Modelled structures that are flown over, and every place at which one is.
pub(super) fn over_structures(facts: &Facts<'_>) -> Option<Caution> {
    if facts.site.assumed || facts.site.structures.is_empty() {
        return None;
    }
    let solids: Vec<_> = facts.site.obstacles.iter().map(|solid| (solid, bounds(&solid.ring_m))).collect();
    let mut over = vec![false; facts.site.structures.len()];
    let mut places: Vec<Stretch> = Vec::new();
    let mut near = Vec::with_capacity(solids.len());
    for (k, flown) in facts.flight().legs.iter().enumerate() {
        let mut passed_m = 0.0;
        let mut shares_m: Vec<(f64, f64)> = Vec::new();
        let apart = |(low, high): (DVec2, DVec2), (from, to): (DVec2, DVec2)| {
            low.cmpgt(to).any() || high.cmplt(from).any()
        };
        let (leg_low, leg_high) =
            flown.leg.corners_m().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), at| {
                (low.min(at.truncate()), high.max(at.truncate()))
            });
        near.clear();
        near.extend(solids.iter().filter(|(_, bounds)| !apart((leg_low, leg_high), *bounds)));
        if near.is_empty() {
            continue;
        }
        for (a, b) in flown.leg.pieces_m() {
            let piece = (a.min(b).truncate(), a.max(b).truncate());
            for (solid, bounds) in &near {
                if apart(piece, *bounds) {
                    continue;
                }
                let Some((begins, ends)) = shares_over(solid, [a, b]) else { continue };
                over[solid.structure] = true;
                let at_m = |share: f64| passed_m + share * a.distance(b);
                shares_m.push((at_m(begins), at_m(ends)));
            }
            passed_m += a.distance(b);
        }
        places.extend(
            merged(shares_m).into_iter().map(|share_m| facts.walk().part_of(facts.flight(), k, share_m)),
        );
    }
    if places.is_empty() {
        return None;
    }
    let names: Vec<String> = facts
        .site
        .structures
        .iter()
        .zip(over)
        .filter(|(_, over)| *over)
        .map(|(structure, _)| format!("\"{}\"", structure.name))
        .collect();
    let text = format!(
        "flies over {}: people may be inside or come out; ask who is there, and keep what is below clear",
        named(&names)
    );
    let caution = check("over-structures", text, CautionSource::Practice).placed(longest_first(places));
    Some(caution.gauged(names.len() as f64, named(&names)))
}

/// The part of a straight piece that lies over a solid.
fn shares_over(solid: &Obstacle, [a, b]: [DVec3; 2]) -> Option<(f64, f64)> {
    let (low, high) = within(&solid.ring_m, a.truncate(), b.truncate())?;
    (a.lerp(b, low).z.min(a.lerp(b, high).z) >= solid.top_z_m).then_some((low, high))
}

pub(super) fn assumed(facts: &Facts<'_>) -> Option<Caution> {
    let text = "roof and wall figures rest on assumed typical buildings, not on what stands there";
    facts.site.assumed.then(|| check("assumed", text.to_owned(), CautionSource::Plan))
}
