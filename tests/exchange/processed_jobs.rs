//! Logbooks of processed jobs, well-formed and hostile, and what is said of the rates that they give.

use crate::sample;
use obliquity_exchange::{
    calibrated_text, calibration_json, calibration_text, parse_processed_jobs, parse_scenario,
    processed_job_columns, rates_to_set, read_processed_jobs,
};
use obliquity_planning::{FittedRates, ProcessedJob, ProcessingStage, StageRates, fit_rates};
use proptest::prelude::*;
use std::path::Path;

const HEAD: &str = "job,images,megapixels,image_pairs,area_ha,gsd_cm,dense_h,total_h";

fn read(text: &str) -> Vec<ProcessedJob> {
    parse_processed_jobs(text, "log.csv").unwrap_or_else(|error| panic!("{error}"))
}

fn refused(rows: &str) -> String {
    parse_processed_jobs(&format!("{HEAD}\n{rows}"), "log.csv").expect_err(rows).to_string()
}

fn example() -> (Vec<ProcessedJob>, FittedRates) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/processed_jobs.csv");
    let jobs = read_processed_jobs(&path).unwrap_or_else(|error| panic!("{error}"));
    let fitted = fit_rates(&jobs, &StageRates::default()).unwrap();
    (jobs, fitted)
}

/// Derived: 500 images of 20 megapixels are 10 gigapixels; 4 ha at 2 cm are 100 million cells.
#[test]
fn rows_are_read_by_their_names() {
    let jobs = read(&format!("{HEAD}\nWest,500,20,8000,4,2,1.5,\n\n,500,20,,4,2,,3\n"));
    let first = &jobs[0];
    assert_eq!((first.name.as_str(), first.images, first.image_pairs), ("West", 500, Some(8000)));
    assert!((first.gigapixels - 10.0).abs() < 1e-12 && (first.giga_cells - 0.1).abs() < 1e-12);
    assert_eq!((first.stage_h[3], first.total_h), (Some(1.5), None));
    assert_eq!((jobs[1].name.as_str(), jobs[1].image_pairs, jobs[1].total_h), ("job 2", None, Some(3.0)));
    let other = read(
        "\u{feff}gsd_cm; area_ha;images;\"megapixels\";total_h\r\n2;4;500;20;3\r\n"
            .trim_start_matches('\u{feff}'),
    );
    assert_eq!(other[0], ProcessedJob { name: "job 1".to_owned(), ..jobs[1].clone() });
}

#[test]
fn what_cannot_be_read_is_told_with_its_place_and_all_at_once() {
    for (row, told) in [
        ("West,500,20,8000,4,2,1.5,x", "log.csv:2:26: total_h must be a number with a point from 0.0001"),
        ("West,,20,8000,4,2,1.5,", "log.csv:2:6: images must be a number"),
        (
            "West,500.5,20,,4,2,1.5,",
            "log.csv:2:6: images must be a whole number, but it is 500.5; count them",
        ),
        ("West,500,20,200000,4,2,1.5,", "log.csv:2:13: of 500 images there are fewer pairs than that"),
        ("West,500,20,8000,4,2,,", "log.csv:2:1: a job must tell total_h or the hours of a stage"),
        ("West,500,20,8000,4,2,1.5,1", "log.csv:2:26: total_h must be the stages together or more"),
        ("West,500,20,8000,4,2,0,", "dense_h must be a number"),
        ("West,500,20,8000,4,NaN,1,", "gsd_cm must be a number"),
        ("West,500,20,8000,4,2,1,5,6", "log.csv:2:26: there must be at most as many cells as names (8)"),
    ] {
        let error = refused(row);
        assert!(error.contains(told), "{error}");
    }
    let both = refused("West,0,20,,4,2,1,\nEast,500,20,,4,2,1,\nNorth,500,-1,,0,2,1,");
    assert_eq!(both.lines().count(), 3, "{both}");
    let head = |text: &str| parse_processed_jobs(text, "log.csv").expect_err(text).to_string();
    assert!(head("").contains("but it is empty") && head(HEAD).contains("a row for each job"));
    assert!(head("images,megapixels,area_ha\n").contains("must name the column gsd_cm"));
    assert!(head(&format!("{HEAD},speed")).contains("log.csv:1:66: there is no column \"speed\""));
    assert!(head(&format!("{HEAD},images")).contains("images comes again"));
    assert!(read_processed_jobs(Path::new("/nowhere/log.csv")).is_err());
}

