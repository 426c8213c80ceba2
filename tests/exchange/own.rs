//! The user's own files: preferences never block the start, the library is never lost.

use crate::sample;
use obliquity_exchange::{
    GsdUnit, MOST_RECENT, Preferences, ThemeChoice, Units, WindowPlace, parse_library, parse_preferences,
    read_library, read_preferences, save_library, save_preferences, write_library, write_preferences,
};
use obliquity_planning::Equipment;
use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};

fn some() -> Preferences {
    Preferences {
        window: Some(WindowPlace {
            left: Some(12.0),
            top: Some(-30.0),
            width: 1280.0,
            height: 800.0,
            maximized: false,
        }),
        theme: ThemeChoice::Dark,
        text_size: Some(1.2),
        units: Units::UsCustomary,
        gsd: GsdUnit::Inches,
        recent: vec![PathBuf::from("/sites/quay \"west\".ron")],
        pictures: vec![PathBuf::from("/pictures/quay.tif")],
        board_opened: ["settings".to_owned(), "Time".to_owned()].into(),
        paper: Some(obliquity_exchange::PaperSize::Letter),
        blocks: obliquity_exchange::BlocksChoice::Asked,
        panel_widths: [("plan".to_owned(), 320.0)].into(),
    }
}

#[test]
fn preferences_come_back_as_they_were_saved() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("not").join("there yet");
    assert_eq!(read_preferences(&own), (Preferences::default(), None));
    save_preferences(&own, &some()).unwrap();
    assert_eq!(read_preferences(&own), (some(), None));
}

#[test]
fn broken_preferences_are_set_aside() {
    for broken in ["(units: ", "(units: Furlongs)", "\u{0}", "[1, 2]", ""] {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("preferences.ron");
        fs::write(&file, broken).unwrap();
        let (preferences, note) = read_preferences(folder.path());
        assert_eq!(preferences, Preferences::default());
        assert!(note.unwrap().contains("preferences.ron.unreadable"));
        assert_eq!(fs::read_to_string(folder.path().join("preferences.ron.unreadable")).unwrap(), broken);
        assert!(!file.exists());
    }
}

#[test]
fn what_is_left_out_or_unknown_is_as_if_never_set() {
    let read = parse_preferences("(units: UsCustomary, a_later_wish: [1, (2)])").unwrap();
    assert_eq!(read, Preferences { units: Units::UsCustomary, ..Preferences::default() });
}

#[test]
fn impossible_sizes_are_left_out() {
    let text =
        "(window: (left: 1e30, top: 3, width: 800, height: 600), panel_widths: {\"a\": NaN, \"b\": 300})";
    let read = parse_preferences(text).unwrap();
    let window = read.window.unwrap();
    assert_eq!((window.left, window.top), (None, Some(3.0)));
    assert_eq!(read.panel_widths.len(), 1);
    assert_eq!(parse_preferences("(window: (width: 3, height: 600))").unwrap().window, None);
}

#[test]
fn recent_files_are_few_and_the_latest_first() {
    let mut preferences = Preferences::default();
    for number in 0..15 {
        preferences.remember(Path::new(&format!("{number}.ron")));
    }
    preferences.remember(Path::new("9.ron"));
    assert_eq!(preferences.recent.len(), MOST_RECENT);
    assert_eq!(preferences.recent[..2], [PathBuf::from("9.ron"), PathBuf::from("14.ron")]);
    assert_eq!(preferences.recent.iter().filter(|path| **path == Path::new("9.ron")).count(), 1);
}

fn aircraft() -> Equipment {
    (*sample::scenario().equipment).clone()
}

#[test]
fn a_library_comes_back_and_keeps_its_version_before() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own");
    assert_eq!(read_library(&own).unwrap(), Equipment::default());
    save_library(&own, &aircraft()).unwrap();
    assert_eq!(read_library(&own).unwrap(), aircraft());
    save_library(&own, &Equipment::default()).unwrap();
    let before = fs::read_to_string(own.join("aircraft.ron.previous")).unwrap();
    assert_eq!(parse_library(&before, "before").unwrap(), aircraft());
}

#[test]
fn a_library_that_cannot_be_read_is_not_overwritten() {
    for text in ["(format: 2, aircraft: [], hangars: [])", "(format: 1, aircraft: [", "mine"] {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("aircraft.ron");
        fs::write(&file, text).unwrap();
        assert!(read_library(folder.path()).is_err());
        assert!(save_library(folder.path(), &aircraft()).is_err());
        assert_eq!(fs::read_to_string(&file).unwrap(), text);
    }
}

#[test]
fn a_fault_in_a_library_is_told_with_its_place() {
    let mut wrong = aircraft();
    wrong.aircraft[0].camera.image_mb = -1.0;
    let text = write_library(&wrong);
    let error = parse_library(&text, "aircraft.ron").unwrap_err();
    let line = text.lines().position(|line| line.contains("image_mb")).unwrap() + 1;
    assert_eq!(error.place().unwrap().line, line);
    let folder = tempfile::tempdir().unwrap();
    assert!(save_library(folder.path(), &wrong).is_err(), "it could not be read back");
    assert!(!folder.path().join("aircraft.ron").exists());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn hostile_preferences_and_libraries_give_errors_not_panics(at in 0usize..2000, byte in 0u8..=255) {
        for text in [write_preferences(&some()), write_library(&aircraft())] {
            let mut bytes = text.into_bytes();
            let len = bytes.len();
            bytes[at % len] = byte;
            let changed = String::from_utf8_lossy(&bytes);
            let _ = parse_preferences(&changed);
            let _ = parse_library(&changed, "changed");
            let _ = parse_library(&changed[..changed.floor_char_boundary(at % len)], "cut");
        }
    }
}
