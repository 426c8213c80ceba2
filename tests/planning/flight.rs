//! The clock and the sorties.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, scenario};
use glam::DVec2;
use obliquity_planning::*;
use std::sync::Arc;

/// Derived: one strip of 200 m flown from its start at 10 m/s, 2 m/s², 73 m up: climb 73/4 + 4/2, strip 200/10 + 10/2,
/// turn of 180° 3 s + 1 s, back 200/10 + 10/2, descent 73/3 + 3/2. Reason for 1e-9: sums of five terms in doubles.
#[test]
fn one_strip_by_hand() {
    let mut site = level_site(&[(-1.0, 0.0), (1.0, 0.0), (1.0, 200.0), (-1.0, 200.0)]);
    site.take_off_m = DVec2::ZERO;
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes[0].margin_m = Some(0.0);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    assert_eq!(outcome.passes[0].laid().unwrap().layout.strips, 1);
    let terms = outcome.flight().unwrap().terms;
    assert!((terms.strips_s - 25.0).abs() < 1e-9);
    assert!((terms.transits_s - 25.0).abs() < 1e-9);
    assert!((terms.turns_s - 4.0).abs() < 1e-9);
    assert!((terms.vertical_s - (73.0 / 4.0 + 2.0 + 73.0 / 3.0 + 1.5)).abs() < 1e-9);
    assert!((terms.flight_time_s() - outcome.timing.as_ref().unwrap().time.flight_s).abs() < 1e-9);
    // Exposures: one at the start, at rest, right after the climb; the last one at the strip's end.
    let times = &outcome.flight().unwrap().station_time_s[0];
    assert!((times[0] - (73.0 / 4.0 + 2.0)).abs() < 1e-9);
    assert!((times[times.len() - 1] - (73.0 / 4.0 + 2.0 + 25.0)).abs() < 1e-9);
}

/// A field large enough for several sorties.
fn large() -> Scenario {
    let mut site = level_site(&[(0.0, 0.0), (900.0, 0.0), (900.0, 800.0), (300.0, 950.0), (0.0, 700.0)]);
    site.take_off_m = DVec2::new(400.0, -30.0);
    scenario(site, 60.0)
}

/// Derived: every station belongs to exactly one sortie, in order; no sortie outlasts its battery; sorties add up.
#[test]
fn sorties_share_the_route_out() {
    let scenario = large();
    for id in [10, 20, 30, 40] {
        let outcome = outcome(&scenario, id, Depth::Quick);
        let flight = &outcome.flight().unwrap();
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        assert!(flight.sorties.len() > 1, "the field takes more than one battery");
        let total: f64 = flight.sorties.iter().map(|sortie| sortie.duration_s).sum();
        assert!((total - flight.terms.flight_time_s()).abs() < 1e-6);
        assert!(flight.sorties.iter().all(|sortie| sortie.energy_j <= sortie.usable_j * (1.0 + 1e-12)));
        let exposures: u32 = flight.sorties.iter().map(|sortie| sortie.exposures).sum();
        assert_eq!(exposures, outcome.load.as_ref().unwrap().image_count);
        for (pass, times) in outcome.passes.iter().zip(&flight.station_time_s) {
            let flown = flight.legs.iter().filter(|leg| leg.pass == Some(pass.pass));
            let stations: Vec<u32> = flown.flat_map(|l| &l.leg.stops).map(|stop| stop.station).collect();
            assert_eq!(stations, (0..pass.laid().unwrap().stations.poses.len() as u32).collect::<Vec<_>>());
            assert!(times.windows(2).all(|pair| pair[0] <= pair[1]), "the clock runs on");
        }
    }
}

/// Derived: legs follow each other without a jump, take-off to landing, and the clock is their sum.
#[test]
fn the_route_is_one_line() {
    let outcome = outcome(&large(), 30, Depth::Quick);
    let legs = &outcome.flight().unwrap().legs;
    let mut clock = 0.0;
    for (k, flown) in legs.iter().enumerate() {
        assert!((flown.start_s - clock).abs() < 1e-6);
        clock += flown.turn_s + flown.moving_s;
        if let Some(next) = legs.get(k + 1).filter(|next| next.sortie == flown.sortie) {
            assert!(flown.leg.to_m.distance(next.leg.from_m) < 1e-9, "leg {k}");
        }
    }
    for sortie in 0..outcome.flight().unwrap().sorties.len() as u32 {
        let mut of_sortie = legs.iter().filter(|flown| flown.sortie == sortie);
        let (Some(first), Some(last)) = (of_sortie.next(), of_sortie.next_back()) else {
            panic!("sortie {sortie} has no legs");
        };
        assert_eq!((first.leg.kind, last.leg.kind), (LegKind::Climb, LegKind::Descent));
        assert_eq!(last.leg.to_m, DVec2::new(400.0, -30.0).extend(0.0));
    }
}

