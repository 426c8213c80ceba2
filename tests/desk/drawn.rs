//! Drawn scenarios as files: they come back as they went, and can be kept to hold two builds of the program against each
//! other (`tests/same_figures`).

use crate::generate::scenario;
use obliquity_exchange::{read_scenario, save_scenario};
use std::path::PathBuf;

/// How many are written.
const DRAWN: u64 = 50;

/// Derived: nothing that is drawn is lost or changed by being saved. `OBLIQUITY_DRAWN_TO` keeps the files.
#[test]
fn drawn_scenarios_come_back_from_files_as_they_went() {
    let passing = tempfile::tempdir().unwrap();
    let kept = std::env::var_os("OBLIQUITY_DRAWN_TO").map(PathBuf::from);
    let folder = kept.unwrap_or_else(|| passing.path().to_owned());
    for seed in 0..DRAWN {
        let (drawn, path) = (scenario(seed), folder.join(format!("drawn_{seed}.ron")));
        save_scenario(&path, &drawn).unwrap();
        assert_eq!(read_scenario(&path).unwrap(), drawn, "seed {seed}");
    }
}
