//! The passes of the strategy in focus.

use crate::amendment::{Amendment, Part, Subject};
use crate::app::App;
use crate::dialogs::Purpose;
use crate::document::Edit;
use crate::passes::{self, PassesAsk};
use crate::screen::Screen;
use egui::Ui;
use obliquity_planning::{Distance, Id, PatternKind, Scenario, Strategy};
use std::sync::Arc;

impl App {
    /// Draws the passes of the strategy in focus, with the plan beside them.
    pub(super) fn passes_screen(&mut self, ui: &mut Ui) {
        let Some(focus) = self.focus() else {
            self.turn_to(Screen::BOARD);
            return;
        };
        self.beside_board(ui);
        let scenario = Arc::clone(self.document.scenario());
        let known = self.figures.known(&scenario, focus);
        let outline = self.side.known.as_ref().and_then(|known| known.outline()).map(AsRef::as_ref);
        let given = passes::GivenPasses {
            scenario: &scenario,
            strategy: focus,
            quick: known.map(|known| known.quick),
            outline,
            advice: self.advice(&scenario, focus),
            corners: self.corners(&scenario, focus),
            units: self.units,
        };
        let mut asks = Vec::new();
        if let Some(shown) = passes::Passes::of(&given, self.side.pass) {
            passes::ui(ui, &shown, &mut asks);
        }
        for ask in asks {
            match ask {
                PassesAsk::Select(pass) => self.side.pass = Some(pass),
                PassesAsk::Figure(figure) => self.show_working(figure),
                PassesAsk::Advice(ask) => self.advice_asked(ask),
                PassesAsk::Corners(ask) => self.corners_asked(ask),
                PassesAsk::Order(order) => {
                    let name = scenario.strategy(focus).map_or("", |strategy| strategy.name.as_str());
                    let what = format!("flying order of {name}");
                    self.edit(&Edit::Amend(Amendment { what: what.into(), part: Part::Order(focus, order) }));
                }
                PassesAsk::ReadRows(pass) => {
                    let ctx = ui.ctx().clone();
                    self.pick(Purpose::ImportRows { pass }, &ctx);
                }
                PassesAsk::Put { what, passes, select } => self.put_passes(focus, what, passes, select),
            }
        }
    }

    /// Puts the rows of a table in place of those of a pass, where that still is what it was.
    pub(in crate::app) fn put_rows(&mut self, id: Id, kind: PatternKind, rows: &[Vec<f64>]) {
        let scenario = Arc::clone(self.document.scenario());
        let of_pass = |strategy: &&Strategy| strategy.passes.iter().any(|pass| pass.id == id);
        let Some(strategy) = scenario.strategies.iter().find(of_pass) else { return };
        let Some(table) = kind.about().table else { return };
        let mut passes = strategy.passes.clone();
        for pass in passes.iter_mut().filter(|pass| pass.id == id && pass.pattern.kind() == kind) {
            (table.put)(&mut pass.pattern, rows);
        }
        let what = format!("{} of {}", table.what, strategy.name);
        self.put_passes(strategy.id, what, passes, Some(id));
    }

    fn put_passes(
        &mut self,
        strategy: Id,
        what: impl Into<Subject>,
        passes: Vec<obliquity_planning::Pass>,
        select: Option<Id>,
    ) {
        let before = Arc::clone(self.document.scenario());
        self.edit(&Edit::Amend(Amendment { what: what.into(), part: Part::Passes(strategy, passes) }));
        if let Some(distance) = changed_distance(&before, self.document.scenario(), strategy) {
            self.lead_others_to(strategy, distance);
        }
        self.moved = Some(strategy);
        self.side.pass = select.or(self.side.pass);
    }
}

/// The distance of a strategy's pass that has another one than before.
fn changed_distance(before: &Scenario, after: &Scenario, strategy: Id) -> Option<Distance> {
    let before = &before.strategy(strategy)?.passes;
    let was = |id: Id| before.iter().find(|pass| pass.id == id).map(|pass| pass.distance);
    let passes = after.strategy(strategy)?.passes.iter();
    passes
        .filter(|pass| was(pass.id).is_some_and(|was| was != pass.distance))
        .map(|pass| pass.distance)
        .next()
}
