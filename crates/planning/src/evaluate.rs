pub mod arrivals;
pub mod corner_advice;
pub mod cross_section;
pub(crate) mod hold;
pub mod purchase;
pub(crate) mod site_templates;
pub mod what_if;
pub mod wind_advice;

pub use hold::{HeldEqual, Hold};
pub use site_templates::{SiteChoice, SiteTemplate, TemplateError, TemplateStart};

mod network_terms;
mod planner;
mod seen;
mod stages;

use self::planner::Planner;
use self::stages::{Extent, Stages};
use self::what_if::{Tried, TuneError};
use crate::base::digest::{Digest, Stage};
use crate::base::{Cancelled, Id, Store, Watch};
use crate::flight::{Flight, Home, draw};
use crate::ground::{SiteError, SiteOutline};
use crate::light::{
    DayLight, ExposureFigures, LightClock, LightFigures, NoExposure, NoLight, Observer, TwilightRule, Zone,
    exposure_figures, light_figures,
};
use crate::result::{Depth, Outcome};
use crate::route::lookout::Lookout;
use crate::route::{Airspace, WaysAbout};
use crate::scenario::{Aircraft, BeginAt, Conditions, EditError, LocalDate, Scenario, Strategy};
use glam::DVec2;
use std::borrow::Cow;
use std::convert::Infallible;
use std::sync::Arc;
use thiserror::Error;

/// Composes the stages; the only maker of figures.
///
/// Each stage is a pure function of its own input, and what takes long is kept in the store by a digest of it, so a changed
/// limit casts no ray, a renamed strategy lays out nothing anew, and two strategies share a pass.
#[derive(Clone, Copy)]
pub struct Evaluator<'a> {
    /// Where results of stages are kept.
    pub store: &'a Store,
    /// What long work reports to.
    pub watch: &'a dyn Watch,
}

impl std::fmt::Debug for Evaluator<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Evaluator").field("store", self.store).finish_non_exhaustive()
    }
}

/// Why there is no outcome.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Stopped {
    /// The owner no longer wants it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The scenario cannot be evaluated.
    #[error(transparent)]
    Refused(#[from] EvaluateError),
}

impl From<SiteError> for Stopped {
    fn from(error: SiteError) -> Self {
        Stopped::Refused(error.into())
    }
}

