//! Recent files, dropped files, and the questions before something is lost.

use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard, yard_at};
use egui::{DroppedFile, Key, ViewportId};
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::drop_text;
use obliquity_exchange::{read_scenario, save_scenario};
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

fn type_path(window: &mut Window, key: Key, path: &Path) {
    press_shifted(window, key);
    type_into(window, path);
}

/// Types a path into the dialog that asks for one.
fn type_into(window: &mut Window, path: &Path) {
    let field = window.query_all_by_label_contains("Path").find(|node| node.accesskit_node().is_text_input());
    field.unwrap().type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

fn change(window: &mut Window) {
    type_number(window, "Tilt of Crossed strips, as a number", "25");
    assert!(window.state().document().is_changed());
}

fn saved_yard(folder: &Path) -> PathBuf {
    let path = folder.join("yard.ron");
    save_scenario(&path, &crate::made_up::scenario()).unwrap();
    path
}

fn open_recent(window: &mut Window) {
    window.query_all_by_label_contains("Open recent").next().unwrap().click();
    window.run_ok();
}

#[test]
fn opened_files_are_recent_and_missing_ones_grey() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    let mut window = yard_at(Some(own.path()));
    type_path(&mut window, Key::O, &path);
    assert_eq!(window.state().document().title(), "yard.ron");
    // Two windows with one file open would say so.
    drop(window);
    let mut window = yard_at(Some(own.path()));
    click(&mut window, "File");
    open_recent(&mut window);
    click(&mut window, "yard.ron");
    assert_eq!(window.state().document().path(), Some(path.as_path()));
    fs::remove_file(&path).unwrap();
    click(&mut window, "File");
    open_recent(&mut window);
    let item = window.query_all_by_label("yard.ron").find(|node| node.accesskit_node().is_disabled());
    assert!(item.is_some(), "it is listed, and cannot be chosen");
}

#[test]
fn dropped_files_are_opened_or_imported() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let mut window = yard();
    change(&mut window);
    window.input_mut().dropped_files.push(Arc::new(Dropped(path.clone())));
    window.run_ok();
    assert!(shows(&window, "changes that are not saved"));
    click(&mut window, "Discard the changes");
    assert_eq!(window.state().document().path(), Some(path.as_path()));
    let other = folder.path().join("notes.txt");
    window.input_mut().dropped_files.push(Arc::new(Dropped(other)));
    window.run_ok();
    assert!(shows(&window, "notes.txt is no scenario"));
}

#[test]
fn dropping_says_beforehand_what_it_will_do() {
    assert_eq!(drop_text(Path::new("/a/b.ron")), "Drop to open the scenario, portfolio or lesson b.ron");
    assert!(drop_text(Path::new("b.KMZ")).starts_with("Drop to make the polygon"));
    assert!(drop_text(Path::new("b")).contains("no scenario"));
}

/// Presses the window's own button for closing.
fn close(window: &mut Window) {
    let viewport = window.input_mut().viewports.get_mut(&ViewportId::ROOT).unwrap();
    viewport.events.push(egui::ViewportEvent::Close);
    window.step();
    window.input_mut().viewports.get_mut(&ViewportId::ROOT).unwrap().events.clear();
    window.run_ok();
}

fn is_closing(window: &Window) -> bool {
    let commands =
        window.output().viewport_output.get(&ViewportId::ROOT).map(|output| output.commands.clone());
    commands.unwrap_or_default().contains(&egui::ViewportCommand::Close)
}

#[test]
fn closing_with_changes_asks_and_each_answer_does_what_it_says() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let mut window = yard();
    type_path(&mut window, Key::O, &path);
    change(&mut window);
    close(&mut window);
    assert!(shows(&window, "changes that are not saved"));
    click(&mut window, "Cancel");
    assert!(window.state().document().is_changed());
    assert!(!shows(&window, "changes that are not saved"));
    close(&mut window);
    window.get_by_label("Save first").click();
    window.step();
    window.step();
    assert!(is_closing(&window) || !window.state().document().is_changed());
    assert_eq!(&read_scenario(&path).unwrap(), &**window.state().document().scenario());
}

#[test]
fn opening_with_changes_asks_first() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let mut window = yard();
    change(&mut window);
    press_shifted(&mut window, Key::O);
    assert!(shows(&window, "changes that are not saved"));
    click(&mut window, "Discard the changes");
    type_into(&mut window, &path);
    assert_eq!(window.state().document().title(), "yard.ron");
}

#[test]
fn a_broken_file_is_told_with_line_and_column_and_is_not_recent() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wrong.ron");
    let good = obliquity_exchange::write_scenario(&crate::made_up::scenario());
    fs::write(&path, good.replacen("sidelap: 0.7", "sidelap: 1.7", 1)).unwrap();
    let line = good.lines().position(|line| line.contains("sidelap: 0.7")).unwrap() + 1;
    let mut window = yard();
    type_path(&mut window, Key::O, &path);
    assert!(shows(&window, &format!("wrong.ron:{line}:")));
    assert!(shows(&window, "write 0.7 for 70 %"), "the mend");
    assert_eq!(window.state().document().title(), "Timber yard");
    assert!(window.state().home().preferences.recent.is_empty());
}

/// A path that is wrong stays in its field, with what is wrong, and the right one goes in its place.
#[test]
fn a_wrong_path_stays_to_be_mended() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let mut window = yard();
    let missing = folder.path().join("yrad.ron");
    type_path(&mut window, Key::O, &missing);
    assert!(shows(&window, "The file was not opened"));
    let typed = window
        .get_by_label("Path of the scenario, portfolio or lesson (.ron) or log (.csv)")
        .accesskit_node()
        .value();
    assert_eq!(typed.as_deref(), missing.to_str(), "what was typed is still there");
    press(&mut window, Key::A);
    type_into(&mut window, &path);
    assert_eq!(window.state().document().title(), "yard.ron");
}

