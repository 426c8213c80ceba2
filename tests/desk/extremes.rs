//! Every slider at both of its ends, and every knob at the ends of what may be typed, on the demo and on every example.

use obliquity::engine::Engine;
use obliquity::files;
use obliquity::settings::{Setting, readings};
use obliquity::units::Units;
use obliquity_planning::{Depth, MEASURES, NoWatch, Outcome, Scenario, Scope, knobs};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The goal is a tenth of a second in a release build on an idle machine; this is a test's build on a busy one.
const BOUND: Duration = Duration::from_secs(3);

fn scenarios() -> Vec<Scenario> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let is_scenario = |path: &PathBuf| path.extension().is_some_and(|extension| extension == "ron");
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(is_scenario);
    let mut paths: Vec<PathBuf> = paths.collect();
    paths.sort();
    let mut all: Vec<Scenario> = paths.iter().map(|path| files::read(path).unwrap().scenario).collect();
    all.push(files::demo().unwrap());
    all
}

/// A sound answer: figures that are numbers, or none and the reason.
fn assert_answers(outcome: &Outcome, which: &str) {
    assert_eq!(outcome.feasible(), outcome.reasons.is_empty(), "{which}");
    for measure in MEASURES {
        let value = measure.read(outcome);
        assert!(outcome.feasible() || value.is_none(), "{which}: {} of what cannot be flown", measure.name);
        assert!(
            value.is_none_or(|value| value.is_finite() && value >= 0.0),
            "{which}: {} {value:?}",
            measure.name
        );
    }
    for plan in outcome.plans() {
        let numbers = [plan.speed.speed_mps, plan.layout.vertical_gsd_m, plan.layout.air_base_m];
        assert!(
            numbers.iter().all(|n| n.is_finite() && *n > 0.0),
            "{which}: {:?} {:?}",
            plan.speed,
            plan.layout
        );
    }
    let planned: usize = outcome.plans().map(|plan| plan.stations.poses.len()).sum();
    assert!(planned <= 100_000, "{which}: {planned}");
}

/// Derived: whatever a slider or a typed number may set, an answer comes within the bound: figures, or a refusal that says
/// why, counts with their number.
#[test]
fn every_setting_at_both_ends_is_answered() {
    let (mut flown, mut refused, mut longest) = (0, 0, (Duration::ZERO, String::new()));
    for scenario in scenarios() {
        let engine = Engine::default();
        for strategy in &scenario.strategies {
            let settings = readings(&scenario, strategy).into_iter().map(|reading| reading.setting);
            let typed = knobs()
                .filter(|knob| matches!(knob.scope, Scope::Pass(_)))
                .map(|knob| Setting::everywhere(knob.id));
            for setting in settings.chain(typed) {
                let (slider, allowed) =
                    (setting.slider_range(Units::Metric), setting.allowed_range(Units::Metric));
                for shown in [*slider.start(), *slider.end(), *allowed.start(), *allowed.end()] {
                    let mut changed = scenario.clone();
                    let value = shown * setting.per_shown(Units::Metric);
                    if setting.apply(&mut changed, strategy.id, value).is_err() {
                        continue;
                    }
                    let which = format!(
                        "{}, {} to {shown}",
                        scenario.name,
                        setting.name_of(&scenario, strategy, &strategy.name)
                    );
                    let begun = Instant::now();
                    let outcome = engine.evaluate(&changed, strategy.id, Depth::Quick, &NoWatch).unwrap();
                    if begun.elapsed() > longest.0 {
                        longest = (begun.elapsed(), which.clone());
                    }
                    assert!(begun.elapsed() < BOUND, "{:?}: {which}: {:?}", begun.elapsed(), outcome.reasons);
                    assert_answers(&outcome, &which);
                    let count = if outcome.feasible() { &mut flown } else { &mut refused };
                    *count += 1;
                }
            }
        }
    }
    assert!(
        flown > 500 && refused > 50,
        "{flown} flown, {refused} refused, longest {longest:?}: both are to be tried"
    );
}
