//! The stages of one strategy's evaluation: each gives a value that nothing changes afterwards, and is kept by a key of what
//! it rests on.

use super::network_terms::network_terms;
use super::planner::{Planner, Route};
use super::seen::{Looker, Seen};
use super::{Evaluator, Stopped};
use crate::base::Cancelled;
use crate::base::digest::{Digest, Key, Stage};
use crate::flight::{Bands, Flight, Home, TimeTerms, Timing, bands, fly, take_off_name};
use crate::geometry::polygon;
use crate::ground::SiteOutline;
use crate::light::{ExposureFigures, LightFigures, NoExposure, NoLight};
use crate::load::{LoadFigures, LoadTerms};
use crate::money::{JobFacts, JobFigures};
use crate::network::{NetworkFigures, Thinning, network_figures};
use crate::result::cautions::{Facts, cautions};
use crate::result::outcome::Finished;
use crate::result::verdict::judge;
use crate::result::{Caution, Depth, Judgement, Outcome, PassOutcome};
use crate::route::{PassPlan, Stations};
use crate::scenario::{Aircraft, Conditions, CrewInputs, Scenario, Strategy};
use crate::view::ViewTable;
use std::cell::OnceCell;
use std::sync::Arc;

/// How much of an outcome is wanted. What is worked out is the same to the bit, whatever else is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// All that it tells.
    Outcome,
    /// Its figures and judgements: neither bands nor cautions.
    Figures,
    /// Of those what the requirement asks for: no pairs of images either.
    Judgements,
}

/// What the stages of a strategy rest on.
#[derive(Clone, Copy)]
pub(super) struct Stages<'a> {
    pub(super) evaluator: &'a Evaluator<'a>,
    pub(super) scenario: &'a Scenario,
    pub(super) strategy: &'a Strategy,
    /// Those of the strategy.
    pub(super) conditions: &'a Conditions,
    /// Exposing as the light asks for.
    pub(super) aircraft: &'a Aircraft,
    pub(super) outline: &'a SiteOutline,
    /// Where sorties may start.
    pub(super) homes: &'a [Home],
    pub(super) extent: Extent,
}

/// The light, and the exposure that it asks for, or why nothing is said of them.
pub(super) type Lit = (Result<LightFigures, NoLight>, Result<ExposureFigures, NoExposure>);

/// The stages that only a strategy has that can be flown.
pub(super) struct FlownStages {
    timing: Timing,
    views: Option<Seen>,
    network: Option<Arc<NetworkFigures>>,
    load: LoadFigures,
    job: Option<JobFigures>,
    cautions: Vec<Caution>,
    judgements: Vec<Judgement>,
}

