//! Killing a process in the middle of saving never loses the file.

use crate::sample;
use obliquity_exchange::{read_scenario, save_scenario};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Names the file that a child of this test saves over and over.
const CHILD_SAVES: &str = "OBLIQUITY_TEST_CHILD_SAVES";

/// The child of the test below saves until it is killed; on its own it saves a few times and looks at the last.
#[test]
fn child_that_saves_until_killed() {
    let mut scenario = sample::scenario();
    let folder = tempfile::tempdir().unwrap();
    let (path, turns) = match std::env::var_os(CHILD_SAVES) {
        Some(path) => (path.into(), usize::MAX),
        None => (folder.path().join("yard.ron"), 5),
    };
    for turn in 0..turns {
        // The versions differ in length, so that a cut or mixed one shows.
        scenario.note = "n".repeat(turn % 7 * 4_000);
        save_scenario(&path, &scenario).unwrap();
    }
    assert_eq!(read_scenario(&path).unwrap(), scenario);
}

/// Derived: a whole version reads back with a note of one of the lengths written; a cut one cannot.
#[test]
fn a_killed_save_leaves_a_whole_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.ron");
    save_scenario(&path, &sample::scenario()).unwrap();
    let mut changed = 0;
    for kill in 0..25u64 {
        let before = std::fs::metadata(&path).unwrap().modified().unwrap();
        // Moments spread over the child's start and many of its saves.
        kill_a_saving_child(&path, Duration::from_millis(15 + kill * 37 % 61));
        let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("kill {kill}: {error}"));
        assert_eq!(scenario.note.len() % 4_000, 0);
        let previous = folder.path().join("yard.ron.previous");
        if previous.exists() {
            read_scenario(&previous).unwrap_or_else(|error| panic!("kill {kill}: {error}"));
        }
        changed += u32::from(std::fs::metadata(&path).unwrap().modified().unwrap() != before);
    }
    assert!(changed > 5, "the children hardly saved: {changed}");
}

fn kill_a_saving_child(path: &Path, after: Duration) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "save::child_that_saves_until_killed", "--test-threads", "1"])
        .env(CHILD_SAVES, path)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let end = Instant::now() + after;
    while Instant::now() < end {
        // Meanwhile the file is never missing, whatever the moment.
        assert!(path.exists());
    }
    child.kill().unwrap();
    child.wait().unwrap();
}
