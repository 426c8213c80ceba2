//! What is cautioned, where on the route, and by which rule.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::generate;
use crate::scene::{level_site, outcome, scenario, tower};
use crate::terrain::grid;
use glam::DVec2;
use obliquity_planning::rules::{eu, us};
use obliquity_planning::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

fn caution<'a>(outcome: &'a Outcome, id: &str) -> Option<&'a Caution> {
    outcome.cautions.iter().find(|caution| caution.id == id)
}

/// One pass along a line at a height above the mean ground, in strategy 10.
fn along(site: Site, line: [(f64, f64); 2], height_m: f64) -> Scenario {
    let mut scenario = scenario(site, height_m);
    let pass = &mut scenario.strategies[0].passes[0];
    pass.pattern = Pattern::Corridor(Corridor {
        line_m: line.map(DVec2::from).to_vec(),
        width_m: 1.0,
        counting: CountingRule::default(),
    });
    scenario.conditions.pilot_distance_m = 5000.0;
    scenario
}

fn field() -> Site {
    level_site(&[(-400.0, -400.0), (400.0, -400.0), (400.0, 400.0), (-400.0, 400.0)])
}

/// With what is found along the route.
fn told(scenario: &Scenario) -> Outcome {
    outcome(scenario, 10, Depth::Spread)
}

/// Source: 14 CFR 107.51 (400 ft, 87 knots, 500 ft, 2000 ft, 3 statute miles); Regulation (EU) 2019/947 Art. 4(1) and
/// UAS.OPEN.040. Memory: UAS.OPEN.010. Conversions: foot 0.3048 m, knot 1852 m an hour, mile 5280 ft, all exact.
#[test]
fn the_rules_figures_are_those_of_the_rules() {
    let exact = 1e-9; // rounding
    for (value, expected) in [
        (us::HEIGHT_M, 121.92),
        (us::STRUCTURE_RADIUS_M, 121.92),
        (us::ABOVE_STRUCTURE_M, 121.92),
        (us::BELOW_CLOUD_M, 152.4),
        (us::BESIDE_CLOUD_M, 609.6),
        (us::VISIBILITY_M, 4828.032),
        (eu::HEIGHT_M, 120.0),
        (eu::MASS_KG, 25.0),
        (eu::AREAS_M, 150.0),
        (eu::TALL_OBSTACLE_M, 105.0),
        (eu::OBSTACLE_RADIUS_M, 50.0),
        (eu::ABOVE_OBSTACLE_M, 15.0),
    ] {
        assert!((value - expected).abs() < exact, "{value} {expected}");
    }
    assert!((us::SPEED_MPS - 44.7567).abs() < 5e-5, "printed to four decimals");
    let hundred_miles_mps = 100.0 * exact::STATUTE_MILE_M / 3600.0;
    assert!((hundred_miles_mps - 44.704).abs() < exact && hundred_miles_mps < us::SPEED_MPS);
}

/// Source: 14 CFR 107.51: above 400 ft only within a 400-ft radius of a structure, and not more than 400 ft above its
/// uppermost limit. A tower of 60 m: 181.92 m at most. From 131.92 m beside it, 10 m beyond the radius, nothing is allowed.
#[test]
fn near_a_structure_the_american_height_is_above_its_top() {
    let over = |east_m: f64, height_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(east_m, -20.0);
        site.structures = vec![tower((-10.0, -5.0), (10.0, 5.0), 60.0)];
        let mut scenario = along(site, [(east_m, -15.0), (east_m, 15.0)], height_m);
        scenario.conditions.height_rule = HeightRule::UsPart107;
        told(&scenario)
    };
    let severity = |outcome: &Outcome| caution(outcome, "height-limit").unwrap().severity;
    let within = over(30.0, 181.0);
    assert_eq!(severity(&within), Severity::Reminder);
    assert!(caution(&within, "height-limit").unwrap().text.contains("(\"Tower\")"));
    assert_eq!(severity(&over(30.0, 182.5)), Severity::Limit);
    let beside = over(10.0 + 131.92, 130.0);
    let beyond = caution(&beside, "height-limit").unwrap();
    assert_eq!((beyond.severity, beyond.source), (Severity::Limit, CautionSource::Rule(us::LIMITS)));
    // the place: from where the climb passes 121.92 m to where the descent does, looked at every 10 m
    let place = &beyond.places[0];
    assert!(place.line_m.iter().all(|p| p.z > us::HEIGHT_M), "{place:?}");
    assert!(place.length_m() > 20.0, "{place:?}");
    assert_eq!(severity(&over(10.0 + 131.92, 121.0)), Severity::Reminder);
}

