//! Sight and reduction at three sizes, on level, gentle and rugged ground, and the growth with stations and samples.
//!
//! The scene in the middle is a 22 ha site with 20 structures of 9 to 38 m, 2,640 stations and about 70,000 samples; its
//! uneven ground has some 18,000 triangles. Divan reports times; what was timed stands on standard error.

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]
#![expect(
    clippy::disallowed_types,
    clippy::disallowed_methods,
    reason = "a bench has a clock and asks for memory"
)]

use divan::Bencher;
use glam::{DVec2, DVec3};
use obliquity_planning::{
    ByClass, CameraModel, Cancelled, Id, NoWatch, Pose, Site, SiteModel, Stations, Structure, StructureKind,
    Terrain, TerrainGrid, ViewLimits, ViewTable, Watch, framed, sight, views,
};
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

#[path = "bench_against.rs"]
mod against;

fn main() {
    if std::env::args().any(|arg| arg == "against_reference") {
        return against::against_reference();
    }
    largest_site();
    divan::main();
}

/// What a scene's ground is like.
#[derive(Debug, Clone, Copy)]
enum Ground {
    Level,
    /// Slopes to about 0.15.
    Gentle,
    /// Slopes to about 1.
    Rugged,
}

/// A scene: so many times the middle one's side, on some ground.
#[derive(Debug, Clone, Copy)]
struct Scene {
    ground: Ground,
    /// Side as a multiple of 470 m.
    side: f64,
}

impl fmt::Display for Scene {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} {:.0} m", self.ground, 470.0 * self.side)
    }
}

const SCENES: [Scene; 9] = [
    Scene { ground: Ground::Level, side: 0.5 },
    Scene { ground: Ground::Gentle, side: 0.5 },
    Scene { ground: Ground::Rugged, side: 0.5 },
    Scene { ground: Ground::Level, side: 1.0 },
    Scene { ground: Ground::Gentle, side: 1.0 },
    Scene { ground: Ground::Rugged, side: 1.0 },
    Scene { ground: Ground::Level, side: 2.0 },
    Scene { ground: Ground::Gentle, side: 2.0 },
    Scene { ground: Ground::Rugged, side: 2.0 },
];

const MIDDLE: [Scene; 3] = [SCENES[3], SCENES[4], SCENES[5]];

/// Height of the ground, invented: waves of 90 and 37 m.
fn terrain(ground: Ground, side_m: f64) -> Terrain {
    let amplitude_m = match ground {
        Ground::Level => return Terrain::default(),
        Ground::Gentle => 1.6,
        Ground::Rugged => 11.0,
    };
    let (margin_m, step_m) = (60.0, 6.2);
    let nodes = ((side_m + 2.0 * margin_m) / step_m).ceil() as usize + 1;
    let at = |k: usize| DVec2::new((k % nodes) as f64, (k / nodes) as f64) * step_m - margin_m;
    let height = |p: DVec2| {
        let broad = (p.x * 0.07).sin() * (p.y * 0.06).cos();
        amplitude_m * (broad + 0.25 * (p.x * 0.17 + p.y * 0.13).sin())
    };
    let heights: Vec<f64> = (0..nodes * nodes).map(|k| height(at(k))).collect();
    let grid =
        TerrainGrid::from_heights_m(DVec2::splat(-margin_m), DVec2::splat(step_m), (nodes, nodes), &heights);
    Terrain::Grid(Arc::new(grid.unwrap()))
}

