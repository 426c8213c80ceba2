//! What stations see of surfaces, against scenes computed by other means.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use glam::{DVec2, DVec3};
use obliquity_planning::{
    ByClass, CameraModel, NoWatch, Pose, PosedCamera, Prism, SamplePoint, Site, SiteModel, Stations,
    Structure, StructureKind, SurfaceClass, Terrain, ViewLimits, ViewTable, counted_masks, sight, views,
};
use proptest::prelude::*;

/// A 5472 × 3648 px camera with a focal length of 3648 px.
const CAMERA: CameraModel = CameraModel::pinhole(5472, 3648, 3648.0);

fn pose(at: (f64, f64, f64), heading_deg: f64, tilt_deg: f64) -> Pose {
    Pose {
        position_m: at.into(),
        heading_rad: heading_deg.to_radians(),
        tilt_rad: tilt_deg.to_radians(),
        roll_rad: 0.0,
    }
}

/// Exposures over a 240 m square at 100 m, 20 m apart on lines 60 m apart, north-south.
fn north_south(heading_deg: impl Fn(usize) -> f64, tilt_deg: f64) -> Vec<Pose> {
    let places = (0_usize..5).flat_map(|line| (0_u8..13).map(move |k| (line, k)));
    places
        .map(|(line, k)| {
            let at = (-120.0 + 60.0 * line as f64, -120.0 + 20.0 * f64::from(k), 100.0);
            pose(at, heading_deg(line), tilt_deg)
        })
        .collect()
}

/// Block A: nadir, the camera turned round on every other line.
fn block_a() -> Vec<Pose> {
    north_south(|line| 180.0 * (line % 2) as f64, 0.0)
}

/// Block B: A and the same with east-west lines.
fn block_b() -> Vec<Pose> {
    let turned = block_a().into_iter().map(|p| Pose {
        position_m: DVec3::new(p.position_m.y, p.position_m.x, p.position_m.z),
        heading_rad: p.heading_rad + std::f64::consts::FRAC_PI_2,
        ..p
    });
    block_a().into_iter().chain(turned).collect()
}

/// Blocks C and D: A and four tilted blocks from the same places.
fn nadir_and_four(tilt_deg: f64) -> Vec<Pose> {
    let tilted =
        [0.0, 90.0, 180.0, 270.0].into_iter().flat_map(|heading| north_south(move |_| heading, tilt_deg));
    block_a().into_iter().chain(tilted).collect()
}

/// Block G: north-south lines with the camera tilted 10° forward.
fn block_g() -> Vec<Pose> {
    north_south(|line| 180.0 * (line % 2) as f64, 10.0)
}

/// Block I: A and a facade pass before each side, 25 m off, level, at 4, 8 and 12 m.
fn block_i() -> Vec<Pose> {
    let facade = [0.0_f64, 90.0, 180.0, 270.0].into_iter().flat_map(|heading_deg| {
        let toward = DVec2::new(heading_deg.to_radians().sin(), heading_deg.to_radians().cos());
        let along = [-8.0, -4.0, 0.0, 4.0, 8.0];
        along.into_iter().flat_map(move |offset_m| {
            [4.0, 8.0, 12.0].map(|z| {
                let at = -35.0 * toward + offset_m * toward.perp();
                pose((at.x, at.y, z), heading_deg, 90.0)
            })
        })
    });
    block_a().into_iter().chain(facade).collect()
}

/// Block J: I and four shots under the canopy that look up at it.
fn block_j() -> Vec<Pose> {
    let shots = [
        ((40.0, -4.0, 2.0), 0.0),
        ((40.0, 4.0, 2.0), 180.0),
        ((36.0, 0.0, 2.0), 90.0),
        ((44.0, 0.0, 2.0), 270.0),
    ];
    block_i().into_iter().chain(shots.map(|(at, heading_deg)| pose(at, heading_deg, 150.0))).collect()
}

/// A box of 20 × 20 × 15 m at the origin and a canopy of 10 × 10 × 0.5 m, its underside at 6 m, 40 m east of it, with
/// the points R, N, E, L, G, O, T, U.
fn reference_scene() -> SiteModel {
    let point = |class, at: (f64, f64, f64), normal| SamplePoint {
        class,
        position_m: at.into(),
        normal,
        area_m2: 1.0,
    };
    let points = [
        point(SurfaceClass::Roof, (0.0, 0.0, 15.0), DVec3::Z),
        point(SurfaceClass::Wall, (0.0, 10.0, 7.5), DVec3::Y),
        point(SurfaceClass::Wall, (10.0, 0.0, 7.5), DVec3::X),
        point(SurfaceClass::Wall, (0.0, 10.0, 1.0), DVec3::Y),
        point(SurfaceClass::Ground, (0.0, 13.0, 0.0), DVec3::Z),
        point(SurfaceClass::Ground, (60.0, 60.0, 0.0), DVec3::Z),
        point(SurfaceClass::Roof, (40.0, 0.0, 6.5), DVec3::Z),
        point(SurfaceClass::Underside, (40.0, 0.0, 6.0), DVec3::NEG_Z),
    ];
    SiteModel::from_points(&points, SiteModel::build(&canopy_site()).unwrap().prisms, Terrain::default())
}

