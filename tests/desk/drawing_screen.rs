//! Drawing on the plan in the window, found by what a screen reader would say.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard};
use crate::window::{settle, window};
use egui::{Event, Key, Modifiers, Pos2, Rect};
use egui_kittest::kittest::Queryable;
use glam::DVec2;
use obliquity::app::Screen;
use obliquity::canvas::Canvas;
use obliquity::document::Document;
use obliquity_exchange::BlocksChoice;
use obliquity_planning::{Site, StructureKind, polygon};
use std::time::{Duration, Instant};

fn plan(size: Option<[f32; 2]>) -> Window {
    let mut window = yard();
    if let Some(size) = size {
        window.set_size(size.into());
    }
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    window
}

fn site(window: &Window) -> Site {
    (*window.state().document().scenario().site).clone()
}

/// Where a place of the site is on the screen.
fn at(window: &Window, east: f64, north: f64) -> Pos2 {
    let area: Rect = window.get_by_label_contains("Plan of Nadir block").rect();
    let beside = window.state().beside();
    let fitted = || Canvas::fitted(beside.plan().unwrap().bounds_m(), area);
    beside.state.canvas().unwrap_or_else(fitted).to_screen(DVec2::new(east, north), area)
}

fn click_at(window: &mut Window, east: f64, north: f64) {
    let at = at(window, east, north);
    window.hover_at(at);
    window.run_ok();
    // Waiting for figures in between would make it no click any more.
    window.drag_at(at);
    window.step();
    window.drop_at(at);
    window.run_ok();
}

fn drag(window: &mut Window, from: (f64, f64), to: (f64, f64)) {
    let (from, to) = (at(window, from.0, from.1), at(window, to.0, to.1));
    window.hover_at(from);
    window.run_ok();
    window.drag_at(from);
    window.run_ok();
    for share in [0.4, 0.8, 1.0] {
        window.hover_at(from + share * (to - from));
        window.run_ok();
    }
    window.drop_at(to);
    window.run_ok();
}

fn write(window: &mut Window, text: &str) {
    for letter in text.chars() {
        window.event(Event::Text(letter.to_string()));
        window.run_ok();
    }
}

fn enter(window: &mut Window, text: &str) {
    write(window, text);
    window.key_press(Key::Enter);
    window.run_ok();
}

/// Derived: places on the screen are single precision and corners are kept to the millimetre; a pixel is some 0.5 m, so that
/// what is clicked is within one of it unless it snaps.
fn near(found: &[DVec2], wanted: &[(f64, f64)]) {
    assert_eq!(found.len(), wanted.len(), "{found:?}");
    for (found, wanted) in found.iter().zip(wanted) {
        assert!(found.distance(DVec2::from(*wanted)) < 1.0, "{found:?} is not at {wanted:?}");
    }
}

#[test]
fn an_l_shaped_building_a_take_off_and_a_keep_out_are_drawn_undone_and_redone() {
    let mut window = plan(None);
    let before = site(&window);
    assert!(shows(&window, "Click a shape to choose it"), "the line of help");
    click(&mut window, "Tool: Building");
    click(&mut window, "Draw as: Side, width");
    click_at(&mut window, 200.0, 40.0);
    assert!(shows(&window, "Click the other end of this side"));
    click_at(&mut window, 250.0, 40.0);
    click_at(&mut window, 250.0, 70.0);
    enter(&mut window, "9.5");
    click(&mut window, "Tool: Cut out");
    click_at(&mut window, 250.0, 70.0);
    click_at(&mut window, 230.0, 55.0);
    let ell = site(&window).structures.last().unwrap().clone();
    let wanted = [(200.0, 40.0), (250.0, 40.0), (250.0, 55.0), (230.0, 55.0), (230.0, 70.0), (200.0, 70.0)];
    near(&ell.footprint_m, &wanted);
    assert_eq!(ell.kind, StructureKind::Extrusion { height_m: 9.5 });
    assert!(
        shows(&window, "Building 1: building, 9.5 m high, 6 corners, chosen"),
        "as a screen reader says it"
    );
    drag(&mut window, (20.0, 20.0), (60.0, 30.0));
    near(&[site(&window).take_off_m], &[(60.0, 30.0)]);
    click(&mut window, "Tool: Keep-out");
    click(&mut window, "Draw as: Corners");
    for (east, north) in [(40.0, 120.0), (80.0, 120.0), (60.0, 160.0)] {
        click_at(&mut window, east, north);
    }
    window.key_press(Key::Enter);
    window.run_ok();
    near(&site(&window).keep_outs[0].outline_m, &[(40.0, 120.0), (80.0, 120.0), (60.0, 160.0)]);
    let after = site(&window);
    for _ in 0..4 {
        press(&mut window, Key::Z);
    }
    assert_eq!(site(&window), before, "four gestures, four steps");
    assert!(!window.state().document().is_changed());
    for _ in 0..4 {
        press_shifted(&mut window, Key::Z);
    }
    assert_eq!(site(&window), after);
}

