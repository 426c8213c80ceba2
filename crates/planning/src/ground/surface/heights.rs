//! Uneven ground laid out for rays: a pyramid of greatest heights, horizons of tiles, and the walk of one ray.
//!
//! Most rays are steep and need no walk: for each tile and direction there is a bound on how steeply the ground can
//! rise before it. Near the tile that is its steepest triangle, farther off the greatest heights from the pyramid.

use crate::base::number::{narrow, whole};
use crate::geometry::TerrainGrid;
use crate::ground::surface::horizon::{Horizon, QUARTER, SECTORS};
use crate::ground::surface::tile::Tile;
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Growth of the rings in which far ground is looked at.
const RING_GROWTH: f64 = 1.15;

/// How often the end of a ray's walk is drawn nearer by the ground that is left on it.
const NEARER_ENDS: u32 = 2;

/// Room for rounding, in metres and as a slope.
const SLACK: f64 = 1e-3;

/// The unit direction at the start of a sector.
fn sector_start(sector: usize) -> DVec2 {
    let along = (sector % SECTORS) as f64 / QUARTER;
    let (quarter, part) = (along.floor(), along.fract());
    let first = DVec2::new(1.0 - part, part).normalize();
    let turned = [first, first.perp(), -first, -first.perp()];
    turned[whole(quarter) % 4]
}

/// Greatest heights of blocks of cells.
#[derive(Debug, Clone, PartialEq)]
struct BlockHeights {
    columns: usize,
    rows: usize,
    top_mm: Vec<i32>,
}

/// A terrain grid laid out for rays.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Heights {
    pub(super) grid: Arc<TerrainGrid>,
    /// The first level has one entry for each cell, each further one for each two by two of the one before.
    levels: Vec<BlockHeights>,
    /// Greatest height of all.
    pub(super) top_mm: i32,
}

/// The layout of uneven ground; nothing for a plane.
pub(crate) fn heights_of(terrain: &Terrain) -> Option<Arc<Heights>> {
    match terrain {
        Terrain::Plane { .. } => None,
        Terrain::Grid(grid) => Some(Arc::new(Heights::new(grid))),
    }
}

impl Heights {
    fn new(grid: &Arc<TerrainGrid>) -> Heights {
        let (columns, rows) = grid.size();
        let nodes = grid.heights_mm();
        let cell = |k: usize| {
            let at = k / (columns - 1) * columns + k % (columns - 1);
            nodes[at].max(nodes[at + 1]).max(nodes[at + columns]).max(nodes[at + columns + 1])
        };
        let count = (columns - 1) * (rows - 1);
        let mut levels = vec![BlockHeights {
            columns: columns - 1,
            rows: rows - 1,
            top_mm: (0..count).map(cell).collect(),
        }];
        while let Some(coarser) =
            levels.last().filter(|l| l.columns.max(l.rows) > 1).map(BlockHeights::coarser)
        {
            levels.push(coarser);
        }
        let top_mm = nodes.iter().copied().max().unwrap_or(i32::MIN);
        Heights { grid: Arc::clone(grid), levels, top_mm }
    }

    /// Whether a circle, seen from above, lies on the grid.
    pub(crate) fn holds(&self, centre_m: DVec2, radius_m: f64) -> bool {
        let (low, high) = (self.grid.south_west_m(), self.grid.north_east_m());
        (centre_m - radius_m).cmpge(low).all() && (centre_m + radius_m).cmple(high).all()
    }

    /// Whether a place is above ground or beyond the grid.
    pub(crate) fn free(&self, at_m: DVec3) -> bool {
        at_m.z * 1000.0 > f64::from(self.top_mm)
            || !self.grid.covers(at_m.truncate())
            || at_m.z > self.grid.height_m(at_m.truncate())
    }

    /// Memory it takes beside the grid, about.
    pub(crate) fn bytes(&self) -> usize {
        self.levels.iter().map(|level| level.top_mm.len() * size_of::<i32>()).sum()
    }

