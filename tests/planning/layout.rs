//! Strips over polygons: widths, lengths and the direction that needs the fewest.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use glam::DVec2;
use obliquity_planning::{
    Above, Aim, Aircraft, Airframe, Attitude, BeginAt, Camera, Conditions, CountingRule, Distance, Gimbal,
    Gnss, Id, KeepOut, Leg, LegKind, OnSite, Pass, PassPlan, Pattern, Sensor, Shutter, Site, SiteOutline,
    StripDirection, Strips, Terrain, plan_pass, polygon,
};

/// The camera of the check values: 5472 x 3648 pixels on 13.2 mm x 8.8 mm behind 8.8 mm.
pub(crate) fn camera_g() -> Camera {
    Camera {
        width_px: 5472,
        height_px: 3648,
        sensor: Sensor::Size { width_mm: 13.2, height_mm: 8.8 },
        focal_length_mm: 8.8,
        shortest_interval_s: 0.7,
        exposure_s: 1.0 / 1600.0,
        metering: None,
        distortion: obliquity_planning::Brown::NONE,
        calibration: obliquity_planning::CameraCalibration::Uncalibrated,
        image_noise_px: 0.5,
        image_mb: 9.0,
        shutter: Shutter::Mechanical,
    }
}

/// A plain aircraft around a camera.
pub(crate) fn aircraft(camera: &Camera) -> Aircraft {
    Aircraft {
        id: Id(1),
        name: "test bench".into(),
        camera: camera.clone(),
        gimbal: Gimbal {
            tilt_min_deg: -60.0,
            tilt_max_deg: 90.0,
            pan_min_deg: -60.0,
            pan_max_deg: 60.0,
            slew_dps: 120.0,
            settle_s: 0.2,
        },
        airframe: Airframe {
            top_speed_mps: 10.0,
            climb_mps: 4.0,
            descent_mps: 3.0,
            acceleration_mps2: 2.0,
            endurance_min: 28.0,
            reserve: 0.25,
            swap_min: 3.0,
            gnss: Some(Gnss {
                random_horizontal_m: 0.01,
                random_vertical_m: 0.02,
                constant_horizontal_m: 0.015,
                constant_vertical_m: 0.03,
            }),
            top_airspeed_mps: None,
            lateral_mps2: None,
            energy: None,
            corrections: None,
        },
        on_site: OnSite::default(),
    }
}

/// Level ground at height 0 inside a boundary.
pub(crate) fn flat_site(boundary_m: Vec<DVec2>, keep_outs: Vec<KeepOut>) -> Site {
    Site {
        name: "test site".into(),
        origin: None,
        take_off_m: boundary_m[0],
        boundary_m,
        terrain: Terrain::default(),
        structures: vec![],
        typical_building: None,
        keep_outs,
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}

/// A rectangle from the origin, open ring.
pub(crate) fn rectangle(east_m: f64, north_m: f64) -> Vec<DVec2> {
    [(0.0, 0.0), (east_m, 0.0), (east_m, north_m), (0.0, north_m)].map(DVec2::from).to_vec()
}

/// A nadir pass at 100 m with 80/70 % and no margin.
pub(crate) fn strips_pass(direction: StripDirection, counting: CountingRule) -> Pass {
    Pass {
        id: Id(2),
        pattern: Pattern::Strips(Strips { direction, counting, begin: BeginAt::default() }),
        attitudes: vec![Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } }],
        distance: Distance::Height { m: 100.0, above: Above::MeanGround },
        forward_overlap: 0.8,
        sidelap: 0.7,
        speed_mps: None,
        margin_m: Some(0.0),
        hover_s: None,
    }
}

/// Lays a pass out under default conditions.
pub(crate) fn plan(pass: &Pass, camera: &Camera, site: &Site) -> PassPlan {
    let outline = SiteOutline::new(site).expect("the site is sound");
    plan_pass(pass, &aircraft(camera), &outline, &Conditions::default()).expect("the pass can be laid out")
}

