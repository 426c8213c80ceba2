use super::frustum::{Frustum, Lies, frustums};
use super::shadow::Shadows;
use super::table::{TileView, ViewTable};
use crate::surface::number::index;
use crate::{Cancelled, SiteModel, Stations, Tile, Watch};
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
        let before = group.views.len();
        let seen = seen(tile);
        let mut framed = 0;
        for &station in &near {
            let frustum = &frustums[station as usize];
            let camera_m = frustum.camera.centre_m;
            // all samples lie on one plane, so one sign tells for all of them
            if (camera_m - tile.centre_m).dot(tile.normal) <= 0.0 {
                continue;
            }
            let candidates = frustum.in_frame(tile);
            if candidates == 0 {
                continue;
            }
            framed |= candidates;
            let samples = seen(candidates, camera_m);
            if samples != 0 {
                group.views.push(TileView { station, samples });
            }
        }
        group.counts.push(group.views.len() - before);
        group.framed.push(framed);
    }
    group
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