/// The box and the canopy as a site.
fn canopy_site() -> Site {
    let square = |x: f64, half: f64| {
        [(-half, -half), (half, -half), (half, half), (-half, half)]
            .map(|(dx, dy)| DVec2::new(x + dx, dy))
            .to_vec()
    };
    let structure = |id, footprint_m, kind| Structure {
        id: obliquity_planning::Id(id),
        name: String::new(),
        footprint_m,
        kind,
    };
    Site {
        name: "canopy".into(),
        origin: None,
        boundary_m: square(0.0, 100.0),
        take_off_m: DVec2::ZERO,
        terrain: Terrain::default(),
        structures: vec![
            structure(1, square(0.0, 10.0), StructureKind::Extrusion { height_m: 15.0 }),
            structure(
                2,
                square(40.0, 5.0),
                StructureKind::Deck { soffit_m: 6.0, top_m: 6.5, piers: Vec::new() },
            ),
        ],
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: Some(2.0),
    }
}

fn incidence_limit(max_incidence_deg: f64) -> ViewLimits {
    ViewLimits {
        max_incidence_rad: max_incidence_deg.to_radians(),
        max_gsd_m: ByClass::from_fn(|_| f64::INFINITY),
        min_views: 3,
        min_intersection_rad: 10_f64.to_radians(),
        max_link_rad: 40_f64.to_radians(),
    }
}

/// For each point, the counted views at 60, 70 and 80°.
fn counts(site: &SiteModel, stations: &Stations, table: &ViewTable) -> Vec<[u32; 3]> {
    let by_limit = [60.0, 70.0, 80.0].map(|limit| {
        views(site, &[(stations, table)], &incidence_limit(limit), &NoWatch).unwrap().samples.views
    });
    (0..site.tiles.len()).map(|point| by_limit.each_ref().map(|views| views[point])).collect()
}

/// Least incidence of a point's views, in degrees.
fn best_incidence_deg(site: &SiteModel, point: usize, stations: &Stations, table: &ViewTable) -> f64 {
    let sample = site.tiles[point].sample(0);
    let incidence = |&(station, _): &(u32, u64)| {
        let ray = stations.poses[station as usize].position_m - sample.position_m;
        ray.angle_between(sample.normal).to_degrees()
    };
    let seen = counted_masks(site, point, stations, table, &incidence_limit(90.0));
    seen.iter().map(incidence).fold(f64::INFINITY, f64::min)
}

fn assert_block(poses: Vec<Pose>, expected: [([u32; 3], f64); 8]) {
    let site = reference_scene();
    let stations = Stations { camera: CAMERA, poses };
    let table = sight(&site, &stations, &NoWatch).unwrap();
    assert_eq!(counts(&site, &stations, &table), expected.map(|(counts, _)| counts));
    for (point, (views, best_deg)) in expected.into_iter().enumerate() {
        if views == [0; 3] {
            continue; // no view, no angle
        }
        let found_deg = best_incidence_deg(&site, point, &stations, &table);
        assert!((found_deg - best_deg).abs() <= 0.01, "point {point}: {found_deg} for {best_deg}"); // as printed
    }
}

/// No view at all.
const UNSEEN: ([u32; 3], f64) = ([0, 0, 0], 90.0);

/// Cross-check: trimesh with Embree, box of 20 × 20 × 15 m, nadir block of 65 (A).
#[test]
fn views_of_a_nadir_block_agree_with_embree() {
    assert_block(
        block_a(),
        [
            ([15, 15, 15], 0.0),
            ([0, 0, 3], 72.03),
            ([0, 5, 5], 61.61),
            ([0, 0, 3], 73.14),
            ([12, 12, 12], 4.0),
            ([15, 15, 15], 0.0),
            ([10, 10, 10], 12.07),
            UNSEEN,
        ],
    );
}

