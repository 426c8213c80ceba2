mod planner;

use self::planner::Planner;
use crate::caution::{Facts, Lookout, cautions};
use crate::digest::{Digest, Key};
use crate::flight::{bands, fly};
use crate::light::{
    DayLight, ExposureFigures, LightClock, LightFigures, NoExposure, NoLight, Observer, TwilightRule, Zone,
    exposure_figures, light_figures,
};
use crate::route::Airspace;
use crate::verdict::judge;
use crate::{
    Above, Aircraft, Bands, Cancelled, Caution, Conditions, Depth, Flight, Id, Leg, LegKind, LoadFigures,
    LocalDate, Outcome, Pass, PassOutcome, PassPlan, PlanError, Rates, Reach, Scenario, SiteError, SiteModel,
    SiteOutline, Stations, Store, Strategy, Subject, TimeTerms, ViewFigures, ViewLimits, ViewTable, Watch,
    image_pairs, processing_hours, reach, sight, views,
};
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
    /// The strategy has no passes.
    #[error("strategy {strategy} has no pass; add one")]
    NoPass {
        /// The strategy's name.
        strategy: String,
    },
    /// A pass cannot be laid out.
    #[error("strategy {strategy}, pass {number}: {source}")]
    Plan {
        /// The strategy's name.
        strategy: String,
        /// The pass, counted from 1.
        number: usize,
        /// Why.
        source: PlanError,
    },
    /// The site cannot be sampled.
    #[error("site: {0}")]
    Site(#[from] SiteError),
}

/// A pass at a height that comes nearer to the ground flies into it. Common practice, no source.
const LEAST_ABOVE_GROUND_M: f64 = 2.0;

