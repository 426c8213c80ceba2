//! The evaluator as a whole: stages apart, nothing kept that changes a figure, cancelling, threads.

use crate::scene::{level_site, outcome, ring, scenario, tower};
use obliquity_planning::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// A small site with two structures, and every template on it.
fn yard() -> Scenario {
    let mut site = level_site(&[(0.0, 0.0), (160.0, 0.0), (160.0, 140.0), (0.0, 140.0)]);
    let mut second = tower((90.0, 60.0), (130.0, 80.0), 9.0);
    second.id = Id(2);
    site.structures = vec![tower((40.0, 50.0), (60.0, 70.0), 18.0), second];
    site.sample_spacing_m = Some(2.5);
    scenario(site, 60.0)
}

/// Counts how often stages of many steps ask whether to go on.
#[derive(Default)]
struct Counter(AtomicU64);

impl Watch for Counter {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        self.0.fetch_add(1, Ordering::Relaxed);
        Ok(())
    }
}

impl Counter {
    fn taken(&self) -> u64 {
        self.0.swap(0, Ordering::Relaxed)
    }
}

#[test]
fn a_store_changes_no_figure() {
    let scenario = yard();
    let store = Store::new(1 << 28);
    let kept = Evaluator { store: &store, watch: &NoWatch };
    for _ in 0..2 {
        for strategy in &scenario.strategies {
            let fresh = outcome(&scenario, strategy.id.0, Depth::Views);
            let again = kept.evaluate(&scenario, strategy.id, Depth::Views).expect("evaluated");
            assert_eq!(fresh, again, "{}", strategy.name);
        }
    }
}

#[test]
fn renaming_and_pricing_cost_nothing_and_an_edit_redoes_one_pass() {
    let mut scenario = yard();
    let (store, steps) = (Store::new(1 << 28), Counter::default());
    let evaluator = Evaluator { store: &store, watch: &steps };
    let five = Id(30);
    let whole = evaluator.evaluate(&scenario, five, Depth::Views).expect("evaluated");
    let all_steps = steps.taken();
    assert!(all_steps > 0);

    scenario.strategies[2].name = "Another name".to_owned();
    scenario.rates.stages.dense_h_per_gigapixel *= 2.0;
    let renamed = evaluator.evaluate(&scenario, five, Depth::Views).expect("evaluated");
    assert_eq!(steps.taken(), 0, "nothing long was done again");
    assert_eq!(renamed.views, whole.views);

    // Limits only: no ray. Sight has as many steps as there are groups of tiles in each of the five passes.
    scenario.requirement.views.max_incidence_deg = 70.0;
    evaluator.evaluate(&scenario, five, Depth::Views).expect("evaluated");
    let limits_steps = steps.taken();

    let last = scenario.strategies[2].passes[4].id;
    scenario.pass_mut(last).expect("there").forward_overlap = 0.69;
    evaluator.evaluate(&scenario, five, Depth::Views).expect("evaluated");
    let one_pass_steps = steps.taken();
    assert!(limits_steps < one_pass_steps && one_pass_steps < all_steps);
}

#[test]
fn cancelled_work_stops_with_an_error_and_leaves_the_store_sound() {
    struct Stop;
    impl Watch for Stop {
        fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
            Err(Cancelled)
        }
    }
    let scenario = yard();
    let store = Store::new(1 << 28);
    let stopped = Evaluator { store: &store, watch: &Stop }.evaluate(&scenario, Id(20), Depth::Views);
    assert_eq!(stopped, Err(Stopped::Cancelled(Cancelled)));
    let after = Evaluator { store: &store, watch: &NoWatch }.evaluate(&scenario, Id(20), Depth::Views);
    assert_eq!(after.expect("evaluated"), outcome(&scenario, 20, Depth::Views));
}

#[test]
fn threads_change_no_bit() {
    let scenario = yard();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| [10, 20, 30, 40].map(|id| outcome(&scenario, id, Depth::Views)))
    };
    let one = with(1);
    assert!(one == with(2) && one == with(8));
}

