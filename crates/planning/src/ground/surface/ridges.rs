//! Ridges: the edges of uneven ground behind which, seen from a place, the ground turns away.
//!
//! In the upright plane through a camera and a sample the ground is a chain of straight pieces. What hides the sample is
//! its highest point as the camera sees it; before that point the ground faces the camera, behind it the ground turns
//! away. So an edge hides nothing that a ridge does not hide, and of all edges near a tile only few are ridges.

use crate::ground::surface::heights::{Heights, below, signed};
use glam::{DVec2, DVec3};

/// Cells in a line that are looked at together.
const WIDEST: i32 = 62;

/// Room for rounding, in steps of the lattice.
const SLACK: f64 = 1e-3;

/// How often the end of the beam is drawn nearer by the ground that is left under it.
const NEARER_ENDS: u32 = 3;

/// The rays from a tile on the grid to a camera: what lies between a box round the tile and the camera.
pub(crate) struct GroundBeam {
    /// Middle of the box, seen from above.
    pub(crate) centre_m: DVec2,
    /// Half a side of the box.
    pub(crate) radius_m: f64,
    /// No ray starts lower.
    pub(crate) lowest_m: f64,
    /// Where all rays end.
    pub(crate) camera_m: DVec3,
}

/// The beam in steps of the lattice, up to where it is above all ground.
struct BeamReach {
    start: DVec2,
    way: DVec2,
    half: DVec2,
}

/// Which triangles of a line of cells turn away from the camera, a bit for each cell; only inside the beam.
#[derive(Clone, Copy, Default)]
struct FacingCells {
    inside: u64,
    south_east: u64,
    north_west: u64,
}

/// A ridge by its ends: steps to the east and to the north.
type Ends = [(i32, i32); 2];

impl Heights {
    /// Calls `each` with both ends, in metres, of every ridge that can hide something in a beam from a camera above
    /// ground; false, without any call, where the beam holds more cells than `most_cells` or is too wide.
    pub(crate) fn ridges(
        &self,
        beam: &GroundBeam,
        most_cells: i32,
        mut each: impl FnMut([DVec3; 2]),
    ) -> bool {
        let (columns, rows) = self.cells();
        let reach = self.reach(beam);
        let (low, high) = reach.bounds((columns, rows));
        let (wide, long) = (high.0 - low.0 + 1, high.1 - low.1 + 1);
        if wide > WIDEST || wide.saturating_mul(long) > most_cells {
            return false;
        }
        let camera = self.scaled(beam.camera_m);
        // what lies beyond the grid turns away from nobody
        let beyond = FacingCells { inside: u64::MAX, ..FacingCells::default() };
        let mut south = if low.1 == 0 { beyond } else { FacingCells::default() };
        for row in low.1..=high.1 {
            let line = self.line(row, low.0, reach.columns(row, low.0, high.0), camera);
            let mut each = |ends: Ends| each(ends.map(|(column, row)| self.node_place_m(column, row)));
            line.diagonals(row, low.0, camera, &mut each);
            line.east_sides(row, low.0, columns, camera, &mut each);
            line.south_sides(row, low.0, &south, camera, &mut each);
            if row == rows - 1 {
                beyond.south_sides(rows, low.0, &line, camera, &mut each);
            }
            south = line;
        }
        true
    }

    /// The part of a beam that is not above all ground under it.
    fn reach(&self, beam: &GroundBeam) -> BeamReach {
        let start = self.scaled(beam.centre_m.extend(0.0)).truncate();
        let way = self.scaled(beam.camera_m).truncate() - start;
        let half = beam.radius_m / self.grid.spacing_m() + SLACK;
        let rise_m = beam.camera_m.z - beam.lowest_m;
        let share_below = |top_mm: i32| {
            let top_m = f64::from(top_mm) / 1000.0;
            if rise_m > 0.0 { ((top_m - beam.lowest_m) / rise_m).clamp(0.0, 1.0) } else { 1.0 }
        };
        let mut share = share_below(self.top_mm);
        for _ in 0..NEARER_ENDS {
            let (low, high) = BeamReach { start, way: way * share, half }.bounds(self.cells());
            let span = |low: i32, high: i32| (low as usize, high as usize);
            let before = share;
            share = share_below(self.top_of_cells(span(low.0, high.0), span(low.1, high.1)));
            if share > 0.7 * before {
                break;
            }
        }
        BeamReach { start, way: way * share, half }
    }

    /// Columns and rows of cells.
    fn cells(&self) -> (i32, i32) {
        let (columns, rows) = self.grid.size();
        (signed(columns) - 1, signed(rows) - 1)
    }

    /// Where a node lies, in metres.
    fn node_place_m(&self, column: i32, row: i32) -> DVec3 {
        let place = DVec2::new(f64::from(column), f64::from(row)) * self.grid.spacing_m();
        (self.grid.south_west_m() + place).extend(self.grid.node_m(column as usize, row as usize))
    }

