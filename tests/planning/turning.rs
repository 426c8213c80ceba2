//! Turning on the spot follows the aircraft's nose, not its track.

use crate::generate;
use crate::scene::{aircraft, level_site, outcome, scenario, tower};
use glam::{DVec2, DVec3};
use obliquity_planning::*;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Azimuths differ by sums of some angles in doubles.
const ROUNDING_RAD: f64 = 1e-9;

/// Practice: yaw at 60°/s and one second more; nothing for what is straight on.
fn turning_s(from_rad: f64, to_rad: f64) -> f64 {
    let apart = apart_rad(from_rad, to_rad);
    if apart < 1e-6 { 0.0 } else { apart / (PI / 3.0) + 1.0 }
}

fn apart_rad(a: f64, b: f64) -> f64 {
    let turned = (a - b).rem_euclid(TAU);
    turned.min(TAU - turned)
}

fn azimuth_rad(way: DVec2) -> f64 {
    way.x.atan2(way.y)
}

fn level(a: DVec3, b: DVec3) -> Option<f64> {
    let way = (b - a).truncate();
    (way.length() > 1e-6).then(|| azimuth_rad(way))
}

/// Where the nose of a leg points at its start and its end.
fn noses_rad(leg: &Leg) -> [Option<f64>; 2] {
    let ways: Vec<f64> = leg.pieces_m().filter_map(|(a, b)| level(a, b)).collect();
    let at = |place: DVec3, way: Option<&f64>| match leg.nose {
        Nose::AlongTrack => way.copied(),
        Nose::Held { azimuth_rad } => Some(azimuth_rad),
        Nose::Toward { place_m, turned_rad } => Some(azimuth_rad(place_m - place.truncate()) + turned_rad),
    };
    [at(leg.from_m, ways.first()), at(leg.to_m, ways.last())]
}

/// Of a strategy by its name, in still air and with one battery.
fn flown(scenario: &Scenario, name: &str) -> Outcome {
    let mut alone = scenario.clone();
    let airframe = &mut Arc::make_mut(&mut alone.equipment).aircraft[0].airframe;
    airframe.endurance_min = 600.0;
    let strategy = scenario.strategies.iter().find(|strategy| strategy.name == name);
    outcome(&alone, strategy.map_or(0, |strategy| strategy.id.0), Depth::Quick)
}

fn legs(outcome: &Outcome) -> &[FlownLeg] {
    outcome.flight().map_or(&[], |flight| &flight.legs)
}

/// Turning within passes, the turn into the first leg of each left out.
fn turns_s(outcome: &Outcome) -> Vec<f64> {
    let legs = legs(outcome);
    (1..legs.len())
        .filter(|&k| legs[k].pass.is_some() && legs[k].pass == legs[k - 1].pass)
        .map(|k| legs[k].turn_s)
        .collect()
}

fn with_tower() -> Scenario {
    let mut site = level_site(&[(0.0, 0.0), (200.0, 0.0), (200.0, 160.0), (0.0, 160.0)]);
    site.structures = vec![tower((80.0, 60.0), (120.0, 90.0), 30.0)];
    let mut scenario = scenario(site, 73.0);
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut craft = aircraft();
    craft.gimbal.tilt_max_deg = 130.0;
    for (template, id) in [(SiteTemplate::FacadeWrap, 500), (SiteTemplate::NadirBlockWithOrbits, 600)] {
        let gsd_cm = &scenario.requirement.gsd_cm;
        let start = TemplateStart { first_id: Id(id), aircraft: &craft, distance, gsd_cm };
        let made = template.strategy(&scenario.site, &SiteChoice::default(), &start);
        scenario.strategies.push(made.expect("the site has a tower"));
    }
    scenario.equipment = Equipment { aircraft: vec![craft] }.into();
    scenario
}

/// Derived: in front of a wall the nose faces the wall, so that only the corners of the building are turned at: a right
/// angle at each of the three corners between four walls, 1.5 s and 1 s more.
#[test]
fn rows_before_a_wall_are_flown_sideways() {
    let outcome = flown(&with_tower(), "Facade wrap");
    let pass = outcome.passes.iter().find(|pass| pass.pattern == PatternKind::Facade).map(|pass| pass.pass);
    let legs = legs(&outcome).iter().filter(|flown| flown.pass == pass);
    let turns: Vec<f64> = legs.map(|flown| flown.turn_s).skip(1).filter(|turn_s| *turn_s > 0.0).collect();
    assert_eq!(turns.len(), 3, "{turns:?}");
    assert!(turns.iter().all(|turn_s| (turn_s - 2.5).abs() < ROUNDING_RAD), "{turns:?}");
}

