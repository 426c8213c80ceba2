//! Bounds on ways that need not be known: what no way between two places exceeds, found without looking for it.

use super::airspace::{Airspace, CLIMB_COST, LEVEL_M};
use super::level_paths::MOST_ROUND;
use crate::ground::Obstacle;
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};
use std::f64::consts::{PI, TAU};

/// Corners are passed a little outside; room for that, and for rounding.
const PASSED_M: f64 = 0.1;

/// A way that is gone on with may be so much longer than the one taken until all that it goes round is known.
pub(super) const GONE_ON_M: f64 = 1.0;

/// What [`Airspace::way`] between two places, which there is, does not exceed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WayBound {
    /// Of all its level legs.
    pub(crate) level_m: f64,
    /// No place of it is higher.
    pub(crate) top_z_m: f64,
    pub(crate) level_legs: usize,
    /// Of its turns from level leg to level leg, all together.
    pub(crate) turned_rad: f64,
}

impl<'a> Airspace<'a> {
    /// Bounds on the way between two places between which [`Airspace::is_open`].
    ///
    /// # References
    /// Derived: straight over whatever stands in between there is a way, at a height that is known; the way costs no more.
    /// It is level at no less than the higher end's height, so that what its climbs may save bounds its length. It bends at
    /// corners of what it goes round, at each by no more than that turns itself: by one turn round a convex ring at most.
    pub(crate) fn way_bound(&self, from: DVec3, to: DVec3, bends: &Bends) -> WayBound {
        let (line, lowest_z) = ((from.truncate(), to.truncate()), from.z.max(to.z));
        let top_z_m = self.top_over_m(line, lowest_z);
        let level_m = longest_m(line, top_z_m - lowest_z);
        let round = self.may_go_round(line, lowest_z, level_m + GONE_ON_M, bends);
        if round.solids == 0 {
            let level_m = longest_m(line, 0.0);
            return WayBound { level_m, top_z_m, level_legs: 1, turned_rad: 0.0 };
        }
        round.bound(level_m, top_z_m, bends.fences)
    }

    /// As [`Airspace::way_bound`], without looking at what stands where: no bound that is found by looking is wider.
    pub(crate) fn widest_bound(&self, from: DVec3, to: DVec3, bends: &Bends) -> WayBound {
        let (line, lowest_z) = ((from.truncate(), to.truncate()), from.z.max(to.z));
        let highest_z = self.ground_over_m(line).max(self.site.highest_z_m).max(lowest_z - self.clearance_m);
        let top_z_m = highest_z + self.clearance_m + LEVEL_M;
        bends.round.bound(longest_m(line, top_z_m - lowest_z), top_z_m, bends.fences)
    }

    /// Whether a place lies neither inside nor below something.
    pub(crate) fn is_free(&self, at: DVec3) -> bool {
        self.site.solid_at(at).is_none() && self.covering(at).is_none()
    }

    /// Whether there is a way between two places that are free and it is plain what bounds it: no keep-out lies on the
    /// straight line.
    pub(crate) fn is_open(&self, from: DVec3, to: DVec3) -> bool {
        self.site.fences.entered(from.truncate(), to.truncate()).is_none()
    }

    /// At how many places ways bend at most.
    pub(crate) fn bends(&self) -> Bends {
        let mut round = GoneRound::default();
        self.site.obstacles.iter().for_each(|obstacle| round.add(obstacle));
        Bends { round, fences: self.site.fences.most_bends() }
    }

    /// No less than the height of the way straight over everything.
    fn top_over_m(&self, (from, to): (DVec2, DVec2), lowest_z: f64) -> f64 {
        let ground_z = self.ground_over_m((from, to));
        let in_the_way = |o: &&Obstacle| self.may_block(o, lowest_z) && !self.far(o, &[from, to]);
        let tops = self.site.obstacles.iter().filter(in_the_way).map(|o| o.top_z_m);
        tops.fold(ground_z, f64::max).max(lowest_z - self.clearance_m) + self.clearance_m + LEVEL_M
    }

