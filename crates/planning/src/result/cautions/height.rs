//! Heights: the region's limit, the ceiling of passes led by their GSD.

use crate::base::Units;
use crate::base::wording::{Held, InUnits, side};
use crate::geometry::polygon::distance_m;
use crate::ground::OutlineStructure;
use crate::result::caution::{Caution, CautionSource, RoutePoint, Severity, Stretch, check, reminder};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::rules;
use crate::route::{farthest_from_ground_m, highest_above_ground_m};
use crate::scenario::{HeightRule, Terrain};
use std::cmp::Ordering;

/// The region's limit.
pub(super) fn height_limit(facts: &Facts<'_>) -> Option<Caution> {
    match facts.conditions.height_rule {
        HeightRule::UsPart107 => us(facts),
        HeightRule::EuOpen => eu(facts),
        HeightRule::Custom { limit_m } => custom(facts, limit_m),
    }
}

/// Highest above the ground right below, of passes and of the ways to them, between them and back.
fn highest_m(facts: &Facts<'_>) -> f64 {
    let planned = facts.plans().filter_map(|plan| plan.ground).map(|ground| ground.highest_m);
    highest_above_ground_m(facts.ways(), &facts.site.terrain, planned.fold(0.0, f64::max))
}

/// Height above the ground right below a place.
fn above_m(facts: &Facts<'_>, point: &RoutePoint) -> f64 {
    point.position_m.z - facts.site.terrain.height_m(point.position_m.truncate())
}

/// Below this share of a limit nothing is said of it: every plan would say it.
const NEAR_LIMIT: f64 = 0.9;

/// The caution of a region, above its limit or near it.
fn held_to(
    (reached_m, limit_m): (f64, f64),
    law: Option<Units>,
    what: impl Fn(Units) -> String,
    source: CautionSource,
    places: impl FnOnce() -> Vec<Stretch>,
) -> Option<Caution> {
    let held = |units: Units| {
        let told = units.held_lengths(reached_m, limit_m);
        let quoted = law.filter(|law| law.is_us() != units.is_us()).map(|law| law.length(limit_m));
        let quoted = quoted.map_or_else(String::new, |quoted| format!(" ({quoted})"));
        Held { limit: told.limit + &quoted, ..told }
    };
    let over = side(reached_m, limit_m) == Ordering::Greater;
    let found = if over {
        let text = InUnits::of(|units| {
            let (Held { value: reached, limit }, what) = (held(units), what(units));
            format!(
                "flies up to {reached}, above the limit of {limit} {what}; lower it, or check which rules apply to you"
            )
        });
        Caution { severity: Severity::Limit, ..check("height-limit", text, source) }.placed(places())
    } else {
        let text = InUnits::of(|units| {
            let (Held { value: reached, limit }, what) = (held(units), what(units));
            format!("flies up to {reached}; limit chosen: {limit} {what}; check the rules that apply to you")
        });
        reminder("height-limit", text, source)
    };
    (reached_m >= NEAR_LIMIT * limit_m)
        .then(|| found.gauged(reached_m, InUnits::of(|units| held(units).value)))
}

/// 400 ft above ground; within 400 ft of a structure, 400 ft above its top.
fn us(facts: &Facts<'_>) -> Option<Caution> {
    let (limit_m, source) = (rules::us::HEIGHT_M, CautionSource::Rule(rules::us::LIMITS));
    let what = |_: Units| "above ground level, 14 CFR 107.51".to_owned();
    let law = Some(Units::UsCustomary);
    let reached_m = highest_m(facts);
    if reached_m <= limit_m {
        return held_to((reached_m, limit_m), law, what, source, Vec::new);
    }
    let walk = facts.walk();
    let mut near: Option<&OutlineStructure> = None;
    let mut uncovered_m = 0.0_f64;
    let runs = walk.runs(|point| {
        let above_m = above_m(facts, point);
        if above_m <= limit_m {
            return false;
        }
        let covering = facts.site.structures.iter().find(|structure| covers(facts, structure, point));
        near = near.or(covering);
        if covering.is_none() {
            uncovered_m = uncovered_m.max(above_m);
        }
        covering.is_none()
    });
    match near {
        None => held_to((reached_m, limit_m), law, what, source, || walk.longest_first(&runs)),
        Some(_) if !runs.is_empty() => {
            let what = |units: Units| {
                let legal = units.legal_length(rules::us::STRUCTURE_RADIUS_M, Units::UsCustomary);
                let what = what(units);
                format!("{what}, where no structure is within {legal} or its top is more than that below")
            };
            held_to((uncovered_m, limit_m), law, what, source, || walk.longest_first(&runs))
        }
        Some(structure) => {
            let text = InUnits::of(|units| {
                let legal = units.legal_length(limit_m, Units::UsCustomary);
                format!(
                    "flies up to {} above ground level; above the limit of {legal} only within as much of a structure \
                     (\"{}\") and up to as much above its top, 14 CFR 107.51; check the rules that apply to you",
                    units.length(reached_m),
                    structure.name
                )
            });
            let reached = InUnits::of(|units| units.length(reached_m));
            Some(reminder("height-limit", text, source).gauged(reached_m, reached))
        }
    }
}