/// Derived: a block that holds its look is flown to and fro without a turn, one that follows its track turns by half a turn
/// in all into each link and out of it, 3 s and 1 s more each; rings are flown with the nose inward, and so are the climbs between them.
#[test]
fn held_looks_need_no_turn() {
    let scenario = with_tower();
    let blocks = flown(&scenario, "Five-direction oblique");
    for (k, pass) in blocks.passes.iter().enumerate() {
        let own = |flown: &&FlownLeg| flown.pass == Some(pass.pass);
        let turns_s: Vec<f64> = legs(&blocks).iter().filter(own).map(|flown| flown.turn_s).skip(1).collect();
        let links = pass
            .laid()
            .map_or(&[][..], |plan| &plan.legs)
            .iter()
            .filter(|leg| leg.kind == LegKind::Link)
            .count() as f64;
        let expected_s = if k == 0 { links * 2.0 * 2.5 } else { 0.0 };
        assert!(links > 1.0 && (turns_s.iter().sum::<f64>() - expected_s).abs() < 1e-6, "{k}: {turns_s:?}");
    }
    let cycled = turns_s(&flown(&scenario, "Cycled gimbal"));
    let reversals: Vec<f64> = cycled.chunks(2).map(|pair| pair.iter().sum()).collect();
    assert!(reversals.len() > 2 && reversals.iter().all(|s: &f64| (s - 5.0).abs() < 1e-6), "{cycled:?}");
    let mut scenario = scenario;
    for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
        if let Pattern::Orbit(Orbit { rings, .. }) = &mut pass.pattern {
            *rings = Rings::At { heights_m: vec![20.0, 30.0, 40.0] };
        }
    }
    let orbits = flown(&scenario, "Nadir block with orbits");
    let rings: Vec<Id> =
        orbits.passes.iter().filter(|p| p.pattern == PatternKind::Orbit).map(|p| p.pass).collect();
    let within = legs(&orbits).windows(2).filter(|pair| pair[1].pass == pair[0].pass);
    let turned: Vec<f64> = within
        .filter(|pair| pair[1].pass.is_some_and(|id| rings.contains(&id)))
        .map(|pair| pair[1].turn_s)
        .collect();
    assert!(turned.len() > 1 && turned.iter().all(|turn_s| *turn_s == 0.0), "{turned:?}");
}

/// Derived: a look held from north is held by every strip, straight down as well; a cycle about the north too.
#[test]
fn looks_held_from_north_need_no_turn() {
    let mut scenario = with_tower();
    for name in ["Nadir block", "Cycled gimbal"] {
        for pass in &mut scenario.strategies.iter_mut().find(|s| s.name == name).expect("a template").passes {
            for attitude in &mut pass.attitudes {
                attitude.aim = Aim::FromNorth { deg: attitude.aim.deg() };
            }
        }
        let turns_s = turns_s(&flown(&scenario, name));
        assert!(turns_s.len() > 2 && turns_s.iter().all(|turn_s| *turn_s == 0.0), "{turns_s:?}");
    }
}

/// Derived: in random scenarios every turn is what the nose's azimuths before and after it take; the nose points where a
/// single camera looks, wherever its look is held, and sweeps are entered without a turn.
#[test]
fn every_turn_is_the_noses() {
    let mut turned = 0;
    for seed in 0..60 {
        let scenario = generate::scenario(seed);
        for strategy in &scenario.strategies {
            let store = Store::new(1 << 24);
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let Ok(outcome) = evaluator.evaluate(&scenario, strategy.id, Depth::Quick) else { continue };
            for (pass, planned) in strategy.passes.iter().zip(&outcome.passes) {
                planned.laid().into_iter().for_each(|plan| stations_are_looked_at(pass, plan));
            }
            let (mut nose_rad, mut sortie) = (None, 0);
            for (k, flown) in legs(&outcome).iter().enumerate() {
                if flown.sortie != sortie {
                    (nose_rad, sortie) = (None, flown.sortie);
                }
                let [from, to] = noses_rad(&flown.leg);
                let expected_s = match nose_rad.zip(from) {
                    Some((before, after)) if flown.ends_mps[0] == 0.0 => turning_s(before, after),
                    _ => 0.0,
                };
                turned += u32::from(expected_s > 0.0);
                let near = (flown.turn_s - expected_s).abs() < 1e-6;
                assert!(near, "seed {seed}, {}, leg {k}: {} {expected_s}", outcome.name, flown.turn_s);
                nose_rad = to.or(nose_rad);
            }
        }
    }
    assert!(turned > 1000, "{turned}");
}

fn stations_are_looked_at(pass: &Pass, plan: &PassPlan) {
    let [attitude] = pass.attitudes.as_slice() else { return };
    let held = match attitude.aim {
        Aim::FromStrips { .. } | Aim::FromNorth { .. } => true,
        Aim::AtSubject { .. } => !plan.pattern.flies_over() && plan.pattern != PatternKind::Underside,
        Aim::FromTrack { .. } => false,
    };
    for leg in plan.legs.iter().filter(|_| held) {
        for stop in &leg.stops {
            let pose = &plan.stations.poses[stop.station as usize];
            let nose_rad = match leg.nose {
                Nose::AlongTrack => panic!("a look that is held is left to the track: {}", pass.id),
                Nose::Held { azimuth_rad } => azimuth_rad,
                Nose::Toward { place_m, turned_rad } => {
                    azimuth_rad(place_m - pose.position_m.truncate()) + turned_rad
                }
            };
            assert!(apart_rad(nose_rad, pose.heading_rad) < ROUNDING_RAD, "{nose_rad} {}", pose.heading_rad);
        }
    }
}
