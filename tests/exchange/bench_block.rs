//! The adjustment of whole strategies before they are flown: by the clock, by the processor, how long it does not ask whether it
//! is still wanted, and how far a preview lies from the whole.
//!
//! `cargo bench -p obliquity-exchange --bench block`: the demo's largest strategy; `-- all`: every strategy of demo and
//! examples; `-- denser` holds each against three times the tie points as well; `-- cancel` measures instead how long it takes
//! from a cancel to the end.

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

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

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
                if has("cancel") {
                    cancelled(&scenario, strategy.id, &name, Depth::Preview);
                    cancelled(&scenario, strategy.id, &name, Depth::Network);
                } else {
                    one(&scenario, strategy.id, &name, has("denser"));
                }
            }
        }
    }
}

/// When it was asked whether the work goes on, and at which question it is told that it does not.
struct Asked {
    when: Mutex<Vec<Instant>>,
    cancels_at: usize,
}

impl Asked {
    fn until(cancels_at: usize) -> Self {
        Asked { when: Mutex::new(vec![Instant::now()]), cancels_at }
    }

    /// Numbers of the questions after which the next one came latest, and how much later; the longest first.
    fn gaps_s(&self) -> Vec<(usize, f64)> {
        let when = self.when.lock().unwrap();
        let gap = |(k, pair): (usize, &[Instant])| (k, (pair[1] - pair[0]).as_secs_f64());
        let mut gaps: Vec<(usize, f64)> = when.windows(2).enumerate().map(gap).collect();
        gaps.sort_by(|a, b| b.1.total_cmp(&a.1));
        gaps
    }
}

impl Watch for Asked {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        let now = Instant::now();
        let mut when = self.when.lock().unwrap();
        when.push(now);
        if when.len() > self.cancels_at { Err(Cancelled) } else { Ok(()) }
    }
}

/// How long it takes from the moment at which the work is no longer wanted until it ends: at twelve moments all over it, and
/// just after the questions that were followed by nothing for longest.
fn cancelled(scenario: &Scenario, strategy: Id, name: &str, depth: Depth) {
    let seen = || {
        let store = Store::new(1 << 30);
        Evaluator { store: &store, watch: &NoWatch }.evaluate(scenario, strategy, Depth::Views).unwrap();
        store
    };
    let whole = seen();
    let asked = Asked::until(usize::MAX);
    Evaluator { store: &whole, watch: &asked }.evaluate(scenario, strategy, depth).unwrap();
    drop(whole);
    let questions = asked.when.lock().unwrap().len();
    let gaps = asked.gaps_s();
    let moments = (0..12).map(|k| (2 * k + 1) * questions / 24).chain(gaps.iter().take(8).map(|(k, _)| *k));
    let store = seen();
    let mut waits_s: Vec<(f64, usize)> = moments
        .map(|at| {
            // what comes just after a question that was answered is the worst moment to cancel
            let asked = Asked::until(at + 1);
            let found = Evaluator { store: &store, watch: &asked }.evaluate(scenario, strategy, depth);
            assert!(found.is_err(), "cancelled at {at} of {questions}");
            (asked.when.lock().unwrap()[at].elapsed().as_secs_f64(), at)
        })
        .collect();
    waits_s.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!(
        "{name}: {depth:?} asks {questions} times, after {:.3} s at most; cancelled at {} moments it ends after {:.3} s at most, at {:.3} s as a rule",
        gaps[0].1,
        waits_s.len(),
        waits_s[0].0,
        waits_s[waits_s.len() / 2].0,
    );
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
        let asked = Asked::until(usize::MAX);
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
            asked.gaps_s()[0].1,
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
