pub mod corner_advice;
pub(crate) mod hold;
pub(crate) mod site_templates;
pub mod wind_advice;

pub use hold::{Held, Hold};
pub use site_templates::{SiteChoice, SiteTemplate, TemplateError, TemplateStart};

mod planner;

use self::planner::{Planner, Route};
use crate::base::digest::{Digest, Key, Stage};
use crate::base::{Cancelled, Id, Store, Watch};
use crate::flight::{Bands, Flight, TimeTerms, bands, draw, fly};
use crate::ground::{SiteError, SiteModel, SiteOutline};
use crate::light::{
    DayLight, ExposureFigures, LightClock, LightFigures, NoExposure, NoLight, Observer, TwilightRule, Zone,
    exposure_figures, light_figures,
};
use crate::load::{LoadFigures, image_pairs, processing_hours};
use crate::result::cautions::{Facts, Lookout, cautions};
use crate::result::verdict::judge;
use crate::result::{Caution, Cost, Depth, Outcome, PassOutcome};
use crate::route::{PassPlan, PlanError, Stations, Subject};
use crate::scenario::{Aircraft, BeginAt, Conditions, LocalDate, Pass, Rates, Scenario, Strategy};
use crate::view::{ViewFigures, ViewLimits, ViewTable, sight, views};
use std::borrow::Cow;
use std::convert::Infallible;
use std::sync::Arc;
use thiserror::Error;

/// Composes the stages; the only maker of figures.
///
/// Each stage is a pure function of its own input and is kept in the store by a digest of it, so a changed limit casts
/// no ray, a renamed strategy costs nothing, and two strategies share a pass.
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
    /// The site cannot be sampled.
    #[error("site: {0}")]
    Site(#[from] SiteError),
}

