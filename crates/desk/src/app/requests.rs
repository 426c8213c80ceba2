//! What the window has worked out beside itself about its strategies: routes, bands and coverage, what is held equal,
//! advice.

use super::{App, Screen};
use crate::document::{Document, Edit, Holding};
use crate::engine::{Engine, Failure};
use crate::figures::{QuickReport, Report};
use crate::jobs::{Key, Lane, Same};
use crate::strategies::{Change, Lead, leading};
use egui::Context;
use obliquity_exchange::BlocksChoice;
use obliquity_planning::corner_advice::CornerAdvice;
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{Depth, Distance, HeldEqual, Hold, Id, Outcome, Scenario, Watch, measure};
use std::sync::Arc;
use std::time::Duration;

/// A gesture that has moved nothing for so long pauses: some frames of a slow screen.
const PAUSE_S: f64 = 0.1;

/// Blocks of more images are adjusted in full only where someone asks for it.
const MOST_UNASKED: u32 = 3000;

/// Blocks of no more images are adjusted in full about as fast as a first look at them is taken.
pub(super) const LEAST_PREVIEWED: u32 = 300;

/// The band whose opening asks for all blocks, by its title.
pub(super) const ACCURACY: &str = "Accuracy";

/// A strategy without coverage.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Routes {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for Routes {
    type Reply = Result<Outcome, Failure>;
    const LANE: Lane = Lane::Routes;

    fn turn(&self) -> u64 {
        u64::from(self.strategy.0) + 1
    }
}

/// A strategy with how sure its time and energy are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawn {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for Drawn {
    type Reply = Result<Outcome, Failure>;
    const LANE: Lane = Lane::Figures;
}

/// A strategy with coverage.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Coverage {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for Coverage {
    type Reply = Result<Outcome, Failure>;
    const LANE: Lane = Lane::Figures;
}

/// A strategy with what its images give when they are adjusted together: at a first look, or in full.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Adjusted {
    from: Same<Scenario>,
    pub(super) strategy: Id,
    depth: Depth,
}

impl Key for Adjusted {
    type Reply = Result<Outcome, Failure>;
    const LANE: Lane = Lane::Figures;
}

/// A first look at a block while a gesture moves its control points: one after the other, each from where they are when it begins.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Glanced {
    from: Same<Scenario>,
    strategy: Id,
}

impl Key for Glanced {
    type Reply = Result<Outcome, Failure>;
    const LANE: Lane = Lane::Figures;
}

/// Whether what is held equal is a step of its own or belongs to the edit that moved one strategy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum HoldStep {
    Own,
    FollowUp,
}

/// Settings with which every strategy equals the lead in what is held.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Equal {
    from: Same<Scenario>,
    lead: Id,
    hold: Hold,
    step: HoldStep,
}

impl Key for Equal {
    type Reply = Result<HeldEqual, Failure>;
    const LANE: Lane = Lane::Aside;

    fn told(&self) -> Option<&'static str> {
        match self.hold {
            Hold::Gsd | Hold::Height => None,
            Hold::TimeOnSite => Some("finding equal times"),
            Hold::Requirement => Some("setting each at its best"),
        }
    }
}

/// Distances with which height or GSD leads, at the value that it has.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Leading {
    from: Same<Scenario>,
    strategy: Id,
    lead: Lead,
}

impl Key for Leading {
    type Reply = Result<Vec<(Id, Distance)>, Failure>;
    const LANE: Lane = Lane::Aside;
}

/// Directions of strips in the wind.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Directions {
    pub(super) from: Same<Scenario>,
    pub(super) strategy: Id,
}

impl Key for Directions {
    type Reply = Result<WindAdvice, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;

    fn told(&self) -> Option<&'static str> {
        Some("trying strip directions")
    }
}

/// Other corners to begin passes at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OtherCorners {
    pub(super) from: Same<Scenario>,
    pub(super) strategy: Id,
}

impl Key for OtherCorners {
    type Reply = Result<CornerAdvice, Failure>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;

    fn told(&self) -> Option<&'static str> {
        Some("trying other corners")
    }
}

/// What was asked for, or why it could not be worked out, for people.
pub(super) fn found<T>(answer: &Result<Result<T, Failure>, String>) -> Result<&T, &str> {
    match answer {
        Ok(Ok(found)) => Ok(found),
        Ok(Err(Failure::Refused(why))) | Err(why) => Err(why),
        Ok(Err(Failure::Cancelled)) => Err("it was called off"),
    }
}

