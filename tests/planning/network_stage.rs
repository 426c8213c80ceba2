//! What a strategy's images would tell if they were adjusted together, for whole scenarios.
//!
//! A few scenarios are drawn; `OBLIQUITY_SCENARIOS=200` draws as many as it says.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::generate::{Dice, scenario};
use crate::transform::{mirrored, moved, turned};
use glam::{DVec2, DVec3};
use obliquity_planning::*;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicU64, Ordering};

/// Drawn where nothing else is asked for.
const FEW: u64 = 6;

/// Larger strategies are left out: they take long and are no different.
const MOST_IMAGES: u32 = 350;

/// What thinning may change: other samples are taken where the lattice is told otherwise. A dome is told by the tenths of the
/// ground at its middle and edge, where small blocks have some ten tie points each, and a 95th percentile by a twentieth of
/// few samples.
const THINNED: f64 = 0.1;
const TAIL_THINNED: f64 = 0.2;

#[expect(clippy::disallowed_methods, reason = "a run by hand draws more")]
fn seeds() -> std::ops::Range<u64> {
    0..std::env::var("OBLIQUITY_SCENARIOS").ok().and_then(|text| text.parse().ok()).unwrap_or(FEW)
}

fn evaluated(scenario: &Scenario, strategy: Id) -> Outcome {
    let store = Store::new(64 << 20);
    Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, strategy, Depth::Network).unwrap()
}

/// A drawn scenario with its strategies that are small enough.
fn small(seed: u64) -> Scenario {
    let mut drawn = scenario(seed);
    let store = Store::new(1 << 20);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let all = drawn.clone();
    let images = |strategy: &Strategy| {
        let outcome = evaluator.evaluate(&all, strategy.id, Depth::Quick).unwrap();
        outcome.load.map_or(u32::MAX, |load| load.image_count)
    };
    drawn.strategies.retain(|strategy| images(strategy) <= MOST_IMAGES);
    drawn
}

/// The figures that are compared: in pixels and metres.
fn told(outcome: &Outcome) -> Vec<(&'static str, Option<f64>)> {
    let network = outcome.network.as_ref().unwrap();
    let camera = network.calibration.as_ref();
    let overall = network.overall;
    vec![
        ("focal", camera.and_then(|camera| camera.focal_sigma_px)),
        ("dome", camera.and_then(|camera| camera.doming_m)),
        ("level", camera.and_then(|camera| camera.level_m)),
        ("horizontal p50", overall.map(|of| of.horizontal.p50_m)),
        ("horizontal p95", overall.map(|of| of.horizontal.p95_m)),
        ("vertical p50", overall.map(|of| of.vertical.p50_m)),
        ("vertical p95", overall.map(|of| of.vertical.p95_m)),
    ]
}

fn alike(what: &str, a: &Outcome, b: &Outcome) {
    let parts = |outcome: &Outcome| outcome.network.as_ref().map(|network| network.parts.len());
    assert_eq!(parts(a), parts(b), "{what}: parts of {}", a.name);
    if parts(a).is_none() {
        return;
    }
    for ((name, one), (_, other)) in told(a).into_iter().zip(told(b)) {
        let (Some(one), Some(other)) = (one, other) else {
            assert_eq!(one.is_some(), other.is_some(), "{what}: {name} of {}", a.name);
            continue;
        };
        let room = if name == "dome" || name.ends_with("p95") { TAIL_THINNED } else { THINNED };
        assert!((one / other - 1.0).abs() < room, "{what}: {name} of {}: {one} {other}", a.name);
    }
}

