//! How well every sample is determined by the images that count it.

use super::counted::Counted;
use super::solve::Solved;
use super::terms::NetworkTerms;
use super::thinned::ChosenPoints;
use super::tied::Tied;
use crate::base::number::narrow;
use crate::base::{ByClass, Cancelled, SurfaceClass, Watch};
use crate::ground::{Sample, SiteModel};
use crate::network::image_point::ImagePoint;
use crate::network::intersection::{inverse_if_determined, outer};
use crate::network::{Calibration, ImageBlock, Poses};
use crate::view::ViewFigures;
use glam::{DMat3, DVec3};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Standard deviations sample by sample, in the site model's numbering; infinite where nothing is determined.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SampleSigmas {
    /// Of the place: √(σx² + σy²), in metres.
    pub horizontal_m: Vec<f32>,
    /// Of the height, in metres.
    pub vertical_m: Vec<f32>,
    /// Along the surface's normal, in metres.
    pub normal_m: Vec<f32>,
}

/// Standard deviations of some surface, by area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ErrorSpread {
    /// Half of it is as precise as this, or more.
    pub p50_m: f64,
    /// 95 % of it is.
    pub p95_m: f64,
    /// Root of their mean square: what check points all over it would show.
    pub rms_m: f64,
    /// All of it.
    pub area_m2: f64,
    /// That which is more precise than the 95th percentile.
    pub finer_m2: f64,
    /// That which is as precise, or more.
    pub as_fine_m2: f64,
}

/// How precise points on what is covered come out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Precision {
    /// Of the place.
    pub horizontal: ErrorSpread,
    /// Of the height.
    pub vertical: ErrorSpread,
    /// Along the surface's normal.
    pub normal: ErrorSpread,
    /// Share of what is covered that is determined at all, 0 to 1.
    pub determined_ratio: f64,
}

impl SampleSigmas {
    /// Of samples of which nothing is known.
    pub(super) fn unknown(samples: usize) -> Self {
        let none = || vec![f32::INFINITY; samples];
        SampleSigmas { horizontal_m: none(), vertical_m: none(), normal_m: none() }
    }
}

/// What intersections of a solved block's images are worked out from.
pub(super) struct Intersected<'a> {
    site: &'a SiteModel,
    counted: &'a Counted,
    block: ImageBlock,
    poses: Poses,
    calibration: Calibration,
    /// The part of each image; nothing for one that neither carries the network nor is stood for.
    part: Vec<Option<u32>>,
    samples_a_tile: usize,
}

/// Tiles between two questions whether to go on.
const GROUP_LEN: usize = 1;