    /// No less than the ground below a straight line.
    pub(super) fn ground_over_m(&self, (from, to): (DVec2, DVec2)) -> f64 {
        match &self.site.terrain {
            plane @ Terrain::Plane { .. } => plane.height_m(from).max(plane.height_m(to)),
            grid @ Terrain::Grid(_) => grid.ceiling_m(),
        }
    }

    /// Whether an obstacle may stand in the way at some level no lower than that.
    fn may_block(&self, obstacle: &Obstacle, lowest_z: f64) -> bool {
        lowest_z < obstacle.top_z_m + self.clearance_m
    }

    /// No less than what a way no longer than that goes round, level at no less than a height; no more of it is looked for
    /// once that cannot matter.
    ///
    /// # References
    /// Derived: first what meets the straight line; then what meets a way round that, and so on. The shortest way round
    /// convex rings lies in the hull of its ends and of those that it bends at, so in the box about them along the line; a
    /// way no longer than that in the ellipse about its ends.
    fn may_go_round(
        &self,
        (from, to): (DVec2, DVec2),
        lowest_z: f64,
        most_m: f64,
        bends: &Bends,
    ) -> GoneRound {
        let along = (to - from).normalize_or(DVec2::X);
        let near = |o: &&Obstacle| {
            self.may_block(o, lowest_z)
                && !o.growth().out_of_reach((from, to), self.clearance_m, most_m + PASSED_M)
        };
        let seen = |o: &'a Obstacle| {
            let (middle, radius_m) = o.growth().circle_m(self.clearance_m);
            let at = middle - from;
            (o, DVec2::new(along.dot(at), along.perp_dot(at)), radius_m)
        };
        let mut open = Vec::with_capacity(self.site.obstacles.len());
        open.extend(self.site.obstacles.iter().filter(near).map(seen));
        let (mut low, mut high) = (DVec2::ZERO, DVec2::new(from.distance(to), 0.0));
        let mut round = GoneRound::default();
        loop {
            let before = round.solids;
            open.retain(|(o, middle, radius_m)| {
                let meets = |from: DVec2, to: DVec2| {
                    from.cmple(high + PASSED_M).all() && to.cmpge(low - PASSED_M).all()
                };
                if !meets(*middle - *radius_m, *middle + *radius_m) {
                    return true;
                }
                let about = o.growth().box_along(from, along, self.clearance_m);
                let is_met = meets(about.0, about.1);
                if is_met {
                    (low, high) = (low.min(about.0), high.max(about.1));
                    round.add(o);
                }
                !is_met
            });
            if round.solids == before || round.bends() >= bends.round.bends() {
                return round;
            }
        }
    }
}

/// The longest that the level legs of a way are that climbs by no more than that above its higher end.
fn longest_m((from, to): (DVec2, DVec2), climbed_m: f64) -> f64 {
    from.distance(to) + 2.0 * CLIMB_COST * climbed_m + LEVEL_M
}

/// At how many places ways through an airspace bend, and round what, at most.
#[derive(Debug)]
pub(crate) struct Bends {
    /// All that stands.
    round: GoneRound,
    /// At corners of keep-outs.
    fences: usize,
}

/// Solids that a way may go round.
#[derive(Debug, Default)]
struct GoneRound {
    solids: usize,
    /// Of all of them, grown.
    corners: usize,
    /// Of the one that has most.
    most_corners: usize,
}

impl GoneRound {
    fn add(&mut self, obstacle: &Obstacle) {
        let corners = obstacle.growth().corners();
        self.solids += 1;
        self.corners += corners;
        self.most_corners = self.most_corners.max(corners);
    }

    /// At how many corners of them a way bends at most.
    fn bends(&self) -> usize {
        self.corners.min(MOST_ROUND * self.most_corners)
    }