    /// Greatest height in the cells that a box touches; nothing where it touches none.
    fn top_in_m(&self, low_m: DVec2, high_m: DVec2) -> Option<f64> {
        let cells = DVec2::new(self.levels[0].columns as f64, self.levels[0].rows as f64);
        let (from, step) = (self.grid.south_west_m(), self.grid.spacing_m());
        let (low, high) = (((low_m - from) / step).floor(), ((high_m - from) / step).floor());
        if high.cmplt(DVec2::ZERO).any() || low.cmpge(cells).any() {
            return None;
        }
        let (low, high) = (low.max(DVec2::ZERO), high.min(cells - 1.0));
        let top = self.top_of_cells((whole(low.x), whole(high.x)), (whole(low.y), whole(high.y)));
        Some(f64::from(top) / 1000.0)
    }

    /// Greatest height in millimetres in some columns and rows of cells, ends included.
    pub(super) fn top_of_cells(&self, x: (usize, usize), y: (usize, usize)) -> i32 {
        let widest = (x.1 - x.0).max(y.1 - y.0) + 1;
        // at most four blocks a side
        let level = ((widest / 3).next_power_of_two().trailing_zeros() as usize).min(self.levels.len() - 1);
        let blocks = &self.levels[level];
        let mut top = i32::MIN;
        for row in y.0 >> level..=y.1 >> level {
            let line = row * blocks.columns;
            for &mm in &blocks.top_mm[line + (x.0 >> level)..=line + (x.1 >> level)] {
                top = top.max(mm);
            }
        }
        top
    }

    /// How steeply the ground can hide the samples of a tile.
    pub(crate) fn horizon(&self, tile: &Tile) -> Horizon {
        let (centre, radius_m) = (tile.centre_m.truncate(), plan_radius_m(tile) + 0.02);
        let lowest = tile.z_m.iter().copied().fold(f32::INFINITY, f32::min);
        let low_z_m = tile.centre_m.z + f64::from(lowest) - 0.02;
        let near_m = 2.0 * radius_m + self.grid.spacing_m().max_element();
        let slopes = self.steepest_near(centre, radius_m + near_m);
        let steepest = std::array::from_fn(|sector| {
            let (left, right) = (sector_start(sector), sector_start(sector + 1));
            let half_cosine = left.dot((left + right).normalize());
            let near = slopes[sector].max(slopes[(sector + 1) % SECTORS]);
            let near = if near > 0.0 { near / half_cosine } else { 0.0 };
            let wedge = Wedge { centre, radius_m, low_z_m, sides: [left, right], half_cosine };
            narrow(self.steepest_far(&wedge, near_m, near) + SLACK)
        });
        Horizon { overall: steepest.iter().copied().fold(0.0, f32::max), steepest }
    }

    /// Steepest rise of the triangles within a distance, towards the start of each sector.
    fn steepest_near(&self, centre: DVec2, within_m: f64) -> [f64; SECTORS] {
        let directions: [DVec2; SECTORS] = std::array::from_fn(sector_start);
        let mut steepest = [0.0_f64; SECTORS];
        let (columns, _) = self.grid.size();
        let (from, step) = (self.grid.south_west_m(), self.grid.spacing_m());
        let cells = DVec2::new(self.levels[0].columns as f64, self.levels[0].rows as f64);
        let (low, high) = ((centre - within_m - from) / step, (centre + within_m - from) / step);
        let (low, high) = (low.floor().max(DVec2::ZERO), (high.floor() + 1.0).min(cells));
        let nodes = self.grid.heights_mm();
        for row in whole(low.y)..whole(high.y) {
            for column in whole(low.x)..whole(high.x) {
                let at = row * columns + column;
                let [sw, se, nw, ne] =
                    [at, at + 1, at + columns, at + columns + 1].map(|k| f64::from(nodes[k]) / 1000.0);
                for slope in [DVec2::new(se - sw, ne - se) / step, DVec2::new(ne - nw, nw - sw) / step] {
                    for (steepest, towards) in steepest.iter_mut().zip(&directions) {
                        let rise = slope.x * towards.x + slope.y * towards.y;
                        *steepest = if rise > *steepest { rise } else { *steepest };
                    }
                }
            }
        }
        steepest
    }

