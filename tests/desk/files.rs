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
    assert_eq!(drop_text(Path::new("/a/b.ron")), "Drop to open the scenario b.ron");
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

#[test]
fn saving_by_a_typed_path_makes_it_recent_and_the_title_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = yard();
    change(&mut window);
    click(&mut window, "File");
    window.query_all_by_label_contains("Save as by path…").next().unwrap().click();
    window.run_ok();
    press(&mut window, Key::A);
    type_into(&mut window, &folder.path().join("mine"));
    assert_eq!(window.state().document().title(), "mine.ron");
    assert!(!window.state().document().is_changed());
    assert_eq!(window.state().home().preferences.recent, [folder.path().join("mine.ron")]);
}
