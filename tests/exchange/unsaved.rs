//! Work that was not saved: kept whole, told for what it is, and never believed where it is not whole.

use crate::sample;
use obliquity_exchange::{
    FileErrorKind, FileStamp, LogKind, LogSheet, UnsavedKind, UnsavedNote, UnsavedPlace, UnsavedWork,
    read_scenario, read_unsaved, remove_unsaved, save_scenario, save_stamped_scenario, unsaved_left,
};
use std::fs;
use std::path::{Path, PathBuf};

fn note() -> UnsavedNote {
    UnsavedNote {
        kind: UnsavedKind::Scenario,
        scenario: "Timber \"yard\"\nby the river".to_owned(),
        file: Some(PathBuf::from("/jobs/yärd.ron")),
        stamp: Some(FileStamp { bytes: 12, written_unix_ms: None, digest: [u64::MAX, 3] }),
        at_unix_s: 1_790_000_000,
        edits: 12,
    }
}

/// What a window leaves that comes to a sudden end: its locks go with it, its file stays.
fn left_in(folder: &Path) -> PathBuf {
    let place = UnsavedPlace::new(folder, note().at_unix_s).unwrap();
    place.keep(&note(), &sample::scenario()).unwrap();
    assert!(unsaved_left(folder).is_empty(), "its window is still there");
    drop(place);
    let left = unsaved_left(folder);
    assert_eq!(left.len(), 1);
    left[0].path.clone()
}

#[test]
fn unsaved_work_comes_back_whole_and_says_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("not made yet");
    let path = left_in(&own);
    assert_eq!(unsaved_left(&own)[0].note.as_ref().unwrap(), &note());
    let work = UnsavedWork::Scenario(Box::new(sample::scenario()));
    assert_eq!(read_unsaved(&path).unwrap(), (note(), work));
    remove_unsaved(&path).unwrap();
    assert!(unsaved_left(&own).is_empty());
    assert_eq!(fs::read_dir(own.join("unsaved")).unwrap().count(), 0, "the lock goes too");
}

/// Derived: both logs come back cell by cell, whatever stands in them; cut anywhere, or with a byte turned, they are refused.
#[test]
fn logs_come_back_whole_or_not_at_all() {
    for kind in LogKind::ALL {
        let folder = tempfile::tempdir().unwrap();
        let mut sheet = LogSheet::empty(kind);
        for cells in [["West, upper", "about 3", "\u{e9}"], ["", "", "4"]] {
            let mut row = vec![String::new(); sheet.names.len()];
            for (cell, text) in row.iter_mut().zip(cells) {
                text.clone_into(cell);
            }
            sheet.rows.push(row);
        }
        let note = UnsavedNote { kind: UnsavedKind::of_log(kind), scenario: "log.csv".to_owned(), ..note() };
        let place = UnsavedPlace::new(folder.path(), note.at_unix_s).unwrap();
        place.keep(&note, &sheet).unwrap();
        place.keep(&note, &sheet).unwrap();
        drop(place);
        let path = unsaved_left(folder.path())[0].path.clone();
        assert_eq!(read_unsaved(&path).unwrap(), (note, UnsavedWork::Log(sheet)));
        let whole = fs::read(&path).unwrap();
        for cut in 0..whole.len() {
            fs::write(&path, &whole[..cut]).unwrap();
            assert!(read_unsaved(&path).is_err(), "{cut}");
        }
        let head = whole.iter().position(|byte| *byte == b'\n').unwrap();
        for at in head + 1..whole.len() {
            let mut bytes = whole.clone();
            bytes[at] ^= 1;
            fs::write(&path, &bytes).unwrap();
            assert!(read_unsaved(&path).is_err(), "byte {at}");
        }
    }
}

#[test]
fn a_window_that_closes_as_it_should_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let place = UnsavedPlace::new(folder.path(), 1).unwrap();
    place.keep(&note(), &sample::scenario()).unwrap();
    place.clear().unwrap();
    place.clear().unwrap();
    place.keep(&note(), &sample::scenario()).unwrap();
    place.close();
    assert_eq!(fs::read_dir(folder.path().join("unsaved")).unwrap().count(), 0);
}

