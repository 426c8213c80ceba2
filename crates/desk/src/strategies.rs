//! What can be done to a scenario's strategies, apart from moving their sliders.

use crate::equipment;
use obliquity_exchange::Slots;
use obliquity_planning::limits::{AIRCRAFT, NAME_CHARS};
use obliquity_planning::{
    Above, Aircraft, Colour, Distance, Id, LayoutTerms, Outcome, Pass, Pattern, Scenario, Site, SiteChoice,
    SiteTemplate, Strategy, StripDirection, Strips, Template, TemplateError, TemplateStart, rows_that_tie,
};
use std::sync::Arc;

/// The board has a colour for this many; more could not be told apart.
pub const MOST_STRATEGIES: usize = Colour::COUNT as usize;

/// A new strategy on a scenario that has none flies for this GSD.
const FIRST_GSD_CM: f64 = 2.0;

/// A side of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Toward {
    /// One place to the left.
    Left,
    /// One place to the right.
    Right,
}

/// What leads when the aircraft is swapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// The height; the GSD follows from the camera.
    Height,
    /// The GSD; the height follows from the camera.
    Gsd,
}

/// An aircraft to fly.
#[derive(Debug, Clone, PartialEq)]
pub enum AircraftPick {
    /// One of the scenario.
    Known(Id),
    /// One that may not be in the scenario yet.
    New(Box<Aircraft>),
}

impl AircraftPick {
    /// Its name.
    fn name<'a>(&'a self, scenario: &'a Scenario) -> &'a str {
        match self {
            AircraftPick::Known(id) => {
                scenario.equipment.aircraft(*id).map_or("another aircraft", |one| one.name.as_str())
            }
            AircraftPick::New(aircraft) => &aircraft.name,
        }
    }
}

/// A change to the list of strategies or to one of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Adds a strategy at the right end.
    Add {
        /// What it starts from.
        template: Template,
    },
    /// Adds a strategy that is laid on the site's structures or its line, at the right end.
    AddOnSite {
        /// What it starts from.
        template: SiteTemplate,
    },
    /// Puts a copy beside a strategy.
    Duplicate(Id),
    /// Gives a strategy another name.
    Rename(Id, String),
    /// Moves a strategy past its neighbour; at the end it stays.
    Move(Id, Toward),
    /// Takes a strategy away.
    Remove(Id),
    /// Gives a strategy another aircraft; of height and GSD the one that leads is kept.
    Swap {
        /// The strategy.
        strategy: Id,
        /// The aircraft.
        aircraft: Id,
    },
    /// Lets all strategies fly one aircraft; each keeps its height or its GSD, whichever leads.
    FlyAll(AircraftPick),
    /// Gives a strategy an aircraft of the user's library, a copy of which comes into the scenario.
    FlyNew(Id, Box<Aircraft>),
    /// Chooses the strategy that the others show their difference from, or none.
    Reference(Option<Id>),
    /// Lets height or GSD lead, at the value it has.
    Lead {
        /// The strategy.
        strategy: Id,
        /// What leads.
        lead: Lead,
        /// Passes with the distance that they now have; see [`leading`].
        distances: Vec<(Id, Distance)>,
    },
    /// Adds rows in front of walls, tilted half way to straight down, which tie what looks at walls to what looks down.
    TieRows(Id),
    /// Sets which way strips run: from north, or by themselves.
    Direction {
        /// The strategy.
        strategy: Id,
        /// Clockwise from north, of the first pass; the others keep their angle to it.
        from_north_deg: Option<f64>,
    },
}

/// A change that cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChangeError {
    /// The strategy is not in the scenario.
    #[error("a strategy of the scenario was required, but number {0} is not in it; choose one that is")]
    NoSuchStrategy(Id),
    /// The aircraft is not in the scenario's equipment.
    #[error("an aircraft of the scenario was required, but number {0} is not in it; choose one that is")]
    NoSuchAircraft(Id),
    /// There is no room for one more.
    #[error("at most {MOST_STRATEGIES} strategies can be compared at once; remove one first")]
    TooMany,
    /// There is no room for one more aircraft.
    #[error("a scenario has at most {AIRCRAFT} aircraft; remove one first")]
    TooManyAircraft,
    /// The template does not fit the site.
    #[error(transparent)]
    Template(#[from] TemplateError),
    /// There are no such rows to add.
    #[error(
        "rows that look squarely at walls were required, but it has none, or has tilted ones already; add a pass of rows"
    )]
    NoRows,
    /// The name says nothing or does not end.
    #[error("a name must have 1 to {NAME_CHARS} characters, but it has {0}; write another one")]
    BadName(usize),
}