const STAGE_SITE: u8 = 1;
const STAGE_SIGHT: u8 = 3;
const STAGE_VIEWS: u8 = 4;
const STAGE_PAIRS: u8 = 5;
const STAGE_OUTLINE: u8 = 6;
const STAGE_DAY: u8 = 7;
const STAGE_LOOKOUT: u8 = 9;

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
        let (plans, order) = Planner::new(self, scenario, strategy, aircraft, &outline).route()?;
        let (flight, stranded) = fly(&plans, order, &aircraft.airframe, &outline, &scenario.conditions);
        let mut outcome = quick(scenario, strategy, aircraft, &outline, plans, flight);
        outcome.reasons = reasons(strategy, aircraft, &outline, &outcome.passes);
        outcome.reasons.extend(stranded);
        outcome.light = self.light(scenario, clock, &outcome.time);
        outcome.exposure = darkened(exposure, &outcome.light);
        outcome.cautions = self.cautions(scenario, aircraft, &outline, &outcome);
        if depth >= Depth::Views {
            self.add_views(scenario, &mut outcome, &outline)?;
        }
        outcome.depth = depth;
        outcome.judgements = judge(&outcome, &scenario.requirement);
        Ok(outcome)
    }

    /// Predicts every strategy of a scenario, in its order.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`]; the first one ends the work.
    pub fn evaluate_all(&self, scenario: &Scenario, depth: Depth) -> Result<Vec<Outcome>, Stopped> {
        scenario.strategies.iter().map(|s| self.evaluate(scenario, s.id, depth)).collect()
    }

    /// How sure the time and the energy of an outcome are.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn bands(&self, scenario: &Scenario, outcome: &Outcome) -> Result<Bands, Stopped> {
        let (_, aircraft) = find(scenario, outcome.strategy)?;
        let outline = self.outline(scenario)?;
        let found = bands(&outcome.flight, &aircraft.airframe, &outline, &scenario.conditions, self.watch)?;
        Ok(found)
    }

    /// The sun on one day of the site's clock.
    fn day(&self, scenario: &Scenario, date: LocalDate) -> Result<Arc<DayLight>, NoLight> {
        let mission = scenario.conditions.mission.as_ref().ok_or(NoLight::NoMission)?;
        let place = scenario.site.origin.ok_or(NoLight::NoOrigin)?;
        let rule = TwilightRule::of(scenario.conditions.height_rule);
        let key = Digest::of_stage(STAGE_DAY).day(place, date, &mission.zone, rule).finish();
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
        clock: Result<LightClock, NoLight>,
        time: &TimeTerms,
    ) -> Result<LightFigures, NoLight> {
        light_figures(&clock?, time, |date| self.day(scenario, date))
    }

    fn cautions(
        &self,
        scenario: &Scenario,
        aircraft: &Aircraft,
        site: &SiteOutline,
        outcome: &Outcome,
    ) -> Vec<Caution> {
        let key = Digest::of_stage(STAGE_LOOKOUT).airspace(&scenario.site).finish();
        let make = || Ok::<_, Infallible>(Lookout::new(site));
        let Ok(lookout) = self.store.get_or(key, Lookout::bytes, make);
        cautions(&Facts { outcome, aircraft, site, conditions: &scenario.conditions, lookout: &lookout })
    }

    fn outline(&self, scenario: &Scenario) -> Result<Arc<SiteOutline>, EvaluateError> {
        let key = Digest::of_stage(STAGE_OUTLINE).airspace(&scenario.site).finish();
        let bytes = |o: &SiteOutline| 1000 + o.footprints_m.iter().map(|ring| ring.len() * 16).sum::<usize>();
        Ok(self.store.get_or(key, bytes, || SiteOutline::new(&scenario.site))?)
    }

    /// Adds what the surfaces get, and the pairs.
    fn add_views(
        &self,
        scenario: &Scenario,
        outcome: &mut Outcome,
        outline: &SiteOutline,
    ) -> Result<(), Stopped> {
        let site_key = Digest::of_stage(STAGE_SITE).surfaces(&scenario.site).finish();
        let site = self.store.get_or(site_key, SiteModel::bytes, || {
            SiteModel::build_asking::<Stopped>(&scenario.site, |done, total| {
                Ok(self.watch.step(done, total)?)
            })
        })?;
        let stations: Vec<&Stations> = outcome.passes.iter().map(|p| &*p.plan.stations).collect();
        let mut sights = Vec::with_capacity(stations.len());
        for &pass in &stations {
            let key = poses_digest(Digest::of_stage(STAGE_SIGHT).key(site_key), pass);
            sights.push((key, self.store.get_or(key, ViewTable::bytes, || sight(&site, pass, self.watch))?));
        }
        let figures = self.view_figures(scenario, &site, &stations, &sights)?;
        let looks: Vec<_> = outcome.passes.iter().map(|p| (&*p.plan.stations, p.plan.subject)).collect();
        let pairs = self.pairs(outline, &looks)?;
        let hours =
            processing_hours(outcome.image_count, outcome.load.gigapixels, *pairs, &scenario.rates.stages);
        outcome.load = LoadFigures { image_pairs: Some(*pairs), hours: Some(hours), ..outcome.load };
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
        let mut digest = Digest::of_stage(STAGE_VIEWS);
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
        let mut digest = Digest::of_stage(STAGE_PAIRS);
        digest.number(outline.reference_z_m).whole(passes.len() as u64);
        let key = passes.iter().fold(digest.finish(), |key, (stations, subject)| {
            let mut digest = Digest::of_stage(STAGE_PAIRS);
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
    if strategy.passes.is_empty() {
        return Err(EvaluateError::NoPass { strategy: strategy.name.clone() });
    }
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

/// Why a strategy cannot be flown as set, the batteries apart.
fn reasons(
    strategy: &Strategy,
    aircraft: &Aircraft,
    outline: &SiteOutline,
    passes: &[PassOutcome],
) -> Vec<String> {
    let mut found = Vec::new();
    for (k, (pass, planned)) in strategy.passes.iter().zip(passes).enumerate() {
        let number = if strategy.passes.len() > 1 { format!("pass {}: ", k + 1) } else { String::new() };
        if let Some(reason) = &planned.plan.refused {
            found.push(format!("{number}{reason}"));
            continue;
        }
        if !pass.pattern.kind().flies_over() {
            continue;
        }
        found.extend(gimbal_reason(pass, aircraft).map(|reason| format!("{number}{reason}")));
        let layout = &planned.plan.layout;
        let followed = layout.above == Above::Ground;
        let (height_m, tallest_m) = (layout.lowest_m, outline.tallest_roof_m.unwrap_or(0.0));
        if height_m <= tallest_m && !followed {
            found.push(format!(
                "{number}flies at {height_m:.0} m, not above the highest roof ({tallest_m:.0} m); raise it well above"
            ));
        } else if planned.image_count == 0 {
            found.push(format!(
                "{number}no exposure shows anything of the site; lower its tilt or widen its margin"
            ));
        } else {
            found.extend(collision(&planned.plan, outline).map(|reason| format!("{number}{reason}")));
        }
    }
    found
}

/// What a pass at a height flies into: something that stands beyond the boundary, or the ground.
fn collision(plan: &PassPlan, outline: &SiteOutline) -> Option<String> {
    let airspace = Airspace { site: outline, clearance_m: 0.0 };
    let strips = || plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
    if plan.layout.lowest_m + outline.reference_z_m <= outline.highest_z_m {
        let corners = |leg: &Leg| leg.corners_m().collect::<Vec<_>>();
        if let Some(leg) = strips().find(|leg| airspace.too_near(&corners(leg), 0.0).is_some()) {
            let name = airspace.too_near(&corners(leg), 0.0).unwrap_or_default().to_owned();
            return Some(format!("flies into \"{name}\"; raise it"));
        }
    }
    let least_m = plan.ground.map_or(f64::INFINITY, |ground| ground.lowest_m);
    (least_m < LEAST_ABOVE_GROUND_M)
        .then(|| format!("comes to {least_m:.0} m above the ground; raise it or have it follow the ground"))
}

/// What the gimbal cannot do. An aircraft that holds a look can yaw for it, so only a cycle needs the pan.
fn gimbal_reason(pass: &Pass, aircraft: &Aircraft) -> Option<String> {
    let gimbal = &aircraft.gimbal;
    let tilts = |deg: f64| (gimbal.tilt_min_deg..=gimbal.tilt_max_deg).contains(&deg);
    if let [attitude] = pass.attitudes.as_slice() {
        let deg = attitude.tilt_deg;
        let stop = if deg > gimbal.tilt_max_deg { gimbal.tilt_max_deg } else { gimbal.tilt_min_deg };
        return (!tilts(deg)).then(|| format!("the gimbal stops at {stop:.0}°, this pass needs {deg:.0}°"));
    }
    pass.attitudes.iter().find_map(|attitude| match reach(gimbal, attitude) {
        Reach::Direct | Reach::PastNadir => None,
        Reach::TiltStops => Some(format!(
            "the gimbal stops at {:.0}°, this cycle needs {:.0}°",
            gimbal.tilt_max_deg, attitude.tilt_deg
        )),
        Reach::PanStops => Some(format!(
            "the gimbal pans from {:.0}° to {:.0}° and tilts past nadir to {:.0}°, too little for this cycle",
            gimbal.pan_min_deg, gimbal.pan_max_deg, gimbal.tilt_min_deg
        )),
    })
}

/// The outcome as far as it needs no samples.
fn quick(
    scenario: &Scenario,
    strategy: &Strategy,
    aircraft: &Aircraft,
    outline: &SiteOutline,
    plans: Vec<Arc<PassPlan>>,
    flight: Flight,
) -> Outcome {
    let image_count: u32 = plans.iter().map(|plan| plan.stations.poses.len() as u32).sum();
    let storage_gb = f64::from(image_count) * aircraft.camera.image_mb / 1000.0;
    Outcome {
        strategy: strategy.id,
        name: strategy.name.clone(),
        aircraft: aircraft.name.clone(),
        depth: Depth::Quick,
        reasons: Vec::new(),
        assumed: outline.assumed,
        cautions: Vec::new(),
        time: time_terms(&scenario.conditions, aircraft, &flight),
        image_count,
        skipped_exposures: plans.iter().map(|plan| plan.skipped).sum(),
        storage_gb,
        load: load(image_count, aircraft, &scenario.rates),
        views: None,
        site: None,
        light: Err(NoLight::NoMission),
        exposure: Err(NoExposure::NoLevel),
        judgements: Vec::new(),
        passes: plans.into_iter().map(|plan| pass_outcome(plan, &flight)).collect(),
        flight: Arc::new(flight),
    }
}

fn pass_outcome(plan: Arc<PassPlan>, flight: &Flight) -> PassOutcome {
    let of_pass = flight.legs.iter().filter(|flown| flown.pass == Some(plan.pass));
    PassOutcome {
        image_count: plan.stations.poses.len() as u32,
        flight_time_s: of_pass.map(|flown| flown.turn_s + flown.moving_s).sum(),
        plan,
    }
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
