//! The screen of logs: jobs are opened, typed, taken out and saved, nothing of them is lost, and what is fitted is taken over as one
//! edit of the scenario.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, yard};
use crate::window::{settle, shared};
use egui::{DroppedFile, Key};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::files;
use obliquity::logs::{LogDocument, LogEdit, LogFigures, LogFit, LogPlace, RowStanding};
use obliquity::preferences::Home;
use obliquity::screen::Screen;
use obliquity::theme::Mode;
use obliquity_exchange::{LogKind, LogSheet, factor_text, read_log, unsaved_left};
use obliquity_planning::{FlownCorrections, StageRates, TimeCorrection, fit_flights};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        fs::read(&self.0).map_err(|error| error.to_string())
    }
}

const KINDS: [LogKind; 2] = LogKind::ALL;

fn example(kind: LogKind) -> LogSheet {
    files::example_log(kind).unwrap()
}

fn document(kind: LogKind) -> LogDocument {
    LogDocument::new(example(kind), LogPlace::Example, None)
}

fn opened(log: Option<LogDocument>, own: Option<&Path>) -> Window {
    let own: Option<PathBuf> = own.map(Path::to_owned);
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let home = own.map_or_else(Home::nowhere, Home::at);
            let app = App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light);
            let mut app = shared(app.with_home(ctx, home)).at_once();
            app.turn_to(Screen::LOGS);
            match log {
                Some(log) => app.with_log(log),
                None => app,
            }
        });
    settle(&mut window);
    window.run_ok();
    window
}

fn cell(window: &Window, row: usize, name: &str) -> String {
    let sheet = window.state().log_shown().unwrap().sheet();
    sheet.rows[row][sheet.place(name).unwrap()].clone()
}

/// Types into a cell, by what is said of it.
fn type_cell(window: &mut Window, label: &str, text: &str) {
    window.query_all_by_label_contains(label).next().unwrap_or_else(|| panic!("{label}")).click();
    window.run_ok();
    press(window, Key::A);
    let field = window.query_all_by_label_contains(", as text");
    field.into_iter().find(|node| node.accesskit_node().is_text_input()).unwrap().type_text(text);
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    window.key_press(Key::Escape);
    window.run_ok();
    window.run_ok();
}

fn fit(window: &Window) -> Arc<LogFigures> {
    match window.state().logs_sheet().expect("a log is open").fit {
        LogFit::Known(figures) => figures,
        LogFit::Runs => panic!("everything is done at once"),
    }
}

/// Derived: without a log the screen says what one is for, of either kind; the example opens, and every row is judged.
#[test]
fn the_screen_explains_itself_and_opens_the_example() {
    let mut window = yard();
    window.key_press(Key::F11);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::LOGS);
    assert!(shows(&window, "How far were predictions off?") && shows(&window, "planned_flight_min"));
    click(&mut window, "Processed jobs");
    assert!(shows(&window, "How long does processing really take?") && shows(&window, "total_h"));
    click(&mut window, "Flown jobs");
    click(&mut window, "Open the example");
    window.run_ok();
    let figures = fit(&window);
    assert!(shows(&window, "Corrections from 14 flights"));
    assert_eq!(figures.rows.iter().filter(|row| **row == RowStanding::Counted).count(), 13);
    assert_eq!(figures.rows[9], RowStanding::LeftOut);
    assert!(shows(&window, "Row 10, Viaduct north: far from the others, not counted"));
    assert!(shows(&window, "How far predictions were off, what came over what was planned"));
    // what is shown is what is fitted
    let flights: Vec<_> = (0..14).map(|row| figures.sheet.flight(row).unwrap()).collect();
    let fitted = fit_flights(&flights).unwrap();
    let TimeCorrection::Apart { speed, turns } = &fitted.time else { panic!("{fitted:?}") };
    let told: Vec<(&str, &str)> =
        figures.lines.iter().map(|line| (line.name.as_str(), line.value.as_str())).collect();
    let endurance = fitted.endurance.as_ref().unwrap();
    let own = [("speed, factor", speed), ("time for turns, factor", turns), ("endurance, factor", endurance)];
    assert_eq!(
        told,
        own.map(|(name, of)| (name, factor_text(of.value)))
            .each_ref()
            .map(|(name, text)| (*name, text.as_str()))
    );
}