/// Derived: neither where a site lies nor how it is turned, nor the order of passes, changes what images tell.
#[test]
fn telling_a_scenario_otherwise_changes_no_adjustment() {
    let mut looked_at = 0;
    for seed in seeds() {
        let mut dice = Dice::new(seed ^ 0x9e37);
        let drawn = small(seed);
        let level = matches!(drawn.site.terrain, Terrain::Plane { .. });
        let deg = if level { dice.within(0.0, 360.0) } else { 180.0 };
        let mut reordered = drawn.clone();
        reordered.strategies.iter_mut().for_each(|strategy| strategy.passes.reverse());
        let mut otherwise = vec![
            ("moved", moved(&drawn, DVec2::new(dice.within(-900.0, 900.0), 300.0))),
            ("turned", turned(&drawn, deg)),
            ("reordered", reordered),
        ];
        if level {
            otherwise.push(("mirrored", mirrored(&drawn)));
        }
        for strategy in &drawn.strategies {
            let own = evaluated(&drawn, strategy.id);
            for (what, other) in &otherwise {
                alike(&format!("seed {seed}, {what}"), &own, &evaluated(other, strategy.id));
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 10, "{looked_at} looked at");
}

/// Derived: purity. What a store keeps is what is worked out anew, and what is told of views does not depend on how deep the
/// evaluation goes.
#[test]
fn a_store_changes_nothing_and_depth_adds_only() {
    let drawn = small(1);
    let store = Store::new(256 << 20);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for strategy in &drawn.strategies {
        let seen = evaluator.evaluate(&drawn, strategy.id, Depth::Views).unwrap();
        let first = evaluator.evaluate(&drawn, strategy.id, Depth::Network).unwrap();
        assert_eq!(first, evaluator.evaluate(&drawn, strategy.id, Depth::Network).unwrap());
        assert_eq!(first, evaluated(&drawn, strategy.id));
        assert_eq!((&seen.views, &seen.load, &seen.timing), (&first.views, &first.load, &first.timing));
        for row in swept_measures() {
            assert_eq!(row.read(&seen), row.read(&first), "{}", row.name);
        }
    }
}

/// Derived: every input of the adjustment is in its key: what a shared store gives after each change is what is worked out
/// anew, and it is not what it was.
#[test]
fn every_input_of_the_adjustment_is_in_its_key() {
    let drawn = small(1);
    let id = drawn.strategies[0].id;
    let store = Store::new(256 << 20);
    let shared = |scenario: &Scenario| {
        Evaluator { store: &store, watch: &NoWatch }
            .evaluate(scenario, id, Depth::Network)
            .unwrap()
            .network
            .unwrap()
    };
    let usual = shared(&drawn);
    let aircraft = |change: &dyn Fn(&mut Aircraft)| {
        let mut other = drawn.clone();
        let mut equipment = (*other.equipment).clone();
        equipment.aircraft.iter_mut().for_each(change);
        other.equipment = equipment.into();
        other
    };
    let mut placed = drawn.clone();
    let mut site = (*placed.site).clone();
    site.control_points = [DVec2::ZERO, DVec2::new(12.0, 3.0), DVec2::new(-3.0, 15.0)]
        .map(|at_m| ControlPoint { name: String::new(), at_m, role: PointRole::Control })
        .to_vec();
    placed.site = site.into();
    let mut surveyed = placed.clone();
    surveyed.conditions.survey.vertical_m = 0.005;
    let mut linked = drawn.clone();
    linked.requirement.views.max_link_deg = 25.0;
    let others = [
        aircraft(&|a| a.camera.image_noise_px = 0.8),
        aircraft(&|a| a.camera.calibration = CameraCalibration::Fixed),
        aircraft(&|a| a.camera.calibration = CameraCalibration::usual_earlier_job()),
        aircraft(&|a| a.camera.distortion.k1 = -0.02),
        aircraft(&|a| a.airframe.gnss = None),
        aircraft(&|a| a.airframe.gnss.as_mut().unwrap().random_vertical_m = 0.05),
        aircraft(&|a| a.airframe.gnss.as_mut().unwrap().constant_horizontal_m = 0.05),
        placed,
        surveyed,
        linked,
    ];
    let mut known = vec![usual];
    for (k, other) in others.iter().enumerate() {
        let found = shared(other);
        assert_eq!(Some(&found), evaluated(other, id).network.as_ref(), "input {k}");
        assert!(known.iter().all(|before| *before != found), "input {k} changes nothing");
        known.push(found);
    }
}

/// A level patch of samples a metre apart, and level cameras 30 m above some places.
fn patch(places: &[DVec2]) -> (SiteModel, Stations) {
    patch_of(places, 30.0, 1.0)
}

/// A level patch of 20 m by 20 m of samples so far apart, and level cameras so high above some places.
fn patch_of(places: &[DVec2], height_m: f64, spacing_m: f64) -> (SiteModel, Stations) {
    let side = (20.0 / spacing_m) as u32;
    let at_m = |k: u32| (f64::from(k) + 0.5) * spacing_m - 10.0;
    let point = |k: u32| SamplePoint {
        class: SurfaceClass::Ground,
        position_m: DVec3::new(at_m(k % side), at_m(k / side), 0.0),
        normal: DVec3::Z,
        area_m2: spacing_m * spacing_m,
    };
    let points: Vec<SamplePoint> = (0..side * side).map(point).collect();
    let site = SiteModel::from_points(&points, Vec::new(), Terrain::default());
    let camera = CameraModel { width_px: 4000, height_px: 3000, focal_length_px: 3000.0, lens: Brown::NONE };
    let pose =
        |at: &DVec2| Pose { position_m: at.extend(height_m), heading_rad: 0.0, tilt_rad: 0.0, roll_rad: 0.0 };
    (site, Stations { camera, poses: places.iter().map(pose).collect() })
}

fn terms(positioning: Option<Positioning>, freedom: InteriorFreedom) -> NetworkTerms {
    NetworkTerms {
        lens: Brown::NONE,
        freedom,
        image_sigma_px: 0.5,
        positioning,
        control: Vec::new(),
        thinning: Thinning::USUAL,
    }
}

fn figures(places: &[DVec2], positioning: Option<Positioning>) -> NetworkFigures {
    figures_of(places, positioning, InteriorFreedom::ALL)
}

fn figures_of(
    places: &[DVec2],
    positioning: Option<Positioning>,
    freedom: InteriorFreedom,
) -> NetworkFigures {
    figures_from(&patch(places), positioning, freedom)
}

fn figures_from(
    (site, stations): &(SiteModel, Stations),
    positioning: Option<Positioning>,
    freedom: InteriorFreedom,
) -> NetworkFigures {
    let table = sight(site, stations, &NoWatch).unwrap();
    let passes = [(stations, &table)];
    let seen = views(site, &passes, &ViewLimits::from(&Requirement::default()), &NoWatch).unwrap();
    network_figures(site, &passes, &seen, terms(positioning, freedom), &NoWatch).unwrap()
}

fn rtk() -> Positioning {
    Positioning {
        random_sigma_m: DVec3::new(0.01, 0.01, 0.02),
        constant_sigma_m: DVec3::new(0.015, 0.015, 0.03),
        set_ups: Vec::new(),
    }
}

/// Derived: no image, one, two in one place, two far apart, and images that see nothing give an answer, and no precision
/// where nothing is determined.
#[test]
fn a_block_that_determines_nothing_is_told_without_precision() {
    let far = DVec2::new(500.0, 0.0);
    for places in [&[][..], &[DVec2::ZERO], &[DVec2::ZERO, DVec2::ZERO], &[DVec2::ZERO, far], &[far]] {
        for positioning in [Some(rtk()), None] {
            let found = figures(places, positioning);
            assert!(found.overall.is_none(), "{places:?}");
            assert!(found.samples.vertical_m.iter().all(|sigma_m| sigma_m.is_infinite()), "{places:?}");
            assert_eq!(found.samples.vertical_m.len(), 400);
        }
    }
}

/// Derived: without positions and control a block is determined but for place, turn and scale, and no sample is told of.
#[test]
fn a_block_that_nothing_holds_says_what_is_open() {
    let places: Vec<DVec2> =
        (0..12).map(|k| DVec2::new(f64::from(k % 4) * 6.0 - 9.0, f64::from(k / 4) * 8.0 - 8.0)).collect();
    let held = figures(&places, Some(rtk()));
    assert_eq!(held.parts.len(), 1);
    assert_eq!(held.held.defects, [DatumDefects::default()]);
    assert!(held.overall.unwrap().vertical.p50_m > 0.03); // the constant part alone
    let open = figures(&places, None);
    assert_eq!(open.held.defects, [DatumDefects { shifts: 3, turns: 3, scales: 1 }]);
    assert!(open.overall.is_none() && open.calibration.unwrap().doming_m.is_none());
}

/// Derived: every sample's variances are no less than those that its own rays and the positions' constant part leave.
#[test]
fn no_sample_is_more_precise_than_its_rays_and_the_constant_part() {
    let places: Vec<DVec2> =
        (0..12).map(|k| DVec2::new(f64::from(k % 4) * 6.0 - 9.0, f64::from(k / 4) * 8.0 - 8.0)).collect();
    let (site, stations) = patch(&places);
    let found = figures(&places, Some(rtk()));
    for sample in site.samples() {
        let cameras: Vec<PosedCamera> = stations
            .poses
            .iter()
            .map(|pose| PosedCamera::new(stations.camera, pose))
            .filter(|camera| camera.project(sample.position_m).is_some_and(|uv| stations.camera.contains(uv)))
            .collect();
        let alone =
            intersection_covariance_m2(&cameras, &Brown::NONE, sample.position_m, 0.5, &PoseSigma::default());
        let sigma_m = f64::from(found.samples.vertical_m[sample.number as usize]);
        let Some(alone) = alone else { continue };
        let least_m = (alone.z_axis.z + 0.03 * 0.03).sqrt();
        assert!(sigma_m >= least_m * (1.0 - 1e-5), "{sigma_m} {least_m}"); // single precision
    }
}

/// Derived: with one term of the camera free, a figure's variance is that of a known camera and that of the term times the square
/// of what an error of the term does: what a wrong fixed calibration costs follows from two adjustments alone. And level images
/// whose positions are held lift the ground by height over focal length for each pixel.
#[test]
fn what_a_wrong_calibration_costs_is_what_a_free_one_adds() {
    let places: Vec<DVec2> =
        (0..12).map(|k| DVec2::new(f64::from(k % 4) * 6.0 - 9.0, f64::from(k / 4) * 8.0 - 8.0)).collect();
    let of = |terms: &[InteriorTerm]| {
        let mut prior_sigma = [None; INTERIOR_LEN];
        for (sigma, term) in prior_sigma.iter_mut().zip(InteriorTerm::ALL) {
            *sigma = InteriorFreedom::ALL.prior_sigma[term as usize].filter(|_| terms.contains(&term));
        }
        let exact = Positioning { random_sigma_m: DVec3::splat(0.001), ..rtk() };
        figures_of(&places, Some(exact), InteriorFreedom { prior_sigma }).calibration.unwrap()
    };
    let (fixed, focal, k1) = (of(&[]), of(&[InteriorTerm::Focal]), of(&[InteriorTerm::K1]));
    let added = |with: Option<f64>, without: Option<f64>, sigma_px: Option<f64>| {
        (with.unwrap().powi(2) - without.unwrap().powi(2)).max(0.0).sqrt() / sigma_px.unwrap()
    };
    for (told, expected) in [
        (focal.level_per_focal_px_m, added(focal.level_m, fixed.level_m, focal.focal_sigma_px)),
        (k1.level_per_px_m, added(k1.level_m, fixed.level_m, k1.k1_sigma_px)),
        (k1.dome_per_px_m, added(k1.doming_m, fixed.doming_m, k1.k1_sigma_px)),
    ] {
        let told = told.unwrap().abs();
        // differences of squares lose digits
        assert!((told - expected).abs() < 1e-4 * told.max(1e-4), "{told} for {expected}");
    }
    // what is told does not depend on what is free
    assert!((fixed.level_per_focal_px_m.unwrap() - focal.level_per_focal_px_m.unwrap()).abs() < 1e-12);
    let law_m = 30.0 / 3000.0;
    let found_m = fixed.level_per_focal_px_m.unwrap();
    assert!((found_m / law_m - 1.0).abs() < 0.02, "{found_m} for {law_m}"); // positions are held to a millimetre, not exactly
    let told = fixed.of_wrong_calibration(2.0, 3.0);
    assert_eq!(told.len(), 4);
    assert!((told[0].ground_m - 2.0 * found_m).abs() < 1e-12 && told[0].sigma_px == Some(2.0));
    assert!((told[3].ground_m - 3.0 * fixed.dome_per_px_m.unwrap().abs()).abs() < 1e-12);
}

/// Derived: what a focal length's standard deviation is said to come from is what other adjustments give in which only it, or it and
/// all else, is open and nothing is known of it before; and the dome of a known camera is that of a fixed one.
#[test]
fn what_a_focal_length_comes_from_is_what_other_adjustments_give() {
    let places: Vec<DVec2> =
        (0..12).map(|k| DVec2::new(f64::from(k % 4) * 6.0 - 9.0, f64::from(k / 4) * 8.0 - 8.0)).collect();
    let mut block = patch(&places);
    // level images over level ground would leave it open
    for (k, pose) in block.1.poses.iter_mut().enumerate() {
        (pose.tilt_rad, pose.heading_rad) = (0.3, k as f64 * std::f64::consts::FRAC_PI_2);
    }
    let of =
        |prior_sigma| figures_from(&block, Some(rtk()), InteriorFreedom { prior_sigma }).calibration.unwrap();
    let all = InteriorFreedom::ALL.prior_sigma;
    let (focal, hardly_known) = (InteriorTerm::Focal as usize, Some(1e6));
    let (mut alone, mut open) = ([None; INTERIOR_LEN], all);
    (alone[focal], open[focal]) = (hardly_known, hardly_known);
    let (usual, alone, open, fixed) = (of(all), of(alone), of(open), of([None; INTERIOR_LEN]));
    let shares = usual.focal_shares.unwrap();
    // differences of squares lose digits
    let same = |a: f64, b: Option<f64>| (a / b.unwrap() - 1.0).abs() < 1e-6;
    assert!(same(shares.of_known_camera_px, alone.focal_sigma_px), "{shares:?} {:?}", alone.focal_sigma_px);
    assert!(
        same(shares.of_open_camera_px.unwrap(), open.focal_sigma_px),
        "{shares:?} {:?}",
        open.focal_sigma_px
    );
    assert_eq!((shares.prior_px, usual.doming_of_fixed_m), (50.0, fixed.doming_m));
    let known_px = 0.5 / (shares.distance * shares.image_points.sqrt());
    assert!(known_px < shares.of_known_camera_px, "{shares:?}");
    assert!(shares.of_known_camera_px < shares.of_open_camera_px.unwrap(), "{shares:?}");
    assert!(shares.distance < usual.half_diagonal && fixed.focal_shares.is_none());
}

/// Cancels at a question, and counts how many more are asked after that.
struct CancelAt {
    at: u64,
    asked: AtomicU64,
}

impl Watch for CancelAt {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let now = self.asked.fetch_add(1, Ordering::Relaxed);
        if now >= self.at { Err(Cancelled) } else { Ok(()) }
    }
}

/// Derived: whenever the work is cancelled, each thread ends at its next question, and there are many: a block of some dozen images
/// is asked about hundreds of times, in every step. How long lies between two questions is measured by
/// `cargo bench -p obliquity-exchange --bench block`.
#[test]
fn adjustments_end_soon_after_they_are_cancelled() {
    let places: Vec<DVec2> =
        (0..42).map(|k| DVec2::new(f64::from(k % 7) * 3.0 - 9.0, f64::from(k / 7) * 4.0 - 10.0)).collect();
    let (site, stations) = patch(&places);
    let table = sight(&site, &stations, &NoWatch).unwrap();
    let passes = [(&stations, &table)];
    let seen = views(&site, &passes, &ViewLimits::from(&Requirement::default()), &NoWatch).unwrap();
    let run = |at: u64| {
        let watch = CancelAt { at, asked: AtomicU64::new(0) };
        let found = network_figures(&site, &passes, &seen, terms(Some(rtk()), InteriorFreedom::ALL), &watch);
        (found.map(drop), watch.asked.into_inner())
    };
    let (done, questions) = run(u64::MAX);
    assert!(done.is_ok() && questions > 500, "{questions} questions");
    let mut dice = Dice::new(14);
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get) as u64;
    for _ in 0..40 {
        let at = dice.within(0.0, questions as f64) as u64;
        let (done, asked) = run(at);
        assert_eq!(done, Err(Cancelled), "cancelled at {at} of {questions}");
        // each thread may have begun one more piece before it hears of it
        assert!(asked - at <= 4 * threads, "{} more questions", asked - at);
    }
}

