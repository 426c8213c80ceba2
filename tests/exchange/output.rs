//! What is written never takes the place of what was read, of something else, or of anything unasked; it is whole or not
//! there.

use crate::sample;
use obliquity_exchange::{
    ExportError, ExportTo, FileError, FileErrorKind, Output, OutputKind, Replace, ViewRows, export_strategy,
};
use obliquity_planning::{Cancelled, NoWatch, Outcome, Scenario, Watch};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n and what follows";

fn write(path: &Path, kind: OutputKind, replace: Replace, inputs: &[&Path]) -> Result<(), FileError> {
    Output { path, kind, replace, inputs }.write(|file| file.write_all(b"new"))
}

/// Every file of a folder with what it holds.
fn held(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let file = |entry: fs::DirEntry| {
        (entry.file_name().to_string_lossy().into_owned(), fs::read(entry.path()).unwrap_or_default())
    };
    entries.map(file).collect()
}

#[test]
fn only_an_earlier_file_of_the_same_kind_is_replaced_and_only_when_asked() {
    let card = b"Set-up card: Nadir block\n".to_vec();
    let scenario = sample::TEXT.as_bytes().to_vec();
    let text = b"notes of mine".to_vec();
    let kinds = [
        (OutputKind::PICTURE, PNG.to_vec()),
        (OutputKind::CARD, card.clone()),
        (OutputKind::SCENARIO, scenario.clone()),
    ];
    for (kind, own) in &kinds {
        for there in [PNG.to_vec(), card.clone(), scenario.clone(), text.clone(), Vec::new()] {
            for replace in [Replace::Nothing, Replace::Earlier] {
                let folder = tempfile::tempdir().unwrap();
                let path = folder.path().join("some.file");
                fs::write(&path, &there).unwrap();
                let fits = there == *own || there.is_empty();
                let done = write(&path, *kind, replace, &[]).map_err(|error| error.kind);
                let expected = match (fits, replace) {
                    (true, Replace::Earlier) => Ok(()),
                    (true, Replace::Nothing) => Err(FileErrorKind::Exists),
                    (false, _) => Err(FileErrorKind::Unwritable),
                };
                assert_eq!(done, expected, "{} over {:?}", kind.name, String::from_utf8_lossy(&there));
                let now = if done.is_ok() { b"new".to_vec() } else { there.clone() };
                assert_eq!(held(folder.path()), BTreeMap::from([("some.file".to_owned(), now)]));
            }
        }
    }
}

#[test]
fn what_was_read_is_never_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let input = folder.path().join("yard.ron");
    fs::write(&input, sample::TEXT).unwrap();
    fs::create_dir(folder.path().join("inner")).unwrap();
    let roundabout = folder.path().join("inner/../yard.ron");
    for path in [&input, &roundabout] {
        let error = write(path, OutputKind::SCENARIO, Replace::Earlier, &[&input]).unwrap_err();
        assert!(error.to_string().contains("is what was read"), "{error}");
    }
    assert_eq!(fs::read_to_string(&input).unwrap(), sample::TEXT);
}

#[cfg(unix)]
#[test]
fn no_link_is_followed() {
    use std::os::unix::fs::symlink;
    let (folder, outside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let victim = outside.path().join("mine.png");
    fs::write(&victim, PNG).unwrap();
    let path = folder.path().join("board.png");
    for target in [victim.as_path(), Path::new("nowhere"), Path::new("/dev/null")] {
        symlink(target, &path).unwrap();
        let error = write(&path, OutputKind::PICTURE, Replace::Earlier, &[]).unwrap_err();
        assert!(error.to_string().contains("is a link"), "{error}");
        assert_eq!(fs::read_link(&path).unwrap(), target);
        fs::remove_file(&path).unwrap();
    }
    assert_eq!(fs::read(&victim).unwrap(), PNG);
    for there in [folder.path(), Path::new("/dev/null")] {
        let error = write(there, OutputKind::PICTURE, Replace::Earlier, &[]).unwrap_err();
        assert!(error.to_string().contains("must be a file"), "{error}");
    }
}

#[test]
fn a_folder_that_takes_nothing_says_so() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "x").unwrap();
    for path in ["file/board.png", "missing/board.png"] {
        let error = write(&folder.path().join(path), OutputKind::PICTURE, Replace::Nothing, &[]).unwrap_err();
        assert!(error.to_string().contains("cannot be written"), "{error}");
    }
    assert_eq!(held(folder.path()).len(), 1);
}