/// Derived: a cell is typed into where it stands, jobs are added and taken out, and each is a step that is taken back.
#[test]
fn jobs_are_typed_added_removed_and_undone() {
    let mut window = opened(Some(document(LogKind::Flown)), None);
    type_cell(&mut window, "Flown, min of Mill estate: 13.4", "15.5");
    assert_eq!(cell(&window, 2, "flight_min"), "15.5");
    assert!(window.state().log_shown().unwrap().is_changed());
    press(&mut window, Key::Z);
    assert_eq!(cell(&window, 2, "flight_min"), "13.4");
    assert!(!window.state().log_shown().unwrap().is_changed() && !window.state().document().is_changed());
    click(&mut window, "Add a job");
    assert_eq!(window.state().log_shown().unwrap().sheet().rows.len(), 15);
    assert!(matches!(fit(&window).rows[14], RowStanding::Wrong(_)), "an empty row is no job yet");
    assert!(shows(&window, "Row 15: planned_flight_min must be a number"));
    window.get_by_label("Remove Mill estate").click();
    window.run_ok();
    assert_eq!(cell(&window, 2, "job"), "Harbour shed");
    press(&mut window, Key::Z);
    press(&mut window, Key::Z);
    assert_eq!(**window.state().log_shown().unwrap().sheet(), example(LogKind::Flown));
    press_shifted(&mut window, Key::Z);
    assert_eq!(window.state().log_shown().unwrap().sheet().rows.len(), 15, "it is brought back");
}

/// Derived: a row that cannot be read is told with its row, its column and the mend; the others are fitted, and saving loses none of
/// it.
#[test]
fn a_bad_row_is_told_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let mut sheet = example(LogKind::Flown);
    sheet.rows[4][7] = "about 14".to_owned();
    fs::write(&path, sheet.to_csv()).unwrap();
    let (read, stamp) = read_log(&path).unwrap();
    let mut window = opened(Some(LogDocument::new(read, LogPlace::File(path.clone()), Some(stamp))), None);
    let told = "Row 5, Orchard lane: flight_min must be a number with a point from 0.1 to 10000, but it is \"about 14\"; change it";
    assert!(shows(&window, told));
    assert!(shows(&window, "Corrections from 13 flights"));
    type_cell(&mut window, "Images of Mill estate: 230", "229");
    press(&mut window, Key::S);
    window.run_ok();
    let (saved, _) = read_log(&path).unwrap();
    assert_eq!((saved.rows[4][7].as_str(), saved.rows[2][8].as_str()), ("about 14", "229"));
    assert!(!window.state().log_shown().unwrap().is_changed());
    type_cell(&mut window, "Flown, min of Orchard lane: about 14", "14.5");
    assert!(
        !shows(&window, "Orchard lane: flight_min must be") && shows(&window, "Corrections from 14 flights")
    );
}

/// Derived: what is fitted goes into an aircraft, or into the rates, as one edit of the scenario with before and after shown; undo
/// takes it back, and the log is as it was.
#[test]
fn what_is_fitted_is_taken_over_as_one_edit() {
    for kind in KINDS {
        let mut window = opened(Some(document(kind)), None);
        let before = Arc::clone(window.state().document().scenario());
        let take = window.state().logs_sheet().unwrap().take.unwrap();
        assert!(!take.is_taken && take.lines.iter().any(|line| line.before != line.after), "{take:?}");
        click(&mut window, &format!("Take over into {}", take.into));
        window.run_ok();
        let after = Arc::clone(window.state().document().scenario());
        match kind {
            LogKind::Flown => {
                let own =
                    after.equipment.aircraft[0].airframe.corrections.expect("the first aircraft has them");
                assert!(
                    own.turn_ratio > 1.1 && own.speed_ratio < 1.0 && own.endurance_ratio < 1.0,
                    "{own:?}"
                );
                assert_eq!(take.lines[0].after, factor_text(own.speed_ratio));
                assert_eq!(after.rates, before.rates);
            }
            LogKind::Processed => {
                assert!(after.rates.standing().told().starts_with("calibrated on 14 jobs, ±"));
                assert_eq!(after.equipment, before.equipment);
            }
        }
        assert!(
            window.state().logs_sheet().unwrap().take.unwrap().is_taken
                && shows(&window, "The scenario has them.")
        );
        assert!(!window.state().log_shown().unwrap().is_changed());
        press(&mut window, Key::Z);
        assert_eq!(window.state().document().scenario(), &before, "one step");
        assert!(!window.state().document().is_changed());
    }
}

