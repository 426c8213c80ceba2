//! Line of sight: how far the pilot must see, and what stands between.

use crate::base::choice::EQUAL_RATIO;
use crate::base::wording::{InUnits, counted, named, trimmed};
use crate::base::{Unit, Units};
use crate::result::caution::{Caution, CautionSource, RoutePoint, check};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::place::stretches_where;
use crate::result::cautions::rules;
use crate::route::lookout::{EYE_M, Hider};
use crate::scenario::HeightRule;
use glam::DVec3;

/// What the region's rule on line of sight is.
fn source(facts: &Facts<'_>) -> CautionSource {
    match facts.conditions.height_rule {
        HeightRule::UsPart107 => CautionSource::Rule(rules::us::SIGHT),
        HeightRule::EuOpen => CautionSource::Rule(rules::eu::OPEN),
        HeightRule::Custom { .. } => CautionSource::Practice,
    }
}

pub(super) fn pilot_distance(facts: &Facts<'_>) -> Option<Caution> {
    let (farthest, limit) = (facts.flight().farthest_m, facts.conditions.pilot_distance_m);
    if farthest <= limit {
        return None;
    }
    let text = InUnits::of(|units| {
        let told = units.held_lengths(farthest, limit);
        format!(
            "flies {} from {}, more than the {} set: keep the aircraft in unaided sight, or {}",
            told.value,
            facts.pilots_place(),
            told.limit,
            if facts.homes.len() > 1 { facts.take_off_advice() } else { "move or add a take-off point" }
        )
    });
    let reached = InUnits::of(|units| units.held_lengths(farthest, limit).value);
    let off_m = |sortie: u32, at_m: DVec3| (at_m - facts.home_of(sortie).at_m).truncate().length();
    // the farthest place of a straight piece is one of its ends, but for rounding
    let surely_within_m = limit * (1.0 - EQUAL_RATIO);
    let reaches = |sortie: u32| {
        let home = facts.home_of(sortie).at_m.truncate();
        move |at_m: DVec3| at_m.truncate().distance_squared(home) > surely_within_m * surely_within_m
    };
    let beyond = |point: &RoutePoint| off_m(point.sortie, point.position_m) > limit;
    let places = stretches_where(facts.flight(), reaches, beyond);
    Some(check("pilot-distance", text, source(facts)).placed(places).gauged(farthest, reached))
}

/// How high a pilot's eye is, to the tenth that an estimate is good for.
fn eye(units: Units) -> String {
    format!("{}{}", trimmed(units.shown(Unit::Metres, EYE_M), 1), units.suffix(Unit::Metres))
}

pub(super) fn hidden(facts: &Facts<'_>) -> Option<Caution> {
    let walk = facts.walk();
    let mut hiders = Vec::new();
    let runs = walk.runs(|point| {
        let hider = facts.home_of(point.sortie).lookout.hider(point.position_m);
        if let Some(hider) = hider.filter(|hider| !hiders.contains(hider)) {
            hiders.push(hider);
        }
        hider.is_some()
    });
    let places = walk.longest_first(&runs);
    let longest_m = places.first()?.length_m().max(walk.step_m);
    let longest = InUnits::of(|units| units.length(longest_m));
    let assumed = hiders.iter().any(|hider| matches!(hider, Hider::Structure(_))) && facts.site.assumed;
    if assumed && !hiders.contains(&Hider::Ground) {
        // Nobody knows where assumed buildings stand, so that no stretch is behind one.
        let text = InUnits::of(|units| {
            format!(
                "flies so low or so far off that buildings like those assumed would hide it from a pilot at {} (eye {} \
                 up): {}, stand where the aircraft stays in sight, or have an observer there",
                facts.pilots_place(),
                eye(units),
                facts.take_off_advice()
            )
        });
        return Some(check("line-of-sight", text, source(facts)).gauged(longest_m, longest));
    }
    let name = |hider: &Hider| match *hider {
        Hider::Structure(_) if facts.site.assumed => "assumed buildings".to_owned(),
        Hider::Structure(index) => format!("\"{}\"", facts.site.structures[index].name),
        Hider::Ground => "the ground".to_owned(),
    };
    let mut names: Vec<String> = hiders.iter().map(name).collect();
    names.sort();
    names.dedup();
    let text = InUnits::of(|units| {
        format!(
            "hidden from a pilot at {} (eye {} up) on {}, the longest about {}, behind {}: {}, or have an \
             observer there (checked every {} of the route)",
            facts.pilots_place(),
            eye(units),
            counted(runs.len() as u64, "stretch", "stretches"),
            longest.in_units(units),
            named(&names),
            facts.take_off_advice(),
            units.length(walk.step_m)
        )
    });
    Some(check("line-of-sight", text, source(facts)).placed(places).gauged(longest_m, longest))
}