/// Source: Regulation (EU) 2019/947 Art. 4(1): 120 m. Memory: UAS.OPEN.010 on obstacles taller than 105 m, which is told
/// and does not move the limit.
#[test]
fn tall_obstacles_are_told_and_the_european_limit_stays() {
    let told = |tall_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(30.0, -20.0);
        site.structures = vec![tower((-10.0, -5.0), (10.0, 5.0), tall_m)];
        let outcome = told(&along(site, [(30.0, -15.0), (30.0, 15.0)], 121.0));
        assert_eq!(caution(&outcome, "height-limit").unwrap().severity, Severity::Limit);
        caution(&outcome, "tall-obstacle").map(|caution| caution.source)
    };
    assert_eq!(told(106.0), Some(CautionSource::Rule(eu::OBSTACLE)));
    assert_eq!(told(104.0), None);
}

/// Derived: a wall of 40 m whose near face is 50 m away hides what is 200 m away up to 1.7 + (40 − 1.7) × 200/50 =
/// 154.9 m; a ridge of 40 m at 50 m likewise. Not hidden: above it, or where the wall does not reach.
#[test]
fn what_stands_between_pilot_and_aircraft_hides_it() {
    let mut walled = field();
    walled.take_off_m = DVec2::ZERO;
    walled.structures = vec![tower((50.0, -100.0), (60.0, 100.0), 40.0)];
    let mut ridged = field();
    ridged.take_off_m = DVec2::ZERO;
    ridged.terrain = grid(500.0, 5.0, |at| (40.0 - 8.0 * (at.x - 50.0).abs()).max(0.0));
    for (site, behind) in [(walled, "\"Tower\""), (ridged, "the ground")] {
        let reference_m = SiteOutline::new(&site).unwrap().reference_z_m;
        let at = |height_m: f64| {
            let scenario = along(site.clone(), [(200.0, -150.0), (200.0, 150.0)], height_m - reference_m);
            told(&scenario)
        };
        let low = at(154.0);
        let hidden = caution(&low, "line-of-sight").unwrap();
        assert_eq!((hidden.severity, hidden.source), (Severity::Check, CautionSource::Rule(eu::OPEN)));
        assert!(hidden.text.contains(&format!("behind {behind}")), "{}", hidden.text);
        // the strip is hidden from end to end: 300 m and its margins
        let longest = &hidden.places[0];
        assert!(longest.length_m() >= 300.0 && longest.pass.is_some(), "{longest:?}");
        assert!((longest.from.position_m.x - 200.0).abs() < 30.0, "{longest:?}");
        // the strip itself is in sight; the margins of the way there and back may be not
        let high = at(156.0);
        let places = caution(&high, "line-of-sight").map_or(&[][..], |caution| &caution.places);
        assert!(places.iter().all(|place| place.line_m.iter().all(|p| p.z < 155.0)), "{places:?}");
    }
    let mut aside = field();
    aside.take_off_m = DVec2::ZERO;
    aside.structures = vec![tower((50.0, 110.0), (60.0, 300.0), 40.0)];
    let open = told(&along(aside, [(-200.0, -150.0), (-200.0, 150.0)], 60.0));
    assert!(caution(&open, "line-of-sight").is_none());
}

/// Derived: a strip of 300 m, 200 m away: beyond 220 m from the pilot at both ends, √(220² − 200²) = 91.65 m from the
/// middle. Reason for 10.1 m: looked at every 10 m.
#[test]
fn the_distance_from_the_pilot_has_a_place() {
    let mut site = field();
    site.take_off_m = DVec2::ZERO;
    let mut scenario = along(site, [(200.0, -150.0), (200.0, 150.0)], 60.0);
    scenario.conditions.pilot_distance_m = 220.0;
    let outcome = told(&scenario);
    let far = caution(&outcome, "pilot-distance").unwrap();
    assert!(!far.places.is_empty(), "{far:?}");
    for place in &far.places {
        assert!(place.line_m.iter().all(|p| p.truncate().length() > 220.0));
        let nearest_m = place.line_m.iter().map(|p| p.y.abs()).fold(f64::INFINITY, f64::min);
        assert!((91.65..91.65 + 10.1).contains(&nearest_m), "{nearest_m}");
        // the way flown grows with the clock
        assert!(place.from.flown_m < place.to.flown_m && place.from.time_s < place.to.time_s);
    }
}

/// Source: 14 CFR 107.51: 87 knots over ground, with the wind as well.
#[test]
fn the_american_speed_limit_is_over_ground() {
    let flown = |speed_mps: f64, rule: HeightRule| {
        let mut site = field();
        site.take_off_m = DVec2::new(0.0, -390.0);
        let mut scenario = along(site, [(0.0, -380.0), (0.0, 380.0)], 60.0);
        scenario.conditions.height_rule = rule;
        let aircraft = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0];
        (aircraft.camera.exposure_s, aircraft.camera.shortest_interval_s) = (1e-6, 1e-3);
        (aircraft.airframe.top_speed_mps, aircraft.airframe.acceleration_mps2) = (speed_mps, 20.0);
        let outcome = told(&scenario);
        caution(&outcome, "speed-limit").map(|caution| (caution.severity, caution.places.len()))
    };
    assert_eq!(flown(44.7, HeightRule::UsPart107), None);
    // the strip and the way back
    assert_eq!(flown(44.8, HeightRule::UsPart107), Some((Severity::Limit, 2)));
    assert_eq!(flown(60.0, HeightRule::EuOpen), None);
}