/// Derived: hours are shown with what they rest on once rates are taken over, on the board as well.
#[test]
fn hours_on_the_board_say_what_they_rest_on_then() {
    let mut window = opened(Some(document(LogKind::Processed)), None);
    click(&mut window, "Take over into the processing rates");
    window.run_ok();
    let hours = |window: &Window| {
        let rows: Vec<String> = window
            .state()
            .board()
            .unwrap()
            .bands
            .iter()
            .flat_map(|band| &band.rows)
            .map(|row| row.label.clone())
            .collect();
        rows.into_iter().find(|label| label.starts_with("hours, ")).unwrap()
    };
    settle(&mut window);
    assert!(hours(&window).starts_with("hours, calibrated ±"), "{}", hours(&window));
}

/// Derived: the planned columns of a row that is added are those of the strategy in focus without corrections, whatever the aircraft
/// has.
#[test]
fn a_row_for_a_strategy_has_what_is_planned_without_corrections() {
    let mut scenario = made_up::scenario();
    let planned = |scenario: &obliquity_planning::Scenario| {
        let scenario = scenario.clone();
        let mut window =
            Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
                let app = App::new(&creation.egui_ctx, Document::new(scenario, None), Mode::Light);
                shared(app).at_once().with_log(LogDocument::new(
                    LogSheet::empty(LogKind::Flown),
                    LogPlace::Begun,
                    None,
                ))
            });
        settle(&mut window);
        window.run_ok();
        click(&mut window, "Add the strategy in focus");
        window.state().log_shown().unwrap().sheet().rows[0].clone()
    };
    let plain = planned(&scenario);
    assert!(plain[2].parse::<f64>().unwrap() > 1.0 && plain[7].is_empty(), "{plain:?}");
    for aircraft in &mut Arc::make_mut(&mut scenario.equipment).aircraft {
        let own = FlownCorrections { speed_ratio: 0.8, turn_ratio: 1.5, endurance_ratio: 0.9 };
        aircraft.airframe.corrections = Some(own);
    }
    assert_eq!(planned(&scenario), plain);
}

/// Derived: what is planned is worked out on another thread. Its row comes below the others of the log of flown jobs, and takes nothing
/// of what is typed after it was asked for; the log of the other kind, shown right after that, gets none.
#[test]
fn a_row_that_is_planned_comes_to_its_own_log() {
    for turns in [false, true] {
        let mut window =
            Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(|creation| {
                let app = App::new(&creation.egui_ctx, Document::new(made_up::scenario(), None), Mode::Light);
                shared(app).with_log(document(LogKind::Processed)).with_log(document(LogKind::Flown))
            });
        settle(&mut window);
        window.run_ok();
        let rows = |window: &Window| window.state().log_shown().unwrap().sheet().rows.clone();
        let before = rows(&window).len();
        window.get_by_label("Add the strategy in focus").click();
        window.step();
        if turns {
            window.get_by_label("Processed jobs").click();
            window.step();
            window.step();
            settle(&mut window);
            assert_eq!(rows(&window), example(LogKind::Processed).rows);
            click(&mut window, "Flown jobs");
        } else {
            type_cell(&mut window, "Flown, min of Mill estate: 13.4", "12.5");
        }
        let begun = std::time::Instant::now();
        while rows(&window).len() == before && begun.elapsed().as_secs() < 60 {
            window.step();
        }
        assert_eq!(rows(&window).len(), before + 1);
        assert!(
            cell(&window, before, "job").contains(", ") && cell(&window, before, "flight_min").is_empty()
        );
        assert_eq!(cell(&window, 2, "flight_min"), if turns { "13.4" } else { "12.5" });
    }
}

