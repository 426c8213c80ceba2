//! Where sorties start and end, and what the pilot sees from there.

use crate::base::digest::Digest;
use crate::route::WaysAbout;
use crate::route::lookout::Lookout;
use crate::scenario::{Conditions, Scenario, Strategy};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// A take-off point.
#[derive(Debug, Clone)]
pub(crate) struct Home {
    /// On the ground.
    pub(crate) at_m: DVec3,
    pub(crate) lookout: Arc<Lookout>,
    /// What was found out about ways to it and from it.
    pub(crate) ways: Arc<WaysAbout>,
}

impl Scenario {
    /// Where the sorties of a strategy may start: the site's take-off point, then its own further ones.
    ///
    /// # Units
    /// - returns: metres, east and north
    pub fn take_offs_m(&self, strategy: &Strategy) -> Vec<DVec2> {
        std::iter::once(self.site.take_off_m).chain(strategy.take_offs_m.iter().copied()).collect()
    }
}

/// What a take-off point is called in sentences: the site's is the first one.
pub(crate) fn take_off_name(home: usize) -> String {
    if home == 0 { "the take-off point".to_owned() } else { format!("take-off point {}", home + 1) }
}

impl Digest {
    /// What is chosen from where there are several take-off points, and by what; of one the route knows all.
    pub(crate) fn homes(&mut self, homes: &[Home], conditions: &Conditions) -> &mut Self {
        self.whole(homes.len() as u64);
        if homes.len() < 2 {
            return self;
        }
        self.numbers(&[conditions.pilot_distance_m, conditions.move_min]);
        homes.iter().fold(self, |digest, home| digest.numbers(&home.at_m.to_array()))
    }
}
