//! From a strategy's passes to their plans and the order in which they are flown.

use super::{EvaluateError, Evaluator};
use crate::digest::{Digest, Key};
use crate::route::{Corner, Run, pass_runs, plan_pass_from, quickest};
use crate::{Aircraft, Leg, Pass, PassPlan, PatternKind, PlanError, Scenario, SiteOutline, Strategy};
use std::sync::Arc;

const STAGE_AIRSPACE: u8 = 6;
const STAGE_PLAN: u8 = 2;
const STAGE_RUNS: u8 = 8;

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

    /// The plan of each pass, and the order in which they are flown.
    pub(super) fn route(&self) -> Result<(Vec<Arc<PassPlan>>, Vec<usize>), EvaluateError> {
        let Planner { strategy, aircraft, outline, .. } = *self;
        let mut runs = Vec::with_capacity(strategy.passes.len());
        for index in 0..strategy.passes.len() {
            runs.push(self.runs(index)?);
        }
        let home_m = outline.take_off_m.extend(outline.take_off_z_m);
        let able: Vec<usize> = (0..runs.len()).filter(|&index| !runs[index].is_empty()).collect();
        let of_able: Vec<Vec<Run>> = able.iter().map(|&index| runs[index].to_vec()).collect();
        let chosen = quickest(&of_able, home_m, &aircraft.airframe, strategy.order);
        let begun = |index: usize| chosen.iter().find(|c| able[c.pass] == index).and_then(|c| c.begin);
        let plans: Result<Vec<_>, _> = (0..runs.len()).map(|index| self.plan(index, begun(index))).collect();
        Ok((plans?, chosen.iter().map(|c| able[c.pass]).collect()))
    }

    /// The ways that a pass can be run; none where it cannot be flown.
    fn runs(&self, index: usize) -> Result<Arc<Vec<Run>>, EvaluateError> {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        if pass.pattern.kind() != PatternKind::Strips {
            return Ok(Arc::new(Run::of(&*self.plan(index, None)?).into_iter().collect()));
        }
        let bytes = |runs: &Vec<Run>| runs.iter().map(Run::bytes).sum();
        let make = || pass_runs(pass, aircraft, outline, &self.scenario.conditions);
        evaluator
            .store
            .get_or(self.key(STAGE_RUNS, pass).finish(), bytes, make)
            .map_err(|e| self.told(index, e))
    }

    fn plan(&self, index: usize, begin: Option<Corner>) -> Result<Arc<PassPlan>, EvaluateError> {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        let bytes = |plan: &PassPlan| {
            let stops: usize = plan.legs.iter().map(|leg| leg.stops.len() + leg.via_m.len() * 2).sum();
            size_of::<PassPlan>()
                + plan.legs.len() * size_of::<Leg>()
                + stops * size_of::<crate::Stop>()
                + plan.stations.poses.len() * size_of::<crate::Pose>()
        };
        let begin = begin.filter(|_| pass.pattern.kind() == PatternKind::Strips);
        let mut digest = self.key(STAGE_PLAN, pass);
        let key = digest.whole(begin.map_or(0, |corner| corner.code() + 1)).finish();
        let make = || plan_pass_from(pass, aircraft, outline, &self.scenario.conditions, begin);
        evaluator.store.get_or(key, bytes, make).map_err(|e| self.told(index, e))
    }

    fn key(&self, stage: u8, pass: &Pass) -> Digest {
        let mut digest = Digest::of_stage(stage);
        digest.key(self.airspace).pass(pass, self.aircraft, &self.scenario.conditions);
        digest
    }

    fn told(&self, index: usize, source: PlanError) -> EvaluateError {
        EvaluateError::Plan { strategy: self.strategy.name.clone(), number: index + 1, source }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flight::fly;
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
            conditions: Conditions::default(),
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
                let flight =
                    fly(&plans, order.to_vec(), &aircraft.airframe, &outline, &scenario.conditions).0;
                flight.terms.flight_time_s()
            };
            let begun = || (0..64).map(|k| [k % 4, k / 4 % 4, k / 16]);
            let least_s = |orders: &[Vec<usize>]| {
                let all = orders.iter().flat_map(|order| begun().map(move |b| (order, b)));
                all.map(|(order, b)| flown_s(order, b)).fold(f64::INFINITY, f64::min)
            };
            let (any_s, listed_s) = (least_s(&orders(3)), least_s(&[vec![0, 1, 2]]));
            let chosen_s = |scenario: &Scenario| {
                let outcome = evaluator.evaluate(scenario, Id(10), Depth::Quick).expect("can be evaluated");
                outcome.flight.terms.flight_time_s()
            };
            assert!((chosen_s(&scenario) - any_s).abs() < 1e-9 * any_s, "{} {any_s}", chosen_s(&scenario));
            scenario.strategies[0].order = FlyingOrder::AsListed;
            assert!((chosen_s(&scenario) - listed_s).abs() < 1e-9 * listed_s);
            assert!(any_s <= listed_s);
        }
    }
}
