//! Stations given one by one: read back from an export, checked, and flown round what is in the way.

use crate::sample;
use glam::DVec3;
use obliquity_exchange::{
    ExportTo, Replace, ViewRows, export_strategy, parse_scenario, parse_table, read_table, set_up_card,
    write_scenario,
};
use obliquity_planning::{
    Aim, Attitude, Depth, Distance, Evaluator, FlyingOrder, Id, KeepOut, Listed, ListedStation, NoWatch,
    OnSite, Outcome, Pass, Pattern, PatternKind, Scenario, Store, Strategy, Table,
};
use std::sync::Arc;

const DEMO: &str = include_str!("../../assets/demo.ron");

/// No strategy and no pass of the samples has it.
const LISTED: Id = Id(900);

fn table() -> Table {
    PatternKind::Listed.about().table.expect("stations are read from a table")
}

fn outcome(scenario: &Scenario, strategy: Id, depth: Depth) -> Outcome {
    let store = Store::new(64 << 20);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate(scenario, strategy, depth).expect("it is evaluated")
}

/// The scenario with a strategy of listed stations at its end, flown with the aircraft of another.
fn with_stations(scenario: &Scenario, like: &Strategy, stations: Vec<ListedStation>) -> Scenario {
    let mut scenario = scenario.clone();
    let look = Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } };
    let pass = Pass {
        id: Id(LISTED.0 + 1),
        pattern: Pattern::Listed(Listed { stations, clearance_m: 0.5 }),
        attitudes: vec![look],
        distance: Distance::StandOff { m: 20.0 },
        forward_overlap: 0.8,
        sidelap: 0.7,
        speed_mps: None,
        margin_m: None,
        hover_s: None,
    };
    let order = FlyingOrder::AsListed;
    let (name, aircraft) = ("Listed".to_owned(), like.aircraft);
    scenario.strategies.push(Strategy {
        id: LISTED,
        name,
        aircraft,
        passes: vec![pass],
        order,
        reported: None,
        colour: None,
        on_site: OnSite::default(),
        take_offs_m: Vec::new(),
    });
    assert_eq!(scenario.faults(), Vec::new());
    scenario
}

/// What a strategy's export lists, as it is read from the file.
fn read_back(scenario: &Scenario, flown: &Outcome) -> Vec<ListedStation> {
    let folder = tempfile::tempdir().expect("a folder");
    let to = ExportTo { folder: folder.path(), replace: Replace::Nothing, inputs: &[] };
    export_strategy(&to, scenario, flown, ViewRows::LeftOut, &NoWatch).expect("exported");
    let rows = read_table(&folder.path().join("stations.csv"), &table()).unwrap_or_else(|e| panic!("{e}"));
    let mut pattern = Pattern::Listed(Listed { stations: Vec::new(), clearance_m: 5.0 });
    (table().put)(&mut pattern, &rows);
    let Pattern::Listed(Listed { stations, .. }) = pattern else { panic!("listed stations") };
    stations
}

fn poses(outcome: &Outcome) -> Vec<[f64; 6]> {
    let poses = outcome.plans().flat_map(|plan| plan.stations.poses.iter());
    poses
        .map(|pose| {
            let at = pose.position_m;
            [at.x, at.y, at.z, pose.heading_rad, pose.tilt_rad, pose.roll_rad]
        })
        .collect()
}

