//! Several take-off points: sorties start where the pilot sees the most of them, and the crew moves between.

use crate::generate::{Dice, scenario, take_offs};
use crate::scene;
use crate::transform::{mirrored, moved, site_of, turned};
use glam::DVec2;
use obliquity_planning::*;

const SEEDS: u64 = 40;

fn told(scenario: &Scenario, id: Id) -> Outcome {
    let store = Store::new(64 << 20);
    Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, id, Depth::Spread).expect("a sound site")
}

/// A drawn scenario whose pilots see less far than most sites are wide, all strategies with further take-off points, and what
/// it is without them.
fn drawn(seed: u64) -> (Scenario, Scenario) {
    let mut dice = Dice::new(4000 + seed);
    let mut alone = scenario(seed);
    alone.conditions.pilot_distance_m = dice.within(60.0, 250.0);
    alone.conditions.move_min = dice.within(1.0, 30.0);
    let mut several = alone.clone();
    for strategy in &mut several.strategies {
        strategy.take_offs_m = take_offs(&mut dice, &alone.site);
    }
    alone.strategies.iter_mut().for_each(|strategy| strategy.take_offs_m.clear());
    assert_eq!(several.faults(), Vec::new(), "seed {seed}");
    (several, alone)
}

/// What a flight comes to, whatever its take-off points are numbered.
fn figures(outcome: &Outcome) -> Option<(Flight, TimeTerms, Vec<Caution>)> {
    let timing = outcome.timing.as_ref()?;
    let mut flight = (*timing.flight).clone();
    flight.take_offs_m.clear();
    flight.sorties.iter_mut().for_each(|sortie| sortie.home = 0);
    flight.reaches_m.retain(|reach_m| *reach_m != DVec2::ZERO);
    flight.reaches_m.sort_by(|a, b| a.length().total_cmp(&b.length()).then(a.x.total_cmp(&b.x)));
    let mut cautions = outcome.cautions.clone();
    cautions.retain(|caution| caution.id != "take-off-unused");
    for caution in &mut cautions {
        for number in 2..10 {
            caution.text =
                caution.text.replace(&format!(" at take-off point {number} "), " at one of them ").into();
        }
        // What is advised knows whether one was added, even if nothing starts there.
        for added in ["move or add a take-off point", "add a take-off point"] {
            caution.text = caution.text.replace(added, "move one of the take-off points").into();
        }
    }
    Some((flight, timing.time, cautions))
}

/// Every strategy of the drawn scenarios, with and without further take-off points.
fn each(mut held: impl FnMut(&Scenario, &Outcome, &Outcome, u64)) {
    let mut moved = 0;
    for seed in 0..SEEDS {
        let (several, alone) = drawn(seed);
        for strategy in &several.strategies {
            let (with, without) = (told(&several, strategy.id), told(&alone, strategy.id));
            moved += with.flight().map_or(0, Flight::moves);
            held(&several, &with, &without, seed);
        }
    }
    assert!(moved > 20, "the crew moves {moved} times only");
}

/// Derived: a place that is listed already is nothing new, be it the site's own or a further one.
#[test]
fn a_take_off_point_listed_twice_changes_nothing() {
    each(|several, with, without, seed| {
        let index = several.strategies.iter().position(|s| s.id == with.strategy).expect("a strategy");
        let changed = |change: &dyn Fn(&mut Vec<DVec2>)| {
            let mut otherwise = several.clone();
            change(&mut otherwise.strategies[index].take_offs_m);
            figures(&told(&otherwise, with.strategy))
        };
        let own_m = several.site.take_off_m;
        assert!(changed(&|list| *list = vec![own_m, own_m]) == figures(without), "seed {seed}");
        assert!(changed(&|list| list.extend_from_within(..)) == figures(with), "seed {seed}");
    });
}