/// The pentagon of the check values: 30400 m2, perimeter 696.455417 m, convex.
fn pentagon() -> Vec<DVec2> {
    [(0.0, 0.0), (200.0, 0.0), (260.0, 90.0), (180.0, 170.0), (40.0, 120.0)].map(DVec2::from).to_vec()
}

/// Strips along a direction given counter-clockwise from east, with a spacing kept as set.
fn centred_strips(ring: Vec<DVec2>, from_east_deg: f64, spacing_m: f64) -> PassPlan {
    let direction = StripDirection::FromNorth { deg: 90.0 - from_east_deg };
    let mut pass = strips_pass(direction, CountingRule::CentredAtSpacing);
    pass.sidelap = 1.0 - spacing_m / 150.0;
    plan(&pass, &camera_g(), &flat_site(ring, vec![]))
}

fn strip_lengths_m(plan: &PassPlan) -> Vec<f64> {
    plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip).map(Leg::length_m).collect()
}

/// Derived: the pentagon's width across sweep lines parallel to each of its edges, by the distance of its corners.
#[test]
fn width_across_each_edge_direction() {
    assert_abs_diff_eq!(polygon::signed_area_m2(&pentagon()), 30400.0, epsilon = 1e-9);
    let cases = [
        (0.0, 170.0),
        (56.309932, 199.692071),
        (135.0, 247.487373),
        (19.653824, 166.822853),
        (71.565051, 218.197159),
    ];
    for (from_east_deg, width_m) in cases {
        let plan = centred_strips(pentagon(), from_east_deg, 30.0);
        // The directions are given to 1e-6 degrees, which is up to 5e-6 m on the widest.
        assert_abs_diff_eq!(plan.layout.region_width_m.expect("strips have it"), width_m, epsilon = 5e-6);
    }
}

/// Source: the best sweep of a convex region runs parallel to an edge: Huang, "Optimal line-sweep-based decompositions
/// for coverage algorithms", ICRA 2001; rotating calipers: Toussaint 1983 (both from memory). The value is computed.
#[test]
fn least_width_matches_huang_2001() {
    let sweeps = polygon::sweeps(&pentagon());
    let best = sweeps.iter().min_by(|a, b| a.width_m.total_cmp(&b.width_m)).expect("a pentagon has sides");
    let (along, width_m) = (best.to_m - best.from_m, best.width_m);
    assert_abs_diff_eq!((along.y / along.x).atan().to_degrees(), 19.653824, epsilon = 1e-6);
    let site = flat_site(pentagon(), vec![]);
    let outline = SiteOutline::new(&site).expect("a sound site");
    assert_abs_diff_eq!(outline.best_strips_rad.tan() * along.y, along.x, epsilon = 1e-9);
    assert_abs_diff_eq!(width_m, 166.822853, epsilon = 1e-6);
    // No direction of a scan is better.
    for step in 0..1800 {
        let plan_width_m = width_m_across(&pentagon(), f64::from(step) / 10.0);
        assert!(plan_width_m >= width_m - 1e-9, "{step}");
    }
}

fn width_m_across(ring: &[DVec2], from_east_deg: f64) -> f64 {
    let along = DVec2::from_angle(from_east_deg.to_radians());
    let offsets = ring.iter().map(|p| along.perp_dot(*p));
    offsets.clone().fold(f64::MIN, f64::max) - offsets.fold(f64::MAX, f64::min)
}

/// Cross-check: Shapely's least-area rectangle of the pentagon is 170 m x 260 m and lies along the first edge: a trap,
/// for strips along it would be wider across than along the fourth edge.
#[test]
fn automatic_direction_is_not_the_least_rectangles() {
    let pass = strips_pass(StripDirection::Automatic { turned_deg: 0.0 }, CountingRule::CentredAtSpacing);
    let layout = plan(&pass, &camera_g(), &flat_site(pentagon(), vec![])).layout;
    let width_m = layout.region_width_m.expect("strips have it");
    assert!(width_m < 170.0 - 3.0, "{width_m} m");
    let crossing = Pass { pattern: crossing_strips(), ..pass };
    let crossed = plan(&crossing, &camera_g(), &flat_site(pentagon(), vec![])).layout;
    let turned_deg = (crossed.direction_rad.expect("strips have it")
        - layout.direction_rad.expect("strips have it"))
    .to_degrees()
    .rem_euclid(180.0);
    assert_abs_diff_eq!(turned_deg, 90.0, epsilon = 1e-9);
}

