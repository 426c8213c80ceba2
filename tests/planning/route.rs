//! Strips, stations and their counts.

use crate::scene::{level_site, outcome, ring, scenario, tower};
use glam::DVec2;
use obliquity_planning::*;

const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (474.0, 0.0), (474.0, 474.0), (0.0, 474.0)];

fn planned(outcome: &Outcome) -> u32 {
    outcome.load.as_ref().expect("it is there").image_count
        + outcome.load.as_ref().expect("it is there").skipped_exposures
}

/// Cross-check: an independent script's counts on a site of about 22 ha with structures up to 38 m, flown at 73 m with a
/// camera of 20 megapixels and f = 3648 px: 646 images for the nadir block, 1,292 for crossed strips, 1,888 for five
/// directions on strips that all run one way, 2,970 planned for the cycled gimbal. Its boundary is not known; a square of
/// 474 m gives all four.
#[test]
fn exposures_planned_agree_with_an_independent_script() {
    let mut site = level_site(&SQUARE);
    site.structures = vec![tower((200.0, 200.0), (220.0, 220.0), 38.0)];
    let mut scenario = scenario(site, 73.0);
    let one_way = scenario.strategies[0].passes[0].pattern.clone();
    for (pass, look) in scenario.strategies[2].passes.iter_mut().skip(1).zip([0.0, 90.0, 180.0, 270.0]) {
        pass.pattern = one_way.clone();
        pass.attitudes[0].aim = Aim::FromStrips { deg: look };
    }
    let counts = [10, 20, 30, 40].map(|id| planned(&outcome(&scenario, id, Depth::Quick)));
    assert_eq!(counts, [646, 1292, 1888, 2970]);
}

/// Derived: the first strip of a square stands half a spacing inside the region, exposures one air base apart.
#[test]
fn stations_stand_where_the_terms_say() {
    let scenario = scenario(level_site(&SQUARE), 73.0);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let plan = outcome.passes[0].laid().expect("it is there");
    let layout = &plan.layout;
    assert!((layout.air_base_m - 14.6).abs() < 1e-9 && (layout.strip_spacing_m - 32.85).abs() < 1e-9);
    assert!(
        (layout.margin_m.expect("strips have it") - 27.375).abs() < 1e-9,
        "a quarter of the swath of 109.5 m"
    );
    assert_eq!(layout.strips, 17);
    let poses = &plan.stations.poses;
    let even = (474.0 + 2.0 * 27.375) / 17.0;
    // The take-off point is the south-west corner; least widths of a square tie, so strips run north.
    assert!((poses[0].position_m.x - (even / 2.0 - 27.375)).abs() < 1e-9);
    let (first, second) = (poses[0].position_m, poses[1].position_m);
    assert!(first.distance(second) <= 14.6 + 1e-9);
    assert_eq!(first.z, 73.0);
}

/// Derived: the middle strip of a U is flown straight across the gap, and not exposed in it.
#[test]
fn gaps_are_flown_and_not_exposed() {
    let mut site = level_site(&[
        (0.0, 0.0),
        (600.0, 0.0),
        (600.0, 300.0),
        (400.0, 300.0),
        (400.0, 100.0),
        (200.0, 100.0),
        (200.0, 300.0),
        (0.0, 300.0),
    ]);
    site.take_off_m = DVec2::new(1.0, 1.0);
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes[0].margin_m = Some(0.0);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let plan = outcome.passes[0].laid().expect("it is there");
    assert!(
        (plan.layout.direction_rad.expect("strips have it").to_degrees() - 90.0).abs() < 1e-9,
        "strips along the longer side"
    );
    let across_gap = plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip && leg.from_m.y > 100.0);
    let mut seen = 0;
    for leg in across_gap {
        assert!((leg.length_m() - 600.0).abs() < 1e-9);
        let inside = |along: f64| {
            let x = leg.from_m.x + (leg.to_m.x - leg.from_m.x).signum() * along;
            (200.0 + 1e-9..400.0 - 1e-9).contains(&x)
        };
        assert!(leg.stops.iter().all(|stop| !inside(stop.along_m)));
        seen += 1;
    }
    assert!(seen >= 5);
}

