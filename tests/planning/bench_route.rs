//! Route, time, count and nominal GSD of one strategy of each kind, on the middle scene's 22 ha with 20 structures and a
//! deck, the ground followed: what a slider waits for. Goal: under 1 ms.
//!
//! `cargo bench -p obliquity-planning --bench route`

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]

#[allow(dead_code, reason = "the other bench uses the rest")]
#[path = "bench_scene.rs"]
mod bench_scene;
#[path = "scene.rs"]
#[allow(dead_code, clippy::wildcard_imports, reason = "the tests use the rest")]
mod scene;

use bench_scene::{Ground, Scene};
use divan::{Bencher, black_box};
use glam::DVec2;
use obliquity_planning::{
    Above, Depth, Distance, Evaluator, Id, NoWatch, Scenario, Site, SiteChoice, SiteTemplate, Store,
    Structure, StructureKind, Template, TemplateStart,
};

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

const KINDS: [&str; 8] = [
    "Nadir block",
    "Crossed strips",
    "Five-direction oblique",
    "Cycled gimbal",
    "Corridor",
    "Nadir block with orbits",
    "Facade wrap",
    "Underside sections",
];

/// The middle scene with a deck between its structures.
fn site(ground: Ground) -> Site {
    let mut site = bench_scene::site(Scene { ground, side: 1.0 }, 1.92);
    let corners = [(100.0, 112.0), (380.0, 112.0), (380.0, 128.0), (100.0, 128.0)];
    site.structures.push(Structure {
        id: Id(100),
        name: String::new(),
        footprint_m: corners.map(DVec2::from).to_vec(),
        kind: StructureKind::Deck { soffit_m: 24.0, top_m: 25.5, piers: Vec::new() },
    });
    site
}

/// A scenario with one strategy of a kind, led by 2 cm above the ground followed.
fn scenario(kind: &str, ground: Ground) -> Scenario {
    let distance = Distance::Gsd { cm: 2.0, above: Above::Ground };
    let mut scenario = scene::scenario(site(ground), 73.0);
    let mut aircraft = scene::aircraft();
    (aircraft.gimbal.tilt_max_deg, aircraft.gimbal.pan_min_deg, aircraft.gimbal.pan_max_deg) =
        (130.0, -180.0, 180.0);
    std::sync::Arc::make_mut(&mut scenario.equipment).aircraft[0] = aircraft.clone();
    let strategy = if let Some(template) = Template::ALL.into_iter().find(|template| template.name() == kind)
    {
        template.strategy(Id(1000), aircraft.id, distance)
    } else {
        let template = SiteTemplate::ALL.into_iter().find(|template| template.name() == kind).unwrap();
        let gsd_cm = &scenario.requirement.gsd_cm;
        let start = TemplateStart { first_id: Id(1000), aircraft: &aircraft, distance, gsd_cm };
        template.strategy(&scenario.site, &SiteChoice::default(), &start).unwrap()
    };
    scenario.strategies = vec![strategy];
    scenario
}

/// Nothing is kept from before: the site's outline is made anew, too.
#[divan::bench(args = KINDS)]
fn anew(bencher: Bencher<'_, '_>, kind: &str) {
    let scenario = scenario(kind, Ground::Gentle);
    bencher.bench_local(|| evaluate(&Store::new(0), black_box(&scenario)));
}

/// As a slider does it: the site is known, and how ways lead home from the corners of what stands there; every pass of the
/// strategy is planned again.
#[divan::bench(args = KINDS)]
fn with_the_site_kept(bencher: Bencher<'_, '_>, kind: &str) {
    moved(bencher, kind, Ground::Gentle);
}

/// The same on rugged ground.
#[divan::bench(args = KINDS)]
fn with_the_site_kept_rugged(bencher: Bencher<'_, '_>, kind: &str) {
    moved(bencher, kind, Ground::Rugged);
}

fn moved(bencher: Bencher<'_, '_>, kind: &str, ground: Ground) {
    let (mut scenario, store) = (scenario(kind, ground), Store::new(1 << 26));
    let mut overlap = 0.7;
    bencher.bench_local(|| {
        overlap += 1e-7;
        for pass in &mut scenario.strategies[0].passes {
            pass.forward_overlap = overlap;
        }
        evaluate(&store, black_box(&scenario))
    });
}

/// Images of the strategy.
fn evaluate(store: &Store, scenario: &Scenario) -> usize {
    let evaluator = Evaluator { store, watch: &NoWatch };
    let outcome = evaluator.evaluate(scenario, scenario.strategies[0].id, Depth::Quick).unwrap();
    outcome.passes.iter().map(|pass| pass.laid().unwrap().stations.poses.len()).sum()
}
