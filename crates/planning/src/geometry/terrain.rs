//! A grid of heights: what it holds, how it is stored, and the ground between its nodes.

mod coding;
mod nearest;

use crate::base::choice::{EQUAL_RATIO, up};
use crate::base::digest::{Digest, Key, Stage};
use crate::base::limits;
use crate::base::number::{whole, whole_of_few};
use crate::geometry::polygon::{sides, slice, slice_beside};
use coding::GridFile;
use glam::{DVec2, DVec3};
use nearest::Peaks;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Most nodes of a terrain grid.
pub const TERRAIN_NODES: usize = 1_000_000;

/// Places this near to a node, in steps of the lattice, are at it.
const ROUNDING: f64 = 1e-6;

/// Millimetres of a metre.
const MM: f64 = 1000.0;

/// Rows and places on each row at which a mean height is read, at most.
const MEAN_PLACES: f64 = 256.0;

/// Heights of the ground at the nodes of a regular lattice, in whole millimetres.
///
/// Every cell is split from south-west to north-east into two triangles, and the ground between the nodes is theirs.
/// Outside the grid the ground has the height of the nearest edge, but hides nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(into = "GridFile", try_from = "GridFile")]
pub struct TerrainGrid {
    south_west_m: DVec2,
    spacing_m: DVec2,
    columns: usize,
    rows: usize,
    heights_mm: Vec<i32>,
    range_m: (f64, f64),
    peaks: Peaks,
    key: Key,
}

/// Why heights make no terrain grid.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TerrainGridError {
    /// Too few or too many nodes.
    #[error(
        "terrain must have at least 2 columns and 2 rows and at most {TERRAIN_NODES} nodes, but it has {columns} \
         columns and {rows} rows; cut it to the site or widen its spacing"
    )]
    Size {
        /// Columns asked for.
        columns: usize,
        /// Rows asked for.
        rows: usize,
    },
    /// The heights are more or fewer than the nodes.
    #[error(
        "terrain of {columns} columns and {rows} rows must have {} heights, but it has {count}; write all of them",
        columns * rows
    )]
    Count {
        /// Columns asked for.
        columns: usize,
        /// Rows asked for.
        rows: usize,
        /// Heights given.
        count: usize,
    },
    /// The spacing is no length, or absurd.
    #[error("terrain spacing must be from 0.01 to 1000 m, but it is {got_m} m; write metres between nodes")]
    Spacing {
        /// The spacing given.
        got_m: f64,
    },
    /// The corner lies nowhere near the frame's origin.
    #[error(
        "the south-west node of the terrain must lie within {} km of the frame's origin, but it is at ({}, {}); \
         move the origin to the site",
        limits::COORDINATE_M.most / 1000.0, at_m.x, at_m.y
    )]
    Place {
        /// The corner given.
        at_m: DVec2,
    },
    /// A height beyond what there is on earth.
    #[error(
        "terrain heights must be from {} to {} m, but that of column {column}, row {row} (counted from 0 in the \
         south-west) is {got_m} m; write metres, and fill or cut off what has no data",
        limits::TERRAIN_HEIGHT_M.least, limits::TERRAIN_HEIGHT_M.most
    )]
    Height {
        /// Column of the node.
        column: usize,
        /// Row of the node.
        row: usize,
        /// The height given.
        got_m: f64,
    },
    /// The stored heights cannot be unpacked.
    #[error("the stored terrain heights {0}; take them from a whole copy of the file")]
    Packed(&'static str),
}

