//! The conditions, and what is worked out for them on demand: strips turned in the wind, shade on walls.

use crate::amendment::{Amendment, Part, Terms};
use crate::app::App;
use crate::app::requests::{Directions, found};
use crate::conditions::{self, ConditionsAsk, Shades, is_quick};
use crate::document::Edit;
use crate::jobs::{Key, Lane, Same};
use crate::wind_advice::{Advice, AdviceAsk, Wind};
use egui::Ui;
use obliquity_planning::light::{LightFigures, StructureShade};
use obliquity_planning::wind_advice::WindAdvice;
use obliquity_planning::{Conditions, Id, LocalClock, Mission, Outcome, Scenario, SiteOutline};
use std::sync::Arc;
use std::time::Duration;

/// A frame waits as long for the shade; what takes longer comes later.
const PATIENCE: Duration = Duration::from_millis(4);

/// Shade on a site in the light of a stay.
#[derive(Debug, Clone, PartialEq)]
struct ShadeOf {
    outline: Same<SiteOutline>,
    light: LightFigures,
}

impl Key for ShadeOf {
    type Reply = Result<Vec<StructureShade>, String>;
    const LANE: Lane = Lane::Aside;
    const KEPT: usize = 4;

    fn told(&self) -> Option<&'static str> {
        (!is_quick(&self.outline.0)).then_some("working out the shade")
    }
}

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
        let known = self.jobs.known(&Directions { from: Same::of(scenario), strategy });
        Advice {
            strategy: scenario.strategy(strategy).map_or("the strategy", |known| known.name.as_str()),
            wind: Wind::of(scenario.conditions.wind),
            found: known.map(found),
            trying: self.jobs.is_open(|_: &Directions| true),
        }
    }

    pub(super) fn advice_asked(&mut self, ask: AdviceAsk) {
        match ask {
            AdviceAsk::Try => self.advise_on_wind(),
            AdviceAsk::Turn => {
                let Some(strategy) = self.focus() else { return };
                let key = Directions { from: Same::of(self.document.scenario()), strategy };
                let Some(Ok(Ok(WindAdvice::Turn(turned)))) = self.jobs.known(&key) else { return };
                let passes = turned.passes.clone();
                let name = self.document.scenario().strategy(strategy).map_or("", |s| s.name.as_str());
                let what = format!("strip direction of {name}");
                self.document.end_gesture();
                self.edit(&Edit::Amend(Amendment {
                    what: what.into(),
                    part: Part::Passes(strategy, passes),
                }));
                self.document.end_gesture();
            }
        }
    }

    /// Draws what the job is flown under.
    pub(super) fn conditions_screen(&mut self, ui: &mut Ui) {
        let scenario = Arc::clone(self.document.scenario());
        let focus = self.focus();
        let structures: Vec<_> =
            scenario.site.structures.iter().map(|structure| (structure.id, structure.name.clone())).collect();
        let wind = conditions::wind_text(scenario.conditions.wind, self.units);
        let outcome = focus.and_then(|id| self.figures.known(&scenario, id)).map(|known| known.quick);
        let given = conditions::GivenConditions {
            conditions: &scenario.conditions,
            site: &scenario.site,
            headline: self.headline(),
            focus: focus.and_then(|id| scenario.strategy(id)),
            sets: focus.map_or(0, |id| scenario.conditions_of(id).battery_sets),
            outcome,
            advice: self.advice(&scenario, focus.unwrap_or(Id(0))),
            hours: self.hours_strip(&scenario, &structures, &wind),
            shades: self.shades(),
            units: self.units,
        };
        let mut asks = Vec::new();
        conditions::ui(ui, &given, &mut asks);
        for ask in asks {
            match ask {
                ConditionsAsk::Advice(ask) => self.advice_asked(ask),
                ConditionsAsk::Hours(ask) => {
                    if let Some(arrival) = self.hours_asked(&ask) {
                        self.arrive(&scenario, arrival);
                    }
                }
                ConditionsAsk::WorkOutShade => {
                    if let Some(key) = self.shade_wanted() {
                        self.work_out_shade(&key);
                    }
                }
                ConditionsAsk::PutOwn { what, strategy, on_site } => {
                    self.edit(&Edit::Amend(Amendment { what, part: Part::OnSite(strategy, on_site) }));
                }
                ConditionsAsk::Put { what, conditions } => {
                    let terms = Terms { conditions: *conditions, ..Terms::of(&scenario) };
                    self.edit(&Edit::Amend(Amendment { what, part: Part::Terms(Box::new(terms)) }));
                }
            }
        }
    }

    fn arrive(&mut self, scenario: &Scenario, arrival: LocalClock) {
        let Some(mission) = scenario.conditions.mission.clone() else { return };
        let mission = Some(Mission { arrival, ..mission });
        let conditions = Conditions { mission, ..scenario.conditions.clone() };
        let terms = Terms { conditions, ..Terms::of(scenario) };
        self.edit(&Edit::Amend(Amendment { what: "Arrival".into(), part: Part::Terms(Box::new(terms)) }));
    }

    /// The shade that belongs on the screen; nothing where no light or no sound site is known.
    fn shade_wanted(&self) -> Option<ShadeOf> {
        let known = self.figures.known(self.document.scenario(), self.focus()?)?;
        let light = light_of(known.quick.ok()?)?.clone();
        let outline = self.side.known.as_ref().and_then(|known| known.outline())?;
        Some(ShadeOf { outline: Same::of(outline), light })
    }

    /// Has the shade worked out where that takes no time.
    pub(super) fn follow_shade(&mut self) {
        if let Some(key) = self.shade_wanted().filter(|key| is_quick(&key.outline.0)) {
            self.work_out_shade(&key);
        }
        self.follow_hours();
    }

    fn work_out_shade(&mut self, key: &ShadeOf) {
        self.jobs.cancel(|own: &ShadeOf| own != key);
        let ShadeOf { outline, light } = key.clone();
        self.jobs.request(key.clone(), move |_| conditions::work_out(&outline.0, &light));
        self.jobs.wait(PATIENCE, |own: &ShadeOf| own == key);
    }

    fn shades(&self) -> Shades<'_> {
        let Some(key) = self.shade_wanted() else { return Shades::Unasked };
        match self.jobs.known(&key) {
            Some(Ok(Ok(found))) => Shades::Found(Ok(found)),
            Some(Ok(Err(why)) | Err(why)) => Shades::Found(Err(why)),
            None if self.jobs.is_open(|own: &ShadeOf| *own == key) => Shades::Working,
            None => Shades::Unasked,
        }
    }
}

fn light_of(outcome: &Outcome) -> Option<&LightFigures> {
    outcome.light.as_ref().ok()
}
