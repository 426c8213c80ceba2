//! Where a level line may be flown.

use super::SAME_PLACE_M;
use super::airspace::lies_far;
use super::sections::{LEAST_M, in_keep_outs, inside};
use crate::geometry::polygon::{merged, without};
use crate::ground::{Obstacle, SiteOutline};
use glam::DVec2;

/// A straight line beside which things stand: what is found once for all levels at which it may be flown.
pub(super) struct FreeLine {
    whole: (f64, f64),
    solids: Vec<Shut>,
    keep_outs: Vec<(f64, f64)>,
}

/// What a solid with a clearance round it shuts of a line, at the levels between two.
struct Shut {
    above_z_m: f64,
    below_z_m: f64,
    parts: Vec<(f64, f64)>,
}

impl FreeLine {
    /// From one place to another, for levels from a lowest to a highest one, outside the keep-outs and farther than a
    /// clearance from every structure that reaches within it of the level: of `near`, which has all that are so near.
    pub(super) fn new(
        site: &SiteOutline,
        near: &[&Obstacle],
        (a, b): (DVec2, DVec2),
        (low_z_m, high_z_m): (f64, f64),
        clearance_m: f64,
    ) -> Self {
        // A stand-off equal to the clearance keeps it.
        let kept_m = clearance_m * 0.999;
        let shut = |o: &&Obstacle| {
            let (above_z_m, below_z_m) = (o.bottom_z_m - kept_m, o.top_z_m + kept_m);
            let in_reach = high_z_m > above_z_m && low_z_m < below_z_m;
            let is_near = in_reach
                && !o.growth().surely_clear_of((a, b), kept_m + SAME_PLACE_M)
                && !lies_far(&o.ring_m, kept_m + SAME_PLACE_M, a, b);
            is_near.then(|| Shut { above_z_m, below_z_m, parts: inside(&o.growth().by(kept_m), a, b) })
        };
        let solids = near.iter().filter_map(shut).filter(|shut| !shut.parts.is_empty()).collect();
        FreeLine { whole: (0.0, a.distance(b)), solids, keep_outs: in_keep_outs(site, a, b) }
    }

    /// What is free of it at a level: from and to in metres from its start.
    pub(super) fn at(&self, level_z_m: f64) -> Vec<(f64, f64)> {
        let at_level = |shut: &&Shut| level_z_m > shut.above_z_m && level_z_m < shut.below_z_m;
        let of_solids = self.solids.iter().filter(at_level).flat_map(|shut| &shut.parts);
        let shut: Vec<(f64, f64)> = of_solids.chain(&self.keep_outs).copied().collect();
        let mut free = if shut.is_empty() { vec![self.whole] } else { without(&[self.whole], &merged(shut)) };
        free.retain(|section| section.1 - section.0 >= LEAST_M);
        free
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::airspace::Airspace;
    use crate::route::generated::{Lots, SIDE_M, site};
    use crate::route::plain_ways::PlainWays;

    /// The same of one level by itself, every obstacle at the level looked at.
    fn free_by_itself(
        site: &SiteOutline,
        (a, b): (DVec2, DVec2),
        z_m: f64,
        clearance_m: f64,
    ) -> Vec<(f64, f64)> {
        let kept_m = clearance_m * 0.999;
        let at_level = |o: &&Obstacle| z_m > o.bottom_z_m - kept_m && z_m < o.top_z_m + kept_m;
        let rings = site.obstacles.iter().filter(at_level).map(|o| o.growth().by(kept_m));
        let mut shut: Vec<(f64, f64)> = rings.flat_map(|ring| inside(&ring, a, b)).collect();
        shut.extend(site.keep_outs.iter().flat_map(|keep_out| inside(&keep_out.outline_m, a, b)));
        let free = without(&[(0.0, a.distance(b))], &merged(shut));
        free.into_iter().filter(|section| section.1 - section.0 >= LEAST_M).collect()
    }

    /// Derived: on generated sites what is found once for a line and all its levels leaves free at each of them what is found for
    /// that level by itself, to the last bit; of lines that are free, cut and shut there are many.
    #[test]
    fn a_line_is_as_free_at_a_level_as_by_itself() {
        let (mut whole, mut cut, mut shut) = (0, 0, 0);
        for seed in 0..24 {
            let (site, mut drawn) =
                (site(seed, f64::from(seed % 3) * 4.0, seed as usize % 4 / 3), Lots(seed + 7));
            for _ in 0..60 {
                let from = drawn.place(SIDE_M);
                let ends = (from, from + (drawn.place(1.0) - 0.5) * 120.0);
                let (low_z_m, clearance_m) = (20.0 * drawn.next() - 5.0, 12.0 * drawn.next());
                let levels_z_m: Vec<f64> = (0..6).map(|k| low_z_m + 6.0 * f64::from(k)).collect();
                let airspace = Airspace { site: &site, clearance_m: 0.0 };
                let ways = PlainWays::among(airspace, &[ends.0, ends.1], clearance_m);
                let line = FreeLine::new(&site, ways.near(), ends, (low_z_m, levels_z_m[5]), clearance_m);
                for z_m in levels_z_m {
                    let free = line.at(z_m);
                    assert_eq!(free, free_by_itself(&site, ends, z_m, clearance_m), "{seed} {ends:?} {z_m}");
                    match free.as_slice() {
                        [] => shut += 1,
                        [all] if *all == (0.0, ends.0.distance(ends.1)) => whole += 1,
                        _ => cut += 1,
                    }
                }
            }
        }
        assert!(whole > 1000 && cut > 1000 && shut > 20, "{whole} {cut} {shut}");
    }
}