impl<'a> Intersected<'a> {
    pub(super) fn new(
        site: &'a SiteModel,
        (counted, tied, chosen): (&'a Counted, &Tied, &ChosenPoints),
        solved: Solved,
        terms: &NetworkTerms,
        watch: &dyn Watch,
    ) -> Result<Self, Cancelled> {
        let mut part = vec![None; counted.cameras.len()];
        let stood_for = |image: &usize| chosen.step > 1 && counted.samples[*image] > 0;
        let carried = solved.network.carried.images.iter().map(|image| *image as usize);
        for image in carried.chain((0..part.len()).filter(stood_for)) {
            part[image] = Some(tied.ties.part[image]);
        }
        Ok(Intersected {
            site,
            counted,
            block: solved.block,
            poses: Poses::new(solved.network, watch)?,
            calibration: solved.calibration,
            part,
            samples_a_tile: terms
                .thinning
                .samples_of(counted.pairs(site) / (chosen.step * chosen.step) as f64),
        })
    }

    /// Standard deviations of all samples.
    ///
    /// The noise of a sample's own image points is carried through for each; the errors of the images are for some samples of a tile, and
    /// the others take them from the one of these that
    /// has about as many images.
    pub(super) fn sigmas(&self, watch: &dyn Watch) -> Result<SampleSigmas, Cancelled> {
        let (done, total) = (AtomicU64::new(0), self.site.tiles.len() as u64);
        let numbers: Vec<usize> = (0..self.site.tiles.len()).collect();
        let of_group = |tiles: &[usize]| {
            watch.step(done.fetch_add(tiles.len() as u64, Ordering::Relaxed), total)?;
            let of_tiles = tiles.iter().map(|&tile| self.of_tile(tile, watch));
            Ok(of_tiles.collect::<Result<Vec<_>, Cancelled>>()?.concat())
        };
        let groups = numbers.par_chunks(GROUP_LEN).map(of_group).collect::<Result<Vec<_>, Cancelled>>()?;
        let mut made = SampleSigmas::default();
        for (sample, m2) in groups.into_iter().flatten() {
            let root = |m2: f64| narrow(m2.max(0.0).sqrt());
            let [h, z, n] = m2.map_or([f32::INFINITY; 3], |m2| {
                [
                    root(m2.x_axis.x + m2.y_axis.y),
                    root(m2.z_axis.z),
                    root(sample.normal.dot(m2 * sample.normal)),
                ]
            });
            made.horizontal_m.push(h);
            made.vertical_m.push(z);
            made.normal_m.push(n);
        }
        Ok(made)
    }

    /// Covariances of the samples of a tile.
    fn of_tile(&self, number: usize, watch: &dyn Watch) -> Result<Vec<(Sample, Option<DMat3>)>, Cancelled> {
        let tile = &self.site.tiles[number];
        let samples: Vec<Sample> = (0..tile.len).map(|lane| tile.sample(lane)).collect();
        let images: Vec<Vec<u32>> = (0..tile.len).map(|lane| self.together(number, lane)).collect();
        let of_rays: Vec<Option<DMat3>> = samples
            .iter()
            .zip(&images)
            .map(|(sample, images)| self.of_rays_m2(images, sample.position_m))
            .collect();
        let mut able: Vec<usize> = (0..tile.len).filter(|lane| of_rays[*lane].is_some()).collect();
        able.sort_by_key(|lane| (images[*lane].len(), *lane));
        let count = self.samples_a_tile.min(able.len());
        let last = able.len().saturating_sub(1);
        let carried = (0..count).map(|k| able[if count == 1 { last / 2 } else { k * last / (count - 1) }]);
        let errors_of = |lane: usize| {
            watch.step(number as u64, self.site.tiles.len() as u64)?;
            let at_m = samples[lane].position_m;
            let errors = self.poses.point_errors_m2(&self.block, &images[lane], at_m, &self.calibration);
            Ok(errors.map(|errors| (images[lane].len(), errors.of_images_m2)))
        };
        let carried: Vec<(usize, DMat3)> =
            carried.map(errors_of).filter_map(Result::transpose).collect::<Result<_, Cancelled>>()?;
        let alike = |seen: usize| {
            carried.iter().min_by_key(|(other, _)| other.abs_diff(seen)).map(|(_, errors)| *errors)
        };
        let whole = |((sample, rays), images): ((Sample, Option<DMat3>), &Vec<u32>)| {
            (sample, rays.and_then(|rays_m2| Some(rays_m2 + alike(images.len())?)))
        };
        Ok(samples.into_iter().zip(of_rays).zip(&images).map(whole).collect())
    }

    /// The images that count a sample, of the part that most of them are of.
    fn together(&self, tile: usize, lane: usize) -> Vec<u32> {
        let images: Vec<u32> =
            self.counted.images_of(tile, lane).filter(|image| self.part[*image as usize].is_some()).collect();
        let mut counts: Vec<(u32, usize)> = Vec::new();
        for part in images.iter().filter_map(|image| self.part[*image as usize]) {
            match counts.iter_mut().find(|(known, _)| *known == part) {
                Some((_, count)) => *count += 1,
                None => counts.push((part, 1)),
            }
        }
        let most = counts.iter().max_by_key(|(part, count)| (*count, std::cmp::Reverse(*part)));
        let Some(&(most, _)) = most else { return images };
        images.into_iter().filter(|image| self.part[*image as usize] == Some(most)).collect()
    }

    /// Covariance of a point if its images were known.
    fn of_rays_m2(&self, images: &[u32], at_m: DVec3) -> Option<DMat3> {
        let weight = self.block.image_sigma_px.powi(-2);
        let rays = images.iter().filter_map(|&image| {
            ImagePoint::by_point_of(&self.block.images[image as usize], &self.block.lens, at_m)
        });
        let normal = rays.flatten().fold(DMat3::ZERO, |sum, row| sum + outer(row, weight * row));
        inverse_if_determined(&normal).filter(|_| images.len() >= 2)
    }
}

/// How precise each class that the site has comes out, and all of them together; of what is covered.
pub(super) fn precision(
    site: &SiteModel,
    seen: &ViewFigures,
    sigmas: &SampleSigmas,
    watch: &dyn Watch,
) -> Result<(ByClass<Option<Precision>>, Option<Precision>), Cancelled> {
    watch.step(0, 1)?;
    let covered: Vec<Sample> =
        site.samples().filter(|sample| seen.samples.covered[sample.number as usize]).collect();
    let of = |keeps: &dyn Fn(SurfaceClass) -> bool| {
        let own: Vec<&Sample> = covered.iter().filter(|sample| keeps(sample.class)).collect();
        of_samples(&own, sigmas, watch)
    };
    let mut of_class = ByClass::from_fn(|_| None);
    for class in SurfaceClass::ALL {
        of_class[class] = of(&|own| own == class)?;
    }
    Ok((of_class, of(&|_| true)?))
}

fn of_samples(
    own: &[&Sample],
    sigmas: &SampleSigmas,
    watch: &dyn Watch,
) -> Result<Option<Precision>, Cancelled> {
    let spread = |of: &[f32]| {
        watch.step(0, 1)?;
        let known = own.iter().map(|sample| (of[sample.number as usize], sample.area_m2));
        Ok(ErrorSpread::new(known.filter(|(sigma_m, _)| sigma_m.is_finite()).collect()))
    };
    let area = |keeps: &dyn Fn(&Sample) -> bool| {
        own.iter().filter(|sample| keeps(sample)).map(|sample| sample.area_m2).sum::<f64>()
    };
    let determined_m2 = area(&|sample| sigmas.horizontal_m[sample.number as usize].is_finite());
    let spreads = (spread(&sigmas.horizontal_m)?, spread(&sigmas.vertical_m)?, spread(&sigmas.normal_m)?);
    let (Some(horizontal), Some(vertical), Some(normal)) = spreads else { return Ok(None) };
    let determined_ratio = determined_m2 / area(&|_| true);
    Ok(Some(Precision { horizontal, vertical, normal, determined_ratio }))
}

impl ErrorSpread {
    /// The spread of standard deviations with the areas they hold for; nothing of nothing.
    fn new(mut values: Vec<(f32, f64)>) -> Option<Self> {
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let area_m2: f64 = values.iter().map(|(_, area_m2)| area_m2).sum();
        let quantile = |share: f64| {
            let mut sum_m2 = 0.0;
            let reached = values.iter().find(|(_, own_m2)| {
                sum_m2 += own_m2;
                sum_m2 >= share * area_m2 * (1.0 - 1e-12)
            });
            reached.or(values.last()).map(|(sigma_m, _)| f64::from(*sigma_m))
        };
        let p95_m = quantile(0.95)?;
        let up_to = |keeps: &dyn Fn(f64) -> bool| {
            let own = values.iter().filter(|(sigma_m, _)| keeps(f64::from(*sigma_m)));
            own.map(|(_, own_m2)| own_m2).sum()
        };
        let square: f64 = values.iter().map(|(sigma_m, own_m2)| f64::from(*sigma_m).powi(2) * own_m2).sum();
        Some(ErrorSpread {
            p50_m: quantile(0.5)?,
            p95_m,
            rms_m: (square / area_m2).sqrt(),
            area_m2,
            finer_m2: up_to(&|sigma_m| sigma_m < p95_m),
            as_fine_m2: up_to(&|sigma_m| sigma_m <= p95_m),
        })
    }
}