fn at_the_clock((hour, minute): (u8, u8), rule: HeightRule) -> Outcome {
    let mut site = field();
    site.origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 11.0 });
    site.take_off_m = DVec2::ZERO;
    let mut scenario = along(site, [(100.0, -150.0), (100.0, 150.0)], 60.0);
    scenario.conditions.height_rule = rule;
    scenario.conditions.mission = Some(Mission {
        date: LocalDate { year: 2025, month: 12, day: 21 },
        arrival: LocalClock { hour, minute },
        zone: SiteZone::Offset { minutes: 60 },
    });
    told(&scenario)
}

/// Source: 14 CFR 107.29 as amended in 2021. In the European open category the light is from memory, and said to be.
/// The sun sets at 16:22 there that day (within minutes), take-off is a quarter of an hour after the arrival, and stands at most 18.6° high (90° − 48° − 23.44°).
#[test]
fn night_and_twilight_ask_for_lights() {
    let ids = |outcome: &Outcome| {
        let of_light = ["twilight", "night", "low-sun"];
        let found = of_light.into_iter().filter(|id| caution(outcome, id).is_some());
        found.collect::<Vec<_>>()
    };
    let noon = at_the_clock((11, 0), HeightRule::UsPart107);
    assert_eq!(ids(&noon), ["low-sun"]);
    assert_eq!(caution(&noon, "low-sun").unwrap().source, CautionSource::Practice);
    let dusk = at_the_clock((16, 15), HeightRule::UsPart107);
    assert!(ids(&dusk).contains(&"twilight"), "{:?}", dusk.light.as_ref().unwrap().shares);
    for (id, clock) in [("twilight", (16, 15)), ("night", (20, 0))] {
        let outcome = at_the_clock(clock, HeightRule::UsPart107);
        let lights = caution(&outcome, id).unwrap();
        assert_eq!((lights.severity, lights.source), (Severity::Check, CautionSource::Rule(us::NIGHT)));
        assert!(lights.text.contains("anti-collision lighting") && lights.text.contains("3 statute miles"));
        assert!(!lights.places.is_empty());
    }
    let night = at_the_clock((20, 0), HeightRule::EuOpen);
    assert_eq!(ids(&night), ["night"], "no low sun at night");
    let lights = caution(&night, "night").unwrap();
    assert!(
        lights.text.contains("local rules") && lights.text.contains("green flashing light (from memory)")
    );
    assert!(
        (lights.places[0].length_m() - night.flight().unwrap().route_length_m).abs() < 1e-6,
        "all of it; rounding"
    );
    let unknown = told(&along(field(), [(100.0, -150.0), (100.0, 150.0)], 60.0));
    assert!(ids(&unknown).is_empty(), "nothing is said without a time");
}

/// Derived: half the light is 1 EV and twice the exposure; a fall below a third of it is not told.
#[test]
fn light_that_falls_while_flying_is_told() {
    let told = |hour: u8, minute: u8| {
        let mut site = field();
        site.origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 11.0 });
        let mut scenario = scenario(site, 60.0);
        Arc::make_mut(&mut scenario.equipment).aircraft[0].camera.metering =
            Some(Metering { f_number: 4.0, iso: 100.0, shortest_s: 1e-5 });
        scenario.conditions.light = Some(LightLevel::BySun { sky: Sky::Clear });
        scenario.conditions.mission = Some(Mission {
            date: LocalDate { year: 2025, month: 12, day: 21 },
            arrival: LocalClock { hour, minute },
            zone: SiteZone::Offset { minutes: 60 },
        });
        told(&scenario)
    };
    let outcome = told(14, 0);
    let exposure = outcome.exposure.clone().unwrap();
    let fall = exposure.ev100 - exposure.darkest_ev100.unwrap();
    assert!(fall > 1.0 / 3.0, "{fall}");
    let longest_s = exposure.exposure_s * fall.exp2();
    let expected = format!("from 1/{:.0} s to 1/{:.0} s", 1.0 / exposure.exposure_s, 1.0 / longest_s);
    let text = &caution(&outcome, "light-falls").unwrap().text;
    assert!(text.contains(&expected), "{text}: {expected}");
    assert!(caution(&told(10, 0), "light-falls").is_none(), "the sun rises until noon");
}

