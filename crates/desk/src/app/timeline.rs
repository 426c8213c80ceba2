//! The timeline in the window, and its cursor on plan and in 3D.

use super::{App, Screen};
use crate::plan::CursorMark;
use crate::theme::{self, space};
use crate::timeline::{self, Breakdown, Given, Timeline, TimelineAsk, TimelineState};
use crate::units::Units;
use egui::{Frame, Ui};
use obliquity_planning::{Id, Outcome, Scenario};
use std::sync::Arc;

/// The timeline's own state and what it shows.
#[derive(Debug, Default)]
pub(super) struct TimelineScreen {
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

    /// How the timeline is looked at.
    pub fn timeline_state(&self) -> TimelineState {
        self.timeline.state
    }

    /// The strategy that the screens beside the board are about, with its outcome and its name.
    fn in_focus(&self) -> Option<(Id, &str, Result<&Outcome, &str>)> {
        let (strategies, column) = self.beside.strategies();
        let (id, name) = strategies.get(column)?;
        let known = self.figures.known(self.document.scenario(), *id)?;
        Some((*id, name, known.quick))
    }

    /// Marks the cursor's place on plan and in 3D, once there is a cursor.
    pub(super) fn mark_cursor(&mut self) {
        let mark = self.timeline.state.cursor_s.and_then(|at_s| {
            let (strategy, _, outcome) = self.in_focus()?;
            let outcome = outcome.ok()?;
            let at_m = outcome.moment(&outcome.stay(), at_s)?.at_m;
            Some(CursorMark { strategy, at_m })
        });
        self.beside.state.cursor = mark;
        self.space.cursor = mark;
    }

    /// Brings the timeline up to the document.
    fn follow_timeline(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        let Some((id, name, outcome)) = self.in_focus() else {
            (self.timeline.timeline, self.timeline.made_for) = (None, None);
            return;
        };
        let made = self.timeline.made_for.as_ref();
        if made
            .is_some_and(|(of, own, units)| Arc::ptr_eq(of, &scenario) && *own == id && *units == self.units)
        {
            return;
        }
        let timeline = outcome.ok().map(|outcome| Timeline::new(&scenario, outcome, name, self.units));
        self.timeline.timeline = timeline;
        self.timeline.made_for = Some((scenario, id, self.units));
    }

    pub(super) fn timeline_screen(&mut self, ui: &mut Ui) {
        self.follow_timeline();
        let scenario = Arc::clone(self.document.scenario());
        let (strategies, column) = self.beside.strategies();
        let (strategies, slot) = (strategies.to_vec(), self.beside.slot());
        let known = strategies.get(column).and_then(|(id, _)| self.figures.known(&scenario, *id));
        let breakdown = known.and_then(|known| Some(Breakdown::new(&scenario, known.quick.ok()?, known)));
        let why = known.and_then(|known| known.quick.err()).unwrap_or("There is no strategy to show.");
        let (plan, plan_state) = self.beside.plan_and_state();
        let given = Given {
            timeline: self.timeline.timeline.as_ref().zip(breakdown.as_ref()).ok_or(why),
            plan,
            strategies: &strategies,
            column,
            slot,
        };
        let frame = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
        let state = &mut self.timeline.state;
        let before = state.cursor_s;
        let mut asks = Vec::new();
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            timeline::ui(ui, &given, state, plan_state, &mut asks);
        });
        if self.timeline.state.cursor_s != before {
            ui.ctx().request_repaint();
        }
        for ask in asks {
            match ask {
                TimelineAsk::Focus(id) => self.focus_on(id),
                TimelineAsk::Space => self.turn_to(Screen::Space),
                TimelineAsk::Close => self.turn_to(Screen::Board),
            }
        }
    }
}
