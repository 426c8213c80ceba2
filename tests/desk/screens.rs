//! The table of screens, and what reads it.

use crate::made_up;
use crate::window::{settle, shared, window};
use egui::accesskit::{Role, Toggled};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::NodeT;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, SCREENS, Screen, command_rows};
use obliquity::commands::{Command, MENUS};
use obliquity::document::Document;
use obliquity::picture::{PictureSize, draw};
use obliquity::theme::Mode;
use std::collections::BTreeSet;

const CANVAS: PictureSize =
    PictureSize { width_px: 900, height_px: 600, pixels_per_point: 1.0, mode: Mode::Light };

/// A window of some size with everything worked out.
fn sized(width: f32, height: f32) -> Harness<'static, App> {
    let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
    app.work_out();
    let mut window =
        Harness::builder().with_size([width, height]).with_max_steps(40).build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, Mode::Light);
            app
        });
    window.run_ok();
    window
}

/// Derived: what is chosen by name, key or menu must be one thing.
#[test]
fn no_name_and_no_key_stands_twice() {
    let names: BTreeSet<&str> = SCREENS.iter().map(|row| row.id.name()).collect();
    assert_eq!(names.len(), SCREENS.len());
    let rows = command_rows();
    let keys: Vec<_> = rows.iter().flat_map(|row| row.shortcut.into_iter().chain(row.also)).collect();
    for (at, key) in keys.iter().enumerate() {
        assert!(!keys[..at].contains(key), "{key:?}");
    }
    assert!(rows.iter().all(|row| MENUS.contains(&row.menu)));
    let shown = |screen: Screen| rows.iter().filter(|row| row.command == Command::Show(screen)).count();
    for row in SCREENS {
        assert_eq!(shown(row.id), usize::from(row.menu.is_some()), "{}", row.title);
    }
}

/// Derived: a row that draws another screen's content gives a picture that is there already.
#[test]
fn every_row_draws_a_screen_of_its_own() {
    let mut app = shared(App::still(Document::new(made_up::scenario(), None)));
    app.work_out();
    let mut seen = Vec::new();
    for row in SCREENS {
        app.turn_to(row.id);
        assert_eq!(app.screen_shown(), row.id);
        let image = draw(&CANVAS, |ui| app.screen(ui));
        assert!(!seen.contains(&image.pixels), "{}", row.title);
        seen.push(image.pixels);
    }
}

/// Derived: its key brings a screen up, and its name in the row is the one that stands out.
#[test]
fn a_key_brings_up_the_screen_that_it_stands_beside() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    for row in SCREENS {
        let Some(key) = row.shortcut else { continue };
        window.key_press_modifiers(key.modifiers, key.logical_key);
        window.step();
        assert_eq!(window.state().screen_shown(), row.id);
        window.step();
        let lit = window.get_by_role_and_label(Role::Button, row.title);
        assert_eq!(lit.accesskit_node().toggled(), Some(Toggled::True), "{}", row.title);
    }
}

/// Derived: every screen of the row is one click away from every other, and Escape leaves none of them.
#[test]
fn the_row_of_screens_leads_everywhere_and_escape_nowhere() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    let rows: Vec<_> = SCREENS.iter().filter(|row| row.question.is_some()).collect();
    assert_eq!(rows.len(), 14);
    let mut before = window.state().screen_shown();
    for row in rows.iter().rev() {
        window.get_by_role_and_label(Role::Button, row.title).click();
        window.run_ok();
        window.key_press(Key::Escape);
        window.run_ok();
        assert_eq!(window.state().screen_shown(), row.id);
        if row.id != before {
            assert_eq!(window.state().screen_before(), Some(before));
        }
        before = row.id;
    }
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
    window.key_press_modifiers(Modifiers::ALT, Key::B);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), rows[1].id, "back to the one before");
}

