use crate::base::SurfaceClass;
use crate::base::choice::up;
use crate::base::number::{narrow, whole};
use crate::geometry::TerrainGrid;
use crate::geometry::polygon::slice;
use crate::geometry::ring::bounds;
use crate::ground::surface::error::{SAMPLE_LIMIT, SiteError};
use crate::ground::surface::tile::{Relief, TILE_LEN, Tile};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Samples along a side of a tile.
const TILE_SIDE: usize = 8;

/// Samples along a side of a block of tiles; tiles are numbered block by block, so that neighbours stay together.
const BLOCK_SIDE: usize = 32;

/// Room that is kept free beside the outline and holes, so that no sample stands on the foot line of a wall and none comes
/// or goes by rounding.
const MARGIN_M: f64 = 1e-6;

/// A plane surface to be sampled, described in coordinates (u, v) of its own.
#[derive(Debug, Clone)]
pub(crate) struct Face {
    /// What it is.
    pub(crate) class: SurfaceClass,
    /// Place of (0, 0).
    pub(crate) origin_m: DVec3,
    /// Step in space for one step along u, and along v.
    pub(crate) steps: [DVec3; 2],
    /// Unit normal.
    pub(crate) normal: DVec3,
    /// Outline in (u, v).
    pub(crate) outline: Vec<DVec2>,
    /// What is cut out of the outline; these may overlap and reach beyond it.
    pub(crate) holes: Vec<Vec<DVec2>>,
    /// True area in space.
    pub(crate) area_m2: f64,
    /// A place inside, in (u, v), for the one sample of a face that holds no centre of a cell.
    pub(crate) inside: DVec2,
    /// Uneven ground that the face follows or, where it is not ground, that cuts it.
    pub(crate) relief: Option<Arc<TerrainGrid>>,
}

/// A cell of the lattice: (column, row).
type Cell = (usize, usize);

/// Equal cells over the outline's bounding box, none with a side longer than the spacing.
struct Lattice {
    low: DVec2,
    step: DVec2,
    columns: usize,
    rows: usize,
}

/// Tiles made between two questions whether to go on.
const TILES_UNASKED: usize = 512;

impl Face {
    fn at(&self, uv: DVec2) -> DVec3 {
        self.origin_m + self.steps[0] * uv.x + self.steps[1] * uv.y
    }

    fn lattice(&self, spacing_m: f64) -> Option<Lattice> {
        let (low, high) = bounds(self.outline.iter().copied())?;
        let size = high - low;
        let count = DVec2::new(up(size.x / spacing_m), up(size.y / spacing_m)).max(DVec2::ONE);
        Some(Lattice { low, step: size / count, columns: whole(count.x), rows: whole(count.y) })
    }

    /// Samples to expect, from the area; at least 1.
    pub(crate) fn expected_samples(&self, spacing_m: f64) -> f64 {
        (self.area_m2 / (spacing_m * spacing_m)).max(1.0)
    }

    /// Puts samples on the face: the lattice's cell centres inside it, in tiles.
    ///
    /// # Errors
    /// [`SiteError::TooManySamples`] when rows or samples alone exceed the limit.
    /// What `ask` answers; it is asked for each row of blocks and every so many tiles.
    pub(crate) fn tiles<E: From<SiteError>>(
        &self,
        spacing_m: f64,
        ask: &impl Fn() -> Result<(), E>,
    ) -> Result<Vec<Tile>, E> {
        let Some(lattice) = self.lattice(spacing_m) else { return Ok(Vec::new()) };
        let mut cells = self.cells(&lattice, spacing_m, ask)?;
        if let (Some(grid), false) = (&self.relief, self.class == SurfaceClass::Ground) {
            cells.retain(|&cell| {
                let at = self.at(lattice.centre(cell));
                grid.height_m(at.truncate()) < at.z
            });
        }
        if cells.is_empty() {
            return Ok(vec![self.tile(&[self.at(self.inside)], self.area_m2)]);
        }
        let sample_area_m2 = self.area_m2 / cells.len() as f64;
        let tiles = cells.chunk_by(|&a, &b| tile_of(a) == tile_of(b)).enumerate().map(|(k, cells)| {
            if k % TILES_UNASKED == 0 {
                ask()?;
            }
            let places: Vec<_> = cells.iter().map(|&cell| self.at(lattice.centre(cell))).collect();
            Ok(self.tile(&places, sample_area_m2))
        });
        tiles.collect()
    }

