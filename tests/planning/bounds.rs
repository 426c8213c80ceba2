//! What is too much, or cannot be flown, is refused with its reason and has no figure at all.

use crate::generate::{self, Dice};
use crate::scene::{level_site, outcome, scenario, tower};
use obliquity_planning::*;
use std::sync::Arc;
use std::time::Duration;

/// 300 m by 200 m.
const YARD: [(f64, f64); 4] = [(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)];

fn set_overlaps(strategy: &mut Strategy, overlap: f64) {
    for pass in &mut strategy.passes {
        (pass.forward_overlap, pass.sidelap) = (overlap, overlap);
    }
}

/// Derived: at 30 m a level frame of 5472 × 3648 px at f = 3648 px is 45 m wide and 30 m high; 98 % of overlap asks for a
/// base of 0.6 m and a spacing of 0.9 m. A margin of 11.25 m (a quarter of 45 m) makes the region 322.5 m by 222.5 m with
/// square corners: ceil(222.5 / 0.9) = 248 strips of ceil(322.5 / 0.6) + 1 = 539 exposures.
#[test]
fn too_many_exposures_are_refused_with_their_number_and_silence_nobody() {
    let mut scenario = scenario(level_site(&YARD), 30.0);
    set_overlaps(&mut scenario.strategies[0], 0.98);
    let refused = outcome(&scenario, 10, Depth::Views);
    assert_eq!(
        refused.reasons,
        ["133\u{a0}672 exposures; at most 100\u{a0}000: fly higher or lower the overlap"]
    );
    let Err(PlanError::TooManyExposures { count, .. }) = refused.passes[0].plan else {
        panic!("{refused:?}")
    };
    assert_eq!(count, 248.0 * 539.0);
    assert_eq!(
        (refused.meets(), refused.timing.is_none(), refused.views.is_none()),
        (Some(false), true, true)
    );
    assert!(refused.judgements.is_empty() && refused.cautions.is_empty());
    for measure in MEASURES {
        assert_eq!(measure.read(&refused), None, "{}", measure.name);
    }
    let store = Store::new(1 << 26);
    let all = Evaluator { store: &store, watch: &NoWatch }
        .evaluate_all(&scenario, Depth::Views)
        .expect("can be worked out");
    assert_eq!(all.iter().filter(|outcome| outcome.feasible()).count(), 3);
    let sentence = compare_sentence(&scenario, &all, GsdUnit::Centimetres);
    assert!(sentence.contains("Nadir block cannot be flown (133\u{a0}672 exposures; at most"), "{sentence}");
}

/// Derived: as above; at 95 % forward and 90 % to the side a nadir block comes to ceil(222.5 / 4.5) × (ceil(322.5 / 1.5) + 1)
/// = 50 × 216 = 10,800 exposures, so that nine of them are within the limit and ten are not. Without forward overlap the
/// margin is one base, 30 m, and at 98 % to the side there are ceil(260 / 0.9) = 289 strips of 13 exposures: 17 such blocks
/// are within the limit on strips, 18 are not.
#[test]
fn passes_are_counted_together() {
    let mut scenario = scenario(level_site(&YARD), 30.0);
    scenario.conditions.battery_sets = 1000;
    let block = scenario.strategies[0].passes[0].clone();
    let with = |scenario: &mut Scenario, count: u32, [forward_overlap, sidelap]: [f64; 2]| {
        let pass = |k| Pass { id: Id(100 + k), forward_overlap, sidelap, ..block.clone() };
        scenario.strategies[0].passes = (0..count).map(pass).collect();
        outcome(scenario, 10, Depth::Quick)
    };
    let within = with(&mut scenario, 9, [0.95, 0.9]);
    let planned: u32 = within.plans().map(|p| p.stations.poses.len() as u32 + p.skipped).sum();
    assert_eq!((planned, within.feasible()), (9 * 10_800, true), "{:?}", within.reasons);
    let beyond = with(&mut scenario, 10, [0.95, 0.9]);
    assert_eq!(
        beyond.reasons,
        ["108\u{a0}000 exposures; at most 100\u{a0}000: fly higher or lower the overlap"]
    );
    assert_eq!(beyond.plans().count(), 0, "nothing is laid out");
    assert_eq!(
        with(&mut scenario, 17, [0.0, 0.98]).plans().map(|plan| plan.layout.strips).sum::<u32>(),
        17 * 289
    );
    let beyond = with(&mut scenario, 18, [0.0, 0.98]);
    assert_eq!(beyond.reasons, ["5\u{a0}202 strips; at most 5\u{a0}000: fly higher or lower the overlap"]);
}

