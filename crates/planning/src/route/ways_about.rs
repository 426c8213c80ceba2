//! What is kept of the ways to one place.

use super::airspace::Airspace;
use super::level_paths::LevelPaths;
use super::round_levels::RoundLevels;
use crate::ground::SiteOutline;
use glam::DVec2;
use std::sync::{Mutex, OnceLock};

/// What has been found out about ways to a place and from it, for many that ask at once.
#[derive(Debug)]
pub(crate) struct WaysAbout {
    pub(crate) paths: Mutex<LevelPaths>,
    /// The same of ways between other places.
    pub(crate) among: Mutex<LevelPaths>,
    levels: OnceLock<Option<RoundLevels>>,
}

impl WaysAbout {
    pub(crate) fn new(airspace: &Airspace<'_>, at_m: DVec2) -> Self {
        let about = airspace.paths_about(at_m);
        let among = airspace.paths_among(&about);
        WaysAbout { paths: Mutex::new(about), among: Mutex::new(among), levels: OnceLock::new() }
    }

    /// The ways there round all that stands in the way, level by level. `airspace` and `at_m` are those that it was made with.
    pub(crate) fn levels(&self, airspace: &Airspace<'_>, at_m: DVec2) -> Option<&RoundLevels> {
        self.levels.get_or_init(|| RoundLevels::new(airspace, at_m)).as_ref()
    }

    /// Memory that it takes at most, about.
    pub(crate) fn most_bytes(site: &SiteOutline) -> usize {
        2 * LevelPaths::most_bytes(site) + RoundLevels::most_bytes(site)
    }
}
