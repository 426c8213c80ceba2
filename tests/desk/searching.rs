//! Searches and sweeps on the command line: what they print, and what is said where they cannot be made.

use crate::best::small;
use crate::command_line::{err, out, run};
use crate::window::witness;
use obliquity_exchange::{Units, save_scenario, setting_text};
use obliquity_planning::what_if::{ToSpare, TuneAsk};
use obliquity_planning::{Depth, MEASURES, Measure, MeasureId, NoWatch, Scenario, Unit};
use serde_json::Value;

/// The small yard in a file.
fn yard() -> (tempfile::TempDir, String, Scenario) {
    let folder = tempfile::tempdir().unwrap();
    let (path, scenario) = (folder.path().join("yard.ron"), small());
    save_scenario(&path, &scenario).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path, scenario)
}

/// Derived: the help names every option and what may be said of it.
#[test]
fn the_help_of_a_search_names_what_may_be_asked() {
    let done = run(&["tune", "--help"]);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    let text = out(&done);
    for said in ["<FILE>", "--strategy", "--objective", "time_on_site_s", "--json", "--csv"] {
        assert!(text.contains(said), "{said} in\n{text}");
    }
    assert!(out(&run(&["--help"])).contains("tune"));
}

/// A figure of a JSON object by its key, which goes down through objects.
fn at<'a>(figures: &'a Value, row: &Measure) -> &'a Value {
    row.key.split('.').fold(figures, |value, key| &value[key])
}

/// Cross-check: the setting that the JSON tells, set in the scenario by its knobs and evaluated alone, gives the figures that it
/// tells, and meets as it says; the text tells the same setting and the CSV has a row of it. Two runs print the same.
#[test]
fn what_a_search_prints_holds_in_text_json_and_csv() {
    let (_folder, file, scenario) = yard();
    let [text, json, csv] = [&["tune", &file][..], &["tune", &file, "--json"], &["tune", &file, "--csv"]]
        .map(|arguments| {
            let done = run(arguments);
            assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""), "{arguments:?}");
            out(&done)
        });
    assert_eq!(out(&run(&["tune", &file, "--json"])), json, "equal runs give equal answers");
    let told: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(told["objective"], "time_on_site_s");
    let told = told["strategies"].as_array().unwrap();
    assert_eq!(told.len(), scenario.strategies.len());
    for (own, strategy) in told.iter().zip(&scenario.strategies) {
        assert_eq!(own["name"], strategy.name.as_str());
        let ask = TuneAsk::usual(&scenario, strategy.id, MeasureId::TimeOnSite, ToSpare::default()).unwrap();
        let setting = own["setting"].as_array().unwrap();
        let values: Vec<f64> = setting.iter().map(|one| one["value"].as_f64().unwrap()).collect();
        let keys: Vec<&str> = setting.iter().map(|one| one["knob"].as_str().unwrap()).collect();
        assert_eq!(keys, ask.free.iter().map(|free| free.knob().id.0).collect::<Vec<_>>());
        let mut set = scenario.clone();
        ask.set(&mut set, &values).unwrap();
        let outcome = witness().evaluate(&set, strategy.id, Depth::Views, &NoWatch).unwrap();
        for row in MEASURES.iter().filter(|row| matches!(row.unit, Unit::Share | Unit::Count | Unit::Seconds))
        {
            assert_eq!(at(&own["figures"], row).as_f64(), row.read(&outcome), "{}", row.key);
        }
        let best = own["found"] == "best";
        assert_eq!(best, own["misses"].as_array().unwrap().is_empty());
        assert!(!best || outcome.meets() == Some(true));
        let (looked, seen) = (&own["settings_looked_at"], &own["settings_with_coverage"]);
        assert!(seen.as_u64() > Some(0) && seen.as_u64() <= looked.as_u64(), "{looked} {seen}");
        assert!(looked.as_u64() <= own["settings_listed"].as_u64());
        let setting = setting_text(&scenario, &ask, &values, Units::Metric);
        assert!(text.contains(&format!(": {setting}: ")), "{setting} in\n{text}");
        let row = format!("{},\"{setting}\",", strategy.name);
        assert!(csv.lines().any(|line| line.starts_with(&row)), "{row}");
    }
    assert!(told.iter().any(|own| own["found"] == "best"), "{json}");
    let alone = run(&["tune", &file, "--strategy", "Crossed strips", "--json"]);
    let alone: Value = serde_json::from_str(&out(&alone)).unwrap();
    assert_eq!(alone["strategies"].as_array().unwrap(), &told[1..2]);
}

/// Derived: what is wrong is told on standard error with what to do, nothing is printed, and the status says of which kind it is:
/// 2 for what was asked, 1 for what cannot be worked out.
#[test]
fn a_search_that_cannot_be_made_says_what_to_do() {
    let (_folder, file, _) = yard();
    let asked = |more: &[&str]| run(&[&["tune", &file], more].concat());
    let cases: [(&[&str], i32, &str); 4] = [
        (&["--objective", "price"], 2, "no figure is called \"price\"; write one of "),
        (
            &["--objective", "coverage.wall"],
            1,
            "is better when it is more; choose a figure that is to be least",
        ),
        (&["--strategy", "Spiral"], 2, "write one of \"Nadir block\", \"Crossed strips\""),
        (&["--json", "--csv"], 2, "cannot be used with"),
    ];
    for (more, status, said) in cases {
        let done = asked(more);
        assert_eq!((done.status.code(), out(&done).as_str()), (Some(status), ""), "{more:?}: {}", err(&done));
        assert!(err(&done).contains(said), "{more:?}: {}", err(&done));
    }
    assert_eq!(run(&["tune"]).status.code(), Some(2));
    let missing = run(&["tune", "no/such.ron"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(err(&missing).contains("no/such.ron"));
}

/// Derived: the same of a sweep.
#[test]
fn a_sweep_that_cannot_be_made_says_what_to_do() {
    let (_folder, file, _) = yard();
    let asked = |more: &[&str]| run(&[&["sweep", &file, "--knob"], more].concat());
    let sidelap = "strategies[].passes[].sidelap";
    let cases: [(&[&str], &str); 6] = [
        (&["sidelapp"], "no input is called \"sidelapp\"; write one of "),
        (&["sidelap"], "write one of strategies[].passes[].sidelap"),
        (&[sidelap, "--from", "50", "--to", "80"], "write 0.7 for 70 %"),
        (&[sidelap, "--steps", "1"], "1 is not in 2..=1000"),
        (&[sidelap, "--measure", "price"], "no figure is called \"price\"; write one of "),
        (&[sidelap, "--out", "sweep.png"], "a name that ends in .svg was required"),
    ];
    for (more, said) in cases {
        let done = asked(more);
        assert_eq!((done.status.code(), out(&done).as_str()), (Some(2), ""), "{more:?}: {}", err(&done));
        assert!(err(&done).contains(said), "{more:?}: {}", err(&done));
    }
    let done = asked(&[sidelap, "--from", "0.6", "--to", "0.7", "--steps", "2", "--strategy", "Nadir block"]);
    assert_eq!((done.status.code(), err(&done).as_str()), (Some(0), ""));
    assert_eq!(out(&done).lines().skip(3).count(), 2, "a line for each value:\n{}", out(&done));
}