proptest! {
    /// Whatever stands there, an answer comes, and no hours that are none.
    #[test]
    fn anything_is_answered(rows in "[-0-9eE.,;\"\n\r a\u{e9}]{0,200}", known in any::<bool>()) {
        let text = if known { format!("{HEAD}\n{rows}") } else { rows };
        if let Ok(jobs) = parse_processed_jobs(&text, "log.csv") {
            for job in jobs {
                prop_assert!(job.gigapixels > 0.0 && job.giga_cells.is_finite() && job.images >= 2);
                prop_assert!(job.stage_h.iter().flatten().chain(&job.total_h).all(|hours| *hours > 0.0));
            }
        }
    }
}

/// Derived: the example was drawn from rates of 0.014, 0.016, 0.08, 0.17, 2.6, 0.7 and 1.3 with errors of 15 %, and a job whose
/// matching took thirty times as long. Each interval of 95 % that is one of seven may miss; none does by much.
#[test]
fn the_example_gives_back_its_rates() {
    let (jobs, fitted) = example();
    let drawn = [0.014, 0.016, 0.08, 0.17, 2.6, 0.7, 1.3];
    for ((stage, own), known) in ProcessingStage::ALL.iter().zip(&fitted.stages).zip(drawn) {
        let own = own.as_ref().expect("told of all");
        let off = (own.factor / known).ln().abs();
        assert!(off <= 1.5 * own.within.ln() && own.within < 1.2, "{}: {own:?}", stage.name());
    }
    let matching = fitted.stages[1].as_ref().unwrap();
    let names: Vec<&str> = matching.left_out.iter().map(|at| jobs[*at].name.as_str()).collect();
    assert_eq!(names, ["Viaduct north"]);
}

/// Derived: the lines that are to be set are read by a scenario as the rates, and the text says what it rests on.
#[test]
fn what_is_to_be_set_can_be_set() {
    let (jobs, fitted) = example();
    let text = calibration_text(&jobs, &fitted);
    let told = calibrated_text(&fitted);
    assert!(told.starts_with("calibrated on 14 jobs, ±") && told.ends_with(" %"), "{told}");
    assert!(text.starts_with("Calibrated on 14 jobs, ±"), "{text}");
    assert!(text.contains("Far from the others in matching and not counted: Viaduct north.\n"), "{text}");
    assert!(text.contains("nothing has been written"), "{text}");
    let lines = &text[text.find("    rates: (").unwrap()..];
    let start = sample::TEXT.find("  conditions: (").unwrap();
    let scenario = format!("{}{lines}\n)\n", &sample::TEXT[..start]);
    let read = parse_scenario(&scenario, "set.ron").unwrap_or_else(|error| panic!("{error}"));
    assert!(read.rates.fitted);
    assert_eq!(read.rates.stages, rates_to_set(&fitted));
    for stage in ProcessingStage::ALL {
        let (set, own) = (read.rates.stages.of(stage), fitted.rates.of(stage));
        assert!((set / own - 1.0).abs() < 5.1e-3, "three figures: {set} {own}");
    }
    let json = calibration_json(&jobs, &fitted);
    assert_eq!(json["rates"]["stages"]["dense_h_per_gigapixel"], read.rates.stages.dense_h_per_gigapixel);
    assert_eq!(json["stages"]["matching_h_per_thousand_pairs"]["left_out"][0], "Viaduct north");
}

/// Derived: the same jobs with their totals alone give one factor, which is said; stages are said to be not told apart.
#[test]
fn totals_alone_are_said_to_be() {
    let (jobs, _) = example();
    let jobs: Vec<ProcessedJob> =
        jobs.into_iter().map(|job| ProcessedJob { stage_h: [None; 7], ..job }).collect();
    let fitted = fit_rates(&jobs, &StageRates::default()).unwrap();
    let text = calibration_text(&jobs, &fitted);
    assert!(text.contains("Total hours alone") && text.contains("Stages are not told apart"), "{text}");
    assert!(calibration_json(&jobs, &fitted)["stages"]["dense_h_per_gigapixel"].is_null());
    let columns = processed_job_columns();
    assert!(columns.contains(&"total_h") && columns.len() == 14);
}
