use super::figures::{
    ClassFigures, GsdSpread, RING_COUNT, Rose, SECTOR_COUNT, SampleFigures, Shortage, ViewFigures, ViewLimits,
};
use super::lanes::{bits, used};
use super::rose::BIN_COUNT;
use super::sight::GROUP_LEN;
use super::table::ViewTable;
use super::tally::{Gathered, PassViews, TileTally, tally};
use crate::base::{ByClass, Cancelled, SurfaceClass, Watch};
use crate::geometry::PosedCamera;
use crate::ground::{SiteModel, Tile};
use crate::route::Stations;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// What the surfaces get from all passes of a strategy: limits, no rays.
///
/// A view counts when its incidence and its GSD are within the limits. A sample is covered when a linked group of its
/// counted views (a connected component of *rays differ by no more than the greatest link*) has members enough and
/// holds two rays far enough apart. Every table must be of this site and its own stations. Ties within 1e-6 of a limit
/// keep it. The result does not depend on the number of threads.
///
/// # Accuracy
/// GSD to 1e-6 of itself and angles to 1e-6 rad, from single precision relative to the tile's centre.
///
/// # Errors
/// [`Cancelled`], when the watch says so; it is asked for each group of tiles.
pub fn views(
    site: &SiteModel,
    passes: &[(&Stations, &ViewTable)],
    limits: &ViewLimits,
    watch: &dyn Watch,
) -> Result<ViewFigures, Cancelled> {
    let passes: Vec<_> = passes.iter().map(|&(stations, table)| pass_views(stations, table)).collect();
    let (done, total) = (AtomicU64::new(0), site.tiles.len() as u64);
    let numbers: Vec<usize> = (0..site.tiles.len()).collect();
    let groups: Vec<Vec<TileTally>> = numbers
        .par_chunks(GROUP_LEN)
        .map_init(Gathered::default, |gathered, numbers| {
            watch.step(done.fetch_add(numbers.len() as u64, Ordering::Relaxed), total)?;
            Ok(numbers.iter().map(|&number| tally(site, number, &passes, limits, gathered)).collect())
        })
        .collect::<Result<_, Cancelled>>()?;
    watch.step(total, total)?;
    let tallies: Vec<TileTally> = groups.into_iter().flatten().collect();
    let classes: Vec<Option<ClassFigures>> = SurfaceClass::ALL
        .par_iter()
        .map(|&class| class_figures(site, &tallies, class, limits.min_views, &|| watch.step(total, total)))
        .collect::<Result<_, Cancelled>>()?;
    let mut classes = classes.into_iter();
    Ok(ViewFigures {
        classes: ByClass::from_fn(|_| classes.next().flatten()),
        samples: sample_figures(site, &tallies),
        limits: *limits,
    })
}

fn pass_views<'a>(stations: &Stations, table: &'a ViewTable) -> PassViews<'a> {
    let cameras = stations.poses.iter().map(|pose| PosedCamera::new(stations.camera, pose)).collect();
    PassViews { cameras, table }
}

fn sample_figures(site: &SiteModel, tallies: &[TileTally]) -> SampleFigures {
    let mut samples = SampleFigures::default();
    for (tile, tally) in site.tiles.iter().zip(tallies) {
        samples.views.extend_from_slice(&tally.views);
        samples.best_gsd_m.extend_from_slice(&tally.best_gsd_m);
        samples.least_incidence_rad.extend_from_slice(&tally.least_incidence_rad);
        samples.max_intersection_rad.extend_from_slice(&tally.max_intersection_rad);
        samples.covered.extend((0..tile.len).map(|k| tally.covered >> k & 1 == 1));
    }
    samples
}

/// Areas of one class by what becomes of them, in square metres.
#[derive(Default)]
struct Areas {
    all: f64,
    covered: f64,
    unseen: f64,
    short: Shortage,
}