/// The newest is told first; two windows do not take each other's place.
#[test]
fn several_are_told_the_newest_first() {
    let folder = tempfile::tempdir().unwrap();
    let windows: Vec<UnsavedPlace> = (0..3).map(|_| UnsavedPlace::new(folder.path(), 5).unwrap()).collect();
    for (place, at_unix_s) in windows.iter().zip([20, 40, 30]) {
        place.keep(&UnsavedNote { at_unix_s, ..note() }, &sample::scenario()).unwrap();
    }
    drop(windows);
    let at: Vec<u64> =
        unsaved_left(folder.path()).iter().map(|left| left.note.as_ref().unwrap().at_unix_s).collect();
    assert_eq!(at, [40, 30, 20]);
}

/// Cut anywhere, or with any byte turned, it is refused with a reason: never taken for whole, never a panic.
#[test]
fn half_written_work_is_told_and_not_believed() {
    let folder = tempfile::tempdir().unwrap();
    let path = left_in(folder.path());
    let whole = fs::read(&path).unwrap();
    let head = whole.iter().position(|byte| *byte == b'\n').unwrap();
    let cuts = (0..head + 3).chain((head..whole.len()).step_by(997));
    for cut in cuts {
        fs::write(&path, &whole[..cut]).unwrap();
        let left = unsaved_left(folder.path());
        let error = left[0].note.as_ref().unwrap_err().to_string();
        assert!(error.contains("cannot be recovered"), "{cut}: {error}");
        assert!(read_unsaved(&path).is_err());
    }
    for at in (head + 1..whole.len()).step_by(1009) {
        let mut bytes = whole.clone();
        bytes[at] ^= 1;
        fs::write(&path, &bytes).unwrap();
        assert!(read_unsaved(&path).is_err(), "byte {at}");
    }
    fs::write(&path, [whole.as_slice(), b" "].concat()).unwrap();
    assert!(read_unsaved(&path).is_err(), "something was added");
    fs::write(&path, [0xff, 0xfe, 0]).unwrap();
    assert!(unsaved_left(folder.path())[0].note.is_err());
}

#[test]
fn work_of_a_version_that_is_not_known_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = left_in(folder.path());
    let later = fs::read_to_string(&path).unwrap().replacen("unsaved:1", "unsaved:2,wings:[1,2]", 1);
    fs::write(&path, &later).unwrap();
    let error = read_unsaved(&path).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Format);
    assert!(error.to_string().contains("version 2; start the version of the program"), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), later);
}

#[test]
fn a_folder_that_takes_nothing_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let blocked = folder.path().join("own");
    fs::write(&blocked, "a file where the folder should be").unwrap();
    let error = UnsavedPlace::new(&blocked, 1).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Unwritable);
    assert!(unsaved_left(&blocked).is_empty());
}

/// A full disk, or a folder that goes away, in the middle: what was kept before stays, and nothing lies beside it.
#[test]
fn what_cannot_be_kept_leaves_what_was_kept_before() {
    let folder = tempfile::tempdir().unwrap();
    let place = UnsavedPlace::new(folder.path(), 1).unwrap();
    place.keep(&note(), &sample::scenario()).unwrap();
    let unsaved = folder.path().join("unsaved");
    let away = folder.path().join("away");
    fs::rename(&unsaved, &away).unwrap();
    assert_eq!(place.keep(&note(), &sample::scenario()).unwrap_err().kind, FileErrorKind::Unwritable);
    fs::rename(&away, &unsaved).unwrap();
    drop(place);
    assert_eq!(unsaved_left(folder.path()).len(), 1);
    assert_eq!(fs::read_dir(&unsaved).unwrap().count(), 2, "the file and its lock");
}

/// What something else has saved meanwhile is not replaced unasked; a file that was only touched, or is gone, is written.
#[test]
fn a_file_that_changed_on_disk_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    let mine = sample::scenario();
    let known = save_stamped_scenario(&path, &mine, None).unwrap();
    assert_eq!(known, FileStamp::read(&path).unwrap());
    fs::write(&path, fs::read(&path).unwrap()).unwrap();
    let known = save_stamped_scenario(&path, &mine, Some(&known)).unwrap();
    let mut theirs = sample::scenario();
    theirs.name = "Theirs".to_owned();
    save_scenario(&path, &theirs).unwrap();
    let error = save_stamped_scenario(&path, &mine, Some(&known)).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Changed);
    assert_eq!(read_scenario(&path).unwrap(), theirs);
    fs::remove_file(&path).unwrap();
    save_stamped_scenario(&path, &mine, Some(&known)).unwrap();
    assert_eq!(read_scenario(&path).unwrap(), mine);
}