impl TerrainGrid {
    /// A grid from its heights.
    ///
    /// # Units
    /// - `south_west_m`: place of the first node; `spacing_m`: steps to the east and to the north
    /// - `heights_mm`: whole millimetres
    ///
    /// # Shape
    /// - `heights_mm`: row by row from the south, each from west to east
    ///
    /// # Errors
    /// [`TerrainGridError`], when sizes do not fit each other or a number is absurd.
    pub fn new(
        south_west_m: DVec2,
        spacing_m: DVec2,
        (columns, rows): (usize, usize),
        heights_mm: Vec<i32>,
    ) -> Result<TerrainGrid, TerrainGridError> {
        checked_size(columns, rows)?;
        if heights_mm.len() != columns * rows {
            return Err(TerrainGridError::Count { columns, rows, count: heights_mm.len() });
        }
        if let Some(got_m) = spacing_m.to_array().into_iter().find(|step| !(0.01..=1000.0).contains(step)) {
            return Err(TerrainGridError::Spacing { got_m });
        }
        let limit = limits::COORDINATE_M;
        if !(limit.holds(south_west_m.x) && limit.holds(south_west_m.y)) {
            return Err(TerrainGridError::Place { at_m: south_west_m });
        }
        let metres = |mm: i32| f64::from(mm) / 1000.0;
        if let Some(k) = heights_mm.iter().position(|&mm| !limits::TERRAIN_HEIGHT_M.holds(metres(mm))) {
            let (column, row) = (k % columns, k / columns);
            return Err(TerrainGridError::Height { column, row, got_m: metres(heights_mm[k]) });
        }
        let mut digest = Digest::of_stage(Stage::Grid);
        digest.numbers(&south_west_m.to_array()).numbers(&spacing_m.to_array());
        let key = digest.whole(columns as u64).whole(rows as u64).wholes(&heights_mm).finish();
        let (low, high) = (heights_mm.iter().min(), heights_mm.iter().max());
        let range_m = (low.map_or(0.0, |mm| metres(*mm)), high.map_or(0.0, |mm| metres(*mm)));
        let peaks = Peaks::new(columns, rows, &heights_mm);
        Ok(TerrainGrid { south_west_m, spacing_m, columns, rows, heights_mm, range_m, peaks, key })
    }

    /// A grid of heights in metres, rounded to whole millimetres.
    ///
    /// # Units
    /// - `south_west_m`, `spacing_m`: metres, east and north
    /// - `heights_m`: metres, row by row from the south, each from west to east
    ///
    /// # Errors
    /// As [`TerrainGrid::new`]; a height that is no number is told as one beyond the limits.
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::TerrainGrid;
    /// // two by two nodes 10 m apart, rising by 2 m to the east and by 1 m to the north
    /// let heights_m = [100.0, 102.0, 101.0, 103.0];
    /// let grid = TerrainGrid::from_heights_m(DVec2::ZERO, DVec2::splat(10.0), (2, 2), &heights_m);
    /// let grid = grid.expect("within the limits");
    /// assert_eq!(grid.height_m(DVec2::new(5.0, 5.0)), 101.5);
    /// assert_eq!(grid.slope(DVec2::new(5.0, 5.0)), DVec2::new(0.2, 0.1));
    /// assert_eq!(grid.bounds_m(), (100.0, 103.0));
    /// ```
    pub fn from_heights_m(
        south_west_m: DVec2,
        spacing_m: DVec2,
        (columns, rows): (usize, usize),
        heights_m: &[f64],
    ) -> Result<TerrainGrid, TerrainGridError> {
        let absurd = heights_m.iter().position(|&m| !limits::TERRAIN_HEIGHT_M.holds(m));
        if let (Some(k), true) = (absurd, columns > 0) {
            return Err(TerrainGridError::Height {
                column: k % columns,
                row: k / columns,
                got_m: heights_m[k],
            });
        }
        let heights_mm = heights_m.iter().map(|m| (m * 1000.0).round() as i32).collect();
        TerrainGrid::new(south_west_m, spacing_m, (columns, rows), heights_mm)
    }

    /// Place of the south-west node.
    ///
    /// # Units
    /// - returns: metres, east and north
    pub fn south_west_m(&self) -> DVec2 {
        self.south_west_m
    }

    /// Place of the north-east node.
    ///
    /// # Units
    /// - returns: metres, east and north
    pub fn north_east_m(&self) -> DVec2 {
        self.south_west_m + self.spacing_m * DVec2::new((self.columns - 1) as f64, (self.rows - 1) as f64)
    }

    /// Steps between nodes, to the east and to the north, in metres.
    ///
    /// # Units
    /// - returns: metres, to the east and to the north
    pub fn spacing_m(&self) -> DVec2 {
        self.spacing_m
    }

    /// Number of columns and rows of nodes.
    pub fn size(&self) -> (usize, usize) {
        (self.columns, self.rows)
    }

    /// Heights in millimetres, row by row from the south, each from west to east.
    ///
    /// # Units
    /// - returns: millimetres
    pub fn heights_mm(&self) -> &[i32] {
        &self.heights_mm
    }

    /// Stands for everything that the grid holds.
    pub(crate) fn key(&self) -> Key {
        self.key
    }

    /// Least and greatest height anywhere, in metres.
    ///
    /// # Units
    /// - returns: metres
    pub fn bounds_m(&self) -> (f64, f64) {
        self.range_m
    }

    /// Height of a node, in metres.
    ///
    /// # Units
    /// - `column`, `row`: from 0, from the west and from the south
    /// - returns: metres
    pub fn node_m(&self, column: usize, row: usize) -> f64 {
        f64::from(self.heights_mm[row * self.columns + column]) / MM
    }

