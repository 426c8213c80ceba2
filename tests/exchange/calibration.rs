//! What a scenario keeps of the logbook that its rates were fitted to.

use crate::sample;
use obliquity_exchange::{calibrated, comparison_json, parse_scenario, read_processed_jobs, write_scenario};
use obliquity_planning::*;
use proptest::prelude::*;
use std::path::Path;

fn scenario() -> Scenario {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/processed_jobs.csv");
    let jobs = read_processed_jobs(&path).unwrap_or_else(|error| panic!("{error}"));
    let fitted = fit_rates(&jobs, &StageRates::default()).unwrap();
    let own = sample::scenario();
    Scenario { rates: calibrated(&own.rates, &fitted), ..own }
}

fn evaluated(scenario: &Scenario) -> Vec<Outcome> {
    let store = Store::new(1 << 26);
    Evaluator { store: &store, watch: &NoWatch }
        .evaluate_all(scenario, Depth::Views)
        .expect("can be worked out")
}

/// Derived: what is written is read back to the bit, and hours say it wherever they stand: file, JSON and working.
#[test]
fn a_scenario_keeps_what_its_rates_rest_on() {
    let scenario = scenario();
    let text = write_scenario(&scenario);
    assert_eq!(parse_scenario(&text, "kept.ron").unwrap_or_else(|error| panic!("{error}")), scenario);
    let told = scenario.rates.standing().told();
    assert!(told.starts_with("calibrated on 14 jobs, ±"), "{told}");
    let outcomes = evaluated(&scenario);
    let json = comparison_json(&scenario, &outcomes);
    let load = &json["strategies"][0]["load"];
    assert_eq!(load["calibration"]["told"], told.as_str());
    assert_eq!((&load["calibration"]["by"], &load["fitted"]), (&"stage by stage".into(), &true.into()));
    let working = measure(MeasureId::ProcessingHours).working(&outcomes[0]).expect("has one");
    assert_eq!(working.result().map(|term| term.name.clone()), Some(format!("processing, {told}")));
}

/// Derived: another rate by hand is no calibration any more, and the same one again is one.
#[test]
fn a_rate_that_is_changed_by_hand_is_not_calibrated() {
    let mut scenario = scenario();
    for stage in ProcessingStage::ALL {
        let as_fitted = scenario.rates.stages;
        scenario.rates.stages = as_fitted.with(stage, as_fitted.of(stage) * 1.5);
        let standing = scenario.rates.standing();
        assert!(
            !standing.is_calibrated() && matches!(standing, RateStanding::ChangedSince(_)),
            "{standing:?}"
        );
        assert_eq!(standing.told(), "not calibrated: changed by hand");
        let json = comparison_json(&scenario, &evaluated(&scenario));
        let load = &json["strategies"][0]["load"];
        assert_eq!((&load["calibration"]["changed_since"], &load["fitted"]), (&true.into(), &false.into()));
        scenario.rates.stages = as_fitted;
        assert!(scenario.rates.standing().is_calibrated());
    }
}

/// Derived: files from before say what they said.
#[test]
fn files_without_a_record_open_as_before() {
    let own = sample::scenario();
    assert!(!write_scenario(&own).contains("calibration: ("), "what is not there is not written");
    for (rates, told) in
        [("(fitted: true)", "calibrated"), ("(fitted: false)", "not calibrated"), ("()", "not calibrated")]
    {
        let start = sample::TEXT.find("  conditions: (").unwrap();
        let text = format!("{}    rates: {rates},\n)\n", &sample::TEXT[..start]);
        let read = parse_scenario(&text, "old.ron").unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(read.rates.standing().told(), told);
    }
}

/// Derived: what is out of its range is told with where it stands and what to write.
#[test]
fn what_is_wrong_with_a_record_is_told_with_its_place() {
    let text = write_scenario(&scenario());
    for (right, wrong, told) in [
        ("jobs: 14", "jobs: 2", "number of jobs of a calibration must be at least 6"),
        ("within_factor: 1", "within_factor: 0", "write 1.18 for ±18 %"),
        ("by: StageHours", "by: Guess", "Guess"),
    ] {
        assert!(text.contains(right), "{right}");
        let error =
            parse_scenario(&text.replacen(right, wrong, 1), "wrong.ron").expect_err(wrong).to_string();
        assert!(error.contains(told) && error.contains("wrong.ron:"), "{error}");
    }
}

proptest! {
    /// Whatever a record holds within its ranges, it is read back, and what it says has a number of jobs and no NaN.
    #[test]
    fn any_record_is_read_back(jobs in 6_u32..10_000, within_factor in 1.0..1000.0_f64, hours in 0.0..1000.0_f64, totals in any::<bool>()) {
        let mut scenario = sample::scenario();
        let stages = StageRates::default().with(ProcessingStage::Dense, hours);
        let by = if totals { CalibratedBy::TotalHours } else { CalibratedBy::StageHours };
        scenario.rates = Rates { stages, calibration: Some(RateCalibration { jobs, within_factor, by, stages }), ..Rates::default() };
        let read = parse_scenario(&write_scenario(&scenario), "any.ron");
        prop_assert_eq!(read.as_ref().map_err(ToString::to_string), Ok(&scenario));
        let told = scenario.rates.standing().told();
        prop_assert!(told.starts_with("calibrated on ") && !told.contains("NaN") && !told.contains("inf"), "{told}");
    }
}
