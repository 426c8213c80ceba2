//! Makes the board from what is known.

use super::model::{Board, BoardSubject, GivenBoard};
use super::{bands, columns};
use crate::cautions::{self, CautionRow};
use crate::figures::{Figures, Freshness};
use crate::rose;
use crate::units::Units;
use obliquity_exchange::Slots;
use obliquity_planning::{Hold, Scenario, Strategy};

impl Board {
    /// The board of a scenario that nobody has worked on yet, with what is known of it so far; metric.
    pub fn new(scenario: &Scenario, figures: &Figures) -> Self {
        Board::of(&GivenBoard {
            scenario,
            figures,
            holding: None,
            offers: &[],
            library: &[],
            units: Units::Metric,
            before: None,
            unasked: &[],
        })
    }

    /// The board of everything that is given.
    pub fn of(given: &GivenBoard<'_>) -> Self {
        let scenario = given.scenario;
        let names = unique_names(&scenario.strategies);
        let slots = Slots::of(scenario);
        let subjects: Vec<BoardSubject<'_>> = scenario
            .strategies
            .iter()
            .zip(names)
            .map(|(strategy, name)| {
                let known = given.figures.known(scenario, strategy.id);
                let load = || known?.quick.ok()?.load.as_ref();
                let images = load().map_or(0, |load| load.image_count);
                let unasked = given.unasked.contains(&strategy.id).then_some(images);
                BoardSubject { strategy, name, known, slot: slots.slot(strategy.id), unasked }
            })
            .collect();
        let aircraft = scenario.equipment.aircraft.iter();
        let columns = columns::columns((scenario, given.before), &subjects, given.units);
        Board {
            sentence: columns::sentence(scenario, &subjects, given.units),
            rose_classes: bands::classes(scenario),
            rose_full: rose::full_of(columns.iter().flat_map(|column| &column.roses)),
            columns,
            bands: bands::bands((scenario, given.before), &subjects, given.units),
            cautions: caution_rows(&subjects, given.units),
            cautions_freshness: cautions_freshness(&subjects),
            reference: scenario.reference,
            hold: given.holding.map(|holding| holding.hold),
            hold_note: given.holding.map_or_else(String::new, |holding| {
                columns::hold_note(holding, &scenario.conditions, &subjects, given.units)
            }),
            proposed: (given.holding.is_none() && cameras_differ(scenario)).then_some(Hold::Requirement),
            library: given.library.iter().map(|aircraft| aircraft.name.clone()).collect(),
            fleet: aircraft.map(|aircraft| (aircraft.id, aircraft.name.clone())).collect(),
            offers: given.offers.to_vec(),
        }
    }
}

/// Whether strategies are flown with different cameras: then neither GSD nor height is fair to all.
fn cameras_differ(scenario: &Scenario) -> bool {
    let flown = scenario.strategies.iter().filter_map(|s| scenario.equipment.aircraft(s.aircraft));
    let cameras: Vec<_> = flown.map(|aircraft| &aircraft.camera).collect();
    cameras.windows(2).any(|pair| pair[0] != pair[1])
}

fn caution_rows(subjects: &[BoardSubject<'_>], units: Units) -> Vec<CautionRow> {
    let all = subjects
        .iter()
        .filter_map(|subject| Some((subject.name.as_str(), subject.strategy.id, subject.known?.cautions())));
    cautions::by_kind(cautions::grouped(all, subjects.len(), units))
}

/// Whether all that there is to mind is told of the scenario as it stands.
fn cautions_freshness(subjects: &[BoardSubject<'_>]) -> Freshness {
    let routes = subjects.iter().filter_map(|subject| subject.known.filter(|known| known.quick.is_ok()));
    routes.map(|known| known.spread_freshness).max().unwrap_or(Freshness::Fresh)
}

/// The strategies' names; those that come again get a number, so that every one can be told from the others.
fn unique_names(strategies: &[Strategy]) -> Vec<String> {
    let mut names: Vec<String> = Vec::with_capacity(strategies.len());
    for strategy in strategies {
        let mut name = strategy.name.clone();
        let mut number = 2;
        while names.contains(&name) {
            name = format!("{} ({number})", strategy.name);
            number += 1;
        }
        names.push(name);
    }
    names
}
