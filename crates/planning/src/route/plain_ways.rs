//! Ways on which nothing stands in the way: the quick answer for most links of a pass.

use super::SAME_PLACE_M;
use super::airspace::{Airspace, LEVEL_M, within};
use crate::geometry::polygon::bounds;
use crate::ground::Obstacle;
use glam::{DVec2, DVec3, FloatExt};

/// Higher than this above the ground is off it.
const OFF_GROUND_M: f64 = 1.0;

/// What plain ways through an airspace have to keep clear of.
pub(super) struct PlainWays<'a> {
    airspace: Airspace<'a>,
    /// What stands where they run.
    near: Vec<&'a Obstacle>,
}

/// A way straight up or down, or on the level between such.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PlainWay {
    corners: [DVec3; 4],
    count: usize,
    /// Its greatest height above the ground right below, where that is known.
    pub(super) highest_m: Option<f64>,
}

impl PlainWay {
    /// Both ends included.
    pub(super) fn corners(&self) -> &[DVec3] {
        &self.corners[..self.count]
    }
}

impl<'a> PlainWays<'a> {
    /// For ways anywhere.
    pub(super) fn anywhere(airspace: Airspace<'a>) -> Self {
        PlainWays { airspace, near: airspace.site.obstacles.iter().collect() }
    }

    /// For ways inside the box about some places; what stands within `room_m` of it is near, too.
    pub(super) fn among(airspace: Airspace<'a>, places: &[DVec2], room_m: f64) -> Self {
        let (low, high) = bounds(places);
        let near = |solid: &&Obstacle| {
            let (middle_m, radius_m) = solid.growth().circle_m(airspace.clearance_m.max(room_m));
            (middle_m - middle_m.clamp(low, high)).abs().max_element() <= radius_m + SAME_PLACE_M
        };
        PlainWays { airspace, near: airspace.site.obstacles.iter().filter(near).collect() }
    }

    /// What stands where the ways run.
    pub(super) fn near(&self) -> &[&'a Obstacle] {
        &self.near
    }

    pub(super) fn airspace(&self) -> &Airspace<'a> {
        &self.airspace
    }

    /// The way from place to place that [`Airspace::way`] finds, where it is surely plain: no keep-out, nothing but what it
    /// passes over is near it, and it need not rise over the ground.
    pub(super) fn way(&self, from: DVec3, to: DVec3) -> Option<PlainWay> {
        if !self.airspace.site.fences.is_empty()
            || self.near.iter().any(|solid| self.matters(solid, from, to))
        {
            return None;
        }
        if from.truncate() == to.truncate() { self.upright(from, to) } else { self.level(from, to) }
    }

    /// Whether a solid may hold or cover an end of a way, or stand in it.
    fn matters(&self, solid: &Obstacle, from: DVec3, to: DVec3) -> bool {
        let (growth, clearance_m) = (solid.growth(), self.airspace.clearance_m);
        let (a, b) = (from.truncate(), to.truncate());
        if growth.surely_clear_of((a, b), clearance_m) {
            return false;
        }
        let holds = |at: DVec2| growth.may_hold(at) && growth.room_m(at, f64::MIN_POSITIVE) <= 0.0;
        let covers =
            |at: DVec2| solid.bottom_z_m >= from.z.min(to.z) && growth.room_m(at, clearance_m) < clearance_m;
        let stands = || {
            let passed_over = from.z.max(to.z) >= solid.top_z_m + clearance_m;
            !passed_over
                && !self.airspace.far(solid, &[a, b])
                && within(&growth.by(clearance_m), a, b).is_some()
        };
        holds(a) || covers(a) || a != b && (holds(b) || covers(b) || stands())
    }

    fn upright(&self, from: DVec3, to: DVec3) -> Option<PlainWay> {
        let ground_z_m = self.airspace.site.terrain.height_m(from.truncate());
        let plain = from.z != to.z && from.z.max(to.z) - ground_z_m >= OFF_GROUND_M;
        let highest_m = Some(top_m(from.z, to.z) - ground_z_m);
        plain.then_some(PlainWay { corners: [from, to, to, to], count: 2, highest_m })
    }

    fn level(&self, from: DVec3, to: DVec3) -> Option<PlainWay> {
        let (terrain, clearance_m) = (&self.airspace.site.terrain, self.airspace.clearance_m);
        let (a, b, z) = (from.truncate(), to.truncate(), from.z.max(to.z));
        let [start_z_m, end_z_m] = [a, b].map(|at| terrain.height_m(at));
        // what is kept from the ground is no more than that
        let kept_m = [from.z - start_z_m, to.z - end_z_m].into_iter().fold(clearance_m, |kept_m, above_m| {
            if above_m < OFF_GROUND_M { kept_m } else { kept_m.min(above_m) }
        });
        let mut highest_m = None;
        if z < terrain.ceiling_m() + kept_m {
            let (mut greatest_z_m, mut above_m) = (f64::NEG_INFINITY, top_m(from.z, z) - start_z_m);
            terrain.each_height(a, b, |share, ground_z_m| {
                greatest_z_m = greatest_z_m.max(ground_z_m);
                above_m = above_m.max(z.lerp(z, share) - ground_z_m);
            });
            if z < greatest_z_m + kept_m {
                return None;
            }
            highest_m = Some(above_m);
        }
        let (mut corners, mut count) = ([from; 4], 1);
        for (end, raised) in [(from, a.extend(z)), (to, b.extend(z))] {
            // an end that is at the level but for rounding is a corner itself
            let is_level = (end.z - z).abs() <= LEVEL_M;
            highest_m = highest_m.filter(|_| !is_level || end.z == z);
            let raised = if is_level { end } else { raised };
            if raised != corners[count - 1] {
                corners[count] = raised;
                count += 1;
            }
        }
        if to != corners[count - 1] {
            corners[count] = to;
            count += 1;
        }
        Some(PlainWay { corners, count, highest_m })
    }
}