/// Derived: what a gimbal cannot do makes the strategy infeasible: it has no figure, and the passes that could be flown are
/// laid out all the same.
#[test]
fn a_gimbal_that_stops_is_a_reason() {
    let mut scenario = yard();
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].gimbal.tilt_min_deg = 0.0;
    equipment.aircraft[0].gimbal.tilt_max_deg = 40.0;
    scenario.equipment = equipment.into();
    let oblique = outcome(&scenario, 30, Depth::Quick);
    assert_eq!(oblique.reasons[0], "pass 2: the gimbal stops at 40°, this pass needs 45°");
    assert_eq!(oblique.meets(), Some(false));
    assert!(oblique.timing.is_none() && oblique.passes[1].laid().is_none());
    assert!(!oblique.passes[0].laid().expect("it is there").stations.poses.is_empty());
    assert!(outcome(&scenario, 20, Depth::Quick).feasible());
    assert!(outcome(&scenario, 40, Depth::Quick).reasons[0].contains("cycle"));
}

/// Derived: a pass below the highest roof is refused with the mend.
#[test]
fn flying_below_a_roof_is_a_reason() {
    let mut scenario = yard();
    let nadir = scenario.strategies[0].passes[0].id;
    knob(KnobId::HEIGHT).set(&mut scenario, At::Pass(nadir), Some(15.0)).expect("in range");
    let low = outcome(&scenario, 10, Depth::Quick);
    assert!(low.reasons[0].contains("not above the highest roof (18 m)"), "{:?}", low.reasons);
}

/// Derived: the verdict names figure, requirement and reason; the sentence names the quickest and what others miss.
#[test]
fn the_verdict_says_what_is_missed_and_why() {
    let scenario = yard();
    let outcomes = [10, 20, 30, 40].map(|id| outcome(&scenario, id, Depth::Views));
    let nadir = &outcomes[0];
    assert_eq!(nadir.meets(), Some(false));
    let walls = nadir
        .shortfalls(GsdUnit::Centimetres)
        .into_iter()
        .find(|s| s.starts_with("walls:"))
        .expect("walls are missed");
    assert!(walls.contains("80 % needed"), "{walls}");
    assert!(walls.contains("seen only beyond 55° from its normal"), "{walls}");
    let sentence = compare_sentence(&scenario, &outcomes, GsdUnit::Centimetres);
    let quickest = outcomes
        .iter()
        .filter(|o| o.meets() == Some(true))
        .min_by(|a, b| {
            a.timing
                .as_ref()
                .expect("it is there")
                .time
                .time_on_site_s()
                .total_cmp(&b.timing.as_ref().expect("it is there").time.time_on_site_s())
        })
        .expect("some strategy meets it");
    assert!(sentence.starts_with(&quickest.name), "{sentence}");
    assert!(sentence.contains("Nadir block misses walls "), "{sentence}");
    let quick = outcome(&scenario, 20, Depth::Quick);
    assert_eq!(quick.meets(), None, "coverage is not known yet");
}

/// Derived: roofs and walls are asked for and none are modelled: nobody meets the requirement, the quickest is named as far
/// as judged; what is missed on the ground is missed all the same.
#[test]
fn what_the_site_does_not_model_is_not_judged() {
    let mut scenario = yard();
    let mut site = (*scenario.site).clone();
    site.structures.clear();
    scenario.site = site.into();
    scenario.requirement.time_on_site_min = None;
    scenario.requirement.coverage.ground = Some(0.5);
    let judged = |scenario: &Scenario| {
        let outcomes = [10, 20].map(|id| outcome(scenario, id, Depth::Views));
        let sentence = compare_sentence(scenario, &outcomes, GsdUnit::Centimetres);
        (outcomes, sentence)
    };
    let (outcomes, sentence) = judged(&scenario);
    for outcome in &outcomes {
        assert_eq!(outcome.meets(), None, "{:?}", outcome.judgements);
        let told = outcome.not_judged().expect("it is there");
        assert_eq!(told, "ground only; roofs and walls are not modelled");
    }
    assert!(!sentence.contains("meets"), "{sentence}");
    assert!(sentence.contains("is the quickest as far as judged (ground only; "), "{sentence}");
    scenario.requirement.coverage.ground = Some(1.0);
    scenario.requirement.gsd_cm.ground = 0.3;
    let (outcomes, sentence) = judged(&scenario);
    assert!(outcomes.iter().all(|outcome| outcome.meets() == Some(false)), "{sentence}");
}