    /// Which triangles of a line of cells turn away from the camera.
    fn line(&self, row: i32, base: i32, inside: u64, camera: DVec3) -> FacingCells {
        let mut line = FacingCells { inside, ..FacingCells::default() };
        if inside == 0 {
            return line;
        }
        let (first, last) = (inside.trailing_zeros(), inside.ilog2());
        let at = (base + first.cast_signed()) as usize;
        let (nodes, columns) = (self.grid.heights_mm(), self.grid.size().0);
        let nodes_of = |row: usize| &nodes[row * columns + at..][..(last - first) as usize + 2];
        let (south, north) = (nodes_of(row as usize), nodes_of(row as usize + 1));
        let up = camera.y - f64::from(row);
        let mut along = camera.x - f64::from(base + first.cast_signed());
        for (k, (south, north)) in (first..).zip(south.windows(2).zip(north.windows(2))) {
            let (sw, se) = (f64::from(south[0]), f64::from(south[1]));
            let (nw, ne) = (f64::from(north[0]), f64::from(north[1]));
            let south_east = camera.z <= sw + (se - sw) * along + (ne - se) * up;
            let north_west = camera.z <= sw + (nw - sw) * up + (ne - nw) * along;
            line.south_east |= u64::from(south_east) << k;
            line.north_west |= u64::from(north_west) << k;
            along -= 1.0;
        }
        line
    }
}

impl BeamReach {
    /// First and last cell, east and north, of the box round the beam, cut to the grid.
    fn bounds(&self, (columns, rows): (i32, i32)) -> ((i32, i32), (i32, i32)) {
        let end = self.start + self.way;
        let low = self.start.min(end) - self.half;
        let high = self.start.max(end) + self.half;
        let cell = |at: f64, count: i32| below(at).clamp(0, count - 1);
        ((cell(low.x, columns), cell(low.y, rows)), (cell(high.x, columns), cell(high.y, rows)))
    }

    /// The cells of a line that the beam can touch, of those from `base` to `last`: bit 0 is `base`.
    fn columns(&self, row: i32, base: i32, last: i32) -> u64 {
        let (low, high) = (f64::from(row) - self.half.y, f64::from(row + 1) + self.half.y);
        let (mut from, mut to) = (0.0, 1.0);
        if self.way.y != 0.0 {
            let (a, b) = ((low - self.start.y) / self.way.y, (high - self.start.y) / self.way.y);
            (from, to) = (a.min(b).max(0.0), a.max(b).min(1.0));
        }
        if from > to {
            return 0;
        }
        let (a, b) = (self.start.x + self.way.x * from, self.start.x + self.way.x * to);
        let first = below(a.min(b) - self.half.x).max(base);
        let last = below(a.max(b) + self.half.x).min(last);
        if first > last { 0 } else { up_to(last - base) & !up_to(first - base - 1) }
    }
}

/// Bits 0 to `last`; none below 0, all from 63 on.
fn up_to(last: i32) -> u64 {
    match last {
        ..0 => 0,
        0..63 => (2 << last) - 1,
        _ => u64::MAX,
    }
}

/// Calls with each bit that is set.
fn each_bit(mut word: u64, mut call: impl FnMut(i32)) {
    while word != 0 {
        call(word.trailing_zeros().cast_signed());
        word &= word - 1;
    }
}

/// Bits of the cells whose number is not above a value.
fn not_above(value: f64, base: i32) -> u64 {
    up_to(below(value).saturating_sub(base))
}

impl FacingCells {
    /// Ridges from the south-west to the north-east corners of cells.
    fn diagonals(&self, row: i32, base: i32, camera: DVec3, each: &mut impl FnMut(Ends)) {
        // cells on whose south-eastern side the camera is
        let beside = not_above(camera.x - camera.y + f64::from(row), base);
        let ridges =
            (self.north_west & !self.south_east & beside) | (self.south_east & !self.north_west & !beside);
        each_bit(ridges, |k| each([(base + k, row), (base + k + 1, row + 1)]));
    }

    /// Ridges on the sides between neighbours, and on the first and last side of the grid.
    fn east_sides(&self, row: i32, base: i32, columns: i32, camera: DVec3, each: &mut impl FnMut(Ends)) {
        // cells whose eastern side lies west of the camera
        let beside = not_above(camera.x - 1.0, base);
        let to_east = self.north_west >> 1;
        let last = up_to(columns - 1 - base) & !up_to(columns - 2 - base);
        let both = self.inside & ((self.inside >> 1) | last);
        let ridges = both & ((self.south_east & !to_east & beside) | (to_east & !self.south_east & !beside));
        each_bit(ridges, |k| each([(base + k + 1, row), (base + k + 1, row + 1)]));
        if base == 0 && self.north_west & 1 == 1 && camera.x < 0.0 {
            each([(0, row), (0, row + 1)]);
        }
    }

    /// Ridges between this line and the one to the south of it, either of which may lie beyond the grid.
    fn south_sides(
        &self,
        row: i32,
        base: i32,
        south: &FacingCells,
        camera: DVec3,
        each: &mut impl FnMut(Ends),
    ) {
        let ridges = if f64::from(row) < camera.y {
            south.north_west & !self.south_east
        } else {
            self.south_east & !south.north_west
        };
        let both = self.inside & south.inside;
        each_bit(ridges & both, |k| each([(base + k, row), (base + k + 1, row)]));
    }
}
