//! What a setting does, found by what a screen reader would say.

use crate::made_up;
use crate::opened::press_at_once;
use crate::window::{nothing_long_began, settle, window, witness, yard};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::chart_files::{self, ChartsAs};
use obliquity::document::Document;
use obliquity_exchange::chart::{SweepOf, nudge_text, sweep_chart};
use obliquity_exchange::{FileErrorKind, Output, Replace, charts_csv};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Tried, meeting_ranges, nudge_gaps, sweep_values, usual_range};
use obliquity_planning::wording::within;
use obliquity_planning::{Depth, KnobId, MeasureId, NoWatch, SurfaceClass, Units, measure};

fn curves() -> Harness<'static, App> {
    let mut window = yard();
    window.get_by_label("Curves").click();
    window.run_ok();
    nothing_long_began();
    window
}

/// The screen with its diagram in focus, what is turned, and the values.
fn focused() -> (Harness<'static, App>, Dial, Vec<f64>) {
    let mut window = curves();
    let before = window.state().document().scenario().clone();
    let dial = Dial::everywhere(&before, KnobId::TILT).expect("some are tilted");
    let values = sweep_values(&before, &dial, usual_range(&before, &dial), 21).expect("within range");
    let title = format!("{} over tilt. ", measure(MeasureId::TimeOnSite).name);
    window.get_all_by_label_contains(&title).next().expect("the diagram").focus();
    window.run_ok();
    (window, dial, values)
}

/// Derived: where the screen says that a strategy meets the requirement is where a sweep of the same values finds it.
#[test]
fn the_screen_says_where_the_requirement_is_met() {
    let window = curves();
    let scenario = window.state().document().scenario().clone();
    let dial = Dial::everywhere(&scenario, KnobId::TILT).expect("some are tilted");
    let values = sweep_values(&scenario, &dial, usual_range(&scenario, &dial), 21).expect("within range");
    let engine = witness();
    let point = |value: f64| engine.sweep_point(&scenario, (&dial, value), Depth::Views, &NoWatch);
    let points: Vec<_> = values.into_iter().map(|value| point(value).expect("evaluated")).collect();
    for (place, strategy) in scenario.strategies.iter().enumerate() {
        let told = match meeting_ranges(&points, place).first() {
            Some((from, to)) if from < to => {
                let text = |value: f64| Units::Metric.text(dial.knob().unit, value);
                format!("{} meets from {} to {}", strategy.name, text(*from), text(*to))
            }
            Some(_) => format!("{} meets at", strategy.name),
            None => format!("{} meets nowhere here", strategy.name),
        };
        assert!(window.query_all_by_label_contains(&told).next().is_some(), "{told}");
    }
}

/// Derived: a click into the diagram chooses the value below the pointer, one press sets it everywhere, and undo takes all of
/// it back in one step.
#[test]
fn a_value_is_clicked_and_adopted() {
    let mut window = curves();
    let before = window.state().document().scenario().clone();
    let dial = Dial::everywhere(&before, KnobId::TILT).expect("some are tilted");
    assert_eq!(dial.value(&before), None, "two strategies are tilted differently");
    let title = format!("{} over tilt. ", measure(MeasureId::TimeOnSite).name);
    window.get_all_by_label_contains(&title).next().expect("the diagram").click();
    window.run_ok();
    window.get_by_label("Set the input to the value clicked").click();
    window.run_ok();
    let after = window.state().document().scenario().clone();
    let (from, to) = usual_range(&before, &dial);
    let set = dial.value(&after).expect("one value everywhere");
    assert!(from < set && set < to, "{set}");
    assert_eq!(window.state().document().undo_label(), Some("Tilt of all"));
    window.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Z);
    window.run_ok();
    assert_eq!(*window.state().document().scenario(), before);
}

/// Derived: with the diagram in focus, an arrow picks the value beside the middle of the range, the next one goes on, Enter sets
/// it everywhere.
#[test]
fn a_value_is_picked_by_keys() {
    let (mut window, dial, values) = focused();
    for key in [egui::Key::ArrowRight, egui::Key::ArrowRight, egui::Key::Enter] {
        window.key_press(key);
        window.run_ok();
    }
    assert_eq!(dial.value(window.state().document().scenario()), Some(values[12]));
}