impl Stages<'_> {
    pub(super) fn route(&self) -> Route {
        let Stages { evaluator, scenario, strategy, aircraft, outline, .. } = *self;
        Planner::new(evaluator, scenario, strategy, aircraft, outline).route()
    }

    /// The clock and the batteries, or why the strategy cannot be flown.
    pub(super) fn timing(
        &self,
        route: &Route,
        depth: Depth,
    ) -> Result<Result<Timing, Vec<String>>, Cancelled> {
        let Stages { strategy, conditions, aircraft, outline, homes, .. } = *self;
        let no_pass = strategy.passes.is_empty().then(|| "it has no pass; add one".to_owned());
        let mut reasons = route.reasons();
        let shut = |(k, home): (usize, &Home)| outline.take_off_shut(&take_off_name(k), home.at_m);
        reasons.extend(no_pass.into_iter().chain(homes.iter().enumerate().filter_map(shut)));
        let Some(plans) = route.laid().filter(|_| reasons.is_empty()) else { return Ok(Err(reasons)) };
        let mut digest = Digest::of_stage(Stage::Flight);
        digest.key(route.key).flown(&aircraft.airframe, conditions).homes(homes, conditions);
        let key = digest.finish();
        let flight = match self.flight(key, &plans, &route.order) {
            Ok(flight) => flight,
            Err(reason) => return Ok(Err(vec![reason])),
        };
        let bands = match (depth, self.extent) {
            (Depth::Quick, _) | (_, Extent::Figures | Extent::Judgements) => None,
            (_, Extent::Outcome) => Some(self.bands(key, &plans, &flight)?),
        };
        let time = time_terms(conditions, CrewInputs::of_strategy(strategy, aircraft), aircraft, &flight);
        Ok(Ok(Timing { passes: plans.iter().map(|plan| plan.pass).collect(), flight, time, bands }))
    }

    fn flight(&self, key: Key, plans: &[Arc<PassPlan>], order: &[usize]) -> Result<Arc<Flight>, String> {
        let Stages { evaluator, conditions, aircraft, outline, homes, .. } = *self;
        let airframe = &aircraft.airframe;
        evaluator
            .store
            .get_or(key, Flight::bytes, || fly(plans, order.to_vec(), airframe, outline, conditions, homes))
    }

    fn bands(
        &self,
        flight_key: Key,
        plans: &[Arc<PassPlan>],
        flight: &Flight,
    ) -> Result<Arc<Bands>, Cancelled> {
        let Stages { evaluator, conditions, aircraft, outline, homes, .. } = *self;
        let key = Digest::of_stage(Stage::Bands).key(flight_key).drawn(conditions).finish();
        evaluator.store.get_or(key, Bands::bytes, || {
            bands(plans, flight, &aircraft.airframe, outline, conditions, homes, evaluator.watch)
        })
    }

    /// The passes as they are listed, laid out or not.
    pub(super) fn passes(&self, route: &Route, timing: Option<&Timing>) -> Vec<PassOutcome> {
        let times_s = timing.map(|timing| self.flight_times_s(&timing.flight));
        let passes = self.strategy.passes.iter().zip(&route.plans).enumerate();
        passes
            .map(|(k, (pass, plan))| PassOutcome {
                pass: pass.id,
                pattern: pass.pattern.kind(),
                plan: plan.clone(),
                flight_time_s: times_s.as_ref().map(|times_s| times_s[k]),
            })
            .collect()
    }

    /// Time that the legs of each pass take, turns before them included.
    fn flight_times_s(&self, flight: &Flight) -> Vec<f64> {
        let passes = &self.strategy.passes;
        let (mut times_s, mut k) = (vec![0.0; passes.len()], 0);
        for flown in &flight.legs {
            let Some(id) = flown.pass else { continue };
            // mostly that of the leg before
            if passes[k].id != id {
                let Some(other) = passes.iter().position(|pass| pass.id == id) else { continue };
                k = other;
            }
            times_s[k] += flown.turn_s + flown.moving_s;
        }
        times_s
    }

    /// What comes after the clock.
    pub(super) fn flown(
        &self,
        (route, passes): (&Route, &[PassOutcome]),
        timing: Timing,
        (light, exposure): (&Result<LightFigures, NoLight>, &Result<ExposureFigures, NoExposure>),
        depth: Depth,
    ) -> Result<FlownStages, Stopped> {
        let Stages { evaluator, scenario, aircraft, outline, extent, .. } = *self;
        let plans = route.laid().unwrap_or_default();
        let views = match depth {
            Depth::Quick | Depth::Spread => None,
            Depth::Views | Depth::Preview | Depth::Network => {
                Some(Looker { evaluator, scenario, outline }.seen(&plans)?)
            }
        };
        let pairs = match (depth, extent) {
            (Depth::Views | Depth::Preview | Depth::Network, Extent::Outcome | Extent::Figures) => {
                Some(Looker { evaluator, scenario, outline }.pairs(&plans)?)
            }
            _ => None,
        };
        let network = match (depth, &views) {
            (Depth::Preview, Some(seen)) => Some(self.network(&plans, seen, Thinning::PREVIEW)?),
            (Depth::Network, Some(seen)) => Some(self.network(&plans, seen, Thinning::USUAL)?),
            _ => None,
        };
        let load_terms = LoadTerms {
            camera: &aircraft.camera,
            pairs_by_pass: pairs.as_ref(),
            views: views.as_ref().map(|seen| &*seen.figures),
            control_points: self.conditions.control_points,
            rates: &scenario.rates,
        };
        let load = LoadFigures::new(&plans, load_terms);
        let job = self.job(&timing, &load);
        let cautions = match extent {
            Extent::Outcome => {
                self.cautions(&plans, &timing, (light, exposure), (&load, network.as_deref()), depth)
            }
            Extent::Figures | Extent::Judgements => Vec::new(),
        };
        let figures = views.as_ref().map(|seen| &*seen.figures);
        let finished = Finished {
            passes,
            timing: Some(&timing),
            views: figures,
            network: network.as_deref(),
            load: Some(&load),
            job: job.as_ref(),
        };
        let judgements = judge(&finished, &scenario.requirement, self.conditions);
        Ok(FlownStages { timing, views, network, load, job, cautions, judgements })
    }

    /// What the job leaves; nothing without a price, or before the hours of processing are known.
    fn job(&self, timing: &Timing, load: &LoadFigures) -> Option<JobFigures> {
        let facts = JobFacts {
            on_site_h: timing.time.time_on_site_s() / 3600.0,
            battery_cycles: timing.flight.energy_sets(),
            machine_h: load.hours?.total_h(),
            attended_h: load.attended.total_h(),
        };
        let area_m2 = polygon::area_m2(&self.outline.boundary_m);
        JobFigures::new(&self.scenario.job, facts, self.conditions.control_points, area_m2)
    }

    /// What the images would tell if they were adjusted together.
    fn network(
        &self,
        plans: &[Arc<PassPlan>],
        seen: &Seen,
        thinning: Thinning,
    ) -> Result<Arc<NetworkFigures>, Cancelled> {
        let Stages { evaluator, scenario, conditions, aircraft, outline, .. } = *self;
        let terms = network_terms(&scenario.site, conditions, aircraft, outline, thinning);
        let key = Digest::of_stage(Stage::Network).key(seen.key).network_terms(&terms).finish();
        evaluator.store.get_or(key, NetworkFigures::bytes, || {
            let of = plans.iter().zip(&seen.sights);
            let passes: Vec<(&Stations, &ViewTable)> =
                of.map(|(plan, (_, table))| (&*plan.stations, &**table)).collect();
            network_figures(&seen.site, &passes, &seen.figures, terms, evaluator.watch)
        })
    }

    fn cautions(
        &self,
        plans: &[Arc<PassPlan>],
        timing: &Timing,
        (light, exposure): (&Result<LightFigures, NoLight>, &Result<ExposureFigures, NoExposure>),
        (load, network): (&LoadFigures, Option<&NetworkFigures>),
        depth: Depth,
    ) -> Vec<Caution> {
        let Stages { scenario, strategy, conditions, aircraft, outline: site, homes, .. } = *self;
        let max_link_deg = scenario.requirement.views.max_link_deg;
        let walk = OnceCell::new();
        let facts = Facts {
            strategy,
            plans,
            timing,
            light,
            exposure,
            load,
            network,
            control: scenario.site.control_points.iter().filter(|point| point.role.is_control()).count(),
            max_link_deg,
            aircraft,
            site,
            conditions,
            homes,
            walk,
        };
        cautions(&facts, depth)
    }

    /// The outcome of finished stages.
    pub(super) fn outcome(
        &self,
        depth: Depth,
        passes: Vec<PassOutcome>,
        (light, exposure): Lit,
        flown: Result<FlownStages, Vec<String>>,
    ) -> Outcome {
        let (reasons, flown) = match flown {
            Ok(flown) => (Vec::new(), Some(flown)),
            Err(reasons) => (reasons, None),
        };
        let (timing, views, network, load, job, cautions, judgements) = match flown {
            Some(FlownStages { timing, views, network, load, job, cautions, judgements }) => {
                (Some(timing), views, network, Some(load), job, cautions, judgements)
            }
            None => (None, None, None, None, None, Vec::new(), Vec::new()),
        };
        let (views, site) = views.map(|seen| (seen.figures, seen.site)).unzip();
        Outcome {
            strategy: self.strategy.id,
            name: self.strategy.name.clone(),
            aircraft: self.aircraft.name.clone(),
            depth,
            reasons,
            assumed: self.outline.assumed,
            passes,
            timing,
            light,
            exposure,
            views,
            site,
            network,
            load,
            job,
            cautions,
            judgements,
        }
    }
}

fn time_terms(
    conditions: &Conditions,
    inputs: CrewInputs,
    aircraft: &Aircraft,
    flight: &Flight,
) -> TimeTerms {
    let swaps = flight.sorties.len().saturating_sub(1) as f64;
    TimeTerms {
        set_up_s: conditions.set_up_min * 60.0,
        flight_s: flight.terms.flight_time_s(),
        swaps_s: swaps * aircraft.airframe.swap_min * 60.0,
        swap_s: aircraft.airframe.swap_min * 60.0,
        waits_s: flight.waits_s(),
        moves_s: flight.moves_s(),
        moves: flight.moves(),
        move_s: conditions.move_min * 60.0,
        control_s: f64::from(conditions.control_points) * conditions.per_control_point_min * 60.0,
        control_points: conditions.control_points,
        per_control_point_s: conditions.per_control_point_min * 60.0,
        pack_up_s: conditions.pack_up_min * 60.0,
        inputs,
    }
}
