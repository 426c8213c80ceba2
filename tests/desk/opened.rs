//! Windows for tests, and what every test of a screen does with them.

use crate::made_up;
use crate::window::{nothing_long_began, settle, shared};
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use std::path::{Path, PathBuf};

pub(crate) type Window = Harness<'static, App>;

/// A window on the made-up yard that keeps nothing.
pub(crate) fn yard() -> Window {
    yard_at(None)
}

/// A window on the made-up yard whose user's own files are in a folder.
pub(crate) fn yard_at(folder: Option<&Path>) -> Window {
    let folder: Option<PathBuf> = folder.map(Path::to_owned);
    let mut window =
        Harness::builder().with_size([1280.0, 1100.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let home = folder.map_or_else(Home::nowhere, Home::at);
            let app = App::new(ctx, Document::new(made_up::scenario(), None), Mode::Light);
            let mut app = shared(app.with_home(ctx, home)).at_once();
            app.open_on_board(obliquity::board::SETTINGS);
            app
        });
    // Figures that come in later would move what is pressed.
    settle(&mut window);
    window.run_ok();
    window
}

pub(crate) fn press(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    window.run_ok();
    nothing_long_began();
}

pub(crate) fn press_shifted(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), key);
    window.run_ok();
    nothing_long_began();
}

/// Keys that all come between two frames.
pub(crate) fn press_at_once(window: &mut Window, keys: &[Key]) {
    for &key in keys {
        let modifiers = Modifiers::NONE;
        let event = egui::Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers };
        window.input_mut().events.push(event);
    }
    window.run_ok();
}

pub(crate) fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run_ok();
    nothing_long_began();
}

/// Types a number where one stands.
pub(crate) fn type_number(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run_ok();
    press(window, Key::A);
    window.get_by_label(label).type_text(text);
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    window.run_ok();
}

pub(crate) fn shows(window: &Window, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}
