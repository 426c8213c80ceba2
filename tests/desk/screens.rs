//! The table of screens, and what reads it.

use crate::made_up;
use crate::window::{settle, window};
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, SCREENS, Screen, command_rows};
use obliquity::commands::{Command, MENUS};
use obliquity::document::Document;
use obliquity::picture::{PictureSize, draw};
use obliquity::theme::Mode;
use std::collections::BTreeSet;

const CANVAS: PictureSize =
    PictureSize { width_px: 900, height_px: 600, pixels_per_point: 1.0, mode: Mode::Light };

/// Derived: what is chosen by name, key or menu must be one thing.
#[test]
fn no_name_and_no_key_stands_twice() {
    let names: BTreeSet<&str> = SCREENS.iter().map(|row| row.id.name()).collect();
    assert_eq!(names.len(), SCREENS.len());
    let rows = command_rows();
    let keys: Vec<_> = rows.iter().filter_map(|row| row.shortcut).collect();
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
    let mut app = App::still(Document::new(made_up::scenario(), None));
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

/// Derived: a screen with a heading is headed as the menu calls it, and its key brings it up.
#[test]
fn a_key_brings_up_the_screen_that_it_stands_beside() {
    let mut window = window(Document::new(made_up::scenario(), None));
    settle(&mut window);
    let headed = [Screen::PASSES, Screen::SITE, Screen::EQUIPMENT, Screen::REQUIREMENT, Screen::CONDITIONS];
    for row in SCREENS {
        let Some(key) = row.shortcut else { continue };
        window.key_press_modifiers(key.modifiers, key.logical_key);
        window.step();
        assert_eq!(window.state().screen_shown(), row.id);
        window.step();
        if headed.contains(&row.id) {
            assert!(window.query_all_by_label(row.title).next().is_some(), "{}", row.title);
        }
    }
}