impl Change {
    /// What the change is called in the menu: "duplicate of Crossed strips".
    pub fn label(&self, scenario: &Scenario) -> String {
        let name = |id: &Id| scenario.strategy(*id).map_or("a strategy", |strategy| strategy.name.as_str());
        match self {
            Change::Add { template } => format!("add {}", template.name()),
            Change::AddOnSite { template } => format!("add {}", template.name()),
            Change::Duplicate(id) => format!("duplicate {}", name(id)),
            Change::Rename(id, _) => format!("rename {}", name(id)),
            Change::Move(id, Toward::Left) => format!("move {} left", name(id)),
            Change::Move(id, Toward::Right) => format!("move {} right", name(id)),
            Change::Remove(id) => format!("remove {}", name(id)),
            Change::Swap { strategy, aircraft } => {
                let aircraft = scenario.equipment.aircraft(*aircraft).map_or("another aircraft", |a| &a.name);
                format!("fly {} with {aircraft}", name(strategy))
            }
            Change::FlyAll(pick) => format!("fly all with {}", pick.name(scenario)),
            Change::FlyNew(id, aircraft) => format!("fly {} with {}", name(id), aircraft.name),
            Change::Reference(Some(id)) => format!("differences from {}", name(id)),
            Change::Reference(None) => "no reference".to_owned(),
            Change::Lead { strategy, lead: Lead::Height, .. } => format!("{} set by height", name(strategy)),
            Change::Lead { strategy, lead: Lead::Gsd, .. } => format!("{} set by GSD", name(strategy)),
            Change::TieRows(id) => format!("add rows at 45° to {}", name(id)),
            Change::Direction { strategy, .. } => format!("strip direction of {}", name(strategy)),
        }
    }

    /// Makes the change.
    ///
    /// # Errors
    /// [`ChangeError`] if it does not fit; the scenario is then as it was.
    pub fn apply(&self, scenario: &mut Scenario) -> Result<(), ChangeError> {
        let slots = Slots::of(scenario);
        let count = scenario.strategies.len();
        self.make(scenario)?;
        if scenario.strategies.len() != count {
            // Others would get the colour of one that has gone when the scenario is opened again.
            slots.keep(scenario);
        }
        Ok(())
    }

    fn make(&self, scenario: &mut Scenario) -> Result<(), ChangeError> {
        match self {
            Change::Add { template } => add(scenario, *template)?,
            Change::AddOnSite { template } => add_on_site(scenario, *template)?,
            Change::Duplicate(id) => duplicate(scenario, *id)?,
            Change::Rename(id, name) => {
                let length = name.trim().chars().count();
                if length == 0 || length > NAME_CHARS {
                    return Err(ChangeError::BadName(length));
                }
                name.trim().clone_into(&mut strategy_mut(scenario, *id)?.name);
            }
            Change::Move(id, toward) => {
                let at = position(scenario, *id)?;
                let to = match toward {
                    Toward::Left => at.saturating_sub(1),
                    Toward::Right => (at + 1).min(scenario.strategies.len() - 1),
                };
                scenario.strategies.swap(at, to);
            }
            Change::Remove(id) => {
                let at = position(scenario, *id)?;
                scenario.strategies.remove(at);
                scenario.reference = scenario.reference.filter(|reference| reference != id);
            }
            Change::Swap { strategy, aircraft } => {
                scenario.equipment.aircraft(*aircraft).ok_or(ChangeError::NoSuchAircraft(*aircraft))?;
                strategy_mut(scenario, *strategy)?.aircraft = *aircraft;
            }
            Change::FlyAll(pick) => {
                let aircraft = picked(scenario, pick)?;
                scenario.strategies.iter_mut().for_each(|strategy| strategy.aircraft = aircraft);
            }
            Change::FlyNew(id, aircraft) => {
                position(scenario, *id)?;
                let aircraft = of_library(scenario, aircraft)?;
                strategy_mut(scenario, *id)?.aircraft = aircraft;
            }
            Change::Reference(reference) => {
                reference.map_or(Ok(0), |id| position(scenario, id))?;
                scenario.reference = *reference;
            }
            Change::Lead { strategy, distances, .. } => {
                position(scenario, *strategy)?;
                set_distances(scenario, distances);
            }
            Change::TieRows(id) => {
                let first = scenario.free_id();
                let strategy = strategy_mut(scenario, *id)?;
                let rows = rows_that_tie(strategy, first);
                if rows.is_empty() {
                    return Err(ChangeError::NoRows);
                }
                strategy.passes.extend(rows);
            }
            Change::Direction { strategy, from_north_deg } => {
                direct(strategy_mut(scenario, *strategy)?, *from_north_deg);
            }
        }
        Ok(())
    }
}

