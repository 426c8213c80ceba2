//! Structures and ground below: overlap, clearance, people inside, positioning below decks.

use super::place::{Stretch, Walk};
use super::{Caution, CautionSource, Facts, check};
use crate::route::{bounds, within};
use crate::wording::length;
use crate::{Above, Obstacle, PassPlan, PatternKind};
use glam::DVec3;

/// Overlaps over the highest roof or ground below these (forward, side) are cautioned. Common practice, no source.
const LEAST_OVERLAP: [f64; 2] = [0.60, 0.40];

/// Clearance over the tallest structure below this is cautioned. Common practice, no source.
const LEAST_CLEARANCE_M: f64 = 15.0;

pub(super) fn surroundings(facts: &Facts<'_>, walk: &Walk) -> Vec<Caution> {
    let found = [
        roof_overlap(facts),
        ground_overlap(facts),
        clearance(facts),
        below_deck(facts, walk),
        over_structures(facts, walk),
        assumed(facts),
    ];
    found.into_iter().flatten().collect()
}

fn roof_overlap(facts: &Facts<'_>) -> Option<Caution> {
    let over_roofs =
        facts.plans().filter_map(|plan| Some((plan.layout.roof_forward_overlap?, plan.layout.roof_sidelap?)));
    overlap("roof-overlap", over_roofs, "roof", "fly higher or raise the overlaps")
}

/// Over ground that rises and falls; where it does not, the overlap is the one that was set.
fn ground_overlap(facts: &Facts<'_>) -> Option<Caution> {
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
        let text = format!(
            "over the highest {what} the overlap falls to {:.0} % forward and {:.0} % to the side (below 60/40 %): {mend}",
            forward.max(0.0) * 100.0,
            side.max(0.0) * 100.0
        );
        check(id, text, CautionSource::Practice)
    })
}

fn clearance(facts: &Facts<'_>) -> Option<Caution> {
    let tallest = facts.site.tallest_anywhere_m?;
    // What follows the ground, goes round or goes along keeps clearances of its own.
    let at_a_height = facts.plans().filter(|plan| {
        plan.pattern.flies_over() && plan.layout.above != Above::Ground && plan.refused.is_none()
    });
    let lowest = at_a_height.map(|plan| plan.layout.lowest_m).reduce(f64::min)?;
    let clearance = lowest - tallest;
    (clearance < LEAST_CLEARANCE_M).then(|| {
        let text = format!(
            "clears the tallest modelled structure, {}, by {} only; masts, cranes and wires may stand higher",
            length(tallest),
            length(clearance)
        );
        check("clearance", text, CautionSource::Practice)
    })
}

fn below_deck(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    let below = |plan: &&PassPlan| plan.pattern == PatternKind::Underside && plan.refused.is_none();
    let plan = facts.plans().find(below)?;
    let text = "satellite positioning is poor below a deck: the aircraft may drift toward soffit or piers and its logged \
                positions are not to be trusted there; fly by hand or with other means of holding position, and survey \
                control points below";
    let runs = walk.runs(|point| point.pass == Some(plan.pass));
    let places = walk.longest_and_first(&runs).into_iter().take(1).collect();
    Some(check("satellite-below-deck", text.to_owned(), CautionSource::Practice).placed(places))
}

/// Modelled structures that are flown over; the first place at which one is.
fn over_structures(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    if facts.site.assumed || facts.site.structures.is_empty() {
        return None;
    }
    let solids: Vec<_> = facts.site.obstacles.iter().map(|solid| (solid, bounds(&solid.ring_m))).collect();
    let mut over = vec![false; facts.site.structures.len()];
    let mut first: Option<Stretch> = None;
    for (k, flown) in facts.flight().legs.iter().enumerate() {
        let mut passed_m = 0.0;
        for (a, b) in flown.leg.pieces_m() {
            let (low, high) = (a.min(b).truncate(), a.max(b).truncate());
            for (solid, (from, to)) in &solids {
                if low.cmpgt(*to).any()
                    || high.cmplt(*from).any()
                    || (over[solid.structure] && first.is_some())
                {
                    continue;
                }
                let Some((begins, ends)) = shares_over(solid, [a, b]) else { continue };
                over[solid.structure] = true;
                let at = |share: f64| walk.point_on(facts.flight(), k, passed_m + share * a.distance(b));
                first.get_or_insert_with(|| {
                    let (from, to) = (at(begins), at(ends));
                    Stretch { from, to, pass: from.pass, line_m: vec![from.position_m, to.position_m] }
                });
            }
            passed_m += a.distance(b);
        }
    }
    let place = first?;
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
        super::named(&names)
    );
    Some(check("over-structures", text, CautionSource::Practice).placed(vec![place]))
}

/// The part of a straight piece that lies over a solid.
fn shares_over(solid: &Obstacle, [a, b]: [DVec3; 2]) -> Option<(f64, f64)> {
    let (low, high) = within(&solid.ring_m, a.truncate(), b.truncate())?;
    (a.lerp(b, low).z.min(a.lerp(b, high).z) >= solid.top_z_m).then_some((low, high))
}

fn assumed(facts: &Facts<'_>) -> Option<Caution> {
    let text = "roof and wall figures rest on assumed typical buildings, not on what stands there";
    facts.site.assumed.then(|| check("assumed", text.to_owned(), CautionSource::Plan))
}
