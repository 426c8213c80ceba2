//! The conditions, and what is worked out for them on demand: strips turned in the wind, shade on walls.

use crate::amendment::{Amendment, Part, Terms};
use crate::app::App;
use crate::app::advised::Advised;
use crate::app::errands::Kind;
use crate::conditions::{self, Ask, Shades};
use crate::document::Edit;
use crate::screen::Screen;
use crate::wind_advice::{Advice, AdviceAsk, Wind};
use egui::Ui;
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{Id, Outcome, Scenario};
use std::sync::Arc;

impl App {
    /// Tries other directions for the strips of the strategy in focus, where the wind blows.
    pub fn advise_on_wind(&mut self) {
        let scenario = Arc::clone(self.document.scenario());
        let Some(strategy) = self.focus() else { return };
        if Wind::of(scenario.conditions.wind) != Wind::Blows {
            return;
        }
        self.try_directions(strategy);
    }

    /// What is known of the direction of a strategy's strips.
    pub(super) fn advice<'a>(&'a self, scenario: &'a Arc<Scenario>, strategy: Id) -> Advice<'a> {
        let fits = |known: &&Advised| Arc::ptr_eq(&known.from, scenario) && known.strategy == strategy;
        let known = self.side.advised.as_ref().filter(fits);
        Advice {
            strategy: scenario.strategy(strategy).map_or("the strategy", |known| known.name.as_str()),
            wind: Wind::of(scenario.conditions.wind),
            found: known.map(|known| known.found.as_ref().map_err(String::as_str)),
            trying: self.errands.is_open(Kind::Wind),
        }
    }

    pub(super) fn advice_asked(&mut self, ask: AdviceAsk) {
        match ask {
            AdviceAsk::Try => self.advise_on_wind(),
            AdviceAsk::Turn => {
                let Some(Advised { strategy, found: Ok(WindAdvice::Turn(turned)), .. }) = &self.side.advised
                else {
                    return;
                };
                let (strategy, passes) = (*strategy, turned.passes.clone());
                let name = self.document.scenario().strategy(strategy).map_or("", |s| s.name.as_str());
                let what = format!("strip direction of {name}");
                self.document.end_gesture();
                self.edit(&Edit::Amend(Amendment { what, part: Part::Passes(strategy, passes) }));
                self.document.end_gesture();
            }
        }
    }

    /// Draws what the job is flown under.
    pub(super) fn conditions_screen(&mut self, ui: &mut Ui) {
        let scenario = Arc::clone(self.document.scenario());
        let focus = self.focus();
        let columns = self.board.as_ref().map(|board| board.columns.as_slice()).unwrap_or_default();
        let names: Vec<_> =
            columns.iter().map(|column| (column.strategy, column.name.clone(), column.slot)).collect();
        let outcome = focus.and_then(|id| self.figures.known(&scenario, id)).map(|known| known.quick);
        let given = conditions::Given {
            conditions: &scenario.conditions,
            site: &scenario.site,
            headline: self.headline(),
            names: &names,
            focus,
            outcome,
            advice: self.advice(&scenario, focus.unwrap_or(Id(0))),
            shades: self.side.shades.as_ref(),
            units: self.units,
        };
        let mut asks = Vec::new();
        conditions::ui(ui, &given, &mut asks);
        for ask in asks {
            match ask {
                Ask::Close => self.turn_to(Screen::BOARD),
                Ask::Board(ask) => self.apply(ask),
                Ask::Focus(id) => self.focus = Some(id),
                Ask::Advice(ask) => self.advice_asked(ask),
                Ask::WorkOutShade => self.work_out_shade(focus),
                Ask::Put { what, conditions } => {
                    let terms = Terms { conditions: *conditions, ..Terms::of(&scenario) };
                    self.edit(&Edit::Amend(Amendment { what, part: Part::Terms(Box::new(terms)) }));
                }
            }
        }
    }

    /// Leaves no shade on the screen that belongs to another light; works it out where that takes no time.
    pub(super) fn follow_shade(&mut self) {
        let focus = self.focus();
        let scenario = self.document.scenario();
        let light = focus.and_then(|id| light_of(self.figures.known(scenario, id)?.quick.ok()?));
        let outline = self.side.known.as_ref().and_then(|known| known.outline());
        let (Some(light), Some(outline)) = (light, outline) else {
            self.side.shades = None;
            return;
        };
        if self.side.shades.as_ref().is_some_and(|shades| shades.is_of(light, outline)) {
            return;
        }
        self.side.shades = Shades::at_once(outline).then(|| Shades::new(outline, light));
    }

    fn work_out_shade(&mut self, focus: Option<Id>) {
        let scenario = self.document.scenario();
        let light = focus.and_then(|id| light_of(self.figures.known(scenario, id)?.quick.ok()?));
        let outline = self.side.known.as_ref().and_then(|known| known.outline());
        if let (Some(light), Some(outline)) = (light, outline) {
            self.side.shades = Some(Shades::new(outline, light));
        }
    }
}

fn light_of(outcome: &Outcome) -> Option<&obliquity_planning::light::LightFigures> {
    outcome.light.as_ref().ok()
}
