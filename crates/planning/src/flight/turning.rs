//! Turns from strip to strip without stopping: arcs, and bulbs where the strips are closer than the turning circle is wide.

use super::craft::{AT_REST, Craft, end_track, start_track};
use crate::motion::{Course, TurningPath, YAW_RADPS, turn_radius_m};
use crate::route::Airspace;
use crate::{Leg, LegKind};
use glam::{DVec2, DVec3};

/// A turn in one sweep between two strips.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sweep {
    /// The line flown, at one speed over ground.
    pub(super) leg: Leg,
    /// That speed, at which the strip before ends and the one after begins.
    pub(super) speed_mps: f64,
}

/// The sweep that replaces the link between two strips, where the airframe flies one, it is quicker than stopping, and
/// nothing stands in its way.
pub(super) fn sweep(
    craft: &Craft,
    airspace: &Airspace<'_>,
    [before, link, after]: [&Leg; 3],
) -> Option<Sweep> {
    let lateral_mps2 = craft.lateral_mps2?;
    if before.standing.is_some() || after.standing.is_some() || !level_u_turn(before, link, after) {
        return None;
    }
    // Somewhere on the turn the wind is dead ahead.
    let against_mps = craft.fastest_mps - craft.air_mps.length();
    let speed_mps = craft.ground_mps(before).min(craft.ground_mps(after)).min(against_mps);
    let ramps_m = speed_mps * speed_mps / craft.acceleration_mps2;
    if speed_mps <= 0.0 || before.length_m().min(after.length_m()) < ramps_m {
        return None;
    }
    let radius_m = turn_radius_m(speed_mps, lateral_mps2).max(speed_mps / YAW_RADPS);
    let (from, to) = (course(before.to_m, end_track(before)?), course(after.from_m, start_track(after)?));
    let path = TurningPath::shortest(from, to, radius_m);
    if path.length_m() / speed_mps * craft.turn_ratio >= stopping_s(craft, [before, link, after], speed_mps) {
        return None;
    }
    let places: Vec<DVec3> =
        path.places_m().into_iter().map(|p| DVec2::from(p).extend(before.to_m.z)).collect();
    let free = airspace.too_near(&places, airspace.clearance_m).is_none()
        && airspace.least_above_ground_m(&places) >= airspace.clearance_m
        && !airspace.keep_out_on(&places);
    let via_m = places[1..places.len() - 1].to_vec();
    let curve_m = Some(path.length_m());
    let leg = Leg { via_m, curve_m, ..Leg::straight(LegKind::Turn, before.to_m, after.from_m, speed_mps) };
    free.then_some(Sweep { leg, speed_mps })
}

/// Whether two strips at one height are joined by one straight link.
fn level_u_turn(before: &Leg, link: &Leg, after: &Leg) -> bool {
    let level = |leg: &Leg| leg.corners_m().all(|p| p.z == before.to_m.z);
    link.kind == LegKind::Link && link.via_m.is_empty() && [before, link, after].into_iter().all(level)
}

fn course(at: DVec3, track: DVec2) -> Course {
    Course { x_m: at.x, y_m: at.y, angle_rad: track.to_angle() }
}

/// Time of stopping, turning on the spot and going across, over passing the strips' ends at speed.
fn stopping_s(craft: &Craft, [before, link, after]: [&Leg; 3], speed_mps: f64) -> f64 {
    let corners = craft.corner(end_track(before), link) + craft.corner(end_track(link), after);
    let across = craft.moving(link, AT_REST).1;
    // Either ramp takes v/a for v²/2a, half of which is lost against flying it at speed.
    corners.time_s + across.time_s + speed_mps / craft.acceleration_mps2
}