/// Derived: menus and screens are one low row at every size; what finds no room in it is counted, and nothing is out of sight.
#[test]
fn the_row_is_low_and_cuts_nothing() {
    for width in [480.0, 640.0, 900.0, 1280.0, 1366.0, 1920.0] {
        let mut window = sized(width, 700.0);
        for row in SCREENS.iter().filter(|row| row.question.is_some()) {
            window.state_mut().turn_to(row.id);
            window.run_ok();
            let (mut shown, mut right) = (0, 0.0_f32);
            for tab in SCREENS.iter().filter(|row| row.question.is_some()) {
                for node in window.query_all_by_role_and_label(Role::Button, tab.title) {
                    let place = node.rect();
                    if place.top() > 40.0 {
                        continue;
                    }
                    assert!(
                        place.bottom() <= 40.0 && place.left() >= right,
                        "{width}: {} at {place:?}",
                        tab.title
                    );
                    right = place.right();
                    shown += 1;
                }
            }
            let chooser = window.get_by_label_contains("Strategy in focus: ").rect();
            assert!(right <= chooser.left() && chooser.right() <= width, "{width}: {right}, {chooser:?}");
            let folded = 14 - shown;
            let name = format!("{folded} more screens");
            let more = window.query_by_label(&name);
            assert_eq!(more.is_some(), folded > 0, "{width}: {shown} of 14");
            if let Some(more) = more {
                assert!(more.rect().left() >= right && more.rect().right() <= chooser.left(), "{width}");
            }
            let lit = window
                .query_all_by_role_and_label(Role::Button, row.title)
                .any(|node| node.accesskit_node().toggled() == Some(Toggled::True));
            assert!(lit, "{width}: {} is shown and stands in the row", row.title);
            if width >= 1280.0 {
                assert_eq!(folded, 0, "{width}");
            }
        }
    }
}

/// Derived: a folded screen is chosen from the list of the rest.
#[test]
fn a_screen_without_room_is_chosen_from_the_rest() {
    let mut window = sized(640.0, 700.0);
    window.get_by_label_contains("more screens").click();
    window.run_ok();
    window.get_by_role_and_label(Role::Button, "Requirement").click();
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::REQUIREMENT);
}

/// Derived: once a menu is open, the one that is pointed at takes its place, and Escape closes it.
#[test]
fn an_open_menu_follows_the_pointer() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    let open = |window: &Harness<'static, App>, text: &str| {
        window.query_all_by_label_contains(text).next().is_some()
    };
    window.get_by_label("Edit").hover();
    window.run_ok();
    assert!(!open(&window, "Assume buildings…"), "pointing alone opens none");
    window.get_by_label("File").click();
    window.run_ok();
    assert!(
        open(&window, "Save as…") && !open(&window, "by path"),
        "paths are typed where there is no dialog"
    );
    window.get_by_label("Edit").hover();
    window.run_ok();
    window.run_ok();
    assert!(open(&window, "Assume buildings…") && !open(&window, "Save as…"));
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(!open(&window, "Assume buildings…"));
}

/// Derived: what comes and goes elsewhere in the row closes no menu.
#[test]
fn a_menu_stays_open_while_figures_come_in() {
    let mut window = window(Document::new(made_up::scenario(), None));
    window.step();
    window.get_by_label("File").click();
    window.step();
    window.step();
    let open =
        |window: &Harness<'static, App>| window.query_all_by_label_contains("Save as…").next().is_some();
    assert!(open(&window));
    settle(&mut window);
    window.run_ok();
    assert!(open(&window));
}

/// Derived: what was undone comes back by the key of either custom.
#[test]
fn redo_has_both_keys() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    let count = |window: &Harness<'static, App>| window.state().document().scenario().strategies.len();
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num1);
    window.run_ok();
    assert_eq!(count(&window), 4);
    for (modifiers, key) in
        [(Modifiers::COMMAND, Key::Y), (Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z)]
    {
        window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        window.run_ok();
        assert_eq!(count(&window), 3);
        window.key_press_modifiers(modifiers, key);
        window.run_ok();
        assert_eq!(count(&window), 4);
    }
}

/// Derived: the strategy in focus is chosen at one place and holds on every screen; a key steps to the next.
#[test]
fn the_strategy_in_focus_is_chosen_once_for_all_screens() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    window.get_by_label("Strategy in focus: Nadir block").click();
    window.run_ok();
    window.get_by_role_and_label(Role::Button, "Crossed strips").click();
    window.run_ok();
    for row in SCREENS.iter().filter(|row| row.question.is_some()) {
        window.state_mut().turn_to(row.id);
        window.run_ok();
        let choosers: Vec<_> = window.query_all_by_role(Role::ComboBox).collect();
        let about = |text: &str| {
            choosers
                .iter()
                .filter(|node| node.accesskit_node().label().is_some_and(|l| l.ends_with(text)))
                .count()
        };
        assert_eq!(about(": Crossed strips"), 1, "{}", row.title);
        assert_eq!(about(": Nadir block"), 0, "{}", row.title);
    }
    window.key_press_modifiers(Modifiers::COMMAND, Key::PageDown);
    window.run_ok();
    assert!(window.query_by_label("Strategy in focus: Five-direction oblique").is_some());
    window.key_press_modifiers(Modifiers::COMMAND, Key::PageDown);
    window.run_ok();
    assert!(
        window.query_by_label("Strategy in focus: Nadir block").is_some(),
        "behind the last comes the first"
    );
}
