//! The whole board on the demo: what follows a slider, and what comes after it.
//!
//! `cargo bench -p obliquity-exchange`

use divan::{Bencher, black_box};
use glam::DVec2;
use obliquity_exchange::parse_scenario;
use obliquity_planning::{Depth, Distance, Evaluator, NoWatch, Outcome, Scenario, Store};
use std::sync::Arc;

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

fn demo() -> Scenario {
    parse_scenario(include_str!("../../assets/demo.ron"), "demo.ron").expect("the demo opens")
}

/// Four strategies with nothing kept from before: route, count, time, nominal GSD. Goal: under 4 ms.
#[divan::bench(args = [Depth::Quick, Depth::Views])]
fn four_strategies_anew(bencher: Bencher<'_, '_>, depth: Depth) {
    let scenario = demo();
    bencher.bench_local(|| {
        let store = Store::new(0);
        Evaluator { store: &store, watch: &NoWatch }.evaluate_all(black_box(&scenario), depth)
    });
}

/// The three strategies of the quarry, on a grid of heights, with nothing kept from before.
#[divan::bench(args = [Depth::Quick, Depth::Views])]
fn quarry_anew(bencher: Bencher<'_, '_>, depth: Depth) {
    let scenario = parse_scenario(include_str!("../../examples/quarry.ron"), "quarry.ron").expect("it opens");
    bencher.bench_local(|| {
        let store = Store::new(0);
        Evaluator { store: &store, watch: &NoWatch }.evaluate_all(black_box(&scenario), depth)
    });
}

/// The demo's four strategies on 400 ha of open ground, taken off from in its middle, with nothing kept from before: 91,000
/// images.
#[divan::bench(args = [Depth::Quick, Depth::Views], sample_count = 3)]
fn four_hundred_hectares_anew(bencher: Bencher<'_, '_>, depth: Depth) {
    let mut scenario = demo();
    let site = Arc::make_mut(&mut scenario.site);
    site.boundary_m = [(0.0, 0.0), (2000.0, 0.0), (2000.0, 2000.0), (0.0, 2000.0)].map(DVec2::from).to_vec();
    site.take_off_m = DVec2::splat(1000.0);
    site.structures.clear();
    site.keep_outs.clear();
    bencher.bench_local(|| {
        let store = Store::new(0);
        let outcomes = Evaluator { store: &store, watch: &NoWatch }.evaluate_all(black_box(&scenario), depth);
        assert!(outcomes.as_ref().is_ok_and(|all| all.iter().all(Outcome::feasible)), "{outcomes:?}");
        outcomes
    });
}

/// Four strategies after one slider moved: one pass is planned again.
#[divan::bench]
fn four_strategies_after_a_slider_moved(bencher: Bencher<'_, '_>) {
    let (mut scenario, store) = (demo(), Store::new(1 << 28));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let mut overlap = 0.6;
    bencher.bench_local(|| {
        overlap += 1e-6;
        scenario.strategies[1].passes[0].forward_overlap = overlap;
        evaluator.evaluate_all(black_box(&scenario), Depth::Quick)
    });
}

/// How sure time and energy of four strategies are: 1,000 draws each, and 100 for each of five causes. Goal: under 0.2 s.
#[divan::bench]
fn bands_of_four_strategies(bencher: Bencher<'_, '_>) {
    let (mut scenario, store) = (demo(), Store::new(1 << 28));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate_all(&scenario, Depth::Quick).expect("evaluated");
    bencher.bench_local(|| {
        scenario.conditions.spread.seed += 1;
        evaluator.evaluate_all(black_box(&scenario), Depth::Spread)
    });
}

/// Four strategies after the GSD of every pass changed: all passes are planned again, the site and the day are kept.
#[divan::bench]
fn four_strategies_after_every_gsd_moved(bencher: Bencher<'_, '_>) {
    let (mut scenario, store) = (demo(), Store::new(1 << 28));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    let mut to = 2.0;
    bencher.bench_local(|| {
        to += 1e-6;
        for pass in scenario.strategies.iter_mut().flat_map(|strategy| &mut strategy.passes) {
            pass.distance = Distance::Gsd { cm: to, above: pass.distance.above() };
        }
        evaluator.evaluate_all(black_box(&scenario), Depth::Quick)
    });
}

/// Four strategies after a limit of the requirement changed: no ray is cast.
#[divan::bench]
fn four_strategies_after_a_limit_changed(bencher: Bencher<'_, '_>) {
    let (mut scenario, store) = (demo(), Store::new(1 << 30));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate_all(&scenario, Depth::Views).expect("evaluated");
    bencher.bench_local(|| {
        scenario.requirement.views.max_incidence_deg -= 1e-6;
        evaluator.evaluate_all(black_box(&scenario), Depth::Views)
    });
}
