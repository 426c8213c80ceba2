//! What other settings would come to: one input over a range, and every strategy at its best, on the demo and the quarry.
//!
//! `cargo bench -p obliquity-exchange --bench what_if`

use divan::{Bencher, black_box};
use obliquity_exchange::parse_scenario;
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    SweepPoint, ToSpare, TuneAsk, TuneNews, coarse_first, sweep_values, usual_range,
};
use obliquity_planning::{Cancelled, Depth, Evaluator, KnobId, MeasureId, NoWatch, Scenario, Store, Watch};
use std::cell::Cell;
use std::time::{Duration, Instant};

/// As the program has it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    divan::main();
}

/// As much as the window keeps for what tries many settings.
const STORE_BYTES: usize = 192 << 20;

/// Values of a sweep.
const VALUES: u32 = 20;

fn demo() -> Scenario {
    parse_scenario(include_str!("../../assets/demo.ron"), "demo.ron").expect("the demo opens")
}

fn quarry() -> Scenario {
    parse_scenario(include_str!("../../examples/quarry.ron"), "quarry.ron").expect("it opens")
}

/// Twenty values of an input of all strategies.
fn values(scenario: &Scenario, knob: KnobId) -> (Dial, Vec<f64>) {
    let dial = Dial::everywhere(scenario, knob).expect("some strategy has it");
    let values = sweep_values(scenario, &dial, usual_range(scenario, &dial), VALUES).expect("within range");
    (dial, values)
}

/// A sweep without coverage, with nothing kept from before.
fn quick(scenario: &Scenario, (dial, values): &(Dial, Vec<f64>)) -> Vec<SweepPoint> {
    let store = Store::new(STORE_BYTES);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.sweep(scenario, dial, values, Depth::Quick).expect("evaluated")
}

/// Tilt and sidelap of the demo's four strategies. Goal: under 60 ms.
#[divan::bench(args = [KnobId::TILT.0, KnobId::SIDELAP.0], sample_count = 20)]
fn demo_swept_without_coverage(bencher: Bencher<'_, '_>, knob: &'static str) {
    let scenario = demo();
    let swept = values(&scenario, KnobId(knob));
    bencher.bench_local(|| quick(black_box(&scenario), &swept));
}

/// Tilt and sidelap of the quarry's strategies, ground followed. Goal: under 250 ms.
#[divan::bench(args = [KnobId::TILT.0, KnobId::SIDELAP.0], sample_count = 10)]
fn quarry_swept_without_coverage(bencher: Bencher<'_, '_>, knob: &'static str) {
    let scenario = quarry();
    let swept = values(&scenario, KnobId(knob));
    bencher.bench_local(|| quick(black_box(&scenario), &swept));
}

/// Tilt and sidelap of the demo with coverage: the first values, which span the range, and all. Goals: 1 s and 10 s.
#[divan::bench(args = [KnobId::TILT.0, KnobId::SIDELAP.0], sample_count = 1, sample_size = 1)]
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn demo_swept_with_coverage(bencher: Bencher<'_, '_>, knob: &'static str) {
    let scenario = demo();
    let (dial, values) = values(&scenario, KnobId(knob));
    bencher.bench_local(|| {
        let begun = Instant::now();
        let store = Store::new(STORE_BYTES);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        for (done, place) in coarse_first(values.len()).into_iter().enumerate() {
            evaluator.sweep_point(&scenario, &dial, values[place], Depth::Views).expect("evaluated");
            if done < 3 {
                eprintln!("{knob}: {} values with coverage after {:?}", done + 1, begun.elapsed());
            }
        }
    });
}

/// The demo's four strategies, each over its three usual settings. Goal: under 60 s, a usable best of each after 5 s.
#[divan::bench(sample_count = 1, sample_size = 1)]
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn demo_tuned(bencher: Bencher<'_, '_>) {
    let scenario = demo();
    bencher.bench_local(|| {
        let store = Store::new(STORE_BYTES);
        let evaluator = Evaluator { store: &store, watch: &NoWatch };
        let begun = Instant::now();
        for strategy in &scenario.strategies {
            let own = Instant::now();
            let ask = TuneAsk::usual(&scenario, strategy.id, MeasureId::TimeOnSite, ToSpare::default());
            let ask = ask.expect("it has something to set");
            let first: Cell<Option<Duration>> = Cell::new(None);
            let meets: Cell<Option<Duration>> = Cell::new(None);
            let told = |news: TuneNews<'_>| {
                if let TuneNews::Foremost(looked) = news {
                    first.set(first.get().or(Some(own.elapsed())));
                    if looked.misses.is_empty() {
                        meets.set(meets.get().or(Some(own.elapsed())));
                    }
                }
            };
            let tuned = evaluator.tune(&scenario, &ask, &told).expect("searched");
            eprintln!(
                "{}: first told after {:?}, first that meets after {:?}, {} settings looked at, {} with coverage, in {:?}; {:?} in all",
                strategy.name,
                first.get(),
                meets.get(),
                tuned.looked.len(),
                tuned.seen(),
                own.elapsed(),
                begun.elapsed()
            );
        }
    });
}

/// Says so when the time is up.
struct Until(Instant);

impl Watch for Until {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        if Instant::now() < self.0 { Ok(()) } else { Err(Cancelled) }
    }
}

/// A search of the demo's crossed strips, called off at several times. Goal: it ends within 0.1 s.
#[divan::bench(sample_count = 1, sample_size = 1)]
#[expect(clippy::print_stderr, reason = "a bench says what it timed")]
fn demo_search_called_off(bencher: Bencher<'_, '_>) {
    let scenario = demo();
    let ask = TuneAsk::usual(&scenario, scenario.strategies[1].id, MeasureId::TimeOnSite, ToSpare::default());
    let ask = ask.expect("it has something to set");
    bencher.bench_local(|| {
        let late = [0.2, 0.5, 0.8, 1.1, 1.4, 1.7, 2.0, 2.5, 3.0, 4.0].map(|after_s| {
            let until = Instant::now() + Duration::from_secs_f64(after_s);
            let store = Store::new(STORE_BYTES);
            let stopped = Evaluator { store: &store, watch: &Until(until) }.tune(&scenario, &ask, &|_| {});
            assert!(stopped.is_err(), "it was done before");
            until.elapsed()
        });
        eprintln!("ends after {:?} at most", late.iter().max());
    });
}
