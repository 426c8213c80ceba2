#![expect(
    clippy::needless_bitwise_bool,
    reason = "loops over lanes without branches, which the compiler turns into vector code"
)]

use super::lanes::{Flags, Lanes, bits, pack};
use super::veil::Veil;
use crate::base::number::narrow;
use crate::ground::surface::heights::{Heights, Side};
use crate::ground::surface::ridges::GroundBeam;
use crate::ground::{Horizon, Prism, SiteModel, TILE_LEN, Tile};
use crate::scenario::Terrain;
use glam::{DVec2, DVec3};

/// Where a ray starts: this far from the sample along its normal.
const START_M: f64 = 0.01;

/// Distance by which a tile is taken as larger in the quick tests, so that their rounding never decides.
const SLACK_M: f32 = 0.02;

/// So few rays are walked one by one.
const FEW: u32 = 4;

/// Cells that take about as long to look at as one ray to walk.
const CELLS_A_RAY: i32 = 16;

/// What can hide a tile's samples, in coordinates relative to the tile's centre.
pub(crate) struct Shadows<'a> {
    tile: &'a Tile,
    /// Starts of the rays.
    x_m: Lanes,
    y_m: Lanes,
    z_m: Lanes,
    lowest_m: f32,
    radius_m: f32,
    prisms: Vec<NearPrism>,
    edges: Vec<Edge>,
    /// Greatest top of the prisms.
    top_m: f32,
    terrain: &'a Terrain,
    /// Bits of the samples whose ray starts below ground.
    buried: u64,
    /// Uneven ground, and what it can hide of this tile.
    relief: Option<(&'a Heights, &'a Horizon)>,
    highest_m: f32,
    /// Whether all of the tile lies on the uneven ground's grid.
    on_grid: bool,
    /// Starts of the rays as the uneven ground counts places.
    scaled: Vec<DVec3>,
}

/// A prism as seen from a tile.
struct NearPrism {
    gap_m: f32,
    centre_m: [f32; 2],
    radius_m: f32,
    bottom_m: f32,
    top_m: f32,
    edges: std::ops::Range<usize>,
}

/// An upright plane; outside is where x·`normal` > `offset`.
#[derive(Clone, Copy)]
struct Edge {
    normal: [f32; 2],
    offset_m: f32,
}

impl Edge {
    fn at(&self, x: f32, y: f32) -> f32 {
        self.normal[0] * x + self.normal[1] * y - self.offset_m
    }
}

/// The beam from all of a tile's samples to one camera.
struct Beam {
    camera_m: [f32; 3],
    /// Level distance of the camera.
    length_m: f32,
}

