//! What can be had for what: all settings looked at, as plain values.

use super::Searched;
use super::model::figure;
use obliquity_exchange::chart::{FrontChart, TradeOf, front_chart};
use obliquity_exchange::{Slots, misses_text, setting_text};
use obliquity_planning::what_if::{Looked, TuneAsk};
use obliquity_planning::wording::within;
use obliquity_planning::{Id, MeasureId, Scenario, Units, measure};

/// What it is made of, beside what was searched.
#[derive(Debug)]
pub(super) struct GivenTrade<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) axes: (MeasureId, MeasureId),
    pub(super) picked: Option<&'a (Id, Vec<f64>)>,
    pub(super) units: Units,
}

/// The settings of a strategy.
#[derive(Debug)]
struct Tried<'a> {
    ask: &'a TuneAsk,
    looked: Vec<Looked>,
}

/// What the lower part of the screen shows.
#[derive(Debug)]
pub(super) struct TradeSheet<'a> {
    scenario: &'a Scenario,
    pub(super) axes: (MeasureId, MeasureId),
    pub(super) front: FrontChart,
    /// The place in `front.points` of the setting picked.
    pub(super) picked: Option<usize>,
    tried: Vec<Tried<'a>>,
    units: Units,
}

/// A setting in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct PointText {
    pub(super) slot: usize,
    pub(super) name: String,
    pub(super) setting: String,
    /// Both figures.
    pub(super) figures: [String; 2],
    /// Whether it meets, and what it misses.
    pub(super) meets: String,
}

impl PointText {
    /// All of it in one sentence.
    pub(super) fn sentence(&self) -> String {
        format!("{}: {}; {}; {}", self.name, self.setting, self.figures.join(", "), self.meets)
    }
}

impl<'a> TradeSheet<'a> {
    pub(super) fn new(given: &GivenTrade<'a>, searched: impl Iterator<Item = &'a Searched>) -> Self {
        let GivenTrade { scenario, axes, picked, units } = *given;
        let mut found = Vec::new();
        let tried: Vec<Tried<'a>> = searched
            .map(|own| {
                let looked = match &own.done {
                    Some(Ok(tuned)) => tuned.looked.clone(),
                    Some(Err(_)) => Vec::new(),
                    None => own.so_far().foremost,
                };
                let foremost = own.foremost();
                let is_found = |one: &Looked| foremost.as_ref().is_some_and(|best| best.values == one.values);
                found.push(looked.iter().position(is_found));
                Tried { ask: &own.ask, looked }
            })
            .collect();
        let trades: Vec<TradeOf<'_>> = tried
            .iter()
            .zip(&found)
            .map(|(own, found)| TradeOf { strategy: own.ask.strategy, looked: &own.looked, found: *found })
            .collect();
        let front = front_chart(scenario, &trades, axes, units);
        let picked = picked.and_then(|(strategy, values)| {
            front.points.iter().position(|point| {
                let own = &tried[point.of];
                own.ask.strategy == *strategy && own.looked[point.setting].values == *values
            })
        });
        TradeSheet { scenario, axes, front, picked, tried, units }
    }

    /// A setting as it is picked.
    pub(super) fn setting(&self, point: usize) -> (Id, Vec<f64>) {
        let point = self.front.points[point];
        let own = &self.tried[point.of];
        (own.ask.strategy, own.looked[point.setting].values.clone())
    }

    /// A setting in words.
    pub(super) fn told(&self, point: usize) -> PointText {
        let point = self.front.points[point];
        let own = &self.tried[point.of];
        let looked = &own.looked[point.setting];
        let strategy = own.ask.strategy;
        let told = |of: MeasureId| {
            let row = measure(of);
            let value = looked.tried.figure(of).map_or("–".to_owned(), |v| figure(self.units, row.unit, v));
            format!("{} {value}", within(row.name))
        };
        let meets = match (looked.tried.meets, looked.misses.is_empty()) {
            (Some(true), true) => "meets the requirement".to_owned(),
            (Some(true), false) => {
                format!(
                    "meets the requirement, with less to spare: {}",
                    misses_text(&looked.misses, self.units)
                )
            }
            (_, false) => format!("misses {}", misses_text(&looked.misses, self.units)),
            (_, true) => "misses something that is known without coverage".to_owned(),
        };
        PointText {
            slot: Slots::of(self.scenario).slot(strategy),
            name: self.scenario.strategy(strategy).map_or_else(String::new, |own| own.name.clone()),
            setting: setting_text(self.scenario, own.ask, &looked.values, self.units),
            figures: [told(self.axes.0), told(self.axes.1)],
            meets,
        }
    }

    /// Whether the strategy stands at the setting picked.
    pub(super) fn stands(&self) -> bool {
        self.picked.is_some_and(|point| {
            let point = self.front.points[point];
            let own = &self.tried[point.of];
            own.ask.stands_at(self.scenario, &own.looked[point.setting].values)
        })
    }

    /// The setting on the Pareto front beside another one: `step` places to the right of it, or to the left; beside none the
    /// first of that way.
    pub(super) fn beside(&self, picked: Option<usize>, step: isize) -> Option<usize> {
        let front = &self.front.front;
        let last = front.len().checked_sub(1)?;
        let place = match picked {
            None => {
                if step < 0 {
                    last
                } else {
                    0
                }
            }
            Some(picked) => match front.iter().position(|k| *k == picked) {
                Some(at) => at.checked_add_signed(step)?,
                None => self.nearest_on_front(picked)?,
            },
        };
        front.get(place).copied()
    }

    /// The place on the front that lies nearest across.
    fn nearest_on_front(&self, point: usize) -> Option<usize> {
        let across = |k: usize| self.front.points[k].at[0];
        let apart = |k: &usize| (across(*k) - across(point)).abs();
        let front = self.front.front.iter().enumerate();
        front.min_by(|(_, a), (_, b)| apart(a).total_cmp(&apart(b))).map(|(place, _)| place)
    }
}