/// Cross-check: trimesh with Embree, the same with crossed lines, 130 (B).
#[test]
fn views_of_crossed_lines_agree_with_embree() {
    assert_block(
        block_b(),
        [
            ([30, 30, 30], 0.0),
            ([0, 5, 8], 61.61),
            ([0, 5, 8], 61.61),
            ([0, 5, 8], 63.20),
            ([22, 22, 22], 4.0),
            ([30, 30, 30], 0.0),
            ([25, 25, 25], 0.0),
            UNSEEN,
        ],
    );
}

/// Cross-check: trimesh with Embree, nadir and four blocks tilted 45°, 325 (C).
#[test]
fn views_of_blocks_tilted_45_degrees_agree_with_embree() {
    assert_block(
        nadir_and_four(45.0),
        [
            ([77, 81, 81], 0.0),
            ([15, 22, 31], 40.06),
            ([13, 33, 35], 40.06),
            ([15, 22, 31], 41.99),
            ([50, 50, 50], 4.0),
            ([67, 84, 84], 0.0),
            ([72, 82, 82], 12.07),
            UNSEEN,
        ],
    );
}

/// Cross-check: trimesh with Embree, nadir and four blocks tilted 30°, 325 (D).
#[test]
fn views_of_blocks_tilted_30_degrees_agree_with_embree() {
    assert_block(
        nadir_and_four(30.0),
        [
            ([83, 87, 87], 0.0),
            ([13, 20, 32], 40.06),
            ([11, 33, 35], 40.06),
            ([13, 20, 32], 41.99),
            ([61, 61, 61], 4.0),
            ([70, 70, 70], 0.0),
            ([76, 76, 76], 12.07),
            UNSEEN,
        ],
    );
}

/// Cross-check: trimesh with Embree, north-south lines tilted 10° forward, 65 (G).
#[test]
fn views_of_a_block_tilted_10_degrees_agree_with_embree() {
    assert_block(
        block_g(),
        [
            ([15, 15, 15], 0.0),
            ([0, 2, 4], 65.61),
            ([0, 5, 5], 61.61),
            ([2, 4, 6], 58.84),
            ([13, 13, 13], 4.0),
            ([15, 15, 15], 0.0),
            ([10, 10, 10], 12.07),
            UNSEEN,
        ],
    );
}

/// What block A and four facade passes see, the underside apart.
const WITH_FACADES: [([u32; 3], f64); 7] = [
    ([15, 15, 15], 0.0),
    ([15, 15, 18], 1.15),
    ([15, 20, 20], 1.15),
    ([15, 15, 18], 6.84),
    ([12, 12, 28], 4.0),
    ([15, 15, 15], 0.0),
    ([10, 10, 10], 12.07),
];

/// Cross-check: trimesh with Embree, A and four facade passes, 125 (I); these and four shots from below the canopy,
/// 129 (J). No other block sees its underside.
#[test]
fn views_of_facade_passes_and_from_below_agree_with_embree() {
    let [r, n, e, l, g, o, t] = WITH_FACADES;
    assert_block(block_i(), [r, n, e, l, g, o, t, UNSEEN]);
    assert_block(block_j(), [r, n, e, l, g, o, t, ([4, 4, 4], 45.0)]);
}

/// A sloping site with a concave and a skew structure.
fn sloping_site() -> Site {
    let ring = |corners: &[(f64, f64)]| corners.iter().copied().map(DVec2::from).collect::<Vec<_>>();
    let structure = |id, footprint_m, height_m| Structure {
        id: obliquity_planning::Id(id),
        name: String::new(),
        footprint_m,
        kind: StructureKind::Extrusion { height_m },
    };
    Site {
        name: "slope".into(),
        origin: None,
        boundary_m: ring(&[(-60.0, -50.0), (70.0, -40.0), (50.0, 55.0), (-40.0, 45.0)]),
        take_off_m: DVec2::ZERO,
        terrain: Terrain::Plane { at_origin_m: 12.0, slope_east: 0.12, slope_north: -0.07 },
        structures: vec![
            structure(
                1,
                ring(&[(0.0, 0.0), (24.3, 0.0), (24.3, 8.1), (9.2, 8.1), (9.2, 21.7), (0.0, 21.7)]),
                14.0,
            ),
            structure(2, ring(&[(-30.0, -20.0), (-22.0, -26.0), (-13.0, -14.0), (-21.0, -8.0)]), 9.0),
        ],
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: Some(2.3),
    }
}

/// Whether the open segment meets a triangle: Möller & Trumbore 1997 (from memory).
fn meets(from: DVec3, to: DVec3, [a, b, c]: &[DVec3; 3]) -> bool {
    let (along, first, second) = (to - from, *b - *a, *c - *a);
    let across = along.cross(second);
    let scale = first.dot(across);
    if scale == 0.0 {
        return false;
    }
    let u = (from - *a).dot(across) / scale;
    let turned = (from - *a).cross(first);
    let (v, t) = (along.dot(turned) / scale, second.dot(turned) / scale);
    u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t > 0.0 && t < 1.0
}