/// Practice: wind up to two thirds of the fastest airspeed. Derived: against a wind of 6 m/s an airspeed of 10 m/s makes
/// 4 m/s over ground.
#[test]
fn wind_near_the_limit_and_what_it_cuts() {
    let blown = |wind_mps: f64| {
        let mut site = field();
        site.take_off_m = DVec2::ZERO;
        let mut scenario = along(site, [(0.0, 10.0), (0.0, 300.0)], 60.0);
        scenario.conditions.wind = wind::Wind { speed_mps: wind_mps, from_deg: Some(0.0) };
        told(&scenario)
    };
    assert!(caution(&blown(0.0), "wind-slows").is_none() && caution(&blown(6.6), "wind-strong").is_none());
    assert_eq!(caution(&blown(6.7), "wind-strong").unwrap().severity, Severity::Check);
    let outcome = blown(6.0);
    let slowed = caution(&outcome, "wind-slows");
    let northward = outcome
        .flight()
        .unwrap()
        .legs
        .iter()
        .any(|f| f.leg.kind == LegKind::Strip && f.leg.to_m.y > f.leg.from_m.y);
    assert_eq!(slowed.is_some(), northward, "only against the wind");
    let mut both = scenario(field(), 60.0);
    both.strategies[0].passes[0].pattern = Pattern::Strips(Strips {
        direction: StripDirection::FromNorth { deg: 0.0 },
        counting: CountingRule::default(),
        begin: BeginAt::default(),
    });
    both.conditions.wind = wind::Wind { speed_mps: 6.0, from_deg: Some(0.0) };
    let outcome = told(&both);
    let slowed = caution(&outcome, "wind-slows").unwrap();
    assert!(slowed.text.contains("to 4 m/s"), "{}", slowed.text);
    let line = &slowed.places[0].line_m;
    assert!(line.last().unwrap().y > line[0].y, "against the wind: {line:?}");
}

/// Derived: sets that are charged come back, so that only the waiting is told; without chargers the place is the take-off
/// of the first sortie without a set.
#[test]
fn batteries_on_hand_chargers_and_cards() {
    let mut scenario = scenario(field(), 40.0);
    Arc::make_mut(&mut scenario.site).take_off_m = DVec2::ZERO;
    scenario.conditions.battery_sets = 2;
    scenario.conditions.card_gb = 1.0;
    let outcome = told(&scenario);
    assert!(outcome.flight().unwrap().sorties.len() > 2, "{}", outcome.flight().unwrap().sorties.len());
    let short = caution(&outcome, "batteries").unwrap();
    assert_eq!((short.source, short.places[0].from.sortie), (CautionSource::Plan, 2));
    assert_eq!(short.places[0].from.position_m.truncate(), DVec2::ZERO);
    assert!(caution(&outcome, "charger-wait").is_none() && caution(&outcome, "card-space").is_some());
    scenario.conditions.charging = Some(Charging { supply: Supply::Mains, charge_min: 60.0, at_once: 1 });
    let charged = told(&scenario);
    assert!(caution(&charged, "batteries").is_none());
    let wait = caution(&charged, "charger-wait").unwrap();
    let expected = format!("waits {:.0} min", charged.flight().unwrap().waits_s() / 60.0);
    assert!(wait.text.contains(&expected), "{}", wait.text);
    assert!(charged.flight().unwrap().sorties[wait.places[0].from.sortie as usize].wait_s > 0.0);
}

/// Derived: a battery that cannot carry the shortest sortie leaves nothing to be flown, and nothing to be cautioned of.
/// Practice: a reserve of 20 % and more.
#[test]
fn a_battery_too_small_is_refused_and_a_small_reserve_cautioned() {
    let mut scenario = along(field(), [(300.0, -150.0), (300.0, 150.0)], 60.0);
    let airframe = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe;
    (airframe.endurance_min, airframe.reserve) = (2.0, 0.15);
    let outcome = told(&scenario);
    assert!(outcome.reasons[0].contains("too short to reach the route"), "{:?}", outcome.reasons);
    assert_eq!(outcome.cautions, Vec::new());
    Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe.endurance_min = 40.0;
    let outcome = told(&scenario);
    assert!(outcome.feasible());
    assert_eq!(caution(&outcome, "reserve").unwrap().source, CautionSource::Practice);
}

/// Derived: bands of sorties against the sets on hand.
#[test]
fn bands_say_when_one_draw_in_ten_needs_another_set() {
    let band = |p90: f64| Band { p10: 2.0, p50: 2.0, p90 };
    let bands = |p90: f64| Bands {
        flight_s: band(p90),
        time_on_site_s: band(p90),
        sorties: band(p90),
        energy_j: band(p90),
        fullest_ratio: 1.0,
        out_of_reach: 0,
        causes: Vec::new(),
    };
    let mut conditions = Conditions { battery_sets: 2, ..Conditions::default() };
    assert_eq!(bands(2.0).caution(&conditions, 2), None);
    let told = bands(3.0).caution(&conditions, 2).unwrap();
    assert!(told.text.contains("needs 3 battery sets, 2 on hand"), "{}", told.text);
    assert_eq!(told.gauge.map(|gauge| (gauge.worse, gauge.text)), Some((3.0, "3 sets".into())));
    let unreached = Bands { out_of_reach: 40, ..bands(2.0) }.out_of_reach_caution().unwrap();
    assert_eq!(unreached.gauge.map(|gauge| (gauge.worse, gauge.text)), Some((40.0, "40 draws".into())));
    assert_eq!(bands(3.0).caution(&conditions, 3), None, "the plan itself says so already");
    conditions.charging = Some(Charging { supply: Supply::Mains, charge_min: 60.0, at_once: 1 });
    assert_eq!(bands(3.0).caution(&conditions, 2), None);
}