/// Whatever was flown is flown again station by station: the same poses, and so the same views.
fn comes_back(scenario: &Scenario, strategy: &Strategy) {
    let which = &strategy.name;
    let flown = outcome(scenario, strategy.id, Depth::Views);
    assert!(flown.feasible(), "{which}: {:?}", flown.reasons);
    let again = with_stations(scenario, strategy, read_back(scenario, &flown));
    let listed = outcome(&again, LISTED, Depth::Views);
    assert!(listed.feasible(), "{which}: {:?}", listed.reasons);
    let (before, after) = (poses(&flown), poses(&listed));
    assert_eq!(before.len(), after.len(), "{which}");
    for (before, after) in before.iter().flatten().zip(after.iter().flatten()) {
        // degrees in the file
        assert!((before - after).abs() < 1e-12 * before.abs().max(10.0), "{which}: {before} {after}");
    }
    let views = |outcome: &Outcome| {
        let views = outcome.views.as_ref().expect("sampled");
        (views.samples.views.clone(), views.samples.covered.clone())
    };
    let ((before, covered), (after, covered_again)) = (views(&flown), views(&listed));
    let differ = before.iter().zip(&after).filter(|(a, b)| a != b).count();
    // A sample right on a limit may fall to either side by the last bit of a heading.
    assert!(differ * 10_000 <= before.len(), "{which}: {differ} of {}", before.len());
    let differ = covered.iter().zip(&covered_again).filter(|(a, b)| a != b).count();
    assert!(differ * 10_000 <= covered.len(), "{which}: {differ} of {} covered", covered.len());
}

/// Derived: an export lists every station, so that the list is the strategy again.
#[test]
fn the_demos_strategies_come_back_from_their_exports() {
    let scenario = parse_scenario(DEMO, "demo.ron").expect("the demo opens");
    for strategy in &scenario.strategies {
        comes_back(&scenario, strategy);
    }
}

/// Derived: the blur on what comes nearest in a frame bounds a list as it bounds the block that it was read from.
#[test]
fn roofs_below_bound_the_speed_of_a_list() {
    let scenario = parse_scenario(DEMO, "demo.ron").expect("the demo opens");
    let strategy = &scenario.strategies[0];
    let block = outcome(&scenario, strategy.id, Depth::Views);
    let mut again = with_stations(&scenario, strategy, read_back(&scenario, &block));
    again.strategies.last_mut().expect("listed").passes[0].distance = strategy.passes[0].distance;
    let listed = outcome(&again, LISTED, Depth::Quick);
    let speed = |outcome: &Outcome| outcome.passes[0].laid().expect("laid out").speed.clone();
    let (of_block, of_list) = (speed(&block), speed(&listed));
    assert_eq!(of_list.bound_by, obliquity_planning::SpeedBound::Blur);
    assert_eq!(of_list.blur_on, of_block.blur_on);
    // A block takes the roof to lie anywhere; a list looks for it in its frames.
    let ratio = of_list.speed_mps / of_block.speed_mps;
    assert!((1.0 - 1e-6..1.02).contains(&ratio), "{ratio}");
}

/// Derived: as above, of corridors, rings, rows and an underside, with detours between them.
#[test]
fn every_pattern_comes_back_from_its_export() {
    let mut scenario = sample::with_every_pattern();
    let all = scenario.strategies[0].clone();
    for (k, pass) in all.passes.iter().enumerate() {
        scenario.strategies[0].passes = vec![pass.clone()];
        scenario.strategies[0].name = format!("pass {}", k + 1);
        if outcome(&scenario, all.id, Depth::Quick).feasible() {
            comes_back(&scenario, &scenario.strategies[0]);
        } else {
            assert!(k > 3, "{:?}", outcome(&scenario, all.id, Depth::Quick).reasons);
        }
    }
}

fn station(x: f64, y: f64, z: f64) -> ListedStation {
    (x, y, z, 30.0, 20.0, 0.0).into()
}

/// An empty yard 200 m by 150 m with a keep-out in its middle.
fn yard() -> Scenario {
    let mut scenario = sample::scenario();
    let site = Arc::make_mut(&mut scenario.site);
    site.structures.clear();
    let corners = |low: f64, high: f64| [(low, low), (high, low), (high, high), (low, high)];
    let outline_m = corners(60.0, 90.0).map(glam::DVec2::from).to_vec();
    site.keep_outs = vec![KeepOut { name: "Mast".to_owned(), outline_m }];
    scenario
}

fn flown(scenario: &Scenario, stations: &[ListedStation]) -> Outcome {
    let like = scenario.strategies[0].clone();
    outcome(&with_stations(scenario, &like, stations.to_vec()), LISTED, Depth::Quick)
}

