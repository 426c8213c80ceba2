//! The adjustment of whole strategies before they are flown: by the clock, by the processor, how long it does not ask whether it
//! is still wanted, and how far a preview lies from the whole.
//!
//! `cargo bench -p obliquity-exchange --bench block`: the demo's largest strategy; `-- all`: every strategy of demo and
//! examples; `-- denser` holds each against three times the tie points as well.

#![expect(clippy::unwrap_used, reason = "a bench ends at the first surprise")]
#![expect(clippy::print_stdout, reason = "a bench says what it measured")]

#[path = "block_figures.rs"]
mod block_figures;

use block_figures::{thinned, told_figures};
use obliquity_exchange::parse_scenario;
use obliquity_planning::{
    Cancelled, Depth, Evaluator, Id, NetworkFigures, NetworkTerms, NoWatch, Scenario, Store, Thinning, Watch,
};
use std::path::Path;
use std::sync::Mutex;
use std::time::Instant;

fn main() {
    let has = |word: &str| std::env::args().any(|arg| arg == word);
    let only = std::env::var("OBLIQUITY_ONLY").unwrap_or_default();
    let files: Vec<String> = if has("all") {
        let examples = [
            "tower_facades",
            "bridge",
            "quarry",
            "sandpit",
            "road_corridor",
            "suburb",
            "aircraft_at_equal_gsd",
        ];
        examples
            .iter()
            .map(|name| format!("examples/{name}.ron"))
            .chain(["assets/demo.ron".to_owned()])
            .collect()
    } else {
        vec!["assets/demo.ron".to_owned()]
    };
    for path in files {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let scenario = parse_scenario(&std::fs::read_to_string(root.join(&path)).unwrap(), &path).unwrap();
        for strategy in &scenario.strategies {
            let largest = strategy.name == "Cycled gimbal";
            let name = format!("{path}, {}", strategy.name);
            if (has("all") || largest) && name.contains(&only) {
                one(&scenario, strategy.id, &name, has("denser"));
            }
        }
    }
}

/// When it was last asked for, and the longest that it was not.
struct Asked(Mutex<(Instant, f64)>);

impl Watch for Asked {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let now = Instant::now();
        let mut last = self.0.lock().unwrap();
        let gap_s = (now - last.0).as_secs_f64();
        *last = (now, last.1.max(gap_s));
        Ok(())
    }
}

fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap_or_default().split_whitespace().collect();
    let of = |k: usize| fields.get(k).and_then(|word| word.parse::<f64>().ok()).unwrap_or(0.0);
    (of(11) + of(12)) / 100.0
}

fn one(scenario: &Scenario, strategy: Id, name: &str, denser: bool) {
    let store = Store::new(1 << 30);
    let seen =
        Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, strategy, Depth::Views).unwrap();
    if seen.views.is_none() {
        return;
    }
    let mut told: Vec<(String, NetworkFigures)> = Vec::new();
    for (what, depth) in [("preview", Depth::Preview), ("whole", Depth::Network)] {
        let asked = Asked(Mutex::new((Instant::now(), 0.0)));
        let (begin, before_s) = (Instant::now(), processor_s());
        let outcome = Evaluator { store: &store, watch: &asked }.evaluate(scenario, strategy, depth).unwrap();
        let network = outcome.network.unwrap();
        println!(
            "{name}: {what} of {} images, {} points, {} rays: {:.2} s by the clock, {:.2} s of the processor, asked every {:.3} s or sooner",
            network.held.images,
            network.held.points,
            network.held.rays,
            begin.elapsed().as_secs_f64(),
            processor_s() - before_s,
            asked.0.lock().unwrap().1,
        );
        told.push((what.to_owned(), (*network).clone()));
    }
    if denser {
        let terms = told[1].1.terms.clone();
        let usual = terms.thinning;
        let tries = std::env::var("OBLIQUITY_TRIES").unwrap_or_default();
        let tries = tries
            .split_whitespace()
            .map(|words| words.split(',').map(|word| word.parse::<f64>().unwrap()).collect::<Vec<f64>>());
        for of in tries.chain([vec![3.0 * usual.points_an_image, 8.0 * usual.ray_pairs, 1e9]]) {
            let thinning = Thinning { points_an_image: of[0], ray_pairs: of[1], most_images: of[2] as u32 };
            let before_s = processor_s();
            let found = thinned(&seen, NetworkTerms { thinning, ..terms.clone() });
            told.push((
                format!("{of:?}, {} rays, {:.2} s", found.held.rays, processor_s() - before_s),
                found,
            ));
        }
    }
    let base = &told.last().unwrap().1;
    for (what, network) in &told[..told.len() - 1] {
        let mut changes: Vec<(f64, String)> = told_figures(network, &|_| true)
            .into_iter()
            .zip(told_figures(base, &|_| true))
            .filter_map(|((what, a), (_, b))| Some(((a? / b? - 1.0), format!("{what} {:.4} {:.4}", a?, b?))))
            .collect();
        changes.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
        for (change, of) in changes.iter().take(4) {
            println!("    {what} against {}: {:+.1} % {of}", told.last().unwrap().0, 100.0 * change);
        }
    }
}
