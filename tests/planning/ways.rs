//! No route on any drawn site comes into anything: keep-outs of every kind, structures, ground.

use crate::generate::{self, Dice, star};
use crate::scene::{self, level_site, outcome, tower};
use crate::walk::Surroundings;
use glam::DVec2;
use obliquity_planning::*;
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Sites that are drawn.
const SITES: u64 = 1000;

/// What was seen on some sites.
#[derive(Debug, Default)]
struct Seen {
    /// Sites that the checks refuse, as they must: a keep-out lies over the take-off point.
    refused: u32,
    flights: u32,
    legs: [u32; KINDS.len()],
    resumed: u32,
    /// Sites with a route that comes into something, and the first sentence of each.
    hit: Vec<(u64, String)>,
}

const KINDS: [LegKind; 6] =
    [LegKind::Strip, LegKind::Link, LegKind::Transit, LegKind::Climb, LegKind::Descent, LegKind::Turn];

impl Seen {
    fn and(mut self, other: Seen) -> Seen {
        self.refused += other.refused;
        self.flights += other.flights;
        self.resumed += other.resumed;
        for (mine, its) in self.legs.iter_mut().zip(other.legs) {
            *mine += its;
        }
        self.hit.extend(other.hit);
        self
    }
}

/// Derived: walked by geometry of the tests' own, no segment of any flight on any drawn site comes into a keep-out, a
/// structure or the ground, or nearer than it has to keep; a site whose take-off point lies in a keep-out is refused.
#[test]
fn no_route_on_any_site_comes_into_anything() {
    let seen = (0..SITES).into_par_iter().map(look_at).reduce(Seen::default, Seen::and);
    assert!(seen.hit.is_empty(), "{} of {SITES} sites: {:#?}", seen.hit.len(), seen.hit);
    // The drawing has everything that may go wrong.
    let least = (SITES / 20) as u32;
    assert!(seen.refused >= least / 3 && seen.flights >= 10 * least && seen.resumed >= least, "{seen:?}");
    assert!(seen.legs.iter().all(|count| *count >= 20 * least), "{seen:?}");
}

fn look_at(seed: u64) -> Seen {
    let scenario = drawn(seed);
    let mut seen = Seen::default();
    if !scenario.faults().is_empty() {
        assert!(scenario.faults().iter().all(|fault| fault.path.contains("take_off")), "seed {seed}");
        seen.refused = 1;
        return seen;
    }
    let (store, surroundings) = (Store::new(1 << 26), Surroundings::new(&scenario));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for strategy in &scenario.strategies {
        let Ok(outcome) = evaluator.evaluate(&scenario, strategy.id, Depth::Quick) else { continue };
        let Some(flight) = outcome.flight() else { continue };
        seen.flights += 1;
        seen.resumed += u32::from(flight.sorties.len() > 1);
        for flown in &flight.legs {
            let kind = KINDS.iter().position(|kind| *kind == flown.leg.kind).expect("one of them");
            seen.legs[kind] += 1;
        }
        if let Some(hit) = surroundings.hits(&outcome).into_iter().next() {
            seen.hit.push((seed, hit));
            break;
        }
    }
    seen
}

