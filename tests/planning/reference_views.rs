//! Sight, limits and coverage on the small scene of `tests/reference/small`, whose figures come from general-purpose
//! libraries alone.

use crate::reference::{CAMERA, index, number, poses, rows, samples};
use glam::DVec2;
use obliquity_planning::{
    ByClass, NoWatch, Prism, SamplePoint, SiteModel, Stations, Terrain, ViewLimits, counted_masks, framed,
    sight, views,
};

const PRISMS: &str = include_str!("../reference/small/prisms.csv");
const DECISIONS: &str = include_str!("../reference/small/decisions.txt");
const RESULTS: &str = include_str!("../reference/small/results.csv");

/// As `small/camera.json` says; nothing is asked of undersides, which the scene has none of.
fn limits() -> ViewLimits {
    ViewLimits {
        max_incidence_rad: 55.0_f64.to_radians(),
        max_gsd_m: ByClass { ground: 0.09, roof: 0.09, wall: 0.14, underside: 0.14 },
        min_views: 3,
        min_intersection_rad: 10.0_f64.to_radians(),
        max_link_rad: 40.0_f64.to_radians(),
    }
}

fn prisms() -> Vec<Prism> {
    let mut prisms: Vec<Prism> = Vec::new();
    for row in rows(PRISMS) {
        if index(row[0]) == prisms.len() {
            let (bottom_m, top_m) = (number(row[1]), number(row[2]));
            prisms.push(Prism { footprint_m: Vec::new(), bottom_m, top_m });
        }
        let corner = DVec2::new(number(row[3]), number(row[4]));
        prisms.last_mut().expect("the first row begins a prism").footprint_m.push(corner);
    }
    prisms
}

fn scene() -> (SiteModel, Stations) {
    let points: Vec<SamplePoint> = samples()
        .iter()
        .map(|s| SamplePoint { class: s.class, position_m: s.point_m, normal: s.normal, area_m2: 1.0 })
        .collect();
    let terrain = Terrain::Plane { at_origin_m: 0.0, slope_east: 0.03, slope_north: -0.02 };
    (SiteModel::from_points(&points, prisms(), terrain), Stations { camera: CAMERA, poses: poses() })
}

/// Cross-check: OpenCV 5.0.0 (frames), Embree through embreex 4.4.0.post1 (hiding), NumPy 2.4.6 (incidence, GSD):
/// what becomes of each of 321 samples at each of 104 stations. No decision of the scene is near a tie, so all are
/// equal.
#[test]
fn every_decision_agrees_with_opencv_and_embree() {
    let (site, stations) = scene();
    let table = sight(&site, &stations, &NoWatch).expect("not cancelled");
    let faced = framed(&site, &stations, &NoWatch).expect("not cancelled");
    let mut sample = 0;
    for (tile, lines) in tiles_with_lines(&site) {
        let mut marks = vec![vec!['.'; stations.poses.len()]; lines.len()];
        let mut mark = |station: u32, bits: u64, letter| {
            for (_, row) in marks.iter_mut().enumerate().filter(|(k, _)| bits >> k & 1 == 1) {
                row[station as usize] = letter;
            }
        };
        for view in faced.of_tile(tile) {
            mark(view.station, view.samples, 'h');
        }
        for view in table.of_tile(tile) {
            mark(view.station, view.samples, 'v');
        }
        for (station, bits) in counted_masks(&site, tile, &stations, &table, &limits()) {
            mark(station, bits, 'c');
        }
        for (row, line) in marks.iter().zip(lines) {
            assert_eq!(row.iter().collect::<String>(), line, "sample {sample}");
            sample += 1;
        }
    }
    assert_eq!(sample, 321);
}

/// Each tile with its samples' lines of `small/decisions.txt`.
fn tiles_with_lines(site: &SiteModel) -> impl Iterator<Item = (usize, Vec<&'static str>)> {
    let mut lines = DECISIONS.lines();
    site.tiles
        .iter()
        .map(|tile| tile.len)
        .enumerate()
        .map(move |(tile, len)| (tile, lines.by_ref().take(len).collect()))
}

/// Cross-check: OpenCV 5.0.0's Jacobian (GSD), NumPy 2.4.6 (angles), SciPy 1.17.1 connected components (linked groups).
#[test]
fn sample_figures_agree_with_opencv_and_scipy() {
    let (site, stations) = scene();
    let table = sight(&site, &stations, &NoWatch).expect("not cancelled");
    let figures = views(&site, &[(&stations, &table)], &limits(), &NoWatch).expect("not cancelled").samples;
    for (sample, row) in rows(RESULTS).enumerate() {
        assert_eq!(figures.views[sample] as usize, index(row[1]), "views of sample {sample}");
        assert_eq!(figures.covered[sample], row[4] == "1", "coverage of sample {sample}");
        let gsd_cm = f64::from(figures.best_gsd_m[sample]) * 100.0;
        if row[2].is_empty() {
            assert!(gsd_cm.is_infinite());
            continue;
        }
        // Required within 1e-4; single precision gives 1e-6.
        assert!((gsd_cm / number(row[2]) - 1.0).abs() < 2e-6, "GSD of sample {sample}: {gsd_cm}, {}", row[2]);
        let widest_deg = f64::from(figures.max_intersection_rad[sample]).to_degrees();
        // Single precision gives 1e-6 rad, and cosines near 1 lose half their digits on narrow angles.
        assert!((widest_deg - number(row[3])).abs() < 1e-3, "sample {sample}: {widest_deg}, {}", row[3]);
    }
}