/// Derived: places have no rank.
#[test]
fn the_order_of_take_off_points_changes_nothing() {
    each(|several, with, _, seed| {
        let mut otherwise = several.clone();
        otherwise.strategies.iter_mut().for_each(|strategy| strategy.take_offs_m.reverse());
        assert!(figures(&told(&otherwise, with.strategy)) == figures(with), "seed {seed}");
    });
}

/// Derived: the frame decides nothing, with pilots who see less far as well. The tolerance is that of sums of some thousand
/// terms in coordinates of kilometres.
#[test]
fn the_frame_chooses_no_take_off_point() {
    each(|several, with, _, seed| {
        let Some(timing) = &with.timing else { return };
        let plane = matches!(several.site.terrain, Terrain::Plane { .. });
        let deg = if plane { 37.0 } else { 180.0 };
        let elsewhere = [moved(several, DVec2::new(1300.0, -700.0)), turned(several, deg)];
        for otherwise in elsewhere.into_iter().chain(plane.then(|| mirrored(several))) {
            let after = told(&otherwise, with.strategy).timing.expect("can be flown as before");
            let homes =
                |timing: &Timing| timing.flight.sorties.iter().map(|sortie| sortie.home).collect::<Vec<_>>();
            assert_eq!(homes(&after), homes(timing), "seed {seed}, {}", with.name);
            let (a_s, b_s) = (timing.time.time_on_site_s(), after.time.time_on_site_s());
            assert!((a_s - b_s).abs() < 1e-6 * a_s, "seed {seed}, {}: {a_s} s and {b_s} s", with.name);
        }
    });
}

/// Metres of strips that are hidden from the pilot.
fn hidden_m(outcome: &Outcome) -> f64 {
    let Some(flight) = outcome.flight() else { return 0.0 };
    let mut flown_m = 0.0;
    let mut strips: Vec<(f64, f64)> = Vec::new();
    for flown in &flight.legs {
        let from_m = flown_m;
        flown_m += flown.leg.length_m();
        if flown.leg.kind == LegKind::Strip {
            strips.push((from_m, flown_m));
        }
    }
    let hidden = outcome.cautions.iter().filter(|caution| caution.id == "line-of-sight");
    let places = hidden.flat_map(|caution| &caution.places);
    let on_strips = |place: &Stretch| -> f64 {
        let on = |(from_m, to_m): &(f64, f64)| to_m.min(place.to.flown_m) - from_m.max(place.from.flown_m);
        strips.iter().map(on).filter(|m| *m > 0.0).sum()
    };
    places.map(on_strips).sum()
}

/// Derived: a strip is flown from elsewhere only where no more of it is hidden, and never from farther off than the route is
/// from the site's own take-off point. A strip that is split into sorties elsewhere is looked at in other places, 10 m apart:
/// 20 m.
#[test]
fn a_further_take_off_point_makes_nothing_worse() {
    each(|_, with, without, seed| {
        let at = || format!("seed {seed}, {}", with.name);
        let Some(before) = without.flight() else { return };
        assert_eq!(with.reasons, Vec::<String>::new(), "{}", at());
        let flight = with.flight().expect("can be flown as before");
        assert!(flight.farthest_m <= before.farthest_m + 1e-6, "{}", at());
        let [then_m, before_m] = [with, without].map(hidden_m);
        assert!(then_m <= before_m + 20.0, "{}: {before_m} m, then {then_m} m are hidden", at());
    });
}

/// Derived: a sortie is flown from its take-off point and back to it.
#[test]
fn every_sortie_starts_and_lands_at_its_take_off_point() {
    each(|several, with, _, seed| {
        let Some(flight) = with.flight() else { return };
        let strategy = several.strategy(with.strategy).expect("a strategy");
        let places: Vec<DVec2> = flight.take_offs_m.iter().map(|at| at.truncate()).collect();
        assert_eq!(places, several.take_offs_m(strategy), "seed {seed}");
        for sortie in 0..flight.sorties.len() as u32 {
            let own: Vec<&FlownLeg> = flight.legs.iter().filter(|flown| flown.sortie == sortie).collect();
            let ends = [own[0].leg.from_m, own[own.len() - 1].leg.to_m];
            assert_eq!(ends, [flight.take_off_of_m(sortie); 2], "seed {seed}, sortie {sortie}");
        }
    });
}