/// Derived: by one drag from corner to corner, told how in the line of help, and taken back in one step.
#[test]
fn a_rectangle_is_drawn_by_one_drag() {
    let mut window = plan(None);
    let before = site(&window);
    click(&mut window, "Tool: Keep-out");
    click(&mut window, "Draw as: Rectangle");
    assert!(shows(&window, "Drag from corner to opposite corner"), "the line of help");
    assert!(shows(&window, "W: by side and width"), "the other way");
    drag(&mut window, (40.0, 120.0), (80.0, 160.0));
    let wanted = [(40.0, 120.0), (80.0, 120.0), (80.0, 160.0), (40.0, 160.0)];
    near(&site(&window).keep_outs[0].outline_m, &wanted);
    press(&mut window, Key::Z);
    assert_eq!(site(&window), before);
}

#[test]
fn everything_is_drawn_by_keys_alone() {
    let mut window = plan(None);
    click(&mut window, "Tool: Select");
    write(&mut window, "b");
    for corner in ["0e 0n", "300e", "200n"] {
        enter(&mut window, corner);
    }
    window.key_press(Key::Backspace);
    window.run_ok();
    enter(&mut window, "250 at 0");
    window.key_press(Key::Enter);
    window.run_ok();
    assert_eq!(site(&window).boundary_m, [(0.0, 0.0), (300.0, 0.0), (300.0, 250.0)].map(DVec2::from));
    write(&mut window, "u");
    write(&mut window, "c");
    enter(&mut window, "240e 60n");
    enter(&mut window, "12");
    enter(&mut window, "15");
    let tank = site(&window).structures.last().unwrap().clone();
    assert_eq!(tank.kind, StructureKind::Extrusion { height_m: 15.0 });
    assert!(tank.footprint_m.iter().all(|c| (c.distance(DVec2::new(240.0, 60.0)) - 12.0).abs() < 1e-3));
    window.key_press(Key::ArrowRight);
    window.run_ok();
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowUp);
    window.run_ok();
    let moved = polygon::centroid_m(&site(&window).structures.last().unwrap().footprint_m);
    assert!(moved.distance(DVec2::new(241.0, 60.1)) < 1e-2, "{moved}");
    write(&mut window, "t");
    enter(&mut window, "10e 5n");
    assert_eq!(site(&window).take_off_m, DVec2::new(10.0, 5.0));
    window.key_press(Key::Tab);
    window.run_ok();
    assert!(shows(&window, "Boundary: ") && shows(&window, ", chosen"), "Tab goes on to the first");
    window.key_press(Key::Escape);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::PLAN, "Escape chooses nothing first");
}

#[test]
fn the_numbers_of_what_is_chosen_stand_beside_the_plan() {
    let mut window = plan(None);
    click_at(&mut window, 130.0, 100.0);
    assert!(shows(&window, "Shed: building, 12 m high, 4 corners, chosen"));
    type_number(&mut window, "East of corner 1 of Shed", "95");
    assert_eq!(site(&window).structures[0].footprint_m[0], DVec2::new(95.0, 80.0));
    assert_eq!(window.state().document().undo_label(), Some("corner 1 of Shed"));
    drag(&mut window, (160.0, 120.0), (175.0, 130.0));
    near(&[site(&window).structures[0].footprint_m[2]], &[(175.0, 130.0)]);
    click(&mut window, "Copy Shed");
    assert_eq!(site(&window).structures.len(), 2);
    click(&mut window, "Choose nothing");
    click_at(&mut window, 20.0, 20.0);
    type_number(&mut window, "North of the take-off point", "33");
    assert_eq!(site(&window).take_off_m, DVec2::new(20.0, 33.0));
    assert!(!shows(&window, "The change was not made"));
}