/// How many of the ties of either of two networks are not the other's, as a share of all.
fn unlike(one: &NetworkFigures, other: &NetworkFigures) -> f64 {
    let of = |network: &NetworkFigures| network.ties.iter().map(|tie| tie.images).collect::<BTreeSet<_>>();
    let (one, other) = (of(one), of(other));
    one.symmetric_difference(&other).count() as f64 / one.union(&other).count().max(1) as f64
}

/// Derived: ties do not depend on how densely surfaces are sampled, even where images count a handful of samples: those are parted.
/// Cameras near a surface, whose frames hold five or some twenty samples each, tie as with sixteen times as many.
#[test]
fn ties_do_not_depend_on_the_spacing_of_samples() {
    let places: Vec<DVec2> =
        (0..36).map(|k| DVec2::new(f64::from(k % 6) * 2.3 - 6.0, f64::from(k / 6) * 2.1 - 5.0)).collect();
    let ties = |spacing_m: f64| {
        let (site, stations) = patch_of(&places, 4.0, spacing_m);
        let table = sight(&site, &stations, &NoWatch).unwrap();
        let passes = [(&stations, &table)];
        let limits = ViewLimits::from(&Requirement::default());
        let seen = views(&site, &passes, &limits, &NoWatch).unwrap();
        network_figures(&site, &passes, &seen, terms(Some(rtk()), InteriorFreedom::ALL), &NoWatch).unwrap()
    };
    let [coarse, usual, fine] = [2.0, 1.0, 0.25].map(ties);
    assert!(fine.ties.len() > 50, "{} ties", fine.ties.len());
    assert!(unlike(&coarse, &fine) < UNLIKE, "{} of {} ties", unlike(&coarse, &fine), fine.ties.len());
    assert!(unlike(&usual, &fine) < UNLIKE, "{} of {} ties", unlike(&usual, &fine), fine.ties.len());
    assert_eq!((coarse.parts.len(), usual.parts.len(), fine.parts.len()), (1, 1, 1));
}

/// Share of the ties that may come or go with the spacing of samples.
const UNLIKE: f64 = 0.2;

/// Derived: the same for drawn scenarios, whose surfaces are sampled twice as densely.
#[test]
fn drawn_scenarios_tie_alike_with_samples_half_as_far_apart() {
    let mut looked_at = 0;
    for seed in seeds() {
        let drawn = small(seed);
        for strategy in &drawn.strategies {
            let usual = evaluated(&drawn, strategy.id);
            let Some(model) = &usual.site else { continue };
            let mut halved = drawn.clone();
            let mut site = (*halved.site).clone();
            site.sample_spacing_m = Some(model.spacing_m / 2.0);
            halved.site = site.into();
            let fine = evaluated(&halved, strategy.id);
            let (Some(usual), Some(fine)) = (&usual.network, &fine.network) else { continue };
            let share = unlike(usual, fine);
            // pairs whose share is a tenth but for what a lattice tells, and images that the coarser lattice shows nothing
            assert!(share < UNLIKE, "seed {seed}, {}: {share} of {}", strategy.name, fine.ties.len());
            looked_at += 1;
        }
    }
    assert!(looked_at > 3, "{looked_at} looked at");
}
