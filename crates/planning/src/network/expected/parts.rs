//! What the parts of a block carry.

use super::counted::Counted;
use super::tied::Tied;
use crate::base::{ByClass, Cancelled, Watch, ask_now_and_then};
use crate::ground::SiteModel;
use crate::route::Stations;
use crate::view::{TileView, ViewFigures, ViewLimits, ViewTable, views};

/// Images that hang together by ties.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockPart {
    /// Their numbers, ascending: pass after pass, in the order of their stations.
    pub images: Vec<u32>,
    /// Area that they carry, by class: that of every sample, divided among all images that count it.
    pub carried_m2: ByClass<f64>,
    /// Share of each class that they cover alone, 0 to 1; nothing where the site has none, or where other parts carry much
    /// more.
    pub covered_ratio: ByClass<Option<f64>>,
}

impl BlockPart {
    /// Area that it carries on all classes together.
    ///
    /// # Units
    /// - returns: square metres
    pub fn area_m2(&self) -> f64 {
        self.carried_m2.iter().map(|(_, area_m2)| area_m2).sum()
    }
}

/// Parts whose coverage is worked out: those that carry most.
const MOST_LOOKED_AT: usize = 6;

/// The parts of the images that count anything, those that carry most first; and images that hang together with too few to
/// cover anything.
pub(super) fn parts(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    (counted, tied): (&Counted, &Tied),
    seen: &ViewFigures,
    watch: &dyn Watch,
) -> Result<(Vec<BlockPart>, Vec<u32>), Cancelled> {
    let mut parts: Vec<BlockPart> = (0..tied.ties.part_m2.len()).map(|_| BlockPart::empty()).collect();
    for (image, _) in counted.samples.iter().enumerate().filter(|(_, samples)| **samples > 0) {
        parts[tied.ties.part[image] as usize].images.push(image as u32);
    }
    for (number, (place, sample)) in tied.places.iter().zip(&tied.views).enumerate() {
        ask_now_and_then(number, watch)?;
        for view in &sample.views {
            let part = &mut parts[tied.ties.part[view.image as usize] as usize];
            part.carried_m2[place.class] += sample.area_m2 / sample.views.len() as f64;
        }
    }
    let least = (seen.limits.min_views as usize).max(1);
    let (mut parts, few): (Vec<BlockPart>, Vec<BlockPart>) =
        parts.into_iter().partition(|part| part.images.len() >= least);
    let mut loose: Vec<u32> = few.into_iter().flat_map(|part| part.images).collect();
    loose.sort_unstable();
    parts.sort_by(|a, b| b.area_m2().total_cmp(&a.area_m2()).then(a.images[0].cmp(&b.images[0])));
    let counting = counted.samples.iter().filter(|samples| **samples > 0).count();
    for part in parts.iter_mut().take(MOST_LOOKED_AT) {
        part.covered_ratio = if part.images.len() == counting {
            covered_ratio(seen)
        } else {
            covered_ratio(&alone(site, passes, &part.images, &seen.limits, watch)?)
        };
    }
    Ok((parts, loose))
}

impl BlockPart {
    fn empty() -> Self {
        BlockPart {
            images: Vec::new(),
            carried_m2: ByClass::from_fn(|_| 0.0),
            covered_ratio: ByClass::from_fn(|_| None),
        }
    }
}

fn covered_ratio(seen: &ViewFigures) -> ByClass<Option<f64>> {
    ByClass::from_fn(|class| Some(seen.classes[class].as_ref()?.covered_ratio))
}

/// What the surfaces get from some of the images.
fn alone(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    images: &[u32],
    limits: &ViewLimits,
    watch: &dyn Watch,
) -> Result<ViewFigures, Cancelled> {
    let mut first = 0;
    let mut tables = Vec::with_capacity(passes.len());
    for (stations, table) in passes {
        tables.push(only(table, |station| images.binary_search(&(first + station)).is_ok()));
        first += stations.poses.len() as u32;
    }
    let of: Vec<(&Stations, &ViewTable)> =
        passes.iter().zip(&tables).map(|((stations, _), table)| (*stations, table)).collect();
    views(site, &of, limits, watch)
}

/// The views of some stations.
fn only(table: &ViewTable, keeps: impl Fn(u32) -> bool) -> ViewTable {
    let mut kept = ViewTable { starts: vec![0], views: Vec::new(), framed: table.framed.clone() };
    for tile in 0..table.starts.len().saturating_sub(1) {
        let own = table.of_tile(tile).iter().filter(|view| keeps(view.station));
        kept.views.extend(own.copied().collect::<Vec<TileView>>());
        kept.starts.push(kept.views.len() as u32);
    }
    kept
}
