//! What of a pass is chosen, not measured: its lead, its subject, how strips are counted, where the camera points.

use super::model::structure_name;
use obliquity_planning::{
    Above, Aim, CountingRule, Distance, Id, LayoutTerms, OrbitCentre, OrbitRadius, Pass, PatternKind, Rings,
    Scenario, StripDirection, StructureKind, limits,
};

/// A choice and what it means.
pub(super) type Choice = (&'static str, &'static str);

/// How strips are counted.
pub(super) const COUNTING: [(CountingRule, Choice); 6] = [
    (
        CountingRule::HalfSpacingInside,
        (
            "Half a spacing inside",
            "As many as the width holds spacings, spread evenly, the outer ones half a spacing inside",
        ),
    ),
    (
        CountingRule::CentredAtSpacing,
        ("Centred at the spacing", "As many as the width holds spacings, centred, the spacing kept as set"),
    ),
    (
        CountingRule::FootprintCover,
        ("Footprints just cover", "As few as still cover the width with their footprints"),
    ),
    (CountingRule::EdgeToEdge, ("Edge to edge", "The outer strips on the edges, the others spread evenly")),
    (
        CountingRule::SidelapBeyondEdge,
        (
            "Sidelap beyond the edge",
            "The outer footprints reach beyond the edge by as much as neighbours overlap",
        ),
    ),
    (
        CountingRule::SpareStripEachSide,
        ("A spare strip each side", "As many as the width holds spacings and one more on each side"),
    ),
];

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

/// Strips by themselves, or set from north at the direction that they have.
pub(super) fn directed(direction: StripDirection, place: usize, present_rad: Option<f64>) -> StripDirection {
    match (direction, place) {
        (StripDirection::Automatic { turned_deg }, 1) => {
            let deg = present_rad.map_or(turned_deg, f64::to_degrees).rem_euclid(360.0);
            StripDirection::FromNorth { deg: (10.0 * deg).round() / 10.0 }
        }
        (StripDirection::FromNorth { .. }, 0) => StripDirection::Automatic { turned_deg: 0.0 },
        (direction, _) => direction,
    }
}

/// The radius by itself, or set at what it is.
pub(super) fn radius(place: usize, present_m: f64) -> OrbitRadius {
    if place == 0 {
        OrbitRadius::StandOff
    } else {
        OrbitRadius::Set { m: limits::ORBIT_RADIUS_M.nearest((10.0 * present_m).round() / 10.0) }
    }
}

/// Rings evenly spaced, or each by its height.
pub(super) fn ringed(rings: &Rings, place: usize) -> Rings {
    let heights_m = rings.heights_m();
    if place == 1 {
        return Rings::At { heights_m };
    }
    let lowest_m = heights_m.iter().copied().fold(f64::INFINITY, f64::min);
    let highest_m = heights_m.iter().copied().fold(0.0, f64::max);
    let count = heights_m.len().max(1);
    let step_m = if count > 1 { (highest_m - lowest_m) / (count - 1) as f64 } else { 10.0 };
    Rings::Evenly {
        count: count as u32,
        lowest_m: limits::RING_HEIGHT_M.nearest(lowest_m),
        step_m: limits::RING_STEP_M.nearest(step_m),
    }
}

/// The structures that a pattern can be flown at.
pub(super) fn subjects(scenario: &Scenario, kind: PatternKind) -> Vec<(Id, String)> {
    let fits = |of: &StructureKind| match kind {
        PatternKind::Underside => matches!(of, StructureKind::Deck { .. }),
        _ => true,
    };
    let found = scenario.site.structures.iter().filter(|structure| fits(&structure.kind));
    found.map(|structure| (structure.id, structure_name(scenario, structure.id))).collect()
}

/// The structure that an orbit goes round.
pub(super) fn centre_of(around: OrbitCentre) -> Option<Id> {
    if let OrbitCentre::Structure(id) = around { Some(id) } else { None }
}
