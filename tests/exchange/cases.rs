//! Scenarios that are hard on a planner: each is answered in time, or refused with its number.

use crate::transform::moved;
use crate::walk::Surroundings;
use glam::DVec2;
use obliquity_exchange::{comparison_json, read_scenario};
use obliquity_planning::{Depth, Evaluator, Hold, MEASURES, NoWatch, Outcome, Scenario, Store, SurfaceClass};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// What whoever asked for a comparison waits at most, in a test's build too.
const BOUND: Duration = Duration::from_secs(5);

/// How long something took, at most, if nothing else had been going on: the time that went by, or the processor time of this
/// process where that is less.
fn took<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let (begun, used) = (Instant::now(), processor());
    let done = work();
    let (went_by, used) =
        (begun.elapsed(), processor().zip(used).map(|(after, before)| after.saturating_sub(before)));
    (used.map_or(went_by, |used| used.min(went_by)), done)
}

/// Processor time of this process so far, in user and system mode, where the system tells it.
fn processor() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // after the name in brackets, fields 12 and 13 count hundredths of a second
    let after = text.rsplit(')').next()?;
    let fields = after.split_whitespace().skip(11).take(2).filter_map(|field| field.parse::<u64>().ok());
    Some(Duration::from_millis(10 * fields.sum::<u64>()))
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cases")
}

fn case(name: &str) -> Scenario {
    read_scenario(&folder().join(name)).unwrap_or_else(|error| panic!("{error}"))
}

/// As the comparison is printed: samples, views and bands of every strategy, from nothing.
fn compared(scenario: &Scenario) -> Vec<Outcome> {
    let store = Store::new(1 << 29);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate_all(scenario, Depth::Views).unwrap_or_else(|error| panic!("{error}"))
}

/// Derived: figures that are numbers, none of what cannot be flown, and the reason for that.
fn assert_sound(which: &str, outcome: &Outcome) {
    assert_eq!(outcome.feasible(), outcome.reasons.is_empty(), "{which}");
    assert!(outcome.reasons.iter().all(|reason| !reason.is_empty()), "{which}");
    for measure in MEASURES {
        let value = measure.read(outcome);
        assert!(outcome.feasible() || value.is_none(), "{which}: {} of what is refused", measure.name);
        assert!(value.is_none_or(|value| value.is_finite() && value >= 0.0), "{which}: {value:?}");
    }
    for plan in outcome.plans() {
        let numbers = [plan.speed.speed_mps, plan.layout.vertical_gsd_m, plan.layout.air_base_m];
        assert!(numbers.iter().all(|n| n.is_finite() && *n > 0.0), "{which}: {numbers:?}");
    }
}

/// Derived: every case, as [`compared`], within the bound: whatever is flown keeps clear of everything, whatever is not says
/// why.
#[test]
#[expect(clippy::print_stderr, reason = "a run by hand says how long each took")]
fn every_case_is_answered_in_time() {
    let files = std::fs::read_dir(folder()).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<PathBuf> =
        files.filter(|path| path.extension().is_some_and(|ext| ext == "ron")).collect();
    files.sort();
    let (mut flown, mut refused) = (0, 0);
    for path in &files {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let scenario = case(&name);
        let (time, outcomes) = took(|| compared(&scenario));
        eprintln!("{name}: {time:.2?}, {} strategies", outcomes.len());
        assert!(time < BOUND, "{name}: {time:?}");
        let told = comparison_json(&scenario, &outcomes);
        assert_eq!(told["strategies"].as_array().unwrap().len(), scenario.strategies.len());
        let surroundings = Surroundings::new(&scenario);
        for outcome in &outcomes {
            assert_sound(&format!("{name}, {}", outcome.name), outcome);
            assert_eq!(outcome.bands().is_some(), outcome.feasible(), "{name}");
            assert_eq!(surroundings.hits(outcome), Vec::<String>::new(), "{name}");
            flown += u32::from(outcome.feasible());
            refused += u32::from(!outcome.feasible());
        }
    }
    assert!(files.len() >= 14 && flown >= 20 && refused >= 4, "{files:?}: {flown}, {refused}");
}

/// Derived: equal time on site is sought by steps of distance, each of them planned: within the bound as well.
#[test]
fn equal_time_on_site_is_found_in_time() {
    let (scenario, store) = (case("alt_t_freeze.ron"), Store::new(1 << 29));
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for lead in &scenario.strategies {
        let (time, held) = took(|| evaluator.hold_equal(&scenario, lead.id, Hold::TimeOnSite));
        assert!(held.is_ok(), "{held:?}");
        assert!(time < BOUND, "{}: {time:?}", lead.name);
    }
}