/// Derived: a move takes what it is said to take, each time, and nothing else changes with it.
#[test]
fn moving_costs_as_many_times_what_one_move_takes() {
    each(|several, with, _, seed| {
        let Some(timing) = &with.timing else { return };
        let mut slower = several.clone();
        slower.conditions.move_min += 7.0;
        let after = told(&slower, with.strategy).timing.expect("can be flown as before");
        assert!(after.flight.legs == timing.flight.legs, "seed {seed}");
        let moves = f64::from(timing.flight.moves());
        // sums of numbers of some thousand seconds
        let near = |a: f64, b: f64| (a - b).abs() < 1e-8;
        assert!(near(timing.time.moves_s, moves * several.conditions.move_min * 60.0), "seed {seed}");
        let longer_s = after.time.time_on_site_s() - timing.time.time_on_site_s();
        assert!(near(longer_s, moves * 420.0), "seed {seed}: {longer_s} s for {moves} moves");
    });
}

/// Derived: the crew's clock has a stretch for each move, before the sortie that starts elsewhere; meanwhile the aircraft is
/// on its way there.
#[test]
fn the_stay_shows_every_move() {
    each(|_, with, _, seed| {
        let Some(timing) = &with.timing else { return };
        let (stay, flight) = (timing.stay(), &timing.flight);
        let moves: Vec<(u32, &StaySpan)> = stay
            .spans
            .iter()
            .filter_map(|span| match span.doing {
                Doing::Move { before } => Some((before, span)),
                _ => None,
            })
            .collect();
        assert_eq!(moves.len(), flight.moves() as usize, "seed {seed}");
        assert!((stay.end_s() - timing.time.time_on_site_s()).abs() < 1e-6, "seed {seed}");
        for (before, span) in moves {
            let ends = [before - 1, before].map(|sortie| flight.take_off_of_m(sortie));
            let at_m = |share: f64| {
                timing
                    .moment(&stay, span.from_s + share * (span.to_s - span.from_s))
                    .expect("in the stay")
                    .at_m
            };
            assert!(at_m(0.5).distance(ends[0].midpoint(ends[1])) < 1e-6, "seed {seed}");
            assert_eq!(at_m(1.0), ends[1], "seed {seed}: where the next thing begins");
        }
    });
}

/// A site 500 m wide with a slab of a building across the middle of it.
fn divided() -> Scenario {
    let mut site = scene::level_site(&[(0.0, 0.0), (500.0, 0.0), (500.0, 240.0), (0.0, 240.0)]);
    site.take_off_m = DVec2::new(-10.0, 120.0);
    site.structures = vec![scene::tower((240.0, 20.0), (260.0, 220.0), 45.0)];
    let mut scenario = scene::scenario(site, 60.0);
    scenario.strategies.truncate(1);
    scenario.conditions.pilot_distance_m = 300.0;
    scenario.strategies[0].passes[0].margin_m = Some(0.0);
    let Pattern::Strips(strips) = &mut scenario.strategies[0].passes[0].pattern else { panic!("a block") };
    strips.direction = StripDirection::FromNorth { deg: 0.0 };
    scenario
}

fn is_told(outcome: &Outcome, id: &str) -> bool {
    outcome.cautions.iter().any(|caution| caution.id == id)
}