/// Derived: on a slow machine several keys come between two frames; Home, three arrows to the right and Enter set the fourth value.
#[test]
fn keys_that_come_between_two_frames_all_count() {
    let (mut window, dial, values) = focused();
    let right = egui::Key::ArrowRight;
    press_at_once(&mut window, &[egui::Key::Home, right, right, right, egui::Key::Enter]);
    assert_eq!(dial.value(window.state().document().scenario()), Some(values[3]));
}

/// Derived: what matters says of every step of every input of the strategy in focus what the evaluation says, and of what
/// there is no one value to step from, why; the choice of the section stays.
#[test]
fn what_matters_is_said_bar_by_bar() {
    let mut window = curves();
    window.get_by_label("What matters").click();
    window.run_ok();
    nothing_long_began();
    let scenario = window.state().document().scenario().clone();
    let focus = window.state().focus().expect("a strategy");
    let engine = witness();
    let now = engine.evaluate(&scenario, focus, Depth::Quick, &NoWatch).expect("evaluated");
    let row = measure(MeasureId::TimeOnSite);
    let now = Tried::of(&now).figure(row.id).expect("flown");
    let nudged = engine.nudges(&scenario, focus, Depth::Quick, &NoWatch).expect("evaluated");
    let table = window.state().table().expect("a table");
    for one in &nudged {
        for (value, tried) in [&one.lower, &one.higher].into_iter().flatten() {
            let told = nudge_text(one, *value, tried, (row, now), Units::Metric);
            let has_bar = tried.figure(row.id).is_some_and(|figure| figure != now);
            assert_eq!(window.query_by_label(&told).is_some(), has_bar, "{told}");
            assert!(table.contains(&told), "{told}");
        }
    }
    for (dial, _) in nudge_gaps(&scenario, focus) {
        let told = format!("Left out: {} ", within(dial.knob().whole));
        assert!(window.query_by_label_contains(&told).is_some(), "{told}");
    }
    assert_eq!(window.state().charts().map(|charts| charts.len()), Some(2));
    window.get_by_label("Board").click();
    window.run_ok();
    window.get_by_label("Curves").click();
    window.run_ok();
    assert_eq!(window.state().charts().map(|charts| charts.len()), Some(2));
}

