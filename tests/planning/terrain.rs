//! Uneven ground and decks: what they hold, what is asked of them, and what they hide.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, ring, scenario, tower};
use crate::views::unlike_the_definition;
use glam::{DVec2, DVec3};
use obliquity_planning::{
    Above, BeginAt, CameraModel, Corridor, CountingRule, Depth, Distance, Id, NoWatch, Pattern, Pier, Pose,
    Severity, Site, SiteModel, Stations, StripDirection, Strips, Structure, StructureKind, SurfaceClass,
    Terrain, TerrainGrid, ViewLimits, sight, views,
};
use proptest::prelude::*;
use std::sync::Arc;

const CAMERA: CameraModel = CameraModel::pinhole(5472, 3648, 3648.0);

/// Heights of a formula on a grid round the origin.
pub(crate) fn grid(half_m: f64, step_m: f64, height_m: impl Fn(DVec2) -> f64) -> Terrain {
    let nodes = (2.0 * half_m / step_m) as usize + 1;
    let from = DVec2::splat(-half_m);
    let at = |k: usize| from + step_m * DVec2::new((k % nodes) as f64, (k / nodes) as f64);
    let heights: Vec<f64> = (0..nodes * nodes).map(|k| height_m(at(k))).collect();
    Terrain::Grid(Arc::new(
        TerrainGrid::from_heights_m(from, DVec2::splat(step_m), (nodes, nodes), &heights).unwrap(),
    ))
}

/// A deck of 24 × 8 m on two piers.
fn bridge(at: DVec2, soffit_m: f64) -> Structure {
    let rectangle = |centre: DVec2, half: DVec2| {
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        corners.map(|corner| centre + DVec2::from(corner) * half).to_vec()
    };
    let pier = |x: f64| Pier { footprint_m: rectangle(at + DVec2::new(x, 0.0), DVec2::new(1.0, 3.0)) };
    Structure {
        id: Id(7),
        name: "Bridge".to_owned(),
        footprint_m: rectangle(at, DVec2::new(12.0, 4.0)),
        kind: StructureKind::Deck { soffit_m, top_m: soffit_m + 1.5, piers: vec![pier(-6.0), pier(6.0)] },
    }
}

fn rolling_site(amplitude_m: f64) -> Site {
    let mut site = level_site(&[(-45.0, -40.0), (44.0, -42.0), (40.0, 43.0), (-38.0, 45.0)]);
    site.terrain = grid(60.0, 6.0, |at| {
        50.0 + amplitude_m
            * ((at.x * 0.21).sin() * (at.y * 0.17).cos() + 0.4 * (at.x * 0.6 + at.y * 0.5).sin())
    });
    site.structures = vec![tower((-25.0, 5.0), (-12.0, 17.0), 11.0), bridge(DVec2::new(12.0, -14.0), 9.0)];
    site.sample_spacing_m = Some(4.1);
    site
}

fn sampled_area_m2(model: &SiteModel, class: SurfaceClass) -> f64 {
    model.samples().filter(|s| s.class == class).map(|s| s.area_m2).sum()
}

