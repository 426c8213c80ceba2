//! Route, time and count of two strategies among keep-outs, against their corners and their number: near linear in both.
//!
//! `cargo bench -p obliquity-planning --bench detours`

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]

#[path = "scene.rs"]
#[allow(dead_code, clippy::wildcard_imports, reason = "the tests use the rest")]
mod scene;

use divan::{Bencher, black_box};
use glam::DVec2;
use obliquity_planning::{Depth, Evaluator, Id, KeepOut, NoWatch, Scenario, Store};
use std::f64::consts::TAU;

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

/// So many keep-outs of so many corners, on 22 ha.
const SITES: [(u32, u32); 8] =
    [(0, 0), (1, 10), (1, 100), (1, 1000), (10, 10), (10, 100), (100, 10), (100, 100)];

/// An outline whose radius waves by an eighth, a wave every five corners.
fn outline(corners: u32, middle_m: DVec2, radius_m: f64) -> Vec<DVec2> {
    let at = |k: u32| {
        let wave = 1.0 + 0.12 * (TAU * f64::from(k) / 5.0).sin();
        middle_m + DVec2::from_angle(TAU * f64::from(k) / f64::from(corners)) * radius_m * wave
    };
    (0..corners).map(at).collect()
}

/// A nadir block and a cycled gimbal at 73 m with a battery every quarter of an hour.
fn scenario((count, corners): (u32, u32)) -> Scenario {
    let mut site = scene::level_site(&[(0.0, 0.0), (470.0, 0.0), (470.0, 470.0), (0.0, 470.0)]);
    site.take_off_m = DVec2::new(-20.0, -15.0);
    let side = f64::from(count).sqrt().ceil();
    let step_m = 470.0 / side.max(1.0);
    site.keep_outs = (0..count)
        .map(|k| {
            let at = DVec2::new((f64::from(k) % side).floor() + 0.53, (f64::from(k) / side).floor() + 0.47);
            KeepOut { name: format!("Keep-out {k}"), outline_m: outline(corners, at * step_m, 0.25 * step_m) }
        })
        .collect();
    let mut scenario = scene::scenario(site, 73.0);
    scenario.strategies.retain(|strategy| [Id(10), Id(40)].contains(&strategy.id));
    let mut equipment = (*scenario.equipment).clone();
    equipment.aircraft.iter_mut().for_each(|aircraft| aircraft.airframe.endurance_min = 15.0);
    scenario.equipment = equipment.into();
    scenario
}

/// Nothing is kept from before.
#[divan::bench(args = SITES)]
fn anew(bencher: Bencher<'_, '_>, site: (u32, u32)) {
    let scenario = scenario(site);
    bencher.bench_local(|| evaluate(&Store::new(0), black_box(&scenario)));
}

/// As a slider does it: the site is known, every pass is planned again.
#[divan::bench(args = SITES)]
fn with_the_site_kept(bencher: Bencher<'_, '_>, site: (u32, u32)) {
    let (mut scenario, store) = (scenario(site), Store::new(1 << 26));
    let mut overlap = 0.7;
    bencher.bench_local(|| {
        overlap += 1e-7;
        for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
            pass.forward_overlap = overlap;
        }
        evaluate(&store, black_box(&scenario))
    });
}

/// Legs of all flights.
fn evaluate(store: &Store, scenario: &Scenario) -> usize {
    let evaluator = Evaluator { store, watch: &NoWatch };
    let outcomes = evaluator.evaluate_all(scenario, Depth::Quick).unwrap();
    outcomes.iter().map(|outcome| outcome.flight().unwrap().legs.len()).sum()
}