/// Why a scenario cannot be evaluated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EvaluateError {
    /// No such strategy.
    #[error("strategy {0} is not in the scenario; choose one that is")]
    NoSuchStrategy(Id),
    /// The strategy's aircraft is not among the equipment.
    #[error(
        "strategy {strategy} flies aircraft {aircraft}, which is not in the equipment; choose one that is"
    )]
    NoSuchAircraft {
        /// The strategy's name.
        strategy: String,
        /// The aircraft asked for.
        aircraft: Id,
    },
    /// A setting that was to be tried is none.
    #[error(transparent)]
    Setting(#[from] EditError),
    /// Settings that were to be searched cannot be.
    #[error(transparent)]
    Search(#[from] TuneError),
    /// The site cannot be sampled.
    #[error("site: {0}")]
    Site(#[from] SiteError),
}

impl Evaluator<'_> {
    /// Predicts one strategy to a depth: stage by stage, each from those before it, and the outcome from all of them.
    ///
    /// # Errors
    /// [`Stopped::Cancelled`] when the watch says so; [`Stopped::Refused`] when the scenario cannot be evaluated. A
    /// strategy that cannot be flown is no error: its outcome says why.
    pub fn evaluate(&self, scenario: &Scenario, strategy: Id, depth: Depth) -> Result<Outcome, Stopped> {
        self.evaluate_for(scenario, strategy, depth, Extent::Outcome)
    }

    /// The same for what a trial keeps: its figures and judgements are those of [`Evaluator::evaluate`].
    fn try_out(
        &self,
        scenario: &Scenario,
        strategy: Id,
        depth: Depth,
        extent: Extent,
    ) -> Result<Tried, Stopped> {
        Ok(Tried::of(&self.evaluate_for(scenario, strategy, depth, extent)?))
    }

    fn evaluate_for(
        &self,
        scenario: &Scenario,
        strategy: Id,
        depth: Depth,
        extent: Extent,
    ) -> Result<Outcome, Stopped> {
        let (strategy, aircraft) = find(scenario, strategy)?;
        let outline = self.outline(scenario)?;
        let conditions = &*scenario.conditions_of(strategy.id);
        let clock = self.light_clock(scenario, conditions);
        let exposure = exposure_figures(&aircraft.camera, conditions.light, &clock);
        let aircraft = &*exposing(aircraft, &exposure);
        let (outline, homes) = (&*outline, &*self.homes(scenario, strategy, &outline));
        let stages =
            Stages { evaluator: self, scenario, strategy, conditions, aircraft, outline, homes, extent };
        let route = stages.route();
        let timed = stages.timing(&route, depth)?;
        let light = clock.and_then(|clock| {
            let timing = timed.as_ref().map_err(|_| NoLight::NotFlown)?;
            light_figures(&clock, &timing.time, |date| self.day(scenario, date))
        });
        let exposure = darkened(exposure, &light);
        let passes = stages.passes(&route, timed.as_ref().ok());
        let flown = match timed {
            Ok(timing) => Ok(stages.flown((&route, &passes), timing, (&light, &exposure), depth)?),
            Err(reasons) => Err(reasons),
        };
        Ok(stages.outcome(depth, passes, (light, exposure), flown))
    }

    /// Predicts every strategy of a scenario, in its order.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`]; the first one ends the work.
    pub fn evaluate_all(&self, scenario: &Scenario, depth: Depth) -> Result<Vec<Outcome>, Stopped> {
        scenario.strategies.iter().map(|s| self.evaluate(scenario, s.id, depth)).collect()
    }

    /// Where the passes of strips of a strategy would have to be begun to be flown quickest in still air with one battery: each
    /// by its place in the list.
    pub(crate) fn quickest_corners(
        &self,
        scenario: &Scenario,
        strategy: &Strategy,
    ) -> Result<Vec<(usize, BeginAt)>, Stopped> {
        let (strategy, aircraft) = find(scenario, strategy.id)?;
        let outline = self.outline(scenario)?;
        let conditions = &*scenario.conditions_of(strategy.id);
        let clock = self.light_clock(scenario, conditions);
        let exposure = exposure_figures(&aircraft.camera, conditions.light, &clock);
        let aircraft = exposing(aircraft, &exposure);
        Ok(Planner::new(self, scenario, strategy, &aircraft, &outline).quickest_corners())
    }

    /// One draw of a flight's bands, leg by leg; absent a number, one in which everything comes out as planned. Nothing where
    /// the strategy cannot be flown, or not on that day.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn draw(
        &self,
        scenario: &Scenario,
        outcome: &Outcome,
        number: Option<u32>,
    ) -> Result<Option<Flight>, Stopped> {
        let (strategy, aircraft) = find(scenario, outcome.strategy)?;
        let conditions = &*scenario.conditions_of(strategy.id);
        let outline = self.outline(scenario)?;
        let Some(flight) = outcome.flight() else { return Ok(None) };
        let plans: Vec<_> = outcome.passes.iter().filter_map(|pass| pass.plan.clone().ok()).collect();
        let homes = self.homes(scenario, strategy, &outline);
        Ok(draw(&plans, flight, &aircraft.airframe, &outline, conditions, &homes, number))
    }

    /// The sun on one day of the site's clock.
    fn day(&self, scenario: &Scenario, date: LocalDate) -> Result<Arc<DayLight>, NoLight> {
        let mission = scenario.conditions.mission.as_ref().ok_or(NoLight::NoMission)?;
        let place = scenario.site.origin.ok_or(NoLight::NoOrigin)?;
        let rule = TwilightRule::of(scenario.conditions.height_rule);
        let key = Digest::of_stage(Stage::Day).day(place, date, &mission.zone, rule).finish();
        self.store.get_or(key, DayLight::bytes, || {
            DayLight::new(Observer::on_date(place, date)?, Zone::new(&mission.zone)?, date, rule)
        })
    }

    fn light_clock(&self, scenario: &Scenario, conditions: &Conditions) -> Result<LightClock, NoLight> {
        let mission = conditions.mission.as_ref().ok_or(NoLight::NoMission)?;
        LightClock::new(self.day(scenario, mission.date)?, conditions)
    }

    /// The take-off points of a strategy, what is seen from them, and what is known of the ways there.
    pub(crate) fn homes(&self, scenario: &Scenario, strategy: &Strategy, outline: &SiteOutline) -> Vec<Home> {
        let clearance_m = scenario.conditions_of(strategy.id).clearance_m;
        let airspace = Airspace { site: outline, clearance_m };
        let home = |at: DVec2| {
            let at_m = at.extend(outline.terrain.height_m(at));
            let of_site = Digest::of_stage(Stage::Lookout).airspace(&scenario.site).finish();
            let key = Digest::of_stage(Stage::Lookout).key(of_site).numbers(&at_m.to_array()).finish();
            let make = || Ok::<_, Infallible>(Lookout::new(outline, at_m));
            let Ok(lookout) = self.store.get_or(key, Lookout::bytes, make);
            let numbers = [at_m.x, at_m.y, clearance_m];
            let key = Digest::of_stage(Stage::Ways).key(of_site).numbers(&numbers).finish();
            let make = || Ok::<_, Infallible>(WaysAbout::new(&airspace, at_m.truncate()));
            let Ok(ways) = self.store.get_or(key, |_| WaysAbout::most_bytes(outline), make);
            Home { at_m, lookout, ways }
        };
        scenario.take_offs_m(strategy).into_iter().map(home).collect()
    }

    pub(crate) fn outline(&self, scenario: &Scenario) -> Result<Arc<SiteOutline>, EvaluateError> {
        let key = Digest::of_stage(Stage::Outline).airspace(&scenario.site).finish();
        let corners = |o: &SiteOutline| o.footprints_m.iter().map(Vec::len).sum::<usize>();
        let bytes = |o: &SiteOutline| 1000 + 16 * corners(o) + o.fences.bytes();
        Ok(self.store.get_or(key, bytes, || SiteOutline::new(&scenario.site))?)
    }
}