fn yard() -> (Scenario, Outcome) {
    let mut scenario = sample::scenario();
    std::sync::Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(20.0);
    let outcome = sample::sampled_outcomes(&scenario).remove(0);
    (scenario, outcome)
}

fn export(
    folder: &Path,
    replace: Replace,
    inputs: &[&Path],
    rows: ViewRows,
    watch: &dyn Watch,
) -> Result<(), ExportError> {
    let (scenario, outcome) = yard();
    let to = ExportTo { folder, replace, inputs };
    export_strategy(&to, &scenario, &outcome, rows, watch).map(|_| ())
}

#[test]
fn an_export_replaces_all_of_an_earlier_one_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("notes.txt"), "mine").unwrap();
    export(folder.path(), Replace::Nothing, &[], ViewRows::Written, &NoWatch).unwrap();
    let first = held(folder.path());
    assert!(first.contains_key("views.csv") && first.len() == 11, "{:?}", first.keys());
    let error = export(folder.path(), Replace::Nothing, &[], ViewRows::LeftOut, &NoWatch).unwrap_err();
    let ExportError::File(error) = error else { panic!("{error}") };
    assert_eq!(error.kind, FileErrorKind::Exists);
    assert!(error.to_string().contains("views.csv") && error.to_string().contains("--replace"), "{error}");
    assert_eq!(held(folder.path()), first, "nothing was touched");
    export(folder.path(), Replace::Earlier, &[], ViewRows::LeftOut, &NoWatch).unwrap();
    let second = held(folder.path());
    assert!(!second.contains_key("views.csv"), "the rows of the first export beside the second");
    assert_eq!(second["notes.txt"], b"mine");
    assert_eq!(second.len(), 10);
}

#[test]
fn an_export_touches_no_file_that_none_has_written() {
    for (name, holds) in [("stations.csv", "station;easting\n"), ("camera.json", "{}"), ("views.csv", "mine")]
    {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(name), holds).unwrap();
        let error = export(folder.path(), Replace::Earlier, &[], ViewRows::LeftOut, &NoWatch).unwrap_err();
        assert!(error.to_string().contains("holds something else"), "{error}");
        assert_eq!(held(folder.path()).len(), 1, "{name}");
        assert_eq!(held(folder.path())[name], holds.as_bytes());
    }
    let folder = tempfile::tempdir().unwrap();
    export(folder.path(), Replace::Nothing, &[], ViewRows::LeftOut, &NoWatch).unwrap();
    let before = held(folder.path());
    let input = folder.path().join("route.geojson");
    let error = export(folder.path(), Replace::Earlier, &[&input], ViewRows::LeftOut, &NoWatch).unwrap_err();
    assert!(error.to_string().contains("is what was read"), "{error}");
    assert_eq!(held(folder.path()), before);
}

/// Cancels when views are looked for, which is after all other files were written.
struct Never;

impl Watch for Never {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        Err(Cancelled)
    }
}

#[test]
fn an_export_that_is_given_up_leaves_the_earlier_one_whole() {
    let folder = tempfile::tempdir().unwrap();
    export(folder.path(), Replace::Nothing, &[], ViewRows::Written, &NoWatch).unwrap();
    let first = held(folder.path());
    let given_up = export(folder.path(), Replace::Earlier, &[], ViewRows::Written, &Never);
    assert_eq!(given_up, Err(ExportError::Cancelled(Cancelled)));
    assert_eq!(held(folder.path()), first);
}

/// A writer that fails after some of a picture: what was there stays.
#[test]
fn a_picture_that_fails_half_way_leaves_the_old_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("board.png");
    fs::write(&path, PNG).unwrap();
    let out = Output { path: &path, kind: OutputKind::PICTURE, replace: Replace::Earlier, inputs: &[] };
    let error = out
        .write(|file| {
            file.write_all(&vec![0; 50_000])?;
            Err(io::Error::from(io::ErrorKind::StorageFull))
        })
        .unwrap_err();
    assert!(error.to_string().contains("cannot be written"), "{error}");
    assert_eq!(held(folder.path()), BTreeMap::from([("board.png".to_owned(), PNG.to_vec())]));
}
