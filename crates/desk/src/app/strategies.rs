//! What the window does to strategies.

use super::App;
use super::requests::{Adjusted, Coverage, HoldStep};
use crate::board::{BoardAsk, Headline, Session, Updating, name_field};
use crate::commands::Task;
use crate::document::{Edit, Holding};
use crate::jobs::{Lane, Progress};
use crate::screen::Screen;
use crate::strategies::{Change, Lead};
use egui::Context;
use obliquity_planning::{Distance, HeldEqual, Hold, Id, KnobId, Pass};
use std::sync::Arc;

impl App {
    /// The strategy in focus: the one chosen, or the first.
    pub fn focus(&self) -> Option<Id> {
        let scenario = self.document.scenario();
        let chosen = self.focus.filter(|id| scenario.strategy(*id).is_some());
        chosen.or_else(|| scenario.strategies.first().map(|strategy| strategy.id))
    }

    /// Opens something on the board: its settings, its cautions, or a band by its title.
    pub fn open_on_board(&mut self, what: &str) {
        self.home.preferences.board_opened.insert(what.to_owned());
    }

    /// What the board shows of the session.
    pub(super) fn session(&self) -> Session<'_> {
        let opened = &self.home.preferences.board_opened;
        Session { focus: self.focus(), opened, updating: self.updating() }
    }

    /// The board's sentence for another screen.
    pub(super) fn headline(&self) -> Headline<'_> {
        Headline { sentence: self.board.as_ref().map(|board| &board.sentence), updating: self.updating() }
    }

    fn updating(&self) -> Updating {
        if let Some((what, tenths)) = self.jobs.told() {
            return Updating::Errand { what, tenths };
        }
        match self.jobs.progress::<Coverage>().or_else(|| self.jobs.progress::<Adjusted>()) {
            Some(progress) => Updating::Running(progress),
            None if self.stopped => Updating::Stopped,
            None => self.awaited.as_ref().map_or(Updating::Nothing, |(scenario, _)| {
                let total = scenario.strategies.len() as u64;
                Updating::Running(Progress { done: 0, total, tenths: 0 })
            }),
        }
    }

    /// Does what was asked for on the board.
    pub(super) fn apply(&mut self, ask: BoardAsk) {
        match ask {
            BoardAsk::Set { strategy, setting, value } => {
                self.edit(&Edit::Set { strategy, setting, value });
                self.moved = Some(strategy);
                if matches!(setting.knob, KnobId::HEIGHT | KnobId::GSD) {
                    self.lead_others(strategy);
                }
            }
            BoardAsk::Change(change) => self.change(change),
            BoardAsk::FlyOfLibrary(strategy, place) => {
                let library = self.side.library.as_ref().ok();
                if let Some(aircraft) = library.and_then(|own| own.aircraft.get(place)) {
                    self.change(Change::FlyNew(strategy, Box::new(aircraft.clone())));
                }
            }
            BoardAsk::Lead(strategy, lead) => self.let_lead(strategy, lead),
            BoardAsk::Hold(hold) => self.hold(hold),
            BoardAsk::Focus(strategy) => self.focus_on(strategy),
            BoardAsk::ShowPasses(strategy) => {
                self.focus_on(strategy);
                self.turn_to(super::Screen::PASSES);
            }
            BoardAsk::ShowFigure(strategy, measure) => {
                self.focus_on(strategy);
                self.show_working(measure);
            }
            BoardAsk::ShowPlace(strategy, caution) => {
                self.focus_on(strategy);
                if !self.beside.is_shown() {
                    self.turn_to(super::Screen::PLAN);
                }
                self.mark_caution(Some(caution));
            }
            BoardAsk::WorkOutBlock(strategy) => self.ask_for_block(strategy),
            BoardAsk::EnterPrice => self.turn_to(Screen::REQUIREMENT),
            BoardAsk::Turn(what) => self.turn(what),
            BoardAsk::Stop => self.stop(),
            BoardAsk::Update => self.update(),
        }
    }

    /// Opens something on the board that is closed, or closes it: that is remembered.
    fn turn(&mut self, what: &str) {
        let opened = &mut self.home.preferences.board_opened;
        if !opened.remove(what) {
            opened.insert(what.to_owned());
        }
    }

    /// Does what a command asks of the strategy in focus.
    pub(super) fn run_task(&mut self, task: Task, ctx: &Context) {
        let Some(id) = self.focus() else { return };
        let toward = |toward| Change::Move(id, toward);
        match task {
            Task::Duplicate => self.change(Change::Duplicate(id)),
            Task::Rename => ctx.memory_mut(|memory| memory.request_focus(name_field(id))),
            Task::MoveLeft => self.change(toward(crate::strategies::Toward::Left)),
            Task::MoveRight => self.change(toward(crate::strategies::Toward::Right)),
            Task::Reference => {
                let is_reference = self.document.scenario().reference == Some(id);
                self.change(Change::Reference((!is_reference).then_some(id)));
            }
            Task::HeightLeads => self.let_lead(id, Lead::Height),
            Task::GsdLeads => self.let_lead(id, Lead::Gsd),
            Task::Remove => self.change(Change::Remove(id)),
        }
    }

    /// Ends a gesture; what follows only then follows now.
    pub(super) fn end_gesture(&mut self) {
        if self.document.in_gesture() {
            let moved = self.moved.take();
            self.equalise_times(moved);
        }
        self.document.end_gesture();
        if self.before.take().is_some() {
            // The marks of where it stood go.
            self.drawn_from = None;
        }
    }

    /// Makes a change and puts the strategy that it brings in focus.
    pub(super) fn change(&mut self, change: Change) {
        let before = Arc::clone(self.document.scenario());
        let costs_time = !matches!(change, Change::Rename(..) | Change::Move(..) | Change::Reference(_));
        let in_gesture = matches!(change, Change::Direction { .. });
        self.edit(&Edit::Strategy(change));
        let is_new = |id: &Id| before.strategy(*id).is_none();
        if let Some(new) = self.document.scenario().strategies.iter().map(|s| s.id).find(is_new) {
            self.focus_on(new);
        }
        if costs_time && !in_gesture {
            self.equalise_times(None);
        }
    }

    /// Holds something equal; the reference leads, or the strategy in focus.
    pub fn hold(&mut self, hold: Option<Hold>) {
        let lead = self.document.scenario().reference.or(self.focus());
        let (Some(hold), Some(lead)) = (hold, lead) else {
            self.let_go();
            self.edit(&Edit::Hold { holding: None, passes: Vec::new() });
            return;
        };
        self.equalise(lead, hold, HoldStep::Own);
    }

    pub(super) fn put_held(&mut self, held: HeldEqual, hold: Hold, lead: Id) {
        let holding = Some(Holding { hold, lead, out_of_reach: held.out_of_reach });
        let passes = held.scenario.strategies.into_iter().flat_map(|strategy| strategy.passes);
        self.edit(&Edit::Hold { holding, passes: passes.collect() });
    }

    /// Lets all strategies follow the height or GSD of one, where that is held.
    fn lead_others(&mut self, lead: Id) {
        let strategy = self.document.scenario().strategy(lead);
        let over = |pass: &&Pass| pass.pattern.kind().flies_over();
        let first = strategy.and_then(|s| s.passes.iter().find(over).or_else(|| s.passes.first()));
        if let Some(distance) = first.map(|pass| pass.distance) {
            self.lead_others_to(lead, distance);
        }
    }

    /// Lets all passes that can have a height or GSD have this one, where that is held.
    pub(super) fn lead_others_to(&mut self, lead: Id, distance: Distance) {
        let Some(holding) = self.document.holding().filter(|holding| !holding.hold.is_searched()) else {
            return;
        };
        // A stand-off is its pass's own, and a pass that keeps one has no height.
        let takes = |pass: &&Pass| match distance {
            Distance::Gsd { .. } => true,
            Distance::Height { .. } => pass.pattern.kind().flies_over(),
            Distance::StandOff { .. } => false,
        };
        let holding = Holding { lead, ..holding.clone() };
        let passes = self.document.scenario().strategies.iter().flat_map(|strategy| &strategy.passes);
        let all = passes.filter(takes).map(|pass| (pass.id, distance)).collect::<Vec<_>>();
        self.document.follow_up(&all, holding);
    }

    /// Finds the heights at which all strategies take as long as the one that leads, where that is held.
    fn equalise_times(&mut self, lead: Option<Id>) {
        let Some(holding) = self.document.holding().filter(|holding| holding.hold == Hold::TimeOnSite) else {
            return;
        };
        let lead = lead.unwrap_or(holding.lead);
        self.equalise(lead, Hold::TimeOnSite, HoldStep::FollowUp);
    }

    fn stop(&mut self) {
        if self.jobs.told().is_some() {
            self.call_off();
            return;
        }
        if self.jobs.runs_beside(Lane::Figures) {
            self.cancel_figures();
            self.stopped = true;
        }
    }

    pub(super) fn update(&mut self) {
        self.stopped = false;
        self.asked_for = None;
        self.routes_asked_for = None;
        self.drawn_from = None;
    }
}