    /// Whether a place lies on the grid, its edge included.
    ///
    /// # Units
    /// - `at`: metres, east and north
    pub fn covers(&self, at: DVec2) -> bool {
        at.cmpge(self.south_west_m).all() && at.cmple(self.north_east_m()).all()
    }

    /// Height of the ground at a place, in metres; outside the grid, that of the nearest place of its edge.
    ///
    /// # Units
    /// - `at`: metres, east and north
    /// - returns: metres
    ///
    /// # References
    /// Derived: linear on the two triangles of a cell, parted by its diagonal from south-west to north-east.
    pub fn height_m(&self, at: DVec2) -> f64 {
        self.height_at_m(self.lattice(at).clamp(DVec2::ZERO, self.last()))
    }

    /// Heights at places from one to another, so many equal steps apart, both ends included.
    ///
    /// # Accuracy
    /// That of [`TerrainGrid::height_m`] but for rounding.
    pub(crate) fn heights_m(&self, from: DVec2, to: DVec2, steps: usize) -> Vec<f64> {
        let (start, last) = (self.lattice(from), self.last());
        let step = (self.lattice(to) - start) / steps as f64;
        let place = |k: usize| (start + step * k as f64).clamp(DVec2::ZERO, last);
        (0..=steps).map(|k| self.height_at_m(place(k))).collect()
    }

    /// Height at a place of the grid in steps of the lattice.
    fn height_at_m(&self, place: DVec2) -> f64 {
        self.height_at_mm(place) / MM
    }

    fn height_at_mm(&self, place: DVec2) -> f64 {
        let (column, row, part) = self.cell_of(place);
        let at = row * self.columns + column;
        let nodes = &self.heights_mm[at..at + self.columns + 2];
        // to the corner that is the nearer of the other two, and on from there
        let beside = if part.x >= part.y { nodes[1] } else { nodes[self.columns] };
        let [sw, beside, ne] = [nodes[0], beside, nodes[self.columns + 1]].map(f64::from);
        let (far, near) = if part.x >= part.y { (part.x, part.y) } else { (part.y, part.x) };
        sw + far * (beside - sw) + near * (ne - beside)
    }

    /// The north-east node, in steps of the lattice.
    fn last(&self) -> DVec2 {
        DVec2::new((self.columns - 1) as f64, (self.rows - 1) as f64)
    }

    /// Whether no block of cells that a box touches has a node higher than a height: then no ground in it is, and
    /// [`TerrainGrid::highest_in_m`] need not be asked.
    pub(crate) fn surely_below(&self, low: DVec2, high: DVec2, height_m: f64) -> bool {
        self.top_near_m(low, high) <= height_m
    }

    /// Height of the highest node of all blocks of cells that a box touches, in metres: no ground within it is higher.
    pub(crate) fn top_near_m(&self, low: DVec2, high: DVec2) -> f64 {
        let (first, end) = (self.lattice(low), self.lattice(high));
        let cells = self.last() - 1.0;
        let cell = |at: DVec2| at.clamp(DVec2::ZERO, cells);
        self.peaks.top_of_blocks_m(cell(first - ROUNDING), cell(end + ROUNDING))
    }

    /// Height of the highest node of all cells that a box touches, in metres: no ground within it is higher.
    pub(crate) fn highest_in_m(&self, low: DVec2, high: DVec2) -> f64 {
        let last = self.last();
        // A box that touches a row of nodes by rounding alone does not reach beyond it.
        let first = (self.lattice(low) + ROUNDING).floor().clamp(DVec2::ZERO, last);
        let end = (self.lattice(high) - ROUNDING).ceil().clamp(DVec2::ZERO, last);
        let nodes = (whole(first.x)..whole(end.x) + 1, whole(first.y)..whole(end.y) + 1);
        let row_mm = |row: usize| &self.heights_mm[row * self.columns..][..self.columns];
        f64::from(self.peaks.highest_mm(nodes, row_mm)) / MM
    }

    /// Rise of the ground per metre to the east and to the north at a place, of the triangle that it lies on.
    ///
    /// # Units
    /// - `at`: metres, east and north
    /// - returns: metres up per metre
    ///
    /// # References
    /// Derived: that of the triangles of [`TerrainGrid::height_m`].
    pub fn slope(&self, at: DVec2) -> DVec2 {
        let (column, row, part) = self.cell(at);
        let (sw, ne) = (self.node_m(column, row), self.node_m(column + 1, row + 1));
        let rise = if part.x >= part.y {
            let se = self.node_m(column + 1, row);
            DVec2::new(se - sw, ne - se)
        } else {
            let nw = self.node_m(column, row + 1);
            DVec2::new(ne - nw, nw - sw)
        };
        rise / self.spacing_m
    }