/// A drawn scenario with more that stands in the way: keep-outs of many shapes, a take-off point beside a wall, small
/// batteries, sweeping airframes, and always a cycled gimbal.
fn drawn(seed: u64) -> Scenario {
    let mut scenario = generate::scenario(seed);
    let mut dice = Dice::new(seed.wrapping_add(0x5eed));
    let dice = &mut dice;
    let mut equipment = (*scenario.equipment).clone();
    for aircraft in &mut equipment.aircraft {
        aircraft.airframe.lateral_mps2 = dice.chance(0.5).then(|| dice.within(2.0, 5.0));
        if dice.chance(0.5) {
            aircraft.airframe.endurance_min = dice.within(6.0, 14.0);
        }
    }
    scenario.equipment = Arc::new(equipment);
    let mut site = (*scenario.site).clone();
    if dice.chance(0.4) {
        take_off_beside_a_wall(dice, &mut site, scenario.conditions.clearance_m);
    }
    if dice.chance(0.3) {
        with_a_deck(dice, &mut site);
    }
    if dice.chance(0.04) {
        // a keep-out over all but the take-off point
        let reach_m = reach_m(&site);
        let (name, far) = ("Over all".to_owned(), [-1.5 * reach_m, 1.5 * reach_m]);
        site.keep_outs.push(KeepOut { name, outline_m: block(far, far) });
        site.take_off_m = DVec2::new(1.8 * reach_m, dice.within(-1.0, 1.0) * reach_m);
    }
    let count = if dice.chance(0.1) { dice.whole(10, 30) } else { dice.whole(0, 4) };
    for _ in 0..count {
        for outline_m in keep_outs(dice, &site) {
            let sound = outline_faults(&outline_m).is_empty();
            // Most leave the take-off point free; those that do not are refused by the checks.
            let free = !polygon::contains(&outline_m, site.take_off_m) || dice.chance(0.1);
            if sound && free {
                let name = format!("Keep-out {}", site.keep_outs.len());
                site.keep_outs.push(KeepOut { name, outline_m });
            }
        }
    }
    scenario.site = Arc::new(site);
    let distance = Distance::Height { m: dice.within(20.0, 100.0), above: Above::MeanGround };
    let aircraft = scenario.equipment.aircraft[dice.whole(0, 1) as usize].id;
    let mut cycled = Template::CycledGimbal.strategy(scenario.free_id(), aircraft, distance);
    cycled.passes[0].forward_overlap = dice.within(0.5, 0.8);
    cycled.passes[0].sidelap = dice.within(0.4, 0.7);
    scenario.strategies.push(cycled);
    let template = SiteTemplate::ALL[dice.whole(1, 3) as usize];
    let aircraft = &scenario.equipment.aircraft[dice.whole(0, 1) as usize];
    let (first_id, gsd_cm) = (scenario.free_id(), &scenario.requirement.gsd_cm);
    let distance = Distance::StandOff { m: dice.within(4.0, 25.0) };
    let start = TemplateStart { first_id, aircraft, distance, gsd_cm };
    let made = template.strategy(&scenario.site, &SiteChoice::default(), &start);
    scenario.strategies.extend(made);
    scenario
}

fn reach_m(site: &Site) -> f64 {
    site.boundary_m.iter().map(|p| p.length()).fold(0.0, f64::max)
}

fn block(x: [f64; 2], y: [f64; 2]) -> Vec<DVec2> {
    [(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])].map(DVec2::from).to_vec()
}

/// Adds a deck on two rows of piers.
fn with_a_deck(dice: &mut Dice, site: &mut Site) {
    let (at, turn) = (dice.place(DVec2::ZERO, 0.6 * reach_m(site)), DVec2::from_angle(dice.within(0.0, TAU)));
    let placed = |ring: Vec<DVec2>| ring.into_iter().map(|p| at + turn.rotate(p)).collect::<Vec<_>>();
    let (x, y, soffit_m) = (dice.within(15.0, 50.0), dice.within(4.0, 12.0), dice.within(6.0, 25.0));
    let pier = |k: u32| {
        let (u, v) = (x * (f64::from(k / 2) - 1.0) * 0.8, y * (f64::from(k % 2) - 0.5));
        Pier { footprint_m: placed(block([u - 0.6, u + 0.6], [v - 0.6, v + 0.6])) }
    };
    let piers = (0..6).map(pier).collect();
    site.structures.push(Structure {
        id: Id(190),
        name: "Deck".to_owned(),
        footprint_m: placed(block([-x, x], [-y, y])),
        kind: StructureKind::Deck { soffit_m, top_m: soffit_m + dice.within(0.5, 2.0), piers },
    });
    site.typical_building = None;
}

fn take_off_beside_a_wall(dice: &mut Dice, site: &mut Site, clearance_m: f64) {
    let Some(structure) = site.structures.first() else { return };
    let ring = &structure.footprint_m;
    let k = dice.whole(0, ring.len() as u32 - 1) as usize;
    let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
    let outward = -(b - a).perp().normalize() * polygon::signed_area_m2(ring).signum();
    let at = a.lerp(b, dice.within(0.0, 1.0)) + outward * dice.within(0.2, 1.2 * clearance_m);
    let inside = site.structures.iter().any(|s| polygon::contains(&s.footprint_m, at));
    if !inside {
        site.take_off_m = at;
    }
}

