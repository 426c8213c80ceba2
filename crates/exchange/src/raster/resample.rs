//! From a raster's pixels to the nodes of a terrain grid in the site's frame.

use super::TerrainFor;
use super::fill::fill;
use super::source::{Frame, RasterHeader, Window};
use crate::LocalFrame;
use glam::DVec2;
use obliquity_planning::{StructureKind, TERRAIN_NODES, TerrainGrid};

/// Least reach of the terrain beyond what stands on the site.
const LEAST_MARGIN_M: f64 = 50.0;

/// Places along each side at which the two frames are compared exactly; between them they differ linearly, to 1 mm on a
/// site of 5 km.
const MESH: usize = 64;

/// Share of nodes that may be filled.
const MOST_VOID: f64 = 0.05;

/// The nodes to be, and where each lies in the raster.
pub(super) struct Target {
    south_west_m: DVec2,
    step_m: DVec2,
    columns: usize,
    rows: usize,
    /// What must have heights, in any case.
    needed: (DVec2, DVec2),
    /// Pixel places on a mesh of `MESH` × `MESH` cells over the nodes.
    mesh: Vec<DVec2>,
    pixel_m: f64,
}

impl Target {
    /// Lays the nodes out.
    pub(super) fn new(
        under: &TerrainFor<'_>,
        header: &RasterHeader,
        frame: &Frame,
    ) -> Result<Target, String> {
        let (site, needed) = (under.site, extent(under));
        let (low, high) = needed;
        if !(low.is_finite() && high.is_finite()) {
            return Err(
                "the site must have a boundary before heights can be cut to it; draw it first".to_owned()
            );
        }
        let place = Placing { frame: *frame, local: site.origin.map(LocalFrame::new), header };
        let margin = ((high - low) * 0.25).max(DVec2::splat(LEAST_MARGIN_M));
        let (low, high) = (low - margin, high + margin);
        let pixel_m = place.pixel_m((low + high) / 2.0)?;
        if !(pixel_m.is_finite() && pixel_m > 0.0) {
            return Err("the raster must lie where the site is, but it does not; check its coordinates and the site's origin".to_owned());
        }
        let fitting = ((high - low).element_product() / (TERRAIN_NODES as f64 * 0.98)).sqrt();
        let spacing_m = pixel_m.max(fitting).max((high - low).max_element() / 900_000.0).clamp(0.01, 1000.0);
        let count = ((high - low) / spacing_m).ceil().max(DVec2::ONE);
        let step_m = (high - low) / count;
        let mesh = place.mesh(low, high)?;
        let (columns, rows) = (count.x as usize + 1, count.y as usize + 1);
        Ok(Target { south_west_m: low, step_m, columns, rows, needed, mesh, pixel_m })
    }

    /// Said where nodes are farther apart than pixels.
    pub(super) fn note(&self) -> Option<String> {
        let step_m = self.step_m.max_element();
        (step_m > self.pixel_m * 1.05).then(|| {
            format!("heights are {:.2} m apart in the raster and {step_m:.2} m here, to stay within a million nodes", self.pixel_m)
        })
    }

    /// The place of a node in the raster, in pixels.
    fn pixel(&self, column: usize, row: usize) -> DVec2 {
        let along = |k: usize, count: usize| k as f64 / (count - 1) as f64 * MESH as f64;
        let at = DVec2::new(along(column, self.columns), along(row, self.rows));
        let corner = at.floor().min(DVec2::splat((MESH - 1) as f64));
        let (part, first) = (at - corner, corner.y as usize * (MESH + 1) + corner.x as usize);
        let (south, north) = (first, first + MESH + 1);
        let low = self.mesh[south].lerp(self.mesh[south + 1], part.x);
        low.lerp(self.mesh[north].lerp(self.mesh[north + 1], part.x), part.y)
    }

