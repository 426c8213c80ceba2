//! From a strategy's passes to their plans and the order in which they are flown.

use super::Evaluator;
use crate::digest::{Digest, Key};
use crate::route::{Corner, Count, Run, pass_count, pass_runs, plan_pass_from, quickest};
use crate::{Aircraft, Leg, Pass, PassPlan, PatternKind, PlanError, Scenario, SiteOutline, Strategy};
use std::convert::Infallible;
use std::sync::Arc;

const STAGE_AIRSPACE: u8 = 6;
const STAGE_PLAN: u8 = 2;
const STAGE_RUNS: u8 = 8;
const STAGE_COUNT: u8 = 10;

/// A plan, or why there is none.
type Laid = Result<Arc<PassPlan>, PlanError>;

/// The plan of each pass, and the order in which they are flown: of those that can be laid out.
pub(super) struct Route {
    pub(super) plans: Vec<Laid>,
    pub(super) order: Vec<usize>,
}

/// Lays out the passes of one strategy.
pub(super) struct Planner<'a> {
    evaluator: &'a Evaluator<'a>,
    airspace: Key,
    scenario: &'a Scenario,
    strategy: &'a Strategy,
    aircraft: &'a Aircraft,
    outline: &'a SiteOutline,
}

impl<'a> Planner<'a> {
    pub(super) fn new(
        evaluator: &'a Evaluator<'a>,
        scenario: &'a Scenario,
        strategy: &'a Strategy,
        aircraft: &'a Aircraft,
        outline: &'a SiteOutline,
    ) -> Self {
        let airspace = Digest::of_stage(STAGE_AIRSPACE).airspace(&scenario.site).finish();
        Planner { evaluator, airspace, scenario, strategy, aircraft, outline }
    }

    /// Lays out every pass by itself; nothing of a strategy that comes to more than one may have.
    pub(super) fn route(&self) -> Route {
        let Planner { strategy, aircraft, outline, .. } = *self;
        let count = strategy.passes.len();
        if let Err(error) = self.count() {
            return Route { plans: vec![Err(error); count], order: Vec::new() };
        }
        let runs: Vec<Result<Vec<Run>, PlanError>> = (0..count).map(|index| self.runs(index)).collect();
        let home_m = outline.take_off_m.extend(outline.take_off_z_m);
        let able: Vec<usize> = (0..count).filter(|&index| runs[index].is_ok()).collect();
        let of_able: Vec<Vec<Run>> = runs.iter().filter_map(|runs| runs.clone().ok()).collect();
        let chosen = quickest(&of_able, home_m, &aircraft.airframe, strategy.order);
        let begun = |index: usize| chosen.iter().find(|c| able[c.pass] == index).and_then(|c| c.begin);
        let plans = (0..count).map(|index| match &runs[index] {
            Ok(_) => self.plan(index, begun(index)),
            Err(error) => Err(error.clone()),
        });
        let order = chosen.iter().map(|c| able[c.pass]).collect();
        Route { plans: plans.collect(), order }
    }

    /// Counts all passes before any is laid out; what cannot be flown counts for nothing and says so when it is laid out.
    fn count(&self) -> Result<(), PlanError> {
        let Planner { evaluator, aircraft, outline, .. } = *self;
        let mut whole = Count::NONE;
        for pass in &self.strategy.passes {
            let make = || Ok::<_, Infallible>(pass_count(pass, aircraft, outline, &self.scenario.conditions));
            let bytes = |_: &Result<Count, PlanError>| size_of::<Count>();
            let Ok(count) = evaluator.store.get_or(self.key(STAGE_COUNT, pass).finish(), bytes, make);
            match &*count {
                Ok(count) => whole = whole.and(*count),
                Err(error) if error.is_of_strategy() => return Err(error.clone()),
                Err(_) => {}
            }
        }
        whole.bounded().map(|_| ())
    }

    /// The ways that a pass can be run.
    fn runs(&self, index: usize) -> Result<Vec<Run>, PlanError> {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        if pass.pattern.kind() != PatternKind::Strips {
            return Ok(Run::of(&*self.plan(index, None)?).into_iter().collect());
        }
        let bytes = |runs: &Result<Vec<Run>, PlanError>| {
            runs.as_ref().map_or(0, |runs| runs.iter().map(Run::bytes).sum())
        };
        let make = || Ok::<_, Infallible>(pass_runs(pass, aircraft, outline, &self.scenario.conditions));
        let Ok(runs) = evaluator.store.get_or(self.key(STAGE_RUNS, pass).finish(), bytes, make);
        (*runs).clone()
    }

    fn plan(&self, index: usize, begin: Option<Corner>) -> Laid {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        let bytes = |laid: &Laid| {
            let Ok(plan) = laid else { return size_of::<Laid>() };
            let stops: usize = plan.legs.iter().map(|leg| leg.stops.len() + leg.via_m.len() * 2).sum();
            size_of::<PassPlan>()
                + plan.legs.len() * size_of::<Leg>()
                + stops * size_of::<crate::Stop>()
                + plan.stations.poses.len() * size_of::<crate::Pose>()
        };
        let begin = begin.filter(|_| pass.pattern.kind() == PatternKind::Strips);
        let mut digest = self.key(STAGE_PLAN, pass);
        let key = digest.whole(begin.map_or(0, |corner| corner.code() + 1)).finish();
        let make = || {
            let plan = plan_pass_from(pass, aircraft, outline, &self.scenario.conditions, begin);
            Ok::<_, Infallible>(plan.map(Arc::new))
        };
        let Ok(laid) = evaluator.store.get_or(key, bytes, make);
        (*laid).clone()
    }