/// The same where something is written, and with closing after it: the question goes on until it is answered.
#[test]
fn a_wrong_path_for_saving_is_asked_again_and_then_closes() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard();
    change(&mut window);
    window.key_press_modifiers(egui::Modifiers::COMMAND.plus(egui::Modifiers::ALT), Key::S);
    window.run_ok();
    press(&mut window, Key::A);
    type_into(&mut window, &folder.path().join("nowhere/mine.ron"));
    assert!(shows(&window, "The scenario was not saved"));
    press(&mut window, Key::A);
    type_into(&mut window, &folder.path().join("mine.ron"));
    assert_eq!(window.state().document().title(), "mine.ron");
}

/// Enter presses the button that is meant, in every question and message.
#[test]
fn enter_presses_the_button_that_is_meant() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let mut window = yard();
    type_path(&mut window, Key::O, &path);
    change(&mut window);
    close(&mut window);
    assert!(shows(&window, "changes that are not saved"));
    window.key_press(Key::Enter);
    window.step();
    window.step();
    assert_eq!(&read_scenario(&path).unwrap(), &**window.state().document().scenario(), "saved first");
    let mut window = yard();
    let other = folder.path().join("notes.txt");
    window.input_mut().dropped_files.push(Arc::new(Dropped(other)));
    window.run_ok();
    assert!(shows(&window, "notes.txt is no scenario"));
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(!shows(&window, "notes.txt is no scenario"), "a message is closed");
}

#[test]
fn saving_by_a_typed_path_makes_it_recent_and_the_title_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard();
    change(&mut window);
    window.key_press_modifiers(egui::Modifiers::COMMAND.plus(egui::Modifiers::ALT), Key::S);
    window.run_ok();
    press(&mut window, Key::A);
    type_into(&mut window, &folder.path().join("mine"));
    assert_eq!(window.state().document().title(), "mine.ron");
    assert!(!window.state().document().is_changed());
    assert_eq!(window.state().home().preferences.recent, [folder.path().join("mine.ron")]);
}

/// Types a path to save the scenario to.
fn save_as(window: &mut Window, path: &Path) {
    window.key_press_modifiers(egui::Modifiers::COMMAND.plus(egui::Modifiers::ALT), Key::S);
    window.run_ok();
    press(window, Key::A);
    type_into(window, path);
}

#[test]
fn a_typed_name_of_a_file_that_is_there_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let path = saved_yard(folder.path());
    let before = fs::read(&path).unwrap();
    let mut window = yard();
    change(&mut window);
    for named in [path.clone(), path.with_extension("")] {
        save_as(&mut window, &named);
        assert!(shows(&window, "yard.ron is there already"));
        assert_eq!(fs::read(&path).unwrap(), before, "not before the answer");
        window.key_press(Key::Escape);
        window.run_ok();
        assert!(!shows(&window, "is there already") && window.state().document().is_changed());
        assert_eq!(fs::read(&path).unwrap(), before);
    }
    save_as(&mut window, &path);
    click(&mut window, "Replace");
    assert!(!window.state().document().is_changed());
    assert_eq!(&read_scenario(&path).unwrap(), &**window.state().document().scenario());
    // Its own file is saved without a question.
    type_number(&mut window, "Tilt of Crossed strips, as a number", "35");
    save_as(&mut window, &path);
    assert!(!window.state().document().is_changed() && !shows(&window, "is there already"));
}

#[test]
fn no_scenario_takes_the_place_of_something_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    fs::write(&path, "a shopping list").unwrap();
    let mut window = yard();
    save_as(&mut window, &path);
    assert!(shows(&window, "Nothing was saved") && shows(&window, "it holds something else"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "a shopping list");
}

/// A tool tip that is open when a dialog comes up by a key would stand in front of it as long as the pointer rests.
#[test]
fn no_tool_tip_stands_in_front_of_a_dialog() {
    let tips = |window: &Window| shows(window, "20° to 35° helps the geometry");
    for dialog in [Key::O, Key::I] {
        let mut window = yard();
        // Figures that come in meanwhile move what the pointer rests on.
        for _ in 0..50 {
            window.get_by_label("Tilt of Crossed strips, as a number").hover();
            window.run_steps(60);
            if tips(&window) {
                break;
            }
        }
        assert!(tips(&window), "it comes up when the pointer rests");
        window.key_press_modifiers(egui::Modifiers::COMMAND.plus(egui::Modifiers::SHIFT), dialog);
        for frame in 0..60 {
            window.step();
            assert!(!(tips(&window) && shows(&window, "Path of the")), "frame {frame}");
        }
        assert!(shows(&window, "Path of the"), "the dialog is up");
        window.key_press(Key::Escape);
        window.run_steps(10);
        assert!(!shows(&window, "Path of the"));
    }
}

/// A boundary opened by its path is where a site begins, as on the command line; it is not what the scenario is saved to.
#[test]
fn a_boundary_is_opened_by_its_path() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/salt_marsh.geojson");
    let mut window = yard();
    press_shifted(&mut window, Key::O);
    window.get_by_label_contains("Path of the scenario").type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(shows(&window, "A site was begun from the boundary"));
    let document = window.state().document();
    assert!(document.path().is_none() && document.scenario().strategies.len() == 4);
    assert!(document.scenario().site.origin.is_some());
}