/// Derived: where the list of an outline's corners begins is no property of the site; what is flown, counted and seen is
/// the same. Reason for the tolerances: rounding of times; samples within a rounding of the edge of a frame.
#[test]
fn an_outline_may_begin_at_any_corner() {
    let [a, b] = ["boundary_start_a.ron", "boundary_start_b.ron"].map(|name| compared(&case(name)));
    for (a, b) in a.iter().zip(&b) {
        let wall = |outcome: &Outcome| outcome.coverage()[SurfaceClass::Wall].expect("there are walls");
        assert!((wall(a) - wall(b)).abs() <= 0.0005, "walls {} {}", wall(a), wall(b));
        let images = |outcome: &Outcome| outcome.load.as_ref().map(|load| load.image_count);
        let [p, q] = [a, b].map(|outcome| outcome.timing.as_ref().expect("it can be flown"));
        assert_eq!((images(a), p.flight.sorties.len()), (images(b), q.flight.sorties.len()));
        let [s, t] = [p, q].map(|timing| timing.time.time_on_site_s());
        assert!((s - t).abs() <= 1e-6 * s, "{s} {t}");
    }
    let poses = |outcomes: &[Outcome]| -> usize {
        outcomes.iter().flat_map(Outcome::plans).map(|plan| plan.stations.poses.len()).sum()
    };
    assert!(poses(&a) > 0 && poses(&a) == poses(&b));
}

/// Derived: whole courses meet at corners of the line wherever the site lies; a course made of a rounding would add its turn.
#[test]
fn a_corridor_turns_as_often_wherever_it_lies() {
    let here = case("corridor_turns.ron");
    let there = moved(&here, DVec2::new(1000.0, 700.0));
    let turning_s = |scenario: &Scenario| {
        let outcomes = compared(scenario);
        let legs = outcomes.iter().filter_map(Outcome::flight).flat_map(|flight| &flight.legs);
        let turns: Vec<f64> = legs.map(|flown| flown.turn_s).filter(|s| *s > 0.0).collect();
        (turns.len(), turns.iter().sum::<f64>())
    };
    let (a, b) = (turning_s(&here), turning_s(&there));
    assert!(a.0 > 0 && a.0 == b.0 && (a.1 - b.1).abs() < 1e-6, "{a:?} {b:?}");
}

/// Derived: rings that would come nearer than their clearance have neither GSD nor speed, and say why.
#[test]
fn a_ring_that_does_not_fit_has_no_figure() {
    let outcomes = compared(&case("orbit_negative.ron"));
    let [outcome] = &*outcomes else { panic!("one strategy") };
    assert!(!outcome.feasible() && outcome.reasons.iter().any(|reason| reason.contains("pass 2")));
    assert!(outcome.passes[1].laid().is_none(), "{:?}", outcome.reasons);
}

/// Derived: a time over its limit by less than is shown, told beside that limit, reads as more than it.
#[test]
fn a_time_just_over_its_limit_reads_as_more() {
    let mut scenario = case("time_55_6.ron");
    let outcomes = compared(&scenario);
    let time_s = |outcome: &Outcome| outcome.timing.as_ref().map(|timing| timing.time.time_on_site_s());
    let mut told = 0;
    for (k, whole_s) in outcomes.iter().map(time_s).enumerate().filter_map(|(k, s)| Some((k, s?))) {
        for over_s in [1.5, 12.0, 24.0] {
            scenario.requirement.time_on_site_min = Some((whole_s - over_s) / 60.0);
            let store = Store::new(1 << 26);
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let outcome = &evaluator.evaluate_all(&scenario, Depth::Quick).unwrap()[k];
            let said = outcome
                .shortfalls(obliquity_planning::GsdUnit::Centimetres)
                .into_iter()
                .find(|said| said.starts_with("time on site: "));
            let said = said.expect("it takes longer than is allowed");
            let (value, limit) = said["time on site: ".len()..].split_once(", ").expect("beside its limit");
            let limit = limit.split_once(" allowed").expect("what is allowed").0;
            assert_ne!(value, limit, "{said}");
            told += 1;
        }
    }
    assert!(told >= 3, "{told}");
}
