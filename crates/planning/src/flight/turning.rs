//! Turns from strip to strip without stopping: arcs, and bulbs where the strips are closer than the turning circle is wide.

use super::craft::{AT_REST, Craft};
use super::line::OneMovement;
use super::stretch::{LegPart, LegRun};
use crate::geometry::motion::{Course, TurningPath, YAW_RADPS, turn_radius_m};
use crate::route::{Airspace, Leg, LegKind, level};
use crate::scenario::Airframe;
use glam::{DVec2, DVec3};
use std::sync::OnceLock;

/// A turn in one sweep between two strips, which may replace the link between them.
#[derive(Debug)]
pub(super) struct TurnSweep<'p> {
    before: &'p Leg,
    after: &'p Leg,
    path: TurningPath,
    /// The speed that its radius is for; in wind it may be flown more slowly.
    speed_mps: f64,
    /// Of the shorter one of both strips.
    room_m: f64,
    line: OnceLock<Option<(Leg, OneMovement)>>,
}

impl<'p> TurnSweep<'p> {
    /// The sweep between two strips, where the airframe flies one and both lie at one height with a straight link between.
    pub(super) fn new(airframe: &Airframe, [before, link, after]: [&'p Leg; 3]) -> Option<Self> {
        let lateral_mps2 = airframe.lateral_mps2?;
        if before.standing.is_some() || after.standing.is_some() || !level_u_turn(before, link, after) {
            return None;
        }
        let speed_mps = before.speed_mps.min(after.speed_mps).min(airframe.fastest_mps());
        let radius_m = turn_radius_m(speed_mps, lateral_mps2).max(speed_mps / YAW_RADPS);
        let (from, to) = (course(before.to_m, last_way(before)?), course(after.from_m, first_way(after)?));
        Some(TurnSweep {
            before,
            after,
            path: TurningPath::shortest(from, to, radius_m),
            speed_mps,
            room_m: before.length_m().min(after.length_m()),
            line: OnceLock::new(),
        })
    }

    /// Speed over ground at which it is flown, the strip before it ended and the one after it begun; nothing where stopping
    /// to turn is quicker.
    pub(super) fn quicker_at_mps(&self, craft: &Craft, [before, link, after]: [&LegPart; 3]) -> Option<f64> {
        let [LegRun::Moving(first), LegRun::Moving(across), LegRun::Moving(second)] =
            [&before.run, &link.run, &after.run]
        else {
            return None;
        };
        // Somewhere on the turn the wind is dead ahead.
        let wanted_mps = (self.speed_mps * craft.speed_ratio).min(craft.against_mps);
        let speed_mps = wanted_mps.min(craft.ground_mps(first)).min(craft.ground_mps(second));
        if self.room_m < speed_mps * speed_mps / craft.acceleration_mps2 {
            return None;
        }
        let corners = craft.turning(before.noses_rad[1], link.noses_rad[0])
            + craft.turning(link.noses_rad[1], after.noses_rad[0]);
        // Either ramp takes v/a for v²/2a, half of which is lost against flying it at speed.
        let stopping_s =
            corners.time_s + craft.moving(across, AT_REST).1.time_s + speed_mps / craft.acceleration_mps2;
        let sweeping_s = self.path.length_m() / speed_mps * craft.turn_ratio;
        (sweeping_s < stopping_s).then_some(speed_mps)
    }

    /// The line flown; nothing where something stands in its way.
    pub(super) fn line(&self, airspace: &Airspace<'_>) -> Option<&(Leg, OneMovement)> {
        let find = || {
            let (from_m, to_m) = (self.before.to_m, self.after.from_m);
            let places: Vec<DVec3> =
                self.path.places_m().into_iter().map(|p| DVec2::from(p).extend(from_m.z)).collect();
            let free = airspace.too_near(&places, airspace.clearance_m).is_none()
                && airspace.least_above_ground_m(&places) >= airspace.clearance_m
                && !airspace.keep_out_on(&places);
            let via_m = places[1..places.len() - 1].to_vec();
            let curve_m = Some(self.path.length_m());
            let leg = Leg { via_m, curve_m, ..Leg::straight(LegKind::Turn, from_m, to_m, self.speed_mps) };
            let stretch = OneMovement::of(&leg);
            free.then_some((leg, stretch))
        };
        self.line.get_or_init(find).as_ref()
    }
}

/// Whether two strips at one height are joined by one straight link.
fn level_u_turn(before: &Leg, link: &Leg, after: &Leg) -> bool {
    let level = |leg: &Leg| leg.corners_m().all(|p| p.z == before.to_m.z);
    let strips = before.kind == LegKind::Strip && after.kind == LegKind::Strip;
    let straight = link.kind == LegKind::Link && link.via_m.is_empty();
    strips && straight && [before, link, after].into_iter().all(level)
}

fn first_way(leg: &Leg) -> Option<DVec2> {
    leg.pieces_m().find_map(|(a, b)| level(a, b))
}

fn last_way(leg: &Leg) -> Option<DVec2> {
    leg.pieces_m().filter_map(|(a, b)| level(a, b)).last()
}

fn course(at: DVec3, track: DVec2) -> Course {
    Course { x_m: at.x, y_m: at.y, angle_rad: track.to_angle() }
}
