//! Sight and reduction on a 22 ha site: 2,640 stations, about 70,000 samples, 20 structures of 9 to 38 m.

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]

use divan::Bencher;
use glam::{DVec2, DVec3};
use obliquity_planning::{
    ByClass, CameraModel, Id, NoWatch, Pose, Site, SiteModel, Stations, Structure, StructureKind, Terrain,
    ViewLimits, framed, sight, views,
};

fn main() {
    divan::main();
}

/// A rectangle of 470 × 475 m with four rows of five boxes.
fn site() -> Site {
    let structures = (0..20_u32).map(|k| {
        let (column, row) = (f64::from(k % 5), f64::from(k / 5));
        let centre = DVec2::new(60.0 + 88.0 * column, 70.0 + 110.0 * row);
        let half = DVec2::new(12.0 + 2.0 * column, 10.0 + 4.0 * row);
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
        boundary_m: [(0.0, 0.0), (470.0, 0.0), (470.0, 475.0), (0.0, 475.0)].map(DVec2::from).to_vec(),
        take_off_m: DVec2::ZERO,
        terrain: Terrain::default(),
        structures: structures.collect(),
        typical_building: None,
        keep_outs: Vec::new(),
        sample_spacing_m: Some(1.92),
    }
}

/// 24 × 22 places at 73 m, at each one down and four tilted by 45°.
fn stations() -> Stations {
    let attitudes = [(0.0, 0.0), (45.0, 45.0), (315.0, 45.0), (225.0, 45.0), (135.0, 45.0)];
    let places = (0..24).flat_map(|column| (0..22).map(move |row| (f64::from(column), f64::from(row))));
    let poses = places.flat_map(|(column, row)| {
        let position_m = DVec3::new(-60.0 + 590.0 * column / 23.0, -60.0 + 595.0 * row / 21.0, 73.0);
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

fn limits() -> ViewLimits {
    ViewLimits {
        max_incidence_rad: 55_f64.to_radians(),
        max_gsd_m: ByClass { ground: 0.04, roof: 0.04, wall: 0.08, underside: 0.08 },
        min_views: 3,
        min_intersection_rad: 10_f64.to_radians(),
        max_link_rad: 40_f64.to_radians(),
    }
}

#[divan::bench]
fn site_model(bencher: Bencher) {
    let site = site();
    bencher.bench(|| SiteModel::build(&site).unwrap());
}

#[divan::bench]
fn sight_of_2640_stations(bencher: Bencher) {
    let (site, stations) = (SiteModel::build(&site()).unwrap(), stations());
    report(&site, &stations);
    bencher.bench(|| sight(&site, &stations, &NoWatch).unwrap());
}

#[divan::bench]
fn limits_coverage_and_rose(bencher: Bencher) {
    let (site, stations) = (SiteModel::build(&site()).unwrap(), stations());
    let table = sight(&site, &stations, &NoWatch).unwrap();
    bencher.bench(|| views(&site, &[(&stations, &table)], &limits(), &NoWatch).unwrap());
}

/// What is being timed, on standard error.
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn report(site: &SiteModel, stations: &Stations) {
    let pairs = |table: &obliquity_planning::ViewTable| -> u32 {
        table.views.iter().map(|view| view.samples.count_ones()).sum()
    };
    let candidates = pairs(&framed(site, stations, &NoWatch).unwrap());
    let seen = pairs(&sight(site, stations, &NoWatch).unwrap());
    let (samples, stations) = (site.sample_count, stations.poses.len());
    eprintln!("{samples} samples, {stations} stations, {candidates} candidate rays, {seen} seen");
}
