//! What must hold for every scenario: drawn ones are told otherwise, and nothing may come out otherwise.
//!
//! A few dozen scenarios are drawn; `OBLIQUITY_SCENARIOS=1000` draws as many as it says, `OBLIQUITY_FIRST_SEED` begins
//! elsewhere.

use crate::generate::{Dice, scenario};
use crate::transform::{begun_elsewhere, mirrored, moved, reversed, turned};
use glam::DVec2;
use obliquity_planning::*;

/// Drawn where nothing else is asked for.
const FEW: u64 = 24;

/// What is allowed between two tellings of a scenario.
///
/// Derived: a moved site has coordinates of kilometres, so that a double keeps 1e-12 m of each; 1e-6 leaves room for what
/// that grows to in sums and slopes. The lattice of samples moves with the outline, so that only samples within a
/// rounding of the edge of a frame, a shadow or a limit may change sides: 0.05 percentage points of a surface, 0.1 % of a
/// percentile of GSD.
const FIGURE_RATIO: f64 = 1e-6;
const SHARE: f64 = 0.0005;
const GSD_RATIO: f64 = 0.001;

/// Of a few thousand samples a surface that is drawn may have so few that one of them is more than the share allowed.
const SAMPLES_BESIDE: f64 = 2.0;

fn asked_for(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// Draws scenarios and gathers what does not hold.
fn hold(what: &str, faults: impl Fn(&Scenario, &mut Dice) -> Vec<String>) {
    let (first, count) = (asked_for("OBLIQUITY_FIRST_SEED", 0), asked_for("OBLIQUITY_SCENARIOS", FEW));
    let mut failed = Vec::new();
    for seed in first..first + count {
        let found = faults(&scenario(seed), &mut Dice::new(seed ^ 0x5eed));
        if !found.is_empty() {
            let told = if count == 1 { found.len() } else { 1 };
            failed.push(format!("seed {seed} ({} faults): {}", found.len(), found[..told].join("\n")));
        }
    }
    let told = failed.iter().take(40).cloned().collect::<Vec<_>>().join("\n");
    assert!(failed.is_empty(), "{what}: {} of {count} scenarios fail\n{told}", failed.len());
}

type Told = Vec<(Id, Result<Outcome, String>)>;

fn told(scenario: &Scenario, depth: Depth) -> Told {
    let store = Store::new(64 << 20);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let one = |id: Id| evaluator.evaluate(scenario, id, depth).map_err(|e| e.to_string());
    scenario.strategies.iter().map(|strategy| (strategy.id, one(strategy.id))).collect()
}

/// Compares what two tellings of one scenario come to.
struct Beside {
    faults: Vec<String>,
    at: String,
}

impl Beside {
    fn count(&mut self, what: &str, a: u64, b: u64) {
        if a != b {
            self.faults.push(format!("{}: {what} {a}, told otherwise {b}", self.at));
        }
    }

    fn number(&mut self, what: &str, a: f64, b: f64) {
        let room = FIGURE_RATIO * a.abs().max(b.abs()).max(1.0);
        if a != b && !((a - b).abs() <= room) {
            self.faults.push(format!("{}: {what} {a}, told otherwise {b}", self.at));
        }
    }

    fn within(&mut self, what: &str, a: f64, b: f64, room: f64) {
        if !((a - b).abs() <= room) {
            self.faults.push(format!("{}: {what} {a}, told otherwise {b}", self.at));
        }
    }
}

/// Every planned count and every figure that takes neither samples nor draws.
fn planned(beside: &mut Beside, a: &Outcome, b: &Outcome) {
    beside.count("reasons", a.reasons.len() as u64, b.reasons.len() as u64);
    beside.count("images", a.image_count.into(), b.image_count.into());
    beside.count("skipped", a.skipped_exposures.into(), b.skipped_exposures.into());
    beside.count("sorties", a.flight.sorties.len() as u64, b.flight.sorties.len() as u64);
    beside.count("pairs", a.load.image_pairs.unwrap_or(0), b.load.image_pairs.unwrap_or(0));
    for (k, (p, q)) in a.passes.iter().zip(&b.passes).enumerate() {
        let of = |what: &str| format!("pass {} {what}", k + 1);
        let (l, m) = (&p.plan.layout, &q.plan.layout);
        beside.count(&of("refused"), p.plan.refused.is_some().into(), q.plan.refused.is_some().into());
        beside.count(&of("strips"), l.strips.into(), m.strips.into());
        beside.count(&of("images"), p.image_count.into(), q.image_count.into());
        beside.number(&of("length"), l.strips_length_m, m.strips_length_m);
        beside.number(&of("width"), l.region_width_m, m.region_width_m);
        beside.number(&of("height"), l.height_m, m.height_m);
        beside.number(&of("base"), l.air_base_m, m.air_base_m);
        beside.number(&of("spacing"), l.strip_spacing_m, m.strip_spacing_m);
        beside.number(&of("speed"), p.plan.speed.speed_mps, q.plan.speed.speed_mps);
        beside.number(&of("flight time"), p.flight_time_s, q.flight_time_s);
    }
    let (t, u) = (a.flight.terms, b.flight.terms);
    beside.number("strips", t.strips_s, u.strips_s);
    beside.number("links", t.links_s, u.links_s);
    beside.number("turns", t.turns_s, u.turns_s);
    beside.number("climbs and descents", t.vertical_s, u.vertical_s);
    beside.number("transits", t.transits_s, u.transits_s);
    beside.number("farthest", a.flight.farthest_m, b.flight.farthest_m);
    for row in MEASURES.iter().filter(|row| row.depth == Depth::Quick) {
        beside.number(row.name, (row.read)(a).unwrap_or(-1.0), (row.read)(b).unwrap_or(-1.0));
    }
    for (s, r) in a.flight.sorties.iter().zip(&b.flight.sorties) {
        beside.count("exposures of a sortie", s.exposures.into(), r.exposures.into());
        beside.number("duration of a sortie", s.duration_s, r.duration_s);
        beside.number("energy of a sortie", s.energy_j, r.energy_j);
    }
}

/// What rests on samples.
fn sampled(beside: &mut Beside, a: &Outcome, b: &Outcome) {
    let (Some(site), Some(seen), Some(other)) = (&a.site, &a.views, &b.views) else { return };
    for class in SurfaceClass::ALL {
        let (Some(p), Some(q)) = (&seen.classes[class], &other.classes[class]) else {
            let has = |of: &ViewFigures| u64::from(of.classes[class].is_some());
            beside.count(&format!("{class:?}"), has(seen), has(other));
            continue;
        };
        let of = |what: &str| format!("{class:?} {what}");
        let samples = site.samples().filter(|sample| sample.class == class).count() as f64;
        let share = SHARE.max(SAMPLES_BESIDE / samples);
        beside.number(&of("area"), p.area_m2, q.area_m2);
        beside.within(&of("covered"), p.covered_ratio, q.covered_ratio, share);
        beside.within(&of("unseen"), p.unseen_ratio, q.unseen_ratio, share);
        if let (Some(p), Some(q)) = (p.gsd, q.gsd) {
            beside.within(&of("GSD"), p.p5_m, q.p5_m, GSD_RATIO * p.p5_m);
            beside.within(&of("GSD, median"), p.p50_m, q.p50_m, GSD_RATIO * p.p50_m);
            beside.within(&of("GSD, 95th"), p.p95_m, q.p95_m, GSD_RATIO * p.p95_m);
        }
    }
}

/// Every strategy of a scenario against the same one of another telling.
fn apart(scenario: &Scenario, otherwise: &Scenario) -> Vec<String> {
    let faults = otherwise.faults();
    assert!(faults.is_empty(), "{faults:?}");
    let (a, b) = (told(scenario, Depth::Views), told(otherwise, Depth::Views));
    let mut beside = Beside { faults: Vec::new(), at: String::new() };
    for (id, one) in &a {
        let other = b.iter().find(|(known, _)| known == id).map(|(_, other)| other);
        beside.at = scenario.strategy(*id).map_or(String::new(), |strategy| strategy.name.clone());
        match (one, other) {
            (Ok(one), Some(Ok(other))) => {
                planned(&mut beside, one, other);
                sampled(&mut beside, one, other);
            }
            (Err(one), Some(Err(other))) if one == other => {}
            (one, other) => {
                let said = |of: &Result<Outcome, String>| of.as_ref().err().cloned();
                beside.faults.push(format!("{}: {:?}, {:?}", beside.at, said(one), other.and_then(said)));
            }
        }
    }
    beside.faults
}

#[test]
fn moving_the_site_changes_nothing() {
    hold("moved", |scenario, dice| {
        let by_m = DVec2::new(dice.within(-4000.0, 4000.0), dice.within(-4000.0, 4000.0));
        apart(scenario, &moved(scenario, by_m))
    });
}

#[test]
fn turning_the_site_changes_nothing() {
    hold("turned", |scenario, dice| {
        let deg = match scenario.site.terrain {
            Terrain::Plane { .. } => dice.within(0.0, 360.0),
            Terrain::Grid(_) => 180.0,
        };
        apart(scenario, &turned(scenario, deg))
    });
}

#[test]
fn mirroring_the_site_changes_nothing() {
    hold("mirrored", |scenario, _| match scenario.site.terrain {
        Terrain::Plane { .. } => apart(scenario, &mirrored(scenario)),
        Terrain::Grid(_) => Vec::new(),
    });
}

#[test]
fn beginning_the_outline_elsewhere_changes_nothing() {
    hold("begun elsewhere", |scenario, dice| {
        let corners = scenario.site.boundary_m.len() as u32;
        apart(scenario, &begun_elsewhere(scenario, dice.whole(1, corners - 1) as usize))
    });
}

#[test]
fn running_outlines_the_other_way_round_changes_nothing() {
    hold("clockwise", |scenario, _| apart(scenario, &reversed(scenario)));
}

#[test]
fn the_order_of_strategies_changes_nothing() {
    hold("order of strategies", |scenario, _| {
        let mut otherwise = scenario.clone();
        otherwise.strategies.reverse();
        apart(scenario, &otherwise)
    });
}

#[test]
fn a_strategy_does_not_depend_on_the_others() {
    hold("alone", |scenario, dice| {
        let chosen = dice.whole(0, scenario.strategies.len() as u32 - 1) as usize;
        let mut alone = scenario.clone();
        alone.strategies = vec![scenario.strategies[chosen].clone()];
        apart(&alone, scenario)
    });
}
