//! Edits of what all strategies share: the equipment, and the terms of the job.

use crate::target::Target;
use glam::DVec2;
use obliquity_planning::{
    At, Conditions, Equipment, FlyingOrder, GeoPoint, Id, Job, Knob, KnobId, OnSite, Pass, Rates, Reported,
    Requirement, Scenario, Site, Underlay,
};
use std::sync::Arc;

/// Puts another version of a part in place of the present one.
#[derive(Debug, Clone, PartialEq)]
pub struct Amendment {
    /// What it changes. Amendments of the same in one gesture make one step.
    pub what: Subject,
    /// The part.
    pub part: Part,
}

/// What an edit changes: an input, or something else that has a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    label: String,
    of: Option<Tied>,
}

/// What a subject is tied to, where it is more than a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tied {
    Input(KnobId, At),
    Drawn(Target),
}

/// What tells one subject from another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum SubjectKey {
    /// An input, and where.
    Input(KnobId, At),
    /// Something that is drawn.
    Drawn(Target),
    /// Anything else, by its name.
    Named(String),
}

impl Subject {
    /// An input; `label` is what an edit of it is called in the menu: "focal length of Dunnock".
    pub fn input(knob: &Knob, at: At, label: impl Into<String>) -> Subject {
        Subject { label: label.into(), of: Some(Tied::Input(knob.id, at)) }
    }

    /// Something that is drawn; `label` is what the edit is called in the menu: "move Shed".
    pub fn drawn(target: Target, label: impl Into<String>) -> Subject {
        Subject { label: label.into(), of: Some(Tied::Drawn(target)) }
    }

    /// What an edit of it is called in the menu.
    pub fn label(&self) -> &str {
        &self.label
    }

    /// The same with more behind its name.
    #[must_use]
    pub(crate) fn of(self, whom: &str) -> Subject {
        Subject { label: format!("{} of {whom}", self.label), ..self }
    }

    pub(crate) fn key(&self) -> SubjectKey {
        match self.of {
            Some(Tied::Input(knob, at)) => SubjectKey::Input(knob, at),
            Some(Tied::Drawn(target)) => SubjectKey::Drawn(target),
            None => SubjectKey::Named(self.label.clone()),
        }
    }
}

impl From<String> for Subject {
    fn from(label: String) -> Self {
        Subject { label, of: None }
    }
}

impl From<&str> for Subject {
    fn from(label: &str) -> Self {
        Subject::from(label.to_owned())
    }
}

/// What is replaced.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// The aircraft.
    Equipment(Arc<Equipment>),
    /// What scenario and site are called.
    Names(ScenarioNames),
    /// Requirement, conditions and processing rates.
    Terms(Box<Terms>),
    /// What a flight controller reports for a strategy.
    Report(Id, Reported),
    /// The passes of a strategy.
    Passes(Id, Vec<Pass>),
    /// In which order a strategy flies its passes.
    Order(Id, FlyingOrder),
    /// What the crew does and has on site in a strategy.
    OnSite(Id, OnSite),
    /// The take-off points of a strategy besides the site's.
    TakeOffs(Id, Vec<DVec2>),
    /// The site: its structures, its ground, how densely it is sampled.
    Site(Arc<Site>),
    /// The picture that the plan is drawn over, and an origin that it gives a site which lies nowhere.
    Underlay(Option<Arc<Underlay>>, Option<GeoPoint>),
}

/// The scenario's name and note, and the site's name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScenarioNames {
    /// The scenario's name.
    pub scenario: String,
    /// What its reader should know.
    pub note: String,
    /// The site's name.
    pub site: String,
}

impl ScenarioNames {
    /// Those of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        ScenarioNames {
            scenario: scenario.name.clone(),
            note: scenario.note.clone(),
            site: scenario.site.name.clone(),
        }
    }
}

/// What the job must deliver, what it is flown under, how long processing takes, and what it brings and takes in money.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// What the job must deliver.
    pub requirement: Requirement,
    /// What it is flown under.
    pub conditions: Conditions,
    /// How long processing takes.
    pub rates: Rates,
    /// What it brings and takes in money.
    pub job: Job,
}

/// An amendment does not fit the scenario.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AmendError {
    /// A strategy would be left without its aircraft.
    #[error("{aircraft} is flown by {strategies}; give them another aircraft before it goes")]
    Flown {
        /// The aircraft's name.
        aircraft: String,
        /// Names of the strategies.
        strategies: String,
    },
    /// A pass would be left without the structure that it is flown at.
    #[error("{structure} is what {strategies} flies at; change or remove those passes before it goes")]
    FlownAt {
        /// The structure's name.
        structure: String,
        /// Names of the strategies.
        strategies: String,
    },
    /// A number does not fit.
    #[error("{0}")]
    Fault(String),
}

impl Terms {
    /// The terms of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        Terms {
            requirement: scenario.requirement.clone(),
            conditions: scenario.conditions.clone(),
            rates: scenario.rates.clone(),
            job: scenario.job.clone(),
        }
    }
}

