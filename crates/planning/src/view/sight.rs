use super::frustum::{Frustum, Lies, frustums};
use super::lanes::{Flags, pack};
use super::shadow::Shadows;
use super::table::{TileView, ViewTable};
use crate::base::number::index;
use crate::base::{Cancelled, Watch};
use crate::ground::{Relief, SiteModel, TILE_LEN, Tile};
use crate::route::Stations;
use glam::DVec3;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Tiles that are culled together and between which work may be cancelled.
pub(crate) const GROUP_LEN: usize = 16;

/// Which samples each station of a pass sees: in its frame, facing it and not hidden. Rays, no limits.
///
/// In the frame is −0.5 ≤ u < width − 0.5, and so for v, in front; facing is n·d > 0 with d from the sample to the
/// projection centre; hidden is as in [`SiteModel::triangles`]. The result does not depend on the number of threads.
///
/// # Accuracy
/// Single precision relative to the tile's centre: decisions within about 1e-3 px of a frame's edge or 1e-4 m of a
/// shadow's may differ from double precision.
///
/// # Errors
/// [`Cancelled`], when the watch says so; it is asked for each group of tiles.
pub fn sight(site: &SiteModel, stations: &Stations, watch: &dyn Watch) -> Result<ViewTable, Cancelled> {
    table(site, stations, watch, |tile| {
        let shadows = Shadows::new(tile, site);
        move |candidates, camera_m| shadows.seen(candidates, camera_m)
    })
}

/// As [`sight`], but what hides is ignored: every sample in a station's frame and facing it.
///
/// # Errors
/// [`Cancelled`], when the watch says so.
pub fn framed(site: &SiteModel, stations: &Stations, watch: &dyn Watch) -> Result<ViewTable, Cancelled> {
    table(site, stations, watch, |_| |candidates, _| candidates)
}

/// The views of a group of tiles: how many of each tile, and all of them in order.
#[derive(Default)]
struct GroupViews {
    counts: Vec<usize>,
    views: Vec<TileView>,
    framed: Vec<u64>,
}

/// Makes a table in which `seen` tells, for a tile, which of the candidate samples a camera at a place really sees.
fn table<'s, S>(
    site: &'s SiteModel,
    stations: &Stations,
    watch: &dyn Watch,
    seen: impl Fn(&'s Tile) -> S + Sync,
) -> Result<ViewTable, Cancelled>
where
    S: Fn(u64, DVec3) -> u64,
{
    let frustums = frustums(stations);
    let (done, total) = (AtomicU64::new(0), site.tiles.len() as u64);
    let groups: Vec<GroupViews> = site
        .tiles
        .par_chunks(GROUP_LEN)
        .map(|tiles| {
            watch.step(done.fetch_add(tiles.len() as u64, Ordering::Relaxed), total)?;
            Ok(group_views(tiles, &frustums, &seen))
        })
        .collect::<Result<_, Cancelled>>()?;
    watch.step(total, total)?;
    Ok(joined(&groups))
}

