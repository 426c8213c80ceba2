//! Long work that the user has asked for, beside the window: equal times, directions in the wind, terrain from a file.

use super::App;
use super::advised::{Advised, Cornered};
use crate::dialogs::{Dialog, Refusal};
use crate::document::{Document, Edit, Holding};
use crate::engine::Engine;
use crate::errand::{Ended, Errand, Wake};
use crate::worker::Failure;
use obliquity_exchange::{FileError, RasterFrame, TerrainImport, read_terrain};
use obliquity_planning::{Distance, Held, Hold, Id, NoWatch, Scenario, Site, Watch};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// What is asked for: of one kind only the newest goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Equal times on site.
    Times,
    /// Directions of strips in the wind.
    Wind,
    /// Other corners to begin passes at.
    Corners,
    /// Heights of a file.
    Terrain,
}

/// Whether equal times are a step of their own or belong to the edit that moved one of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum HoldStep {
    Own,
    FollowUp,
}

/// What an errand brings.
enum Brought {
    Times {
        from: Arc<Scenario>,
        lead: Id,
        step: HoldStep,
        held: Box<Result<Held, Failure>>,
    },
    Wind(Advised),
    Corners(Cornered),
    Terrain {
        site: Arc<Site>,
        path: PathBuf,
        frame: RasterFrame,
        read: Box<Result<TerrainImport, FileError>>,
    },
}

/// All errands that go on. Without something to wake, they are done at once, on the window's thread.
#[derive(Default)]
pub(super) struct Errands {
    wake: Option<Wake>,
    open: BTreeMap<Kind, Errand<Brought>>,
    /// What advice is looked for; it is given up once the document is another.
    advised_of: Option<Arc<Scenario>>,
    /// The dialog that was answered before an errand began; it comes again where the errand finds the answer wrong.
    pub(super) asked: Option<Dialog>,
}

impl std::fmt::Debug for Errands {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Errands").field("open", &self.open).finish_non_exhaustive()
    }
}

impl Errands {
    /// Errands beside the window.
    pub(super) fn beside(wake: Wake) -> Self {
        Errands { wake: Some(wake), ..Errands::default() }
    }

    /// What goes on, and how far it is, 0 to 10.
    pub(super) fn progress(&self) -> Option<(&'static str, u64)> {
        self.open.values().next().map(|errand| (errand.what(), errand.tenths()))
    }

    pub(super) fn is_open(&self, kind: Kind) -> bool {
        self.open.contains_key(&kind)
    }

    /// Gives up everything that goes on.
    pub(super) fn call_off(&mut self) {
        self.open.clear();
    }
}