impl Evaluator<'_> {
    /// Predicts one strategy to a depth.
    ///
    /// # Errors
    /// [`Stopped::Cancelled`] when the watch says so; [`Stopped::Refused`] when the scenario cannot be evaluated. A
    /// strategy that cannot be flown is no error: its outcome says why.
    pub fn evaluate(&self, scenario: &Scenario, strategy: Id, depth: Depth) -> Result<Outcome, Stopped> {
        let (strategy, aircraft) = find(scenario, strategy)?;
        let outline = self.outline(scenario)?;
        let clock = self.light_clock(scenario);
        let exposure = exposure_figures(&aircraft.camera, scenario.conditions.light, &clock);
        let exposing = exposing(aircraft, &exposure);
        let aircraft = exposing.as_ref();
        let route = Planner::new(self, scenario, strategy, aircraft, &outline).route();
        let mut outcome = quick(scenario, strategy, aircraft, &outline, route);
        let time = outcome.cost.as_ref().map(|cost| cost.time);
        outcome.light = clock.and_then(|clock| self.light(scenario, &clock, &time.ok_or(NoLight::NotFlown)?));
        outcome.exposure = darkened(exposure, &outcome.light);
        outcome.cautions = self.cautions(scenario, aircraft, &outline, &outcome);
        if depth >= Depth::Views {
            self.add_views(scenario, &mut outcome, &outline)?;
        }
        outcome.depth = depth;
        outcome.judgements = judge(&outcome, &scenario.requirement, &scenario.conditions);
        Ok(outcome)
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
        let exposure =
            exposure_figures(&aircraft.camera, scenario.conditions.light, &self.light_clock(scenario));
        let aircraft = exposing(aircraft, &exposure);
        Ok(Planner::new(self, scenario, strategy, &aircraft, &outline).quickest_corners())
    }

    /// How sure the time and the energy of an outcome are; nothing for one that cannot be flown.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn bands(&self, scenario: &Scenario, outcome: &Outcome) -> Result<Option<Bands>, Stopped> {
        let (_, aircraft) = find(scenario, outcome.strategy)?;
        let outline = self.outline(scenario)?;
        let Some(flight) = outcome.flight() else { return Ok(None) };
        let plans: Vec<_> = outcome.passes.iter().filter_map(|pass| pass.plan.clone().ok()).collect();
        let (airframe, conditions) = (&aircraft.airframe, &scenario.conditions);
        Ok(Some(bands(&plans, flight, airframe, &outline, conditions, self.watch)?))
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
        let (_, aircraft) = find(scenario, outcome.strategy)?;
        let outline = self.outline(scenario)?;
        let Some(flight) = outcome.flight() else { return Ok(None) };
        let plans: Vec<_> = outcome.passes.iter().filter_map(|pass| pass.plan.clone().ok()).collect();
        Ok(draw(&plans, flight, &aircraft.airframe, &outline, &scenario.conditions, number))
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

    fn light_clock(&self, scenario: &Scenario) -> Result<LightClock, NoLight> {
        let mission = scenario.conditions.mission.as_ref().ok_or(NoLight::NoMission)?;
        LightClock::new(self.day(scenario, mission.date)?, &scenario.conditions)
    }

    fn light(
        &self,
        scenario: &Scenario,
        clock: &LightClock,
        time: &TimeTerms,
    ) -> Result<LightFigures, NoLight> {
        light_figures(clock, time, |date| self.day(scenario, date))
    }

    fn cautions(
        &self,
        scenario: &Scenario,
        aircraft: &Aircraft,
        site: &SiteOutline,
        outcome: &Outcome,
    ) -> Vec<Caution> {
        let Some(flight) = outcome.flight() else { return Vec::new() };
        let key = Digest::of_stage(Stage::Lookout).airspace(&scenario.site).finish();
        let make = || Ok::<_, Infallible>(Lookout::new(site));
        let Ok(lookout) = self.store.get_or(key, Lookout::bytes, make);
        let Some(strategy) = scenario.strategy(outcome.strategy) else { return Vec::new() };
        cautions(&Facts {
            outcome,
            strategy,
            flight,
            aircraft,
            site,
            conditions: &scenario.conditions,
            lookout: &lookout,
        })
    }

    pub(crate) fn outline(&self, scenario: &Scenario) -> Result<Arc<SiteOutline>, EvaluateError> {
        let key = Digest::of_stage(Stage::Outline).airspace(&scenario.site).finish();
        let corners = |o: &SiteOutline| o.footprints_m.iter().map(Vec::len).sum::<usize>();
        let bytes = |o: &SiteOutline| 1000 + 16 * corners(o) + o.fences.bytes();
        Ok(self.store.get_or(key, bytes, || SiteOutline::new(&scenario.site))?)
    }

    /// Adds what the surfaces get, and the pairs, to what can be flown.
    fn add_views(
        &self,
        scenario: &Scenario,
        outcome: &mut Outcome,
        outline: &SiteOutline,
    ) -> Result<(), Stopped> {
        let Some(cost) = &mut outcome.cost else { return Ok(()) };
        let plans: Vec<&PassPlan> = outcome.passes.iter().filter_map(PassOutcome::laid).collect();
        let site_key = Digest::of_stage(Stage::Site).surfaces(&scenario.site).finish();
        let site = self.store.get_or(site_key, SiteModel::bytes, || {
            SiteModel::build_asking::<Stopped>(&scenario.site, |done, total| {
                Ok(self.watch.step(done, total)?)
            })
        })?;
        let stations: Vec<&Stations> = plans.iter().map(|plan| &*plan.stations).collect();
        let mut sights = Vec::with_capacity(stations.len());
        for &pass in &stations {
            let key = poses_digest(Digest::of_stage(Stage::Sight).key(site_key), pass);
            sights.push((key, self.store.get_or(key, ViewTable::bytes, || sight(&site, pass, self.watch))?));
        }
        let figures = self.view_figures(scenario, &site, &stations, &sights)?;
        let looks: Vec<_> = plans.iter().map(|plan| (&*plan.stations, plan.subject)).collect();
        let pairs = self.pairs(outline, &looks)?;
        let hours = processing_hours(cost.image_count, cost.load.gigapixels, *pairs, &scenario.rates.stages);
        cost.load = LoadFigures { image_pairs: Some(*pairs), hours: Some(hours), ..cost.load };
        outcome.views = Some(figures);
        outcome.site = Some(site);
        Ok(())
    }

    fn view_figures(
        &self,
        scenario: &Scenario,
        site: &SiteModel,
        stations: &[&Stations],
        sights: &[(Key, Arc<ViewTable>)],
    ) -> Result<Arc<ViewFigures>, Cancelled> {
        let limits = ViewLimits::from(&scenario.requirement);
        let mut digest = Digest::of_stage(Stage::Views);
        digest.whole(sights.len() as u64);
        for (key, _) in sights {
            digest.key(*key);
        }
        let gsd = limits.max_gsd_m;
        let key = digest
            .whole(u64::from(limits.min_views))
            .numbers(&[limits.max_incidence_rad, limits.min_intersection_rad, limits.max_link_rad])
            .numbers(&[gsd.ground, gsd.roof, gsd.wall, gsd.underside])
            .finish();
        let passes: Vec<(&Stations, &ViewTable)> =
            stations.iter().zip(sights).map(|(stations, (_, table))| (*stations, &**table)).collect();
        self.store.get_or(key, ViewFigures::bytes, || views(site, &passes, &limits, self.watch))
    }

    fn pairs(&self, outline: &SiteOutline, passes: &[(&Stations, Subject)]) -> Result<Arc<u64>, Cancelled> {
        let mut digest = Digest::of_stage(Stage::Pairs);
        digest.number(outline.reference_z_m).whole(passes.len() as u64);
        let key = passes.iter().fold(digest.finish(), |key, (stations, subject)| {
            let mut digest = Digest::of_stage(Stage::Pairs);
            match *subject {
                Subject::Ground => digest.whole(0),
                Subject::Wall { stand_off_m, turned_rad } => {
                    digest.whole(1).numbers(&[stand_off_m, turned_rad])
                }
                Subject::Soffit { stand_off_m } => digest.whole(2).number(stand_off_m),
            };
            poses_digest(digest.key(key), stations)
        });
        self.store.get_or(
            key,
            |_| size_of::<u64>(),
            || image_pairs(passes, outline.reference_z_m, self.watch),
        )
    }
}