    /// The steeper of a bound and what ground beyond a distance can hide in one direction.
    fn steepest_far(&self, wedge: &Wedge, from_m: f64, least: f64) -> f64 {
        let (mut steepest, mut near_m) = (least, from_m);
        let rise_m = f64::from(self.top_mm) / 1000.0 - wedge.low_z_m;
        let (low, high) = (self.grid.south_west_m(), self.grid.north_east_m());
        let reach_m = wedge.centre.distance(low.min(wedge.centre))
            + low.distance(high)
            + wedge.centre.distance(high.max(wedge.centre));
        while near_m < reach_m && rise_m > steepest * near_m {
            let far_m = near_m * RING_GROWTH;
            let (box_low, box_high) = wedge.bounds(near_m, far_m);
            if let Some(top_m) = self.top_in_m(box_low, box_high) {
                steepest = steepest.max((top_m - wedge.low_z_m) / near_m);
            }
            near_m = far_m;
        }
        steepest
    }

    /// A place in steps of the lattice and millimetres.
    pub(crate) fn scaled(&self, at_m: DVec3) -> DVec3 {
        let place = (at_m.truncate() - self.grid.south_west_m()) / self.grid.spacing_m();
        place.extend(at_m.z * 1000.0)
    }

    /// Whether the ground meets the segment between two places, both given by [`Heights::scaled`]: whether it passes
    /// from one side of the ground to the other on the grid. `above` says whether the first place is above ground.
    ///
    /// Between the lines of the lattice and the diagonals of its cells the ground is straight, so the three families
    /// of lines are looked at one after the other, each from the first place outward.
    pub(crate) fn meets(&self, start: DVec3, end: DVec3, above: Side) -> bool {
        let Some(mut ray) = Ray::on_grid(self, start, end) else { return false };
        // a ray that comes from beyond the grid begins at its edge
        let above = if ray.from > 0.0 { ray.above(ray.from) } else { above == Side::Above };
        let reach = ray.to;
        if ray.way.z > 0.0 {
            ray.end_above(f64::from(self.top_mm));
            ray.end_above_what_is_near(self);
        }
        // where the walk ends above what is near, so does the ray
        let ends_above = if ray.to < reach { true } else { ray.above(ray.to) };
        ends_above != above
            || ray.crosses_columns(above)
            || ray.crosses_rows(above)
            || ray.crosses_diagonals(above)
    }
}

/// On which side of the ground a place lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// In the air.
    Above,
    /// In the ground or on it.
    Below,
}

impl BlockHeights {
    fn coarser(&self) -> BlockHeights {
        let (columns, rows) = (self.columns.div_ceil(2), self.rows.div_ceil(2));
        let top = |k: usize| {
            let (column, row) = (k % columns * 2, k / columns * 2);
            let across = column..(column + 2).min(self.columns);
            let up = row..(row + 2).min(self.rows);
            let all = up.flat_map(|r| across.clone().map(move |c| self.top_mm[r * self.columns + c]));
            all.max().unwrap_or(i32::MIN)
        };
        BlockHeights { columns, rows, top_mm: (0..columns * rows).map(top).collect() }
    }
}

/// No sample of a tile is farther from its centre, seen from above.
fn plan_radius_m(tile: &Tile) -> f64 {
    let squares = tile.x_m.iter().zip(&tile.y_m).map(|(x, y)| x * x + y * y);
    f64::from(squares.fold(0.0, f32::max)).sqrt()
}

/// Where rays of one sector can be that start within a circle.
struct Wedge {
    centre: DVec2,
    radius_m: f64,
    low_z_m: f64,
    sides: [DVec2; 2],
    half_cosine: f64,
}

