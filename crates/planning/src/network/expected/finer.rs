//! Surfaces sampled more densely where images count so few samples that a tie could not be told from none.

use super::counted::Counted;
use crate::base::{Cancelled, Watch};
use crate::ground::SiteModel;
use crate::network::TieRules;
use crate::route::Stations;
use crate::view::{ViewLimits, ViewTable, sight};

/// Parts of a sample along each side, at most.
const MOST_PARTS: usize = 4;

/// Parts of all samples, about, at most; beyond, samples are parted by fewer.
const MOST_SAMPLES: usize = 200_000;

/// Some tiles of a site with more samples, and which image counts which of these.
pub(super) struct Finer {
    pub(super) site: SiteModel,
    pub(super) counted: Counted,
    /// Whether each tile of the site itself is among them.
    pub(super) instead_of: Vec<bool>,
}

impl Finer {
    /// Parts the samples of the tiles that are counted by images with so few that the least tie would have fewer than it takes;
    /// nothing where there are none. Images that count no sample at all stay without.
    pub(super) fn new(
        site: &SiteModel,
        passes: &[(&Stations, &ViewTable)],
        counted: &Counted,
        (limits, rules): (&ViewLimits, &TieRules),
        watch: &dyn Watch,
    ) -> Result<Option<Self>, Cancelled> {
        let enough = f64::from(rules.least_samples) / rules.least_share;
        let parts_of = |tile: &Vec<(u32, u64)>| {
            let samples = tile.iter().map(|(image, _)| f64::from(counted.samples[*image as usize]));
            let fewest = samples.fold(f64::INFINITY, f64::min);
            (fewest < enough).then(|| (enough / fewest).sqrt().ceil() as usize)
        };
        let parts: Vec<Option<usize>> = counted.of_tile.iter().map(parts_of).collect();
        let at_most = |most: usize| -> Vec<(usize, usize)> {
            let numbered = parts.iter().enumerate();
            numbered.filter_map(|(tile, parts)| Some((tile, (*parts)?.clamp(2, most)))).collect()
        };
        let count = |tiles: &[(usize, usize)]| -> usize {
            tiles.iter().map(|(tile, parts)| site.tiles[*tile].len * parts * parts).sum()
        };
        let mut tiles = at_most(MOST_PARTS);
        for most in (2..MOST_PARTS).rev() {
            if count(&tiles) > MOST_SAMPLES {
                tiles = at_most(most);
            }
        }
        if tiles.is_empty() {
            return Ok(None);
        }
        let mut instead_of = vec![false; site.tiles.len()];
        for (tile, _) in &tiles {
            instead_of[*tile] = true;
        }
        let site = site.parted(&tiles, |done, total| watch.step(done, total))?;
        let tables: Vec<ViewTable> = passes
            .iter()
            .map(|(stations, _)| sight(&site, stations, watch))
            .collect::<Result<_, Cancelled>>()?;
        let passes: Vec<(&Stations, &ViewTable)> =
            passes.iter().zip(&tables).map(|((stations, _), table)| (*stations, table)).collect();
        let counted = Counted::new(&site, &passes, limits, watch)?;
        Ok(Some(Finer { site, counted, instead_of }))
    }
}