/// Derived: a deck of 24 × 8 × 1.5 m on two piers of 2 × 6 m, 9 m high: top 192 m², edges 64 × 1.5 m², piers
/// 2 × 16 × 9 m², underside 192 − 24 m², and the ground below it less the piers.
#[test]
fn a_deck_has_top_edges_underside_and_piers() {
    let mut site = level_site(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    site.structures = vec![bridge(DVec2::ZERO, 9.0)];
    site.sample_spacing_m = Some(0.5);
    let model = SiteModel::build(&site).unwrap();
    let expected = [
        (SurfaceClass::Ground, 10_000.0 - 24.0),
        (SurfaceClass::Roof, 192.0),
        (SurfaceClass::Wall, 64.0 * 1.5 + 2.0 * 16.0 * 9.0),
        (SurfaceClass::Underside, 192.0 - 24.0),
    ];
    for (class, area_m2) in expected {
        // the overlay rounds corners to a billionth of the site
        assert!((model.area_m2[class] - area_m2).abs() < 1e-4, "{class:?}: {}", model.area_m2[class]);
        assert!((sampled_area_m2(&model, class) - area_m2).abs() < 1e-4, "{class:?} sampled");
    }
    assert!(model.samples().filter(|s| s.class == SurfaceClass::Underside).all(|s| s.normal == DVec3::NEG_Z));
    let heights: Vec<_> = model.prisms.iter().map(|p| (p.bottom_m, p.top_m)).collect();
    assert_eq!(heights, [(9.0, 10.5), (-1.0, 9.0), (-1.0, 9.0)]);
}

/// Derived: a grid that repeats a plane (slopes that whole millimetres hold) gives the plane's figures: areas, heights,
/// and what every sample gets.
#[test]
fn a_grid_that_repeats_a_plane_gives_its_figures() {
    let mut plane = level_site(&[(-45.0, -40.0), (45.0, -40.0), (45.0, 40.0), (-45.0, 40.0)]);
    plane.structures = vec![tower((-25.0, 5.0), (-12.0, 17.0), 11.0), bridge(DVec2::new(12.0, -14.0), 9.0)];
    plane.sample_spacing_m = Some(2.0);
    plane.terrain = Terrain::Plane { at_origin_m: 20.0, slope_east: 0.1, slope_north: -0.05 };
    let mut uneven = plane.clone();
    uneven.terrain = grid(60.0, 6.0, |at| 20.0 + 0.1 * at.x - 0.05 * at.y);
    let models = [&plane, &uneven].map(|site| SiteModel::build(site).unwrap());
    let [first, second] = &models;
    for class in SurfaceClass::ALL {
        let (a, b) = (first.area_m2[class], second.area_m2[class]);
        assert!((a - b).abs() < 1e-6 * a, "{class:?}: {a}, {b}"); // single precision of the normals
    }
    assert!((first.reference_z_m - second.reference_z_m).abs() < 1e-9); // rounding
    let stations = Stations { camera: CAMERA, poses: poses(60.0) };
    let [a, b] = models.each_ref().map(|site| {
        let table = sight(site, &stations, &NoWatch).unwrap();
        let limits = ViewLimits::from(&obliquity_planning::Requirement::default());
        views(site, &[(&stations, &table)], &limits, &NoWatch).unwrap()
    });
    let unlike = a.samples.views.iter().zip(&b.samples.views).filter(|(a, b)| a != b).count();
    // ties at the edges of frames and shadows
    assert!(unlike as f64 <= 2e-3 * a.samples.views.len() as f64, "{unlike} of {}", a.samples.views.len());
    for (a, b) in a.samples.best_gsd_m.iter().zip(&b.samples.best_gsd_m) {
        assert!(a == b || (a / b - 1.0).abs() < 1e-2, "{a}, {b}"); // another best view at most
    }
}

/// Nadir and four tilted looks over a square.
fn poses(height_m: f64) -> Vec<Pose> {
    let looks = [(0.0, 0.0), (0.0, 45.0), (90.0, 45.0), (180.0, 45.0), (270.0, 45.0)];
    let places =
        (0..7).flat_map(|x| (0..7).map(move |y| DVec2::new(f64::from(x), f64::from(y)) * 20.0 - 60.0));
    let at = |place: DVec2, (heading_deg, tilt_deg): (f64, f64)| Pose {
        position_m: place.extend(20.0 + height_m),
        heading_rad: heading_deg.to_radians(),
        tilt_rad: tilt_deg.to_radians(),
        roll_rad: 0.0,
    };
    places.flat_map(|place| looks.map(|look| at(place, look))).collect()
}

/// Derived: on a ridge of slope 0.75 both ways, a square metre of plan has 1.25 m² of ground.
#[test]
fn ground_samples_follow_the_grid() {
    let mut site = level_site(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    site.terrain = grid(60.0, 5.0, |at| 90.0 - 0.75 * at.x.abs());
    site.sample_spacing_m = Some(2.0);
    let model = SiteModel::build(&site).unwrap();
    assert!((model.area_m2.ground - 12_500.0).abs() < 1e-2, "{}", model.area_m2.ground); // single precision
    // the mean of |x| over ±50 m is 25 m
    assert!((model.reference_z_m - (90.0 - 0.75 * 25.0)).abs() < 1e-6, "{}", model.reference_z_m);
    for sample in model.samples() {
        let at = sample.position_m;
        assert!((at.z - site.terrain.height_m(at.truncate())).abs() < 1e-4); // single precision of a tile
        assert!((sample.normal.x - 0.6 * at.x.signum()).abs() < 1e-6, "{sample:?}"); // 3-4-5, single precision
    }
}

/// Derived: a wall on a ridge has the ground's profile for its foot: 20 m long, its top 12 m above the mean ground,
/// which is 75 − 0.5 × 5 m: 20 × 12 m² over mean ground.
#[test]
fn walls_stand_on_the_profile_of_the_ground() {
    let mut site = level_site(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    site.terrain = grid(60.0, 5.0, |at| 75.0 - 0.5 * at.x.abs());
    site.structures = vec![tower((-10.0, 0.0), (10.0, 8.0), 12.0)];
    site.sample_spacing_m = Some(1.0);
    let model = SiteModel::build(&site).unwrap();
    // two long walls over mean ground; two short ones whose foot is 2.5 m lower
    assert!((model.area_m2.wall - (2.0 * 240.0 + 2.0 * 8.0 * 14.5)).abs() < 1e-6, "{}", model.area_m2.wall);
    let buried = |p: DVec3| p.z < site.terrain.height_m(p.truncate()) - 1e-4;
    assert!(!model.samples().any(|s| buried(s.position_m)));
}

/// Derived: ground that rises above a roof leaves only the part above it.
#[test]
fn ground_cuts_roofs_and_walls() {
    let mut site = level_site(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    site.terrain = grid(60.0, 5.0, |at| 0.75 * at.x);
    site.structures = vec![tower((-8.0, -8.0), (8.0, 8.0), 3.0)];
    site.sample_spacing_m = Some(0.25);
    let model = SiteModel::build(&site).unwrap();
    // the roof at 3 m is above ground west of x = 4; rows of the measuring lattice are 0.5 m wide
    assert!((model.area_m2.roof - 16.0 * 12.0).abs() < 8.0, "{}", model.area_m2.roof);
    assert!((sampled_area_m2(&model, SurfaceClass::Roof) - model.area_m2.roof).abs() < 1e-6); // rounding
    // west 16 × 9 m², north and south triangles of 12 × 9 / 2 m², east none
    assert!((model.area_m2.wall - (144.0 + 108.0)).abs() < 1e-6, "{}", model.area_m2.wall);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Cross-check: the definition itself, projection and segments against the scene's triangles in double precision, on
    /// gentle and rugged ground (slopes to 0.3 and beyond 2), with a building and a bridge on piers: at least 99.99 % of
    /// the decisions are equal, as single precision allows.
    #[test]
    fn sight_over_a_grid_agrees_with_the_definition(
        amplitude_m in prop_oneof![Just(1.0), Just(9.0)],
        places in prop::collection::vec(
            ((-70.0..70.0_f64, -70.0..70.0_f64, 52.0..110.0_f64), 0.0..360.0_f64, 0.0..150.0_f64), 40,
        ),
    ) {
        let site = SiteModel::build(&rolling_site(amplitude_m)).unwrap();
        let pose = |(at, heading_deg, tilt_deg): ((f64, f64, f64), f64, f64)| Pose {
            position_m: at.into(),
            heading_rad: heading_deg.to_radians(),
            tilt_rad: tilt_deg.to_radians(),
            roll_rad: 0.0,
        };
        let stations = Stations { camera: CAMERA, poses: places.into_iter().map(pose).collect() };
        let (unlike, all) = unlike_the_definition(&site, &stations);
        prop_assert!(unlike as f64 <= 1e-4 * all as f64, "{} of {}", unlike, all);
    }
}

/// Derived: results over rugged ground (slopes beyond 2) are the same bits with 1, 2 and 8 threads.
#[test]
fn results_over_rugged_ground_do_not_depend_on_threads() {
    let site = rolling_site(9.0);
    let stations = Stations { camera: CAMERA, poses: poses(90.0) };
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let site = SiteModel::build(&site).unwrap();
            let table = sight(&site, &stations, &NoWatch).unwrap();
            let limits = ViewLimits::from(&obliquity_planning::Requirement::default());
            (views(&site, &[(&stations, &table)], &limits, &NoWatch).unwrap(), table)
        })
    };
    let one = with(1);
    assert!(one.1.views.len() > 1000, "{}", one.1.views.len());
    assert_eq!(one, with(2));
    assert_eq!(one, with(8));
}

/// Derived: what a scenario may not hold is told with its place.
#[test]
fn decks_and_grids_that_cannot_be_are_told() {
    let mut site = rolling_site(1.0);
    site.boundary_m[0] = DVec2::new(-70.0, -40.0);
    let mut deck = bridge(DVec2::ZERO, 9.0);
    deck.kind = StructureKind::Deck {
        soffit_m: 9.0,
        top_m: 8.0,
        piers: vec![Pier { footprint_m: ring(&[(0.0, 0.0), (30.0, 0.0), (0.0, 2.0)]) }],
    };
    site.structures = vec![deck];
    let told: Vec<_> =
        scenario(site, 60.0).faults().iter().map(|f| format!("{}: {}", f.path, f.message)).collect();
    let expected = [
        "site.terrain: the terrain must lie under the whole boundary",
        "site.structures[0].kind.top_m: the top of \"Bridge\" must lie at least 0.05 m above its underside",
        "site.structures[0].kind.piers[0].footprint_m: pier 1 must stand within the footprint of \"Bridge\"",
    ];
    assert_eq!(told.len(), expected.len(), "{told:#?}");
    for (told, expected) in told.iter().zip(expected) {
        assert!(told.starts_with(expected), "{told}");
    }
}

/// Derived: from above, nothing sees an underside: its coverage is 0 and the reason is said.
#[test]
fn strategies_that_do_not_look_up_see_no_underside() {
    let mut site = rolling_site(2.0);
    site.sample_spacing_m = Some(3.0);
    let mut scenario = scenario(site, 60.0);
    Arc::make_mut(&mut scenario.equipment).aircraft[0].gimbal.pan_max_deg = 180.0;
    let outcome = outcome(&scenario, 10, Depth::Views);
    let underside = outcome.views.as_ref().unwrap().classes.underside.as_ref().unwrap();
    assert!(underside.covered_ratio.abs() < 1e-12 && (underside.unseen_ratio - 1.0).abs() < 1e-12);
    assert!((underside.shortage.outside_frames - 1.0).abs() < 1e-12, "{:?}", underside.shortage); // all of it
}

/// Derived: check value: on a slope of 45° a place 120 m above the ground is 84.853 m from its closest point, so 169.706 m
/// above it are allowed; the same on a plane and on a grid that repeats it.
#[test]
fn the_closest_ground_counts_for_the_european_height_rule() {
    let text = |terrain: &Terrain, above_m: f64| {
        let mut site = level_site(&[(-30.0, -30.0), (30.0, -30.0), (30.0, 30.0), (-30.0, 30.0)]);
        site.terrain = terrain.clone();
        let mut scenario = scenario(site, above_m);
        // one strip along the contour through the middle, where the ground is the mean ground
        scenario.strategies[0].passes[0].pattern = Pattern::Corridor(Corridor {
            line_m: [(0.0, -25.0), (0.0, 25.0)].map(DVec2::from).to_vec(),
            width_m: 1.0,
            counting: CountingRule::default(),
        });
        Arc::make_mut(&mut scenario.site).take_off_m = DVec2::new(0.0, -25.0);
        let outcome = outcome(&scenario, 10, Depth::Quick);
        let caution = outcome.cautions.iter().find(|c| c.id == "height-limit").unwrap();
        (caution.severity, caution.text.clone())
    };
    let plane = Terrain::Plane { at_origin_m: 500.0, slope_east: 1.0, slope_north: 0.0 };
    let starts = |terrain: &Terrain, above_m: f64, words: &str| {
        let told = text(terrain, above_m).1;
        assert!(told.starts_with(words), "{told}");
    };
    let slope = grid(250.0, 5.0, |at| 500.0 + at.x);
    starts(&plane, 155.0, "flies up to 110 m; limit chosen: 120 m");
    // 155 m: 109.60 m from the closest point; what is within the limit right below is not looked for any closer
    starts(&slope, 155.0, "flies up to 110 m; limit chosen: 120 m");
    starts(&slope, 118.0, "flies up to 118 m above the ground right below; limit chosen: 120 m");
    for terrain in [plane, slope] {
        assert_eq!(text(&terrain, 155.0).0, Severity::Reminder);
        assert_eq!(text(&terrain, 169.7).0, Severity::Reminder);
        assert_eq!(text(&terrain, 169.8).0, Severity::Limit);
    }
}

/// Derived: over a ridge of 20 m across a strip at 60 m, the least height above the ground is 40 m and lies between
/// exposures and leg ends; overlaps of 75 and 61 % over the level ground
/// shrink to 1 − 0.25 × 60/40 and 1 − 0.39 × 60/40; below 60/40 % that is cautioned.
#[test]
fn heights_above_uneven_ground_are_found_along_the_legs() {
    let mut site = level_site(&[(-60.0, -30.0), (60.0, -30.0), (60.0, 30.0), (-60.0, 30.0)]);
    site.terrain = grid(200.0, 5.0, |at| 100.0 + (20.0 - at.x.abs() * 2.0).max(0.0));
    let mut scenario = scenario(site, 60.0);
    let pass = &mut scenario.strategies[0].passes[0];
    pass.distance = Distance::Height { m: 60.0, above: Above::TakeOff };
    pass.pattern = Pattern::Strips(Strips {
        direction: StripDirection::FromNorth { deg: 90.0 },
        counting: CountingRule::default(),
        begin: BeginAt::default(),
    });
    (pass.forward_overlap, pass.sidelap) = (0.75, 0.61);
    Arc::make_mut(&mut scenario.site).take_off_m = DVec2::new(-50.0, 0.0);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let plan = outcome.passes[0].laid().unwrap();
    let ground = plan.ground.unwrap();
    // whole millimetres
    assert!((ground.lowest_m - 40.0).abs() < 1e-6 && (ground.greatest_m - 60.0).abs() < 1e-6, "{ground:?}");
    let (forward, side) = plan.layout.overlaps_at(40.0);
    assert!((forward - 0.625).abs() < 1e-9 && (side - 0.415).abs() < 1e-9, "{forward} {side}"); // rounding
    assert!((plan.layout.overlaps_at(60.0).0 - 0.75).abs() < 1e-9); // rounding
    let told =
        |outcome: &obliquity_planning::Outcome| outcome.cautions.iter().any(|c| c.id == "ground-overlap");
    assert!(!told(&outcome));
    scenario.strategies[0].passes[0].sidelap = 0.45;
    assert!(told(&self::outcome(&scenario, 10, Depth::Quick)));
}