    /// The cell that holds a place, or that is nearest to it, and where in it the place lies, 0 to 1.
    fn cell(&self, at: DVec2) -> (usize, usize, DVec2) {
        self.cell_of(self.lattice(at).clamp(DVec2::ZERO, self.last()))
    }

    /// As [`TerrainGrid::cell`], of a place of the grid in steps of the lattice.
    fn cell_of(&self, place: DVec2) -> (usize, usize, DVec2) {
        let (column, row) =
            (whole_of_few(place.x).min(self.columns - 2), whole_of_few(place.y).min(self.rows - 2));
        (column, row, place - DVec2::new(column as f64, row as f64))
    }

    /// A place in steps of the lattice from the south-west node.
    fn lattice(&self, at: DVec2) -> DVec2 {
        (at - self.south_west_m) / self.spacing_m
    }

    /// Shares of the way from one place to another at which the ground's slope may change, ascending, 0 and 1 included.
    pub(crate) fn breaks(&self, from: DVec2, to: DVec2) -> Vec<f64> {
        let mut shares = Vec::new();
        self.each_break(from, to, |share| shares.push(share));
        shares.sort_unstable_by(f64::total_cmp);
        shares.dedup();
        shares
    }

    /// As [`TerrainGrid::breaks`], in no order, some more than once.
    pub(crate) fn each_break(&self, from: DVec2, to: DVec2, mut visit: impl FnMut(f64)) {
        visit(0.0);
        visit(1.0);
        self.crossed(from, to).into_iter().for_each(|lines| lines.each(|_, _, share| visit(share)));
    }

    /// As [`TerrainGrid::each_break`], each with the height of the ground there.
    ///
    /// # Accuracy
    /// That of [`TerrainGrid::height_m`] but for rounding.
    pub(crate) fn each_height(&self, from: DVec2, to: DVec2, mut visit: impl FnMut(f64, f64)) {
        visit(0.0, self.height_m(from));
        visit(1.0, self.height_m(to));
        self.each_between_mm(from, to, |share, height_mm| visit(share, height_mm / MM));
    }

    /// Least and greatest height of the ground on the way from one place to another.
    ///
    /// # Accuracy
    /// As [`TerrainGrid::each_height`].
    pub(crate) fn range_between_m(&self, from: DVec2, to: DVec2) -> (f64, f64) {
        let (mut least_mm, mut greatest_mm) = (f64::INFINITY, f64::NEG_INFINITY);
        self.each_between_mm(from, to, |_, mm| {
            // no number here is none, and so plain comparisons do
            least_mm = if mm < least_mm { mm } else { least_mm };
            greatest_mm = if mm > greatest_mm { mm } else { greatest_mm };
        });
        let (start_m, end_m) = (self.height_m(from), self.height_m(to));
        (start_m.min(end_m).min(least_mm / MM), start_m.max(end_m).max(greatest_mm / MM))
    }

    /// Visits the shares between 0 and 1 at which the ground's slope may change, each with the height there in millimetres: it
    /// lies on a line of the lattice or on a cell's diagonal, and so between two nodes.
    fn each_between_mm(&self, from: DVec2, to: DVec2, mut visit: impl FnMut(f64, f64)) {
        let (a, b, last) = (self.lattice(from), self.lattice(to), self.last());
        let way = b - a;
        let [columns, rows, diagonals] = self.crossed(from, to);
        let first = whole_of_few(columns.low);
        columns.each(|k, _, share| visit(share, self.on_column_mm(first + k, a.y + way.y * share)));
        let first = whole_of_few(rows.low);
        rows.each(|k, _, share| visit(share, self.on_row_mm(first + k, a.x + way.x * share)));
        // columns and rows by which a diagonal begins beside the south-west node
        let (east, north) = (whole_of_few(diagonals.low), whole_of_few(-diagonals.low));
        diagonals.each(|k, ahead, share| {
            let x = a.x + way.x * share;
            // those through the corners beside have no cell
            let has_cells = ahead > -last.y && ahead < last.x;
            let on_grid = has_cells && x >= 0.0 && x >= ahead && x <= last.x && x <= last.y + ahead;
            let height_mm = || self.height_at_mm(self.lattice(from.lerp(to, share)).clamp(DVec2::ZERO, last));
            visit(share, if on_grid { self.on_diagonal_mm(x, (east + k, north)) } else { height_mm() });
        });
    }

