use crate::route::{above_ground_m, farthest_from_ground_m};
use crate::wording::{counted, length};
use crate::{Above, Airframe, Conditions, Flight, HeightRule, PassPlan, PatternKind, SiteOutline, Terrain};
use std::sync::Arc;

/// Something the crew must mind. Local rules and the remote pilot decide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Stable name for scripts.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// For people.
    pub text: String,
}

/// How grave a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Always worth a thought.
    Reminder,
    /// Something in this plan calls for a check before flying.
    Check,
    /// As planned it breaks a stated limit.
    Limit,
}

/// Overlaps over the highest roof or ground below these (forward, side) are cautioned. Common practice, no source.
const LEAST_OVERLAP: [f64; 2] = [0.60, 0.40];

/// Clearance over the tallest structure below this is cautioned. Common practice, no source.
const LEAST_CLEARANCE_M: f64 = 15.0;

/// A battery reserve below this is cautioned. Common practice, no source.
const LEAST_RESERVE: f64 = 0.20;

/// 400 ft (14 CFR 107.51).
const US_LIMIT_M: f64 = 121.92;

/// 120 m (Regulation (EU) 2019/947, Art. 4).
const EU_LIMIT_M: f64 = 120.0;

/// What cautions are drawn from.
pub(crate) struct Facts<'a> {
    pub(crate) plans: &'a [Arc<PassPlan>],
    pub(crate) flight: &'a Flight,
    pub(crate) airframe: &'a Airframe,
    pub(crate) site: &'a SiteOutline,
    pub(crate) terrain: &'a Terrain,
    pub(crate) conditions: &'a Conditions,
    pub(crate) storage_gb: f64,
}

/// All cautions of a strategy, gravest first.
pub(crate) fn cautions(facts: &Facts<'_>) -> Vec<Caution> {
    let mut found = vec![height(facts)];
    found.extend(capped(facts));
    found.extend(pilot_distance(facts));
    found.extend(roof_overlap(facts));
    found.extend(ground_overlap(facts));
    found.extend(clearance(facts));
    found.extend(below_deck(facts));
    found.extend(reserve(facts));
    found.extend(on_hand(facts));
    found.extend(assumed(facts));
    found.push(reminder(
        "unknown",
        "not known to this program: people and vehicles below, power lines and wires, airspace, obstacles that are \
         not drawn, weather and wind on the day; look before every flight",
    ));
    found.push(reminder(
        "local-rules",
        "a prediction, not a permission: local rules and the remote pilot decide; legal boundaries and measured \
         results are for licensed practice",
    ));
    found.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
    found
}

fn reminder(id: &'static str, text: &str) -> Caution {
    Caution { id, severity: Severity::Reminder, text: text.to_owned() }
}

fn check(id: &'static str, text: String) -> Caution {
    Caution { id, severity: Severity::Check, text }
}

/// Height limit of the region chosen.
fn height(facts: &Facts<'_>) -> Caution {
    let planned = || facts.plans.iter().filter_map(|plan| plan.ground);
    // what the passes do not know: the ways to them, between them and back
    let ways = || facts.flight.legs.iter().filter(|flown| flown.pass.is_none()).map(|flown| &flown.leg);
    let highest_m = || {
        let on_ways = ways().map(|leg| above_ground_m(leg, facts.terrain).1);
        planned().map(|ground| ground.highest_m).chain(on_ways).fold(0.0, f64::max)
    };
    let farthest_m = || {
        let on_ways = farthest_from_ground_m(ways(), facts.terrain);
        planned().map(|ground| ground.farthest_m).fold(on_ways, f64::max)
    };
    let (limit_m, reached_m, rule) = match facts.conditions.height_rule {
        HeightRule::UsPart107 => (US_LIMIT_M, highest_m(), "above ground level, 14 CFR 107.51"),
        HeightRule::EuOpen => (
            EU_LIMIT_M,
            farthest_m(),
            "from the closest point of the surface of the earth, EU 2019/947 Art. 4",
        ),
        HeightRule::Custom { limit_m } => (limit_m, highest_m(), "above ground level, the limit you set"),
    };
    let (limit, reached) = (length(limit_m), length(reached_m));
    if reached_m > limit_m {
        let text = format!(
            "flies up to {reached}, above the limit of {limit} {rule}; lower it, or check which rules apply to you"
        );
        return Caution { id: "height-limit", severity: Severity::Limit, text };
    }
    reminder(
        "height-limit",
        &format!("flies up to {reached}; limit chosen: {limit} {rule}; check the rules that apply to you"),
    )
}