/// Derived: a line along x = 0 crosses a shed from y = −5 to 5 and misses the other.
#[test]
fn structures_flown_over_are_named_with_the_place() {
    let mut site = field();
    site.take_off_m = DVec2::new(0.0, -60.0);
    let mut missed = tower((200.0, -5.0), (210.0, 5.0), 10.0);
    (missed.id, missed.name) = (Id(2), "Far".to_owned());
    site.structures = vec![tower((-10.0, -5.0), (10.0, 5.0), 10.0), missed];
    let outcome = told(&along(site, [(0.0, -50.0), (0.0, 50.0)], 60.0));
    let over = caution(&outcome, "over-structures").unwrap();
    assert!(over.text.starts_with("flies over \"Tower\": people may be inside"), "{}", over.text);
    let (from, to) = (over.places[0].from, over.places[0].to);
    let mut ends = [from.position_m.y, to.position_m.y];
    ends.sort_by(f64::total_cmp);
    assert!((ends[0] + 5.0).abs() < 1e-6 && (ends[1] - 5.0).abs() < 1e-6, "{ends:?}"); // rounding
    assert!((over.places[0].length_m() - 10.0).abs() < 1e-6);
}

/// Source: Regulation (EU) 2019/947 Art. 4(1): less than 25 kg.
#[test]
fn the_open_category_ends_at_25_kg() {
    let of_mass = |mass_kg: Option<f64>| {
        let mut scenario = along(field(), [(0.0, -50.0), (0.0, 50.0)], 60.0);
        Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe.energy = mass_kg.map(|mass_kg| Energy {
            battery_wh: 900.0,
            endurance_at_mps: 8.0,
            hover_min: None,
            top_speed_min: None,
            mass_kg,
            rotors: 6,
            rotor_diameter_m: 0.9,
            health: 1.0,
            cold_loss_per_c: 0.01,
        });
        let outcome = told(&scenario);
        let found = caution(&outcome, "open-category").unwrap().clone();
        (found.severity, found.text)
    };
    assert_eq!(of_mass(Some(25.0)).0, Severity::Limit);
    assert_eq!(of_mass(Some(24.9)).0, Severity::Reminder);
    assert!(of_mass(None).1.contains("the mass of this aircraft is not given"));
}

/// Every caution that a region brings cites its rule, and every region's list says who decides.
#[test]
fn every_region_cites_its_rules_and_says_who_decides() {
    let custom = HeightRule::Custom { limit_m: 100.0 };
    let regions = [
        (HeightRule::UsPart107, "14 CFR", vec!["height-limit", "visibility-clouds", "line-of-sight"]),
        (
            HeightRule::EuOpen,
            "2019/947",
            vec!["height-limit", "open-category", "distance-from-areas", "line-of-sight"],
        ),
        (custom, "", vec![]),
    ];
    for (rule, cited, ids) in regions {
        let mut site = field();
        site.take_off_m = DVec2::ZERO;
        site.structures = vec![tower((50.0, -100.0), (60.0, 100.0), 40.0)];
        // From nine tenths of the limit on the height is worth a word.
        let mut scenario = along(site, [(200.0, -150.0), (200.0, 150.0)], 112.0);
        scenario.conditions.height_rule = rule;
        let outcome = told(&scenario);
        for id in ids {
            let CautionSource::Rule(citation) = caution(&outcome, id).unwrap().source else {
                panic!("{id} has no rule")
            };
            assert!(citation.contains(cited), "{id}: {citation}");
        }
        let decides = caution(&outcome, "local-rules").unwrap();
        assert!(decides.text.contains("local rules and the remote pilot decide"));
        let foreign = if cited == "2019/947" { "14 CFR" } else { "2019/947" };
        assert!(
            outcome.cautions.iter().all(|c| !c.source.text().contains(foreign)),
            "{:?}",
            outcome.cautions
        );
        assert!(outcome.cautions.is_sorted_by(|a, b| a.severity >= b.severity), "the gravest first");
    }
}

/// Derived: the shift is speed × read-out ÷ GSD; said above one pixel, and not of an aircraft that stops to expose.
#[test]
fn a_rolling_shutter_is_said() {
    let mut scenario = scenario(field(), 73.0);
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].camera.shutter = Shutter::Rolling { readout_s: 0.03 };
    scenario.equipment = equipment.into();
    let outcome = told(&scenario);
    let plan = outcome.passes[0].laid().unwrap();
    let shift_px = plan.speed.speed_mps * 0.03 / plan.layout.vertical_gsd_m;
    let said = caution(&outcome, "rolling-shutter").unwrap();
    assert!(said.text.contains(&format!("up to {shift_px:.1} pixels")), "{}", said.text);
    scenario.strategies[0].passes[0].hover_s = Some(1.0);
    assert!(caution(&told(&scenario), "rolling-shutter").is_none());
}

