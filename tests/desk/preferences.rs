//! What the program remembers of its user.

use crate::made_up;
use crate::opened::{Window, click, press, shows, yard, yard_at};
use crate::window::shared;
use egui::{Key, ViewportBuilder};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity::units::{GsdUnit, Units};
use obliquity_exchange::{Preferences, ThemeChoice, WindowPlace, read_preferences, save_preferences};
use std::fs;

#[test]
fn units_and_theme_are_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(folder.path()));
    press(&mut window, Key::U);
    let choice = match window.ctx.theme() {
        egui::Theme::Light => ThemeChoice::Dark,
        egui::Theme::Dark => ThemeChoice::Light,
    };
    press(&mut window, Key::D);
    let (kept, note) = read_preferences(folder.path());
    assert_eq!((kept.units, kept.theme, note), (Units::UsCustomary, choice, None));
    let again = yard_at(Some(folder.path()));
    assert_eq!(again.state().units(), Units::UsCustomary);
    assert!(shows(&again, "at 262 ft"));
    assert_eq!(again.state().home().preferences.theme, choice);
}

/// What GSD is in is remembered, while the screen is in metric units too.
#[test]
fn the_unit_of_gsd_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(folder.path()));
    window.state_mut().show_in(Units::UsInches);
    window.run_ok();
    press(&mut window, Key::U);
    let (kept, _) = read_preferences(folder.path());
    assert_eq!((kept.units, kept.gsd), (Units::Metric, GsdUnit::Inches));
    let mut again = yard_at(Some(folder.path()));
    press(&mut again, Key::U);
    assert_eq!(again.state().units(), Units::UsInches);
}

/// Derived: what was opened on the board is open when the program starts again, and what was closed is closed.
#[test]
fn what_is_opened_on_the_board_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(folder.path()));
    assert!(!shows(&window, "Time, route of Nadir block"));
    let label = |window: &Window, begins: &str| {
        let node = window.query_all_by_label_contains(begins).next().unwrap();
        node.accesskit_node().label().unwrap()
    };
    let open = label(&window, "Open Time: ");
    assert!(open.contains("route") && open.contains("farthest"), "it says what it opens: {open}");
    click(&mut window, &open);
    assert!(shows(&window, "Time, route of Nadir block") && shows(&window, "Time, farthest of Nadir block"));
    drop(window);
    let mut again = yard_at(Some(folder.path()));
    assert!(shows(&again, "Time, route of Nadir block"));
    let close = label(&again, "Close Time: ");
    click(&mut again, &close);
    drop(again);
    assert!(!shows(&yard_at(Some(folder.path())), "Time, route of Nadir block"));
}

#[test]
fn broken_preferences_do_not_keep_the_window_from_opening() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("preferences.ron"), "(units: Cubits").unwrap();
    let window = yard_at(Some(folder.path()));
    assert!(shows(&window, "Your preferences could not be read"));
    assert!(folder.path().join("preferences.ron.unreadable").exists());
    assert_eq!(window.state().units(), Units::Metric);
}

#[test]
fn nothing_is_written_where_nothing_has_changed() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own");
    let home = Home::at(own.clone());
    let mut window = Harness::builder().build_eframe(move |creation| {
        let ctx = &creation.egui_ctx;
        // a choice of its own on when blocks are adjusted would be a change
        shared(App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light))
            .at_once()
            .with_home(ctx, home)
    });
    crate::window::settle(&mut window);
    assert!(!own.exists());
    let mut nowhere = yard();
    press(&mut nowhere, Key::U);
    assert_eq!(nowhere.state().home().folder(), None);
}

#[test]
fn a_window_comes_back_where_it_stood() {
    let folder = tempfile::tempdir().unwrap();
    let window =
        WindowPlace { left: Some(40.0), top: Some(60.0), width: 900.0, height: 700.0, maximized: false };
    save_preferences(folder.path(), &Preferences { window: Some(window), ..Preferences::default() }).unwrap();
    let placed = Home::at(folder.path().to_owned()).place(ViewportBuilder::default());
    assert_eq!(placed.inner_size, Some(egui::vec2(900.0, 700.0)));
    assert_eq!(placed.position, Some(egui::pos2(40.0, 60.0)));
    assert_eq!(Home::nowhere().place(ViewportBuilder::default()).inner_size, Some(egui::vec2(1280.0, 800.0)));
}

#[test]
fn the_icon_can_be_read() {
    let icon = obliquity::window::icon();
    assert_eq!((icon.width, icon.height, icon.rgba.len()), (256, 256, 256 * 256 * 4));
    assert!(icon.rgba.chunks(4).any(|pixel| pixel[3] == 255) && icon.rgba[3] == 0, "a shape on nothing");
}
