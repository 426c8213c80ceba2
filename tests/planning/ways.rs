//! No route on drawn sites comes into anything.

use crate::generate::{self, Dice, star};
use crate::walk::Surroundings;
use glam::DVec2;
use obliquity_planning::*;
use std::sync::Arc;

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
    corridor.passes[0].attitudes = cycled.passes[0].attitudes.clone();
    scenario.strategies = vec![cycled, corridor];
    scenario
}