/// Derived: nothing is laid out before it is counted, so that the most extreme request takes no longer than a usual one.
/// The bound is generous for a busy machine; laying 10^9 exposures out takes minutes.
#[test]
#[expect(clippy::disallowed_types, reason = "how long a refusal takes is what is asked")]
fn counting_takes_no_time() {
    let mut site = level_site(&[(-9000.0, -9000.0), (9000.0, -9000.0), (9000.0, 9000.0), (-9000.0, 9000.0)]);
    site.structures = vec![tower((0.0, 0.0), (60.0, 40.0), 400.0)];
    let mut scenario = scenario(site, 500.0);
    let mut equipment = (*scenario.equipment).clone();
    let camera = &mut equipment.aircraft[0].camera;
    (camera.width_px, camera.height_px, camera.focal_length_mm) = (64, 64, 100.0);
    scenario.equipment = Arc::new(equipment);
    let distance = Distance::StandOff { m: 1.0 };
    let facade = Pattern::Facade(Facade {
        structure: Id(1),
        others: Vec::new(),
        walls: None,
        clearance_m: 0.5,
        lowest_m: 1.0,
    });
    let rings = Rings::Evenly { count: 100, lowest_m: 1.0, step_m: 0.5 };
    let (around, radius) = (OrbitCentre::Structure(Id(1)), OrbitRadius::StandOff);
    let orbit = Pattern::Orbit(Orbit { around, radius, rings, target_height_m: 10.0 });
    let line_m = scenario.site.boundary_m.clone();
    let corridor =
        Pattern::Corridor(Corridor { line_m, width_m: 5000.0, counting: CountingRule::EdgeToEdge });
    let level = Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } };
    let nadir = scenario.strategies[0].passes[0].clone();
    let passes = [
        nadir.clone(),
        Pass { pattern: corridor, ..nadir.clone() },
        Pass { pattern: facade, attitudes: vec![level], distance, ..nadir.clone() },
        Pass { pattern: orbit, attitudes: vec![level], distance, ..nadir },
    ];
    for pass in passes {
        let kind = pass.pattern.kind();
        scenario.strategies[0].passes = vec![pass];
        set_overlaps(&mut scenario.strategies[0], 0.98);
        let begun = std::time::Instant::now();
        let refused = outcome(&scenario, 10, Depth::Views);
        assert!(refused.reasons[0].contains("; at most "), "{kind:?}: {:?}", refused.reasons);
        assert!(begun.elapsed().as_secs_f64() < 0.5, "{kind:?}: {:?}", begun.elapsed());
    }
}

/// Derived: a radius of 5 m lies inside the circle of 15 m about a tower of 18 m by 24 m: no GSD, no speed, no count.
#[test]
fn a_ring_inside_its_structure_has_no_figures() {
    let mut site = level_site(&YARD);
    site.structures = vec![tower((100.0, 100.0), (118.0, 124.0), 30.0)];
    let mut scenario = scenario(site, 80.0);
    let mut orbit = scenario.strategies[0].passes[0].clone();
    orbit.pattern = Pattern::Orbit(Orbit {
        around: OrbitCentre::Structure(Id(1)),
        radius: OrbitRadius::Set { m: 5.0 },
        rings: Rings::Evenly { count: 2, lowest_m: 10.0, step_m: 10.0 },
        target_height_m: 10.0,
    });
    orbit.attitudes = vec![Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } }];
    orbit.id = Id(99);
    scenario.strategies[0].passes.push(orbit);
    let refused = outcome(&scenario, 10, Depth::Views);
    let told = "pass 2: the radius of 5 m lies inside the structure's circle of 15 m; widen it";
    assert_eq!((refused.reasons.as_slice(), refused.timing.is_none()), (&[told.to_owned()][..], true));
    assert!(refused.passes[1].laid().is_none() && refused.passes[0].laid().is_some());
    assert_eq!(refused.passes[0].flight_time_s, None);
}

/// Derived: what no pass can be made of is a reason, too.
#[test]
fn a_strategy_without_passes_says_so() {
    let mut scenario = scenario(level_site(&YARD), 80.0);
    scenario.strategies[0].passes.clear();
    assert_eq!(outcome(&scenario, 10, Depth::Views).reasons, ["it has no pass; add one"]);
}

/// Moves a number to either end of its range, or somewhere between.
fn anywhere(dice: &mut Dice, range: limits::Range) -> f64 {
    match dice.whole(0, 3) {
        0 => range.least,
        1 => range.most,
        _ => dice.within(range.least, range.most),
    }
}

