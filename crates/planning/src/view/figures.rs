use crate::base::ByClass;
use crate::ground::SiteModel;
use crate::scenario::Requirement;
use std::ops::Range;

/// Azimuth sectors of a rose.
pub const SECTOR_COUNT: usize = 12;

/// Rings of a rose: 0–15, 15–30, 30–45, 45–60, 60–90° from straight up, and their mirrors, the last one straight down.
pub const RING_COUNT: usize = 10;

/// When a view counts, and when views make coverage; SI and radians.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewLimits {
    /// Greatest incidence.
    pub max_incidence_rad: f64,
    /// Coarsest GSD that counts, by class: twice the required one.
    pub max_gsd_m: ByClass<f64>,
    /// Fewest counted views in a linked group.
    pub min_views: u32,
    /// Least angle between some two rays of the group.
    pub min_intersection_rad: f64,
    /// Two views are linked when their rays differ by no more than this.
    pub max_link_rad: f64,
}

impl From<&Requirement> for ViewLimits {
    fn from(requirement: &Requirement) -> Self {
        let rules = requirement.views;
        ViewLimits {
            max_incidence_rad: rules.max_incidence_deg.to_radians(),
            max_gsd_m: ByClass::from_fn(|class| 2.0 * requirement.gsd_cm[class] / 100.0),
            min_views: rules.min_views,
            min_intersection_rad: rules.min_intersection_deg.to_radians(),
            max_link_rad: rules.max_link_deg.to_radians(),
        }
    }
}

/// What the surfaces get from all passes of a strategy.
#[derive(Debug, Clone, PartialEq)]
pub struct ViewFigures {
    /// By class; nothing where the site has none.
    pub classes: ByClass<Option<ClassFigures>>,
    /// Sample by sample, in the site model's numbering.
    pub samples: SampleFigures,
    /// By which rules views were counted.
    pub limits: ViewLimits,
}

/// What one surface class gets.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassFigures {
    /// The class's area.
    pub area_m2: f64,
    /// Share of the area that is covered, 0 to 1.
    pub covered_ratio: f64,
    /// Spread of the best counted view's GSD, by area; nothing where no sample has one.
    pub gsd: Option<GsdSpread>,
    /// Share of the area without any counted view, 0 to 1.
    pub unseen_ratio: f64,
    /// Median number of counted views, by area.
    pub views_median: f64,
    /// Mean number of counted views by direction.
    pub rose: Rose,
    /// Why the rest is not covered, by area; sums to 1 − covered.
    pub shortage: Shortage,
}

/// Percentiles by area: the smallest value whose cumulative area reaches the share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GsdSpread {
    /// 5th percentile, in metres.
    pub p5_m: f64,
    /// Median, in metres.
    pub p50_m: f64,
    /// 95th percentile, in metres: what a requirement is tested on.
    pub p95_m: f64,
    /// Area on which it is finer than that.
    pub finer_m2: f64,
    /// Area on which it is as fine as that, or finer: the first that reaches 95 % of what is seen.
    pub as_fine_m2: f64,
}

/// View-angle rose: area-weighted mean number of counted views whose direction (from the sample to the camera) falls
/// in each bin; bins are half-open.
#[derive(Debug, Clone, PartialEq)]
pub struct Rose {
    /// `mean_views[ring][sector]`; sectors clockwise from north, on walls clockwise from the outward normal.
    pub mean_views: [[f64; SECTOR_COUNT]; RING_COUNT],
}

/// Why the uncovered share of a class is not covered; every share is of the whole class's area.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shortage {
    /// In no station's frame while facing it.
    pub outside_frames: f64,
    /// In frames, but hidden from all of them.
    pub hidden: f64,
    /// Seen fine enough, but only beyond the greatest incidence.
    pub too_slanted: f64,
    /// Seen, but only too coarse (steep enough or not).
    pub too_coarse: f64,
    /// Some counted views, but fewer than required.
    pub too_few: f64,
    /// Views enough, but no linked group large enough holds two rays far enough apart.
    pub not_linked: f64,
}

/// Sample by sample figures; all of the same length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SampleFigures {
    /// Counted views.
    pub views: Vec<u32>,
    /// Best counted view's GSD in metres; infinite without one.
    pub best_gsd_m: Vec<f32>,
    /// Least incidence of a counted view; infinite without one.
    pub least_incidence_rad: Vec<f32>,
    /// Greatest angle between two counted rays; 0 with fewer than two.
    pub max_intersection_rad: Vec<f32>,
    /// Whether the sample is covered.
    pub covered: Vec<bool>,
}

impl SampleFigures {
    /// Share of the area of some samples that is covered, 0 to 1; nothing where they have no area. They must be those
    /// of the site's model.
    ///
    /// # Units
    /// - returns: a share of the samples' area, 0 to 1
    ///
    /// # References
    /// Derived: areas that samples stand for, added up.
    pub fn covered_ratio(&self, site: &SiteModel, samples: Range<u32>) -> Option<f64> {
        let after = site.tiles.partition_point(|tile| tile.first_sample <= samples.start);
        let tiles = site.tiles.get(after.checked_sub(1)?..)?;
        let (mut all_m2, mut covered_m2) = (0.0, 0.0);
        for tile in tiles.iter().take_while(|tile| tile.first_sample < samples.end) {
            for (k, number) in (0..tile.len).zip(tile.first_sample..) {
                if samples.contains(&number) {
                    let area_m2 = tile.area_of_m2(k);
                    all_m2 += area_m2;
                    covered_m2 += if *self.covered.get(number as usize)? { area_m2 } else { 0.0 };
                }
            }
        }
        (all_m2 > 0.0).then(|| covered_m2 / all_m2)
    }
}

impl ViewFigures {
    /// Memory it takes, about.
    ///
    /// # Units
    /// - returns: bytes
    pub fn bytes(&self) -> usize {
        size_of::<Self>()
            + self.samples.views.len() * (size_of::<u32>() + 3 * size_of::<f32>() + size_of::<bool>())
    }
}
