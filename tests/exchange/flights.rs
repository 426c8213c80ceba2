//! Logs of flown jobs and of processed ones: read, written, and what is wrong with them row by row.

use crate::sample;
use obliquity_exchange::chart::flown_chart;
use obliquity_exchange::{
    FileErrorKind, LogKind, LogSheet, correction_rows, flown_json, flown_text, left_out_text, not_told,
    parse_flights, parse_processed_jobs, parse_scenario, planned_cells, read_flights, read_log, save_log,
    write_scenario,
};
use obliquity_planning::*;
use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const HEAD: &str = "job,aircraft,planned_flight_min,planned_turns_min,planned_steady_min,planned_images,planned_battery_sets,flight_min,images,battery_sets";

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

fn flights() -> Vec<LoggedFlight> {
    read_flights(&example("flown_jobs.csv")).unwrap_or_else(|error| panic!("{error}"))
}

/// Derived: 20 minutes are 1200 s; columns are read by their names, whatever parts them; what is not known is left out.
#[test]
fn rows_of_flights_are_read_by_their_names() {
    let read = parse_flights(
        &format!("{HEAD}\n\"West, upper\",Dunnock,20,4,15,300,0.8,22.5,299,0.95\n,,10,0,,,,9,,\n"),
        "log.csv",
    );
    let read = read.unwrap_or_else(|error| panic!("{error}"));
    let first = &read[0];
    assert_eq!((first.name.as_str(), first.aircraft.as_deref()), ("West, upper", Some("Dunnock")));
    assert_eq!((first.planned_flight_s, first.planned_turns_s, first.flight_s), (1200.0, 240.0, 1350.0));
    assert_eq!(
        (first.planned_images, first.images, first.planned_sets, first.sets),
        (Some(300), Some(299), Some(0.8), Some(0.95))
    );
    assert_eq!((first.planned_steady_s, read[1].planned_steady_s), (Some(900.0), None));
    assert!((first.turn_share() - 0.2).abs() < 1e-12);
    let ratio = |of| first.ratio(of).expect("known");
    assert!(
        (ratio(LoggedFigure::Time) - 1.125).abs() < 1e-12
            && (ratio(LoggedFigure::Sets) - 1.1875).abs() < 1e-12
    );
    let second = &read[1];
    assert_eq!((second.name.as_str(), second.ratio(LoggedFigure::Images)), ("job 2", None));
    let other = parse_flights("flight_min; planned_turns_min;planned_flight_min\r\n9;0;10\r\n", "log.csv");
    let other = other.unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(other[0], LoggedFlight { name: "job 1".to_owned(), ..second.clone() });
}

#[test]
fn what_is_wrong_with_flights_is_told_with_its_place_and_all_at_once() {
    let refused =
        |rows: &str| parse_flights(&format!("{HEAD}\n{rows}"), "log.csv").expect_err(rows).to_string();
    for (row, told) in [
        ("West,,20,4,,300,0.8,soon,,", "log.csv:2:21: flight_min must be a number with a point from 0.1"),
        (
            "West,,20,25,,,,22,,",
            "log.csv:2:10: planned_turns_min must be less than planned_flight_min, which is 20, but it is 25",
        ),
        ("West,,,4,,,,22,,", "log.csv:2:7: planned_flight_min must be a number"),
        (
            "West,,20,4,17,,,22,,",
            "log.csv:2:12: planned_steady_min must be more than 0 and with planned_turns_min",
        ),
        ("West,,20,4,,300.5,,22,,", "log.csv:2:13: planned_images must be a whole number"),
        ("West,,20,4,,,,22,,-1", "battery_sets must be a number"),
        ("West,,20,4,,,,22,,,9", "there must be at most as many cells as names (10)"),
    ] {
        let error = refused(row);
        assert!(error.contains(told), "{error}");
    }
    assert_eq!(refused("West,,20,4,,,,x,,\nEast,,20,4,,,,22,,\nNorth,,0,4,,,,22,,").lines().count(), 2);
    let head = |text: &str| parse_flights(text, "log.csv").expect_err(text).to_string();
    assert!(head("").contains("the file must hold flown jobs") && head(HEAD).contains("a row for each job"));
    assert!(head("planned_flight_min,flight_min\n").contains("must name the column planned_turns_min"));
    assert!(head(&format!("{HEAD},mood")).contains("there is no column \"mood\""));
}