/// What came back, or why nothing did, for people.
pub(super) fn whole<T, E: ToString>(answer: Result<Result<T, E>, String>) -> Result<T, String> {
    answer.and_then(|found| found.map_err(|why| why.to_string()))
}

/// The same of figures.
pub(super) fn given<T>(answer: Result<Result<T, Failure>, String>) -> Result<T, Failure> {
    answer.unwrap_or_else(|broken| Err(Failure::Refused(broken)))
}

impl App {
    /// What the user has asked for and waits for, as the end of a sentence.
    pub fn waited_for(&self) -> Option<&'static str> {
        self.jobs.told().map(|(what, _)| what)
    }

    /// Asks for the routes of strategies; those of earlier scenarios that have not begun are taken back.
    pub(super) fn request_routes(&mut self, scenario: &Arc<Scenario>, strategies: Vec<Id>) {
        self.jobs.take_back::<Routes>();
        for strategy in strategies {
            let (engine, from) = (self.engine.clone(), Arc::clone(scenario));
            let key = Routes { from: Same::of(scenario), strategy };
            self.jobs.request(key, move |_| engine.quick(&from, strategy));
        }
    }

    /// Takes in the routes that have come; waits for the rest of those of the scenario as it stands, but no longer than
    /// `patience`. What belongs to earlier ones is nearer to the present than nothing.
    pub(super) fn hear_routes(&mut self, patience: Duration) {
        let scenario = Arc::clone(self.document.scenario());
        self.jobs.wait(patience, |key: &Routes| key.from.is(&scenario));
        for (Routes { from, strategy }, answer) in self.jobs.take::<Routes>() {
            let outcome = given(answer).map_err(|why| why.to_string());
            let report = QuickReport { scenario: from.0, strategy, outcome };
            self.figures.take_quick(report, &scenario);
            self.drawn_from = None;
        }
    }

    /// Has bands and coverage follow the document. What a gesture moves is asked for once it pauses: what the next frame would
    /// give up is not begun, and takes no core from the frames.
    pub(super) fn follow_figures(&mut self, ctx: &Context) {
        let scenario = Arc::clone(self.document.scenario());
        let asked = self.asked_for.as_ref().is_some_and(|asked| Arc::ptr_eq(asked, &scenario));
        if asked || !self.jobs.runs_beside(Lane::Figures) {
            self.awaited = None;
            self.follow_blocks(&scenario);
            return;
        }
        let now_s = ctx.input(|input| input.time);
        let known = self.awaited.take().filter(|(of, _)| Arc::ptr_eq(of, &scenario));
        let since_s = known.map_or_else(
            || {
                self.cancel_figures();
                self.stopped = false;
                now_s
            },
            |(_, since_s)| since_s,
        );
        let left_s = since_s + PAUSE_S - now_s;
        if self.document.in_gesture() && left_s > 0.0 {
            self.glance_at_control(&scenario);
            self.awaited = Some((scenario, since_s));
            ctx.request_repaint_after(Duration::from_secs_f64(left_s));
            return;
        }
        self.request_figures(&scenario);
        self.asked_for = Some(scenario);
    }

    /// Whether bands or coverage, which blocks wait for, are on their way.
    pub fn figures_are_on_their_way(&self) -> bool {
        self.jobs.is_open(|_: &Drawn| true) || self.jobs.is_open(|_: &Coverage| true)
    }

    /// Asks for bands, coverage and blocks where they are not known, and gives up what was asked for before. Bands come first:
    /// they take a tenth of what follows; blocks come last, that of the screen about them before the others.
    pub(super) fn request_figures(&mut self, scenario: &Arc<Scenario>) {
        self.cancel_figures();
        self.jobs.cancel(|_: &Glanced| true);
        let mut wanted = self.figures.wanted(scenario);
        wanted.retain(|&(strategy, depth)| self.is_asked_for(scenario, strategy, depth));
        self.blocks_asked_for = wanted.iter().filter(|(_, depth)| *depth > Depth::Views).copied().collect();
        let first = self.focus().filter(|_| self.is_on_block());
        let is_later = |strategy: Id, depth: Depth| depth > Depth::Views && first != Some(strategy);
        // What is adjusted in full as fast as others are looked at comes with those looks.
        let stage = |strategy: Id, depth: Depth| match depth {
            Depth::Network if !self.is_asked_for(scenario, strategy, Depth::Preview) => Depth::Preview,
            depth => depth,
        };
        wanted.sort_by_key(|&(strategy, depth)| {
            (depth.min(Depth::Preview), is_later(strategy, depth), stage(strategy, depth))
        });
        for (strategy, depth) in wanted {
            self.request_figure(scenario, strategy, depth);
        }
    }

    /// Asks for blocks that have come to be looked at since figures were asked for.
    fn follow_blocks(&mut self, scenario: &Arc<Scenario>) {
        if self.stopped || !self.jobs.runs_beside(Lane::Figures) {
            return;
        }
        for depth in [Depth::Preview, Depth::Network] {
            let ids = scenario.strategies.iter().map(|strategy| strategy.id);
            let late: Vec<Id> = ids
                .filter(|id| !self.blocks_asked_for.contains(&(*id, depth)))
                .filter(|id| self.is_asked_for(scenario, *id, depth))
                .filter(|id| !self.figures.has_block(scenario, *id, depth))
                .collect();
            for strategy in late {
                self.blocks_asked_for.push((strategy, depth));
                self.request_figure(scenario, strategy, depth);
            }
        }
    }

    /// Takes a first look at the block in focus while a gesture moves its control points, one at a time: what the next frame moves
    /// on is seen in the look after.
    fn glance_at_control(&mut self, scenario: &Arc<Scenario>) {
        let Some(strategy) = self.focus() else { return };
        let is_looked_at =
            self.home.preferences.blocks == BlocksChoice::Beside || self.asks_for_block(scenario, strategy);
        if !is_looked_at
            || self.jobs.is_open(|_: &Glanced| true)
            || !self.figures.differs_by_control(scenario, strategy)
        {
            return;
        }
        let (engine, of) = (self.engine.clone(), Arc::clone(scenario));
        let key = Glanced { from: Same::of(scenario), strategy };
        self.jobs.request(key, move |watch| engine.evaluate(&of, strategy, Depth::Preview, watch));
    }

    fn request_figure(&mut self, scenario: &Arc<Scenario>, strategy: Id, depth: Depth) {
        let (engine, from, of) = (self.engine.clone(), Same::of(scenario), Arc::clone(scenario));
        let work = move |watch: &dyn Watch| engine.evaluate(&of, strategy, depth, watch);
        match depth {
            Depth::Quick | Depth::Spread => self.jobs.request(Drawn { from, strategy }, work),
            Depth::Views => self.jobs.request(Coverage { from, strategy }, work),
            Depth::Preview | Depth::Network => self.jobs.request(Adjusted { from, strategy, depth }, work),
        }
    }

    /// Whether figures of a depth are worked out: all that does not need the block adjusted, a first look at it unless the user
    /// prefers otherwise or it is adjusted in full as fast, the whole where [`App::asks_for_block`] says so.
    fn is_asked_for(&self, scenario: &Scenario, strategy: Id, depth: Depth) -> bool {
        match depth {
            Depth::Quick | Depth::Spread | Depth::Views => true,
            Depth::Network => self.asks_for_block(scenario, strategy),
            Depth::Preview if self.asks_for_block(scenario, strategy) => {
                self.image_count(scenario, strategy).is_none_or(|images| images > LEAST_PREVIEWED)
            }
            Depth::Preview => self.home.preferences.blocks == BlocksChoice::Beside,
        }
    }

    pub(super) fn image_count(&self, scenario: &Scenario, strategy: Id) -> Option<u32> {
        let load = self.figures.surest(scenario, strategy)?.load.as_ref()?;
        Some(load.image_count)
    }

    /// The strategies whose block is not adjusted in full, and is not going to be unless someone asks for it.
    pub(super) fn unasked_blocks(&self, scenario: &Scenario) -> Vec<Id> {
        let ids = scenario.strategies.iter().map(|strategy| strategy.id);
        let is_known = |id: &Id| self.figures.has_block(scenario, *id, Depth::Network);
        ids.filter(|id| !self.asks_for_block(scenario, *id) && !is_known(id)).collect()
    }

    /// Has the block of a strategy adjusted in full from now on, though it takes long.
    pub(super) fn ask_for_block(&mut self, strategy: Id) {
        self.blocks_wanted.insert(strategy);
        if !self.jobs.runs_beside(Lane::Figures) {
            self.request_block_first(strategy);
        }
    }

    /// Whether a block is adjusted without having been asked for: one of many images takes long, and is only where something is
    /// required of it or its figures are looked at.
    pub(super) fn asks_for_block(&self, scenario: &Scenario, strategy: Id) -> bool {
        let is_small = || {
            self.home.preferences.blocks == BlocksChoice::Beside
                && self.image_count(scenario, strategy).is_none_or(|images| images <= MOST_UNASKED)
        };
        let is_wanted = || self.blocks_wanted.contains(&strategy);
        let is_opened = || self.home.preferences.board_opened.contains(ACCURACY);
        let is_worked =
            || self.side.screen == Screen::WORKING && measure(self.side.figure).depth > Depth::Views;
        let is_shown = || (self.is_on_block() || is_worked()) && self.focus() == Some(strategy);
        let is_colored = || self.space.layer.is_of_block();
        scenario.requirement.accuracy.is_asked()
            || is_wanted()
            || is_opened()
            || is_shown()
            || is_colored()
            || is_small()
    }

    /// Has the block of a strategy adjusted before the others; it is done at once where nothing runs beside the window.
    pub(super) fn request_block_first(&mut self, strategy: Id) {
        let scenario = Arc::clone(self.document.scenario());
        let is_of = |key: &Adjusted| key.strategy == strategy && key.from.is(&scenario);
        if self.jobs.is_open(is_of) && self.jobs.has_begun(is_of) {
            return;
        }
        self.jobs.cancel(|_: &Adjusted| true);
        if self.jobs.runs_beside(Lane::Figures) {
            let mut wanted = self.figures.wanted(&scenario);
            wanted
                .retain(|&(other, depth)| depth > Depth::Views && self.is_asked_for(&scenario, other, depth));
            wanted.sort_by_key(|&(other, depth)| (other != strategy, depth));
            for (other, depth) in wanted {
                self.request_figure(&scenario, other, depth);
            }
        } else {
            self.request_figure(&scenario, strategy, Depth::Network);
        }
        self.hear_figures();
    }

    /// How far the block of a strategy is, 0 to 10, a first look first; nothing where it is not on its way.
    pub(super) fn block_progress(&self, strategy: Id) -> Option<u64> {
        self.jobs.tenths(|key: &Adjusted| key.strategy == strategy)
    }

    /// Gives up the block of a strategy.
    pub(super) fn cancel_block(&mut self, strategy: Id) {
        self.jobs.cancel(|key: &Adjusted| key.strategy == strategy);
    }

    /// Gives up bands, coverage and blocks.
    pub(super) fn cancel_figures(&mut self) {
        self.jobs.cancel(|_: &Drawn| true);
        self.jobs.cancel(|_: &Coverage| true);
        self.jobs.cancel(|_: &Adjusted| true);
    }

    pub(super) fn hear_figures(&mut self) {
        for (Drawn { from, .. }, answer) in self.jobs.take::<Drawn>() {
            // One that fails is told of by its coverage.
            if let Ok(outcome) = given(answer) {
                self.figures.take(Report::Done { scenario: from.0, outcome: Box::new(outcome) });
                self.drawn_from = None;
            }
        }
        for (Coverage { from, strategy }, answer) in self.jobs.take::<Coverage>() {
            let scenario = from.0;
            let report = match given(answer) {
                Ok(outcome) => Report::Done { scenario, outcome: Box::new(outcome) },
                Err(Failure::Cancelled) => continue,
                Err(Failure::Refused(message)) => Report::Failed { scenario, strategy, message },
            };
            self.figures.take(report);
            self.drawn_from = None;
        }
        for (Glanced { from, .. }, answer) in self.jobs.take::<Glanced>() {
            if let Ok(outcome) = given(answer) {
                self.figures.take(Report::Done { scenario: from.0, outcome: Box::new(outcome) });
                self.drawn_from = None;
            }
        }
        for (Adjusted { from, strategy, .. }, answer) in self.jobs.take::<Adjusted>() {
            let scenario = from.0;
            let report = match given(answer) {
                Ok(outcome) => Report::Done { scenario, outcome: Box::new(outcome) },
                Err(Failure::Cancelled) => continue,
                Err(Failure::Refused(message)) => Report::NoBlock { scenario, strategy, message },
            };
            self.figures.take(report);
            self.drawn_from = None;
        }
    }

    /// Hears what jobs have brought; gives up advice that nobody waits for any more.
    pub(super) fn hear_jobs(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        self.jobs.cancel(|key: &Directions| !key.from.is(&scenario));
        self.jobs.cancel(|key: &OtherCorners| !key.from.is(&scenario));
        self.jobs.hear();
        self.hear_figures();
        self.hear_routes(Duration::ZERO);
        self.hear_requests();
        self.follow_card_of_focus();
        self.hear_files();
    }

    /// Takes in what the user has asked for about strategies.
    pub(super) fn hear_requests(&mut self) {
        self.hear_best();
        for (key, answer) in self.jobs.take::<Equal>() {
            self.take_equal(&key, given(answer));
        }
        for (Leading { from, strategy, lead }, answer) in self.jobs.take::<Leading>() {
            match given(answer) {
                _ if !from.is(self.document.scenario()) => self.let_lead(strategy, lead),
                Ok(distances) => self.change(Change::Lead { strategy, lead, distances }),
                Err(Failure::Cancelled) => {}
                Err(Failure::Refused(why)) => self.tell("The change was not made", &why),
            }
        }
    }

    /// Looks for the settings at which all strategies equal one.
    pub(super) fn equalise(&mut self, lead: Id, hold: Hold, step: HoldStep) {
        self.jobs.cancel(|_: &Equal| true);
        // What tries so many settings leaves nothing else in a store.
        let engine = if hold == Hold::Requirement { Engine::aside() } else { self.engine.clone() };
        let from = Arc::clone(self.document.scenario());
        let key = Equal { from: Same::of(&from), lead, hold, step };
        self.jobs.request(key, move |watch| engine.hold_equal(&from, lead, hold, watch));
        self.hear_requests();
    }

    /// What is being made equal no longer is to be.
    pub(super) fn let_go(&mut self) {
        self.jobs.cancel(|_: &Equal| true);
    }

    /// What is equal in the scenario as it stands; that of an earlier one is looked for again.
    fn take_equal(
        &mut self,
        &Equal { ref from, lead, hold, step }: &Equal,
        held: Result<HeldEqual, Failure>,
    ) {
        let is_held = self.document.holding().is_some_and(|holding| holding.hold == hold);
        if step == HoldStep::FollowUp && !is_held {
            return;
        }
        if !from.is(self.document.scenario()) {
            if self.document.scenario().strategy(lead).is_some() {
                self.equalise(lead, hold, step);
            }
            return;
        }
        match (held, step) {
            (Ok(held), HoldStep::Own) => self.put_held(held, hold, lead),
            (Ok(held), HoldStep::FollowUp) => {
                let holding = Holding { hold, lead, out_of_reach: held.out_of_reach };
                self.document.follow_up(&distances(&held.scenario), holding);
            }
            (Err(Failure::Cancelled), _) => {}
            (Err(Failure::Refused(why)), HoldStep::Own) => self.tell("Nothing is held equal", &why),
            (Err(Failure::Refused(why)), HoldStep::FollowUp) => self.tell("The times are not equal", &why),
        }
    }

    /// Lets height or GSD of a strategy lead, at the value that it has.
    pub(super) fn let_lead(&mut self, strategy: Id, lead: Lead) {
        let (engine, from) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        if from.strategy(strategy).is_none() {
            return;
        }
        let key = Leading { from: Same::of(&from), strategy, lead };
        self.jobs.request(key, move |_| Ok(leading(&engine.quick(&from, strategy)?, lead)));
        self.hear_requests();
    }

    /// Tries directions for the strips of a strategy.
    pub(super) fn try_directions(&mut self, strategy: Id) {
        self.jobs.cancel(|_: &Directions| true);
        let (engine, from) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        let key = Directions { from: Same::of(&from), strategy };
        self.jobs.request(key, move |watch| engine.wind_advice(&from, strategy, watch));
    }

    /// Begins the passes of strips of a strategy at other corners.
    pub(super) fn try_corners(&mut self, strategy: Id) {
        self.jobs.cancel(|_: &OtherCorners| true);
        let (engine, from) = (self.engine.clone(), Arc::clone(self.document.scenario()));
        let key = OtherCorners { from: Same::of(&from), strategy };
        self.jobs.request(key, move |watch| engine.corner_advice(&from, strategy, watch));
    }

    /// Gives up what the user has asked for. Times that were to follow an edit are no longer held.
    pub(super) fn call_off(&mut self) {
        let holds_times = self.document.holding().is_some_and(|holding| holding.hold == Hold::TimeOnSite);
        if self.jobs.is_open(|key: &Equal| key.hold == Hold::TimeOnSite) && holds_times {
            self.edit(&Edit::Hold { holding: None, passes: Vec::new() });
        }
        self.jobs.cancel_told();
    }

    /// Goes back or forth in the history: what was to follow the last edit no longer does.
    pub(super) fn turn_back(&mut self, turn: impl FnOnce(&mut Document)) {
        self.jobs.cancel(|_: &Equal| true);
        self.jobs.cancel(|_: &Leading| true);
        turn(&mut self.document);
    }
}

pub(super) fn distances(scenario: &Scenario) -> Vec<(Id, Distance)> {
    let passes = scenario.strategies.iter().flat_map(|strategy| &strategy.passes);
    passes.map(|pass| (pass.id, pass.distance)).collect()
}