/// Derived: at longitude λ the sun's clock is λ / 15 h ahead of UTC; the site lies at 11° east, 0.73 h.
#[test]
fn a_clock_far_from_the_suns_is_told() {
    let with = |longitude_deg: f64, zone: SiteZone| {
        let mut site = field();
        site.origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg });
        site.take_off_m = DVec2::ZERO;
        let mut scenario = along(site, [(100.0, -150.0), (100.0, 150.0)], 60.0);
        scenario.conditions.mission = Some(Mission {
            date: LocalDate { year: 2026, month: 7, day: 1 },
            arrival: LocalClock { hour: 10, minute: 0 },
            zone,
        });
        caution(&told(&scenario), "clock-off-sun").map(|caution| caution.text.clone())
    };
    let offset = |hours: f64| SiteZone::Offset { minutes: (60.0 * hours) as i32 };
    let named = |name: &str| SiteZone::Named { name: name.to_owned() };
    for (longitude_deg, zone, told) in [
        (11.0, offset(1.0), None),
        (11.0, offset(2.0), None),
        (11.0, offset(2.25), Some("1.5 h ahead of the sun's")),
        (11.0, offset(-1.0), Some("1.7 h behind the sun's")),
        (-3.7, named("Europe/Madrid"), None), // 1.25 h by its winter clock, 2.25 h in July
        (-3.7, named("Asia/Tokyo"), Some("9.2 h ahead of the sun's")),
        (-175.2, named("Pacific/Tongatapu"), None), // 13 h ahead of UTC, beyond the date line
        (179.0, offset(-12.0), None),
        (147.3, named("Australia/Hobart"), None), // summer in January
        (-8.0, named("Europe/Dublin"), None),
    ] {
        let found = with(longitude_deg, zone.clone());
        match told {
            None => assert_eq!(found, None, "{zone:?} at {longitude_deg}°"),
            Some(told) => {
                let text = found.unwrap_or_else(|| panic!("nothing told of {zone:?} at {longitude_deg}°"));
                assert!(text.contains(told) && text.contains("highest at"), "{text}");
            }
        }
    }
}

/// Derived: 60 m of 120 m is worth no word, 108 m is nine tenths; a metre less is not.
#[test]
fn a_height_far_below_the_limit_is_not_told() {
    let told = |height_m: f64| {
        let mut scenario = along(field(), [(200.0, -150.0), (200.0, 150.0)], height_m);
        scenario.conditions.height_rule = HeightRule::EuOpen;
        caution(&told(&scenario), "height-limit").map(|caution| caution.text.clone())
    };
    assert_eq!(told(60.0), None);
    assert_eq!(told(107.0), None);
    assert!(told(108.4).unwrap().starts_with("flies up to 108 m; limit chosen: 120 m"));
    assert!(told(120.04).unwrap().contains("above the limit of 120.00 m"), "{:?}", told(120.04));
}

/// Derived: a nadir block without control points on the plan bends, whatever the crew has time for; with them or with a tilted
/// pass it does not, and check points do not help; strips that look one way ask for a heading that is held.
#[test]
fn bending_and_held_headings_are_told() {
    let site = level_site(&[(0.0, 0.0), (160.0, 0.0), (160.0, 140.0), (0.0, 140.0)]);
    let mut scenario = crate::scene::scenario(site, 60.0);
    scenario.conditions.control_points = 0;
    let of = |scenario: &Scenario, id: &str| caution(&outcome(scenario, 10, Depth::Spread), id).is_some();
    assert!(of(&scenario, "bending") && !of(&scenario, "heading-held"));
    scenario.conditions.control_points = 4;
    let told = caution(&outcome(&scenario, 10, Depth::Spread), "bending").unwrap().text.to_string();
    assert!(told.contains("no control points on the plan") && told.contains("place them"), "{told}");
    let placed = |role: PointRole| {
        let mut scenario = scenario.clone();
        let mut site = (*scenario.site).clone();
        let at = [(20.0, 20.0), (140.0, 20.0), (140.0, 120.0), (20.0, 120.0)];
        site.control_points =
            at.map(|at| ControlPoint { name: String::new(), at_m: at.into(), role }).to_vec();
        scenario.site = site.into();
        scenario
    };
    assert!(!of(&placed(PointRole::Control), "bending") && of(&placed(PointRole::Check), "bending"));
    let adjusted = |scenario: &Scenario| {
        let outcome = outcome(scenario, 10, Depth::Network);
        (outcome.network.as_ref().unwrap().held.control, caution(&outcome, "bending").is_some())
    };
    assert_eq!(adjusted(&placed(PointRole::Control)), (4, false));
    assert_eq!(adjusted(&placed(PointRole::Check)), (0, true));
    // placed, but where no image sees it: nothing rests on it
    let mut astray = placed(PointRole::Control);
    let mut site = (*astray.site).clone();
    site.control_points.iter_mut().for_each(|point| point.at_m.x += 5000.0);
    astray.site = site.into();
    assert_eq!(adjusted(&astray), (0, true));
    scenario.conditions.control_points = 0;
    let pass = &mut scenario.strategies[0].passes[0];
    pass.attitudes = vec![Attitude { tilt_deg: 30.0, aim: Aim::FromNorth { deg: 90.0 } }];
    assert!(!of(&scenario, "bending") && of(&scenario, "heading-held"));
    scenario.strategies[0].passes[0].attitudes =
        vec![Attitude { tilt_deg: 30.0, aim: Aim::FromTrack { deg: 0.0 } }];
    assert!(!of(&scenario, "heading-held"));
}