/// Derived: a strategy that needs more battery sets than there are misses that, unless they are charged on site; and then it
/// is not the one that the sentence names.
#[test]
fn batteries_on_hand_take_part_in_the_verdict() {
    let mut scenario = yard();
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.endurance_min = 6.0;
    scenario.equipment = equipment.into();
    scenario.requirement.time_on_site_min = None;
    let judged = |scenario: &Scenario| {
        let outcomes = [10, 20, 30, 40].map(|id| outcome(scenario, id, Depth::Views));
        let sentence = compare_sentence(scenario, &outcomes, GsdUnit::Centimetres);
        let best = outcomes.iter().find(|o| sentence.starts_with(&o.name)).map(|o| o.name.clone());
        (outcomes, best)
    };
    scenario.conditions.battery_sets = 1000;
    let (outcomes, best) = judged(&scenario);
    let best = outcomes.iter().find(|o| Some(&o.name) == best.as_ref()).expect("some strategy meets it");
    let needed = best.flight().expect("it is there").sorties.len();
    assert!(needed > 1, "{needed}");
    scenario.conditions.battery_sets = needed as u32 - 1;
    let (few, named) = judged(&scenario);
    let short = few.iter().find(|o| o.strategy == best.strategy).expect("it is there");
    let told = format!("batteries: {needed} battery sets needed, {} on hand and none charged", needed - 1);
    assert!(
        short.shortfalls(GsdUnit::Centimetres).iter().any(|s| s.starts_with(&told)),
        "{:?}",
        short.shortfalls(GsdUnit::Centimetres)
    );
    assert_eq!(short.meets(), Some(false));
    assert!(named != Some(best.name.clone()), "it cannot be the quickest that meets");
    let miss = format!("{} misses batteries {needed}, {} on hand", best.name, needed - 1);
    assert!(
        compare_sentence(&scenario, &few, GsdUnit::Centimetres).contains(&miss),
        "{}",
        compare_sentence(&scenario, &few, GsdUnit::Centimetres)
    );
    scenario.conditions.charging = Some(Charging { supply: Supply::Mains, charge_min: 60.0, at_once: 1 });
    let (charged, _) = judged(&scenario);
    assert_eq!(
        charged.iter().find(|o| o.strategy == best.strategy).expect("it is there").meets(),
        Some(true)
    );
}

/// Derived: typical buildings hide and are sampled like real ones, and the figures say that they are assumed.
#[test]
fn assumed_buildings_count_and_say_so() {
    let mut site = level_site(&[(0.0, 0.0), (160.0, 0.0), (160.0, 140.0), (0.0, 140.0)]);
    site.typical_building =
        Some(TypicalBuilding { width_m: 12.0, depth_m: 10.0, height_m: 8.0, spacing_m: 30.0 });
    let outcome = outcome(&scenario(site, 60.0), 20, Depth::Views);
    assert!(outcome.assumed);
    let walls = outcome.views.as_ref().and_then(|v| v.classes.wall.clone()).expect("walls are sampled");
    // 5 by 5 boxes fit; each has 2 (12 + 10) 8 m² of wall. Reason for 1e-6: sums of many cells in doubles.
    assert!((walls.area_m2 - 25.0 * 2.0 * 22.0 * 8.0).abs() < 1e-6, "{}", walls.area_m2);
    assert!(outcome.cautions.iter().any(|caution| caution.id == "assumed"));
}