    fn key(&self, stage: u8, pass: &Pass) -> Digest {
        let mut digest = Digest::of_stage(stage);
        digest.key(self.airspace).pass(pass, self.aircraft, &self.scenario.conditions);
        digest
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::fly;
    use crate::wind::Wind;
    use crate::{
        Above, Airframe, Camera, Conditions, Depth, Distance, Equipment, FlyingOrder, Gimbal, Gnss, Id,
        NoWatch, Rates, Requirement, Sensor, Shutter, Site, Store, Template, Terrain,
    };
    use glam::DVec2;

    /// One battery lasts for everything.
    fn aircraft() -> Aircraft {
        let gnss = Gnss {
            random_horizontal_m: 0.01,
            random_vertical_m: 0.02,
            constant_horizontal_m: 0.015,
            constant_vertical_m: 0.03,
        };
        Aircraft {
            id: Id(1),
            name: "Siskin".to_owned(),
            camera: Camera {
                width_px: 4000,
                height_px: 3000,
                sensor: Sensor::PixelPitch { um: 2.0 },
                focal_length_mm: 6.0,
                shortest_interval_s: 0.6,
                exposure_s: 0.0005,
                image_mb: 8.0,
                shutter: Shutter::Mechanical,
                metering: None,
            },
            gimbal: Gimbal {
                tilt_min_deg: -10.0,
                tilt_max_deg: 90.0,
                pan_min_deg: 0.0,
                pan_max_deg: 0.0,
                slew_dps: 90.0,
                settle_s: 0.3,
            },
            airframe: Airframe {
                top_speed_mps: 9.0,
                climb_mps: 3.0,
                descent_mps: 2.5,
                acceleration_mps2: 2.0,
                endurance_min: 1400.0,
                reserve: 0.2,
                swap_min: 3.0,
                gnss,
                top_airspeed_mps: None,
                lateral_mps2: None,
                energy: None,
            },
        }
    }

    fn scenario(corners: &[(f64, f64)], take_off: (f64, f64)) -> Scenario {
        let site = Site {
            name: "Meadow".to_owned(),
            origin: None,
            boundary_m: corners.iter().copied().map(DVec2::from).collect(),
            take_off_m: DVec2::from(take_off),
            terrain: Terrain::default(),
            structures: Vec::new(),
            typical_building: None,
            keep_outs: Vec::new(),
            sample_spacing_m: None,
        };
        let height = Distance::Height { m: 80.0, above: Above::MeanGround };
        let mut strategy = Template::FiveDirectionOblique.strategy(Id(10), Id(1), height);
        strategy.passes.truncate(3);
        Scenario {
            name: "Order".to_owned(),
            note: String::new(),
            site: site.into(),
            equipment: Equipment { aircraft: vec![aircraft()] }.into(),
            strategies: vec![strategy],
            reference: None,
            conditions: Conditions { wind: Wind::STILL, ..Conditions::default() },
            requirement: Requirement::default(),
            rates: Rates::default(),
        }
    }

    /// Every order of the indices below a count.
    fn orders(count: usize) -> Vec<Vec<usize>> {
        if count == 0 {
            return vec![Vec::new()];
        }
        let put = |order: Vec<usize>| {
            (0..count).map(move |at| {
                let mut longer = order.clone();
                longer.insert(at, count - 1);
                longer
            })
        };
        orders(count - 1).into_iter().flat_map(put).collect()
    }

    /// Derived: the flight chosen takes no longer than that of any order and any corners, all 384 of them flown; as listed,
    /// no longer than any corners in that order. The tolerance is that of sums of some hundred terms.
    #[test]
    fn no_order_and_no_corners_are_quicker() {
        let sites = [
            (vec![(0.0, 0.0), (420.0, 40.0), (380.0, 260.0), (60.0, 330.0)], (-50.0, 120.0)),
            (vec![(0.0, 0.0), (300.0, 0.0), (260.0, 410.0)], (310.0, 420.0)),
        ];
        for (corners, take_off) in sites {
            let mut scenario = scenario(&corners, take_off);
            let (store, aircraft) = (Store::new(1 << 26), aircraft());
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let outline = SiteOutline::new(&scenario.site).expect("a sound site");
            let flown_s = |order: &[usize], begun: [usize; 3]| {
                let plan = |(pass, corner): (&Pass, usize)| {
                    let begin = Some(Corner::ALL[corner]);
                    let plan = plan_pass_from(pass, &aircraft, &outline, &scenario.conditions, begin);
                    Arc::new(plan.expect("can be laid out"))
                };
                let plans: Vec<_> = scenario.strategies[0].passes.iter().zip(begun).map(plan).collect();
                let flight = fly(&plans, order.to_vec(), &aircraft.airframe, &outline, &scenario.conditions);
                flight.expect("can be flown").terms.flight_time_s()
            };
            let begun = || (0..64).map(|k| [k % 4, k / 4 % 4, k / 16]);
            let least_s = |orders: &[Vec<usize>]| {
                let all = orders.iter().flat_map(|order| begun().map(move |b| (order, b)));
                all.map(|(order, b)| flown_s(order, b)).fold(f64::INFINITY, f64::min)
            };
            let (any_s, listed_s) = (least_s(&orders(3)), least_s(&[vec![0, 1, 2]]));
            let chosen_s = |scenario: &Scenario| {
                let outcome = evaluator.evaluate(scenario, Id(10), Depth::Quick).expect("can be evaluated");
                outcome.flight().expect("can be flown").terms.flight_time_s()
            };
            assert!((chosen_s(&scenario) - any_s).abs() < 1e-9 * any_s, "{} {any_s}", chosen_s(&scenario));
            scenario.strategies[0].order = FlyingOrder::AsListed;
            assert!((chosen_s(&scenario) - listed_s).abs() < 1e-9 * listed_s);
            assert!(any_s <= listed_s);
        }
    }
}