/// Derived: at 60 m behind a slab of 45 m whose face is 250 m away, everything is hidden beyond 250 × 58.3 / 43.3 = 337 m;
/// from the other side it is the other half. One move mends both what is hidden and what is too far off.
#[test]
fn a_second_take_off_point_mends_a_wide_site() {
    let mut scenario = divided();
    let before = told(&scenario, Id(10));
    assert!(is_told(&before, "line-of-sight") && is_told(&before, "pilot-distance"));
    scenario.strategies[0].take_offs_m = vec![DVec2::new(510.0, 120.0)];
    let after = told(&scenario, Id(10));
    assert!(!is_told(&after, "line-of-sight") && !is_told(&after, "pilot-distance"));
    let flight = after.flight().expect("can be flown");
    assert_eq!(flight.moves(), 1);
    assert!(flight.farthest_m < 300.0, "{}", flight.farthest_m);
    let homes: Vec<u32> = flight.sorties.iter().map(|sortie| sortie.home).collect();
    assert!(homes.is_sorted() && homes.contains(&0) && homes.contains(&1), "{homes:?}");
}

/// Derived: nobody who has added a take-off point, be it of use or not, is told to add one: what is hidden or too far off still
/// asks for another place of them.
#[test]
fn one_that_was_added_is_not_advised_once_more() {
    let mut scenario = divided();
    let advised = |scenario: &Scenario| -> Vec<String> {
        let outcome = told(scenario, Id(10));
        let of_sight = |c: &&Caution| ["line-of-sight", "pilot-distance"].contains(&c.id);
        outcome.cautions.iter().filter(of_sight).map(|caution| caution.text.to_string()).collect()
    };
    let before = advised(&scenario);
    assert!(
        before.len() == 2 && before.iter().all(|text| text.contains("add a take-off point")),
        "{before:?}"
    );
    // One from which a part is hidden and too far off as before, and one that no sortie starts at.
    scenario.conditions.pilot_distance_m = 240.0;
    for at_m in [DVec2::new(250.0, -60.0), DVec2::new(-600.0, 120.0)] {
        scenario.strategies[0].take_offs_m = vec![at_m];
        let after = advised(&scenario);
        assert!(!after.is_empty(), "nothing is hidden or too far off from {at_m}");
        for text in after {
            assert!(text.contains("move one of the take-off points") && !text.contains("add a"), "{text}");
        }
    }
}

/// Derived: where everything is seen from the site's own take-off point nobody moves, however near another one is.
#[test]
fn nobody_moves_without_need() {
    let mut scenario = divided();
    site_of(&mut scenario).structures.clear();
    scenario.conditions.pilot_distance_m = 600.0;
    let before = figures(&told(&scenario, Id(10)));
    scenario.strategies[0].take_offs_m = vec![DVec2::new(250.0, 120.0), DVec2::new(510.0, 120.0)];
    assert_eq!(figures(&told(&scenario, Id(10))), before);
}

/// Derived: what is farther off than any of the route is from the site's own take-off point is never used, nor is a place that
/// no battery reaches the route from.
#[test]
fn take_off_points_out_of_reach_are_left_out() {
    let mut scenario = divided();
    let before = figures(&told(&scenario, Id(10)));
    scenario.strategies[0].take_offs_m =
        [(9000.0, 120.0), (250.0, -9000.0), (-10_000.0, -10_000.0)].map(DVec2::from).to_vec();
    assert_eq!(figures(&told(&scenario, Id(10))), before);
}

/// Derived: from the site's own point all is seen, so that no other is used, and that is said with its number; a place
/// that stands in the list twice is one, and one that sorties start at is not told of.
#[test]
fn a_take_off_point_that_nothing_is_flown_from_is_told() {
    let unused = |places: &[(f64, f64)], sees_all: bool| {
        let mut scenario = divided();
        if sees_all {
            site_of(&mut scenario).structures.clear();
            scenario.conditions.pilot_distance_m = 600.0;
        }
        scenario.strategies[0].take_offs_m = scene::ring(places);
        let outcome = told(&scenario, Id(10));
        let caution = outcome.cautions.into_iter().find(|caution| caution.id == "take-off-unused")?;
        assert_eq!(caution.severity, Severity::Reminder);
        Some((caution.text, caution.gauge.expect("how many").worse))
    };
    let (text, count) = unused(&[(250.0, -20.0), (510.0, 120.0)], true).expect("two are not used");
    assert!(text.starts_with("no sortie starts at take-off point 2 and take-off point 3: "), "{text}");
    assert_eq!(count, 2.0);
    assert_eq!(unused(&[(250.0, -20.0), (250.0, -20.0)], true).expect("one place").1, 1.0);
    assert_eq!(unused(&[(510.0, 120.0)], false), None, "both are used");
    let (text, _) = unused(&[(510.0, 120.0), (9000.0, 120.0)], false).expect("one is out of reach");
    assert!(text.starts_with("no sortie starts at take-off point 3: "), "{text}");
    assert_eq!(unused(&[], true), None);
}

