//! The middle scene worked out by NumPy, trimesh and Embree in the same run, and compared.
//!
//! `cargo bench -p obliquity-planning --bench views -- against_reference`, with a Python that has the packages of
//! `tests/reference/requirements.txt`: the one that `OBLIQUITY_PYTHON` names, or `python3`.

use super::bench_scene::{MIDDLE, Scene, limits, processor_s, site, stations_of};
use obliquity_planning::{
    ByClass, NoWatch, RING_COUNT, SECTOR_COUNT, SiteModel, Stations, SurfaceClass, ViewFigures, ViewTable,
    counted_masks, framed, sight, views,
};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/time_views.py");

/// Runs on which the program's time is taken.
const RUNS: u32 = 12;

/// Does what the module says, on each ground; with no Python that can, says so.
#[expect(clippy::print_stderr, reason = "a bench says what it did not do")]
pub(super) fn against_reference() {
    let python = std::env::var("OBLIQUITY_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let probe = Command::new(&python).args(["-c", "import numpy, trimesh, embreex"]).output();
    if !probe.is_ok_and(|probe| probe.status.success()) {
        eprintln!(
            "skipped: {python} cannot be run or lacks numpy, trimesh and embreex; install \
             tests/reference/requirements.txt and name that Python in OBLIQUITY_PYTHON"
        );
        return;
    }
    let folder = std::env::temp_dir().join(format!("obliquity-reference-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let alike = MIDDLE.map(|scene| {
        write_scene(scene, &folder);
        Command::new(&python).arg(SCRIPT).arg(&folder).status().unwrap().success()
    });
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(alike, [true; MIDDLE.len()], "the script ended badly");
}

/// Seconds by the clock, the fastest run's, and of the processor, the runs' mean (0 where the system tells none).
fn timed(run: impl Fn()) -> [f64; 2] {
    let before_s = processor_s();
    let by_the_clock = (0..RUNS).map(|_| {
        let begin = Instant::now();
        run();
        begin.elapsed().as_secs_f64()
    });
    let fastest_s = by_the_clock.fold(f64::INFINITY, f64::min);
    [fastest_s, (processor_s() - before_s) / f64::from(RUNS)]
}

/// The scene as plain arrays, what the program makes of it, and how long that takes.
fn write_scene(scene: Scene, folder: &Path) {
    let (site, stations) = (SiteModel::build(&site(scene, 1.92)).unwrap(), stations_of(scene));
    let table = sight(&site, &stations, &NoWatch).unwrap();
    let figures = views(&site, &[(&stations, &table)], &limits(), &NoWatch).unwrap();
    let path = |name: &str| folder.join(name);
    write_samples(&site, &path("samples.f64"));
    write_numbers(
        &path("stations.f64"),
        stations.poses.iter().flat_map(|pose| {
            let [x, y, z] = pose.position_m.to_array();
            [x, y, z, pose.heading_rad, pose.tilt_rad]
        }),
    );
    let triangles = site.triangles();
    write_numbers(&path("triangles.f64"), triangles.iter().flatten().flat_map(glam::DVec3::to_array));
    write_results(&figures, folder);
    std::fs::write(path("decisions.u64"), decisions(&site, &stations, &table)).unwrap();
    std::fs::write(path("scene.json"), told(scene, &site, &stations, triangles.len())).unwrap();
}

/// Names, limits and times, as JSON.
fn told(scene: Scene, site: &SiteModel, stations: &Stations, triangles: usize) -> String {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let sight_s = timed(|| drop(divan::black_box(sight(site, stations, &NoWatch).unwrap())));
    let everything_s = timed(|| {
        let table = sight(site, stations, &NoWatch).unwrap();
        divan::black_box(views(site, &[(stations, &table)], &limits(), &NoWatch).unwrap());
    });
    let (camera, limits) = (stations.camera, limits());
    let fields: [(&str, f64); 9] = [
        ("width_px", f64::from(camera.width_px)),
        ("height_px", f64::from(camera.height_px)),
        ("focal_px", camera.focal_length_px),
        ("max_incidence_rad", limits.max_incidence_rad),
        ("min_views", f64::from(limits.min_views)),
        ("min_intersection_rad", limits.min_intersection_rad),
        ("max_link_rad", limits.max_link_rad),
        ("triangles", triangles as f64),
        ("threads", threads as f64),
    ];
    let mut json = format!("{{\"name\": \"{scene}\"");
    for (name, value) in fields {
        write!(json, ", \"{name}\": {value}").unwrap();
    }
    for (name, [clock, processor]) in [("sight_s", sight_s), ("everything_s", everything_s)] {
        write!(json, ", \"{name}\": [{clock}, {processor}]").unwrap();
    }
    json + "}"
}

fn write_numbers(path: &PathBuf, numbers: impl Iterator<Item = f64>) {
    std::fs::write(path, numbers.flat_map(f64::to_le_bytes).collect::<Vec<u8>>()).unwrap();
}

/// The class as a number, in the order that the script knows.
fn number_of(class: SurfaceClass) -> f64 {
    match class {
        SurfaceClass::Ground => 0.0,
        SurfaceClass::Roof => 1.0,
        SurfaceClass::Wall => 2.0,
        SurfaceClass::Underside => 3.0,
    }
}

fn write_samples(site: &SiteModel, path: &PathBuf) {
    let max_gsd_m: ByClass<f64> = limits().max_gsd_m;
    write_numbers(
        path,
        site.samples().flat_map(|sample| {
            let ([x, y, z], [nx, ny, nz]) = (sample.position_m.to_array(), sample.normal.to_array());
            [x, y, z, nx, ny, nz, sample.area_m2, number_of(sample.class), max_gsd_m[sample.class]]
        }),
    );
}

fn write_results(figures: &ViewFigures, folder: &Path) {
    let samples = &figures.samples;
    write_numbers(
        &folder.join("results.f64"),
        (0..samples.views.len()).flat_map(|k| {
            let covered = f64::from(u8::from(samples.covered[k]));
            [f64::from(samples.views[k]), f64::from(samples.best_gsd_m[k]), covered]
        }),
    );
    let widest = samples.max_intersection_rad.iter().map(|&angle| f64::from(angle));
    write_numbers(&folder.join("widest.f64"), widest);
    let mut rose = vec![0.0; 4 * RING_COUNT * SECTOR_COUNT];
    for class in SurfaceClass::ALL {
        let Some(of_class) = &figures.classes[class] else { continue };
        let first = number_of(class) as usize * RING_COUNT * SECTOR_COUNT;
        for (k, mean) in of_class.rose.mean_views.iter().flatten().enumerate() {
            rose[first + k] = mean * of_class.area_m2;
        }
    }
    write_numbers(&folder.join("rose.f64"), rose.into_iter());
}

/// What becomes of every candidate: (sample × stations + station) × 4 + 0 hidden, 1 seen, 2 counted.
fn decisions(site: &SiteModel, stations: &Stations, table: &ViewTable) -> Vec<u8> {
    let faced = framed(site, stations, &NoWatch).unwrap();
    let (mut words, count) = (Vec::new(), stations.poses.len() as u64);
    for (number, tile) in site.tiles.iter().enumerate() {
        let seen: BTreeMap<u32, u64> = table.of_tile(number).iter().map(|v| (v.station, v.samples)).collect();
        let counted: BTreeMap<u32, u64> =
            counted_masks(site, number, stations, table, &limits()).into_iter().collect();
        for view in faced.of_tile(number) {
            let of = |masks: &BTreeMap<u32, u64>| masks.get(&view.station).copied().unwrap_or(0);
            let (seen, counted) = (of(&seen), of(&counted));
            for k in (0..tile.len).filter(|k| view.samples >> k & 1 == 1) {
                let pair = (u64::from(tile.first_sample) + k as u64) * count + u64::from(view.station);
                words.extend_from_slice(&(pair * 4 + (seen >> k & 1) + (counted >> k & 1)).to_le_bytes());
            }
        }
    }
    words
}
