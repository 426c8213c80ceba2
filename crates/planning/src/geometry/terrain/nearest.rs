//! How far a place in the air is from the closest point of the ground.

use crate::base::number::{whole, whole_of_few};
use crate::geometry::terrain::TerrainGrid;
use glam::{DVec2, DVec3};
use std::ops::Range;

/// Cells of a block's side.
const BLOCK: usize = 4;

/// Highest node of every block of cells, its edges included, row by row from the south.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Peaks {
    columns: usize,
    heights_mm: Vec<i32>,
}

impl Peaks {
    pub(super) fn new(columns: usize, rows: usize, heights_mm: &[i32]) -> Self {
        let (across, up) = ((columns - 1).div_ceil(BLOCK), (rows - 1).div_ceil(BLOCK));
        let mut peaks = vec![i32::MIN; across * up];
        for (r, row) in heights_mm.chunks(columns).enumerate() {
            for (c, &mm) in row.iter().enumerate() {
                // a node on the edge of blocks belongs to all of them
                for y in r.saturating_sub(1) / BLOCK..=(r / BLOCK).min(up - 1) {
                    for x in c.saturating_sub(1) / BLOCK..=(c / BLOCK).min(across - 1) {
                        let peak = &mut peaks[y * across + x];
                        *peak = (*peak).max(mm);
                    }
                }
            }
        }
        Peaks { columns: across, heights_mm: peaks }
    }

    /// No node of the cells between two, both included, is higher.
    pub(super) fn top_of_blocks_m(&self, first: DVec2, last: DVec2) -> f64 {
        let block = |cell: f64| whole_of_few(cell) / BLOCK;
        let mut top = i32::MIN;
        for row in block(first.y)..=block(last.y) {
            let of_row = &self.heights_mm[row * self.columns..];
            let blocks = &of_row[block(first.x)..=block(last.x)];
            top = blocks.iter().fold(top, |top, mm| top.max(*mm));
        }
        f64::from(top) / 1000.0
    }

    /// Height of the highest of some nodes, whole blocks at once.
    pub(super) fn highest_mm<'g>(
        &self,
        (columns, rows): (Range<usize>, Range<usize>),
        row_mm: impl Fn(usize) -> &'g [i32],
    ) -> i32 {
        let whole_blocks = |nodes: &Range<usize>| {
            let (first, last) = (nodes.start.div_ceil(BLOCK), nodes.end.saturating_sub(1) / BLOCK);
            first..last.max(first)
        };
        let (across, up) = (whole_blocks(&columns), whole_blocks(&rows));
        let mut highest = i32::MIN;
        for row in up.clone() {
            let of_row = &self.heights_mm[row * self.columns..][across.clone()];
            highest = of_row.iter().fold(highest, |most, mm| most.max(*mm));
        }
        // Nodes beside the whole blocks; those on their edges belong to them.
        let beside = !across.is_empty() && !up.is_empty();
        let (from, to) = (across.start * BLOCK, across.end * BLOCK);
        let highest_of =
            |nodes_mm: &[i32], so_far: i32| nodes_mm.iter().fold(so_far, |most, mm| most.max(*mm));
        for row in rows {
            let of_row = row_mm(row);
            if beside && (up.start * BLOCK..=up.end * BLOCK).contains(&row) {
                highest = highest_of(&of_row[columns.start..from], highest);
                highest = highest_of(&of_row[to + 1..columns.end], highest);
            } else {
                highest = highest_of(&of_row[columns.clone()], highest);
            }
        }
        highest
    }
}

impl TerrainGrid {
    /// Distance from a place above the ground to the closest point of the ground.
    ///
    /// Only blocks of cells whose highest node lies nearer than the ground right below are looked into.
    ///
    /// # Units
    /// - `enough_m`: a distance at or below which the exact one does not matter: then the result is some distance from it
    ///   down to the closest
    /// - returns: metres; 0 below the ground
    ///
    /// # Accuracy
    /// Exact for the grid's triangles; beyond its edge only the ground right below is known.
    pub(crate) fn closest_m(&self, at: DVec3, enough_m: f64) -> f64 {
        let mut best_m = (at.z - self.height_m(at.truncate())).max(0.0);
        let (low, high) = (self.lattice(at.truncate() - best_m), self.lattice(at.truncate() + best_m));
        let blocks =
            DVec2::new(self.peaks.columns as f64, (self.peaks.heights_mm.len() / self.peaks.columns) as f64);
        let first = (low / BLOCK as f64).floor().clamp(DVec2::ZERO, blocks - 1.0);
        let last = (high / BLOCK as f64).floor().clamp(DVec2::ZERO, blocks - 1.0);
        let (columns, rows) = (whole(first.x)..=whole(last.x), whole(first.y)..=whole(last.y));
        let all = || rows.clone().flat_map(|row| columns.clone().map(move |column| (column, row)));
        // The block that may come nearest first: after it few are left.
        let mut start = (f64::INFINITY, (0, 0));
        for block in all() {
            let bound_m2 = self.block_bound_m2(at, block);
            start = if bound_m2 < start.0 { (bound_m2, block) } else { start };
        }
        let start = start.1;
        best_m = self.closest_in_block_m(at, start, best_m);
        for block in all() {
            if best_m <= enough_m {
                return best_m;
            }
            if block != start && self.block_bound_m2(at, block) < best_m * best_m {
                best_m = self.closest_in_block_m(at, block, best_m);
            }
        }
        best_m
    }