/// The greater height of an upright leg's ends, with the rounding of a walk along it.
fn top_m(from_z: f64, to_z: f64) -> f64 {
    from_z.max(from_z.lerp(to_z, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::generated::{Lots, SIDE_M, site};

    /// Derived: on generated sites, from places over the ground, over roofs, beside walls and under a deck to others near by and
    /// right above, a way that is said to be plain is the one that is found without asking, whether all that stands is looked
    /// at or what stands about the places; it is as high above the ground as its legs, walked; and many ways are plain.
    #[test]
    fn a_plain_way_is_the_one_that_is_found() {
        let (mut plain, mut upright, mut known, mut other) = (0, 0, 0, 0);
        for seed in 0..24 {
            let site = site(seed, f64::from(seed % 4) * 4.0, seed as usize % 5 / 4);
            let airspace =
                Airspace { site: &site, clearance_m: [0.0, 2.0, 6.0, 12.0][seed as usize / 4 % 4] };
            let anywhere = PlainWays::anywhere(airspace);
            let mut drawn = Lots(seed + 90);
            for k in 0..400 {
                let at = drawn.place(SIDE_M);
                let by = (drawn.place(1.0) - 0.5) * [0.0, 6.0, 60.0, 200.0][k % 4];
                let mut z = |at: DVec2| site.terrain.height_m(at) + 50.0 * drawn.next() - 1.0;
                let (from, to) = (at.extend(z(at)), (at + by).extend(z(at + by)));
                let to = if k % 3 == 0 { to.with_z(from.z) } else { to };
                let found = anywhere.way(from, to);
                let among = PlainWays::among(airspace, &[at, at + by], 0.0).way(from, to);
                assert_eq!(among, found, "{seed} {k}");
                let way = airspace.way(from, to);
                let Some(found) = found else {
                    other += u32::from(way.is_some());
                    continue;
                };
                assert_eq!(way.as_deref(), Some(found.corners()), "{seed} {k}");
                plain += 1;
                upright += u32::from(found.count == 2 && by == DVec2::ZERO);
                let Some(highest_m) = found.highest_m else { continue };
                let walked_m = found.corners().windows(2).map(|pair| {
                    let leg = crate::route::Leg::straight(crate::route::LegKind::Link, pair[0], pair[1], 1.0);
                    crate::route::ground::above_ground_m(&leg, &site.terrain).1
                });
                let walked_m = walked_m.fold(f64::NEG_INFINITY, f64::max);
                assert_eq!(highest_m, walked_m, "{seed} {k}");
                known += 1;
            }
        }
        assert!(
            plain > 2000 && upright > 1000 && known > 1500 && other > 500,
            "{plain} {upright} {known} {other}"
        );
    }
}