#[test]
fn a_crossing_is_told_and_goes_back_and_ground_moves_the_plan() {
    let mut window = plan(None);
    let before = site(&window);
    click_at(&mut window, 130.0, 100.0);
    drag(&mut window, (160.0, 120.0), (90.0, 100.0));
    assert!(shows(&window, "It went back."));
    assert_eq!(site(&window), before);
    let canvas = window.state().beside().state.canvas();
    drag(&mut window, (50.0, 150.0), (60.0, 160.0));
    assert_ne!(window.state().beside().state.canvas(), canvas, "nothing was taken hold of: the plan moves");
    assert_eq!(site(&window), before);
    // A shape that is not chosen is not moved by accident: Escape leaves the corner first, then the shape.
    for _ in 0..2 {
        window.key_press(Key::Escape);
        window.run_ok();
    }
    drag(&mut window, (130.0, 100.0), (140.0, 110.0));
    assert_eq!(site(&window), before);
}

/// Derived: the blank scenario's take-off is where the program guesses it, so that it goes with the boundary.
#[test]
fn a_job_begins_with_a_boundary_drawn_on_an_empty_plan() {
    let mut window = yard();
    press(&mut window, Key::N);
    assert!(shows(&window, "What is to be captured?"));
    click(&mut window, "Draw it on the plan");
    assert_eq!(window.state().screen_shown(), Screen::PLAN);
    assert!(shows(&window, "Draw over a picture…") && shows(&window, "Nothing is measured"));
    assert!(!shows(&window, "views per point") && !shows(&window, "Boundary: "), "no square stands there");
    let found = window.get_by_label_contains("Plan of").rect();
    for (x, y) in [(0.2, 0.8), (0.8, 0.8), (0.8, 0.2), (0.2, 0.2)] {
        let at = found.min + found.size() * egui::vec2(x, y);
        window.hover_at(at);
        window.run_ok();
        window.drag_at(at);
        window.step();
        window.drop_at(at);
        window.run_ok();
    }
    assert!(!shows(&window, "views per point"), "nothing is measured on what stands for a boundary");
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(!shows(&window, "Begin with what you have"));
    let drawn = site(&window);
    assert_eq!(drawn.boundary_m.len(), 4);
    assert_eq!(drawn.take_off_m, obliquity_exchange::first_take_off(&drawn.boundary_m));
    assert_eq!(window.state().document().undo_label(), Some("draw the boundary"));
}

#[test]
fn the_screen_of_the_site_leads_to_what_is_drawn_on_the_plan() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::SITE);
    window.run_ok();
    click(&mut window, "Take-off point, on the plan");
    assert_eq!(window.state().screen_shown(), Screen::PLAN);
    assert!(shows(&window, "East of the take-off point"), "its numbers stand beside");
}

#[test]
fn beside_the_board_the_plan_is_drawn_on_once_asked() {
    let mut window = yard();
    window.set_size([1800.0, 900.0].into());
    window.run_ok();
    assert!(!shows(&window, "Tool: Building"), "looked at only");
    click(&mut window, "Draw");
    click(&mut window, "Tool: Take-off");
    click_at(&mut window, 70.0, 60.0);
    near(&[site(&window).take_off_m], &[(70.0, 60.0)]);
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
    assert_eq!(made_up::scenario().site.take_off_m, DVec2::new(20.0, 20.0));
}

/// A circle is pulled from its middle to its rim; with a tool in hand a drag moves no plan.
#[test]
fn a_circle_is_drawn_by_one_drag_and_the_snap_is_named() {
    let mut window = plan(None);
    click(&mut window, "Tool: Building");
    click(&mut window, "Draw as: Circle");
    drag(&mut window, (230.0, 60.0), (245.0, 60.0));
    let tank = site(&window).structures.last().unwrap().clone();
    assert_eq!(window.state().document().undo_label(), Some("draw Building 1"));
    for corner in &tank.footprint_m {
        assert!((corner.distance(DVec2::new(230.0, 60.0)) - 15.0).abs() < 1.0, "{corner}");
    }
    window.key_press(Key::Escape);
    window.run_ok();
    click(&mut window, "Tool: Keep-out");
    click_at(&mut window, 60.0, 150.0);
    let corner = at(&window, 100.0, 120.0);
    for off in [4.0, 0.0] {
        window.hover_at(corner + egui::vec2(off, 0.0));
        window.run_ok();
    }
    assert!(shows(&window, "Snapped: corner of Shed; Ctrl: no snap."));
}

