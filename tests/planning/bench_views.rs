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

use bench_scene::{Ground, MIDDLE, SCENES, Scene, limits, processor_s, site, stations, stations_of};
use divan::Bencher;
use obliquity_planning::{Cancelled, NoWatch, SiteModel, Stations, ViewTable, Watch, framed, sight, views};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

#[path = "bench_against.rs"]
mod against;
#[path = "bench_scene.rs"]
mod bench_scene;

fn main() {
    if std::env::args().any(|arg| arg == "against_reference") {
        return against::against_reference();
    }
    largest_site();
    divan::main();
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
        let (begin, before_s) = (Instant::now(), processor_s());
        let site = SiteModel::build(&site(scene, 2.1)).unwrap();
        let built_s = begin.elapsed().as_secs_f64();
        let stations = stations(2000.0, (100, 100));
        let watch = Longest { start: Some(Instant::now()), ..Longest::default() };
        let table = sight(&site, &stations, &watch).unwrap();
        let seen_s = begin.elapsed().as_secs_f64();
        let figures = views(&site, &[(&stations, &table)], &limits(), &watch).unwrap();
        watch.step(0, 0).unwrap();
        let all_s = begin.elapsed().as_secs_f64();
        eprintln!(
            "{scene}: {} samples, {} stations, ground covered {:.3}: site {built_s:.2} s, sight {:.2} s, reduction {:.2} s, \
             all {all_s:.2} s ({:.2} s of processor time); asked at least every {} ms; peak memory so far {}",
            site.sample_count,
            stations.poses.len(),
            figures.classes.ground.map_or(0.0, |ground| ground.covered_ratio),
            seen_s - built_s,
            all_s - seen_s,
            processor_s() - before_s,
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