/// Derived: a battery that does not reach the far side makes the strategy infeasible, with figures all the same.
#[test]
fn a_battery_too_small_is_a_reason() {
    let mut scenario = large();
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.endurance_min = 2.0;
    scenario.equipment = equipment.into();
    let outcome = outcome(&scenario, 10, Depth::Quick);
    assert!(!outcome.feasible());
    assert!(outcome.reasons[0].contains("too short"), "{:?}", outcome.reasons);
    assert_eq!(outcome.timing, None, "no time either");
}

/// Practice: time on site is set-up, flight, a swap between sorties, control points and pack-up.
#[test]
fn time_on_site_adds_up() {
    let mut scenario = large();
    scenario.conditions.control_points = 5;
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let swaps = outcome.flight().unwrap().sorties.len() as f64 - 1.0;
    let by_hand =
        (15.0 + swaps * 3.0 + 5.0 * 6.0 + 10.0) * 60.0 + outcome.flight().unwrap().terms.flight_time_s();
    assert!((outcome.timing.as_ref().unwrap().time.time_on_site_s() - by_hand).abs() < 1e-9);
}

/// Derived: 300 m at 10 m/s into 4 m/s of wind with 12 m/s of airspeed is 8 m/s over ground; downwind 10 m/s are kept.
#[test]
fn wind_slows_what_flies_against_it() {
    let mut site = level_site(&[(-1.0, 0.0), (1.0, 0.0), (1.0, 300.0), (-1.0, 300.0)]);
    site.take_off_m = DVec2::ZERO;
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes[0].margin_m = Some(0.0);
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.top_airspeed_mps = Some(12.0);
    scenario.equipment = equipment.into();
    scenario.conditions.wind = wind::Wind { speed_mps: 4.0, from_deg: Some(0.0) };
    let in_wind = outcome(&scenario, 10, Depth::Quick);
    let flight = in_wind.flight().unwrap();
    let strip = flight.legs.iter().find(|flown| flown.leg.kind == LegKind::Strip).unwrap();
    // Flown north, from the take-off point: 300/8 + 8/2, to 1e-6 s as the closed form asks.
    assert!((strip.moving_s - (300.0 / 8.0 + 8.0 / 2.0)).abs() < 1e-6, "{}", strip.moving_s);
    let back = flight.legs.iter().find(|flown| flown.leg.kind == LegKind::Transit).unwrap();
    assert!((back.moving_s - (300.0 / 10.0 + 10.0 / 2.0)).abs() < 1e-6, "{}", back.moving_s);
    scenario.conditions.wind.speed_mps = 12.0;
    let refused = outcome(&scenario, 10, Depth::Quick);
    assert!(!refused.feasible());
    assert!(refused.reasons[0].contains("cannot hold its tracks"), "{:?}", refused.reasons);
}

/// What a small quad of the power module's check draws, and lasts: 25 min at 8 m/s, 22 min in hover.
fn quad() -> Energy {
    Energy {
        battery_wh: 80.0,
        endurance_at_mps: 8.0,
        hover_min: Some(22.0),
        top_speed_min: None,
        mass_kg: 1.4,
        rotors: 4,
        rotor_diameter_m: 0.24,
        health: 1.0,
        cold_loss_per_c: 0.01,
    }
}

fn with_energy(change: impl Fn(&mut Airframe)) -> Scenario {
    let mut scenario = large();
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft[0].airframe.energy = Some(quad());
    change(&mut equipment.aircraft[0].airframe);
    scenario.equipment = equipment.into();
    scenario
}