fn poses_digest(digest: &mut Digest, stations: &Stations) -> Key {
    let camera = stations.camera;
    digest
        .whole(u64::from(camera.width_px))
        .whole(u64::from(camera.height_px))
        .number(camera.focal_length_px);
    digest.whole(stations.poses.len() as u64);
    for pose in &stations.poses {
        digest.pose(pose);
    }
    digest.finish()
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

/// The outcome as far as it needs no samples.
fn quick(
    scenario: &Scenario,
    strategy: &Strategy,
    aircraft: &Aircraft,
    outline: &SiteOutline,
    route: Route,
) -> Outcome {
    let mut reasons = reasons(route.plans.iter());
    let laid: Option<Vec<Arc<PassPlan>>> = route.plans.iter().map(|plan| plan.clone().ok()).collect();
    let mut flown = None;
    let shut = outline.take_off_shut();
    match laid.filter(|plans| !plans.is_empty()) {
        Some(_) if shut.is_some() => {}
        Some(plans) => match fly(&plans, route.order, &aircraft.airframe, outline, &scenario.conditions) {
            Ok(flight) => flown = Some(cost(scenario, aircraft, &plans, flight)),
            Err(reason) => reasons.push(reason),
        },
        None if strategy.passes.is_empty() => reasons.push("it has no pass; add one".to_owned()),
        None => {}
    }
    reasons.extend(shut);
    let flight = flown.as_ref().map(|cost| &*cost.flight);
    let passes = strategy.passes.iter().zip(route.plans);
    Outcome {
        strategy: strategy.id,
        name: strategy.name.clone(),
        aircraft: aircraft.name.clone(),
        depth: Depth::Quick,
        reasons,
        assumed: outline.assumed,
        passes: passes.map(|(pass, plan)| pass_outcome(pass, plan, flight)).collect(),
        cost: flown,
        views: None,
        site: None,
        light: Err(NoLight::NotFlown),
        exposure: Err(NoExposure::NoLevel),
        cautions: Vec::new(),
        judgements: Vec::new(),
    }
}

/// What a flight takes.
fn cost(scenario: &Scenario, aircraft: &Aircraft, plans: &[Arc<PassPlan>], flight: Flight) -> Cost {
    let image_count: u32 = plans.iter().map(|plan| plan.stations.poses.len() as u32).sum();
    Cost {
        passes: plans.iter().map(|plan| plan.pass).collect(),
        time: time_terms(&scenario.conditions, aircraft, &flight),
        image_count,
        skipped_exposures: plans.iter().map(|plan| plan.skipped).sum(),
        storage_gb: f64::from(image_count) * aircraft.camera.image_mb / 1000.0,
        load: load(image_count, aircraft, &scenario.rates),
        flight: Arc::new(flight),
    }
}

fn pass_outcome(pass: &Pass, plan: Result<Arc<PassPlan>, PlanError>, flight: Option<&Flight>) -> PassOutcome {
    let time_s = |flight: &Flight| {
        let of_pass = flight.legs.iter().filter(|flown| flown.pass == Some(pass.id));
        of_pass.map(|flown| flown.turn_s + flown.moving_s).sum()
    };
    let flight_time_s = flight.map(time_s);
    PassOutcome { pass: pass.id, pattern: pass.pattern.kind(), plan, flight_time_s }
}

/// Why passes are not laid out: each with its number, and once what is about the strategy as a whole.
fn reasons<'a>(plans: impl ExactSizeIterator<Item = &'a Result<Arc<PassPlan>, PlanError>>) -> Vec<String> {
    let several = plans.len() > 1;
    let mut found: Vec<String> = Vec::new();
    for (k, plan) in plans.enumerate() {
        let Err(error) = plan else { continue };
        let of_pass = several && !error.is_of_strategy();
        let reason = if of_pass { format!("pass {}: {error}", k + 1) } else { error.to_string() };
        if !found.contains(&reason) {
            found.push(reason);
        }
    }
    found
}

fn time_terms(conditions: &Conditions, aircraft: &Aircraft, flight: &Flight) -> TimeTerms {
    let swaps = flight.sorties.len().saturating_sub(1) as f64;
    TimeTerms {
        set_up_s: conditions.set_up_min * 60.0,
        flight_s: flight.terms.flight_time_s(),
        swaps_s: swaps * aircraft.airframe.swap_min * 60.0,
        waits_s: flight.waits_s(),
        control_s: f64::from(conditions.control_points) * conditions.per_control_point_min * 60.0,
        pack_up_s: conditions.pack_up_min * 60.0,
    }
}

fn load(image_count: u32, aircraft: &Aircraft, rates: &Rates) -> LoadFigures {
    LoadFigures {
        gigapixels: f64::from(image_count) * aircraft.camera.megapixels() / 1000.0,
        image_pairs: None,
        hours: None,
        fitted: rates.fitted,
    }
}