fn find(scenario: &Scenario, id: Id) -> Result<(&Strategy, &Aircraft), EvaluateError> {
    let strategy = scenario.strategy(id).ok_or(EvaluateError::NoSuchStrategy(id))?;
    let aircraft = scenario.equipment.aircraft(strategy.aircraft).ok_or_else(|| {
        EvaluateError::NoSuchAircraft { strategy: strategy.name.clone(), aircraft: strategy.aircraft }
    })?;
    Ok((strategy, aircraft))
}

/// The aircraft with its camera exposing as the light asks for: all that plans need to know of the light.
fn exposing<'a>(aircraft: &'a Aircraft, exposure: &Result<ExposureFigures, NoExposure>) -> Cow<'a, Aircraft> {
    let Ok(exposure) = exposure else { return Cow::Borrowed(aircraft) };
    let mut exposing = aircraft.clone();
    exposing.camera.exposure_s = exposure.exposure_s;
    Cow::Owned(exposing)
}

/// Looks at the light while flying too.
fn darkened(
    exposure: Result<ExposureFigures, NoExposure>,
    light: &Result<LightFigures, NoLight>,
) -> Result<ExposureFigures, NoExposure> {
    let suns = light.as_ref().map_or(Vec::new(), |l| vec![l.at_middle, l.at_landing]);
    exposure.map(|exposure| exposure.darkened_by(&suns))
}
