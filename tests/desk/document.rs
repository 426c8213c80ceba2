//! History, gestures and whether a document is saved.

use crate::made_up::{self, CROSSED, NADIR};
use obliquity::document::{Document, Edit, EditError};
use obliquity::settings::{Role, Setting};
use obliquity_planning::{Distance, Id, KnobId};
use std::path::PathBuf;
use std::sync::Arc;

fn height(value: f64) -> Edit {
    Edit::Set { strategy: CROSSED, setting: Setting::everywhere(KnobId::HEIGHT), value }
}

fn heights(document: &Document) -> Vec<f64> {
    let passes = document.scenario().strategy(CROSSED).unwrap().passes.iter();
    passes.map(|pass| if let Distance::Height { m, .. } = pass.distance { m } else { f64::NAN }).collect()
}

#[test]
fn a_gesture_is_one_step() {
    let mut document = Document::new(made_up::scenario(), None);
    for value in [81.0, 82.0, 90.0] {
        document.edit(&height(value)).unwrap();
    }
    document.end_gesture();
    document.edit(&height(95.0)).unwrap();
    assert_eq!(document.undo_label(), Some("Height of Crossed strips"));
    document.undo();
    assert_eq!(heights(&document), [90.0, 90.0]);
    document.undo();
    assert_eq!(heights(&document), [80.0, 80.0]);
    assert_eq!(document.undo_label(), None);
    document.redo();
    document.redo();
    assert_eq!(heights(&document), [95.0, 95.0]);
    document.redo();
    assert_eq!(heights(&document), [95.0, 95.0], "there is nothing more to bring back");
}

#[test]
fn another_setting_is_another_step_even_in_one_gesture() {
    let mut document = Document::new(made_up::scenario(), None);
    document.edit(&height(90.0)).unwrap();
    document
        .edit(&Edit::Set { strategy: CROSSED, setting: Setting::everywhere(KnobId::TILT), value: 25.0 })
        .unwrap();
    document.undo();
    assert_eq!(heights(&document), [90.0, 90.0]);
    assert_eq!(document.redo_label(), Some("Tilt of Crossed strips"));
}

#[test]
fn an_edit_forgets_what_was_undone() {
    let mut document = Document::new(made_up::scenario(), None);
    document.edit(&height(90.0)).unwrap();
    document.undo();
    document.edit(&height(70.0)).unwrap();
    assert_eq!(document.redo_label(), None);
}

#[test]
fn an_edit_that_changes_nothing_is_no_step() {
    let mut document = Document::new(made_up::scenario(), None);
    document.edit(&height(80.0)).unwrap();
    assert_eq!(document.undo_label(), None);
    assert!(!document.is_changed());
}

#[test]
fn changed_means_unlike_the_file() {
    let mut document = Document::new(made_up::scenario(), None);
    assert_eq!(document.title(), "Timber yard");
    document.edit(&height(90.0)).unwrap();
    assert!(document.is_changed());
    document.undo();
    assert!(!document.is_changed(), "back to what was read");
    document.redo();
    let saved = Arc::clone(document.scenario());
    document.mark_saved(PathBuf::from("yards/timber.ron"), saved, None);
    assert!(!document.is_changed());
    assert_eq!(document.title(), "timber.ron");
    document.undo();
    assert!(document.is_changed(), "unlike what was saved");
}

#[test]
fn an_edit_that_does_not_fit_leaves_everything_as_it_was() {
    let mut document = Document::new(made_up::scenario(), None);
    let before = Arc::clone(document.scenario());
    let edit = Edit::Set { strategy: Id(99), setting: Setting::everywhere(KnobId::TILT), value: 20.0 };
    assert_eq!(document.edit(&edit), Err(EditError::NoSuchStrategy(Id(99))));
    assert!(Arc::ptr_eq(document.scenario(), &before));
}

#[test]
fn overlaps_of_one_role_leave_the_other_alone() {
    let mut document = Document::new(made_up::scenario(), None);
    let setting = Setting { knob: KnobId::SIDELAP, role: Role::Oblique };
    document.edit(&Edit::Set { strategy: made_up::FIVE, setting, value: 0.6 }).unwrap();
    let sidelaps: Vec<f64> =
        document.scenario().strategy(made_up::FIVE).unwrap().passes.iter().map(|pass| pass.sidelap).collect();
    assert_eq!(sidelaps, [0.7, 0.6]);
    assert_eq!(document.scenario().strategy(NADIR), made_up::scenario().strategy(NADIR));
}