/// Each plan is looked at in its own way: what was zoomed where it is drawn on is whole beside the board; and nothing that was
/// looked at, marked or scrubbed to lives on in another scenario.
#[test]
fn plans_elsewhere_are_whole_and_another_scenario_begins_afresh() {
    let mut window = plan(Some([1800.0, 900.0]));
    window.hover_at(at(&window, 150.0, 100.0));
    window.run_ok();
    window.key_press(Key::Plus);
    window.run_ok();
    let zoomed = window.state().beside().state.canvas();
    assert!(zoomed.is_some());
    window.state_mut().turn_to(Screen::BOARD);
    window.run_ok();
    assert_eq!(window.state().beside().state.canvas(), None, "fitted beside the board");
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    assert_eq!(window.state().beside().state.canvas(), zoomed, "as it was left");
    window.state_mut().put_cursor(600.0);
    press(&mut window, Key::N);
    click(&mut window, "Open the demo");
    assert_eq!(window.state().timeline_state().cursor_s, None);
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    let state = &window.state().beside().state;
    assert_eq!((state.canvas(), state.cursor), (None, None));
}

/// Derived: a small window with everything twice as large has 640 by 400 points: the plan has most of the width, the view
/// angles and the numbers of a shape come when they are asked for, and go again.
#[test]
fn in_a_small_window_the_plan_has_the_room() {
    let mut window = plan(Some([640.0, 400.0]));
    let width = |window: &Window| window.get_by_label_contains("Plan of Nadir block").rect().width();
    let alone = width(&window);
    assert!(alone > 0.8 * 640.0, "{alone}");
    assert!(!shows(&window, "View angles of the"), "folded");
    click(&mut window, "Open view angles");
    assert!(shows(&window, "View angles of the"));
    assert!(width(&window) > 0.5 * 600.0, "{} is the greater part", width(&window));
    click(&mut window, "Put view angles away");
    assert_eq!(width(&window), alone);
    click_at(&mut window, 20.0, 20.0);
    assert_eq!(width(&window), alone, "choosing a shape takes no room");
    click(&mut window, "Open numbers");
    assert!(shows(&window, "East of the take-off point"));
    let mut roomy = plan(Some([1280.0, 800.0]));
    assert!(shows(&roomy, "View angles of the") && !shows(&roomy, "Open view angles"));
    roomy.run_ok();
}

/// Derived: while a control point is dragged without a rest, what accuracy is expected with it follows as a preview; let go, the whole
/// comes.
#[test]
fn accuracy_follows_a_control_point_that_is_dragged() {
    let mut scenario = made_up::scenario();
    scenario.strategies.truncate(1);
    let mut window = window(Document::new(scenario, None));
    settle(&mut window);
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    click(&mut window, "Tool: Control point");
    click_at(&mut window, 150.0, 60.0);
    click(&mut window, "Tool: Select");
    window.state_mut().adjust_blocks(BlocksChoice::Beside);
    let expected = |window: &Window| window.state().beside().state.expected.clone();
    let come = |window: &mut Window, is: &dyn Fn(&str) -> bool| {
        let begun = Instant::now();
        // The pointer never rests for long enough to be heard as a pause.
        for k in 0_u32.. {
            let told = expected(window);
            if is(&told) {
                return told;
            }
            assert!(begun.elapsed() < Duration::from_mins(1), "it does not come: {told}");
            if window.state().document().in_gesture() {
                let at = at(window, 150.0 + f64::from(k % 20), 62.0);
                window.hover_at(at);
            }
            std::thread::sleep(Duration::from_millis(5));
            window.step();
        }
        unreachable!("the frames of a minute are fewer");
    };
    let before = come(&mut window, &|told| told.ends_with(" vertical"));
    let at_m = site(&window).control_points[0].at_m;
    let point = at(&window, at_m.x, at_m.y);
    window.hover_at(point);
    window.run_ok();
    window.drag_at(point);
    window.run_ok();
    for east in [155.0, 160.0] {
        window.hover_at(at(&window, east, 62.0));
        window.step();
    }
    assert!(window.state().document().in_gesture(), "the point is dragged");
    let during = come(&mut window, &|told| told.contains("preview"));
    assert!(window.state().document().in_gesture());
    assert!(during.starts_with("expected RMSE "), "{before}; {during}");
    window.drop_at(at(&window, 160.0, 62.0));
    come(&mut window, &|told| told.ends_with(" vertical"));
}
