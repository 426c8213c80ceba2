//! The demo against what general-purpose libraries counted from its export: see `tests/reference`.

use obliquity_exchange::parse_scenario;
use obliquity_planning::{Depth, Evaluator, NoWatch, Store, SurfaceClass};
use serde_json::Value;

const DEMO: &str = include_str!("../../assets/demo.ron");

const REPORTS: [(&str, &str); 4] = [
    ("Nadir block", include_str!("../reference/demo_nadir_block.json")),
    ("Crossed strips", include_str!("../reference/demo_crossed_strips.json")),
    ("Five-direction oblique", include_str!("../reference/demo_five_direction_oblique.json")),
    ("Cycled gimbal", include_str!("../reference/demo_cycled_gimbal.json")),
];

/// Cross-check: `OpenCV` 5.0.0, Embree (embreex 4.4.0.post1), `NumPy` 2.4.6 and `SciPy` 1.17.1, as the stored reports say.
/// The demo has to be recounted whenever it changes.
#[test]
fn the_demo_agrees_with_opencv_and_embree() {
    let demo = parse_scenario(DEMO, "demo.ron").expect("the demo is sound");
    let store = Store::new(1 << 30);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    for (name, report) in REPORTS {
        let report: Value = serde_json::from_str(report).expect("a report");
        let strategy = demo.strategies.iter().find(|s| s.name == name).expect("a strategy of the demo");
        let outcome =
            evaluator.evaluate(&demo, strategy.id, Depth::Views).expect("the demo can be evaluated");
        assert_eq!(
            u64::from(outcome.load.as_ref().unwrap().image_count),
            report["stations"].as_u64().expect("a count"),
            "{name}"
        );
        let figures = outcome.views.as_ref().expect("worked out to this depth");
        let counted: u64 = figures.samples.views.iter().map(|&views| u64::from(views)).sum();
        let expected = report["decisions"]["counted_here"].as_f64().expect("a count");
        // 99.99 % of the decisions have to be equal.
        assert!((counted as f64 / expected - 1.0).abs() < 1e-4, "{name}: {counted} views, {expected}");
        for class in [SurfaceClass::Ground, SurfaceClass::Roof, SurfaceClass::Wall] {
            let covered = figures.classes[class].as_ref().expect("the demo has this surface").covered_ratio;
            let expected = report["samples"]["covered_share"][class.name()].as_f64().expect("a share");
            assert!((covered - expected).abs() < 1e-4, "{name}, {}: {covered}, {expected}", class.name());
        }
    }
}

/// Cross-check: the stored reports themselves reach what is asked of the program: 99.99 % of the decisions equal and
/// the best GSD within 1e-4.
#[test]
fn the_stored_reports_reach_what_is_asked() {
    for (name, report) in REPORTS {
        let report: Value = serde_json::from_str(report).expect("a report");
        assert!(report["decisions"]["equal_share"].as_f64().expect("a share") >= 0.9999, "{name}");
        let gsd = &report["samples"]["worst_relative_best_gsd_difference"];
        assert!(gsd.as_f64().expect("a difference") <= 1e-4, "{name}");
    }
}
