//! The timeline in the window, and its cursor on plan and in 3D.

mod budgets;

use super::{ASPECTS, AspectRow};
use crate::app::App;
use crate::canvas::CursorMark;
use crate::chart_files;
use crate::dialogs::Purpose;
use crate::figures::Known;
use crate::screen::Screen;
use crate::theme::{self, space};
use crate::timeline::{self, Breakdown, GivenFlight, Timeline, TimelineAsk, TimelineState};
use crate::units::Units;
use egui::{Frame, Ui};
use obliquity_planning::{Id, Scenario};
use std::sync::Arc;

/// In less height the lanes of one strategy have all of it, and the way to all strategies is one of their tools.
const LEAST_FOR_SWITCH: f32 = 440.0;
/// The aspect of all strategies.
const BUDGETS: &str = "budgets";

/// The timeline's own state and what it shows.
#[derive(Debug, Default)]
pub(in crate::app) struct TimelineScreen {
    state: TimelineState,
    timeline: Option<Timeline>,
    /// What that was made for.
    made_for: Option<(Arc<Scenario>, Id, Units)>,
}

impl App {
    /// Puts the timeline's cursor somewhere: seconds after arriving.
    pub fn put_cursor(&mut self, at_s: f64) {
        self.timeline.state.cursor_s = Some(at_s);
    }

    /// Forgets where cursor, mark and view of another scenario are.
    pub(in crate::app) fn forget_looks(&mut self) {
        self.timeline.state = TimelineState::default();
        self.beside.state.fit_everywhere();
        self.beside.state.marked = None;
    }

    /// How the timeline is looked at.
    pub fn timeline_state(&self) -> TimelineState {
        self.timeline.state
    }

    /// The strategy that the screens beside the board are about, with its name and what is known of it.
    fn in_focus(&self) -> Option<(Id, &str, Known<'_>)> {
        let (strategies, column) = self.beside.strategies();
        let (id, name) = strategies.get(column)?;
        let known = self.figures.known(self.document.scenario(), *id)?;
        Some((*id, name, known))
    }

    /// Marks the cursor's place on plan and in 3D, once there is a cursor.
    pub(in crate::app) fn mark_cursor(&mut self) {
        let mark = self.timeline.state.cursor_s.and_then(|at_s| {
            let (strategy, _, known) = self.in_focus()?;
            let timing = known.quick.ok()?.timing.as_ref()?;
            let at_m = timing.moment(&timing.stay(), at_s)?.at_m;
            Some(CursorMark { strategy, at_m })
        });
        self.beside.state.cursor = mark;
        self.space.cursor = mark;
    }

    /// Brings the timeline up to the document.
    pub(super) fn follow_timeline(&mut self) {
        let Some((id, name, known)) = self.in_focus() else {
            (self.timeline.timeline, self.timeline.made_for) = (None, None);
            return;
        };
        // Stale figures belong to what they were worked out from.
        let (scenario, outcome) = (Arc::clone(known.quick_from), known.quick);
        let made = self.timeline.made_for.as_ref();
        if made
            .is_some_and(|(of, own, units)| Arc::ptr_eq(of, &scenario) && *own == id && *units == self.units)
        {
            return;
        }
        let timeline = outcome.ok().and_then(|outcome| Timeline::new(&scenario, outcome, name, self.units));
        self.timeline.timeline = timeline;
        self.timeline.made_for = Some((scenario, id, self.units));
    }

    /// The stay of the strategy in focus, or the budgets of all.
    pub(super) fn timeline_screen(&mut self, ui: &mut Ui) {
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let mut saved = None;
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            let shown = self.aspect(Screen::TIMELINE);
            let is_low = ui.available_height() <= LEAST_FOR_SWITCH;
            let among_tools = is_low && shown != BUDGETS && self.timeline.timeline.is_some();
            if !among_tools {
                ui.horizontal(|ui| {
                    self.aspect_switch(ui, Screen::TIMELINE);
                    saved = chart_files::menu(ui);
                });
                ui.add_space(space::TIGHT);
            }
            let to_all = ASPECTS.iter().find(|row| among_tools && row.name == BUDGETS);
            if shown == BUDGETS { self.budgets_ui(ui) } else { self.stay_ui(ui, to_all) }
        });
        if let Some(how) = saved {
            let ctx = ui.ctx().clone();
            self.pick(Purpose::Charts(how), &ctx);
        }
    }

    /// What the clipboard takes of what is shown.
    pub(super) fn timeline_or_budget_table(&self) -> Option<String> {
        if self.aspect(Screen::TIMELINE) == BUDGETS {
            return Some(self.budget_table());
        }
        self.timeline_table()
    }

    fn stay_ui(&mut self, ui: &mut Ui, to_all: Option<&AspectRow>) {
        let scenario = Arc::clone(self.document.scenario());
        let slot = self.beside.slot();
        let (strategies, column) = self.beside.strategies();
        let known = strategies.get(column).and_then(|(id, _)| self.figures.known(&scenario, *id));
        let quick = known.map(|known| known.quick);
        let timing = quick.and_then(Result::ok).and_then(|outcome| outcome.timing.as_ref());
        let breakdown = known.zip(timing).map(|(known, timing)| Breakdown::new(&scenario, timing, known));
        let why = match quick {
            Some(Ok(outcome)) => format!("Cannot be flown as set: {}.", outcome.reasons.join("; ")),
            Some(Err(why)) => why.to_owned(),
            None => "There is no strategy to show.".to_owned(),
        };
        let (plan, plan_state) = self.beside.plan_and_state();
        let given = GivenFlight {
            timeline: self.timeline.timeline.as_ref().zip(breakdown.as_ref()).ok_or(why.as_str()),
            plan,
            slot,
            to_all: to_all.map(|row| (row.title, row.hint)),
        };
        let state = &mut self.timeline.state;
        let before = state.cursor_s;
        let mut asks = Vec::new();
        timeline::ui(ui, &given, state, plan_state, &mut asks);
        if self.timeline.state.cursor_s != before {
            ui.ctx().request_repaint();
        }
        for ask in asks {
            match ask {
                TimelineAsk::Space => self.turn_to(Screen::SPACE),
                TimelineAsk::Figure(figure) => self.show_working(figure),
                TimelineAsk::Budgets => self.show_aspect(BUDGETS),
            }
        }
    }
}
