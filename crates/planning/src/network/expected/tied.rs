//! What ties the images of a strategy, from samples that are many enough for each image.

use super::counted::Counted;
use crate::base::{Cancelled, Watch};
use crate::ground::{Sample, SiteModel};
use crate::network::{TieRules, TiedSample, TiedView, Ties};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Samples that an image keeps if it counts more: a tenth of them are four times those that a tie takes.
const SAMPLES_AN_IMAGE: u32 = 256;

/// Tiles between two questions whether to go on.
const GROUP_LEN: usize = 16;

/// Samples with their counted views, and the ties that these make.
pub(super) struct Tied {
    /// The samples; the area of each is what it stands for among these.
    pub(super) places: Vec<Sample>,
    /// Their views, one by one.
    pub(super) views: Vec<TiedSample>,
    pub(super) ties: Ties,
}

impl Tied {
    pub(super) fn new(
        site: &SiteModel,
        counted: &Counted,
        rules: &TieRules,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let (done, total) = (AtomicU64::new(0), site.tiles.len() as u64);
        let numbers: Vec<usize> = (0..site.tiles.len()).collect();
        let of_group = |tiles: &[usize]| {
            watch.step(done.fetch_add(tiles.len() as u64, Ordering::Relaxed), total)?;
            Ok(tiles.iter().flat_map(|&tile| kept_of(site, counted, tile)).collect::<Vec<_>>())
        };
        let groups = numbers.par_chunks(GROUP_LEN).map(of_group).collect::<Result<Vec<_>, Cancelled>>()?;
        let (places, views): (Vec<Sample>, Vec<TiedSample>) = groups.into_iter().flatten().unzip();
        let ties = Ties::find(counted.cameras.len() as u32, &views, rules, watch)?;
        Ok(Tied { places, views, ties })
    }
}

/// The samples of a tile that are kept: so many that every image that sees it has its share.
fn kept_of(site: &SiteModel, counted: &Counted, number: usize) -> Vec<(Sample, TiedSample)> {
    let tile = &site.tiles[number];
    let fewest = counted.of_tile[number].iter().map(|(image, _)| counted.samples[*image as usize]).min();
    let Some(fewest) = fewest else { return Vec::new() };
    let stride = (fewest / SAMPLES_AN_IMAGE).max(1) as usize;
    let count = (tile.len / stride).max(1);
    let lanes = (0..count).map(|k| (2 * k + 1) * tile.len / (2 * count));
    let area_m2 = tile.area_m2() / count as f64;
    let kept = lanes.filter_map(|lane| {
        let sample = Sample { area_m2, ..tile.sample(lane) };
        let views: Vec<TiedView> =
            counted.images_of(number, lane).filter_map(|image| view_of(counted, image, &sample)).collect();
        (!views.is_empty()).then_some((sample, TiedSample { area_m2, views }))
    });
    kept.collect()
}

fn view_of(counted: &Counted, image: u32, sample: &Sample) -> Option<TiedView> {
    let camera = &counted.cameras[image as usize];
    let gsd_m = camera.gsd_m(sample.position_m, sample.normal)?;
    Some(TiedView { image, toward: (camera.centre_m - sample.position_m).normalize(), gsd_m })
}