impl<'a> Shadows<'a> {
    pub(crate) fn new(tile: &'a Tile, site: &'a SiteModel) -> Shadows<'a> {
        let [x_m, y_m, z_m] = starts(tile);
        let mut edges = Vec::new();
        let prisms: Vec<_> =
            tile.prisms.iter().map(|&k| near(&site.prisms[k as usize], tile, &mut edges)).collect();
        let below = |&k: &usize| {
            let at = start_m(tile, k);
            at.z - site.terrain.height_m(at.truncate()) <= 0.0
        };
        Shadows {
            tile,
            x_m,
            y_m,
            lowest_m: z_m.iter().copied().fold(f32::INFINITY, f32::min),
            z_m,
            radius_m: narrow(tile.radius_m + START_M) + SLACK_M,
            top_m: prisms.iter().map(|p| p.top_m).fold(f32::NEG_INFINITY, f32::max),
            prisms,
            edges,
            terrain: &site.terrain,
            buried: (0..tile.len).filter(below).fold(0, |word, k| word | 1 << k),
            relief: site.heights.as_deref().zip(tile.horizon.as_deref()),
            on_grid: site
                .heights
                .as_deref()
                .is_some_and(|heights| heights.holds(tile.centre_m.truncate(), tile.radius_m + START_M)),
            scaled: site.heights.as_deref().map_or_else(Vec::new, |heights| {
                (0..tile.len).map(|k| heights.scaled(start_m(tile, k))).collect()
            }),
            highest_m: z_m.iter().copied().fold(f32::NEG_INFINITY, f32::max),
        }
    }

    /// Those of the candidate samples whose ray to a camera meets nothing.
    pub(crate) fn seen(&self, candidates: u64, camera_m: DVec3) -> u64 {
        let mut seen =
            if self.relief.is_some() { candidates } else { self.above_ground(candidates, camera_m) };
        let relative = (camera_m - self.tile.centre_m).as_vec3();
        let beam = Beam { camera_m: relative.to_array(), length_m: relative.truncate().length() };
        let reach_m = beam.length_m * self.share_below(self.top_m, &beam) + self.radius_m;
        for prism in &self.prisms {
            if seen == 0 || prism.gap_m > reach_m {
                break;
            }
            if self.may_meet(prism, &beam) {
                seen &= !self.meets(prism, &beam);
            }
        }
        match self.relief {
            Some((heights, horizon)) if seen != 0 => {
                self.past_relief(seen, camera_m, &beam, heights, horizon)
            }
            _ => seen,
        }
    }

    /// Less the samples that uneven ground hides; only flat rays and those that start below ground are walked.
    fn past_relief(
        &self,
        seen: u64,
        camera_m: DVec3,
        beam: &Beam,
        heights: &Heights,
        horizon: &Horizon,
    ) -> u64 {
        let walked = seen & (self.buried | self.flat(beam, horizon));
        if walked == 0 {
            return seen;
        }
        let (hidden, walked) = self.behind_ridges(walked, camera_m, heights).unwrap_or((0, walked));
        let camera = heights.scaled(camera_m);
        let side = |k: usize| if self.buried >> k & 1 == 1 { Side::Below } else { Side::Above };
        bits(walked)
            .filter(|&k| heights.meets(self.scaled[k], camera, side(k)))
            .fold(seen & !hidden, |seen, k| seen & !(1 << k))
    }

    /// Of some samples those that the ground hides, and those that only a walk can tell of; nothing where walking them
    /// all is as good.
    fn behind_ridges(&self, asked: u64, camera_m: DVec3, heights: &Heights) -> Option<(u64, u64)> {
        let count = asked.count_ones();
        if count < FEW || !self.on_grid || !heights.free(camera_m) {
            return None;
        }
        let centre_m = self.tile.centre_m;
        let beam = GroundBeam {
            centre_m: centre_m.truncate(),
            radius_m: f64::from(self.radius_m),
            lowest_m: centre_m.z + f64::from(self.lowest_m - SLACK_M),
            camera_m,
        };
        let mut veil = Veil::new(camera_m - centre_m, self.radius_m);
        let lanes = [&self.x_m, &self.y_m, &self.z_m];
        let all = heights.ridges(&beam, CELLS_A_RAY * count.cast_signed(), |ends_m| {
            veil.add(ends_m.map(|end_m| end_m - centre_m), lanes);
        });
        let (hidden, unsure) = veil.hidden_and_unsure();
        all.then_some((asked & hidden & !self.buried, asked & (unsure | self.buried)))
    }

    /// The samples whose ray is not steeper than what the ground can hide.
    fn flat(&self, beam: &Beam, horizon: &Horizon) -> u64 {
        let [cx, cy, cz] = beam.camera_m;
        let steepest = horizon.steepest_towards(cx, cy, self.radius_m);
        if cz - self.highest_m > steepest * (beam.length_m + self.radius_m) {
            return 0;
        }
        let mut flags: Flags = [0; TILE_LEN];
        for (k, flag) in flags.iter_mut().enumerate() {
            let (x, y, rise) = (cx - self.x_m[k], cy - self.y_m[k], cz - self.z_m[k]);
            let free = (rise > 0.0) & (rise * rise > steepest * steepest * (x * x + y * y));
            *flag = u8::from(!free);
        }
        pack(&flags)
    }

    /// Less the samples that the ground hides: ray and ground are straight, so that is where one end of the ray is
    /// below ground and the other is not.
    fn above_ground(&self, candidates: u64, camera_m: DVec3) -> u64 {
        let camera_above = camera_m.z - self.terrain.height_m(camera_m.truncate()) > 0.0;
        candidates & if camera_above { !self.buried } else { self.buried }
    }

    /// The share of the beam, from the tile, on which it may be below a height.
    fn share_below(&self, top_m: f32, beam: &Beam) -> f32 {
        let rise = beam.camera_m[2] - self.lowest_m;
        let below = top_m - self.lowest_m;
        if below >= rise { 1.0 } else { (below / rise).clamp(0.0, 1.0) }
    }

    /// Whether the beam, cut at the prism's top, can touch the prism: separating lines across the beam and along the
    /// prism's sides.
    fn may_meet(&self, prism: &NearPrism, beam: &Beam) -> bool {
        let [cx, cy, _] = beam.camera_m;
        let share = self.share_below(prism.top_m, beam);
        let reach_m = prism.radius_m + self.radius_m;
        let [px, py] = prism.centre_m;
        if beam.length_m > 1.0 {
            let across_m = (cx * py - cy * px) / beam.length_m;
            let along_m = (cx * px + cy * py) / beam.length_m;
            if across_m.abs() > reach_m || along_m < -reach_m || along_m > share * beam.length_m + reach_m {
                return false;
            }
        }
        self.edges[prism.edges.clone()].iter().all(|edge| {
            let near_end = -edge.offset_m - self.radius_m;
            let far_end = share * edge.at(cx, cy) + (1.0 - share) * near_end;
            near_end <= 0.0 || far_end <= SLACK_M
        })
    }

    /// The samples whose ray meets a prism: on each ray, the last entry into a half-space comes before the first exit.
    fn meets(&self, prism: &NearPrism, beam: &Beam) -> u64 {
        let [cx, cy, cz] = beam.camera_m;
        let mut span = Span { enter: [0.0; TILE_LEN], leave: [1.0; TILE_LEN] };
        for edge in &self.edges[prism.edges.clone()] {
            let camera = edge.at(cx, cy);
            if camera <= 0.0 && self.radius_m - edge.offset_m <= 0.0 {
                continue;
            }
            let mut start = [0.0; TILE_LEN];
            for (k, start) in start.iter_mut().enumerate() {
                *start = edge.at(self.x_m[k], self.y_m[k]);
            }
            span.cut(&start, camera);
        }
        span.cut(&self.z_m.map(|z| z - prism.top_m), cz - prism.top_m);
        if self.lowest_m.min(cz) < prism.bottom_m {
            span.cut(&self.z_m.map(|z| prism.bottom_m - z), prism.bottom_m - cz);
        }
        span.open()
    }
}