fn capped(facts: &Facts<'_>) -> Option<Caution> {
    let plan = facts.plans.iter().find(|plan| plan.layout.capped)?;
    let gsd_cm = plan.layout.vertical_gsd_m * 100.0;
    let text = match plan.layout.stand_off_m {
        None => format!(
            "the GSD asked for needs more than the height ceiling of {}: flown at the ceiling it is {gsd_cm:.2} cm",
            length(plan.layout.height_m)
        ),
        Some(stand_off_m) => format!(
            "the GSD asked for needs a stand-off of more than {}, the most that the height ceiling allows one to be: kept \
             there it is {gsd_cm:.2} cm",
            length(stand_off_m)
        ),
    };
    Some(check("height-ceiling", text))
}

fn pilot_distance(facts: &Facts<'_>) -> Option<Caution> {
    let (farthest, limit) = (facts.flight.farthest_m, facts.conditions.pilot_distance_m);
    (farthest > limit).then(|| {
        let text = format!(
            "flies {} from the take-off point, more than {}: keep the aircraft in unaided sight, or move the pilot or \
             the take-off point",
            length(farthest),
            length(limit)
        );
        check("pilot-distance", text)
    })
}

fn roof_overlap(facts: &Facts<'_>) -> Option<Caution> {
    let over_roofs = facts
        .plans
        .iter()
        .filter_map(|plan| Some((plan.layout.roof_forward_overlap?, plan.layout.roof_sidelap?)));
    let (forward, side) = over_roofs.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)))?;
    (forward < LEAST_OVERLAP[0] || side < LEAST_OVERLAP[1]).then(|| {
        let text = format!(
            "over the highest roof the overlap falls to {:.0} % forward and {:.0} % to the side (below 60/40 %): \
             fly higher or raise the overlaps",
            forward.max(0.0) * 100.0,
            side.max(0.0) * 100.0
        );
        check("roof-overlap", text)
    })
}

/// Over ground that rises and falls; where it does not, the overlap is the one that was set.
fn ground_overlap(facts: &Facts<'_>) -> Option<Caution> {
    let over_ground = facts.plans.iter().filter(|plan| plan.pattern.flies_over()).filter_map(|plan| {
        let ground = plan.ground.filter(|ground| ground.varies() && ground.least_m > 0.0)?;
        Some(plan.layout.overlaps_at(ground.least_m))
    });
    let (forward, side) = over_ground.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)))?;
    (forward < LEAST_OVERLAP[0] || side < LEAST_OVERLAP[1]).then(|| {
        let text = format!(
            "over the highest ground the overlap falls to {:.0} % forward and {:.0} % to the side (below 60/40 %): \
             follow the ground, fly higher or raise the overlaps",
            forward.max(0.0) * 100.0,
            side.max(0.0) * 100.0
        );
        check("ground-overlap", text)
    })
}

fn clearance(facts: &Facts<'_>) -> Option<Caution> {
    let tallest = facts.site.tallest_anywhere_m?;
    // What follows the ground, goes round or goes along keeps clearances of its own.
    let at_a_height = facts.plans.iter().filter(|plan| {
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
        check("clearance", text)
    })
}

fn below_deck(facts: &Facts<'_>) -> Option<Caution> {
    let below = |plan: &&Arc<PassPlan>| plan.pattern == PatternKind::Underside && plan.refused.is_none();
    facts.plans.iter().find(below).map(|_| {
        check(
            "satellite-below-deck",
            "satellite positioning is poor below a deck: the aircraft may drift toward soffit or piers and its logged \
             positions are not to be trusted there; fly by hand or with other means of holding position, and survey control \
             points below"
                .to_owned(),
        )
    })
}

fn reserve(facts: &Facts<'_>) -> Option<Caution> {
    let reserve = facts.airframe.reserve;
    (reserve < LEAST_RESERVE).then(|| {
        check(
            "reserve",
            format!("lands with a reserve of {:.0} % only (common practice: 20 % and more)", reserve * 100.0),
        )
    })
}

/// Batteries and card space against what is on hand.
fn on_hand(facts: &Facts<'_>) -> Vec<Caution> {
    let mut short = Vec::new();
    let (sorties, sets) = (facts.flight.sorties.len() as u64, u64::from(facts.conditions.battery_sets));
    if sorties > sets {
        let text = format!(
            "needs {}, {sets} on hand: charge on site, bring more, or split the job",
            counted(sorties, "battery set", "battery sets")
        );
        short.push(check("batteries", text));
    }
    let (needed, free) = (facts.storage_gb, facts.conditions.card_gb);
    if needed > free {
        short.push(check("card-space", format!("needs {needed:.0} GB of card space, {free:.0} GB on hand")));
    }
    short
}

fn assumed(facts: &Facts<'_>) -> Option<Caution> {
    facts.site.assumed.then(|| {
        reminder(
            "assumed",
            "roof and wall figures rest on assumed typical buildings, not on what stands there",
        )
    })
}