/// Source: 14 CFR 107.51 (400 ft above ground) and EU 2019/947 Art. 4 (120 m from the closest point of the surface).
#[test]
fn the_height_limit_of_the_region_is_cautioned() {
    let mut scenario = yard();
    let nadir = scenario.strategies[0].passes[0].id;
    let mut at = |height_m: f64, rule: HeightRule| {
        scenario.conditions.height_rule = rule;
        knob(KnobId::HEIGHT).set(&mut scenario, At::Pass(nadir), Some(height_m)).expect("in range");
        let outcome = outcome(&scenario, 10, Depth::Quick);
        outcome.cautions.iter().find(|c| c.id == "height-limit").expect("always there").severity
    };
    assert_eq!(at(121.0, HeightRule::UsPart107), Severity::Reminder);
    assert_eq!(at(122.0, HeightRule::UsPart107), Severity::Limit);
    assert_eq!(at(119.0, HeightRule::EuOpen), Severity::Reminder);
    assert_eq!(at(121.0, HeightRule::EuOpen), Severity::Limit);
    assert_eq!(at(51.0, HeightRule::Custom { limit_m: 50.0 }), Severity::Limit);
}

/// Derived: a keep-out hides nothing and is ground; the boundary decides what is sampled.
#[test]
fn keep_outs_are_ground() {
    let mut scenario = yard();
    let mut site = (*scenario.site).clone();
    site.keep_outs = vec![KeepOut {
        name: "Yard".to_owned(),
        outline_m: ring(&[(100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0)]),
    }];
    scenario.site = site.into();
    let ground = outcome(&scenario, 10, Depth::Views).views.as_ref().and_then(|v| v.classes.ground.clone());
    let area_m2 = ground.expect("there is ground").area_m2;
    assert!((area_m2 - (160.0 * 140.0 - 400.0 - 800.0)).abs() < 1e-3, "{area_m2}");
}

/// Derived: what is held is equal afterwards, to rounding; time to within what whole strips and swaps allow.
#[test]
fn held_equal_is_equal() {
    let mut site = level_site(&[(0.0, 0.0), (400.0, 0.0), (400.0, 350.0), (0.0, 350.0)]);
    site.take_off_m = glam::DVec2::new(200.0, 10.0);
    let mut scenario = scenario(site, 60.0);
    let mut sharper = crate::scene::aircraft();
    sharper.id = Id(2);
    sharper.camera.focal_length_mm *= 1.5;
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft.push(sharper);
    scenario.equipment = equipment.into();
    scenario.strategies[1].aircraft = Id(2);
    let store = Store::new(1 << 26);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let held = |hold| evaluator.hold_equal(&scenario, Id(20), hold).expect("can be held");
    let read = |held: &HeldEqual, what: fn(&Outcome) -> f64| {
        let outcomes = evaluator.evaluate_all(&held.scenario, Depth::Quick).expect("evaluated");
        outcomes.iter().map(what).collect::<Vec<_>>()
    };
    let gsds = read(&held(Hold::Gsd), |o| o.passes[0].laid().expect("it is there").layout.vertical_gsd_m);
    assert!(gsds.iter().all(|gsd| (gsd / gsds[1] - 1.0).abs() < 1e-12), "{gsds:?}");
    let heights = read(&held(Hold::Height), |o| o.passes[0].laid().expect("it is there").layout.height_m);
    assert!(heights.iter().all(|height| *height == 60.0), "{heights:?}");
    let by_time = held(Hold::TimeOnSite);
    let times = read(&by_time, |o| o.timing.as_ref().expect("it is there").time.time_on_site_s());
    for (strategy, time_s) in scenario.strategies.iter().zip(&times) {
        let reached = (time_s - times[1]).abs() <= 90.0;
        assert_eq!(reached, !by_time.out_of_reach.contains(&strategy.id), "{} {times:?}", strategy.name);
    }
    assert!(by_time.out_of_reach.len() < 3, "some can be matched");
}
