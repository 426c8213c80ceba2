//! Work that is not saved is kept, offered after a sudden end, and never replaces what something else has saved unasked.

use crate::made_up;
use crate::opened::{Window, click, press, shows, type_number, yard_at};
use crate::window::{settle, shared};
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::files;
use obliquity::preferences::Home;
use obliquity::theme::Mode;
use obliquity_exchange::{read_scenario, save_scenario, unsaved_left};
use std::fs;
use std::path::{Path, PathBuf};

/// A window on a file, whose user's own files are in a folder.
fn open(file: &Path, own: &Path) -> Window {
    let opened = files::read(file).unwrap();
    let document = Document::new(opened.scenario, Some(file.to_owned())).with_stamp(opened.stamp);
    let own = own.to_owned();
    let mut window =
        Harness::builder().with_size([1280.0, 1100.0]).with_max_steps(40).build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            let mut app =
                shared(App::new(ctx, document, Mode::Light).with_home(ctx, Home::at(own))).at_once();
            app.open_on_board(obliquity::board::SETTINGS);
            app
        });
    settle(&mut window);
    window.run_ok();
    window
}

fn saved_yard(folder: &Path) -> PathBuf {
    let path = folder.join("yard.ron");
    save_scenario(&path, &made_up::scenario()).unwrap();
    path
}

fn tilt(window: &mut Window, text: &str) {
    type_number(window, "Tilt of Crossed strips, as a number", text);
    assert!(window.state().document().is_changed());
}

/// Lets so many seconds of the screen's clock pass.
fn wait_s(window: &mut Window, seconds: f64) {
    let until = window.ctx.input(|input| input.time) + seconds;
    while window.ctx.input(|input| input.time) < until {
        window.step();
    }
}

fn kept(own: &Path) -> usize {
    let files = fs::read_dir(own.join("unsaved")).into_iter().flatten().flatten();
    files.filter(|file| file.path().extension().is_some_and(|extension| extension == "ron")).count()
}

/// Five seconds after an edit it is kept; saving takes it away, and so does undoing it all.
#[test]
fn an_edit_is_kept_within_five_seconds_and_no_longer_than_needed() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    let mut window = open(&path, own.path());
    wait_s(&mut window, 6.0);
    assert_eq!(kept(own.path()), 0, "nothing has changed");
    tilt(&mut window, "25");
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 1);
    press(&mut window, Key::S);
    window.run_ok();
    assert_eq!(kept(own.path()), 0, "it is saved");
    tilt(&mut window, "35");
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 1);
    press(&mut window, Key::Z);
    window.run_ok();
    assert!(!window.state().document().is_changed());
    assert_eq!(kept(own.path()), 0, "it is as saved");
}

/// Edits that come one after the other are kept all the time, not only once they end.
#[test]
fn work_that_never_rests_is_kept_too() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut window = open(&saved_yard(folder.path()), own.path());
    for round in 0..4 {
        tilt(&mut window, if round % 2 == 0 { "25" } else { "35" });
        wait_s(&mut window, 1.0);
    }
    assert_eq!(kept(own.path()), 1);
}

/// A window that ends suddenly: dropped, as it stands, without being closed.
fn crashed(path: &Path, own: &Path) {
    let mut window = open(path, own);
    tilt(&mut window, "25");
    tilt(&mut window, "26");
    wait_s(&mut window, 5.0);
}

#[test]
fn after_a_sudden_end_the_work_is_offered_and_goes_on() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    crashed(&path, own.path());
    let mut window = yard_at(Some(own.path()));
    assert!(shows(&window, "The program ended before this was saved"));
    assert!(shows(&window, "Timber yard") && shows(&window, path.to_str().unwrap()));
    assert!(shows(&window, "2 edits since it was opened or last saved"));
    click(&mut window, "Recover");
    let document = window.state().document();
    assert!(document.is_changed() && document.path() == Some(path.as_path()));
    let recovered = document.scenario().clone();
    assert_ne!(read_scenario(&path).unwrap(), *recovered);
    assert_eq!(kept(own.path()), 1, "what the earlier window kept stays until this one keeps it");
    wait_s(&mut window, 5.0);
    assert_eq!(kept(own.path()), 1);
    assert!(unsaved_left(own.path()).is_empty(), "and now it is this window's");
    press(&mut window, Key::S);
    window.run_ok();
    assert_eq!(read_scenario(&path).unwrap(), *recovered);
    assert_eq!(kept(own.path()), 0);
}