/// Derived: what is typed is kept within seconds, of both logs, offered after a sudden end under its own name, and goes on with its
/// file and all its cells, wrong ones too; saved, nothing of it is left.
#[test]
fn unsaved_logs_survive_a_sudden_end() {
    for (kind, label, text, name) in [
        (LogKind::Flown, "Flown, min of Mill estate: 13.4", "about 15", "flight_min"),
        (LogKind::Processed, "Dense, h of Mill estate: 5.49", "six", "dense_h"),
    ] {
        let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let path = folder.path().join("log.csv");
        fs::write(&path, example(kind).to_csv()).unwrap();
        let kept = || {
            let files = fs::read_dir(own.path().join("unsaved")).into_iter().flatten().flatten();
            files.filter(|file| file.path().extension().is_some_and(|end| end == "ron")).count()
        };
        {
            let (sheet, stamp) = read_log(&path).unwrap();
            let log = LogDocument::new(sheet, LogPlace::File(path.clone()), Some(stamp));
            let mut window = opened(Some(log), Some(own.path()));
            type_cell(&mut window, label, text);
            assert_eq!(cell(&window, 2, name), text);
            let until = window.ctx.input(|input| input.time) + 5.0;
            while window.ctx.input(|input| input.time) < until {
                window.step();
            }
            assert_eq!(kept(), 1);
        }
        let mut window = opened(None, Some(own.path()));
        assert!(shows(&window, "The program ended before this was saved"));
        assert!(shows(&window, "log.csv") && shows(&window, path.to_str().unwrap()));
        click(&mut window, "Recover");
        window.run_ok();
        let recovered = window.state().log_shown().unwrap();
        assert!(
            recovered.is_changed() && recovered.path() == Some(path.as_path()) && recovered.kind() == kind
        );
        assert_eq!(cell(&window, 2, name), text);
        assert!(!window.state().document().is_changed(), "the scenario is as it was");
        assert_eq!(kept(), 1, "what the earlier window kept stays until this one keeps it");
        press(&mut window, Key::S);
        window.run_ok();
        let (saved, _) = read_log(&path).unwrap();
        assert_eq!(saved.rows[2][saved.place(name).unwrap()], text);
        assert_eq!(kept(), 0);
        assert!(unsaved_left(own.path()).is_empty());
    }
}

/// Derived: a log in place of one that is not saved is asked about first, and what something else has saved is not replaced unasked.
#[test]
fn nothing_unsaved_goes_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    fs::write(&path, example(LogKind::Flown).to_csv()).unwrap();
    let (sheet, stamp) = read_log(&path).unwrap();
    let mut window = opened(Some(LogDocument::new(sheet, LogPlace::File(path.clone()), Some(stamp))), None);
    type_cell(&mut window, "Flown, min of Mill estate: 13.4", "16");
    window.input_mut().dropped_files.push(Arc::new(Dropped(path.clone())));
    window.run_ok();
    assert!(shows(&window, "The log of flown jobs has changes that are not saved"));
    click(&mut window, "Cancel");
    assert_eq!(cell(&window, 2, "flight_min"), "16");
    fs::write(&path, "theirs").unwrap();
    press(&mut window, Key::S);
    assert!(shows(&window, "log.csv was changed by something else"));
    click(&mut window, "Cancel");
    assert_eq!(fs::read_to_string(&path).unwrap(), "theirs");
    press(&mut window, Key::S);
    click(&mut window, "Replace it");
    window.run_ok();
    assert_eq!(read_log(&path).unwrap().0.rows[2][7], "16");
    assert!(!window.state().log_shown().unwrap().is_changed());
}

/// Clicks a job's name and types into it, without leaving the cell.
fn begin_to_type(window: &mut Window, job: &str) {
    let label = format!("Job of {job}");
    window.query_all_by_label_contains(&label).next().unwrap_or_else(|| panic!("{label}")).click();
    window.run_ok();
    for letter in ["X", "Y"] {
        window.event(egui::Event::Text(letter.to_owned()));
    }
    window.run_ok();
}

/// Derived: what stands in a cell that was not left yet is saved too, and asked about.
#[test]
fn a_cell_that_is_not_left_is_saved() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("flown.csv");
    fs::write(&path, example(LogKind::Flown).to_csv()).unwrap();
    let (sheet, stamp) = read_log(&path).unwrap();
    let mut window = opened(Some(LogDocument::new(sheet, LogPlace::File(path.clone()), Some(stamp))), None);
    begin_to_type(&mut window, "Gravel pit west");
    press(&mut window, Key::S);
    window.run_ok();
    window.run_ok();
    let written = read_log(&path).unwrap().0;
    assert!(written.rows[0][0].contains("XY"), "{:?}", written.rows[0]);
    begin_to_type(&mut window, "Harbour shed");
    press(&mut window, Key::Q);
    window.run_ok();
    assert!(shows(&window, "The log of flown jobs has changes that are not saved"));
    assert!(window.state().log_shown().unwrap().sheet().rows[3][0].contains("XY"));
}