/// A drawn scenario flown toward dusk with an aircraft of a known mass, a slow shutter and a meter, and one of none of these.
fn at_dusk(seed: u64) -> Scenario {
    let mut scenario = generate::scenario(seed);
    Arc::make_mut(&mut scenario.site).origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 11.0 });
    let known = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0];
    known.camera.metering = Some(Metering { f_number: 4.0, iso: 100.0, shortest_s: 1e-5 });
    known.camera.shutter = Shutter::Rolling { readout_s: 0.02 };
    known.airframe.reserve = 0.15;
    known.airframe.energy = Some(Energy {
        battery_wh: 900.0,
        endurance_at_mps: 8.0,
        hover_min: None,
        top_speed_min: None,
        mass_kg: 6.0 + (seed % 9) as f64,
        rotors: 6,
        rotor_diameter_m: 0.9,
        health: 1.0,
        cold_loss_per_c: 0.01,
    });
    let conditions = &mut scenario.conditions;
    conditions.height_rule = match seed % 3 {
        0 => HeightRule::UsPart107,
        1 => HeightRule::EuOpen,
        _ => HeightRule::Custom { limit_m: 60.5 },
    };
    conditions.pilot_distance_m = 150.0;
    conditions.control_points = (seed % 2) as u32;
    conditions.wind = wind::Wind { speed_mps: 6.0, from_deg: Some(20.0) };
    conditions.light = Some(LightLevel::BySun { sky: Sky::Clear });
    conditions.mission = Some(Mission {
        date: LocalDate { year: 2025, month: 12, day: 21 },
        arrival: LocalClock { hour: 14 + (seed % 3) as u8, minute: 20 },
        zone: SiteZone::Offset { minutes: 60 },
    });
    scenario
}

/// Derived: what is said in other words of another strategy has a figure, so that the worst can lead and the others follow
/// with theirs; a figure is no sentence.
#[test]
fn every_caution_that_differs_by_strategy_has_a_figure() {
    let mut differ = BTreeSet::new();
    for seed in 0..80 {
        let scenario = at_dusk(seed);
        let mut kinds: BTreeMap<(&str, Severity), Vec<Caution>> = BTreeMap::new();
        for strategy in &scenario.strategies {
            for caution in outcome(&scenario, strategy.id.0, Depth::Spread).cautions {
                kinds.entry((caution.id, caution.severity)).or_default().push(caution);
            }
        }
        for ((id, _), told) in kinds {
            if told.iter().all(|caution| caution.text == told[0].text) {
                continue;
            }
            differ.insert(id);
            for caution in &told {
                let figure = caution.gauge.as_ref().map(|gauge| &*gauge.text);
                assert!(figure.is_some_and(|text| text.len() <= 60), "seed {seed}: {id} {caution:?}");
            }
        }
    }
    let of_light = ["twilight", "night", "low-sun", "light-falls"];
    let of_plan = ["open-category", "bending", "line-of-sight", "pilot-distance", "roof-overlap"];
    for id in of_light.into_iter().chain(of_plan) {
        assert!(differ.contains(id), "{id} never differs: {differ:?}");
    }
}

/// Practice: walls nearer than 15 m. Derived: a facade is flown at its stand-off from the wall.
#[test]
fn walls_nearer_than_fifteen_metres_are_told() {
    let told = |stand_off_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(-120.0, -120.0);
        site.structures = vec![tower((-20.0, -10.0), (20.0, 10.0), 40.0)];
        let mut scenario = scenario(site, 60.0);
        let pass = &mut scenario.strategies[0].passes[0];
        pass.pattern = Pattern::Facade(Facade {
            structure: Id(1),
            others: Vec::new(),
            walls: Some(vec![0]),
            clearance_m: 5.0,
            lowest_m: 3.0,
        });
        pass.distance = Distance::StandOff { m: stand_off_m };
        pass.attitudes = vec![Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } }];
        let outcome = told(&scenario);
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        caution(&outcome, "near-walls").cloned()
    };
    let near = told(14.99).unwrap();
    assert!(near.text.contains("comes as near as 14.99 m to walls, nearer than 15.00 m"), "{}", near.text);
    assert!(near.places.iter().all(|place| place.pass.is_some()) && !near.places.is_empty());
    assert_eq!(told(15.01), None);
}