fn group_views<'s, S>(tiles: &'s [Tile], frustums: &[Frustum], seen: &impl Fn(&'s Tile) -> S) -> GroupViews
where
    S: Fn(u64, DVec3) -> u64,
{
    let (centre_m, radius_m) = sphere_round(tiles);
    let near: Vec<u32> = (0..frustums.len())
        .filter(|&k| frustums[k].sphere(centre_m, radius_m) != Lies::Outside)
        .map(index)
        .collect();
    let mut group = GroupViews::default();
    for tile in tiles {
        group.add(tile, &near, frustums, seen(tile));
    }
    group
}

impl GroupViews {
    /// Adds the views that the stations near a tile have of it.
    fn add(&mut self, tile: &Tile, near: &[u32], frustums: &[Frustum], seen: impl Fn(u64, DVec3) -> u64) {
        let before = self.views.len();
        let mut framed = 0;
        for &station in near {
            let frustum = &frustums[station as usize];
            let camera_m = frustum.camera.centre_m;
            let candidates = match &tile.relief {
                // all samples lie on one plane, so one sign tells for all of them
                None if (camera_m - tile.centre_m).dot(tile.normal) > 0.0 => frustum.in_frame(tile),
                None => 0,
                Some(relief) => match frustum.in_frame(tile) {
                    0 => 0,
                    framed => framed & facing(tile, relief, camera_m),
                },
            };
            framed |= candidates;
            let samples = if candidates == 0 { 0 } else { seen(candidates, camera_m) };
            if samples != 0 {
                self.views.push(TileView { station, samples });
            }
        }
        self.counts.push(self.views.len() - before);
        self.framed.push(framed);
    }
}

/// The samples of a tile on uneven ground that face a camera.
fn facing(tile: &Tile, relief: &Relief, camera_m: DVec3) -> u64 {
    let [cx, cy, cz] = (camera_m - tile.centre_m).as_vec3().to_array();
    let mut flags: Flags = [0; TILE_LEN];
    for (k, flag) in flags.iter_mut().enumerate() {
        let (x, y, z) = (cx - tile.x_m[k], cy - tile.y_m[k], cz - tile.z_m[k]);
        *flag = u8::from(x * relief.x[k] + y * relief.y[k] + z * relief.z[k] > 0.0);
    }
    pack(&flags)
}

fn sphere_round(tiles: &[Tile]) -> (DVec3, f64) {
    let low = tiles.iter().map(|t| t.centre_m).reduce(DVec3::min).unwrap_or_default();
    let high = tiles.iter().map(|t| t.centre_m).reduce(DVec3::max).unwrap_or_default();
    let centre_m = (low + high) / 2.0;
    (centre_m, tiles.iter().map(|t| t.centre_m.distance(centre_m) + t.radius_m).fold(0.0, f64::max))
}

fn joined(groups: &[GroupViews]) -> ViewTable {
    let mut table = ViewTable { starts: vec![0], ..ViewTable::default() };
    table.views.reserve_exact(groups.iter().map(|group| group.views.len()).sum());
    let mut end = 0;
    for group in groups {
        for count in &group.counts {
            end += count;
            table.starts.push(index(end));
        }
        table.views.extend_from_slice(&group.views);
        table.framed.extend_from_slice(&group.framed);
    }
    table
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use super::*;
    use crate::base::{NoWatch, SurfaceClass};
    use crate::geometry::{CameraModel, Pose};
    use crate::ground::{Prism, SamplePoint};
    use crate::scenario::Terrain;
    use glam::DVec2;

    /// Stations with a field of view of 127° that look straight down or along a heading.
    fn stations(places: &[((f64, f64, f64), f64, f64)]) -> Stations {
        let camera = CameraModel::pinhole(4000, 4000, 1000.0);
        let pose = |&(at, heading_deg, tilt_deg): &((f64, f64, f64), f64, f64)| Pose {
            position_m: at.into(),
            heading_rad: heading_deg.to_radians(),
            tilt_rad: tilt_deg.to_radians(),
            roll_rad: 0.0,
        };
        Stations { camera, poses: places.iter().map(pose).collect() }
    }

    fn point(class: SurfaceClass, at: (f64, f64, f64), normal: DVec3) -> SamplePoint {
        SamplePoint { class, position_m: at.into(), normal, area_m2: 1.0 }
    }

    fn tower() -> Prism {
        let footprint_m = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)].map(DVec2::from).to_vec();
        Prism { footprint_m, bottom_m: -1.0, top_m: 10.0 }
    }

    fn seen(points: &[SamplePoint], stations: &Stations) -> Vec<u32> {
        let site = SiteModel::from_points(points, vec![tower()], Terrain::default());
        sight(&site, stations, &NoWatch).unwrap().views.iter().map(|view| view.station).collect()
    }

    /// Derived: from 3 m behind a 10 m wall, a camera 28 m off is seen above 10 × 28 / 3 = 93.3 m.
    #[test]
    fn a_wall_hides_up_to_its_top() {
        let behind = point(SurfaceClass::Ground, (8.0, 0.0, 0.0), DVec3::Z);
        let stations = stations(&[((-20.0, 0.0, 92.5), 0.0, 0.0), ((-20.0, 0.0, 94.0), 0.0, 0.0)]);
        assert_eq!(seen(&[behind], &stations), [1]);
        let site = SiteModel::from_points(&[behind], vec![tower()], Terrain::default());
        let all: Vec<_> =
            framed(&site, &stations, &NoWatch).unwrap().views.iter().map(|v| v.station).collect();
        assert_eq!(all, [0, 1]);
    }

    /// Derived: past the corner (5, −5), from (8, 0), rays to x < 5 + 3 t, y = −5 t with t > 1 are free.
    #[test]
    fn a_ray_past_the_corner_is_free() {
        let beside = point(SurfaceClass::Ground, (8.0, 0.0, 0.0), DVec3::Z);
        let stations = stations(&[((1.9, -10.0, 5.0), 45.0, 60.0), ((2.1, -10.0, 5.0), 45.0, 60.0)]);
        assert_eq!(seen(&[beside], &stations), [1]);
    }

    /// Derived: a structure never hides its own roof or wall from a camera before it, however flat the ray; from behind
    /// and from under ground nothing is seen.
    #[test]
    fn own_faces_are_seen_from_before_only() {
        let wall = point(SurfaceClass::Wall, (5.0, 0.0, 2.0), DVec3::X);
        let roof = point(SurfaceClass::Roof, (0.0, 0.0, 10.0), DVec3::Z);
        let stations = stations(&[
            ((5.5, 30.0, 2.0), 180.0, 90.0),
            ((40.0, 0.0, 10.5), 270.0, 90.0),
            ((40.0, 0.0, 9.5), 270.0, 90.0),
            ((-40.0, 0.0, 5.0), 90.0, 90.0),
            ((40.0, 0.0, -2.0), 270.0, 90.0),
        ]);
        assert_eq!(seen(&[wall], &stations), [0, 1, 2]);
        assert_eq!(seen(&[roof], &stations), [1]);
    }

    /// Derived: a frame is half-open: of two points on its sides, the one at −0.5 px is in it.
    #[test]
    fn the_frame_is_half_open() {
        let ends = [-20.0, 20.0].map(|x| point(SurfaceClass::Ground, (x, 30.0, 0.0), DVec3::Z));
        let site = SiteModel::from_points(&ends, Vec::new(), Terrain::default());
        let table = framed(&site, &stations(&[((0.0, 30.0, 10.0), 0.0, 0.0)]), &NoWatch).unwrap();
        assert_eq!(table.framed, [1, 0]);
    }

    /// Derived: a watch that gives up ends the work.
    #[test]
    fn cancelling_ends_the_work() {
        struct GivesUp;
        impl Watch for GivesUp {
            fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
                Err(Cancelled)
            }
        }
        let site = SiteModel::from_points(
            &[point(SurfaceClass::Ground, (0.0, 0.0, 0.0), DVec3::Z)],
            Vec::new(),
            Terrain::default(),
        );
        assert_eq!(sight(&site, &stations(&[((0.0, 0.0, 9.0), 0.0, 0.0)]), &GivesUp), Err(Cancelled));
    }
}