/// Derived: what was typed stays with its own job, whatever comes or goes in the same frame.
#[test]
fn what_is_typed_stays_with_its_job_when_another_goes() {
    let sheet = example(LogKind::Flown);
    let names: Vec<String> = sheet.rows.iter().map(|row| row[0].clone()).collect();
    let mut window = opened(Some(LogDocument::new(sheet, LogPlace::Example, None)), None);
    begin_to_type(&mut window, "Harbour shed");
    click(&mut window, "Remove Gravel pit east");
    let rows = window.state().log_shown().unwrap().sheet().rows.clone();
    let mut wanted = names.clone();
    wanted.remove(1);
    assert_eq!(rows.len(), wanted.len());
    for (row, name) in rows.iter().zip(&wanted) {
        let is_typed = name == "Harbour shed";
        assert!(if is_typed { row[0].contains("XY") } else { row[0] == *name }, "{}: {name}", row[0]);
    }
}

/// Derived: of several aircraft only one's flights count, and which can be chosen.
#[test]
fn flights_of_several_aircraft_are_held_apart() {
    let mut sheet = example(LogKind::Flown);
    for row in sheet.rows.iter_mut().take(6) {
        row[1] = "Whinchat".to_owned();
    }
    let sheet = Arc::new(sheet);
    let of = |name: Option<&str>| LogFigures::new(&sheet, name, &StageRates::default());
    let first = of(None);
    assert_eq!(first.aircraft, ["Dunnock", "Whinchat"]);
    assert_eq!(first.rows.iter().filter(|row| **row == RowStanding::OfAnother).count(), 6);
    assert!(first.lines.iter().all(|line| line.jobs == 8), "{:?}", first.lines);
    let other = of(Some("Whinchat"));
    assert!(other.lines.iter().all(|line| line.jobs == 6), "{:?}", other.lines);
    assert!(other.notes[0].contains("cannot be told apart"), "{:?}", other.notes);
}

/// Derived: edits that cannot be made leave the log as it is; an edit that changes nothing is no step.
#[test]
fn edits_of_a_log_are_steps() {
    let mut log = document(LogKind::Processed);
    assert!(log.edit(&LogEdit::Remove(99)).unwrap_err().contains("not in the log any more"));
    let same = LogEdit::Cell { row: 0, column: 0, text: "  Gravel pit west\n".to_owned() };
    log.edit(&same).unwrap();
    assert!(!log.is_changed() && log.undo_label().is_none());
    log.edit(&LogEdit::Cell { row: 0, column: 0, text: "Pit \"west\"".to_owned() }).unwrap();
    assert_eq!(
        (log.sheet().rows[0][0].as_str(), log.undo_label()),
        ("Pit 'west'", Some("job of Gravel pit west"))
    );
    log.edit(&LogEdit::Remove(3)).unwrap();
    assert_eq!(log.undo_label(), Some("remove Harbour shed"));
    log.undo();
    log.undo();
    assert_eq!(**log.sheet(), example(LogKind::Processed));
    assert!(!log.is_changed() && log.redo_label() == Some("job of Gravel pit west"));
}

/// Derived: whatever is typed into whichever cell, the fit answers, and the log is read back as it was typed.
#[test]
fn whatever_is_typed_is_answered() {
    for kind in KINDS {
        let mut log = document(kind);
        let texts = ["", "0", "-3", "1e99", "NaN", "so, so", "; \"", "\u{e9}", "12.5"];
        let columns = log.sheet().names.len();
        for step in 0..60 {
            let (row, column) = (step * 7 % 14, step * 5 % columns);
            let text = texts[step % texts.len()].to_owned();
            log.edit(&LogEdit::Cell { row, column, text }).unwrap();
            let figures = LogFigures::new(log.sheet(), None, &StageRates::default());
            assert_eq!(figures.rows.len(), 14);
            assert!(
                figures.lines.iter().all(|line| !line.value.contains("NaN") && !line.value.contains("inf"))
            );
            assert_eq!(LogSheet::parse(&log.sheet().to_csv(), "typed.csv").unwrap(), **log.sheet());
        }
    }
}
