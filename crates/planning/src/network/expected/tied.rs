//! What ties the images of a strategy, from samples that are many enough for each image.

use super::counted::Counted;
use super::finer::Finer;
use crate::base::{Cancelled, SurfaceClass, Watch, ask_now_and_then};
use crate::ground::{Sample, SiteModel};
use crate::network::{Tie, TieRules, TiedSample, TiedView, Ties};
use crate::view::ViewLimits;
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
        (site, counted): (&SiteModel, &Counted),
        finer: Option<&Finer>,
        rules: &TieRules,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let stays = |tile: &usize| finer.is_none_or(|finer| !finer.instead_of[*tile]);
        let numbers: Vec<usize> = (0..site.tiles.len()).filter(stays).collect();
        let mut found = kept(site, counted, &numbers, watch)?;
        if let Some(finer) = finer {
            let numbers: Vec<usize> = (0..finer.site.tiles.len()).collect();
            // numbered after the site's own
            let own =
                kept(&finer.site, &finer.counted, &numbers, watch)?.into_iter().map(|(sample, views)| {
                    (Sample { number: site.sample_count + sample.number, ..sample }, views)
                });
            found.extend(own);
        }
        let (places, views): (Vec<Sample>, Vec<TiedSample>) = found.into_iter().unzip();
        watch.step(0, 1)?;
        let ties = Ties::find(counted.cameras.len() as u32, &views, rules, watch)?;
        Ok(Tied { places, views, ties })
    }
}

/// Whether views are as many, and as far apart, as coverage asks for.
pub(super) fn covers(views: &[TiedView], limits: &ViewLimits) -> bool {
    let most_cosine = limits.min_intersection_rad.cos();
    let apart = |(k, one): (usize, &TiedView)| {
        views[k + 1..].iter().any(|other| one.toward.dot(other.toward) <= most_cosine)
    };
    views.len() >= limits.min_views as usize && views.iter().enumerate().any(apart)
}

impl Tied {
    /// The samples of the ground that images cover which hang together with one.
    pub(super) fn ground_of(&self, image: Option<u32>, limits: &ViewLimits) -> Vec<Sample> {
        let Some(part) = image.map(|image| self.ties.part[image as usize]) else { return Vec::new() };
        let is_of = |sample: &TiedSample| {
            let is_of = |view: &TiedView| self.ties.part[view.image as usize] == part;
            sample.views.iter().any(is_of) && covers(&sample.views, limits)
        };
        let own = self.places.iter().zip(&self.views);
        let own = own.filter(|(place, sample)| place.class == SurfaceClass::Ground && is_of(sample));
        own.map(|(place, _)| *place).collect()
    }

    /// The same as far as some images see it.
    pub(super) fn only(&self, keeps: &[bool], watch: &dyn Watch) -> Result<Self, Cancelled> {
        let (mut places, mut views) = (Vec::new(), Vec::new());
        for (number, (place, sample)) in self.places.iter().zip(&self.views).enumerate() {
            ask_now_and_then(number, watch)?;
            let own: Vec<TiedView> =
                sample.views.iter().filter(|view| keeps[view.image as usize]).copied().collect();
            if !own.is_empty() {
                places.push(*place);
                views.push(TiedSample { area_m2: sample.area_m2, views: own });
            }
        }
        let both = |tie: &&Tie| keeps[tie.images.0 as usize] && keeps[tie.images.1 as usize];
        let ties = self.ties.ties.iter().filter(both).copied().collect();
        Ok(Tied { places, views, ties: Ties { ties, ..self.ties.clone() } })
    }
}

/// The samples of some tiles that are kept.
fn kept(
    site: &SiteModel,
    counted: &Counted,
    tiles: &[usize],
    watch: &dyn Watch,
) -> Result<Vec<(Sample, TiedSample)>, Cancelled> {
    let (done, total) = (AtomicU64::new(0), tiles.len() as u64);
    let of_group = |tiles: &[usize]| {
        watch.step(done.fetch_add(tiles.len() as u64, Ordering::Relaxed), total)?;
        Ok(tiles.iter().flat_map(|&tile| kept_of(site, counted, tile)).collect::<Vec<_>>())
    };
    let groups = tiles.par_chunks(GROUP_LEN).map(of_group).collect::<Result<Vec<_>, Cancelled>>()?;
    Ok(groups.into_iter().flatten().collect())
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
