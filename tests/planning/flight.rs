//! The clock and the sorties.

use crate::scene::{level_site, outcome, scenario};
use glam::DVec2;
use obliquity_planning::*;

/// Derived: one strip of 200 m flown from its start at 10 m/s, 2 m/s², 73 m up: climb 73/4 + 4/2, strip 200/10 + 10/2,
/// turn of 180° 3 s + 1 s, back 200/10 + 10/2, descent 73/3 + 3/2. Reason for 1e-9: sums of five terms in doubles.
#[test]
fn one_strip_by_hand() {
    let mut site = level_site(&[(-1.0, 0.0), (1.0, 0.0), (1.0, 200.0), (-1.0, 200.0)]);
    site.take_off_m = DVec2::ZERO;
    let mut scenario = scenario(site, 73.0);
    scenario.strategies[0].passes[0].margin_m = Some(0.0);
    let outcome = outcome(&scenario, 10, Depth::Quick);
    assert_eq!(outcome.passes[0].plan.layout.strips, 1);
    let terms = outcome.flight.terms;
    assert!((terms.strips_s - 25.0).abs() < 1e-9);
    assert!((terms.transits_s - 25.0).abs() < 1e-9);
    assert!((terms.turns_s - 4.0).abs() < 1e-9);
    assert!((terms.vertical_s - (73.0 / 4.0 + 2.0 + 73.0 / 3.0 + 1.5)).abs() < 1e-9);
    assert!((terms.flight_time_s() - outcome.time.flight_s).abs() < 1e-9);
    // Exposures: one at the start, at rest, right after the climb; the last one at the strip's end.
    let times = &outcome.flight.station_time_s[0];
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
        let flight = &outcome.flight;
        assert!(outcome.feasible(), "{:?}", outcome.reasons);
        assert!(flight.sorties.len() > 1, "the field takes more than one battery");
        let total: f64 = flight.sorties.iter().map(|sortie| sortie.duration_s).sum();
        assert!((total - flight.terms.flight_time_s()).abs() < 1e-6);
        assert!(flight.sorties.iter().all(|sortie| sortie.duration_s <= sortie.usable_s + 1e-9));
        let exposures: u32 = flight.sorties.iter().map(|sortie| sortie.exposures).sum();
        assert_eq!(exposures, outcome.image_count);
        for (pass, times) in outcome.passes.iter().zip(&flight.station_time_s) {
            let flown = flight.legs.iter().filter(|leg| leg.pass == Some(pass.plan.pass));
            let stations: Vec<u32> = flown.flat_map(|l| &l.leg.stops).map(|stop| stop.station).collect();
            assert_eq!(stations, (0..pass.image_count).collect::<Vec<_>>());
            assert!(times.windows(2).all(|pair| pair[0] <= pair[1]), "the clock runs on");
        }
    }
}

/// Derived: legs follow each other without a jump, take-off to landing, and the clock is their sum.
#[test]
fn the_route_is_one_line() {
    let outcome = outcome(&large(), 30, Depth::Quick);
    let legs = &outcome.flight.legs;
    let mut clock = 0.0;
    for (k, flown) in legs.iter().enumerate() {
        assert!((flown.start_s - clock).abs() < 1e-6);
        clock += flown.turn_s + flown.moving_s;
        if let Some(next) = legs.get(k + 1).filter(|next| next.sortie == flown.sortie) {
            assert!(flown.leg.to_m.distance(next.leg.from_m) < 1e-9, "leg {k}");
        }
    }
    for sortie in 0..outcome.flight.sorties.len() as u32 {
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
    assert!(outcome.time.flight_s > 600.0);
}

/// Practice: time on site is set-up, flight, a swap between sorties, control points and pack-up.
#[test]
fn time_on_site_adds_up() {
    let mut scenario = large();
    scenario.conditions.control_points = 5;
    let outcome = outcome(&scenario, 10, Depth::Quick);
    let swaps = outcome.flight.sorties.len() as f64 - 1.0;
    let by_hand = (15.0 + swaps * 3.0 + 5.0 * 6.0 + 10.0) * 60.0 + outcome.flight.terms.flight_time_s();
    assert!((outcome.time.time_on_site_s() - by_hand).abs() < 1e-9);
}