fn crossing_strips() -> Pattern {
    let direction = StripDirection::Automatic { turned_deg: 90.0 };
    Pattern::Strips(Strips { direction, counting: CountingRule::CentredAtSpacing, begin: BeginAt::default() })
}

/// Cross-check: Shapely intersections of the centred lines with the pentagon, spacing 30 m.
#[test]
fn strip_lengths_agree_with_shapely() {
    let cases = [(19.653824, 6, 1057.3176), (0.0, 6, 1046.6667), (90.0, 9, 1022.1429), (135.0, 9, 1051.6499)];
    for (from_east_deg, strips, length_m) in cases {
        let plan = centred_strips(pentagon(), from_east_deg, 30.0);
        assert_eq!(plan.layout.strips, strips, "{from_east_deg} deg");
        assert_abs_diff_eq!(plan.layout.strips_length_m, length_m, epsilon = 1e-3);
    }
}

/// Derived: the six lines at y = 10, 40, … 160 m cut the pentagon's sides at places worked out by hand.
#[test]
fn strips_along_the_first_edge_have_the_lengths_worked_out_by_hand() {
    let mut lengths_m = strip_lengths_m(&centred_strips(pentagon(), 0.0, 30.0));
    lengths_m.sort_by(f64::total_cmp);
    let expected_m = [38.0, 152.0, 203.333, 213.333, 216.667, 223.333];
    assert_eq!(lengths_m.len(), expected_m.len());
    for (length_m, expected_m) in lengths_m.into_iter().zip(expected_m) {
        assert_abs_diff_eq!(length_m, expected_m, epsilon = 1e-3);
    }
}

/// Derived: a rectangle 300 m x 100 m, spacing 25 m: lengths by elementary geometry.
#[test]
fn rectangle_strips_have_the_lengths_worked_out_by_hand() {
    for (from_east_deg, strips, length_m) in [(0.0, 4, 1200.0), (90.0, 12, 1200.0), (45.0, 12, 1195.584)] {
        let plan = centred_strips(rectangle(300.0, 100.0), from_east_deg, 25.0);
        assert_eq!(plan.layout.strips, strips, "{from_east_deg} deg");
        assert_abs_diff_eq!(plan.layout.strips_length_m, length_m, epsilon = 1e-3);
    }
}

/// Derived: a square of 100 m with a keep-out of 20 m in its middle, spacing 20 m: 100 + 100 + 80 + 100 + 100 m.
#[test]
fn a_keep_out_takes_its_chord_out_of_the_strips() {
    let outline_m = [(40.0, 40.0), (60.0, 40.0), (60.0, 60.0), (40.0, 60.0)].map(DVec2::from).to_vec();
    let keep_out = KeepOut { name: "tank".into(), outline_m };
    let site = flat_site(rectangle(100.0, 100.0), vec![keep_out]);
    let mut pass = strips_pass(StripDirection::FromNorth { deg: 90.0 }, CountingRule::HalfSpacingInside);
    pass.sidelap = 1.0 - 20.0 / 150.0;
    let plan = plan(&pass, &camera_g(), &site);
    assert_eq!(plan.layout.strips, 5);
    assert_relative_eq!(strip_lengths_m(&plan).iter().sum::<f64>(), 480.0, max_relative = 1e-9);
    let inside = |p: DVec2| p.x > 40.0 && p.x < 60.0 && p.y > 40.0 && p.y < 60.0;
    assert!(plan.stations.poses.iter().all(|pose| !inside(pose.position_m.truncate())));
}
