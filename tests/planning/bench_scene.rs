//! The sites and stations that the benches share.

use glam::{DVec2, DVec3};
use obliquity_planning::{
    ByClass, CameraModel, Id, Pose, Site, Stations, Structure, StructureKind, Terrain, TerrainGrid,
    ViewLimits,
};
use std::fmt;
use std::sync::Arc;

/// What a scene's ground is like.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Ground {
    Level,
    /// Slopes to about 0.15.
    Gentle,
    /// Slopes to about 1.
    Rugged,
}

/// A scene: so many times the middle one's side, on some ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scene {
    pub(crate) ground: Ground,
    /// Side as a multiple of 470 m.
    pub(crate) side: f64,
}

impl fmt::Display for Scene {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} {:.0} m", self.ground, 470.0 * self.side)
    }
}

pub(crate) const SCENES: [Scene; 9] = [
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

pub(crate) const MIDDLE: [Scene; 3] = [SCENES[3], SCENES[4], SCENES[5]];

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
pub(crate) fn site(scene: Scene, spacing_m: f64) -> Site {
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
        control_points: Vec::new(),
        sample_spacing_m: Some(spacing_m),
    }
}

/// So many columns and rows of places at 73 m above the mean ground, at each one look down and four tilted by 45°.
pub(crate) fn stations(side_m: f64, (columns, rows): (u32, u32)) -> Stations {
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
    let camera = CameraModel::pinhole(5472, 3648, 3648.0);
    Stations { camera, poses: poses.collect() }
}

/// Stations of a scene, as dense as on the middle one.
pub(crate) fn stations_of(scene: Scene) -> Stations {
    let count = |middle: f64| (middle * scene.side).round() as u32;
    stations(470.0 * scene.side, (count(24.0), count(22.0)))
}

pub(crate) fn limits() -> ViewLimits {
    ViewLimits {
        max_incidence_rad: 55_f64.to_radians(),
        max_gsd_m: ByClass { ground: 0.04, roof: 0.04, wall: 0.08, underside: 0.08 },
        min_views: 3,
        min_intersection_rad: 10_f64.to_radians(),
        max_link_rad: 40_f64.to_radians(),
    }
}

/// Processor time of this process so far, in user and system mode, where the system tells it.
#[expect(clippy::disallowed_methods, reason = "a bench asks for times")]
pub(crate) fn processor_s() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // after the name in brackets, fields 12 and 13 count hundredths of a second
    let after = text.rsplit(')').next().unwrap_or_default();
    after.split_whitespace().skip(11).take(2).filter_map(|field| field.parse::<f64>().ok()).sum::<f64>()
        / 100.0
}