/// Where the rays start, relative to the tile's centre.
fn starts(tile: &Tile) -> [Lanes; 3] {
    let Some(relief) = &tile.relief else {
        let start = (tile.normal * START_M).as_vec3();
        let shifted = |lanes: &Lanes, by: f32| lanes.map(|v| v + by);
        return [shifted(&tile.x_m, start.x), shifted(&tile.y_m, start.y), shifted(&tile.z_m, start.z)];
    };
    let along = narrow(START_M);
    let shifted = |lanes: &Lanes, normals: &Lanes| std::array::from_fn(|k| lanes[k] + along * normals[k]);
    [shifted(&tile.x_m, &relief.x), shifted(&tile.y_m, &relief.y), shifted(&tile.z_m, &relief.z)]
}

/// Where the ray of one sample starts.
fn start_m(tile: &Tile, k: usize) -> DVec3 {
    let sample = tile.sample(k);
    sample.position_m + sample.normal * START_M
}

fn near(prism: &Prism, tile: &Tile, edges: &mut Vec<Edge>) -> NearPrism {
    let here = tile.centre_m.truncate();
    let first = edges.len();
    let ring = &prism.footprint_m;
    for (k, &from) in ring.iter().enumerate() {
        let along = ring[(k + 1) % ring.len()] - from;
        let outward = DVec2::new(along.y, -along.x).normalize_or_zero();
        let offset_m = narrow(outward.dot(from - here));
        edges.push(Edge { normal: outward.as_vec2().to_array(), offset_m });
    }
    let (centre, radius_m) = prism.circle();
    NearPrism {
        gap_m: narrow(prism.gap_m(here)),
        centre_m: (centre - here).as_vec2().to_array(),
        radius_m: narrow(radius_m),
        bottom_m: narrow(prism.bottom_m - tile.centre_m.z),
        top_m: narrow(prism.top_m - tile.centre_m.z),
        edges: first..edges.len(),
    }
}

