//! The figures of a strategy's network.

use super::counted::Counted;
use super::finer::Finer;
use super::parts::{BlockPart, parts};
use super::precision::{Intersected, Precision, SampleSigmas, precision};
use super::solve::{CalibrationFigures, HeldBlock, Solved, block_of};
use super::terms::{NetworkTerms, Thinning};
use super::thinned::choose;
use super::tied::Tied;
use crate::base::{ByClass, Cancelled, SurfaceClass, Watch};
use crate::ground::SiteModel;
use crate::network::{Bridge, ImageBlock, Tie, TieRules, weakest_bridge};
use crate::route::Stations;
use crate::view::{ViewFigures, ViewLimits, ViewTable};

/// What a strategy's images would tell if they were adjusted together.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkFigures {
    /// What it rests on besides the images.
    pub terms: NetworkTerms,
    /// Number of the first image of each pass that is flown.
    pub first_image: Vec<u32>,
    /// Pairs of images that are tied, ascending.
    pub ties: Vec<Tie>,
    /// Images that hang together, as many as cover something, those that carry most first.
    pub parts: Vec<BlockPart>,
    /// Numbers of images that count something and hang together with fewer than that, ascending.
    pub loose_images: Vec<u32>,
    /// The image or pair whose loss would part the most area.
    pub bridge: Option<Bridge>,
    /// What carries the adjustment, and what holds it.
    pub held: HeldBlock,
    /// What it tells of the camera; nothing where no image is tied.
    pub calibration: Option<CalibrationFigures>,
    /// How precise what is covered comes out, by class; nothing where nothing of it is determined.
    pub precision: ByClass<Option<Precision>>,
    /// The same of all surfaces together.
    pub overall: Option<Precision>,
    /// Sample by sample.
    pub samples: SampleSigmas,
}

impl NetworkFigures {
    /// The part that covers most of what is asked for, by the areas of the classes; nothing where there is none.
    ///
    /// # Units
    /// - `area_m2`: square metres of each class that is asked for, 0 of the others
    pub fn foremost_part(&self, area_m2: &ByClass<f64>) -> Option<&BlockPart> {
        let covered_m2 = |part: &BlockPart| {
            let of = |(class, ratio): (SurfaceClass, &Option<f64>)| {
                ratio.map_or(0.0, |ratio| ratio * area_m2[class])
            };
            part.covered_ratio.iter().map(of).sum::<f64>()
        };
        // of equals the first, which carries most
        self.parts.iter().rev().max_by(|a, b| covered_m2(a).total_cmp(&covered_m2(b)))
    }

    /// The pass that an image is of, by its place among those that are flown.
    pub fn pass_of(&self, image: u32) -> usize {
        self.first_image.partition_point(|first| *first <= image).saturating_sub(1)
    }

    /// The pass that an image is of, by its place among those that are flown, and its number in that pass, both from 0.
    pub fn station_of(&self, image: u32) -> (usize, u32) {
        let pass = self.pass_of(image);
        (pass, image - self.first_image.get(pass).copied().unwrap_or_default())
    }

    /// Whether these are figures of a first look, that lie near those of [`Thinning::USUAL`] but not at them.
    pub fn is_preview(&self) -> bool {
        self.terms.thinning == Thinning::PREVIEW
    }

    /// Memory it takes, about.
    ///
    /// # Units
    /// - returns: bytes
    pub fn bytes(&self) -> usize {
        let images: usize = self.parts.iter().map(|part| part.images.len()).sum();
        size_of::<Self>()
            + self.ties.len() * size_of::<Tie>()
            + self.parts.len() * size_of::<BlockPart>()
            + images * size_of::<u32>()
            + self.samples.normal_m.len() * 3 * size_of::<f32>()
    }
}

/// Which samples each image counts, and what ties the images.
fn tied(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    limits: &ViewLimits,
    rules: &TieRules,
    watch: &dyn Watch,
) -> Result<(Counted, Tied), Cancelled> {
    let counted = Counted::new(site, passes, limits, watch)?;
    let finer = Finer::new(site, passes, &counted, (limits, rules), watch)?;
    let tied = Tied::new((site, &counted), finer.as_ref(), rules, watch)?;
    Ok((counted, tied))
}

/// The block that [`network_figures`] adjusts: its images, tie points and control points, so that others can adjust it too.
///
/// Images are numbered pass after pass, in the order of their stations.
///
/// # Errors
/// [`Cancelled`], when the watch says so.
pub fn network_block(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    limits: &ViewLimits,
    terms: &NetworkTerms,
    watch: &dyn Watch,
) -> Result<ImageBlock, Cancelled> {
    let rules = TieRules::linked_within(limits.max_link_rad);
    let (counted, tied) = tied(site, passes, limits, &rules, watch)?;
    Ok(block_of(&counted, &choose(&counted, &tied, (&rules, limits), terms, watch)?, terms))
}

/// Works out what the images of a strategy's passes would tell if they were adjusted together.
///
/// The tables must be of this site and their own stations, and the figures of views of all of them. The result does not
/// depend on the number of threads.
///
/// # Errors
/// [`Cancelled`], when the watch says so.
///
/// # References
/// Derived from the project's definitions of ties, precision and calibration strength.
pub fn network_figures(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    seen: &ViewFigures,
    terms: NetworkTerms,
    watch: &dyn Watch,
) -> Result<NetworkFigures, Cancelled> {
    let rules = TieRules::linked_within(seen.limits.max_link_rad);
    let (counted, tied) = tied(site, passes, &seen.limits, &rules, watch)?;
    let (parts, loose_images) = parts(site, passes, (&counted, &tied), seen, watch)?;
    let chosen = choose(&counted, &tied, (&rules, &seen.limits), &terms, watch)?;
    let mut first_image = Vec::with_capacity(passes.len());
    let mut next = 0;
    for (stations, _) in passes {
        first_image.push(next);
        next += stations.poses.len() as u32;
    }
    let mut made = NetworkFigures {
        first_image,
        bridge: weakest_bridge(&tied.ties, watch)?,
        ties: Vec::new(),
        parts,
        loose_images,
        held: HeldBlock::default(),
        calibration: None,
        precision: ByClass::from_fn(|_| None),
        overall: None,
        samples: SampleSigmas::unknown(site.sample_count as usize),
        terms,
    };
    if let Some(solved) = Solved::new(&counted, &chosen, &made.terms, watch)? {
        made.held = solved.held();
        made.calibration = Some(solved.camera((&tied, &seen.limits), &chosen, &made.terms.freedom, watch)?);
        let across = Intersected::new(site, (&counted, &tied, &chosen), solved, &made.terms, watch)?;
        made.samples = across.sigmas(watch)?;
        (made.precision, made.overall) = precision(site, seen, &made.samples, watch)?;
    }
    made.ties = tied.ties.ties;
    Ok(made)
}