/// Derived: what the legs draw is what the sorties draw, in still air and in wind; none goes below the reserve; every
/// station is taken once.
#[test]
fn energy_is_conserved_and_the_reserve_kept() {
    let mut scenario = with_energy(|airframe| airframe.lateral_mps2 = Some(3.0));
    for speed_mps in [0.0, 5.0] {
        scenario.conditions.wind = wind::Wind { speed_mps, from_deg: Some(250.0) };
        for id in [10, 20, 30, 40] {
            let outcome = outcome(&scenario, id, Depth::Quick);
            let flight = &outcome.flight().unwrap();
            assert!(outcome.feasible() && flight.sorties.len() > 1, "{:?}", outcome.reasons);
            for (k, sortie) in flight.sorties.iter().enumerate() {
                let of_sortie = flight.legs.iter().filter(|flown| flown.sortie as usize == k);
                let drawn_j: f64 = of_sortie.map(|flown| flown.energy_j).sum();
                assert!((drawn_j - sortie.energy_j).abs() < 1e-9 * drawn_j); // sums of some hundred terms
                assert!(sortie.left_ratio(flight.capacity_j) >= 0.25 - 1e-12, "the reserve is 25 %");
            }
            for pass in &outcome.passes {
                let flown = flight.legs.iter().filter(|leg| leg.pass == Some(pass.pass));
                let stations: Vec<u32> = flown.flat_map(|l| &l.leg.stops).map(|stop| stop.station).collect();
                assert_eq!(
                    stations,
                    (0..pass.laid().unwrap().stations.poses.len() as u32).collect::<Vec<_>>()
                );
            }
        }
    }
}

/// Derived: the curve goes through the endurances known; cold and age take from the battery what they say.
#[test]
fn the_power_curve_goes_through_the_endurances_known() {
    use obliquity_planning::atmosphere::Air;
    use obliquity_planning::power::PowerCurve;
    let airframe = Airframe { endurance_min: 25.0, ..with_energy(|_| ()).equipment.aircraft[0].airframe };
    let standard = Air::standard(0.0);
    let curve = PowerCurve::new(&airframe, &standard, 20.0);
    let lasts_min = |v: f64| curve.capacity_j() / curve.level_w(v) / 60.0;
    assert!((lasts_min(0.0) - 22.0).abs() < 1e-5); // the density at sea level is 1.225 to eight digits
    assert!((lasts_min(8.0) - 25.0).abs() < 1e-5);
    assert!(curve.level_w(18.0) > curve.level_w(9.0), "drag takes over");
    let cold = PowerCurve::new(&airframe, &standard, 0.0);
    assert!((cold.capacity_j() / curve.capacity_j() - 0.8).abs() < 1e-12);
    // Head 9.10: thin air raises the induced power by its square root and lowers the profile power.
    let thin = PowerCurve::new(&airframe, &Air::standard(2000.0), 20.0);
    let ratio = thin.level_w(0.0) / curve.level_w(0.0);
    let induced = 1.0 / (79.856280 / 88.627938 + 1.0);
    let expected = induced * (1.225_f64 / 1.0064901).sqrt() + (1.0 - induced) * 1.0064901 / 1.225;
    assert!((ratio - expected).abs() < 1e-6, "{ratio} {expected}"); // densities printed to seven digits
}