/// The part of each ray, 0 at the sample and 1 at the camera, that is inside all half-spaces so far.
struct Span {
    enter: Lanes,
    leave: Lanes,
}

impl Span {
    /// Cuts with a half-space: distances outside it of the rays' starts and of the camera.
    fn cut(&mut self, start: &Lanes, camera: f32) {
        if camera > 0.0 {
            for (leave, &start) in self.leave.iter_mut().zip(start) {
                let at = if start > 0.0 { -1.0 } else { -start / (camera - start) };
                *leave = if at < *leave { at } else { *leave };
            }
        } else {
            for (enter, &start) in self.enter.iter_mut().zip(start) {
                let outside = if start > 0.0 { start } else { 0.0 };
                let way = outside - camera;
                let at = outside / if way > f32::MIN_POSITIVE { way } else { f32::MIN_POSITIVE };
                *enter = if at > *enter { at } else { *enter };
            }
        }
    }

    fn open(&self) -> u64 {
        let mut flags: Flags = [0; TILE_LEN];
        for (k, flag) in flags.iter_mut().enumerate() {
            *flag = u8::from(self.enter[k] < self.leave[k]);
        }
        pack(&flags)
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use super::*;
    use crate::base::SurfaceClass;
    use crate::geometry::TerrainGrid;
    use proptest::prelude::*;
    use std::sync::Arc;

    /// Nodes along a side of the ground.
    const SIDE: usize = 13;

    /// Rough ground with nodes every 6 m by 5 m, and a tile of samples 2 m apart on it or `lift_m` above it.
    fn site(heights_m: &[f64], corner: DVec2, lift_m: f64) -> SiteModel {
        let step = DVec2::new(6.0, 5.0);
        let grid = TerrainGrid::from_heights_m(DVec2::ZERO, step, (SIDE, SIDE), heights_m).unwrap();
        let place = |k: u32| {
            let at = corner + DVec2::new(f64::from(k % 8), f64::from(k / 8)) * 2.0;
            at.extend(grid.height_m(at) + lift_m)
        };
        let normal = |place: &DVec3| {
            let slope = grid.slope(place.truncate());
            if lift_m > 0.0 { DVec3::Z } else { DVec3::new(-slope.x, -slope.y, 1.0).normalize() }
        };
        let places: Vec<_> = (0..64).map(place).collect();
        let normals: Vec<_> = places.iter().map(normal).collect();
        let tile = Tile::uneven(SurfaceClass::Ground, &places, &normals, 1.0);
        let mut site = SiteModel::from_points(&[], Vec::new(), Terrain::Grid(Arc::new(grid)));
        site.tiles = vec![tile];
        site
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]

        /// Derived: what ridges decide is what walking every ray decides, from cameras over the grid, beyond it, below
        /// its tops and in the ground, on ground far rougher than any site's, up to the grid's own edges.
        #[test]
        fn ridges_decide_as_walking_does(
            heights_m in prop::collection::vec(0.0..14.0_f64, SIDE * SIDE),
            corner in (0.1..57.0_f64, 0.1..45.0_f64),
            lift_m in prop_oneof![Just(0.0), 0.5..6.0_f64],
            camera in (-40.0..110.0_f64, -40.0..100.0_f64, 2.0..60.0_f64),
        ) {
            let site = site(&heights_m, corner.into(), lift_m);
            let (heights, camera_m) = (site.heights.as_deref().unwrap(), DVec3::from(camera));
            let shadows = Shadows::new(&site.tiles[0], &site);
            let decided = shadows.behind_ridges(u64::MAX, camera_m, heights);
            prop_assert_eq!(decided.is_some(), heights.free(camera_m) && shadows.on_grid);
            let (hidden, unsure) = decided.unwrap_or((0, u64::MAX));
            let end = heights.scaled(camera_m);
            for k in bits(!unsure) {
                let walked = heights.meets(shadows.scaled[k], end, Side::Above);
                prop_assert_eq!(hidden >> k & 1 == 1, walked, "sample {}", k);
            }
            // 2 mm beside each of some dozens of edges
            prop_assert!(decided.is_none() || (unsure & !shadows.buried).count_ones() <= 8, "{:x}", unsure);
        }
    }
}
