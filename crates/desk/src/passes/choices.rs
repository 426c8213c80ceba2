//! What of a pass is chosen, not measured: its lead, its subject, how strips are counted, where the camera points.

use super::model::structure_name;
use obliquity_planning::{
    Above, Aim, Distance, Id, LayoutTerms, Near, Pass, PatternKind, Scenario, Structure, StructureKind,
    limits, polygon,
};

/// A choice and what it means.
pub(super) type Choice = (&'static str, &'static str);

/// What a height is above.
pub(super) const ABOVE: [(Above, Choice); 3] = [
    (Above::MeanGround, ("mean ground", "The mean ground inside the boundary; every strip at one level")),
    (Above::TakeOff, ("take-off", "The ground at the take-off point; every strip at one level")),
    (
        Above::Ground,
        ("ground below", "Follows the ground along each strip as well as the aircraft can climb"),
    ),
];

/// Where a tilted axis points.
pub(super) const AIMS: [Choice; 4] = [
    ("along the track", "Clockwise from the flight; return strips look the other way"),
    ("along the strips", "Clockwise from the strip direction, held on return strips"),
    ("to the compass", "Clockwise from north, held everywhere"),
    ("at the subject", "At the wall of a facade or the middle of an orbit, turned clockwise"),
];

/// Which of [`AIMS`] it is.
pub(super) fn aim_place(aim: Aim) -> usize {
    match aim {
        Aim::FromTrack { .. } => 0,
        Aim::FromStrips { .. } => 1,
        Aim::FromNorth { .. } => 2,
        Aim::AtSubject { .. } => 3,
    }
}

/// The aim at a place of [`AIMS`].
pub(super) fn aim_at(place: usize, deg: f64) -> Aim {
    match place {
        0 => Aim::FromTrack { deg },
        1 => Aim::FromStrips { deg },
        2 => Aim::FromNorth { deg },
        _ => Aim::AtSubject { deg },
    }
}

/// What can lead a pass.
pub(super) fn leads(kind: PatternKind) -> [Choice; 2] {
    let gsd = ("GSD", "Kept when the camera changes; height or stand-off follows");
    if kind.flies_over() {
        [("height", "Kept when the camera changes; the GSD follows"), gsd]
    } else {
        [("stand-off", "Kept when the camera changes; the GSD follows"), gsd]
    }
}

/// Which of [`leads`] it is.
pub(super) fn lead_place(distance: Distance) -> usize {
    usize::from(matches!(distance, Distance::Gsd { .. }))
}

/// The distance with another lead, at the value that the plan has.
pub(super) fn led(pass: &Pass, place: usize, layout: Option<&LayoutTerms>) -> Distance {
    let above = pass.distance.above();
    if place == 1 {
        let cm = layout.map_or(2.0, |layout| 100.0 * layout.vertical_gsd_m);
        return Distance::Gsd { cm: limits::GSD_CM.nearest(cm), above };
    }
    if pass.pattern.kind().flies_over() {
        let m = layout.map_or(80.0, |layout| layout.height_m);
        Distance::Height { m: limits::HEIGHT_M.nearest(m), above }
    } else {
        let m = layout.and_then(|layout| layout.stand_off_m).unwrap_or(20.0);
        Distance::StandOff { m: limits::STAND_OFF_M.nearest(m) }
    }
}

/// The same distance above something else.
pub(super) fn above(distance: Distance, above: Above) -> Distance {
    match distance {
        Distance::Height { m, .. } => Distance::Height { m, above },
        Distance::Gsd { cm, .. } => Distance::Gsd { cm, above },
        Distance::StandOff { m } => Distance::StandOff { m },
    }
}

/// The structures that a pattern can be flown at.
pub(super) fn subjects(scenario: &Scenario, kind: PatternKind) -> Vec<(Id, String)> {
    let below = kind.about().near == Near::Deck;
    let fits = |of: &StructureKind| !below || matches!(of, StructureKind::Deck { .. });
    let found = scenario.site.structures.iter().filter(|structure| fits(&structure.kind));
    found.map(|structure| (structure.id, structure_name(scenario, structure.id))).collect()
}

/// Structures that may be taken together with the first of some: those taken, then the nearest others.
pub(super) fn companions(scenario: &Scenario, taken: &[Id]) -> Vec<(Id, String)> {
    let structures = &scenario.site.structures;
    let Some(first) = taken.first().and_then(|id| structures.iter().find(|s| s.id == *id)) else {
        return Vec::new();
    };
    let middle_m = polygon::centroid_m(&first.footprint_m);
    let mut others: Vec<_> = structures.iter().filter(|s| s.id != first.id).collect();
    let far = |s: &Structure| polygon::centroid_m(&s.footprint_m).distance(middle_m);
    others.sort_by(|a, b| {
        let left_out = |s: &Structure| !taken.contains(&s.id);
        left_out(a).cmp(&left_out(b)).then(far(a).total_cmp(&far(b)))
    });
    let named = |s: &&Structure| (s.id, structure_name(scenario, s.id));
    others.iter().take(taken.len() + MOST_COMPANIONS).map(named).collect()
}

/// Others beyond so many are too far to be taken for one.
const MOST_COMPANIONS: usize = 24;