/// Derived: every rule that the file is held to, with its place.
#[test]
fn what_is_wrong_with_take_off_points_is_told() {
    let mut scenario = divided();
    let outline_m = scene::ring(&[(300.0, 100.0), (340.0, 100.0), (340.0, 140.0), (300.0, 140.0)]);
    site_of(&mut scenario).keep_outs = vec![KeepOut { name: "Pond".to_owned(), outline_m }];
    let told = |places: &[(f64, f64)]| {
        let mut scenario = scenario.clone();
        scenario.strategies[0].take_offs_m = scene::ring(places);
        scenario.faults().iter().map(|fault| format!("{}: {}", fault.path, fault.message)).collect::<Vec<_>>()
    };
    assert_eq!(told(&[(0.0, -20.0), (500.0, 260.0)]), Vec::<String>::new());
    let keep_out = "strategies[0].take_offs_m[1]: take-off point 3 must lie outside every keep-out, but it lies inside \
                    \"Pond\"; move one of them";
    assert_eq!(told(&[(0.0, -20.0), (320.0, 120.0)]), [keep_out]);
    for far in [f64::NAN, f64::INFINITY, 2e6] {
        let found = told(&[(far, 0.0)]);
        assert!(
            found.len() == 1 && found[0].starts_with("strategies[0].take_offs_m[0]: take-off point 2"),
            "{found:?}"
        );
    }
    let many = told(&[(0.0, -20.0); 9]);
    assert_eq!(
        many,
        [
            "strategies[0].take_offs_m: there must be at most 8 take-off points of a strategy besides the site's, but there \
          are 9; leave some out"
        ]
    );
}

/// Derived: nobody takes off inside a building.
#[test]
fn a_take_off_point_inside_a_building_is_refused() {
    let mut scenario = divided();
    scenario.strategies[0].take_offs_m = vec![DVec2::new(250.0, 120.0)];
    let outcome = told(&scenario, Id(10));
    assert_eq!(outcome.reasons, ["take-off point 2 lies inside \"Tower\"; move one of them"]);
}

/// Derived: places at the edge of what is accepted are flown from, or left out: eight of them, on top of each other, at
/// corners of what stands, and as far off as may be.
#[test]
fn take_off_points_at_the_edge_of_what_is_accepted_stop_nothing() {
    let edge = limits::COORDINATE_M.most;
    let lists: [Vec<DVec2>; 4] = [
        vec![DVec2::new(-10.0, 120.0); 8],
        scene::ring(&[(240.0, 20.0), (260.0, 20.0), (260.0, 220.0), (240.0, 220.0), (240.0, 120.0)]),
        scene::ring(&[(edge, edge), (-edge, edge), (edge, -edge), (-edge, -edge), (0.0, edge), (edge, 0.0)]),
        (0..8).map(|k| DVec2::new(510.0 + 1e-9 * f64::from(k), 120.0)).collect(),
    ];
    for take_offs_m in lists {
        let mut scenario = divided();
        scenario.strategies[0].take_offs_m = take_offs_m;
        assert_eq!(scenario.faults(), Vec::new());
        let outcome = told(&scenario, Id(10));
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
    }
}
