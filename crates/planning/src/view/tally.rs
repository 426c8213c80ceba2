#![expect(
    clippy::needless_range_loop,
    reason = "several lanes at one index read best, and become vector code"
)]

use super::figures::ViewLimits;
use super::frustum::Along;
use super::lanes::{Flags, Lanes, bits, pack};
use super::rays::{LinkRule, Rays, TIE};
use super::rose::{BIN_COUNT, Bins};
use super::table::ViewTable;
use crate::base::number::narrow;
use crate::geometry::PosedCamera;
use crate::ground::{SiteModel, TILE_LEN, Tile};
use crate::route::Stations;

/// What the limits leave of one camera's view of a tile.
pub(crate) struct Limited {
    /// Bits of the samples seen fine enough.
    pub(crate) fine: u64,
    /// Bits of the samples seen steeply enough.
    pub(crate) steep: u64,
}

/// One camera's view of a tile, sample by sample.
struct Look {
    /// From sample to projection centre.
    to_camera: [Lanes; 3],
    /// Squared length of that.
    range2_m2: Lanes,
    /// Depth in the camera.
    depth_m: Lanes,
    /// Distance of the projection centre from the samples' plane.
    distance_m: Depths,
}

/// How far a projection centre is from the plane of each sample.
#[expect(clippy::large_enum_variant, reason = "it lives on the stack of one loop, and a box would cost more")]
enum Depths {
    /// All samples lie on one plane.
    Plane(f64),
    /// Each has its own.
    Uneven(Lanes),
}

impl Look {
    fn new(tile: &Tile, camera: &PosedCamera) -> Look {
        let centre = (camera.centre_m - tile.centre_m).as_vec3();
        let to_camera = [(centre.x, &tile.x_m), (centre.y, &tile.y_m), (centre.z, &tile.z_m)]
            .map(|(camera, samples)| samples.map(|at| camera - at));
        let mut range2_m2 = [0.0; TILE_LEN];
        for (k, range2) in range2_m2.iter_mut().enumerate() {
            let [x, y, z] = [to_camera[0][k], to_camera[1][k], to_camera[2][k]];
            *range2 = x * x + y * y + z * z;
        }
        let depth_m = Along::new(camera.forward, camera, tile).lanes(tile);
        let distance_m = match &tile.relief {
            None => Depths::Plane((camera.centre_m - tile.centre_m).dot(tile.normal)),
            Some(relief) => {
                let mut lanes = [0.0; TILE_LEN];
                for k in 0..TILE_LEN {
                    let [x, y, z] = [to_camera[0][k], to_camera[1][k], to_camera[2][k]];
                    lanes[k] = x * relief.x[k] + y * relief.y[k] + z * relief.z[k];
                }
                Depths::Uneven(lanes)
            }
        };
        Look { to_camera, range2_m2, depth_m, distance_m }
    }

    /// Incidence i ≤ a is range ≤ distance / cos a; GSD² = z³ / (f² distance) ≤ g² is z³ ≤ g² f² distance.
    ///
    /// # References
    /// As [`PosedCamera::gsd_m`]; incidence by the definition of the cosine.
    fn limited(&self, tile: &Tile, camera: &PosedCamera, limits: &ViewLimits) -> Limited {
        let cosine = limits.max_incidence_rad.cos();
        let finest = limits.max_gsd_m[tile.class] * camera.model.focal_length_px * (1.0 + TIE);
        let distance_m = match &self.distance_m {
            Depths::Plane(distance_m) => *distance_m,
            Depths::Uneven(lanes) => return self.limited_each(lanes, cosine, finest),
        };
        let farthest = if cosine > 0.0 { distance_m / cosine * (1.0 + TIE) } else { f64::INFINITY };
        let (range2, depth) = (narrow(farthest * farthest), narrow((finest * finest * distance_m).cbrt()));
        let flags = |lanes: &Lanes, limit: f32| -> Flags { lanes.map(|value| u8::from(value <= limit)) };
        Limited { fine: pack(&flags(&self.depth_m, depth)), steep: pack(&flags(&self.range2_m2, range2)) }
    }

    /// As [`Look::limited`], with a plane of its own for each sample.
    fn limited_each(&self, distance_m: &Lanes, cosine: f64, finest: f64) -> Limited {
        let (mut fine, mut steep): (Flags, Flags) = ([0; TILE_LEN], [0; TILE_LEN]);
        let reach = if cosine > 0.0 { narrow((1.0 + TIE) / cosine) } else { f32::INFINITY };
        let finest2 = narrow(finest * finest);
        for k in 0..TILE_LEN {
            let (distance, depth) = (distance_m[k], self.depth_m[k]);
            let farthest = distance * reach;
            steep[k] = u8::from(self.range2_m2[k] <= farthest * farthest);
            fine[k] = u8::from(depth * depth * depth <= finest2 * distance);
        }
        Limited { fine: pack(&fine), steep: pack(&steep) }
    }