    fn bound(&self, level_m: f64, top_z_m: f64, fences: usize) -> WayBound {
        WayBound {
            level_m,
            top_z_m,
            level_legs: 1 + self.bends() + fences,
            turned_rad: TAU * self.solids.min(MOST_ROUND) as f64 + PI * fences as f64,
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::base::Id;
    use crate::geometry::TerrainGrid;
    use crate::ground::SiteOutline;
    use crate::route::level_paths::LevelPaths;
    use crate::scenario::{KeepOut, Site, Structure, StructureKind};
    use std::sync::Arc;

    /// Numbers from 0 to 1 one after the other by a rule that has no pattern to the eye.
    pub(crate) struct Lots(pub(crate) u32);

    impl Lots {
        pub(crate) fn next(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(self.0 >> 8) / f64::from(1 << 24)
        }

        pub(crate) fn place(&mut self, side_m: f64) -> DVec2 {
            DVec2::new(self.next(), self.next()) * side_m
        }
    }

    pub(crate) const SIDE_M: f64 = 320.0;

    /// Blocks, turned and of several heights, and a deck on waves of so many metres; a keep-out where one is asked for.
    pub(crate) fn site(seed: u32, waves_m: f64, keep_outs: usize) -> SiteOutline {
        let mut drawn = Lots(seed * 7919 + 13);
        let node = |k: usize| {
            let (x, y) = ((k % 41) as f64, (k / 41) as f64);
            waves_m * ((x * 0.4).sin() * (y * 0.3).cos() + 0.5 * (x * 0.9 + y).sin())
        };
        let heights: Vec<f64> = (0..41 * 41).map(node).collect();
        let (from, step) = (DVec2::splat(-40.0), DVec2::splat(10.0));
        let grid = TerrainGrid::from_heights_m(from, step, (41, 41), &heights).expect("within the limits");
        let structures = (0..9).map(|k| {
            let middle = DVec2::new(f64::from(k % 3), f64::from(k / 3)) * 105.0 + 40.0 + drawn.place(30.0);
            let (half, turn) =
                (DVec2::new(4.0, 4.0) + drawn.place(14.0), DVec2::from_angle(drawn.next() * 6.0));
            let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
            let corner = |c| middle + turn.rotate(DVec2::from(c) * half);
            let kind = match k {
                4 => StructureKind::Deck { soffit_m: 14.0, top_m: 16.0, piers: Vec::new() },
                _ => StructureKind::Extrusion { height_m: 4.0 + 40.0 * drawn.next() },
            };
            Structure { id: Id(k), name: format!("S{k}"), footprint_m: corners.map(corner).to_vec(), kind }
        });
        let structures = structures.collect();
        let ring = |low: DVec2, size: DVec2| {
            [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|c| low + DVec2::from(c) * size).to_vec()
        };
        let keep_out = |k| KeepOut {
            name: format!("K{k}"),
            outline_m: ring(DVec2::new(70.0, 110.0), DVec2::new(20.0, 90.0)),
        };
        SiteOutline::new(&Site {
            name: String::new(),
            origin: None,
            boundary_m: ring(DVec2::ZERO, DVec2::splat(SIDE_M)),
            take_off_m: DVec2::new(5.0, 5.0),
            terrain: Terrain::Grid(Arc::new(grid)),
            structures,
            typical_building: None,
            keep_outs: (0..keep_outs).map(keep_out).collect(),
            control_points: Vec::new(),
            sample_spacing_m: None,
        })
        .expect("sound")
    }

    /// Derived: a way does not depend on which others were looked for before: on generated sites the ways home from places over
    /// each other, in no order of heights, and the ways back, are to the last bit those that are found alone.
    #[test]
    fn ways_that_share_what_was_found_out_are_those_found_alone() {
        let (mut found, mut bent, mut raised) = (0, 0, 0);
        for seed in 0..16 {
            let site = site(seed, f64::from(seed % 4) * 4.0, seed as usize % 4 / 3);
            let mut drawn = Lots(seed + 50);
            let airspace = Airspace { site: &site, clearance_m: [2.0, 6.0, 12.0][seed as usize % 3] };
            let place = |at: DVec2, above_m: f64| at.extend(site.terrain.height_m(at) + above_m);
            let home = place(drawn.place(SIDE_M), 0.0);
            let mut paths = LevelPaths::default();
            let mut homeward = airspace.paths_about(home.truncate());
            for at in [(); 12].map(|()| drawn.place(SIDE_M)) {
                for at in [(); 6].map(|()| place(at, 50.0 * drawn.next())) {
                    for (from, to) in [(at, home), (home, at)] {
                        let alone = airspace.way(from, to);
                        for paths in [&mut paths, &mut homeward] {
                            assert_eq!(airspace.way_by(from, to, paths), alone, "{seed}: {from} {to}");
                        }
                        let Some(way) = alone else { continue };
                        found += 1;
                        bent += u32::from(way.len() > 4);
                        raised += u32::from(way.iter().any(|p| p.z > from.z.max(to.z) + 1.0));
                    }
                }
            }
        }
        assert!(found > 1500 && bent > 300 && raised > 300, "{found} {bent} {raised}");
    }

    /// Derived: nothing that decides on a way tells its ends apart: on generated sites the way back is the way there, the other
    /// way round, but for rounding; where both sides are equally long they may differ, which does not happen here.
    #[test]
    fn ways_back_are_ways_there_the_other_way_round() {
        let (mut found, mut bent, mut raised) = (0, 0, 0);
        for seed in 0..24 {
            let site = site(seed, f64::from(seed % 4) * 4.0, seed as usize % 4 / 3);
            let mut drawn = Lots(seed + 900);
            let airspace = Airspace { site: &site, clearance_m: [2.0, 6.0, 12.0][seed as usize % 3] };
            for _ in 0..30 {
                let [from, to] = [40.0, 30.0 * f64::from(seed % 2)].map(|above_m| {
                    let at = drawn.place(SIDE_M);
                    at.extend(site.terrain.height_m(at) + above_m * drawn.next())
                });
                let there = airspace.way(from, to);
                let back = airspace.way(to, from).map(|way| way.into_iter().rev().collect::<Vec<_>>());
                assert_eq!(there.is_some(), back.is_some(), "{seed}: {from} {to}");
                let Some((there, back)) = there.zip(back) else { continue };
                // rounding of heights
                let is_near = |(a, b): (&DVec3, &DVec3)| a.distance(*b) < 1e-6;
                let is_same = there.len() == back.len() && there.iter().zip(&back).all(is_near);
                assert!(is_same, "{seed}: {there:?} {back:?}");
                found += 1;
                bent += u32::from(there.len() > 4);
                raised += u32::from(there.iter().any(|p| p.z > from.z.max(to.z) + 1.0));
            }
        }
        assert!(found > 500 && bent > 80 && raised > 80, "{found} {bent} {raised}");
    }

    /// Derived: a block that reaches into the straight line by half a metre, clearance included, counts for the way over it
    /// and for the ones round it; one that stands half a metre off it, for nothing that is gone round, and one that stands
    /// off by half a clearance more, for nothing.
    #[test]
    fn what_is_only_just_in_the_way_counts() {
        for (aside_m, in_the_way, near) in [(9.5, true, true), (10.5, false, true), (15.5, false, false)] {
            let mut site = site(1, 0.0, 0);
            let ring = [(140.0, 20.0 + aside_m), (160.0, 20.0 + aside_m), (160.0, 60.0), (140.0, 60.0)];
            site.obstacles = vec![Obstacle::new(0, ring.map(DVec2::from).to_vec(), f64::NEG_INFINITY, 30.0)];
            site.highest_z_m = 30.0;
            let airspace = Airspace { site: &site, clearance_m: 10.0 };
            let [from, to] = [DVec3::new(20.0, 20.0, 18.0), DVec3::new(280.0, 20.0, 18.0)];
            assert!(airspace.is_free(from) && airspace.is_free(to) && airspace.is_open(from, to));
            let bound = airspace.way_bound(from, to, &airspace.bends());
            let way = airspace.way(from, to).expect("there is one");
            assert_eq!(way.len() > 2, in_the_way, "{way:?}");
            assert_eq!(bound.level_legs > 1, in_the_way, "{bound:?}");
            assert_eq!(bound.top_z_m >= 40.0, near, "{bound:?}");
        }
    }
}