fn picked(scenario: &mut Scenario, pick: &AircraftPick) -> Result<Id, ChangeError> {
    match pick {
        AircraftPick::Known(id) => {
            scenario.equipment.aircraft(*id).map(|one| one.id).ok_or(ChangeError::NoSuchAircraft(*id))
        }
        AircraftPick::New(aircraft) => of_library(scenario, aircraft),
    }
}

/// The scenario's aircraft that is the same in everything but its number; a copy where there is none yet.
fn of_library(scenario: &mut Scenario, aircraft: &Aircraft) -> Result<Id, ChangeError> {
    let same = |own: &&Aircraft| Aircraft { id: aircraft.id, ..(*own).clone() } == *aircraft;
    if let Some(own) = scenario.equipment.aircraft.iter().find(same) {
        return Ok(own.id);
    }
    if scenario.equipment.aircraft.len() >= AIRCRAFT {
        return Err(ChangeError::TooManyAircraft);
    }
    let mut equipment = (*scenario.equipment).clone();
    let id = equipment::add(&mut equipment, aircraft);
    scenario.equipment = Arc::new(equipment);
    Ok(id)
}

/// Gives passes their distances; those that are not there are left out.
pub fn set_distances(scenario: &mut Scenario, distances: &[(Id, Distance)]) {
    for &(id, distance) in distances {
        if let Some(pass) = scenario.pass_mut(id) {
            pass.distance = distance;
        }
    }
}

/// The distances that a strategy's passes have once height or GSD leads, at the value that it has in an outcome.
pub fn leading(outcome: &Outcome, lead: Lead) -> Vec<(Id, Distance)> {
    let distance = |layout: &LayoutTerms| match (lead, layout.stand_off_m) {
        (Lead::Height, Some(m)) => Distance::StandOff { m },
        (Lead::Height, None) => Distance::Height { m: layout.height_m, above: layout.above },
        (Lead::Gsd, _) => Distance::Gsd { cm: 100.0 * layout.vertical_gsd_m, above: layout.above },
    };
    // A pass that is not laid out keeps what it has.
    outcome.plans().map(|plan| (plan.pass, distance(&plan.layout))).collect()
}

/// What leads a strategy: what leads its first pass.
pub fn lead_of(strategy: &Strategy) -> Lead {
    match strategy.passes.first().map(|pass| pass.distance) {
        Some(Distance::Height { .. } | Distance::StandOff { .. }) => Lead::Height,
        Some(Distance::Gsd { .. }) | None => Lead::Gsd,
    }
}

/// Which way the strips of a strategy's first pass of strips run, clockwise from north, where the user has set it.
pub fn direction_of(strategy: &Strategy) -> Option<f64> {
    match strategy.passes.iter().find_map(|pass| strips(&pass.pattern))? {
        StripDirection::FromNorth { deg } => Some(deg),
        StripDirection::Automatic { .. } => None,
    }
}

fn position(scenario: &Scenario, id: Id) -> Result<usize, ChangeError> {
    let at = scenario.strategies.iter().position(|strategy| strategy.id == id);
    at.ok_or(ChangeError::NoSuchStrategy(id))
}

fn strategy_mut(scenario: &mut Scenario, id: Id) -> Result<&mut Strategy, ChangeError> {
    let at = position(scenario, id)?;
    Ok(&mut scenario.strategies[at])
}

/// What a new strategy begins with: the aircraft and distance of the last strategy, or the first aircraft at a usual GSD.
fn beginning(scenario: &Scenario) -> Result<(Id, Distance), ChangeError> {
    if scenario.strategies.len() >= MOST_STRATEGIES {
        return Err(ChangeError::TooMany);
    }
    let last = scenario.strategies.last();
    let aircraft = last.map(|strategy| strategy.aircraft);
    let first = || scenario.equipment.aircraft.first().map(|aircraft| aircraft.id);
    let aircraft = aircraft.or_else(first).ok_or(ChangeError::NoSuchAircraft(Id(1)))?;
    let usual = Distance::Gsd { cm: FIRST_GSD_CM, above: Above::MeanGround };
    Ok((aircraft, last.map_or(usual, usual_distance)))
}

/// What leads a strategy: that of its first pass that has a height or a GSD; a stand-off is no height, and where all
/// passes keep one it is a usual GSD.
pub fn usual_distance(strategy: &Strategy) -> Distance {
    let over = |pass: &&Pass| !matches!(pass.distance, Distance::StandOff { .. });
    let distance = strategy.passes.iter().find(over).map(|pass| pass.distance);
    distance.unwrap_or(Distance::Gsd { cm: FIRST_GSD_CM, above: Above::MeanGround })
}

