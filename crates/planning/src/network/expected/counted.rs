//! Which image counts which samples.

use crate::base::{Cancelled, Watch};
use crate::geometry::PosedCamera;
use crate::ground::{SiteModel, Tile};
use crate::route::Stations;
use crate::view::{ViewLimits, ViewTable, counted_masks};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// The images of all passes in one row, and what each counts.
pub(super) struct Counted {
    /// By number: pass after pass, in the order of their stations.
    pub(super) cameras: Vec<PosedCamera>,
    /// For each tile its images, ascending, with the samples that count.
    pub(super) of_tile: Vec<Vec<(u32, u64)>>,
    /// Samples that each image counts.
    pub(super) samples: Vec<u32>,
}

/// Tiles between two questions whether to go on.
const GROUP_LEN: usize = 16;

impl Counted {
    pub(super) fn new(
        site: &SiteModel,
        passes: &[(&Stations, &ViewTable)],
        limits: &ViewLimits,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let place = |stations: &&Stations| {
            let camera = stations.camera;
            stations.poses.iter().map(move |pose| PosedCamera::new(camera, pose)).collect::<Vec<_>>()
        };
        let cameras: Vec<PosedCamera> = passes.iter().flat_map(|(stations, _)| place(stations)).collect();
        let (done, total) = (AtomicU64::new(0), site.tiles.len() as u64);
        let numbers: Vec<usize> = (0..site.tiles.len()).collect();
        let of_group = |tiles: &[usize]| {
            watch.step(done.fetch_add(tiles.len() as u64, Ordering::Relaxed), total)?;
            Ok(tiles.iter().map(|&tile| counted_in(site, tile, passes, limits)).collect::<Vec<_>>())
        };
        let groups = numbers.par_chunks(GROUP_LEN).map(of_group).collect::<Result<Vec<_>, Cancelled>>()?;
        let of_tile: Vec<Vec<(u32, u64)>> = groups.into_iter().flatten().collect();
        let mut samples = vec![0; cameras.len()];
        for (image, counted) in of_tile.iter().flatten() {
            samples[*image as usize] += counted.count_ones();
        }
        Ok(Counted { cameras, of_tile, samples })
    }

    /// Pairs of rays to one sample of each tile, as many as its samples have on average.
    pub(super) fn pairs(&self, site: &SiteModel) -> f64 {
        let rays = |(images, tile): (&Vec<(u32, u64)>, &Tile)| {
            let views: u32 = images.iter().map(|(_, samples)| samples.count_ones()).sum();
            f64::from(views) / tile.len as f64
        };
        self.of_tile.iter().zip(&site.tiles).map(rays).map(|rays| rays * rays / 2.0).sum()
    }

    /// The images that count a sample of a tile, ascending.
    pub(super) fn images_of(&self, tile: usize, lane: usize) -> impl Iterator<Item = u32> {
        self.of_tile[tile]
            .iter()
            .filter(move |(_, samples)| samples >> lane & 1 == 1)
            .map(|(image, _)| *image)
    }
}

fn counted_in(
    site: &SiteModel,
    tile: usize,
    passes: &[(&Stations, &ViewTable)],
    limits: &ViewLimits,
) -> Vec<(u32, u64)> {
    let mut first = 0;
    let mut found = Vec::new();
    for (stations, table) in passes {
        let own = counted_masks(site, tile, stations, table, limits);
        found.extend(own.into_iter().map(|(station, samples)| (first + station, samples)));
        first += stations.poses.len() as u32;
    }
    found
}
