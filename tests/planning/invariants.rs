//! What must hold for every scenario: drawn ones are told otherwise, and nothing may come out otherwise.
//!
//! A few dozen scenarios are drawn; `OBLIQUITY_SCENARIOS=1000` draws as many as it says, `OBLIQUITY_FIRST_SEED` begins
//! elsewhere.

use crate::generate::{Dice, scenario};
use crate::transform::{begun_elsewhere, each_pass, mirrored, moved, reversed, turned};
use glam::DVec2;
use obliquity_planning::*;
use std::cmp::Ordering;

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

#[expect(clippy::disallowed_methods, reason = "a run by hand draws more")]
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
        if a != b && (a - b).abs().partial_cmp(&room).is_none_or(Ordering::is_gt) {
            self.faults.push(format!("{}: {what} {a}, told otherwise {b}", self.at));
        }
    }

    fn within(&mut self, what: &str, a: f64, b: f64, room: f64) {
        if (a - b).abs().partial_cmp(&room).is_none_or(Ordering::is_gt) {
            self.faults.push(format!("{}: {what} {a}, told otherwise {b}", self.at));
        }
    }
}

/// Every planned count and every figure that takes neither samples nor draws.
fn planned(beside: &mut Beside, a: &Outcome, b: &Outcome) {
    beside.count("reasons", a.reasons.len() as u64, b.reasons.len() as u64);
    for (k, (p, q)) in a.passes.iter().zip(&b.passes).enumerate() {
        let of = |what: &str| format!("pass {} {what}", k + 1);
        beside.count(&of("laid"), p.laid().is_some().into(), q.laid().is_some().into());
        beside.number(&of("flight time"), p.flight_time_s.unwrap_or(-1.0), q.flight_time_s.unwrap_or(-1.0));
        let (Some(p), Some(q)) = (p.laid(), q.laid()) else { continue };
        let (l, m) = (&p.layout, &q.layout);
        beside.count(&of("strips"), l.strips.into(), m.strips.into());
        beside.count(&of("skipped"), p.skipped.into(), q.skipped.into());
        beside.count(&of("images"), p.stations.poses.len() as u64, q.stations.poses.len() as u64);
        beside.number(&of("length"), l.strips_length_m, m.strips_length_m);
        let width_m = |layout: &LayoutTerms| layout.region_width_m.unwrap_or_default();
        beside.number(&of("width"), width_m(l), width_m(m));
        beside.number(&of("height"), l.height_m, m.height_m);
        beside.number(&of("base"), l.air_base_m, m.air_base_m);
        beside.number(&of("spacing"), l.strip_spacing_m, m.strip_spacing_m);
        beside.number(&of("speed"), p.speed.speed_mps, q.speed.speed_mps);
    }
    for row in MEASURES.iter().filter(|row| row.depth == Depth::Quick) {
        beside.number(row.name, row.read(a).unwrap_or(-1.0), row.read(b).unwrap_or(-1.0));
    }
    if let (Some(s), Some(t)) = (&a.load, &b.load) {
        beside.count("skipped", s.skipped_exposures.into(), t.skipped_exposures.into());
        beside.count("pairs", s.image_pairs.unwrap_or(0), t.image_pairs.unwrap_or(0));
    }
    if let (Some(a), Some(b)) = (&a.timing, &b.timing) {
        flown(beside, a, b);
    }
}