/// A keep-out of one shape or another, or several that belong together.
fn keep_outs(dice: &mut Dice, site: &Site) -> Vec<Vec<DVec2>> {
    let reach_m = reach_m(site);
    let at = dice.place(DVec2::ZERO, 0.9 * reach_m);
    let size_m = dice.within(0.05, 0.4) * reach_m;
    let turn = DVec2::from_angle(dice.within(0.0, TAU));
    let placed = |ring: Vec<DVec2>| ring.into_iter().map(|p| at + turn.rotate(p)).collect::<Vec<_>>();
    let block = |x: [f64; 2], y: [f64; 2]| placed(block(x, y));
    let s = size_m;
    match dice.whole(0, 11) {
        0 => {
            let corners = dice.whole(3, 8);
            vec![star(dice, corners, at, [2.0, 10.0])]
        }
        1 => {
            let corners = dice.whole(3, 9);
            vec![star(dice, corners, at, [0.3 * s, 1.5 * s])]
        }
        2 => {
            let corners = dice.whole(24, 400);
            vec![placed(wavy(corners, s, 0.0, 0))]
        }
        3 => {
            let (corners, depth, waves) = (dice.whole(60, 400), dice.within(0.05, 0.5), dice.whole(3, 19));
            vec![placed(wavy(corners, s, depth, waves))]
        }
        4 => {
            let corners = dice.whole(20, 100);
            let turns = dice.within(0.8, 2.5);
            vec![placed(spiral(corners, 1.5 * s, turns, dice.within(0.2, 0.8)))]
        }
        5 => {
            let teeth = dice.whole(3, 25);
            vec![placed(comb(teeth, s, dice.within(0.2, 0.8)))]
        }
        // sharing a side, in whole or in part
        6 => vec![block([-s, 0.0], [0.0, s]), block([0.0, s], [dice.within(-0.5, 0.0) * s, s])],
        // one in the other
        7 => vec![block([-s, s], [-s, s]), block([-0.3 * s, 0.5 * s], [-0.5 * s, 0.2 * s])],
        // across each other
        8 => vec![block([-s, s], [-0.2 * s, 0.2 * s]), block([-0.3 * s, 0.3 * s], [-s, s])],
        // a yard that is closed, or has a narrow gate
        9 => {
            let gate = if dice.chance(0.5) { 0.0 } else { dice.within(0.0, 0.2) * s };
            vec![
                block([-s, s], [-s, -0.8 * s]),
                block([-s, s], [0.8 * s, s]),
                block([-s, -0.8 * s], [-0.8 * s, 0.8 * s]),
                block([0.8 * s, s], [-0.8 * s, 0.8 * s - gate]),
            ]
        }
        // over the take-off point
        10 => vec![star(dice, 6, site.take_off_m, [3.0, 20.0])],
        // over everything
        _ => {
            let far = 4.0 * reach_m;
            vec![block([-far, far], [-far, far])]
        }
    }
}

/// A circle, or one whose radius waves.
fn wavy(corners: u32, radius_m: f64, depth: f64, waves: u32) -> Vec<DVec2> {
    (0..corners)
        .map(|k| {
            let angle = TAU * f64::from(k) / f64::from(corners);
            DVec2::from_angle(angle) * radius_m * (1.0 + depth * (angle * f64::from(waves)).sin())
        })
        .collect()
}

/// A wall wound about its beginning, as thick as a share of the way between its windings.
fn spiral(corners: u32, radius_m: f64, turns: f64, thick: f64) -> Vec<DVec2> {
    let pitch_m = radius_m / (turns + 1.0);
    let at = |k: u32, aside_m: f64| {
        let angle = TAU * turns * f64::from(k) / f64::from(corners);
        DVec2::from_angle(angle) * (pitch_m * (0.5 + angle / TAU) + aside_m)
    };
    let outer = (0..=corners).map(|k| at(k, thick * pitch_m / 2.0));
    outer.chain((0..=corners).rev().map(|k| at(k, -thick * pitch_m / 2.0))).collect()
}