    /// Unit directions to the camera.
    fn directions(&self) -> [Lanes; 3] {
        let mut directions = self.to_camera;
        for k in 0..TILE_LEN {
            let inverse = 1.0 / self.range2_m2[k].sqrt();
            directions[0][k] *= inverse;
            directions[1][k] *= inverse;
            directions[2][k] *= inverse;
        }
        directions
    }

    /// Cosine of the incidence = distance / range, squared.
    fn cosine2(&self) -> Lanes {
        match &self.distance_m {
            Depths::Plane(distance_m) => {
                let distance2 = narrow(distance_m * distance_m);
                self.range2_m2.map(|range2| distance2 / range2)
            }
            Depths::Uneven(lanes) => std::array::from_fn(|k| lanes[k] * lanes[k] / self.range2_m2[k]),
        }
    }

    /// GSD = √(z³ / (f² distance)), squared.
    ///
    /// # References
    /// As [`PosedCamera::gsd_m`].
    fn gsd2_m2(&self, camera: &PosedCamera) -> Lanes {
        let focal = camera.model.focal_length_px;
        match &self.distance_m {
            Depths::Plane(distance_m) => {
                let scale = narrow(1.0 / (focal * focal * distance_m));
                self.depth_m.map(|z| z * z * z * scale)
            }
            Depths::Uneven(lanes) => {
                let scale = narrow(1.0 / (focal * focal));
                std::array::from_fn(|k| self.depth_m[k].powi(3) * scale / lanes[k])
            }
        }
    }
}

/// The incidence of a squared cosine; infinite for none, which is below 0.
///
/// # References
/// Derived: the angle of a sine and a cosine.
fn incidence_rad(cosine2: f32) -> f32 {
    if cosine2 < 0.0 { f32::INFINITY } else { (1.0 - cosine2).max(0.0).sqrt().atan2(cosine2.sqrt()) }
}

/// Which samples of a tile each station sees within the limits: (station, bits), only stations that see some.
///
/// The bits are those of the table less the views whose incidence or GSD is beyond its limit; the table must be of the
/// same site and stations.
pub fn counted_masks(
    site: &SiteModel,
    tile_index: usize,
    stations: &Stations,
    table: &ViewTable,
    limits: &ViewLimits,
) -> Vec<(u32, u64)> {
    let tile = &site.tiles[tile_index];
    let counted = table.of_tile(tile_index).iter().map(|view| {
        let camera = PosedCamera::new(stations.camera, &stations.poses[view.station as usize]);
        let limited = Look::new(tile, &camera).limited(tile, &camera, limits);
        (view.station, view.samples & limited.fine & limited.steep)
    });
    counted.filter(|&(_, samples)| samples != 0).collect()
}

/// What the samples of one tile get.
pub(crate) struct TileTally {
    /// By sample: counted views.
    pub(crate) views: Vec<u32>,
    /// By sample: best counted view's GSD, infinite without one.
    pub(crate) best_gsd_m: Vec<f32>,
    /// By sample: least incidence of a counted view, infinite without one.
    pub(crate) least_incidence_rad: Vec<f32>,
    /// By sample: greatest angle between two counted rays.
    pub(crate) max_intersection_rad: Vec<f32>,
    /// Samples covered.
    pub(crate) covered: u64,
    /// Samples in some frame that they face.
    pub(crate) framed: u64,
    /// Samples that some station sees, whatever the limits.
    pub(crate) visible: u64,
    /// Samples that some station sees fine enough.
    pub(crate) fine: u64,
    /// Counted views of all samples by direction, each sample by its weight.
    pub(crate) bins: Vec<f64>,
}

/// Rays of all samples of a tile, gathered view by view; kept from tile to tile to spare allocations.
#[derive(Default)]
pub(crate) struct Gathered {
    /// Room for each sample's rays.
    room: usize,
    x: Vec<f32>,
    y: Vec<f32>,
    z: Vec<f32>,
}

impl Gathered {
    fn reset(&mut self, room: usize) {
        self.room = room;
        let length = room * TILE_LEN;
        for lane in [&mut self.x, &mut self.y, &mut self.z] {
            if lane.len() < length {
                lane.resize(length, 0.0);
            }
        }
    }