fn class_figures(
    site: &SiteModel,
    tallies: &[TileTally],
    class: SurfaceClass,
    min_views: u32,
    ask: &dyn Fn() -> Result<(), Cancelled>,
) -> Result<Option<ClassFigures>, Cancelled> {
    ask()?;
    let own = || site.tiles.iter().zip(tallies).filter(move |(tile, _)| tile.class == class);
    let mut areas = Areas::default();
    let mut bins = [0.0; BIN_COUNT];
    for (tile, tally) in own() {
        areas.add(tile, tally, min_views);
        for (sum, &count) in bins.iter_mut().zip(&tally.bins) {
            *sum += count * tile.sample_area_m2;
        }
    }
    if areas.all <= 0.0 {
        return Ok(None);
    }
    ask()?;
    let by_area = |pick: fn(&TileTally) -> Vec<f32>| {
        let values = own().flat_map(|(tile, tally)| {
            let values = pick(tally).into_iter().enumerate();
            values.map(|(k, value)| (value, tile.area_of_m2(k))).collect::<Vec<_>>()
        });
        ByArea::new(values.filter(|(value, _)| value.is_finite()).collect())
    };
    let gsd = by_area(|tally| tally.best_gsd_m.clone());
    ask()?;
    // counts stay far below 2^24, where single precision is exact
    let counts =
        by_area(|tally| tally.views.iter().map(|&n| crate::base::number::narrow(f64::from(n))).collect());
    ask()?;
    Ok(Some(ClassFigures {
        area_m2: site.area_m2[class],
        covered_ratio: areas.covered / areas.all,
        gsd: gsd.spread(),
        unseen_ratio: areas.unseen / areas.all,
        views_median: counts.quantile(0.5).unwrap_or(0.0),
        rose: rose(&bins, areas.all),
        shortage: areas.shortage(),
    }))
}

fn rose(bins: &[f64; BIN_COUNT], area_m2: f64) -> Rose {
    let mut mean_views = [[0.0; SECTOR_COUNT]; RING_COUNT];
    for (k, sum) in bins.iter().enumerate() {
        mean_views[k / SECTOR_COUNT][k % SECTOR_COUNT] = sum / area_m2;
    }
    Rose { mean_views }
}

impl Areas {
    fn add(&mut self, tile: &Tile, tally: &TileTally, min_views: u32) {
        let of = |samples: u64| match tile.relief {
            None => f64::from(samples.count_ones()) * tile.sample_area_m2,
            Some(_) => bits(samples).map(|k| tile.area_of_m2(k)).sum(),
        };
        let with = |enough: &dyn Fn(u32) -> bool| {
            tally.views.iter().enumerate().fold(0, |word, (k, &n)| word | u64::from(enough(n)) << k)
        };
        let (counted, enough) = (with(&|n| n > 0), with(&|n| n >= min_views));
        let open = used(tile) & !tally.covered;
        let uncounted = open & !counted;
        self.all += of(used(tile));
        self.covered += of(tally.covered);
        self.unseen += of(used(tile) & !counted);
        self.short.outside_frames += of(uncounted & !tally.framed);
        self.short.hidden += of(uncounted & tally.framed & !tally.visible);
        self.short.too_slanted += of(uncounted & tally.visible & tally.fine);
        self.short.too_coarse += of(uncounted & tally.visible & !tally.fine);
        self.short.too_few += of(open & counted & !enough);
        self.short.not_linked += of(open & counted & enough);
    }

    fn shortage(&self) -> Shortage {
        Shortage {
            outside_frames: self.short.outside_frames / self.all,
            hidden: self.short.hidden / self.all,
            too_slanted: self.short.too_slanted / self.all,
            too_coarse: self.short.too_coarse / self.all,
            too_few: self.short.too_few / self.all,
            not_linked: self.short.not_linked / self.all,
        }
    }
}

/// Values with the areas they hold for, ascending.
struct ByArea {
    values: Vec<(f32, f64)>,
    area_m2: f64,
}

impl ByArea {
    fn new(mut values: Vec<(f32, f64)>) -> ByArea {
        // stable, so that the order of equal values does not depend on threads
        values.par_sort_by(|a, b| a.0.total_cmp(&b.0));
        let area_m2 = values.iter().map(|(_, area)| area).sum();
        ByArea { values, area_m2 }
    }

    /// The smallest value whose cumulative area reaches the share (less a rounding of 1e-12).
    ///
    /// # References
    /// Derived from the definition; the nearest rank (from memory), weighted by area.
    fn quantile(&self, share: f64) -> Option<f64> {
        let asked = share * self.area_m2 * (1.0 - 1e-12);
        let mut sum = 0.0;
        let reached = self.values.iter().find(|(_, area)| {
            sum += area;
            sum >= asked
        });
        reached.or(self.values.last()).map(|&(value, _)| f64::from(value))
    }