impl Amendment {
    /// Makes the amendment.
    ///
    /// # Errors
    /// [`AmendError`] when it leaves a strategy without its aircraft or a number out of range.
    pub fn apply(&self, scenario: &mut Scenario) -> Result<(), AmendError> {
        match &self.part {
            Part::Equipment(equipment) => {
                all_flown_stay(scenario, equipment)?;
                if let Some(fault) = equipment.faults().into_iter().next() {
                    return Err(AmendError::Fault(fault.message));
                }
                scenario.equipment = Arc::clone(equipment);
            }
            Part::Names(names) => {
                let before = scenario.clone();
                names.scenario.trim().clone_into(&mut scenario.name);
                names.note.trim().clone_into(&mut scenario.note);
                if scenario.site.name != names.site.trim() {
                    let name = names.site.trim().to_owned();
                    scenario.site = Arc::new(Site { name, ..(*scenario.site).clone() });
                }
                if let Some(fault) = fault_in(scenario, "name").or_else(|| fault_in(scenario, "site.name")) {
                    *scenario = before;
                    return Err(AmendError::Fault(fault));
                }
            }
            Part::Report(id, reported) => {
                let strategy = scenario.strategies.iter_mut().find(|strategy| strategy.id == *id);
                if let Some(strategy) = strategy {
                    strategy.reported = Some(*reported).filter(|reported| *reported != Reported::default());
                }
            }
            Part::Order(id, order) => {
                let strategy = scenario.strategies.iter_mut().find(|strategy| strategy.id == *id);
                if let Some(strategy) = strategy {
                    strategy.order = *order;
                }
            }
            Part::OnSite(id, on_site) => {
                let strategy = scenario.strategies.iter_mut().find(|strategy| strategy.id == *id);
                if let Some(strategy) = strategy {
                    strategy.on_site = *on_site;
                }
            }
            Part::TakeOffs(id, take_offs_m) => {
                let at = scenario.strategies.iter().position(|strategy| strategy.id == *id);
                let Some(at) = at else { return Ok(()) };
                let own = &mut scenario.strategies[at].take_offs_m;
                let before = std::mem::replace(own, take_offs_m.clone());
                if let Some(fault) = fault_in(scenario, &format!("strategies[{at}].take_offs_m")) {
                    scenario.strategies[at].take_offs_m = before;
                    return Err(AmendError::Fault(fault));
                }
            }
            Part::Passes(id, passes) => {
                let at = scenario.strategies.iter().position(|strategy| strategy.id == *id);
                let Some(at) = at else { return Ok(()) };
                let before = std::mem::replace(&mut scenario.strategies[at].passes, passes.clone());
                if let Some(fault) = fault_in(scenario, &format!("strategies[{at}]")) {
                    scenario.strategies[at].passes = before;
                    return Err(AmendError::Fault(fault));
                }
            }
            Part::Underlay(underlay, origin) => {
                let before = (scenario.underlay.clone(), Arc::clone(&scenario.site));
                scenario.underlay.clone_from(underlay);
                if origin.is_some() {
                    scenario.site = Arc::new(Site { origin: *origin, ..(*scenario.site).clone() });
                }
                let fault = fault_in(scenario, "underlay").or_else(|| fault_in(scenario, "site"));
                if let Some(fault) = fault {
                    (scenario.underlay, scenario.site) = before;
                    return Err(AmendError::Fault(fault));
                }
            }
            Part::Site(site) => {
                structures_stay(scenario, site)?;
                let before = std::mem::replace(&mut scenario.site, Arc::clone(site));
                let fault = fault_in(scenario, "site").or_else(|| fault_in(scenario, "strategies"));
                if let Some(fault) = fault {
                    scenario.site = before;
                    return Err(AmendError::Fault(fault));
                }
            }
            Part::Terms(terms) => {
                let Terms { requirement, conditions, rates, job } = (**terms).clone();
                let before = std::mem::replace(&mut scenario.job, job);
                if let Some(fault) = fault_in(scenario, "job") {
                    scenario.job = before;
                    return Err(AmendError::Fault(fault));
                }
                (scenario.requirement, scenario.conditions, scenario.rates) =
                    (requirement, conditions, rates);
            }
        }
        Ok(())
    }
}

fn all_flown_stay(scenario: &Scenario, equipment: &Equipment) -> Result<(), AmendError> {
    let gone = |strategy: &&obliquity_planning::Strategy| equipment.aircraft(strategy.aircraft).is_none();
    let Some(first) = scenario.strategies.iter().find(gone) else { return Ok(()) };
    let aircraft = scenario.equipment.aircraft(first.aircraft);
    Err(AmendError::Flown {
        aircraft: aircraft.map_or_else(|| "the aircraft".to_owned(), |aircraft| aircraft.name.clone()),
        strategies: flown_by(scenario, first.aircraft).join(", "),
    })
}

/// Names of the strategies that fly an aircraft.
pub fn flown_by(scenario: &Scenario, aircraft: obliquity_planning::Id) -> Vec<String> {
    let flying = scenario.strategies.iter().filter(|strategy| strategy.aircraft == aircraft);
    flying.map(|strategy| strategy.name.clone()).collect()
}

/// The first thing wrong below a path.
fn fault_in(scenario: &Scenario, path: &str) -> Option<String> {
    let fault = scenario.faults().into_iter().find(|fault| fault.path.starts_with(path))?;
    Some(fault.message)
}

fn structures_stay(scenario: &Scenario, site: &Site) -> Result<(), AmendError> {
    let stays = |id: Id| site.structures.iter().any(|structure| structure.id == id);
    for structure in scenario.site.structures.iter().filter(|structure| !stays(structure.id)) {
        let flown = flown_at(scenario, structure.id);
        if !flown.is_empty() {
            let (structure, strategies) = (structure.name.clone(), flown.join(", "));
            return Err(AmendError::FlownAt { structure, strategies });
        }
    }
    Ok(())
}

/// Names of the strategies with a pass that is flown at a structure.
pub fn flown_at(scenario: &Scenario, structure: Id) -> Vec<String> {
    let at = |pass: &Pass| pass.pattern.structures().contains(&structure);
    let flying = scenario.strategies.iter().filter(|strategy| strategy.passes.iter().any(at));
    flying.map(|strategy| strategy.name.clone()).collect()
}