/// Derived: no leg enters a keep-out, no exposure is taken in it, and the rest of its strips is still flown.
#[test]
fn keep_outs_are_flown_round() {
    let mut site = level_site(&SQUARE);
    let outline_m = ring(&[(150.0, 150.0), (300.0, 180.0), (260.0, 320.0), (140.0, 260.0)]);
    site.keep_outs = vec![KeepOut { name: "Mast".to_owned(), outline_m: outline_m.clone() }];
    let scenario = scenario(site, 73.0);
    for id in [10, 20, 30, 40] {
        let outcome = outcome(&scenario, id, Depth::Quick);
        let entered = outcome.flight().expect("it is there").legs.iter().any(|flown| {
            let (a, b) = (flown.leg.from_m.truncate(), flown.leg.to_m.truncate());
            (1..200).any(|k| {
                let at = a.lerp(b, f64::from(k) / 200.0);
                polygon::contains(&outline_m, at) && depth_inside(&outline_m, at) > 1e-3
            })
        });
        assert!(!entered, "strategy {id}");
        let poses = outcome.passes.iter().flat_map(|pass| &pass.laid().expect("it is there").stations.poses);
        let inside = poses.filter(|pose| depth_inside(&outline_m, pose.position_m.truncate()) > 1e-3);
        assert_eq!(
            inside.filter(|pose| polygon::contains(&outline_m, pose.position_m.truncate())).count(),
            0
        );
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
    }
}