fn add(scenario: &mut Scenario, template: Template) -> Result<(), ChangeError> {
    let (aircraft, distance) = beginning(scenario)?;
    let mut strategy = template.strategy(scenario.free_id(), aircraft, distance);
    strategy.name = free_name(scenario, template.name());
    scenario.strategies.push(strategy);
    Ok(())
}

fn add_on_site(scenario: &mut Scenario, template: SiteTemplate) -> Result<(), ChangeError> {
    let (id, distance) = beginning(scenario)?;
    let aircraft = scenario.equipment.aircraft(id).ok_or(ChangeError::NoSuchAircraft(id))?;
    let first_id = scenario.free_id();
    let start = TemplateStart { first_id, aircraft, distance, gsd_cm: &scenario.requirement.gsd_cm };
    let mut strategy = template.strategy(&scenario.site, &SiteChoice::default(), &start)?;
    strategy.name = free_name(scenario, template.name());
    scenario.strategies.push(strategy);
    Ok(())
}

/// A template that needs to know the site, and why it does not fit this one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The template.
    pub template: SiteTemplate,
    /// Why it cannot be laid on the site; nothing where it can.
    pub refusal: Option<String>,
}

/// The templates that need to know the site, each with why it does not fit where it does not.
pub fn offers(scenario: &Scenario) -> Vec<Offer> {
    let aircraft = scenario.equipment.aircraft.first();
    let distance = Distance::Gsd { cm: FIRST_GSD_CM, above: Above::MeanGround };
    let site: &Site = &scenario.site;
    let refusal = |template: SiteTemplate| match aircraft {
        None => Some("it needs an aircraft, but the scenario has none; add one to the equipment".to_owned()),
        Some(aircraft) => {
            let gsd_cm = &scenario.requirement.gsd_cm;
            let start = TemplateStart { first_id: Id(1), aircraft, distance, gsd_cm };
            let laid = template.strategy(site, &SiteChoice::default(), &start);
            laid.err().map(|error| error.to_string())
        }
    };
    SiteTemplate::ALL.map(|template| Offer { template, refusal: refusal(template) }).to_vec()
}

fn duplicate(scenario: &mut Scenario, id: Id) -> Result<(), ChangeError> {
    if scenario.strategies.len() >= MOST_STRATEGIES {
        return Err(ChangeError::TooMany);
    }
    let at = position(scenario, id)?;
    let mut copy = scenario.strategies[at].clone();
    let Id(free) = scenario.free_id();
    copy.id = Id(free);
    for (pass, number) in copy.passes.iter_mut().zip(1..) {
        pass.id = Id(free + number);
    }
    copy.name = free_name(scenario, &copy.name);
    scenario.strategies.insert(at + 1, copy);
    Ok(())
}

/// The name itself, or with the first number that no strategy has yet.
fn free_name(scenario: &Scenario, name: &str) -> String {
    let taken = |wanted: &str| scenario.strategies.iter().any(|strategy| strategy.name == wanted);
    if !taken(name) {
        return name.to_owned();
    }
    let stem =
        name.rsplit_once(' ').filter(|(_, end)| end.parse::<u32>().is_ok()).map_or(name, |(stem, _)| stem);
    let names = (2..).map(|number: u32| format!("{stem} {number}"));
    names.into_iter().find(|wanted| !taken(wanted)).unwrap_or_else(|| name.to_owned())
}

fn strips(pattern: &Pattern) -> Option<StripDirection> {
    if let Pattern::Strips(Strips { direction, .. }) = pattern { Some(*direction) } else { None }
}

/// Turns all passes of strips so that the first one runs as wanted; the others keep their angle to it.
fn direct(strategy: &mut Strategy, from_north_deg: Option<f64>) {
    let angle = |direction: StripDirection| match direction {
        StripDirection::Automatic { turned_deg } => turned_deg,
        StripDirection::FromNorth { deg } => deg,
    };
    let first = strategy.passes.iter().find_map(|pass| strips(&pass.pattern)).map_or(0.0, angle);
    for pass in &mut strategy.passes {
        let Pattern::Strips(Strips { direction, .. }) = &mut pass.pattern else { continue };
        let turned_deg = (angle(*direction) - first).rem_euclid(360.0);
        *direction = match from_north_deg {
            None => StripDirection::Automatic { turned_deg },
            Some(deg) => StripDirection::FromNorth { deg: (deg + turned_deg).rem_euclid(360.0) },
        };
    }
}