/// Derived: the diagrams are saved by the button on the screen as SVG, picture and values, each as what it says, and what
/// is there already is asked about.
#[test]
fn diagrams_are_saved_from_the_window() {
    let folder = std::env::temp_dir().join(format!("obliquity_curves_{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let charts = curves().state().charts().expect("diagrams");
    let svg = chart_files::svg(&charts).expect("written");
    assert!(svg.starts_with(b"<svg "));
    let png = chart_files::png(&charts).expect("drawn");
    assert!(png.starts_with(b"\x89PNG"));
    let csv = charts_csv(&charts);
    for (how, bytes) in ChartsAs::ALL.into_iter().zip([svg, png, csv.clone().into_bytes()]) {
        let path = folder.join(format!("curves.{}", how.extension()));
        let out = |replace| Output { path: &path, kind: how.kind(), replace, inputs: &[] };
        out(Replace::Nothing).write(|file| file.write_all(&bytes)).expect("written");
        let again = out(Replace::Nothing).check().expect_err("it is there");
        assert_eq!(again.kind, FileErrorKind::Exists, "{how:?}");
        assert!(out(Replace::Earlier).check().is_ok(), "{how:?}");
        for other in ChartsAs::ALL.into_iter().filter(|other| *other != how) {
            let kind = other.kind();
            let over = Output { path: &path, kind, replace: Replace::Earlier, inputs: &[] }.check();
            assert!(over.is_err(), "{other:?} over {how:?}");
        }
    }
    std::fs::remove_dir_all(&folder).expect("removed");
    let points: usize = charts.iter().flat_map(|chart| &chart.series).map(|line| line.points.len()).sum();
    let lines = csv.lines().filter(|line| line.contains(",line,")).count();
    let gaps = charts.iter().flat_map(|chart| &chart.series).flat_map(|line| &line.points);
    let gaps = gaps.filter(|at| !at.iter().all(|value| value.is_finite())).count();
    assert_eq!(lines, points - gaps);
    let mut window = curves();
    window.get_by_label("Save…").click();
    window.run_ok();
    assert!(window.query_by_label("Values as CSV…").is_some());
}

/// Derived: everything twice as large, 1280 by 800 pixels are 640 by 400 points. Of them the diagram has at least 70 %, before
/// the choices are asked for and again once they are folded away; asked for, they stand within the window, and what is chosen
/// is shown at once.
#[test]
fn in_a_narrow_window_the_choices_fold_away() {
    let mut window = curves();
    window.set_size(egui::vec2(640.0, 400.0));
    window.run_ok();
    let width = |window: &Harness<'static, App>, figure: MeasureId| {
        let title = format!("{} over tilt. ", measure(figure).name);
        window.get_all_by_label_contains(&title).next().expect("the diagram").rect().width()
    };
    assert!(width(&window, MeasureId::TimeOnSite) >= 0.7 * 640.0);
    assert!(window.query_by_label_contains("Figure shown: ").is_none());
    window.get_by_label("Choices").click();
    window.run_ok();
    let figure = window.get_by_label_contains("Figure shown: ");
    assert!(figure.rect().left() > 0.0 && figure.rect().right() < 640.0, "{:?}", figure.rect());
    figure.click();
    window.run_ok();
    // the list begins at what is chosen, the first entry above its edge
    window.get_by_label(measure(MeasureId::FlightTime).name).click_accesskit();
    window.run_ok();
    window.get_by_label("Choices").click();
    window.run_ok();
    assert!(width(&window, MeasureId::FlightTime) >= 0.7 * 640.0);
    window.set_size(egui::vec2(1280.0, 800.0));
    window.run_ok();
    assert!(window.query_by_label("Choices").is_none(), "there is room for both");
    assert!(window.query_by_label_contains("Figure shown: ").is_some());
}

/// Derived: typing into the list of inputs leaves what is called so, under the part of the scenario that it belongs to, and
/// Enter takes the first.
#[test]
fn an_input_is_found_by_typing() {
    let mut window = curves();
    window.get_by_label("Input varied: Tilt").click();
    window.run_ok();
    assert!(
        window.query_by_label("Forward overlap").is_some() && window.query_by_label("aircraft").is_some()
    );
    window.event(egui::Event::Text("overlap".to_owned()));
    window.run_ok();
    assert!(
        window.query_by_label("Forward overlap").is_some() && window.query_by_label("aircraft").is_none()
    );
    window.key_press(egui::Key::Enter);
    window.run_ok();
    assert!(window.query_by_label("Input varied: Forward overlap").is_some());
    assert!(window.query_by_label("Type to search").is_none(), "it is closed");
}

/// Derived: a click on a neighbour has it large; until a value is picked, each strategy's figure is the board's.
#[test]
fn a_neighbour_is_seen_large_and_figures_stand_as_on_the_board() {
    let mut window = curves();
    let images = measure(MeasureId::ImageCount);
    window.get_by_label(&format!("{}, large", images.name)).click();
    window.run_ok();
    let title = format!("{} over tilt. ", images.name);
    assert!(window.query_all_by_label_contains(&title).next().is_some());
    let scenario = window.state().document().scenario().clone();
    let engine = witness();
    for strategy in &scenario.strategies {
        let outcome = engine.evaluate(&scenario, strategy.id, Depth::Quick, &NoWatch).expect("evaluated");
        let figure = Units::Metric.text(images.unit, images.read(&outcome).expect("flown"));
        let told = window.query_all_by_label_contains(&figure).next();
        assert!(told.is_some(), "{figure} of {}", strategy.name);
    }
}

/// Derived: the line joins what is known past what is yet to come, breaks where nothing can be flown, and what a first look
/// tells is said to be about right.
#[test]
fn a_line_joins_what_is_known_so_far() {
    let scenario = curves().state().document().scenario().clone();
    let dial = Dial::everywhere(&scenario, KnobId::TILT).expect("some are tilted");
    let values = sweep_values(&scenario, &dial, (0.2, 0.6), 5).expect("within range");
    let engine = witness();
    let mut points = engine.sweep(&scenario, (&dial, &values), Depth::Quick, &NoWatch).expect("evaluated");
    for place in [0, 2, 4] {
        let seen = engine.sweep_point(&scenario, (&dial, values[place]), Depth::Views, &NoWatch);
        points[place] = seen.expect("evaluated");
    }
    let sweep = SweepOf { scenario: &scenario, dial: &dial, points: &points, units: Units::Metric };
    let lines = sweep_chart(&sweep, MeasureId::Coverage(SurfaceClass::Wall)).series;
    for line in lines.iter().filter(|line| !line.points.is_empty()) {
        let across: Vec<f64> = line.points.iter().map(|[across, _]| *across).collect();
        assert_eq!(across, [0, 2, 4].map(|place| Units::Metric.shown(dial.knob().unit, values[place])));
        assert!(line.points.iter().all(|[_, figure]| figure.is_finite()));
    }
}

/// Derived: accuracy over an input is drawn from first looks at the block, at nine values from end to end, as evaluating the scenario at
/// each gives it, and is said to be a preview.
#[test]
fn accuracy_over_an_input_is_drawn_as_a_preview() {
    let mut scenario = made_up::sampled(10.0);
    scenario.strategies.retain(|strategy| strategy.id == made_up::CROSSED);
    scenario.reference = None;
    // One of the two passes that lie alike: a first look takes little time then.
    scenario.strategies[0].passes.truncate(1);
    let dial = Dial::everywhere(&scenario, KnobId::TILT).expect("it is tilted");
    let mut window = window(Document::new(scenario.clone(), None));
    settle(&mut window);
    window.get_by_label("Curves").click();
    window.run_ok();
    let accuracy = measure(MeasureId::AccuracyVertical);
    window.get_by_label_contains("Figure shown: ").click();
    window.run_ok();
    window.get_by_label(accuracy.name).click_accesskit();
    window.run_ok();
    nothing_long_began();
    let said = "preview from fewer tie points, expected, not certified";
    assert!(window.query_by_label(said).is_some(), "{said}");
    let chart = &window.state().charts().expect("diagrams")[0];
    assert!(chart.title.starts_with(accuracy.name) && chart.title.ends_with(", preview"), "{}", chart.title);
    let values = &chart.under[0].across;
    let whole = |figure: MeasureId| {
        let values = sweep_values(&scenario, &dial, usual_range(&scenario, &dial), 21).expect("within range");
        let points = witness().sweep(&scenario, (&dial, &values), Depth::Views, &NoWatch).expect("swept");
        let sweep = SweepOf { scenario: &scenario, dial: &dial, points: &points, units: Units::Metric };
        sweep_chart(&sweep, figure)
    };
    assert_eq!(
        values.len(),
        whole(MeasureId::TimeOnSite).under[0].across.len(),
        "told by all values, not by nine"
    );
    let points = &chart.series[0].points;
    assert_eq!(points.len(), 9);
    assert!(points[0][0] == chart.across.from && points[8][0] == chart.across.to, "{points:?}");
    for [tilt_deg, shown_mm] in [points[0], points[4], points[8]] {
        let at = witness().sweep_point(&scenario, (&dial, tilt_deg), Depth::Preview, &NoWatch);
        let tried = &at.expect("evaluated").tried.expect("sound")[0];
        let vertical_mm = tried.figure(MeasureId::AccuracyVertical).expect("held");
        assert!((shown_mm - vertical_mm).abs() < 1e-9, "{tilt_deg}: {shown_mm} {vertical_mm}");
    }
    let (level, tilted) = (points[0], points[5]);
    assert!(
        tilted[0] == 30.0 && level[1] > 3.0 * tilted[1],
        "tilted strips tell the focal length: {points:?}"
    );
}