/// Moves the settings of a drawn scenario about in all that the checks allow.
fn distorted(seed: u64) -> Scenario {
    let mut dice = Dice::new(seed);
    let mut scenario = generate::scenario(seed);
    let site = Arc::make_mut(&mut scenario.site);
    site.take_off_m = dice.place(glam::DVec2::ZERO, 400.0);
    site.keep_outs.retain(|keep_out| !polygon::contains(&keep_out.outline_m, site.take_off_m));
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        distort(&mut dice, pass);
    }
    if dice.chance(0.3) {
        scenario.conditions.wind.speed_mps = dice.within(0.0, 20.0);
    }
    scenario
}

fn distort(dice: &mut Dice, pass: &mut Pass) {
    let above = [Above::MeanGround, Above::TakeOff, Above::Ground][dice.whole(0, 2) as usize];
    if dice.chance(0.4) {
        pass.forward_overlap = anywhere(dice, limits::FORWARD_OVERLAP);
    }
    if dice.chance(0.4) {
        pass.sidelap = anywhere(dice, limits::SIDELAP);
    }
    if dice.chance(0.6) {
        pass.distance = match (pass.pattern.kind().flies_over(), dice.chance(0.5)) {
            (true, true) => Distance::Height { m: anywhere(dice, limits::HEIGHT_M), above },
            (false, true) => Distance::StandOff { m: anywhere(dice, limits::STAND_OFF_M) },
            (_, false) => Distance::Gsd { cm: anywhere(dice, limits::GSD_CM), above },
        };
    }
    pass.speed_mps = dice.chance(0.3).then(|| anywhere(dice, limits::SPEED_MPS));
    pass.hover_s = dice.chance(0.2).then(|| anywhere(dice, limits::HOVER_S));
    pass.margin_m = dice.chance(0.3).then(|| anywhere(dice, limits::MARGIN_M));
    if dice.chance(0.3) {
        pass.attitudes[0].tilt_deg = anywhere(dice, limits::TILT_DEG);
    }
    match &mut pass.pattern {
        Pattern::Orbit(Orbit { radius, rings, target_height_m, .. }) => {
            if dice.chance(0.5) {
                *radius = OrbitRadius::Set { m: anywhere(dice, limits::ORBIT_RADIUS_M) };
            }
            let (lowest_m, step_m) =
                (anywhere(dice, limits::RING_HEIGHT_M), anywhere(dice, limits::RING_STEP_M));
            let count = dice.whole(1, 100).min(((500.0 - lowest_m) / step_m) as u32 + 1);
            *rings = Rings::Evenly { count, lowest_m, step_m };
            *target_height_m = anywhere(dice, limits::TARGET_HEIGHT_M);
        }
        Pattern::Facade(Facade { clearance_m, lowest_m, .. }) => {
            (*clearance_m, *lowest_m) = (anywhere(dice, limits::CLEARANCE_M), dice.within(0.5, 60.0));
        }
        Pattern::Underside(Underside { sections, soffit_clearance_m, ground_clearance_m, .. }) => {
            *sections = dice.whole(1, 200);
            (*soffit_clearance_m, *ground_clearance_m) =
                (dice.within(0.5, 8.0), anywhere(dice, limits::CLEARANCE_M));
        }
        Pattern::Corridor(Corridor { width_m, .. }) => *width_m = anywhere(dice, limits::CORRIDOR_WIDTH_M),
        Pattern::Listed(Listed { clearance_m, .. }) => *clearance_m = anywhere(dice, limits::CLEARANCE_M),
        Pattern::Strips(_) => {}
    }
}