/// Derived: the example was drawn from a speed of 0.94, turns of 1.28 and an endurance of 0.9 with errors of 4 and 5 %, and a job
/// whose clock ran on.
#[test]
fn the_example_gives_back_its_corrections() {
    let flights = flights();
    let fitted = fit_flights(&flights).unwrap();
    let rows = correction_rows(&fitted);
    let names: Vec<&str> = rows.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["speed", "time for turns", "endurance"]);
    for ((name, own), known) in rows.iter().zip([0.94, 1.28, 0.9]) {
        let [low, high] = own.interval;
        assert!((low..=high).contains(&known) && high / low < 1.6, "{name}: {own:?}");
    }
    assert_eq!(
        left_out_text(&flights, &fitted).as_deref(),
        Some("Far from the others and not counted: Viaduct north.")
    );
    assert!(not_told(&fitted).is_empty());
    let text = flown_text(&flights, &fitted);
    assert!(
        text.contains("Corrections from 14 flights") && text.contains("nothing has been written"),
        "{text}"
    );
    let json = flown_json(&flights, &fitted);
    assert_eq!((&json["flights"], &json["endurance"]["left_out"][0]), (&14.into(), &"Viaduct north".into()));
    assert_eq!(json["actual_over_planned"].as_array().map(Vec::len), Some(14));
    let chart = flown_chart(&flights, &fitted.left_out());
    assert_eq!((chart.up.names.len(), chart.bars.len()), (14, 42));
    assert!(
        chart.spoken.contains("Viaduct north: flight time 2.86") && chart.spoken.contains("not counted"),
        "{}",
        chart.spoken
    );
}

/// Derived: the lines that are to be set are read by a scenario as the corrections.
#[test]
fn corrections_to_be_set_can_be_set() {
    let flights = flights();
    let fitted = fit_flights(&flights).unwrap();
    let text = flown_text(&flights, &fitted);
    let line = text.lines().find(|line| line.contains("corrections: (")).expect("it is told");
    let own = sample::scenario();
    let written = write_scenario(&own).replacen("airframe: (", &format!("airframe: ({line}"), 1);
    let read = parse_scenario(&written, "set.ron").unwrap_or_else(|error| panic!("{error}"));
    let set = read.equipment.aircraft[0].airframe.corrections;
    assert_eq!(set, Some(fitted.corrections(FlownCorrections::default())));
    assert!(!write_scenario(&own).contains("corrections"), "what is not there is not written");
    let wrong = written.replacen("endurance_ratio: 0", "endurance_ratio: 90", 1);
    let error = parse_scenario(&wrong, "set.ron").expect_err("out of range").to_string();
    assert!(
        error.contains("correction by flights must be at least 0.2")
            && error.contains("write 1.1 for a tenth more"),
        "{error}"
    );
}

/// Derived: a row for a strategy holds what its outcome predicts, is read back once the time is filled in, and stays empty where
/// nothing has come yet.
#[test]
fn a_planned_row_holds_what_is_predicted() {
    let scenario = sample::scenario();
    let store = Store::new(1 << 26);
    let all = Evaluator { store: &store, watch: &NoWatch }.evaluate_all(&scenario, Depth::Quick).unwrap();
    let mut rows = 0;
    for outcome in &all {
        let Some(cells) = planned_cells("Yard, \"upper\"\n", outcome) else { continue };
        let mut sheet = LogSheet::empty(LogKind::Flown);
        sheet.rows.push(cells);
        assert!(sheet.faults(0)[0].message.contains("flight_min"), "{:?}", sheet.faults(0));
        let place = sheet.place("flight_min").unwrap();
        sheet.rows[0][place] = "30".to_owned();
        let flight = sheet.flight(0).unwrap();
        let terms = &outcome.timing.as_ref().unwrap().flight.terms;
        assert!((flight.planned_flight_s - terms.flight_time_s()).abs() < 0.31, "to a hundredth of a minute");
        assert!((flight.planned_turns_s - terms.turns_s).abs() < 0.31);
        assert_eq!(flight.planned_images, outcome.load.as_ref().map(|load| load.image_count));
        let again = parse_flights(&sheet.to_csv(), "row.csv").unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((again[0].name.as_str(), again[0].flight_s), ("Yard, 'upper'", 1800.0));
        rows += 1;
    }
    assert!(rows > 0);
}