/// Whether a structure lets a place be higher than the limit above ground. Assumed ones do not.
fn covers(facts: &Facts<'_>, structure: &OutlineStructure, point: &RoutePoint) -> bool {
    !facts.site.assumed
        && point.position_m.z <= structure.top_z_m + rules::us::ABOVE_STRUCTURE_M
        && distance_m(&structure.footprint_m, point.position_m.truncate()) <= rules::us::STRUCTURE_RADIUS_M
}

/// 120 m from the closest point of the ground.
fn eu(facts: &Facts<'_>) -> Option<Caution> {
    let limit_m = rules::eu::HEIGHT_M;
    let terrain = &facts.site.terrain;
    let beyond = |point: &RoutePoint| {
        above_m(facts, point) > limit_m && terrain.closest_m(point.position_m, limit_m) > limit_m
    };
    let what = |_: Units| "from the closest point of the surface of the earth, EU 2019/947 Art. 4".to_owned();
    let law = Some(Units::Metric);
    let source = CautionSource::Rule(rules::eu::OPEN);
    let above_m = highest_m(facts);
    if above_m <= limit_m && matches!(terrain, Terrain::Grid(_)) {
        // The closest ground is no farther than that right below, and takes long to find.
        let found = held_to((above_m, limit_m), law, what, source, Vec::new)?;
        let below = " above the ground right below;";
        let text = InUnits::of(|units| found.text.in_units(units).replacen(';', below, 1));
        return Some(Caution { text, ..found });
    }
    let legs = facts.flight().legs.iter().map(|flown| &*flown.leg);
    let farthest_m = farthest_from_ground_m(legs, terrain);
    held_to((farthest_m, limit_m), law, what, source, || {
        let walk = facts.walk();
        walk.longest_first(&walk.runs(beyond))
    })
}

fn custom(facts: &Facts<'_>, limit_m: f64) -> Option<Caution> {
    let what = |_: Units| "above ground level, the limit you set".to_owned();
    held_to((highest_m(facts), limit_m), None, what, CautionSource::Plan, || {
        let walk = facts.walk();
        walk.longest_first(&walk.runs(|point| above_m(facts, point) > limit_m))
    })
}

/// What the open category allows above tall obstacles.
pub(super) fn tall_obstacle(facts: &Facts<'_>) -> Option<Caution> {
    let tall = |s: &&OutlineStructure| s.top_z_m - s.base_z_m > rules::eu::TALL_OBSTACLE_M;
    let eu = facts.conditions.height_rule == HeightRule::EuOpen && !facts.site.assumed;
    let structure = facts.site.structures.iter().find(tall).filter(|_| eu)?;
    let text = InUnits::of(|units| {
        let legal = |m: f64| units.legal_length(m, Units::Metric);
        format!(
            "\"{}\" is taller than {}: within {} of it, level, up to {} above it may be flown at the request of the entity \
             responsible for it (from memory); the height limit shown does not count on that",
            structure.name,
            legal(rules::eu::TALL_OBSTACLE_M),
            legal(rules::eu::OBSTACLE_RADIUS_M),
            legal(rules::eu::ABOVE_OBSTACLE_M)
        )
    });
    Some(reminder("tall-obstacle", text, CautionSource::Rule(rules::eu::OBSTACLE)))
}

pub(super) fn capped(facts: &Facts<'_>) -> Option<Caution> {
    let plan = facts.plans().find(|plan| plan.layout.capped)?;
    let gsd = InUnits::of(|units| units.gsd(plan.layout.vertical_gsd_m));
    let text = InUnits::of(|units| match plan.layout.stand_off_m {
        None => format!(
            "the GSD asked for needs more than the height ceiling of {}: flown at the ceiling it is {}",
            units.length(plan.layout.height_m),
            gsd.in_units(units)
        ),
        Some(stand_off_m) => format!(
            "the GSD asked for needs a stand-off of more than {}, the most that the height ceiling allows one to be: kept \
             there it is {}",
            units.length(stand_off_m),
            gsd.in_units(units)
        ),
    });
    let caution = check("height-ceiling", text, CautionSource::Plan);
    Some(caution.gauged(plan.layout.vertical_gsd_m, gsd))
}