/// Derived: a line at north 0 passes a square keep-out whose south side lies at north 6 by 6 m, and is nearer than 10 m from
/// where a corner is 10 m away: 8 m before it and as far behind, found to a quarter of the clearance. One across the line is
/// gone round along its outline.
#[test]
fn a_route_nearer_to_a_keep_out_than_the_clearance_is_told_with_its_place() {
    let told = |south_m: f64, clearance_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(-300.0, 0.0);
        let ring = [(-20.0, south_m), (20.0, south_m), (20.0, 60.0), (-20.0, 60.0)];
        let outline_m = ring.map(DVec2::from).to_vec();
        site.keep_outs = vec![KeepOut { name: "Pond".to_owned(), outline_m }];
        let mut scenario = along(site, [(-200.0, 0.0), (200.0, 0.0)], 60.0);
        scenario.conditions.clearance_m = clearance_m;
        let outcome = told(&scenario);
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        caution(&outcome, "near-keep-out").cloned()
    };
    let beside = told(6.0, 10.0).unwrap();
    assert!(beside.text.contains("passes 6 m from keep-out \"Pond\""), "{}", beside.text);
    assert!(beside.text.contains("clearance 10 m") && beside.text.contains("draw them with a margin"));
    assert_eq!(beside.severity, Severity::Check);
    let line = &beside.places[0].line_m;
    let (first, last) = (line[0].x.abs(), line[line.len() - 1].x.abs());
    assert!((first - 28.0).abs() < 2.5 && (last - 28.0).abs() < 2.5, "{line:?}");
    assert_eq!(told(6.0, 5.9), None);
    let round = told(-30.0, 10.0).unwrap();
    assert!(round.text.contains("passes 0 m"), "{}", round.text);
}

/// Derived: a line that ends 25 m beyond the boundary goes as far beyond it, and one within it does not.
#[test]
fn flying_beyond_the_boundary_is_told_with_its_place() {
    let told = |end_m: f64| {
        let mut site = field();
        site.take_off_m = DVec2::new(-300.0, 0.0);
        let outcome = told(&along(site, [(-200.0, 0.0), (end_m, 0.0)], 60.0));
        caution(&outcome, "unknown").cloned().filter(|caution| !caution.places.is_empty())
    };
    let beyond = told(425.0).unwrap();
    let gauge = beyond.gauge.as_ref().unwrap();
    // A strip may be flown on for up to an image's spacing.
    assert!(gauge.worse >= 25.0 && gauge.worse < 60.0, "{}", gauge.worse);
    assert_eq!(beyond.severity, Severity::Reminder);
    let far = beyond.places.iter().flat_map(|place| &place.line_m).map(|at| at.x).fold(0.0, f64::max);
    assert!((far - 400.0 - gauge.worse).abs() < 1e-9);
    assert_eq!(told(300.0), None);
}

/// Practice: half an hour between images of one place. Derived: a longer battery change lengthens the gap by as much for
/// each change between, so that the gap can be set to a second on either side of it.
#[test]
fn shade_that_moves_for_half_an_hour_is_told() {
    let flown = |swap_min: f64| {
        let mut site = level_site(&[(0.0, 0.0), (160.0, 0.0), (160.0, 140.0), (0.0, 140.0)]);
        site.origin = Some(GeoPoint { latitude_deg: 48.0, longitude_deg: 11.0 });
        site.structures = vec![tower((60.0, 60.0), (70.0, 70.0), 10.0)];
        let mut scenario = scenario(site, 60.0);
        let again = Pass { id: Id(900), ..scenario.strategies[0].passes[0].clone() };
        scenario.strategies[0].passes.push(again);
        let airframe = &mut Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe;
        (airframe.swap_min, airframe.endurance_min) = (swap_min, 5.0);
        scenario.conditions.mission = Some(Mission {
            date: LocalDate { year: 2026, month: 6, day: 21 },
            arrival: LocalClock { hour: 10, minute: 0 },
            zone: SiteZone::Offset { minutes: 60 },
        });
        let outcome = told(&scenario);
        let sorties = outcome.flight().unwrap().sorties.len();
        let gap_s = caution(&outcome, "shade-moves").map(|caution| caution.gauge.as_ref().unwrap().worse);
        (gap_s, sorties)
    };
    let gap_s = |swap_min: f64| flown(swap_min).0.unwrap();
    // Changes between the first and the last image of the place with the longest gap.
    let changes = (gap_s(60.0) - gap_s(50.0)) / 600.0;
    assert!((changes - changes.round()).abs() < 1e-9 && changes >= 1.0, "{changes}"); // rounding
    assert!(changes < flown(60.0).1 as f64, "a change stands between two sorties");
    let for_gap_min = |wanted_s: f64| 60.0 - (gap_s(60.0) - wanted_s) / (60.0 * changes);
    let just_s = gap_s(for_gap_min(1801.0));
    assert!((just_s - 1801.0).abs() < 1e-6, "{just_s}"); // rounding
    assert_eq!(flown(for_gap_min(1799.0)).0, None);
}