/// A bar with teeth.
fn comb(teeth: u32, size_m: f64, thick: f64) -> Vec<DVec2> {
    let step_m = 2.0 * size_m / f64::from(teeth);
    let mut ring = vec![DVec2::new(size_m, -size_m), DVec2::new(size_m, -0.7 * size_m)];
    for k in (0..teeth).rev() {
        let x = -size_m + f64::from(k) * step_m;
        let (low, high) = (-0.7 * size_m, size_m * (0.6 + 0.4 * (f64::from(k) * PI / 7.0).sin()));
        ring.extend(
            [(x + step_m * thick, low), (x + step_m * thick, high), (x, high), (x, low)].map(DVec2::from),
        );
    }
    ring.push(DVec2::new(-size_m, -size_m));
    ring.dedup();
    ring
}

/// Derived: a cycle that runs on past the end of a strip or of a corridor ends before the first keep-out beyond it, however
/// small that is.
#[test]
fn a_cycle_ends_before_a_keep_out() {
    let hits: Vec<(u64, Vec<String>)> =
        (0..60).map(|seed| (seed, hits(&with_small_keep_outs(seed)))).collect();
    let hits: Vec<_> = hits.into_iter().filter(|(_, hits)| !hits.is_empty()).collect();
    assert!(hits.is_empty(), "{} of 60: {hits:#?}", hits.len());
}

fn hits(scenario: &Scenario) -> Vec<String> {
    let (store, surroundings) = (Store::new(1 << 24), Surroundings::new(scenario));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let outcomes = evaluator.evaluate_all(scenario, Depth::Quick).expect("a sound scenario");
    outcomes.iter().flat_map(|outcome| surroundings.hits(outcome)).collect()
}

/// A cycled block and a cycled corridor on a site with keep-outs of some metres along its boundary.
fn with_small_keep_outs(seed: u64) -> Scenario {
    let mut scenario = generate::scenario(seed);
    let dice = &mut Dice::new(seed + 1000);
    let mut site = (*scenario.site).clone();
    site.structures.clear();
    site.keep_outs.clear();
    for k in 0..6 {
        let side = dice.whole(0, site.boundary_m.len() as u32 - 1) as usize;
        let along = site.boundary_m[side]
            .lerp(site.boundary_m[(side + 1) % site.boundary_m.len()], dice.within(0.0, 1.0));
        let (corners, at) = (dice.whole(3, 8), dice.place(along, 30.0));
        let outline_m: Vec<DVec2> = star(dice, corners, at, [2.0, 8.0]);
        if at.distance(site.take_off_m) > 8.0 {
            site.keep_outs.push(KeepOut { name: format!("Keep-out {k}"), outline_m });
        }
    }
    let line_m = site.boundary_m[..3].to_vec();
    scenario.site = Arc::new(site);
    let aircraft = &scenario.equipment.aircraft[0];
    let distance = Distance::Height { m: dice.within(60.0, 100.0), above: Above::MeanGround };
    let cycled = Template::CycledGimbal.strategy(Id(10), aircraft.id, distance);
    let choice = SiteChoice { line_m: &line_m, width_m: Some(40.0), ..SiteChoice::default() };
    let gsd_cm = &scenario.requirement.gsd_cm;
    let start = TemplateStart { first_id: Id(20), aircraft, distance, gsd_cm };
    let corridor = SiteTemplate::Corridor.strategy(&scenario.site, &choice, &start);
    let mut corridor = corridor.expect("a corridor fits every site");
    corridor.passes[0].attitudes.clone_from(&cycled.passes[0].attitudes);
    scenario.strategies = vec![cycled, corridor];
    scenario
}

/// Derived: whatever a strategy is made of, it is refused by the name of a keep-out that lies over all of it.
#[test]
fn what_lies_in_a_keep_out_is_refused_by_its_name() {
    let mut site = level_site(&[(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)]);
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 20.0)];
    with_a_deck(&mut Dice::new(7), &mut site);
    site.take_off_m = DVec2::new(-450.0, 0.0);
    let outline_m = block([-400.0, 400.0], [-400.0, 400.0]);
    site.keep_outs = vec![KeepOut { name: "Range".to_owned(), outline_m }];
    let mut scenario = scene::scenario(site, 60.0);
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].gimbal.tilt_max_deg = 180.0;
    scenario.equipment = Arc::new(equipment);
    let aircraft = &scenario.equipment.aircraft[0];
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    for template in SiteTemplate::ALL {
        let (first_id, gsd_cm) = (scenario.free_id(), &scenario.requirement.gsd_cm);
        let start = TemplateStart { first_id, aircraft, distance, gsd_cm };
        let made = template.strategy(&scenario.site, &SiteChoice::default(), &start);
        scenario.strategies.push(made.expect("it fits"));
    }
    assert_eq!(scenario.faults(), Vec::new());
    let (store, mut passes) = (Store::new(1 << 24), 0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for outcome in evaluator.evaluate_all(&scenario, Depth::Quick).expect("a sound scenario") {
        assert!(outcome.flight().is_none() && !outcome.reasons.is_empty());
        for pass in &outcome.passes {
            let error = pass.plan.as_ref().expect_err("there is no room").to_string();
            assert!(error.contains("\"Range\""), "{}: {error}", outcome.name);
            passes += 1;
        }
    }
    assert!(passes >= 15, "{passes}");
}

