#![expect(
    clippy::needless_bitwise_bool,
    reason = "loops over lanes without branches, which the compiler turns into vector code"
)]

use super::lanes::{Flags, Lanes, bits, pack};
use crate::surface::heights::{Heights, Horizon, Side};
use crate::surface::number::narrow;
use crate::{Prism, SiteModel, TILE_LEN, Terrain, Tile};
use glam::{DVec2, DVec3};

/// Where a ray starts: this far from the sample along its normal.
const START_M: f64 = 0.01;

/// Distance by which a tile is taken as larger in the quick tests, so that their rounding never decides.
const SLACK_M: f32 = 0.02;

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
        let camera = heights.scaled(camera_m);
        let side = |k: usize| if self.buried >> k & 1 == 1 { Side::Below } else { Side::Above };
        bits(walked)
            .filter(|&k| heights.meets(self.scaled[k], camera, side(k)))
            .fold(seen, |seen, k| seen & !(1 << k))
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