/// Derived: a sweep leaves a strip at its speed v and enters the next one at it. Spacing s wider than 2r: half a circle
/// and the straight; closer: a bulb of r [π + 4 acos((2r + s)/4r)]. Strips of 400 m lose one ramp each.
#[test]
fn sweeps_join_strips_without_stopping() {
    for lateral_mps2 in [4.0, 8.0] {
        let mut scenario = with_energy(|airframe| {
            airframe.lateral_mps2 = Some(lateral_mps2);
            airframe.endurance_min = 300.0;
            airframe.energy = None;
        });
        scenario.strategies[0].passes[0].speed_mps = Some(8.0);
        let outcome = outcome(&scenario, 10, Depth::Quick);
        let legs = &outcome.flight().unwrap().legs;
        let turns: Vec<usize> = (0..legs.len()).filter(|&k| legs[k].leg.kind == LegKind::Turn).collect();
        assert!(!turns.is_empty());
        for k in turns {
            let [before, turn, after] = [&legs[k - 1], &legs[k], &legs[k + 1]];
            let v = turn.leg.speed_mps;
            assert_eq!((turn.turn_s, after.turn_s), (0.0, 0.0));
            let radius_m = (v * v / lateral_mps2).max(v / (std::f64::consts::PI / 3.0));
            let direction = (before.leg.to_m - before.leg.from_m).normalize();
            let across = after.leg.from_m - before.leg.to_m;
            let (along_m, spacing_m) = (across.dot(direction).abs(), across.reject_from(direction).length());
            let arc_m = if spacing_m >= 2.0 * radius_m {
                std::f64::consts::PI * radius_m + spacing_m - 2.0 * radius_m
            } else {
                let angle = ((2.0 * radius_m + spacing_m) / (4.0 * radius_m)).acos();
                radius_m * (std::f64::consts::PI + 4.0 * angle)
            };
            if along_m < 1e-6 {
                assert!((turn.moving_s - arc_m / v).abs() < 1e-6, "{} {}", turn.moving_s, arc_m / v);
            }
            assert!((turn.leg.from_m, turn.leg.to_m) == (before.leg.to_m, after.leg.from_m));
        }
        let stopping = {
            let mut stopping = scenario.clone();
            let mut equipment = (*stopping.equipment).clone();
            equipment.aircraft[0].airframe.lateral_mps2 = None;
            stopping.equipment = equipment.into();
            crate::scene::outcome(&stopping, 10, Depth::Quick)
        };
        assert!(
            outcome.flight().unwrap().terms.flight_time_s()
                < stopping.flight().unwrap().terms.flight_time_s()
        );
    }
}

/// Derived: one strip with stops 20 m apart: check 9.3, a dwell at each stop.
#[test]
fn stopping_to_expose_costs_what_the_closed_form_says() {
    let mut site = level_site(&[(-1.0, 0.0), (1.0, 0.0), (1.0, 500.0), (-1.0, 500.0)]);
    site.take_off_m = DVec2::ZERO;
    let mut scenario = scenario(site, 73.0);
    let pass = &mut scenario.strategies[0].passes[0];
    (pass.margin_m, pass.hover_s) = (Some(0.0), Some(1.0));
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let strip = outcome.flight().unwrap().legs.iter().find(|flown| flown.leg.kind == LegKind::Strip).unwrap();
    let stops = strip.leg.stops.len() as u32;
    let spacing_m = 500.0 / f64::from(stops - 1);
    let by_hand = motion::stop_and_go_time_s(stops, spacing_m, 10.0, 2.0, 1.0);
    assert!((strip.moving_s - by_hand).abs() < 1e-6, "{} {by_hand}", strip.moving_s);
}

/// Derived: two sets, one charger, 30 min a set: from the third sortie on the crew waits until a set is full again.
#[test]
fn the_crew_waits_for_the_charger() {
    let mut scenario = large();
    scenario.conditions.battery_sets = 2;
    let plenty = outcome(&scenario, 30, Depth::Quick);
    scenario.conditions.charging = Some(Charging { supply: Supply::Mains, charge_min: 30.0, at_once: 1 });
    let outcome = outcome(&scenario, 30, Depth::Quick);
    let sorties = &outcome.flight().unwrap().sorties;
    assert!(sorties.len() > 2);
    let share = |k: usize| sorties[k].energy_j / sorties[k].usable_j;
    // The first set lands at d0 and is full 30 min × its share later; meanwhile the second flies.
    let swap_s = scenario.equipment.aircraft[0].airframe.swap_min * 60.0;
    let full_s = sorties[0].duration_s + 1800.0 * share(0);
    let landed_s = sorties[0].duration_s + swap_s + sorties[1].duration_s + swap_s;
    assert!((sorties[2].wait_s - (full_s - landed_s).max(0.0)).abs() < 1e-9);
    assert_eq!((sorties[0].battery, sorties[1].battery, sorties[2].battery), (1, 2, 1));
    let waits: f64 = sorties.iter().map(|sortie| sortie.wait_s).sum();
    let difference = outcome.timing.as_ref().unwrap().time.time_on_site_s()
        - plenty.timing.as_ref().unwrap().time.time_on_site_s();
    assert!((difference - waits).abs() < 1e-9 && waits > 0.0);
}

fn bands(scenario: &Scenario, id: u32) -> (Outcome, Arc<Bands>) {
    let store = Store::new(1 << 28);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let outcome = evaluator.evaluate(scenario, Id(id), Depth::Spread).unwrap();
    let bands = outcome.timing.as_ref().and_then(|timing| timing.bands.clone());
    (outcome, bands.expect("can be flown"))
}