/// Distance from a point to the nearest side of a ring.
fn depth_inside(ring: &[DVec2], p: DVec2) -> f64 {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    sides
        .map(|(a, b)| {
            let along = (b - a).normalize();
            let t = (p - a).dot(along).clamp(0.0, a.distance(*b));
            p.distance(*a + along * t)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Derived: over a small site, tilted exposures beyond its edge show nothing of it and are not taken.
#[test]
fn exposures_that_show_nothing_are_skipped() {
    let scenario = scenario(level_site(&SQUARE), 73.0);
    let outcome = outcome(&scenario, 40, Depth::Quick);
    assert!(outcome.load.as_ref().expect("it is there").skipped_exposures > 0);
    let layout = &outcome.passes[0].laid().expect("it is there").layout;
    // Tilted 45° and 45° off the track, the images lead by H sin 45° along each axis.
    assert!(
        (layout.region_width_m.expect("strips have it") - (474.0 + 2.0 * 73.0 * 0.5_f64.sqrt())).abs() < 1e-9
    );
}

/// Practice: the cycle of five attitudes with slew 120°/s, settle 0.2 s and a shot interval of 0.7 s takes 3.5 s.
#[test]
fn the_default_cycle_follows_common_practice() {
    let scenario = scenario(level_site(&SQUARE), 73.0);
    let outcome = outcome(&scenario, 40, Depth::Quick);
    let plan = outcome.passes[0].laid().expect("it is there");
    // Between azimuths 90° apart at 45° tilt the axis turns 60°: 0.5 s and 0.2 s to settle, to the last bits.
    assert!((plan.exposure.cycle_s - 3.5).abs() < 1e-9);
    assert_eq!(plan.speed.bound_by, SpeedBound::GimbalCycle);
    assert!((plan.speed.speed_mps - 18.25 / 3.5).abs() < 1e-9);
}

/// Derived: overlap over a roof, o(h) = 1 − (1 − o) H / (H − h).
#[test]
fn overlap_over_the_highest_roof() {
    let mut site = level_site(&SQUARE);
    site.structures = vec![tower((200.0, 200.0), (220.0, 220.0), 36.5)];
    let outcome = outcome(&scenario(site, 73.0), 10, Depth::Quick);
    let layout = &outcome.passes[0].laid().expect("it is there").layout;
    assert!((layout.roof_forward_overlap.expect("something stands") - 0.6).abs() < 1e-12);
    assert!((layout.roof_sidelap.expect("something stands") - 0.4).abs() < 1e-12);
}

/// Derived: a request beyond counting is refused, not attempted.
#[test]
fn a_tiny_air_base_is_refused() {
    let mut scenario = scenario(level_site(&SQUARE), 5.0);
    scenario.strategies[0].passes[0].forward_overlap = 0.999999;
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let refused = evaluator.evaluate(&scenario, Id(10), Depth::Quick).expect("a value, not an error");
    assert!(matches!(refused.passes[0].plan, Err(PlanError::TooManyExposures { count, .. }) if count > 1e5));
}

/// Derived: at equal GSD and overlap, four times the pixels (twice each side) need about a quarter of the images.
#[test]
fn four_times_the_pixels_need_a_quarter_of_the_images() {
    let mut site = level_site(&[(0.0, 0.0), (1500.0, 0.0), (1500.0, 1500.0), (0.0, 1500.0)]);
    site.take_off_m = DVec2::new(700.0, 700.0);
    let mut scenario = scenario(site, 73.0);
    let mut large = crate::scene::aircraft();
    large.id = Id(2);
    large.camera.width_px *= 2;
    large.camera.height_px *= 2;
    large.camera.focal_length_mm *= 1.2;
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft.push(large);
    scenario.equipment = equipment.into();
    for strategy in &mut scenario.strategies {
        for pass in &mut strategy.passes {
            pass.distance = Distance::Gsd { cm: 1.5, above: Above::MeanGround };
        }
    }
    let small = outcome(&scenario, 10, Depth::Quick).load.as_ref().expect("it is there").image_count;
    scenario.strategies[0].aircraft = Id(2);
    let large = outcome(&scenario, 10, Depth::Quick);
    assert!(!large.passes[0].laid().expect("it is there").layout.capped);
    let ratio = f64::from(small) / f64::from(large.load.as_ref().expect("it is there").image_count);
    assert!(
        (3.4..=4.4).contains(&ratio),
        "{small} : {}",
        large.load.as_ref().expect("it is there").image_count
    );
}

/// Derived: what a knob sets it gets back, an edit out of range changes nothing, and one that does not apply says so.
#[test]
fn knobs_set_what_they_get() {
    let mut scenario = scenario(level_site(&SQUARE), 73.0);
    let crossed = scenario.strategies[1].passes[0].id;
    for id in [
        KnobId::HEIGHT,
        KnobId::FORWARD_OVERLAP,
        KnobId::SIDELAP,
        KnobId::TILT,
        KnobId::SPEED,
        KnobId::MARGIN,
    ] {
        let knob = knob(id);
        let value = 0.4 * knob.range.least + 0.6 * knob.range.most;
        knob.set(&mut scenario, At::Pass(crossed), Some(value)).expect("in range");
        assert_eq!(knob.get(&scenario, At::Pass(crossed)), Some(value), "{}", knob.name);
        let before = scenario.clone();
        assert!(matches!(
            knob.set(&mut scenario, At::Pass(crossed), Some(knob.range.most + 1.0)),
            Err(EditError::OutOfRange { .. })
        ));
        assert!(matches!(
            knob.set(&mut scenario, At::Pass(Id(999)), Some(value)),
            Err(EditError::NotThere { .. })
        ));
        assert_eq!(before, scenario);
    }
    let nadir = scenario.strategies[0].passes[0].id;
    assert_eq!(
        knob(KnobId::TILT).set(&mut scenario, At::Pass(nadir), Some(30.0)),
        Err(EditError::DoesNotApply("tilt"))
    );
    assert_eq!(knob(KnobId::GSD).get(&scenario, At::Pass(nadir)), None);
}