/// A square with boxes, 20 for each 470 m square of it.
fn site(scene: Scene, spacing_m: f64) -> Site {
    let side_m = 470.0 * scene.side;
    let columns = (5.0 * scene.side).round() as u32;
    let rows = (4.0 * scene.side).round() as u32;
    let structures = (0..columns * rows).map(|k| {
        let (column, row) = (f64::from(k % columns), f64::from(k / columns));
        let centre = DVec2::new(60.0 + 88.0 * column, 70.0 + 110.0 * row);
        let half = DVec2::new(12.0 + 2.0 * (column % 5.0), 10.0 + 4.0 * (row % 4.0));
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        Structure {
            id: Id(k),
            name: String::new(),
            footprint_m: corners.map(|corner| centre + DVec2::from(corner) * half).to_vec(),
            kind: StructureKind::Extrusion { height_m: 9.0 + 29.0 * f64::from(k * 7 % 20) / 19.0 },
        }
    });
    Site {
        name: String::new(),
        origin: None,
        boundary_m: [(0.0, 0.0), (side_m, 0.0), (side_m, side_m), (0.0, side_m)].map(DVec2::from).to_vec(),
        take_off_m: DVec2::ZERO,
        terrain: terrain(scene.ground, side_m),
        structures: structures.collect(),
        typical_building: None,
        keep_outs: Vec::new(),
        sample_spacing_m: Some(spacing_m),
    }
}

/// So many columns and rows of places at 73 m above the mean ground, at each one look down and four tilted by 45°.
fn stations(side_m: f64, (columns, rows): (u32, u32)) -> Stations {
    let attitudes = [(0.0, 0.0), (45.0, 45.0), (315.0, 45.0), (225.0, 45.0), (135.0, 45.0)];
    let places =
        (0..columns).flat_map(|column| (0..rows).map(move |row| (f64::from(column), f64::from(row))));
    let along = |k: f64, count: u32| -60.0 + (side_m + 120.0) * k / f64::from(count - 1);
    let poses = places.flat_map(|(column, row)| {
        let position_m = DVec3::new(along(column, columns), along(row, rows), 73.0);
        attitudes.map(|(heading_deg, tilt_deg): (f64, f64)| Pose {
            position_m,
            heading_rad: heading_deg.to_radians(),
            tilt_rad: tilt_deg.to_radians(),
            roll_rad: 0.0,
        })
    });
    let camera = CameraModel { width_px: 5472, height_px: 3648, focal_length_px: 3648.0 };
    Stations { camera, poses: poses.collect() }
}

/// Stations of a scene, as dense as on the middle one.
fn stations_of(scene: Scene) -> Stations {
    let count = |middle: f64| (middle * scene.side).round() as u32;
    stations(470.0 * scene.side, (count(24.0), count(22.0)))
}

fn limits() -> ViewLimits {
    ViewLimits {
        max_incidence_rad: 55_f64.to_radians(),
        max_gsd_m: ByClass { ground: 0.04, roof: 0.04, wall: 0.08, underside: 0.08 },
        min_views: 3,
        min_intersection_rad: 10_f64.to_radians(),
        max_link_rad: 40_f64.to_radians(),
    }
}

#[divan::bench(args = SCENES)]
fn site_model(bencher: Bencher, scene: Scene) {
    let site = site(scene, 1.92);
    bencher.bench(|| SiteModel::build(&site).unwrap());
}

#[divan::bench(args = SCENES)]
fn sight_alone(bencher: Bencher, scene: Scene) {
    let (site, stations) = (SiteModel::build(&site(scene, 1.92)).unwrap(), stations_of(scene));
    report(scene, &site, &stations);
    bencher.bench(|| sight(&site, &stations, &NoWatch).unwrap());
}

#[divan::bench(args = SCENES)]
fn limits_coverage_and_rose(bencher: Bencher, scene: Scene) {
    let (site, stations) = (SiteModel::build(&site(scene, 1.92)).unwrap(), stations_of(scene));
    let table = sight(&site, &stations, &NoWatch).unwrap();
    bencher.bench(|| views(&site, &[(&stations, &table)], &limits(), &NoWatch).unwrap());
}

#[divan::bench(args = MIDDLE)]
fn sight_and_reduction(bencher: Bencher, scene: Scene) {
    let (site, stations) = (SiteModel::build(&site(scene, 1.92)).unwrap(), stations_of(scene));
    bencher.bench(|| {
        let table = sight(&site, &stations, &NoWatch).unwrap();
        views(&site, &[(&stations, &table)], &limits(), &NoWatch).unwrap()
    });
}