    fn spread(&self) -> Option<GsdSpread> {
        let p95_m = self.quantile(0.95)?;
        let area_m2 = |within: &dyn Fn(f64) -> bool| {
            let counted = self.values.iter().filter(|(value, _)| within(f64::from(*value)));
            counted.map(|(_, area_m2)| area_m2).sum()
        };
        Some(GsdSpread {
            p5_m: self.quantile(0.05)?,
            p50_m: self.quantile(0.5)?,
            p95_m,
            finer_m2: area_m2(&|gsd_m| gsd_m < p95_m),
            as_fine_m2: area_m2(&|gsd_m| gsd_m <= p95_m),
        })
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]
mod tests {
    use super::*;
    use crate::base::NoWatch;
    use crate::geometry::{CameraModel, Pose};
    use crate::ground::{Prism, SamplePoint};
    use crate::scenario::Terrain;
    use crate::view::sight;
    use glam::{DVec2, DVec3};

    /// Derived from the definition: the smallest value whose cumulative area reaches the share.
    #[test]
    fn quantiles_go_by_area() {
        let values = ByArea::new(vec![(3.0, 1.0), (1.0, 6.0), (2.0, 3.0)]);
        let found = [0.05, 0.6, 0.61, 0.9, 0.95].map(|share| values.quantile(share));
        assert_eq!(found, [1.0, 1.0, 2.0, 2.0, 3.0].map(Some));
    }

    /// Nadir cameras 10 m up, 1 m apart to the east, f = 1000 px, so that 10 m are 1 cm a pixel.
    fn stations(count: u8) -> Stations {
        let pose = |k: u8| Pose {
            position_m: DVec3::new(f64::from(k), 0.0, 10.0),
            heading_rad: 0.0,
            tilt_rad: 0.0,
            roll_rad: 0.0,
        };
        let camera = CameraModel::pinhole(8000, 8000, 1000.0);
        Stations { camera, poses: (0..count).map(pose).collect() }
    }

    fn figures(x_m: f64, prisms: Vec<Prism>, count: u8, max_gsd_m: f64) -> ClassFigures {
        let point = SamplePoint {
            class: SurfaceClass::Ground,
            position_m: DVec3::new(x_m, 0.0, 0.0),
            normal: DVec3::Z,
            area_m2: 4.0,
        };
        let site = SiteModel::from_points(&[point], prisms, Terrain::default());
        let stations = stations(count);
        let table = sight(&site, &stations, &NoWatch).unwrap();
        let limits = ViewLimits {
            max_incidence_rad: 55_f64.to_radians(),
            max_gsd_m: ByClass::from_fn(|_| max_gsd_m),
            min_views: 3,
            min_intersection_rad: 10_f64.to_radians(),
            max_link_rad: 40_f64.to_radians(),
        };
        views(&site, &[(&stations, &table)], &limits, &NoWatch).unwrap().classes.ground.unwrap()
    }

    /// Derived from the definitions: from 10 m, three cameras 1 m apart are 11.3° apart; 60 m off they are out of the
    /// frame (±40 m); at 30 m they see at 70° or more.
    #[test]
    fn each_shortage_has_its_cause() {
        let wall = |x: f64| Prism {
            footprint_m: [(x, -9.0), (x + 1.0, -9.0), (x + 1.0, 9.0), (x, 9.0)].map(DVec2::from).to_vec(),
            bottom_m: -1.0,
            top_m: 9.0,
        };
        let short = |x, prisms, count, gsd| figures(x, prisms, count, gsd).shortage;
        let is = |share: f64| (share - 1.0).abs() < 1e-12; // one sample is the whole class
        assert!(is(figures(0.0, Vec::new(), 3, 0.02).covered_ratio));
        assert!(is(short(60.0, Vec::new(), 3, 0.02).outside_frames));
        assert!(is(short(30.0, vec![wall(28.0)], 3, 0.02).hidden));
        assert!(is(short(30.0, Vec::new(), 3, 1.0).too_slanted));
        assert!(is(short(30.0, Vec::new(), 3, 0.005).too_coarse));
        assert!(is(short(0.0, Vec::new(), 3, 0.009).too_coarse));
        assert!(is(short(0.0, Vec::new(), 2, 0.02).too_few));
        assert!(is(short(7.0, Vec::new(), 3, 0.02).not_linked));
    }

    /// Derived: a level camera 10 m up has 1 cm a pixel everywhere on level ground; a limit of exactly that counts.
    #[test]
    fn level_gsd_is_height_over_focal_length() {
        let figures = figures(0.0, Vec::new(), 3, 0.01);
        let gsd = figures.gsd.unwrap();
        assert!((gsd.p95_m - 0.01).abs() < 1e-8); // single precision
        assert!((figures.views_median - 3.0).abs() < 1e-12); // a count
        let mean: f64 = figures.rose.mean_views.iter().flatten().sum();
        assert!((mean - 3.0).abs() < 1e-12); // a count
    }
}