impl Wedge {
    /// A box round the part of the wedge between two distances from the start of the ray.
    fn bounds(&self, near_m: f64, far_m: f64) -> (DVec2, DVec2) {
        let [left, right] = self.sides;
        let corners = [left * near_m, right * near_m, left * far_m, right * far_m];
        let [a, b, c, d] = corners;
        let bulge_m = self.radius_m + far_m * (1.0 - self.half_cosine) + SLACK;
        let (low, high) = (a.min(b).min(c).min(d) - bulge_m, a.max(b).max(c).max(d) + bulge_m);
        (self.centre + low, self.centre + high)
    }
}

/// A segment in steps of the lattice and millimetres, and the part of it that is on the grid and not above all ground.
struct Ray<'a> {
    nodes_mm: &'a [i32],
    columns: usize,
    rows: usize,
    start: DVec3,
    way: DVec3,
    from: f64,
    to: f64,
}

impl<'a> Ray<'a> {
    fn on_grid(heights: &'a Heights, start: DVec3, end: DVec3) -> Option<Ray<'a>> {
        let (columns, rows) = heights.grid.size();
        let way = end - start;
        let mut ray =
            Ray { nodes_mm: heights.grid.heights_mm(), columns, rows, start, way, from: 0.0, to: 1.0 };
        let on_grid = ray.cut(start.x, end.x, columns - 1) && ray.cut(start.y, end.y, rows - 1);
        (on_grid && ray.from <= ray.to).then_some(ray)
    }

    /// Keeps what lies between the first and the last line of a direction; whether there may be any.
    fn cut(&mut self, start: f64, end: f64, last: usize) -> bool {
        let last = last as f64;
        let inside = |at: f64| at >= 0.0 && at <= last;
        if inside(start) && inside(end) {
            return true;
        }
        let way = end - start;
        if way == 0.0 {
            return false;
        }
        let (a, b) = (-start / way, (last - start) / way);
        (self.from, self.to) = (self.from.max(a.min(b)), self.to.min(a.max(b)));
        true
    }

    /// Cuts a rising ray where it is above a height for good.
    fn end_above(&mut self, top_mm: f64) {
        self.to = self.to.min(((top_mm - self.start.z) / self.way.z).max(self.from));
    }

    /// Cuts a rising ray above the ground that it can still meet, some times over, since less of it meets less ground.
    fn end_above_what_is_near(&mut self, heights: &Heights) {
        for _ in 0..NEARER_ENDS {
            let (a, b) = (self.start + self.way * self.from, self.start + self.way * self.to);
            let cells = |a: f64, b: f64, nodes: usize| {
                // rounding at the lines between cells must not lose the cell beyond
                let (low, high) = if a < b { (a, b) } else { (b, a) };
                let cell = |at: f64| (at as i32).clamp(0, signed(nodes) - 2) as usize;
                (cell(low - SLACK), cell(high + SLACK))
            };
            let top_mm = heights.top_of_cells(cells(a.x, b.x, self.columns), cells(a.y, b.y, self.rows));
            let before = self.to - self.from;
            self.end_above(f64::from(top_mm));
            if self.to - self.from > 0.7 * before {
                return;
            }
        }
    }

    fn node(&self, column: usize, row: usize) -> f64 {
        f64::from(self.nodes_mm[row * self.columns + column])
    }

    /// Whether the ray is above ground at a share of its way.
    fn above(&self, share: f64) -> bool {
        let at = self.start + self.way * share;
        let last = DVec2::new((self.columns - 1) as f64, (self.rows - 1) as f64);
        let place = at.truncate().clamp(DVec2::ZERO, last);
        let (column, row) = (whole(place.x).min(self.columns - 2), whole(place.y).min(self.rows - 2));
        let part = place - DVec2::new(column as f64, row as f64);
        let (sw, ne) = (self.node(column, row), self.node(column + 1, row + 1));
        let ground = if part.x >= part.y {
            let se = self.node(column + 1, row);
            sw + part.x * (se - sw) + part.y * (ne - se)
        } else {
            let nw = self.node(column, row + 1);
            sw + part.y * (nw - sw) + part.x * (ne - nw)
        };
        at.z > ground
    }

    /// First and last line of a family that the ray crosses, and the step from one to the next; nothing where it
    /// crosses none.
    fn lines(&self, start: f64, way: f64) -> Option<(i32, i32, i32)> {
        let (a, b) = (start + way * self.from, start + way * self.to);
        let (first, last, step) =
            if way > 0.0 { (-below(-a), below(b), 1) } else { (below(a), -below(-b), -1) };
        (way != 0.0 && (last - first) * step >= 0).then_some((first, last, step))
    }

    fn crosses_columns(&self, above: bool) -> bool {
        let Some((mut column, last, step)) = self.lines(self.start.x, self.way.x) else { return false };
        let most = signed(self.rows) - 2;
        let (north, up) = (self.way.y / self.way.x, self.way.z / self.way.x);
        loop {
            let along = f64::from(column) - self.start.x;
            let y = self.start.y + north * along;
            let row = (y as i32).clamp(0, most);
            let at = row as usize * self.columns + (column as usize).min(self.columns - 1);
            let height = self.between(at, at + self.columns, y - f64::from(row));
            if (self.start.z + up * along > height) != above {
                return true;
            }
            if column == last {
                return false;
            }
            column += step;
        }
    }

    fn crosses_rows(&self, above: bool) -> bool {
        let Some((mut row, last, step)) = self.lines(self.start.y, self.way.y) else { return false };
        let most = signed(self.columns) - 2;
        let (east, up) = (self.way.x / self.way.y, self.way.z / self.way.y);
        loop {
            let along = f64::from(row) - self.start.y;
            let x = self.start.x + east * along;
            let column = (x as i32).clamp(0, most);
            let at = (row as usize).min(self.rows - 1) * self.columns + column as usize;
            let height = self.between(at, at + 1, x - f64::from(column));
            if (self.start.z + up * along > height) != above {
                return true;
            }
            if row == last {
                return false;
            }
            row += step;
        }
    }

    fn crosses_diagonals(&self, above: bool) -> bool {
        let (start, way) = (self.start.x - self.start.y, self.way.x - self.way.y);
        let Some((mut line, last, step)) = self.lines(start, way) else { return false };
        let (columns, rows) = (signed(self.columns) - 2, signed(self.rows) - 2);
        let (east, up) = (self.way.x / way, self.way.z / way);
        loop {
            let along = f64::from(line) - start;
            let x = self.start.x + east * along;
            let (least, most) = (line.max(0), columns.min(rows + line));
            if least <= most {
                let column = (x as i32).clamp(least, most);
                let at = (column - line) as usize * self.columns + column as usize;
                let height = self.between(at, at + self.columns + 1, x - f64::from(column));
                if (self.start.z + up * along > height) != above {
                    return true;
                }
            }
            if line == last {
                return false;
            }
            line += step;
        }
    }

    /// Height between two nodes.
    fn between(&self, low: usize, high: usize, share: f64) -> f64 {
        let (low, high) = (f64::from(self.nodes_mm[low]), f64::from(self.nodes_mm[high]));
        low + (high - low) * share
    }
}

/// A count of nodes, of which there are at most a million.
pub(super) fn signed(count: usize) -> i32 {
    i32::try_from(count).unwrap_or(i32::MAX)
}

/// The greatest whole number not above a value; a call of the library's own function costs more than a whole step.
pub(super) fn below(value: f64) -> i32 {
    let cut = value as i32;
    cut.saturating_sub(i32::from(f64::from(cut) > value))
}

#[cfg(test)]
mod tests {
    use crate::ground::surface::heights::*;
    use proptest::prelude::*;

    proptest! {
        /// Derived: a direction lies between the two starts of its sector.
        #[test]
        fn directions_lie_in_their_sector(angle in 0.0..std::f64::consts::TAU) {
            let towards = DVec2::from_angle(angle);
            let sector = whole(super::super::horizon::diamond(towards) * QUARTER) % SECTORS;
            let (left, right) = (sector_start(sector), sector_start(sector + 1));
            prop_assert!(left.perp_dot(towards) >= -1e-12 && towards.perp_dot(right) >= -1e-12); // rounding
        }
    }
}