fn seen_by_definition(
    sample: &obliquity_planning::Sample,
    camera: &PosedCamera,
    scene: &[[DVec3; 3]],
) -> bool {
    let in_frame = camera.project(sample.position_m).is_some_and(|uv| camera.model.contains(uv));
    let start = sample.position_m + sample.normal * 0.01;
    in_frame
        && (camera.centre_m - sample.position_m).dot(sample.normal) > 0.0
        && !scene.iter().any(|triangle| meets(start, camera.centre_m, triangle))
}

/// Decisions unlike the definition, and all decisions.
pub(crate) fn unlike_the_definition(site: &SiteModel, stations: &Stations) -> (usize, usize) {
    let table = sight(site, stations, &NoWatch).unwrap();
    let scene = site.triangles();
    let (mut unlike, mut all) = (0, 0);
    for (number, tile) in site.tiles.iter().enumerate() {
        for (station, pose) in stations.poses.iter().enumerate() {
            let camera = PosedCamera::new(stations.camera, pose);
            let view = table.of_tile(number).iter().find(|view| view.station as usize == station);
            let seen = view.map_or(0, |view| view.samples);
            for k in 0..tile.len {
                unlike +=
                    usize::from(seen_by_definition(&tile.sample(k), &camera, &scene) != (seen >> k & 1 == 1));
                all += 1;
            }
        }
    }
    (unlike, all)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Cross-check: the definition itself, projection and segments against triangles in double precision, for random
    /// stations: at least 99.99 % of the decisions are equal, as single precision allows.
    #[test]
    fn sight_agrees_with_the_definition(
        places in prop::collection::vec(
            ((-110.0..110.0_f64, -110.0..110.0_f64, 14.0..90.0_f64), 0.0..360.0_f64, 0.0..120.0_f64, -1.0..1.0_f64),
            40,
        ),
    ) {
        let site = SiteModel::build(&sloping_site()).unwrap();
        let poses = places
            .into_iter()
            .map(|(at, heading, tilt, roll_rad)| Pose { roll_rad, ..pose(at, heading, tilt) })
            .collect();
        let (unlike, all) = unlike_the_definition(&site, &Stations { camera: CAMERA, poses });
        prop_assert!(unlike as f64 <= 1e-4 * all as f64, "{} of {}", unlike, all);
    }
}

/// Derived: ground that rises to the east faces a camera in the west that is lower than itself, and a structure on the
/// way hides that ground though its roof is lower, too.
#[test]
fn a_roof_below_the_sample_hides_from_a_camera_lower_still() {
    let slope = Terrain::Plane { at_origin_m: 0.0, slope_east: 0.3, slope_north: 0.0 };
    let normal = DVec3::new(-0.3, 0.0, 1.0).normalize();
    let uphill = SamplePoint {
        class: SurfaceClass::Ground,
        position_m: DVec3::new(60.0, 0.0, 18.0),
        normal,
        area_m2: 1.0,
    };
    let footprint_m = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)].map(DVec2::from).to_vec();
    let building = Prism { footprint_m, bottom_m: -2.5, top_m: 12.0 };
    // the ray is at z 9.0 over the building's west side when the camera is at z 8, and at 12.9 when it is at 12.5
    let stations = Stations {
        camera: CAMERA,
        poses: vec![pose((-10.0, 0.0, 8.0), 90.0, 90.0), pose((-10.0, 0.0, 12.5), 90.0, 90.0)],
    };
    let site = SiteModel::from_points(&[uphill], vec![building], slope);
    let seen: Vec<_> =
        sight(&site, &stations, &NoWatch).unwrap().views.iter().map(|view| view.station).collect();
    assert_eq!(seen, [1]);
}

/// Derived: work is shared by tiles, so that 1, 2 and 8 threads give the same bits.
#[test]
fn results_do_not_depend_on_threads() {
    let site = SiteModel::build(&sloping_site()).unwrap();
    let stations = Stations { camera: CAMERA, poses: nadir_and_four(45.0) };
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let table = sight(&site, &stations, &NoWatch).unwrap();
            let figures = views(&site, &[(&stations, &table)], &incidence_limit(55.0), &NoWatch).unwrap();
            (table, figures)
        })
    };
    let one = with(1);
    assert!(one.1.classes.wall.as_ref().unwrap().covered_ratio > 0.0);
    assert_eq!(one, with(2));
    assert_eq!(one, with(8));
}