/// Derived: both examples are read, written and read again as the same; a row that is wrong stays as it stands, and is told.
#[test]
fn sheets_keep_what_is_wrong() {
    for (name, kind) in [("processed_jobs.csv", LogKind::Processed), ("flown_jobs.csv", LogKind::Flown)] {
        let (sheet, _) = read_log(&example(name)).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((sheet.kind, sheet.rows.len()), (kind, 14));
        assert!((0..14).all(|row| sheet.faults(row).is_empty()));
        assert_eq!(LogSheet::parse(&sheet.to_csv(), name).unwrap(), sheet);
        let strict = match kind {
            LogKind::Processed => parse_processed_jobs(&sheet.to_csv(), name).map(|jobs| jobs.len()),
            LogKind::Flown => parse_flights(&sheet.to_csv(), name).map(|jobs| jobs.len()),
        };
        assert_eq!(strict.unwrap(), 14);
    }
    let text = format!("{HEAD}\nWest,,twenty,4,,,,22,,\nEast,,20,4,,,,22,,\n");
    let sheet = LogSheet::parse(&text, "log.csv").unwrap();
    assert_eq!(sheet.rows[0][2], "twenty");
    let faults = sheet.faults(0);
    assert!(faults.len() == 1 && faults[0].column == Some(2), "{faults:?}");
    assert!(sheet.flight(1).is_ok() && LogSheet::parse(&sheet.to_csv(), "log.csv").unwrap() == sheet);
    let neither = LogSheet::parse("a,b\n1,2\n", "log.csv").expect_err("neither").to_string();
    assert!(
        neither.contains("processed jobs (job, images") && neither.contains("flown jobs (job, aircraft"),
        "{neither}"
    );
}

/// Derived: saving keeps the version before, and replaces nothing that something else has written.
#[test]
fn logs_are_saved_as_scenarios_are() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let (sheet, _) = read_log(&example("flown_jobs.csv")).unwrap();
    let stamp = save_log(&path, &sheet, None).unwrap();
    assert_eq!(read_log(&path).unwrap(), (sheet.clone(), stamp));
    let shorter = LogSheet { rows: sheet.rows[..3].to_vec(), ..sheet.clone() };
    let stamp = save_log(&path, &shorter, Some(&stamp)).unwrap();
    assert_eq!(
        read_log(&folder.path().join("log.csv.previous")).map(|_| ()).map_err(|error| error.kind),
        Ok(())
    );
    fs::write(&path, "theirs").unwrap();
    assert_eq!(save_log(&path, &sheet, Some(&stamp)).unwrap_err().kind, FileErrorKind::Changed);
    assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
}

/// Derived: on the sample scenario corrections show in the working of the flight time.
#[test]
fn corrections_stand_in_the_working() {
    let mut scenario = sample::scenario();
    let store = Store::new(1 << 26);
    let own = FlownCorrections { turn_ratio: 1.25, ..FlownCorrections::default() };
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        aircraft.airframe.corrections = Some(own);
    }
    let all = Evaluator { store: &store, watch: &NoWatch }.evaluate_all(&scenario, Depth::Quick).unwrap();
    let working = measure(MeasureId::FlightTime).working(&all[0]).expect("has one");
    let has = working.steps.iter().any(|step| match step {
        Step::Formula(formula) => {
            formula.terms.iter().any(|term| term.name == "correction by flights" && term.value == 1.25)
        }
        _ => false,
    });
    assert!(has, "{working:?}");
}

proptest! {
    /// Whatever stands there, an answer comes, no time is none, and what is written of it is read as the same.
    #[test]
    fn anything_is_answered(rows in "[-0-9eE.,;\"\n\r a\u{e9}]{0,200}", known in any::<bool>()) {
        let text = if known { format!("{HEAD}\n{rows}") } else { rows };
        if let Ok(flights) = parse_flights(&text, "log.csv") {
            for flight in &flights {
                prop_assert!(flight.planned_flight_s > flight.planned_turns_s && flight.flight_s > 0.0);
            }
            if let Ok(fitted) = fit_flights(&flights) {
                let text = flown_text(&flights, &fitted);
                prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
            }
        }
        if let Ok(sheet) = LogSheet::parse(&text, "log.csv") {
            prop_assert_eq!(LogSheet::parse(&sheet.to_csv(), "log.csv"), Ok(sheet));
        }
    }
}