    /// Cells whose centre is inside, in the order of the tiles.
    fn cells<E: From<SiteError>>(
        &self,
        lattice: &Lattice,
        spacing_m: f64,
        ask: &impl Fn() -> Result<(), E>,
    ) -> Result<Vec<Cell>, E> {
        let limit = SAMPLE_LIMIT as usize;
        let too_many =
            |count: usize| SiteError::TooManySamples { count: count as u64, limit: SAMPLE_LIMIT, spacing_m };
        if lattice.rows.max(lattice.columns) > limit {
            return Err(too_many(lattice.rows.max(lattice.columns)).into());
        }
        let mut cells: Vec<Cell> = Vec::new();
        for first in (0..lattice.rows).step_by(BLOCK_SIDE) {
            ask()?;
            let start = cells.len();
            for row in first..(first + BLOCK_SIDE).min(lattice.rows) {
                for (from, to) in self.inside_spans(lattice.v(row)) {
                    cells.extend(lattice.columns_between(from, to).map(|column| (column, row)));
                }
                if cells.len() > limit {
                    return Err(too_many(cells.len()).into());
                }
            }
            cells[start..].sort_unstable_by_key(|&(u, v)| (u / BLOCK_SIDE, tile_of((u, v)), v, u));
        }
        Ok(cells)
    }

    /// Where a line of equal v is inside, as disjoint spans of u in ascending order.
    fn inside_spans(&self, v: f64) -> Vec<(f64, f64)> {
        let [below, above] = [v - MARGIN_M, v + MARGIN_M].map(|beside| slice(&self.outline, beside));
        let mut spans = common(&below, &above);
        for span in &mut spans {
            *span = (span.0 + MARGIN_M, span.1 - MARGIN_M);
        }
        for hole in &self.holes {
            for beside in [v - MARGIN_M, v + MARGIN_M] {
                for (from, to) in slice(hole, beside) {
                    spans = without(&spans, from - MARGIN_M, to + MARGIN_M);
                }
            }
        }
        spans
    }

    /// A tile with these samples, numbered from 0 and with no prisms yet.
    fn tile(&self, places: &[DVec3], sample_area_m2: f64) -> Tile {
        match &self.relief {
            Some(grid) if self.class == SurfaceClass::Ground => Tile::on_ground(grid, places, sample_area_m2),
            _ => Tile::new(self.class, self.normal, places, sample_area_m2),
        }
    }
}

impl Tile {
    /// A tile with one to [`TILE_LEN`] samples on one plane, numbered from 0, that no prism hides.
    pub(crate) fn new(class: SurfaceClass, normal: DVec3, places: &[DVec3], sample_area_m2: f64) -> Tile {
        let low = places.iter().copied().reduce(DVec3::min).unwrap_or_default();
        let high = places.iter().copied().reduce(DVec3::max).unwrap_or_default();
        let middle = (low + high) / 2.0;
        // the middle of a slanting tile's box need not lie on its plane
        let centre_m = middle + normal * (places.first().map_or(0.0, |p| (*p - middle).dot(normal)));
        let lane = |k: usize| places.get(k).or(places.last()).map_or(DVec3::ZERO, |p| *p - centre_m);
        let radius_m = places.iter().map(|p| p.distance(centre_m)).fold(0.0, f64::max);
        Tile {
            class,
            normal,
            centre_m,
            radius_m,
            len: places.len().min(TILE_LEN),
            x_m: std::array::from_fn(|k| narrow(lane(k).x)),
            y_m: std::array::from_fn(|k| narrow(lane(k).y)),
            z_m: std::array::from_fn(|k| narrow(lane(k).z)),
            sample_area_m2,
            first_sample: 0,
            prisms: Vec::new(),
            relief: None,
            horizon: None,
        }
    }

