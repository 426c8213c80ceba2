//! The hours of the day for the strategy in focus: asked for while the conditions are shown, kept on the screen until newer
//! ones come.

use crate::app::App;
use crate::app::requests::found;
use crate::conditions::{DayAsk, DayStrip, Hours, is_quick};
use crate::engine::{Failure, failure};
use crate::jobs::{Key, Lane, Same};
use crate::long;
use obliquity_planning::arrivals::Arrival;
use obliquity_planning::{Evaluator, Id, LocalClock, Mission, Scenario, Store};
use std::sync::Arc;

/// Memory that the routes of one day's hours may take, in bytes.
const STORE_BYTES: usize = 64 << 20;

/// The hours of a strategy.
#[derive(Debug, Clone, PartialEq)]
struct HoursOf {
    from: Same<Scenario>,
    strategy: Id,
    walls_of: Option<Id>,
}

impl Key for HoursOf {
    type Reply = Result<Vec<Arrival>, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 2;

    fn told(&self) -> Option<&'static str> {
        Some("working out the hours of the day")
    }
}

/// What the strip remembers.
#[derive(Debug, Default)]
pub(in crate::app) struct HoursScreen {
    walls_of: Option<Id>,
    /// What was shown last, for whom and of which walls: it stays until newer hours come.
    shown: Option<(Id, Option<Id>, Vec<Arrival>)>,
}

impl App {
    fn hours_wanted(&self) -> Option<HoursOf> {
        let scenario = self.document.scenario();
        let strategy = self.focus()?;
        scenario.site.origin.and(scenario.conditions.mission.as_ref())?;
        let walls_of = self.hours.walls_of.filter(|id| scenario.site.structures.iter().any(|s| s.id == *id));
        Some(HoursOf { from: Same::of(scenario), strategy, walls_of })
    }

    /// Has the hours worked out where that takes little.
    pub(super) fn follow_hours(&mut self) {
        let quick = self
            .side
            .known
            .as_ref()
            .and_then(|known| known.outline())
            .is_some_and(|outline| is_quick(outline));
        let Some(key) = self.hours_wanted() else { return };
        if let Some(Ok(Ok(found))) = self.jobs.known(&key) {
            let same = |(id, walls, hours): &(Id, Option<Id>, Vec<Arrival>)| {
                (*id, *walls) == (key.strategy, key.walls_of) && hours == found
            };
            if !self.hours.shown.as_ref().is_some_and(same) {
                self.hours.shown = Some((key.strategy, key.walls_of, found.clone()));
            }
        } else if quick && self.jobs.known(&key).is_none() {
            self.work_out_hours(&key);
        }
    }

    fn work_out_hours(&mut self, key: &HoursOf) {
        if self.jobs.is_open(|own: &HoursOf| own == key) {
            return;
        }
        self.jobs.cancel(|own: &HoursOf| own != key);
        let HoursOf { from: Same(scenario), strategy, walls_of } = key.clone();
        self.jobs.request(key.clone(), move |watch| {
            long::begins("hours of the day");
            let store = Store::new(STORE_BYTES);
            let evaluator = Evaluator { store: &store, watch };
            evaluator.arrivals(&scenario, strategy, walls_of).map_err(failure)
        });
    }

    /// What the strip shows, where there is a date and a place.
    pub(super) fn hours_strip<'a>(
        &'a self,
        scenario: &'a Arc<Scenario>,
        structures: &'a [(Id, String)],
        wind: &'a str,
    ) -> Option<DayStrip<'a>> {
        let key = self.hours_wanted()?;
        let known = self.jobs.known(&key).map(found);
        let shown =
            self.hours.shown.as_ref().filter(|(id, walls, _)| (*id, *walls) == (key.strategy, key.walls_of));
        let (hours, freshness) = match (known, shown) {
            (Some(known), _) => (Some(known.map(Vec::as_slice)), Hours::Fresh),
            (None, shown) => {
                let open = self.jobs.is_open(|own: &HoursOf| *own == key);
                let freshness = if open { Hours::Updating } else { Hours::Unasked };
                (shown.map(|(.., hours)| Ok(hours.as_slice())).filter(|_| open), freshness)
            }
        };
        let Mission { arrival, .. } = *scenario.conditions.mission.as_ref()?;
        Some(DayStrip { hours, freshness, walls_of: key.walls_of, structures, arrival, wind })
    }

    /// Does what was asked of the strip; gives the arrival that was chosen.
    pub(super) fn hours_asked(&mut self, ask: &DayAsk) -> Option<LocalClock> {
        match ask {
            DayAsk::Arrive(clock) => return Some(*clock),
            DayAsk::Walls(walls_of) => self.hours.walls_of = *walls_of,
            DayAsk::WorkOut => {
                if let Some(key) = self.hours_wanted() {
                    self.work_out_hours(&key);
                }
            }
        }
        None
    }
}