fn ground_m(scenario: &Scenario, x: f64, y: f64) -> f64 {
    scenario.site.terrain.height_m(glam::DVec2::new(x, y))
}

/// Derived: the straight way from station to station leads through the keep-out; the way flown does not.
#[test]
fn what_is_in_the_way_is_flown_round() {
    let scenario = yard();
    let z = ground_m(&scenario, 75.0, 75.0) + 40.0;
    let stations = [station(40.0, 75.0, z), station(110.0, 75.0, z), station(120.0, 75.0, z)];
    let outcome = flown(&scenario, &stations);
    assert!(outcome.feasible(), "{:?}", outcome.reasons);
    let plan = outcome.passes[0].laid().expect("laid out");
    assert_eq!(plan.stations.poses.len(), 3);
    let straight_m = 80.0;
    let length_m: f64 = plan.legs.iter().map(obliquity_planning::Leg::length_m).sum();
    assert!(length_m > straight_m + 1.0, "{length_m} m");
    let inside = |p: DVec3| (60.1..89.9).contains(&p.x) && (60.1..89.9).contains(&p.y);
    for leg in &plan.legs {
        for (a, b) in leg.pieces_m() {
            assert!((0..=100).all(|k| !inside(a.lerp(b, f64::from(k) / 100.0))), "{a} {b}");
        }
    }
    let taken: Vec<u32> =
        plan.legs.iter().flat_map(|leg| leg.stops.iter().map(|stop| stop.station)).collect();
    assert_eq!(taken, [0, 1, 2], "in their order");
}

/// Derived: every station has its place, so that no distance is keyed in; how high they are is told.
#[test]
fn the_card_asks_for_no_distance() {
    let scenario = yard();
    let z = ground_m(&scenario, 20.0, 20.0) + 40.0;
    let like = scenario.strategies[0].clone();
    let scenario = with_stations(&scenario, &like, vec![station(10.0, 20.0, z), station(20.0, 20.0, z)]);
    let card = set_up_card(&scenario, &outcome(&scenario, LISTED, Depth::Quick));
    assert!(card.contains("\n  heights ") && !card.contains("\n  stand-off "), "{card}");
}

/// Derived: a station lies in a keep-out, too low or in a structure.
#[test]
fn stations_that_nobody_can_be_at_are_told_by_number() {
    let scenario = yard();
    let z = |x: f64, y: f64| ground_m(&scenario, x, y);
    let free = station(10.0, 10.0, z(10.0, 10.0) + 40.0);
    let reason = |scenario: &Scenario, second: ListedStation| {
        let outcome = flown(scenario, &[free, second]);
        assert!(!outcome.feasible());
        outcome.reasons.join("; ")
    };
    let told = reason(&scenario, station(75.0, 75.0, z(75.0, 75.0) + 40.0));
    assert!(told.contains("station 2 enters the keep-out \"Mast\""), "{told}");
    let told = reason(&scenario, station(30.0, 30.0, z(30.0, 30.0) + 0.5));
    assert!(told.contains("station 2 comes to 0.5 m above the ground"), "{told}");
    let built = sample::scenario();
    let structure = &built.site.structures[0];
    let middle = obliquity_planning::polygon::centroid_m(&structure.footprint_m);
    let told = reason(&built, station(middle.x, middle.y, ground_m(&built, middle.x, middle.y) + 2.0));
    assert!(told.contains(&format!("to \"{}\"", structure.name)), "{told}");
}

/// Derived: the aircraft comes to rest where a line turns sharply, and nowhere on one that bends a little.
#[test]
fn lines_are_flown_without_stopping_and_corners_are_not() {
    let scenario = yard();
    let z = ground_m(&scenario, 0.0, 0.0) + 60.0;
    let legs = |places: &[(f64, f64)]| {
        let stations: Vec<_> = places.iter().map(|(x, y)| (*x, *y, z, 0.0, 0.0, 0.0).into()).collect();
        let outcome = flown(&scenario, &stations);
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        outcome.passes[0].laid().expect("laid out").layout.strips
    };
    assert_eq!(legs(&[(0.0, 0.0), (0.0, 10.0), (0.0, 20.0), (2.0, 30.0)]), 1);
    assert_eq!(legs(&[(0.0, 0.0), (0.0, 10.0), (10.0, 10.0), (20.0, 10.0)]), 2);
    assert_eq!(legs(&[(0.0, 0.0), (10.0, 10.0), (0.0, 20.0), (10.0, 30.0)]), 2);
    assert_eq!(
        legs(&[(0.0, 0.0), (0.0, 10.0), (0.0, 10.0), (0.0, 20.0)]),
        2,
        "at rest between the two at one place"
    );
    assert_eq!(legs(&[(5.0, 5.0)]), 1);
}