    /// A tile whose samples lie on uneven ground at these places (their heights are not looked at), each standing for
    /// an equal area of the plan.
    pub(super) fn on_ground(grid: &TerrainGrid, places: &[DVec3], plan_area_m2: f64) -> Tile {
        let at = |p: &DVec3| p.truncate().extend(grid.height_m(p.truncate()));
        let places: Vec<DVec3> = places.iter().map(at).collect();
        let normals = places.iter().map(|p| {
            let slope = grid.slope(p.truncate());
            DVec3::new(-slope.x, -slope.y, 1.0).normalize()
        });
        Tile::uneven(SurfaceClass::Ground, &places, &normals.collect::<Vec<_>>(), plan_area_m2)
    }

    /// A tile with one to [`TILE_LEN`] samples that each have a normal of their own, all upward.
    pub(crate) fn uneven(
        class: SurfaceClass,
        places: &[DVec3],
        normals: &[DVec3],
        plan_area_m2: f64,
    ) -> Tile {
        let low = places.iter().copied().reduce(DVec3::min).unwrap_or_default();
        let high = places.iter().copied().reduce(DVec3::max).unwrap_or_default();
        let mean = normals.iter().sum::<DVec3>().try_normalize().unwrap_or(DVec3::Z);
        let mut tile = Tile::new(class, mean, places, plan_area_m2);
        let centre_m = (low + high) / 2.0;
        let lane = |k: usize| places.get(k).or(places.last()).map_or(DVec3::ZERO, |p| *p - centre_m);
        let normal = |k: usize| normals.get(k).or(normals.last()).copied().unwrap_or(DVec3::Z);
        tile.centre_m = centre_m;
        tile.radius_m = places.iter().map(|p| p.distance(centre_m)).fold(0.0, f64::max);
        tile.x_m = std::array::from_fn(|k| narrow(lane(k).x));
        tile.y_m = std::array::from_fn(|k| narrow(lane(k).y));
        tile.z_m = std::array::from_fn(|k| narrow(lane(k).z));
        tile.relief = Some(Box::new(Relief {
            x: std::array::from_fn(|k| narrow(normal(k).x)),
            y: std::array::from_fn(|k| narrow(normal(k).y)),
            z: std::array::from_fn(|k| narrow(normal(k).z)),
        }));
        tile
    }
}

fn tile_of((column, row): Cell) -> (usize, usize) {
    (row / TILE_SIDE, column / TILE_SIDE)
}

impl Lattice {
    fn centre(&self, (column, row): Cell) -> DVec2 {
        self.low + self.step * (DVec2::new(column as f64, row as f64) + 0.5)
    }

    fn v(&self, row: usize) -> f64 {
        self.low.y + self.step.y * (row as f64 + 0.5)
    }

    /// Columns whose centre lies in [from, to).
    fn columns_between(&self, from: f64, to: f64) -> std::ops::Range<usize> {
        let column = |u: f64| whole(((u - self.low.x) / self.step.x - 0.5).ceil().max(0.0)).min(self.columns);
        column(from)..column(to)
    }
}

/// What lies in spans of both kinds.
fn common(some: &[(f64, f64)], others: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let both = |&(a, b): &(f64, f64)| others.iter().map(move |&(c, d)| (a.max(c), b.min(d)));
    some.iter().flat_map(both).filter(|(a, b)| a < b).collect()
}

/// Spans less what lies between `from` and `to`.
fn without(spans: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    let cut = |&(a, b): &(f64, f64)| [(a, b.min(from)), (a.max(to), b)];
    spans.iter().flat_map(cut).filter(|(a, b)| a < b).collect()
}