/// Derived: with nothing uncertain every draw is the plan, whether the wind's direction is known or not, with sweeps and
/// without, to the rounding of sums of some hundred terms.
#[test]
fn certain_conditions_have_no_band() {
    let certain = Spread {
        wind_mps: 0.0,
        wind_deg: 0.0,
        speed_ratio: 0.0,
        turn_ratio: 0.0,
        battery_ratio: 0.0,
        swap_ratio: 0.0,
        crew_ratio: 0.0,
        seed: 3,
    };
    for lateral_mps2 in [None, Some(8.0)] {
        let mut scenario = with_energy(|airframe| airframe.lateral_mps2 = lateral_mps2);
        scenario.conditions.spread = certain;
        scenario.conditions.wind = wind::Wind { speed_mps: 3.0, from_deg: Some(200.0) };
        for id in [10, 20, 30, 40] {
            let (outcome, bands) = bands(&scenario, id);
            let Timing { flight, time, .. } = outcome.timing.as_ref().unwrap();
            for (band, planned) in [
                (bands.flight_s, time.flight_s),
                (bands.time_on_site_s, time.time_on_site_s()),
                (bands.sorties, flight.sorties.len() as f64),
                (bands.energy_j, flight.energy_j()),
            ] {
                assert_eq!(band.p10, band.p90);
                assert!((band.p50 / planned - 1.0).abs() < 1e-12, "{id}: {band:?} {planned}");
            }
        }
    }
}

/// Derived: equal seeds give equal bands, other seeds others; the plan lies within; the causes are sorted.
#[test]
fn bands_are_reproducible_and_cover_the_plan() {
    let mut scenario = with_energy(|airframe| airframe.top_airspeed_mps = Some(15.0));
    for id in [10, 20, 30, 40] {
        scenario.conditions.spread.seed = 7;
        let (outcome, first) = bands(&scenario, id);
        assert_eq!(first, bands(&scenario, id).1);
        for (band, planned) in [
            (first.flight_s, outcome.timing.as_ref().unwrap().time.flight_s),
            (first.time_on_site_s, outcome.timing.as_ref().unwrap().time.time_on_site_s()),
            (first.sorties, outcome.flight().unwrap().sorties.len() as f64),
            (first.energy_j, outcome.flight().unwrap().energy_j()),
        ] {
            assert!(band.p10 <= planned && planned <= band.p90, "{id}: {band:?} {planned}");
        }
        let widths: Vec<f64> = first.causes.iter().map(|cause| cause.time_on_site_s.width()).collect();
        assert!(widths.windows(2).all(|pair| pair[0] >= pair[1]) && widths[0] > 0.0);
        scenario.conditions.spread.seed = 8;
        assert_ne!(first, bands(&scenario, id).1);
    }
}

/// Derived: with as many sets on hand as the plan needs, a band that reaches one more is said; with one more on hand, or
/// chargers on site, nothing is.
#[test]
fn a_battery_that_may_be_short_is_said() {
    let mut scenario = with_energy(|airframe| airframe.top_airspeed_mps = Some(15.0));
    scenario.conditions.spread.battery_ratio = 0.2;
    let (outcome, _) = bands(&scenario, 30);
    let said = |scenario: &Scenario| {
        let is_likely = |caution: &Caution| caution.id == "batteries-likely";
        let told = bands(scenario, 30).0.cautions.iter().any(is_likely);
        let quick = crate::scene::outcome(scenario, 30, Depth::Quick);
        assert!(!quick.cautions.iter().any(is_likely), "what is not drawn yet says nothing");
        told
    };
    scenario.conditions.battery_sets = outcome.flight().unwrap().sorties.len() as u32;
    let most = bands(&scenario, 30).1.sorties.p90;
    assert!(most > f64::from(scenario.conditions.battery_sets), "{most}");
    assert!(said(&scenario));
    scenario.conditions.charging = Some(Charging { supply: Supply::Generator, charge_min: 40.0, at_once: 2 });
    assert!(!said(&scenario));
    scenario.conditions.charging = None;
    scenario.conditions.battery_sets = most as u32;
    assert!(!said(&scenario));
}