    /// The lines of the lattice that a way crosses: columns, rows, and the diagonals of cells by how many columns they are ahead
    /// of the rows.
    fn crossed(&self, from: DVec2, to: DVec2) -> [CrossedLines; 3] {
        let (a, b, last) = (self.lattice(from), self.lattice(to), self.last());
        [
            CrossedLines::new((a.x, b.x), (0.0, last.x)),
            CrossedLines::new((a.y, b.y), (0.0, last.y)),
            CrossedLines::new((a.x - a.y, b.x - b.y), (-last.y, last.x)),
        ]
    }

    /// Height of a place on a column of nodes, by its row; beyond the grid, that of the column's end.
    fn on_column_mm(&self, column: usize, row: f64) -> f64 {
        let row = row.clamp(0.0, (self.rows - 1) as f64);
        let first = whole_of_few(row).min(self.rows - 2);
        let at = first * self.columns + column;
        self.between_mm([at, at + self.columns], row - first as f64)
    }

    /// Height of a place on a row of nodes, by its column; beyond the grid, that of the row's end.
    fn on_row_mm(&self, row: usize, column: f64) -> f64 {
        let column = column.clamp(0.0, (self.columns - 1) as f64);
        let first = whole_of_few(column).min(self.columns - 2);
        let at = row * self.columns + first;
        self.between_mm([at, at + 1], column - first as f64)
    }

    /// Height of a place of the grid on a diagonal that begins so many columns east of the south-west node, or rows north of
    /// it, by its column.
    fn on_diagonal_mm(&self, column: f64, (east, north): (usize, usize)) -> f64 {
        let last = (self.columns - 2).min((self.rows - 2 + east).saturating_sub(north));
        let west = whole_of_few(column).min(last);
        let at = (west + north).saturating_sub(east) * self.columns + west;
        self.between_mm([at, at + self.columns + 1], column - west as f64)
    }

    /// Height at a share of the way from node to node.
    fn between_mm(&self, nodes: [usize; 2], share: f64) -> f64 {
        let [from, to] = nodes.map(|node| f64::from(self.heights_mm[node]));
        from + share * (to - from)
    }

    /// Mean height over a ring: rows and places on them no farther apart than half the grid's spacing, at most 256 of
    /// each.
    ///
    /// # Accuracy
    /// Exact for a level or evenly sloping rectangle; else about slope × spacing / 256 of the ring's size.
    ///
    /// # References
    /// Derived: a mean over middles of equal parts, each by the length that it stands for.
    pub(crate) fn mean_height_m(&self, ring: &[DVec2]) -> Option<f64> {
        let (mut sum, mut length_m) = (0.0, 0.0);
        self.each_place(ring, MEAN_PLACES, |at, share_m| {
            sum += self.height_m(at) * share_m;
            length_m += share_m;
        });
        (length_m > 0.0).then(|| sum / length_m)
    }

    /// Share of a ring in which the ground is lower than a height, by places on a lattice.
    pub(crate) fn share_below(&self, ring: &[DVec2], z_m: f64, places: usize) -> f64 {
        let (mut below_m, mut length_m) = (0.0, 0.0);
        self.each_place(ring, places as f64, |at, share_m| {
            below_m += if self.height_m(at) < z_m { share_m } else { 0.0 };
            length_m += share_m;
        });
        if length_m > 0.0 { below_m / length_m } else { 0.0 }
    }

    /// Visits places inside a ring with the length of row that each stands for.
    fn each_place(&self, ring: &[DVec2], most: f64, mut visit: impl FnMut(DVec2, f64)) {
        let bounds = ring.iter().copied().reduce(DVec2::min).zip(ring.iter().copied().reduce(DVec2::max));
        let Some((low, high)) = bounds else { return };
        let fine = (high - low) / self.spacing_m * 2.0;
        let fine = DVec2::new(up(fine.x), up(fine.y));
        let places = fine.clamp(DVec2::splat(32.0), DVec2::splat(most));
        let step = (high - low) / places;
        for row in 0..whole(places.y) {
            let y = low.y + step.y * (row as f64 + 0.5);
            for (from, to) in slice_beside(ring, y, EQUAL_RATIO * step.y) {
                let count = up((to - from) / step.x).max(1.0);
                let x = |k: usize| from + (to - from) * (k as f64 + 0.5) / count;
                (0..whole(count)).for_each(|k| visit(DVec2::new(x(k), y), (to - from) / count));
            }
        }
    }