fn flown(beside: &mut Beside, a: &Timing, b: &Timing) {
    let (t, u) = (a.flight.terms, b.flight.terms);
    beside.number("strips", t.strips_s, u.strips_s);
    beside.number("links", t.links_s, u.links_s);
    beside.number("turns", t.turns_s, u.turns_s);
    beside.number("climbs and descents", t.vertical_s, u.vertical_s);
    beside.number("transits", t.transits_s, u.transits_s);
    beside.count("moves", a.flight.moves().into(), b.flight.moves().into());
    beside.number("farthest", a.flight.farthest_m, b.flight.farthest_m);
    for (s, r) in a.flight.sorties.iter().zip(&b.flight.sorties) {
        beside.count("exposures of a sortie", s.exposures.into(), r.exposures.into());
        beside.count("take-off point of a sortie", s.home.into(), r.home.into());
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
        // Of uneven ground the samples say how large it is.
        beside.within(&of("area"), p.area_m2, q.area_m2, SHARE * p.area_m2);
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

/// Derived: what is counted twice is counted alike, and parts add up to the whole.
#[test]
fn counts_and_budgets_add_up() {
    hold("sums", |scenario, _| {
        let mut beside = Beside { faults: Vec::new(), at: String::new() };
        for (id, outcome) in told(scenario, Depth::Views) {
            let Ok(outcome) = outcome else { continue };
            let (Some(timing), Some(load)) = (&outcome.timing, &outcome.load) else { continue };
            beside.at = scenario.strategy(id).map_or(String::new(), |strategy| strategy.name.clone());
            add_up(&mut beside, scenario, &outcome, (timing, load));
        }
        beside.faults
    });
}

fn add_up(
    beside: &mut Beside,
    scenario: &Scenario,
    outcome: &Outcome,
    (timing, load): (&Timing, &LoadFigures),
) {
    let conditions = &scenario.conditions;
    let (flight, time, images) = (&timing.flight, &timing.time, u64::from(load.image_count));
    let laid = || outcome.passes.iter().filter_map(PassOutcome::laid);
    beside.count("stations", images, laid().map(|plan| plan.stations.poses.len() as u64).sum());
    beside.count("exposures of sorties", images, flight.sorties.iter().map(|s| u64::from(s.exposures)).sum());
    beside.count("stops", images, flight.legs.iter().map(|flown| flown.leg.stops.len() as u64).sum());
    beside.count("timed", images, flight.station_time_s.iter().map(|times| times.len() as u64).sum());
    beside.count("skipped", load.skipped_exposures.into(), laid().map(|plan| u64::from(plan.skipped)).sum());
    beside.number("sorties", time.flight_s, flight.sorties.iter().map(|s| s.duration_s).sum());
    let legs = flight.legs.iter().map(|flown| flown.turn_s + flown.moving_s);
    beside.number("legs", time.flight_s, legs.sum());
    beside.number("moves", time.moves_s, f64::from(flight.moves()) * 60.0 * conditions.move_min);
    beside.number("waits", time.waits_s, flight.sorties.iter().map(|s| s.wait_s).sum());
    beside.number("energy", flight.energy_j(), flight.legs.iter().map(|flown| flown.energy_j).sum());
    beside.number("length", flight.route_length_m, flight.legs.iter().map(|f| f.leg.length_m()).sum());
    let crew_s = 60.0 * (conditions.set_up_min + conditions.pack_up_min);
    let control_s = 60.0 * f64::from(conditions.control_points) * conditions.per_control_point_min;
    let there_s = crew_s + control_s + time.flight_s + time.swaps_s + time.waits_s + time.moves_s;
    beside.number("time on site", time.time_on_site_s(), there_s);
    let parts: u64 = timing.time_budget().parts_s.iter().map(|(_, seconds)| seconds).sum();
    beside.count("budget", time.time_on_site_s().round() as u64, parts);
    let Some(views) = &outcome.views else { return };
    for class in SurfaceClass::ALL {
        let Some(figures) = &views.classes[class] else { continue };
        let short = figures.shortage;
        let why = [short.outside_frames, short.hidden, short.too_slanted, short.too_coarse];
        let short = why.iter().sum::<f64>() + short.too_few + short.not_linked;
        beside.number(&format!("{class:?} shares"), 1.0, figures.covered_ratio + short);
    }
}

/// Derived: a smaller air base plans no fewer exposures, where neither the margin nor the direction depends on it.
#[test]
fn more_forward_overlap_never_plans_fewer_exposures() {
    hold("forward overlap", |scenario, dice| {
        let more = dice.within(0.01, 0.1);
        let mut sparse = scenario.clone();
        each_pass(&mut sparse, |pass| {
            if let Pattern::Strips(Strips { direction, .. }) = &mut pass.pattern {
                *direction = StripDirection::FromNorth { deg: 10.0 * f64::from(pass.id.0 % 36) };
            }
            pass.margin_m = Some(pass.margin_m.unwrap_or(20.0));
        });
        let mut dense = sparse.clone();
        each_pass(&mut dense, |pass| pass.forward_overlap += more);
        let mut beside = Beside { faults: Vec::new(), at: String::new() };
        for ((id, a), (_, b)) in told(&sparse, Depth::Quick).into_iter().zip(told(&dense, Depth::Quick)) {
            let (Ok(a), Ok(b)) = (a, b) else { continue };
            beside.at = scenario.strategy(id).map_or(String::new(), |strategy| strategy.name.clone());
            for (k, (p, q)) in a.passes.iter().zip(&b.passes).enumerate() {
                let (Some(p), Some(q)) = (p.laid(), q.laid()) else { continue };
                let planned = |plan: &PassPlan| plan.stations.poses.len() as u64 + u64::from(plan.skipped);
                if planned(p) > planned(q) {
                    let text = format!("pass {} plans {}, denser {}", k + 1, planned(p), planned(q));
                    beside.faults.push(format!("{}: {text}", beside.at));
                }
            }
        }
        beside.faults
    });
}

/// What the surfaces of a scenario get, against what they get after a change that can only add views.
fn covered_no_less(scenario: &Scenario, after: &Scenario) -> Vec<String> {
    let mut faults = Vec::new();
    for ((id, a), (_, b)) in told(scenario, Depth::Views).into_iter().zip(told(after, Depth::Views)) {
        let (Ok(a), Ok(b)) = (a, b) else { continue };
        for class in SurfaceClass::ALL {
            if let (Some(before), Some(then)) = (a.coverage()[class], b.coverage()[class])
                && then < before - 1e-9
            {
                faults.push(format!("strategy {id}: {class:?} covered {before}, then {then}"));
            }
        }
    }
    faults
}

/// Derived: a view that counted still counts.
#[test]
fn a_larger_incidence_never_covers_less() {
    hold("max_incidence", |scenario, dice| {
        let mut wider = scenario.clone();
        wider.requirement.views.max_incidence_deg += dice.within(1.0, 20.0);
        covered_no_less(scenario, &wider)
    });
}

/// Derived: a pass is laid out by itself, so that every view that was there stays.
#[test]
fn adding_a_pass_never_covers_less_and_moves_no_other() {
    hold("added pass", |scenario, dice| {
        let mut more = scenario.clone();
        let free = scenario.free_id().0;
        for (k, strategy) in more.strategies.iter_mut().enumerate() {
            let distance = Distance::Height { m: dice.within(60.0, 110.0), above: Above::MeanGround };
            let template = Template::ALL[dice.whole(0, 2) as usize];
            let mut made = template.strategy(Id(free + 100 * k as u32), strategy.aircraft, distance);
            let chosen = dice.whole(0, made.passes.len() as u32 - 1) as usize;
            let at = dice.whole(0, strategy.passes.len() as u32) as usize;
            strategy.passes.insert(at, made.passes.swap_remove(chosen));
        }
        let mut faults = covered_no_less(scenario, &more);
        for ((id, a), (_, b)) in told(scenario, Depth::Quick).into_iter().zip(told(&more, Depth::Quick)) {
            let (Ok(a), Ok(b)) = (a, b) else { continue };
            let kept = |one: &&PassOutcome| b.passes.iter().any(|other| other.plan == one.plan);
            let moved = a.passes.len() - a.passes.iter().filter(kept).count();
            if moved > 0 {
                faults.push(format!("strategy {id}: {moved} passes are laid out otherwise"));
            }
        }
        faults
    });
}

/// Derived: whoever has more batteries waits no longer for chargers.
#[test]
fn more_batteries_never_make_a_longer_stay() {
    hold("batteries", |scenario, dice| {
        let mut few = scenario.clone();
        few.conditions.battery_sets = dice.whole(1, 4);
        let charge_min = dice.within(20.0, 90.0);
        few.conditions.charging =
            Some(Charging { supply: Supply::Generator, charge_min, at_once: dice.whole(1, 3) });
        let mut many = few.clone();
        many.conditions.battery_sets += dice.whole(1, 3);
        let mut faults = Vec::new();
        for ((id, a), (_, b)) in told(&few, Depth::Quick).into_iter().zip(told(&many, Depth::Quick)) {
            let timing = |outcome: Result<Outcome, String>| outcome.ok().and_then(|outcome| outcome.timing);
            let (Some(a), Some(b)) = (timing(a), timing(b)) else { continue };
            let (a_s, b_s) = (a.time.time_on_site_s(), b.time.time_on_site_s());
            if b_s > a_s + 1e-9 {
                faults.push(format!("strategy {id}: {a_s} s, with more batteries {b_s} s"));
            }
        }
        faults
    });
}
