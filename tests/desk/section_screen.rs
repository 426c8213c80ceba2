//! Cuts in the window, found by what a screen reader would say.

use crate::window::{nothing_long_began, settle, yard};
use egui::vec2;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, Screen};
use std::time::Duration;

fn section() -> Harness<'static, App> {
    let mut window = yard();
    window.state_mut().turn_to(Screen::named("section"));
    cut(&mut window);
    window
}

/// Steps until the cut that is chosen is there.
fn cut(window: &mut Harness<'static, App>) {
    settle(window);
    for _ in 0..2000 {
        window.step();
        let updating = window.query_by_label("updating").is_some();
        if window.state().table().is_some() && !updating {
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    nothing_long_began();
}

fn told(window: &Harness<'_, App>) -> (String, String) {
    let charts = window.state().charts().expect("it has diagrams");
    let table = window.state().table().expect("it has a table");
    (charts.first().map(|chart| chart.spoken.clone()).unwrap_or_default(), table)
}

/// Derived: another strip and a line drawn are other cuts; neither changes the document, and a line across has places where
/// strips cross it.
#[test]
fn strips_and_lines_are_cut_without_a_step() {
    let mut window = section();
    let before = window.state().document().scenario().clone();
    let (spoken, along) = told(&window);
    let column = window.get_by_label("Heights").rect();
    // the numbers of the axis up take 52 points
    for node in window.query_all_by_label(&spoken) {
        let place = node.rect();
        assert!(
            (place.left() - column.left()).abs() < 60.0 && place.right() <= 1280.0,
            "{place:?} below {column:?}"
        );
    }
    assert!(along.lines().count() > 10, "{along}");
    window.get_by_label("Cut: along a strip").click();
    window.run_ok();
    window.get_by_label("along a line").click();
    window.run_ok();
    cut(&mut window);
    let (_, across) = told(&window);
    assert_ne!(along, across);
    let charts = window.state().charts().unwrap();
    assert!(charts[0].marks.len() > 2, "strips cross the line: {:?}", charts[0].marks);
    assert!(window.query_by_label("Line begins, east").is_some(), "the line's ends can be typed");
    assert_eq!(*window.state().document().scenario(), before);
}

/// Derived: a drag on the small plan draws the line that it went along.
#[test]
fn a_line_is_drawn_on_the_small_plan() {
    let mut window = section();
    let (_, along) = told(&window);
    let plan = window.get_by_label_contains("Plan of the cut").rect();
    let (from, to) = (plan.center() - vec2(90.0, 8.0), plan.center() + vec2(90.0, 8.0));
    window.drag_at(from);
    window.run_ok();
    window.hover_at(to);
    window.run_ok();
    window.drop_at(to);
    window.run_ok();
    cut(&mut window);
    assert_ne!(told(&window).1, along);
    assert!(window.query_by_label("Cut: along a line").is_some());
}

/// Derived: at 640 by 400 points the diagram has at least 70 % of the width, the names of its lines stand whole within the window,
/// and the choices are there once asked for.
#[test]
fn in_a_narrow_window_the_cut_has_the_width() {
    let mut window = section();
    window.set_size(vec2(640.0, 400.0));
    cut(&mut window);
    let (spoken, _) = told(&window);
    let widest = window.query_all_by_label(&spoken).map(|node| node.rect().width()).fold(0.0, f32::max);
    assert!(widest >= 0.7 * 640.0, "{widest}");
    for series in &window.state().charts().unwrap()[0].series {
        let place = window.get_by_label(&series.name).rect();
        assert!(place.left() >= 0.0 && place.right() <= 640.0, "{}: {place:?}", series.name);
    }
    window.get_by_label("Choices").click();
    window.run_ok();
    assert!(window.query_by_label_contains("Plan of the cut").is_some());
}