    /// Square of the distance from a place to the box about a block and all that is below it: no ground of it is nearer.
    fn block_bound_m2(&self, at: DVec3, (column, row): (usize, usize)) -> f64 {
        let size = self.spacing_m * BLOCK as f64;
        let low = self.south_west_m + size * DVec2::new(column as f64, row as f64);
        let aside = at.truncate() - at.truncate().clamp(low, low + size);
        let peak_m = f64::from(self.peaks.heights_mm[row * self.peaks.columns + column]) / 1000.0;
        let above_m = (at.z - peak_m).max(0.0);
        aside.length_squared() + above_m * above_m
    }

    fn closest_in_block_m(&self, at: DVec3, (column, row): (usize, usize), best_m: f64) -> f64 {
        let node = |c: usize, r: usize| {
            let place = self.south_west_m + self.spacing_m * DVec2::new(c as f64, r as f64);
            place.extend(self.node_m(c, r))
        };
        let rows = row * BLOCK..((row + 1) * BLOCK).min(self.rows - 1);
        let columns = column * BLOCK..((column + 1) * BLOCK).min(self.columns - 1);
        let mut best_m = best_m;
        for r in rows {
            for c in columns.clone() {
                let (sw, ne) = (node(c, r), node(c + 1, r + 1));
                let south_east = from_triangle_m(at, [sw, node(c + 1, r), ne]);
                let north_west = from_triangle_m(at, [sw, ne, node(c, r + 1)]);
                best_m = best_m.min(south_east).min(north_west);
            }
        }
        best_m
    }
}

/// Distance from a place to a triangle: to its plane where the foot of the perpendicular lies inside, else to the nearest
/// side.
fn from_triangle_m(at: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let normal = (b - a).cross(c - a);
    let inside = |p: DVec3, q: DVec3| (q - p).cross(at - p).dot(normal) >= 0.0;
    if inside(a, b) && inside(b, c) && inside(c, a) {
        return (at - a).dot(normal).abs() / normal.length();
    }
    let side_m = |p: DVec3, q: DVec3| {
        let share = ((at - p).dot(q - p) / (q - p).length_squared()).clamp(0.0, 1.0);
        at.distance(p.lerp(q, share))
    };
    side_m(a, b).min(side_m(b, c)).min(side_m(c, a))
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use crate::geometry::terrain::nearest::*;
    use proptest::prelude::*;

    /// Derived: check value 12.7: on a slope of 45°, 120 m above the ground is 84.853 m from the closest point of it.
    #[test]
    fn on_a_slope_the_closest_point_lies_uphill() {
        let heights: Vec<f64> = (0..41 * 41).map(|k| f64::from(k % 41) * 10.0).collect();
        let grid = TerrainGrid::from_heights_m(DVec2::splat(-200.0), DVec2::splat(10.0), (41, 41), &heights)
            .unwrap();
        let at = DVec2::ZERO.extend(grid.height_m(DVec2::ZERO) + 120.0);
        assert!((grid.closest_m(at, 0.0) - 84.853).abs() < 5e-4); // printed to three decimals
    }

    proptest! {
        /// Derived: the closest of all places of a fine lattice on every triangle is no nearer, and no farther than the
        /// lattice is wide.
        #[test]
        fn the_closest_point_is_the_closest(x in 0.0..40.0_f64, y in 0.0..30.0_f64, above_m in 0.1..25.0_f64) {
            let (columns, rows) = (21, 16);
            let node = |k: usize| {
                let (x, y) = ((k % columns) as f64, (k / columns) as f64);
                9.0 * (x * 0.7).sin() * (y * 0.5).cos()
            };
            let heights: Vec<f64> = (0..columns * rows).map(node).collect();
            let grid =
                TerrainGrid::from_heights_m(DVec2::ZERO, DVec2::splat(2.0), (columns, rows), &heights).unwrap();
            let at = DVec2::new(x, y).extend(grid.height_m(DVec2::new(x, y)) + above_m);
            let found_m = grid.closest_m(at, 0.0);
            let step_m = 0.2;
            let places = (0..=200).flat_map(|c| (0..=150).map(move |r| DVec2::new(f64::from(c), f64::from(r)) * step_m));
            let least_m = places.map(|p| p.extend(grid.height_m(p)).distance(at)).fold(f64::INFINITY, f64::min);
            prop_assert!(found_m <= least_m + 1e-9, "{found_m} {least_m}");
            // half the diagonal of the lattice on slopes of up to 4
            prop_assert!(found_m >= least_m - 0.15 * 4.2, "{found_m} {least_m}");
            // with a distance that is enough, the answer is on the same side of it
            prop_assert_eq!(grid.closest_m(at, 5.0) <= 5.0, found_m <= 5.0);
        }
    }
}