/// Derived: strips on both sides of a keep-out that parts the site cannot be joined, nor a route with a take-off point that
/// is walled in; both are told by name. Nobody takes off inside a structure or, however the scenario came to be, a keep-out.
#[test]
fn what_cannot_be_reached_is_refused_by_name() {
    let boundary = [(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)];
    let reasons = |change: &dyn Fn(&mut Site)| {
        let mut site = level_site(&boundary);
        site.take_off_m = DVec2::new(-150.0, -150.0);
        change(&mut site);
        let outcome = outcome(&scene::scenario(site, 60.0), 10, Depth::Quick);
        assert!(outcome.flight().is_none());
        outcome.reasons.join("; ")
    };
    let keep_out = |name: &str, x, y| KeepOut { name: name.to_owned(), outline_m: block(x, y) };
    let yard = |x: f64, y: f64, half: f64| {
        let (west, east) = ([x - half - 5.0, x - half], [x + half, x + half + 5.0]);
        let (south, north) = ([y - half - 5.0, y - half], [y + half, y + half + 5.0]);
        let (along, up) = ([x - half - 5.0, x + half + 5.0], [y - half - 5.0, y + half + 5.0]);
        vec![
            keep_out("West", west, up),
            keep_out("East", east, up),
            keep_out("South", along, south),
            keep_out("North", along, north),
        ]
    };
    let inner = reasons(&|site| site.keep_outs = yard(0.0, 0.0, 30.0));
    assert!(inner.contains("no way round") && inner.contains("th\""), "{inner}");
    let home = reasons(&|site| site.keep_outs = yard(-150.0, -150.0, 5.0));
    assert!(home.contains("no way between the take-off point") && home.contains('"'), "{home}");
    let inside = reasons(&|site| site.structures = vec![tower((-160.0, -160.0), (-140.0, -140.0), 9.0)]);
    assert_eq!(inside, "the take-off point lies inside \"Tower\"; move one of them");
    let shut = reasons(&|site| site.keep_outs = vec![keep_out("Marsh", [-160.0, -140.0], [-160.0, -140.0])]);
    assert_eq!(shut, "the take-off point lies inside \"Marsh\"; move one of them");
}

/// Derived: 3 m beside a wall with a clearance of 10 m it is taken off upright, with a caution that says so where it is.
#[test]
fn taking_off_beside_a_wall_is_cautioned() {
    let mut site = level_site(&[(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)]);
    site.structures = vec![tower((-10.0, -10.0), (10.0, 10.0), 20.0)];
    site.take_off_m = DVec2::new(13.0, 0.0);
    let mut scenario = scene::scenario(site, 60.0);
    let cautioned = |scenario: &Scenario| {
        let outcome = outcome(scenario, 10, Depth::Spread);
        let first = &outcome.flight().expect("it can be flown").legs[0].leg;
        assert_eq!((first.kind, first.from_m.truncate()), (LegKind::Climb, first.to_m.truncate()));
        outcome.cautions.into_iter().find(|caution| caution.id == "near-take-off")
    };
    let caution = cautioned(&scenario).expect("it is near");
    assert!(caution.text.contains("3 m from \"Tower\""), "{}", caution.text);
    assert!(caution.text.contains("clearance of 10 m"), "{}", caution.text);
    assert_eq!(caution.source, CautionSource::Plan);
    let at = |place: &Stretch| place.line_m.iter().all(|p| p.truncate() == DVec2::new(13.0, 0.0));
    assert!(!caution.places.is_empty() && caution.places.iter().all(at));
    scenario.conditions.clearance_m = 3.0;
    assert_eq!(cautioned(&scenario), None);
}