/// Derived: an aircraft that stops to expose takes several looks at one place.
#[test]
fn several_looks_at_one_place_are_one_line_where_it_stops_to_expose() {
    let scenario = yard();
    let z = ground_m(&scenario, 0.0, 0.0) + 60.0;
    let like = scenario.strategies[0].clone();
    let looks = |y: f64| [-20.0, 0.0, 20.0].map(|deg: f64| (0.0, y, z, deg, 45.0, 0.0).into());
    let stations = [looks(0.0), looks(20.0), looks(40.0)].concat();
    let mut listed = with_stations(&scenario, &like, stations);
    let legs = |scenario: &Scenario| {
        let outcome = outcome(scenario, LISTED, Depth::Quick);
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        let plan = outcome.passes[0].laid().expect("laid out");
        assert_eq!(plan.stations.poses.len(), 9);
        (plan.layout.strips, outcome.passes[0].flight_time_s.expect("flown"))
    };
    let (moving, _) = legs(&listed);
    assert!(moving > 1);
    listed.strategies.last_mut().expect("listed").passes[0].hover_s = Some(2.0);
    let (standing, time_s) = legs(&listed);
    assert_eq!(standing, 1);
    assert!(time_s > 3.0 * 2.0, "{time_s}");
}

#[test]
fn a_list_survives_a_round_trip_and_its_faults_have_places() {
    let scenario = yard();
    let z = ground_m(&scenario, 0.0, 0.0) + 40.25;
    let like = scenario.strategies[0].clone();
    let listed = with_stations(&scenario, &like, vec![station(1.5, -2.0, z), station(9.0, 1e-3, z)]);
    let text = write_scenario(&listed);
    assert_eq!(parse_scenario(&text, "again.ron").unwrap_or_else(|e| panic!("{e}")), listed);
    let wrong = text.replace("(9.0, 0.001,", "(9.0, 90001.0,");
    let line = wrong.lines().position(|line| line.contains("90001.0")).expect("it is there") + 1;
    let told = parse_scenario(&wrong, "list.ron").expect_err("too far").to_string();
    assert!(told.starts_with(&format!("list.ron:{line}:")), "{told}");
    assert!(told.contains("coordinate must be at least -20000"), "{told}");
    let mut empty = listed.clone();
    let pass = &mut empty.strategies.last_mut().expect("listed").passes[0];
    pass.pattern = Pattern::Listed(Listed { stations: Vec::new(), clearance_m: 5.0 });
    assert!(empty.faults()[0].message.contains("at least one station"));
}

/// Derived: by hand; a list without rolls is level.
#[test]
fn stations_are_read_by_their_columns() {
    let head = "x_m,y_m,z_m,heading_deg,tilt_deg";
    let rows = parse_table(&format!("{head}\n1,2,3,90,45\n"), "s.csv", &table()).expect("read");
    assert_eq!(rows, [[1.0, 2.0, 3.0, 90.0, 45.0, 0.0]]);
    let told =
        parse_table("x_m,y_m,z_m,tilt_deg\n1,2,3,4", "s.csv", &table()).expect_err("no heading").to_string();
    assert!(told.contains("\"heading_deg\" is missing"), "{told}");
    let told =
        parse_table(&format!("{head}\n1,2,3,north,45\n"), "s.csv", &table()).expect_err("north").to_string();
    assert!(told.starts_with("s.csv:2:7: heading_deg must be a number"), "{told}");
}