#[test]
fn looking_later_asks_again_and_discarding_does_not() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    crashed(&path, own.path());
    let mut window = yard_at(Some(own.path()));
    click(&mut window, "Look later");
    assert!(!shows(&window, "ended before this was saved") && kept(own.path()) == 1);
    click(&mut window, "File");
    window.query_all_by_label_contains("Recover unsaved work…").next().unwrap().click();
    window.run_ok();
    assert!(shows(&window, "ended before this was saved"), "the menu asks too");
    window.key_press(Key::Escape);
    window.run_ok();
    assert_eq!(kept(own.path()), 1, "closing the question leaves it");
    let mut window = yard_at(Some(own.path()));
    click(&mut window, "Discard");
    assert_eq!(kept(own.path()), 0);
    click(&mut window, "File");
    window.query_all_by_label_contains("Recover unsaved work…").next().unwrap().click();
    window.run_ok();
    assert!(shows(&window, "There is nothing to recover"));
}

#[test]
fn half_of_a_file_and_a_later_version_are_told_and_harm_nothing() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    crashed(&saved_yard(folder.path()), own.path());
    let left = unsaved_left(own.path())[0].path.clone();
    let whole = fs::read_to_string(&left).unwrap();
    for (text, told) in [
        (whole[..whole.len() / 2].to_owned(), "it was cut or changed, and cannot be recovered"),
        (whole.replacen("unsaved:1", "unsaved:9", 1), "version 9; start the version of the program"),
    ] {
        fs::write(&left, &text).unwrap();
        let mut window = yard_at(Some(own.path()));
        assert!(shows(&window, "cannot be recovered") && shows(&window, told));
        assert!(window.query_by_label("Recover").is_none());
        click(&mut window, "Look later");
        assert_eq!(fs::read_to_string(&left).unwrap(), text);
        assert!(!window.state().document().is_changed());
    }
}

/// Where the folder takes nothing that is said, once, and the work goes on.
#[test]
fn a_folder_that_takes_nothing_is_told_once_and_nothing_is_lost() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    fs::write(own.path().join("unsaved"), "a file where a folder should be").unwrap();
    let mut window = open(&path, own.path());
    tilt(&mut window, "25");
    wait_s(&mut window, 5.0);
    assert!(shows(&window, "Unsaved work is not kept"));
    click(&mut window, "Close");
    wait_s(&mut window, 40.0);
    assert!(!shows(&window, "Unsaved work is not kept"), "it is told once");
    fs::remove_file(own.path().join("unsaved")).unwrap();
    wait_s(&mut window, 40.0);
    assert_eq!(kept(own.path()), 1, "it is tried again");
    press(&mut window, Key::S);
    assert!(!window.state().document().is_changed());
}

#[test]
fn the_second_window_on_a_file_says_so() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    let first = open(&path, own.path());
    assert!(!shows(&first, "another window"));
    let second = open(&path, own.path());
    assert!(shows(&second, "yard.ron is open in another window too"));
    assert!(shows(&second, "on this computer has had it open since"));
    drop((first, second));
    let third = open(&path, own.path());
    assert!(!shows(&third, "another window"), "windows that ended suddenly have it no more");
}

#[test]
fn saving_over_what_another_has_saved_asks() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = saved_yard(folder.path());
    let mut window = open(&path, own.path());
    tilt(&mut window, "25");
    let mut theirs = made_up::scenario();
    theirs.note = "Theirs".to_owned();
    save_scenario(&path, &theirs).unwrap();
    press(&mut window, Key::S);
    assert!(shows(&window, "yard.ron was changed by something else"));
    click(&mut window, "Cancel");
    assert_eq!(read_scenario(&path).unwrap(), theirs);
    assert!(window.state().document().is_changed());
    press(&mut window, Key::S);
    click(&mut window, "Replace it");
    assert!(!window.state().document().is_changed());
    assert_eq!(read_scenario(&path).unwrap(), **window.state().document().scenario());
    // From then on it is its own again.
    tilt(&mut window, "35");
    press(&mut window, Key::S);
    assert!(!window.state().document().is_changed() && !shows(&window, "changed by something else"));
}