    /// The part of the raster that the nodes need.
    pub(super) fn window(&self, header: &RasterHeader) -> Result<Window, String> {
        let low = self.mesh.iter().copied().fold(DVec2::INFINITY, DVec2::min).floor() - 1.0;
        let high = self.mesh.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max).ceil() + 2.0;
        let (columns, rows) = (header.columns as f64, header.rows as f64);
        if low.x >= columns || low.y >= rows || high.x <= 0.0 || high.y <= 0.0 {
            return Err(
                "the raster must lie under the site, but it lies beside it; check its coordinates and the site's origin"
                    .to_owned(),
            );
        }
        let range = |low: f64, high: f64, most: f64| low.max(0.0) as usize..high.min(most) as usize;
        Ok(Window { columns: range(low.x, high.x, columns), rows: range(low.y, high.y, rows) })
    }

    /// The grid, its voids filled and its edges cut back to where there are heights.
    pub(super) fn grid(
        self,
        heights: &[f32],
        window: &Window,
        notes: &mut Vec<String>,
    ) -> Result<TerrainGrid, String> {
        let mut nodes = Vec::with_capacity(self.columns * self.rows);
        for row in 0..self.rows {
            nodes.extend((0..self.columns).map(|column| bilinear(heights, window, self.pixel(column, row))));
        }
        let (columns, rows) = self.held(&nodes)?;
        let mut kept: Vec<f64> = rows
            .clone()
            .flat_map(|row| {
                nodes[row * self.columns + columns.start..row * self.columns + columns.end].to_vec()
            })
            .collect();
        let void = kept.iter().filter(|height| height.is_nan()).count();
        let share = void as f64 / kept.len() as f64;
        if share > MOST_VOID {
            return Err(format!(
                "at most {:.0} % of the heights under the site may be missing, but {:.0} % are; take a raster without \
                 such gaps, or fill them first",
                MOST_VOID * 100.0,
                (share * 100.0).ceil()
            ));
        }
        if void > 0 {
            fill(&mut kept, columns.len());
            notes.push(format!(
                "{void} of {} heights were missing and are filled from their neighbours",
                kept.len()
            ));
        }
        let corner = self.south_west_m + self.step_m * DVec2::new(columns.start as f64, rows.start as f64);
        TerrainGrid::from_heights_m(corner, self.step_m, (columns.len(), rows.len()), &kept)
            .map_err(|error| error.to_string())
    }

    /// Columns and rows that are left when edges with more gaps than heights are cut back, down to what the site needs.
    fn held(&self, nodes: &[f64]) -> Result<(std::ops::Range<usize>, std::ops::Range<usize>), String> {
        let (mut columns, mut rows) = (0..self.columns, 0..self.rows);
        let least = ((self.needed.0 - self.south_west_m) / self.step_m).floor();
        let most = ((self.needed.1 - self.south_west_m) / self.step_m).ceil();
        let void = |column: usize, row: usize| nodes[row * self.columns + column].is_nan();
        loop {
            let poor_row = |row: usize| columns.clone().filter(|&c| void(c, row)).count() * 2 > columns.len();
            let poor_column =
                |column: usize| rows.clone().filter(|&r| void(column, r)).count() * 2 > rows.len();
            if (rows.start as f64) < least.y && poor_row(rows.start) {
                rows.start += 1;
            } else if rows.end as f64 > most.y + 1.0 && poor_row(rows.end - 1) {
                rows.end -= 1;
            } else if (columns.start as f64) < least.x && poor_column(columns.start) {
                columns.start += 1;
            } else if columns.end as f64 > most.x + 1.0 && poor_column(columns.end - 1) {
                columns.end -= 1;
            } else {
                break;
            }
        }
        let all = || rows.clone().flat_map(|row| columns.clone().map(move |column| (column, row)));
        if all().all(|(column, row)| void(column, row)) {
            return Err("the raster must have heights under the site, but it has none there; check its coordinates and its no-data value".to_owned());
        }
        Ok((columns, rows))
    }
}

/// Least and greatest coordinates of the boundary, the take-off point and what stands on the site.
fn extent(&TerrainFor { site, take_offs_m }: &TerrainFor<'_>) -> (DVec2, DVec2) {
    let piers = site.structures.iter().flat_map(|s| match &s.kind {
        StructureKind::Deck { piers, .. } => piers.as_slice(),
        StructureKind::Extrusion { .. } => &[],
    });
    let footprints =
        site.structures.iter().flat_map(|s| &s.footprint_m).chain(piers.flat_map(|p| &p.footprint_m));
    let places = site.boundary_m.iter().chain([&site.take_off_m]).chain(take_offs_m).chain(footprints);
    places.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| (low.min(*p), high.max(*p)))
}

/// How places of the site's frame become pixels.
struct Placing<'a> {
    frame: Frame,
    local: Option<LocalFrame>,
    header: &'a RasterHeader,
}

impl Placing<'_> {
    fn pixel(&self, at_m: DVec2) -> Result<DVec2, String> {
        let geo = self.local.map(|local| local.to_geo(at_m));
        let world = self.frame.at(at_m, geo).ok_or(
            "the raster lies on the earth, but the site is nowhere; give it an origin in latitude and longitude (Place \
             on earth, on the screen Site)",
        )?;
        Ok(self.header.to_world.pixel(world))
    }

    /// Length on the ground of a pixel's side near a place: the mean of both.
    fn pixel_m(&self, at_m: DVec2) -> Result<f64, String> {
        let here = self.pixel(at_m)?;
        let (east, north) = (self.pixel(at_m + DVec2::X)? - here, self.pixel(at_m + DVec2::Y)? - here);
        Ok(1.0 / east.perp_dot(north).abs().sqrt())
    }

    fn mesh(&self, low: DVec2, high: DVec2) -> Result<Vec<DVec2>, String> {
        let at = |k: usize| {
            let share = DVec2::new((k % (MESH + 1)) as f64, (k / (MESH + 1)) as f64) / MESH as f64;
            self.pixel(low + (high - low) * share)
        };
        (0..(MESH + 1) * (MESH + 1)).map(at).collect()
    }
}

/// The height at a place between pixels; NaN where one that it rests on is missing. Half a pixel beyond the outermost
/// centres, to the raster's edge, the nearest counts.
fn bilinear(heights: &[f32], window: &Window, pixel: DVec2) -> f64 {
    let first = DVec2::new(window.columns.start as f64, window.rows.start as f64);
    let last = DVec2::new(window.columns.len() as f64 - 1.0, window.rows.len() as f64 - 1.0);
    let at = pixel - first;
    // rounding of the two frames must not cost the outermost row
    if at.cmplt(DVec2::splat(-0.501)).any() || at.cmpgt(last + 0.501).any() || last.min_element() < 1.0 {
        return f64::NAN;
    }
    let at = at.clamp(DVec2::ZERO, last);
    let corner = at.floor().min(last - 1.0);
    let part = at - corner;
    let k = corner.y as usize * window.columns.len() + corner.x as usize;
    let height = |k: usize, share: f64| if share == 0.0 { 0.0 } else { f64::from(heights[k]) * share };
    let below = k + window.columns.len();
    height(k, (1.0 - part.x) * (1.0 - part.y))
        + height(k + 1, part.x * (1.0 - part.y))
        + height(below, (1.0 - part.x) * part.y)
        + height(below + 1, part.x * part.y)
}