    /// Least and greatest height on a ring's outline and inside it.
    pub(crate) fn range_m(&self, ring: &[DVec2]) -> (f64, f64) {
        let on_outline = sides(ring).flat_map(|(from, to)| {
            self.breaks(from, to).into_iter().map(move |share| self.height_m(from.lerp(to, share)))
        });
        let wider = |(low, high): (f64, f64), height: f64| (low.min(height), high.max(height));
        let range = on_outline.fold((f64::INFINITY, f64::NEG_INFINITY), wider);
        self.nodes_inside(ring).fold(range, wider)
    }

    fn nodes_inside<'a>(&'a self, ring: &'a [DVec2]) -> impl Iterator<Item = f64> + 'a {
        let y = |row: usize| self.south_west_m.y + self.spacing_m.y * row as f64;
        let column = move |x: f64| ((x - self.south_west_m.x) / self.spacing_m.x).ceil().max(0.0);
        let low = ring.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
        let high = ring.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
        let first = whole((low - self.south_west_m.y) / self.spacing_m.y);
        let last = whole((high - self.south_west_m.y) / self.spacing_m.y + 1.0).min(self.rows - 1);
        (first..=last).flat_map(move |row| {
            slice(ring, y(row)).into_iter().flat_map(move |(from, to)| {
                let columns = whole(column(from)).min(self.columns)..whole(column(to)).min(self.columns);
                columns.map(move |column| self.node_m(column, row))
            })
        })
    }

    /// The ground's triangles, counter-clockwise seen from above, in metres.
    pub(crate) fn triangles(&self) -> impl Iterator<Item = [DVec3; 3]> + '_ {
        let at = |column: usize, row: usize| {
            let place = self.south_west_m + self.spacing_m * DVec2::new(column as f64, row as f64);
            place.extend(self.node_m(column, row))
        };
        (0..self.rows - 1)
            .flat_map(move |row| (0..self.columns - 1).map(move |column| (column, row)))
            .flat_map(move |(c, r)| {
                let (sw, se, ne, nw) = (at(c, r), at(c + 1, r), at(c + 1, r + 1), at(c, r + 1));
                [[sw, se, ne], [sw, ne, nw]]
            })
    }
}

/// Those lines of a family, one step apart, that a way may cross.
struct CrossedLines {
    /// Numbers of the first and the last.
    low: f64,
    high: f64,
    start: f64,
    way: f64,
}

impl CrossedLines {
    /// Of a way from one number to another, those between a least and a greatest one.
    fn new((start, end): (f64, f64), (least, most): (f64, f64)) -> Self {
        let (low, high) = (start.min(end).max(least).ceil(), start.max(end).min(most).floor());
        CrossedLines { low, high, start, way: end - start }
    }

    /// Visits those between the way's ends, each counted from the first, with its number and the share of the way.
    fn each(&self, mut visit: impl FnMut(usize, f64, f64)) {
        if self.way == 0.0 {
            return;
        }
        let (mut line, mut k) = (self.low, 0);
        while line <= self.high {
            let share = (line - self.start) / self.way;
            if share > 0.0 && share < 1.0 {
                visit(k, line, share);
            }
            line += 1.0;
            k += 1;
        }
    }
}