impl App {
    /// What the user has asked for and waits for, as the end of a sentence.
    pub fn errand(&self) -> Option<&'static str> {
        self.errands.progress().map(|(what, _)| what)
    }

    fn send(
        &mut self,
        kind: Kind,
        what: &'static str,
        job: impl FnOnce(&dyn Watch) -> Brought + Send + 'static,
    ) {
        let Some(wake) = &self.errands.wake else {
            let brought = job(&NoWatch);
            self.take_in(brought);
            return;
        };
        match Errand::start(what, Arc::clone(wake), job) {
            Ok(errand) => drop(self.errands.open.insert(kind, errand)),
            Err(error) => {
                let text = format!("{what} is not possible, since the system gives no thread: {error}");
                self.tell("Nothing was done", &text);
            }
        }
    }

    /// Hears what errands have brought; gives up those whose answer nobody waits for any more.
    pub(super) fn hear_errands(&mut self) {
        let advised_of = self.errands.advised_of.as_ref();
        if advised_of.is_some_and(|from| !Arc::ptr_eq(from, self.document.scenario())) {
            self.errands.open.retain(|kind, _| !matches!(kind, Kind::Wind | Kind::Corners));
            self.errands.advised_of = None;
        }
        let kinds: Vec<Kind> = self.errands.open.keys().copied().collect();
        for kind in kinds {
            let ended = self.errands.open.get(&kind).map_or(Ended::Open, Errand::poll);
            if !matches!(ended, Ended::Open) {
                self.errands.open.remove(&kind);
            }
            match ended {
                Ended::Open => {}
                Ended::Done(brought) => self.take_in(brought),
                Ended::Broken(why) => self.tell("Nothing was done", &why),
            }
        }
    }

    fn take_in(&mut self, brought: Brought) {
        match brought {
            Brought::Times { from, lead, step, held } => self.take_times(&from, lead, step, *held),
            Brought::Wind(advised) => self.side.advised = Some(advised),
            Brought::Corners(cornered) => self.side.cornered = Some(cornered),
            Brought::Terrain { site, path, frame, read } => {
                let asked = self.errands.asked.take();
                if let Err(refusal) = self.take_terrain(&site, &path, frame, *read) {
                    match asked {
                        Some(asked) => self.dialog = Some(asked.again(refusal)),
                        None => self.refuse(&refusal),
                    }
                }
            }
        }
    }

    /// Looks for the heights at which all strategies take as long as one.
    pub(super) fn equalise(&mut self, lead: Id, step: HoldStep) {
        let (engine, from) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        self.send(Kind::Times, "finding equal times", move |watch| {
            let held = Box::new(engine.hold_equal(&from, lead, Hold::TimeOnSite, watch));
            Brought::Times { from, lead, step, held }
        });
    }

    /// Equal times of the scenario as it stands; those of an earlier one are looked for again.
    fn take_times(&mut self, from: &Arc<Scenario>, lead: Id, step: HoldStep, held: Result<Held, Failure>) {
        let holds_times = self.document.holding().is_some_and(|holding| holding.hold == Hold::TimeOnSite);
        if step == HoldStep::FollowUp && !holds_times {
            return;
        }
        if !Arc::ptr_eq(from, self.document.scenario()) {
            if self.document.scenario().strategy(lead).is_some() {
                self.equalise(lead, step);
            }
            return;
        }
        match (held, step) {
            (Ok(held), HoldStep::Own) => self.put_held(held, Hold::TimeOnSite, lead),
            (Ok(held), HoldStep::FollowUp) => {
                let holding = Holding { hold: Hold::TimeOnSite, lead, out_of_reach: held.out_of_reach };
                self.document.follow_up(&distances(&held.scenario), holding);
            }
            (Err(Failure::Cancelled), _) => {}
            (Err(Failure::Refused(why)), HoldStep::Own) => self.tell("Nothing is held equal", &why),
            (Err(Failure::Refused(why)), HoldStep::FollowUp) => self.tell("The times are not equal", &why),
        }
    }

    /// Tries directions for the strips of a strategy.
    pub(super) fn try_directions(&mut self, strategy: Id) {
        let (engine, from) = self.about_to_advise();
        self.send(Kind::Wind, "trying strip directions", move |watch| {
            let found = engine.wind_advice(&from, strategy, watch).map_err(|why| why.to_string());
            Brought::Wind(Advised::new(from, strategy, found))
        });
    }

    /// Begins the passes of strips of a strategy at other corners.
    pub(super) fn try_corners(&mut self, strategy: Id) {
        let (engine, from) = self.about_to_advise();
        self.send(Kind::Corners, "trying other corners", move |watch| {
            let found = engine.corner_advice(&from, strategy, watch).map_err(|why| why.to_string());
            Brought::Corners(Cornered { from, strategy, found })
        });
    }

    fn about_to_advise(&mut self) -> (Engine, Arc<Scenario>) {
        let from = Arc::clone(self.document.scenario());
        self.errands.advised_of = Some(Arc::clone(&from));
        (self.engine.clone(), from)
    }

    /// Reads heights from a file that is there.
    pub(super) fn fetch_terrain(&mut self, path: PathBuf, frame: RasterFrame) {
        let site = Arc::clone(&self.document.scenario().site);
        self.send(Kind::Terrain, "reading terrain", move |_| {
            let read = Box::new(read_terrain(&path, &site, frame));
            Brought::Terrain { site, path, frame, read }
        });
    }

    /// Gives up what the user has asked for. Times that were to follow an edit are no longer held.
    pub(super) fn call_off(&mut self) {
        let holds_times = self.document.holding().is_some_and(|holding| holding.hold == Hold::TimeOnSite);
        if self.errands.is_open(Kind::Times) && holds_times {
            self.edit(&Edit::Hold { holding: None, distances: Vec::new() });
        }
        self.errands.call_off();
    }

    /// Goes back or forth in the history: what was to follow the last edit no longer does.
    pub(super) fn turn_back(&mut self, turn: impl FnOnce(&mut Document)) {
        self.errands.open.remove(&Kind::Times);
        turn(&mut self.document);
    }
}

pub(super) fn distances(scenario: &Scenario) -> Vec<(Id, Distance)> {
    let passes = scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
    passes.map(|pass| (pass.id, pass.distance)).collect()
}

/// Why a file was not imported.
pub(super) fn not_imported(error: &FileError) -> Refusal {
    Refusal::new("The terrain was not imported", error)
}
