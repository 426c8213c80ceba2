//! What a job leaves, from a scenario's file to the comparison.

use crate::generate;
use crate::sample;
use obliquity_exchange::{comparison_csv, comparison_json, parse_scenario, write_scenario};
use obliquity_planning::*;

fn all_of(scenario: &Scenario) -> Vec<Outcome> {
    let store = Store::new(256 << 20);
    Evaluator { store: &store, watch: &NoWatch }.evaluate_all(scenario, Depth::Views).unwrap()
}

/// Derived: a scenario without a job has neither its field in the file nor its keys in the comparison; one with a job has both, and
/// the file gives it back to the last bit.
#[test]
fn only_a_job_with_a_price_is_told_of() {
    let unpriced = sample::scenario();
    assert!(!write_scenario(&unpriced).contains("job:"));
    let json = comparison_json(&unpriced, &all_of(&unpriced));
    assert!(json["strategies"].as_array().unwrap().iter().all(|own| own.get("job").is_none()));

    let mut told = 0;
    for priced in (0..4).map(generate::priced) {
        let read = parse_scenario(&write_scenario(&priced), "priced.ron").unwrap();
        assert_eq!(read, priced);
        let outcomes = all_of(&priced);
        assert!(comparison_csv(&outcomes).lines().next().unwrap().contains(",job.contribution,"));
        let json = comparison_json(&priced, &outcomes);
        let flown = outcomes.iter().zip(json["strategies"].as_array().unwrap());
        for (outcome, own) in flown.filter(|(outcome, _)| outcome.feasible()) {
            let job = outcome.job.as_ref().unwrap();
            assert_eq!(own["job"]["contribution"], job.terms.contribution());
            assert_eq!(own["job"]["crew"], job.terms.crew);
            told += 1;
        }
    }
    assert!(told > 3, "{told}");
}

/// Derived: wages without a price say nothing about money.
#[test]
fn no_price_no_money() {
    let mut scenario = generate::priced(4);
    scenario.job.price = None;
    assert!(all_of(&scenario).iter().all(|outcome| outcome.job.is_none()));
}

/// Derived: what a price or a wage cannot be is refused with its line.
#[test]
fn a_wrong_amount_is_told_with_its_place() {
    let mut priced = generate::priced(5);
    priced.job.again_share = 0.95;
    let text = write_scenario(&priced);
    let error = parse_scenario(&text, "priced.ron").unwrap_err();
    let fault = &error.faults[0];
    assert!(fault.message.contains("share of visits that are made again"), "{error}");
    let line = text.lines().position(|line| line.contains("again_share")).unwrap() + 1;
    assert_eq!(fault.place.unwrap().line, line);
}