    fn put(&mut self, sample: usize, number: u32, [x, y, z]: [f32; 3]) {
        let at = sample * self.room + number as usize;
        self.x[at] = x;
        self.y[at] = y;
        self.z[at] = z;
    }

    fn of(&self, sample: usize, count: u32) -> Rays<'_> {
        let range = sample * self.room..sample * self.room + count as usize;
        Rays { x: &self.x[range.clone()], y: &self.y[range.clone()], z: &self.z[range] }
    }
}

/// A pass with its stations' cameras worked out.
pub(crate) struct PassViews<'a> {
    pub(crate) cameras: Vec<PosedCamera>,
    pub(crate) table: &'a ViewTable,
}

/// Tallies all passes' views of one tile, in order.
pub(crate) fn tally(
    site: &SiteModel,
    number: usize,
    passes: &[PassViews<'_>],
    limits: &ViewLimits,
    gathered: &mut Gathered,
) -> TileTally {
    let tile = &site.tiles[number];
    gathered.reset(passes.iter().map(|pass| pass.table.of_tile(number).len()).sum());
    let mut sums = Sums::new(tile);
    for pass in passes {
        sums.framed |= pass.table.framed[number];
        for view in pass.table.of_tile(number) {
            sums.add(&pass.cameras[view.station as usize], view.samples, limits, gathered);
        }
    }
    sums.finish(limits, gathered)
}

/// What the views of a tile add up to so far.
struct Sums<'a> {
    tile: &'a Tile,
    sort: Bins,
    counts: [u32; TILE_LEN],
    best_gsd2_m2: Lanes,
    /// Greatest squared cosine of a counted view's incidence; below 0 without one.
    best_cosine2: Lanes,
    bins: [f64; BIN_COUNT],
    weights: [f64; TILE_LEN],
    framed: u64,
    visible: u64,
    fine: u64,
}

impl Sums<'_> {
    fn new(tile: &Tile) -> Sums<'_> {
        Sums {
            tile,
            sort: Bins::of(tile),
            counts: [0; TILE_LEN],
            best_gsd2_m2: [f32::INFINITY; TILE_LEN],
            best_cosine2: [-1.0; TILE_LEN],
            bins: [0.0; BIN_COUNT],
            weights: std::array::from_fn(|k| tile.weight(k)),
            framed: 0,
            visible: 0,
            fine: 0,
        }
    }

    /// Adds what one camera sees of the tile.
    fn add(&mut self, camera: &PosedCamera, seen: u64, limits: &ViewLimits, gathered: &mut Gathered) {
        let look = Look::new(self.tile, camera);
        let Limited { fine, steep } = look.limited(self.tile, camera, limits);
        self.visible |= seen;
        self.fine |= seen & fine;
        let counted = seen & fine & steep;
        if counted == 0 {
            return;
        }
        let gsd2_m2 = look.gsd2_m2(camera);
        let cosine2 = look.cosine2();
        let [x, y, z] = look.directions();
        let mut bin = [0_u8; TILE_LEN];
        for k in 0..TILE_LEN {
            bin[k] = self.sort.of_direction(x[k], y[k], z[k]);
        }
        for k in bits(counted) {
            gathered.put(k, self.counts[k], [x[k], y[k], z[k]]);
            self.counts[k] += 1;
            self.best_gsd2_m2[k] = self.best_gsd2_m2[k].min(gsd2_m2[k]);
            self.best_cosine2[k] = self.best_cosine2[k].max(cosine2[k]);
            self.bins[usize::from(bin[k])] += self.weights[k];
        }
    }

    /// Works out coverage from all rays.
    fn finish(self, limits: &ViewLimits, gathered: &Gathered) -> TileTally {
        let len = self.tile.len;
        let rule = LinkRule::from(limits);
        let mut covered = 0;
        let mut max_intersection_rad = Vec::with_capacity(len);
        for (k, &count) in self.counts[..len].iter().enumerate() {
            let rays = gathered.of(k, count);
            let greatest_rad = rays.greatest_angle_rad();
            covered |= u64::from(rays.cover(&rule, greatest_rad)) << k;
            max_intersection_rad.push(greatest_rad);
        }
        TileTally {
            views: self.counts[..len].to_vec(),
            best_gsd_m: self.best_gsd2_m2[..len].iter().map(|gsd2| gsd2.sqrt()).collect(),
            least_incidence_rad: self.best_cosine2[..len].iter().map(|&c| incidence_rad(c)).collect(),
            max_intersection_rad,
            covered,
            framed: self.framed,
            visible: self.visible,
            fine: self.fine,
            bins: self.bins.to_vec(),
        }
    }
}