fn checked_size(columns: usize, rows: usize) -> Result<(), TerrainGridError> {
    let fits = columns >= 2 && rows >= 2 && columns.checked_mul(rows).is_some_and(|n| n <= TERRAIN_NODES);
    if fits { Ok(()) } else { Err(TerrainGridError::Size { columns, rows }) }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use crate::geometry::terrain::*;
    use proptest::prelude::*;

    fn grid(columns: usize, rows: usize, height_m: impl Fn(f64, f64) -> f64) -> TerrainGrid {
        let (from, step) = (DVec2::new(-7.0, 3.0), DVec2::new(2.0, 2.5));
        let at = |k: usize| from + step * DVec2::new((k % columns) as f64, (k / columns) as f64);
        let heights: Vec<f64> = (0..columns * rows).map(|k| height_m(at(k).x, at(k).y)).collect();
        TerrainGrid::from_heights_m(from, step, (columns, rows), &heights).unwrap()
    }

    /// Derived: one raised corner of a cell makes a fold along south-west to north-east.
    #[test]
    fn cells_fold_from_south_west_to_north_east() {
        let raised = |heights: [f64; 4]| {
            TerrainGrid::from_heights_m(DVec2::ZERO, DVec2::ONE, (2, 2), &heights).unwrap()
        };
        let south_east = raised([0.0, 4.0, 0.0, 0.0]);
        assert_eq!(south_east.height_m(DVec2::new(0.5, 0.5)), 0.0);
        assert_eq!(south_east.height_m(DVec2::new(0.75, 0.25)), 2.0);
        assert_eq!(south_east.height_m(DVec2::new(0.25, 0.75)), 0.0);
        let north_east = raised([0.0, 0.0, 0.0, 4.0]);
        assert_eq!(north_east.height_m(DVec2::new(0.5, 0.5)), 2.0);
        assert_eq!(north_east.height_m(DVec2::new(9.0, 1.0)), 4.0, "the nearest edge");
        assert_eq!(north_east.slope(DVec2::new(0.25, 0.75)), DVec2::new(4.0, 0.0));
    }

    /// Derived: on a plane the mean over an L is the height at its centroid, and the range that of its corners.
    #[test]
    fn means_and_ranges_of_a_plane() {
        let plane = |x: f64, y: f64| 20.0 + 0.3 * x - 0.2 * y;
        let grid = grid(30, 30, plane);
        let l: Vec<_> = [(0.0, 10.0), (20.0, 10.0), (20.0, 20.0), (8.0, 20.0), (8.0, 40.0), (0.0, 40.0)]
            .map(DVec2::from)
            .to_vec();
        let centroid = crate::geometry::polygon::centroid_m(&l);
        // 1/256 of the ring's 30 m on a slope of 0.2, and heights rounded to millimetres
        assert!((grid.mean_height_m(&l).unwrap() - plane(centroid.x, centroid.y)).abs() < 0.03);
        let (low, high) = grid.range_m(&l);
        assert!((low - plane(0.0, 40.0)).abs() < 1e-3 && (high - plane(20.0, 10.0)).abs() < 1e-3); // millimetres
    }

    proptest! {
        /// Derived: the height that comes with a break is the one looked up there, on the grid and beyond its edge, along lines
        /// of the lattice and across them; the least and the greatest of them are the range.
        #[test]
        fn heights_of_breaks_are_those_of_their_places(
            from in (-20..130_i32, -20..130_i32), way in (-160..160_i32, -160..160_i32),
            aside in (0.0..2.0_f64, 0.0..2.0_f64), on_lattice in 0..3_u8,
        ) {
            let grid = grid(41, 23, |x, y| 8.0 * (x * 0.7).sin() * (y * 0.9).cos() + 0.2 * x);
            let half = |at: (i32, i32)| DVec2::new(f64::from(at.0), f64::from(at.1)) * grid.spacing_m() / 2.0;
            let off = if on_lattice == 0 { DVec2::ZERO } else { DVec2::from(aside) };
            let from = grid.south_west_m() + half(from) + off;
            let to = from + half(if on_lattice == 1 { (way.0, way.0) } else { way });
            let (mut breaks, mut found) = (Vec::new(), Vec::new());
            grid.each_break(from, to, |share| breaks.push(share));
            grid.each_height(from, to, |share, height_m| {
                found.push(share);
                let looked_up_m = grid.height_m(from.lerp(to, share));
                // rounding of places some hundred steps off, on slopes below 10
                assert!((height_m - looked_up_m).abs() < 1e-10, "{share}: {height_m} {looked_up_m}");
            });
            prop_assert_eq!(breaks, found);
            let (mut least_m, mut greatest_m) = (f64::INFINITY, f64::NEG_INFINITY);
            grid.each_height(from, to, |_, height_m| {
                (least_m, greatest_m) = (least_m.min(height_m), greatest_m.max(height_m));
            });
            prop_assert_eq!(grid.range_between_m(from, to), (least_m, greatest_m));
        }
    }

    /// Derived: on a line through the corner in the north-west or the south-east the ground there has that corner's height.
    #[test]
    fn a_line_through_a_corner_meets_its_node() {
        let grid = grid(4, 3, |x, y| 3.0 * x - 7.0 * y);
        let (low, high) = (grid.south_west_m(), grid.north_east_m());
        for corner in [DVec2::new(low.x, high.y), DVec2::new(high.x, low.y)] {
            let mut at_corner = 0;
            let beside = DVec2::new(1.0, 1.5);
            grid.each_height(corner - beside, corner + beside, |share, height_m| {
                if share == 0.5 {
                    at_corner += 1;
                    assert_eq!(height_m, grid.height_m(corner), "{corner}");
                }
            });
            assert_eq!(at_corner, 3, "a column, a row and a diagonal");
        }
    }

    proptest! {
        /// Derived: heights of equal steps are those of their places, and what is said to lie below a height has no higher node.
        #[test]
        fn heights_of_steps_and_tops_of_blocks(
            from in (-20.0..90.0_f64, -20.0..80.0_f64), way in (-90.0..90.0_f64, -90.0..90.0_f64),
            steps in 1..40_usize, above_m in -1.0..3.0_f64,
        ) {
            let grid = grid(31, 22, |x, y| 8.0 * (x * 0.7).sin() * (y * 0.9).cos() + 0.2 * x);
            let (from, to) = (DVec2::from(from), DVec2::from(from) + DVec2::from(way));
            for (k, height_m) in grid.heights_m(from, to, steps).into_iter().enumerate() {
                let place = from.lerp(to, k as f64 / steps as f64);
                // rounding of places some hundred steps off, on slopes below 10
                prop_assert!((height_m - grid.height_m(place)).abs() < 1e-10);
            }
            let (low, high) = (from.min(to), from.max(to));
            let top_m = grid.highest_in_m(low, high);
            if grid.surely_below(low, high, top_m + above_m) {
                prop_assert!(above_m >= 0.0);
            }
            prop_assert!(grid.surely_below(low, high, grid.bounds_m().1));
        }
    }

    /// Derived: numbers that fit nothing are refused, whatever they are.
    #[test]
    fn absurd_grids_are_refused() {
        let new = |spacing, size, heights: Vec<i32>| TerrainGrid::new(DVec2::ZERO, spacing, size, heights);
        assert!(matches!(new(DVec2::ONE, (1, 2), vec![0; 2]), Err(TerrainGridError::Size { .. })));
        assert!(matches!(new(DVec2::ONE, (usize::MAX, 2), vec![]), Err(TerrainGridError::Size { .. })));
        assert!(matches!(new(DVec2::ONE, (2, 2), vec![0; 5]), Err(TerrainGridError::Count { .. })));
        assert!(matches!(
            new(DVec2::new(1.0, f64::NAN), (2, 2), vec![0; 4]),
            Err(TerrainGridError::Spacing { .. })
        ));
        let height = new(DVec2::ONE, (2, 2), vec![0, 0, i32::MAX, 0]).unwrap_err();
        assert!(height.to_string().contains("column 0, row 1"), "{height}");
        let nan = TerrainGrid::from_heights_m(DVec2::ZERO, DVec2::ONE, (2, 2), &[0.0, f64::NAN, 0.0, 0.0]);
        assert!(matches!(nan, Err(TerrainGridError::Height { column: 1, row: 0, .. })));
    }

    proptest! {
        /// Derived: the highest node of a box's cells, node by node.
        #[test]
        fn the_highest_node_of_a_box_is_found(
            low in (-20.0..90.0_f64, -20.0..90.0_f64), size in (0.0..60.0_f64, 0.0..60.0_f64),
        ) {
            let grid = grid(37, 30, |x, y| 100.0 + 9.0 * (x * 1.3).sin() + 7.0 * (y * 0.7 + x).cos());
            let (low, high) = (DVec2::from(low), DVec2::from(low) + DVec2::from(size));
            let touched = |from: f64, to: f64, at: f64, step: f64| at > from - 0.999_999 * step && at < to + 0.999_999 * step;
            let place = |k: usize| grid.south_west_m + grid.spacing_m * DVec2::new((k % 37) as f64, (k / 37) as f64);
            let (from, to) = (grid.south_west_m, grid.north_east_m());
            let (low, high) = (low.clamp(from, to), high.clamp(from, to));
            let inside = (0..37 * 30).filter(|k| {
                let at = place(*k);
                touched(low.x, high.x, at.x, grid.spacing_m.x) && touched(low.y, high.y, at.y, grid.spacing_m.y)
            });
            let most_mm = inside.map(|k| grid.heights_mm[k]).max().unwrap();
            prop_assert!((grid.highest_in_m(low, high) - f64::from(most_mm) / 1000.0).abs() < 1e-9);
        }

        /// Derived: between two breaks the ground is straight.
        #[test]
        fn the_ground_is_straight_between_breaks(
            from in (-9.0..25.0_f64, 0.0..30.0_f64), to in (-9.0..25.0_f64, 0.0..30.0_f64),
        ) {
            let grid = grid(12, 9, |x, y| 10.0 * (x * 1.7).sin() * (y * 0.9).cos());
            let (from, to) = (DVec2::from(from), DVec2::from(to));
            for pair in grid.breaks(from, to).windows(2) {
                let height = |share: f64| grid.height_m(from.lerp(to, share));
                let middle = height(f64::midpoint(pair[0], pair[1]));
                prop_assert!((middle - f64::midpoint(height(pair[0]), height(pair[1]))).abs() < 1e-9); // rounding
            }
        }
    }
}