/// Every number of what was laid out: above 0 where a plan rests on it, not negative elsewhere.
fn assert_sound(plan: &PassPlan, which: &str) {
    let (layout, speed) = (&plan.layout, &plan.speed);
    let above_0 = [
        layout.vertical_gsd_m,
        layout.extent_along_m,
        layout.extent_across_m,
        layout.air_base_m,
        layout.strip_spacing_m,
        speed.airframe_mps,
        speed.interval_mps,
        speed.speed_mps,
        plan.exposure.cycle_s,
        f64::from(layout.strips),
        plan.stations.poses.len() as f64,
    ];
    let not_below_0 =
        [layout.margin_m.unwrap_or(0.0), layout.region_width_m.unwrap_or(0.0), layout.strips_length_m];
    assert!(speed.blur_mps > 0.0, "{which}: {speed:?}");
    assert!(above_0.iter().all(|n| n.is_finite() && *n > 0.0), "{which}: {layout:?} {speed:?}");
    assert!(not_below_0.iter().all(|n| n.is_finite() && *n >= 0.0), "{which}: {layout:?}");
    assert!(layout.stand_off_m.is_none_or(|m| m > 0.0) && layout.lowest_m.is_finite(), "{which}: {layout:?}");
    // Ground that is followed may lie lower than the mean ground inside the boundary.
    let lowest_m = if layout.above == Above::Ground { layout.height_m } else { layout.lowest_m };
    assert!(!plan.pattern.flies_over() || layout.height_m.min(lowest_m) > 0.0, "{which}: {layout:?}");
    assert!(
        plan.ground.is_some_and(|g| g.lowest_m > 0.0 && g.highest_m.is_finite()),
        "{which}: {:?}",
        plan.ground
    );
    assert!(plan.legs.iter().all(|leg| leg.speed_mps > 0.0 && leg.length_m().is_finite()), "{which}");
    assert!(plan.stations.poses.iter().all(|pose| pose.position_m.is_finite()), "{which}");
}

/// Every number of what a strategy takes: finite and not negative.
fn assert_counted(outcome: &Outcome, which: &str) {
    let timing = outcome.timing.as_ref().expect("can be flown");
    for measure in MEASURES {
        let value = measure.read(outcome).unwrap_or(0.0);
        assert!(value.is_finite() && value >= 0.0, "{which}: {} {value}", measure.name);
    }
    let (time, flight) = (timing.time, &timing.flight);
    let times = [time.set_up_s, time.flight_s, time.swaps_s, time.waits_s, time.control_s, time.pack_up_s];
    assert!(times.iter().all(|s| s.is_finite() && *s >= 0.0), "{which}: {time:?}");
    for flown in &flight.legs {
        let numbers =
            [flown.start_s, flown.turn_s, flown.moving_s, flown.energy_j, flown.peak_mps, flown.standing_s];
        assert!(numbers.iter().all(|n| n.is_finite() && *n >= 0.0), "{which}: {flown:?}");
    }
    let sortie = |s: &Sortie| [s.duration_s, s.energy_j, s.usable_j, s.wait_s];
    assert!(flight.sorties.iter().flat_map(sortie).all(|n| n.is_finite() && n >= 0.0), "{which}");
    assert!(flight.station_time_s.iter().flatten().all(|s| s.is_finite() && *s >= 0.0), "{which}");
    let said = outcome.cautions.iter().map(|caution| caution.text.to_string()).chain(outcome.reasons.clone());
    let mut said = said.chain(outcome.shortfalls(GsdUnit::Centimetres));
    assert!(
        !said.any(|text| ["NaN", "inf ", "-0 "].iter().any(|odd| text.contains(odd))),
        "{which}: {outcome:?}"
    );
}

/// How long the figures of a strategy may take in a test's build on a busy machine; the goal is a tenth of a second.
const ANSWER: Duration = Duration::from_secs(3);

/// Derived: whatever the settings within what the checks allow, a strategy has sound figures or none, and says why, within the
/// bound.
#[test]
#[expect(clippy::disallowed_types, reason = "a test looks at the clock")]
fn every_figure_is_sound_or_there_is_none() {
    let (mut flown, mut refused) = (0, 0);
    for seed in 0..60 {
        let scenario = distorted(seed);
        assert_eq!(scenario.faults(), Vec::new(), "seed {seed}");
        let store = Store::new(1 << 26);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for strategy in &scenario.strategies {
            let which = format!("seed {seed}, {}", strategy.name);
            let begun = std::time::Instant::now();
            let outcome =
                evaluator.evaluate(&scenario, strategy.id, Depth::Quick).expect("a value, not an error");
            assert!(begun.elapsed() < ANSWER, "{which}: {:?}", begun.elapsed());
            assert_eq!(outcome.feasible(), outcome.reasons.is_empty(), "{which}");
            assert_eq!(outcome.passes.len(), strategy.passes.len(), "{which}");
            outcome.plans().for_each(|plan| assert_sound(plan, &which));
            if outcome.feasible() {
                assert_counted(&outcome, &which);
                flown += 1;
            } else {
                assert!(MEASURES.iter().all(|measure| measure.read(&outcome).is_none()), "{which}");
                refused += 1;
            }
        }
    }
    assert!(flown > 40 && refused > 40, "{flown} flown, {refused} refused: both are to be tried");
}
