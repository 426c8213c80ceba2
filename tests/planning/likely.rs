//! What is said where the band of a figure crosses a limit or a whole battery.

#![expect(clippy::unwrap_used, reason = "a test ends at the first surprise")]

use crate::scene::{level_site, outcome, scenario};
use obliquity_planning::*;
use std::sync::Arc;

fn around(planned: f64, p90: f64) -> Band {
    Band { p10: planned * 0.9, p50: planned, p90 }
}

/// Bands whose upper ends are given, in sets and in seconds.
fn bands(timing: &Timing, sorties: f64, on_site_s: f64) -> Bands {
    Bands {
        flight_s: around(timing.time.flight_s, timing.time.flight_s),
        time_on_site_s: around(timing.time.time_on_site_s(), on_site_s),
        sorties: around(timing.flight.sorties.len() as f64, sorties),
        energy_j: around(1.0, 1.0),
        fullest_ratio: 1.0,
        out_of_reach: 0,
        causes: Vec::new(),
    }
}

/// A field that its nadir block covers, with nothing else required.
fn field() -> (Scenario, Outcome) {
    let mut scenario = scenario(level_site(&[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]), 60.0);
    scenario.strategies.truncate(1);
    scenario.requirement.coverage = ByClass { ground: Some(0.5), ..ByClass::default() };
    let nadir = outcome(&scenario, 10, Depth::Views);
    assert_eq!(nadir.meets(), Some(true), "{:?}", nadir.shortfalls(GsdUnit::Centimetres));
    (scenario, nadir)
}

/// Derived: the sentence speaks of one draw in ten where it takes a battery more than planned, or more time than is allowed;
/// a longer time that is still allowed, and as many batteries, are not worth a word.
#[test]
fn the_sentence_speaks_of_one_draw_in_ten_where_the_band_crosses() {
    let (mut scenario, nadir) = field();
    let timing = nadir.timing.clone().unwrap();
    let (planned_s, sets) = (timing.time.time_on_site_s(), timing.flight.sorties.len() as f64);
    scenario.requirement.time_on_site_min = Some((planned_s + 300.0) / 60.0);
    let with = |bands: Option<Bands>| {
        let timing = Timing { bands: bands.map(Arc::new), ..timing.clone() };
        [Outcome { timing: Some(timing), ..nadir.clone() }]
    };
    let say = |bands: Bands| compare_sentence(&scenario, &with(Some(bands)), GsdUnit::Centimetres);
    let plain = compare_sentence(&scenario, &with(None), GsdUnit::Centimetres);
    assert!(!plain.contains("one draw of ten"), "{plain}");
    assert_eq!(say(bands(&timing, sets, planned_s + 299.0)), plain);
    let longer = say(bands(&timing, sets, planned_s + 600.0));
    let minutes = format!("{:.0} min in one draw of ten", (planned_s + 600.0) / 60.0);
    assert!(longer.contains(&minutes) && longer.matches("one draw").count() == 1, "{longer}");
    let more = say(bands(&timing, sets + 1.0, planned_s));
    assert!(more.contains(&format!("{} in one draw of ten", sets + 1.0)), "{more}");
    assert_eq!(say(bands(&timing, sets + 1.0, planned_s + 600.0)).matches("one draw").count(), 2);
    scenario.requirement.time_on_site_min = None;
    let longer = with(Some(bands(&timing, sets, planned_s + 600.0)));
    let unlimited = compare_sentence(&scenario, &longer, GsdUnit::Centimetres);
    assert!(!unlimited.contains("one draw"), "{unlimited}");
}

/// Derived: draws that cannot be flown are told with their number, and are no part of the bands.
#[test]
fn draws_out_of_reach_are_told() {
    let (_, nadir) = field();
    let known = bands(&nadir.timing.unwrap(), 1.0, 0.0);
    assert_eq!(known.out_of_reach_caution(), None);
    let told = Bands { out_of_reach: 12, ..known }.out_of_reach_caution().unwrap();
    assert!(told.id == "battery-reach-likely" && told.text.contains("12 of 1000"), "{told:?}");
}

/// Derived: where a battery set barely reaches the route, weaker ones do not: some draws are out of reach, and the prediction
/// still lies within the bands of the others.
#[test]
fn weak_batteries_put_draws_out_of_reach() {
    let (mut scenario, _) = field();
    let mut shortest_min = None;
    for tenths in (10..200).rev() {
        Arc::make_mut(&mut scenario.equipment).aircraft[0].airframe.endurance_min = f64::from(tenths) / 10.0;
        let nadir = outcome(&scenario, 10, Depth::Quick);
        if !nadir.feasible() {
            break;
        }
        shortest_min = Some(nadir);
    }
    let nadir = shortest_min.unwrap();
    let shortest = Arc::make_mut(&mut scenario.equipment);
    shortest.aircraft[0].airframe.endurance_min += 0.1;
    let drawn = outcome(&scenario, 10, Depth::Spread);
    let bands = drawn.bands().unwrap();
    let told = format!("in {} of 1000 draws", bands.out_of_reach);
    assert!(drawn.cautions.iter().any(|caution| caution.text.contains(&told)), "{:?}", drawn.cautions);
    assert!(bands.out_of_reach > 10 && bands.out_of_reach < 900, "{}", bands.out_of_reach);
    let planned_s = nadir.timing.as_ref().unwrap().time.time_on_site_s();
    assert!(bands.time_on_site_s.p10 <= planned_s && planned_s <= bands.time_on_site_s.p90);
}