/// The middle scene on gentle ground with more and more stations on the same places of the site.
#[divan::bench(args = [1, 2, 4, 8])]
fn growth_with_stations(bencher: Bencher, times: u32) {
    let (site, stations) =
        (SiteModel::build(&site(MIDDLE[1], 1.92)).unwrap(), stations(470.0, (12 * times, 11)));
    bencher.bench(|| sight(&site, &stations, &NoWatch).unwrap());
}

/// The middle scene on gentle ground with closer and closer samples.
#[divan::bench(args = [4, 2, 1])]
fn growth_with_samples(bencher: Bencher, spacing: u32) {
    let model = SiteModel::build(&site(MIDDLE[1], 0.96 * f64::from(spacing))).unwrap();
    let stations = stations_of(MIDDLE[1]);
    bencher.bench(|| sight(&model, &stations, &NoWatch).unwrap());
}

/// What is being timed, on standard error.
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn report(scene: Scene, site: &SiteModel, stations: &Stations) {
    let pairs = |table: &ViewTable| -> u64 {
        table.views.iter().map(|view| u64::from(view.samples.count_ones())).sum()
    };
    let candidates = pairs(&framed(site, stations, &NoWatch).unwrap());
    let table = sight(site, stations, &NoWatch).unwrap();
    let (samples, stations, seen) = (site.sample_count, stations.poses.len(), pairs(&table));
    let digest = digest(&table);
    eprintln!(
        "{scene}: {samples} samples, {stations} stations, {candidates} candidate rays, {seen} seen, digest {digest:x}"
    );
}

/// A number that two builds share when all their decisions are equal.
fn digest(table: &ViewTable) -> u64 {
    let words = table.views.iter().flat_map(|view| [u64::from(view.station), view.samples]);
    words
        .fold(0xcbf2_9ce4_8422_2325, |hash, word| (hash ^ word).wrapping_mul(0x100_0000_01b3).rotate_left(23))
}

/// Watches how long no one asks whether to go on.
#[derive(Default)]
struct Longest {
    start: Option<Instant>,
    last_ms: AtomicU64,
    longest_ms: AtomicU64,
}

impl Watch for Longest {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let now_ms = self.start.map_or(0, |start| start.elapsed().as_millis() as u64);
        let before_ms = self.last_ms.swap(now_ms, Ordering::Relaxed);
        self.longest_ms.fetch_max(now_ms.saturating_sub(before_ms), Ordering::Relaxed);
        Ok(())
    }
}

/// 400 ha, 50,000 stations, about a million samples, once: time, peak memory, and the longest time that passes before the
/// work asks whether it is still wanted.
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn largest_site() {
    if std::env::args().skip(1).any(|arg| arg != "--bench" && arg != "largest") {
        return; // something else was asked for
    }
    for ground in [Ground::Gentle, Ground::Rugged] {
        let scene = Scene { ground, side: 2000.0 / 470.0 };
        let begin = Instant::now();
        let site = SiteModel::build(&site(scene, 2.1)).unwrap();
        let built_s = begin.elapsed().as_secs_f64();
        let stations = stations(2000.0, (100, 100));
        let watch = Longest { start: Some(Instant::now()), ..Longest::default() };
        let table = sight(&site, &stations, &watch).unwrap();
        let seen_s = begin.elapsed().as_secs_f64();
        let figures = views(&site, &[(&stations, &table)], &limits(), &watch).unwrap();
        let all_s = begin.elapsed().as_secs_f64();
        eprintln!(
            "{scene}: {} samples, {} stations, ground covered {:.3}: site {built_s:.2} s, sight {:.2} s, reduction {:.2} s, \
             all {all_s:.2} s; asked at least every {} ms; peak memory so far {}",
            site.sample_count,
            stations.poses.len(),
            figures.classes.ground.map_or(0.0, |ground| ground.covered_ratio),
            seen_s - built_s,
            all_s - seen_s,
            watch.longest_ms.into_inner(),
            peak_memory()
        );
    }
}

/// Peak of the process's memory, where the system tells it.
fn peak_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.map_or_else(|| "unknown".to_owned(), |line| line.trim().to_owned())
}
