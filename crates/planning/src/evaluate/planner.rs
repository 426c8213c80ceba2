//! From a strategy's passes to their plans and the order in which they are flown.

use super::Evaluator;
use crate::base::digest::{Digest, Key, Stage};
use crate::base::side_by_side::side_by_side;
use crate::ground::SiteOutline;
use crate::route::{
    Count, Leg, PassPlan, PlanError, Run, pass_count, pass_count_at_most, pass_runs, plan_pass, quickest,
};
use crate::scenario::{Aircraft, BeginAt, PatternKind, Scenario, Strategy};
use glam::DVec3;
use std::convert::Infallible;
use std::sync::Arc;

/// A plan, or why there is none.
type Laid = Result<Arc<PassPlan>, PlanError>;

/// The plan of each pass, and the order in which they are flown: of those that can be laid out.
pub(super) struct Route {
    pub(super) plans: Vec<Laid>,
    pub(super) order: Vec<usize>,
    /// What stages that rest on the route are kept by.
    pub(super) key: Key,
}

impl Route {
    /// The plans, where every pass has one.
    pub(super) fn laid(&self) -> Option<Vec<Arc<PassPlan>>> {
        self.plans.iter().map(|plan| plan.clone().ok()).collect()
    }

    /// Why passes are not laid out: each with its number, and once what is about the strategy as a whole.
    pub(super) fn reasons(&self) -> Vec<String> {
        let several = self.plans.len() > 1;
        let mut found: Vec<String> = Vec::new();
        for (k, plan) in self.plans.iter().enumerate() {
            let Err(error) = plan else { continue };
            let of_pass = several && !error.is_of_strategy();
            let reason = if of_pass { format!("pass {}: {error}", k + 1) } else { error.to_string() };
            if !found.contains(&reason) {
                found.push(reason);
            }
        }
        found
    }
}

/// Lays out the passes of one strategy.
pub(super) struct Planner<'a> {
    evaluator: &'a Evaluator<'a>,
    /// What the plan of each pass is kept by.
    keys: Vec<Key>,
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
        let airspace = Digest::of_stage(Stage::Outline).airspace(&scenario.site).finish();
        let mut shared = Digest::of_stage(Stage::Plan);
        shared.key(airspace).flown_with(aircraft, &scenario.conditions);
        let keys = strategy.passes.iter().map(|pass| shared.clone().pass(pass).finish()).collect();
        Planner { evaluator, keys, scenario, strategy, aircraft, outline }
    }

    /// Lays out every pass by itself; nothing of a strategy that comes to more than one may have.
    pub(super) fn route(&self) -> Route {
        let Planner { strategy, aircraft, .. } = *self;
        let count = strategy.passes.len();
        if let Err(error) = self.count() {
            return Route { plans: vec![Err(error); count], order: Vec::new(), key: self.route_key(&[]) };
        }
        let plans = self.plans();
        let run = |laid: &Laid| laid.as_ref().ok().and_then(|plan| Run::of(plan));
        let runs: Vec<(usize, Run)> =
            plans.iter().enumerate().filter_map(|(index, laid)| Some((index, run(laid)?))).collect();
        let each: Vec<Vec<Run>> = runs.iter().map(|(_, run)| vec![run.clone()]).collect();
        let chosen = quickest(&each, self.home_m(), &aircraft.airframe, strategy.order);
        let order: Vec<usize> = chosen.iter().map(|c| runs[c.pass].0).collect();
        Route { plans, key: self.route_key(&order), order }
    }

    /// The plan of each pass: those that are not known are laid out side by side.
    fn plans(&self) -> Vec<Laid> {
        let mut plans: Vec<Option<Laid>> = self
            .keys
            .iter()
            .map(|key| self.evaluator.store.find(*key).map(|laid: Arc<Laid>| (*laid).clone()))
            .collect();
        let mut unknown: Vec<usize> = (0..plans.len()).filter(|index| plans[*index].is_none()).collect();
        // over an area there is more to lay out than before a wall
        let kind = |index: &usize| self.strategy.passes[*index].pattern.kind();
        unknown.sort_by_key(|index| kind(index) != PatternKind::Strips);
        let laid = side_by_side(unknown.len(), |k| self.plan(unknown[k]));
        for (index, laid) in unknown.into_iter().zip(laid) {
            plans[index] = Some(laid);
        }
        plans.into_iter().flatten().collect()
    }

    /// The passes with their order.
    fn route_key(&self, order: &[usize]) -> Key {
        let mut digest = Digest::of_stage(Stage::Route);
        digest.whole(self.keys.len() as u64);
        for key in &self.keys {
            digest.key(*key);
        }
        digest.whole(order.len() as u64);
        order.iter().fold(&mut digest, |digest, index| digest.whole(*index as u64)).finish()
    }

    /// The corners at which the passes of strips would have to be begun to be flown quickest, each with its index: over all
    /// orders and corners, as [`quickest`] reckons. Nothing where they cannot be laid out.
    pub(super) fn quickest_corners(&self) -> Vec<(usize, BeginAt)> {
        let Planner { strategy, aircraft, .. } = *self;
        if self.count().is_err() {
            return Vec::new();
        }
        let runs = (0..strategy.passes.len()).map(|index| (index, self.runs(index).unwrap_or_default()));
        let runs: Vec<(usize, Vec<Run>)> = runs.filter(|(_, runs)| !runs.is_empty()).collect();
        let each: Vec<Vec<Run>> = runs.iter().map(|(_, runs)| runs.clone()).collect();
        let chosen = quickest(&each, self.home_m(), &aircraft.airframe, strategy.order);
        let strips = |index: &usize| strategy.passes[*index].pattern.kind() == PatternKind::Strips;
        let begun = chosen.iter().map(|c| (runs[c.pass].0, c.begin));
        begun.filter(|(index, _)| strips(index)).collect()
    }

    fn home_m(&self) -> DVec3 {
        self.outline.take_off_m.extend(self.outline.take_off_z_m)
    }

    /// Counts all passes before any is laid out; what cannot be flown counts for nothing and says so when it is laid out.
    fn count(&self) -> Result<(), PlanError> {
        let Planner { evaluator, aircraft, outline, .. } = *self;
        if self.surely_bounded() {
            return Ok(());
        }
        let mut whole = Count::NONE;
        for (index, pass) in self.strategy.passes.iter().enumerate() {
            let make = || Ok::<_, Infallible>(pass_count(pass, aircraft, outline, &self.scenario.conditions));
            let bytes = |_: &Result<Count, PlanError>| size_of::<Count>();
            let Ok(count) = evaluator.store.get_or(self.key(Stage::Count, index), bytes, make);
            match &*count {
                Ok(count) => whole = whole.and(*count),
                Err(error) if error.is_of_strategy() => return Err(error.clone()),
                Err(_) => {}
            }
        }
        whole.bounded().map(|_| ())
    }

    /// Whether bounds on what its passes come to say that the strategy has no more than one may have.
    fn surely_bounded(&self) -> bool {
        let Planner { aircraft, outline, .. } = *self;
        let at_most = |pass| pass_count_at_most(pass, aircraft, outline, &self.scenario.conditions);
        let each = self.strategy.passes.iter().map(at_most);
        let whole = each.reduce(|whole, count| Some(whole?.and(count?))).flatten();
        whole.is_some_and(|whole| whole.bounded().is_ok())
    }

    /// The ways that a pass can be run.
    fn runs(&self, index: usize) -> Result<Vec<Run>, PlanError> {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        if pass.pattern.kind() != PatternKind::Strips {
            return Ok(Run::of(&*self.plan(index)?).into_iter().collect());
        }
        let bytes = |runs: &Result<Vec<Run>, PlanError>| {
            runs.as_ref().map_or(0, |runs| runs.iter().map(Run::bytes).sum())
        };
        let make = || Ok::<_, Infallible>(pass_runs(pass, aircraft, outline, &self.scenario.conditions));
        let Ok(runs) = evaluator.store.get_or(self.key(Stage::Runs, index), bytes, make);
        (*runs).clone()
    }

    fn plan(&self, index: usize) -> Laid {
        let Planner { evaluator, strategy, aircraft, outline, .. } = *self;
        let pass = &strategy.passes[index];
        let bytes = |laid: &Laid| {
            let Ok(plan) = laid else { return size_of::<Laid>() };
            let stops: usize = plan.legs.iter().map(|leg| leg.stops.len() + leg.via_m.len() * 2).sum();
            size_of::<PassPlan>()
                + plan.legs.len() * size_of::<Leg>()
                + stops * size_of::<crate::route::Stop>()
                + plan.stations.poses.len() * size_of::<crate::geometry::Pose>()
        };
        let make = || {
            let plan = plan_pass(pass, aircraft, outline, &self.scenario.conditions);
            Ok::<_, Infallible>(plan.map(Arc::new))
        };
        let Ok(laid) = evaluator.store.get_or(self.keys[index], bytes, make);
        (*laid).clone()
    }

    /// What something else that rests on what a plan does is kept by.
    fn key(&self, stage: Stage, index: usize) -> Key {
        Digest::of_stage(stage).key(self.keys[index]).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{Id, NoWatch, Store};
    use crate::flight::fly;
    use crate::result::Depth;
    use crate::route::generated::site;
    use crate::route::{Airspace, LegKind, highest_above_ground_m};
    use crate::scenario::wind::Wind;
    use crate::scenario::{
        Above, Aim, Airframe, Attitude, Camera, Conditions, Distance, Equipment, Facade, FlyingOrder, Gimbal,
        Gnss, Job, Pass, Pattern, Rates, Requirement, Sensor, Shutter, Site, Strips, Template, Terrain,
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
                distortion: crate::geometry::Brown::NONE,
                calibration: crate::scenario::CameraCalibration::Uncalibrated,
                image_noise_px: 0.5,
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
                gnss: Some(gnss),
                top_airspeed_mps: None,
                lateral_mps2: None,
                energy: None,
                corrections: None,
            },
            on_site: crate::scenario::OnSite::default(),
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
            control_points: Vec::new(),
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
            job: Job::default(),
            underlay: None,
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

    /// The passes begun at corners.
    fn begun(scenario: &Scenario, corners: &[BeginAt]) -> Scenario {
        let mut scenario = scenario.clone();
        for (pass, corner) in scenario.strategies[0].passes.iter_mut().zip(corners) {
            if let Pattern::Strips(Strips { begin, .. }) = &mut pass.pattern {
                *begin = *corner;
            }
        }
        scenario
    }

    /// Corners of a boundary and its take-off point.
    type Drawn = (Vec<(f64, f64)>, (f64, f64));

    fn sites() -> [Drawn; 2] {
        [
            (vec![(0.0, 0.0), (420.0, 40.0), (380.0, 260.0), (60.0, 330.0)], (-50.0, 120.0)),
            (vec![(0.0, 0.0), (300.0, 0.0), (260.0, 410.0)], (310.0, 420.0)),
        ]
    }

    /// Derived: a pass comes to no more than its bound, on plain outlines and on a comb whose strips have many gaps, whatever
    /// overlap, height and attitudes; the bound is no more than some times as large, or it would decide little.
    #[test]
    fn no_pass_comes_to_more_than_its_bound() {
        let tooth = |k: u32| {
            let x = f64::from(k) * 50.0;
            [(x, 0.0), (x + 26.0, 0.0), (x + 26.0, 300.0), (x + 50.0, 300.0)]
        };
        let comb = (0..8).flat_map(tooth).chain([(426.0, 330.0), (0.0, 330.0)]).collect::<Vec<_>>();
        let outlines = sites().map(|(corners, _)| corners).into_iter().chain([comb]);
        let mut seen = 0;
        for corners in outlines {
            for (k, template) in
                [Template::NadirBlock, Template::FiveDirectionOblique, Template::CycledGimbal]
                    .into_iter()
                    .cycle()
                    .take(30)
                    .enumerate()
            {
                let mut scenario = scenario(&corners, (-10.0, -10.0));
                let part = |of: usize| (k * of % 31) as f64 / 31.0;
                let height = Distance::Height { m: 6.0 + 90.0 * part(7), above: Above::MeanGround };
                scenario.strategies = vec![template.strategy(Id(10), Id(1), height)];
                let outline = SiteOutline::new(&scenario.site).expect("a sound site");
                for pass in &mut scenario.strategies[0].passes {
                    (pass.forward_overlap, pass.sidelap) = (0.1 + 0.8 * part(11), 0.1 + 0.8 * part(13));
                    let mut aircraft = aircraft();
                    (aircraft.gimbal.pan_min_deg, aircraft.gimbal.pan_max_deg) = (-180.0, 180.0);
                    let conditions = &scenario.conditions;
                    let Ok(count) = pass_count(pass, &aircraft, &outline, conditions) else { continue };
                    let most =
                        pass_count_at_most(pass, &aircraft, &outline, conditions).expect("no keep-outs");
                    let told = format!("{k}: {count:?} {most:?}");
                    assert!(count.exposures <= most.exposures && count.strips <= most.strips, "{told}");
                    assert!(most.exposures <= 12.0 * count.exposures, "{told}");
                    seen += 1;
                }
            }
        }
        assert!(seen > 150, "{seen}");
    }

    /// Rows before all walls of a structure.
    fn rows_before(structure: Id, height: Distance) -> Pass {
        let mut pass = Template::NadirBlock.strategy(Id(10), Id(1), height).passes.remove(0);
        let facade = Facade { structure, others: Vec::new(), walls: None, clearance_m: 3.0, lowest_m: 4.0 };
        pass.pattern = Pattern::Facade(facade);
        pass.attitudes = vec![Attitude { tilt_deg: 90.0, aim: Aim::AtSubject { deg: 0.0 } }];
        pass
    }

    /// Derived: what another core has looked ahead for changes nothing: a long route is flown the same, to the last bit, from
    /// outside of the pool, where one does, and inside, where none does.
    #[test]
    fn looking_ahead_changes_no_flight() {
        let (mut flown, mut sorties) = (0, 0);
        for seed in 0..6 {
            let (outline, conditions) = (site(seed, 6.0, 0), Conditions::default());
            let mut aircraft = aircraft();
            aircraft.airframe.endurance_min = 14.0;
            let height = Distance::Gsd { cm: 0.25, above: Above::Ground };
            let structures = outline.structures.iter().filter_map(|structure| structure.id);
            let planned = structures.map(|structure| {
                plan_pass(&rows_before(structure, height), &aircraft, &outline, &conditions)
            });
            let plans: Vec<Arc<PassPlan>> = planned.flatten().map(Arc::new).collect();
            let legs: usize = plans.iter().map(|plan| plan.legs.len()).sum();
            assert!(legs > 300, "{legs}");
            let scenario = scenario(&[(0.0, 0.0), (320.0, 0.0), (320.0, 320.0)], (5.0, 5.0));
            let store = Store::new(0);
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let fly = || {
                let homes = evaluator.homes(&scenario, &scenario.strategies[0], &outline);
                fly(&plans, (0..plans.len()).collect(), &aircraft.airframe, &outline, &conditions, &homes)
            };
            let (ahead, alone) = (fly(), rayon::scope(|_| fly()));
            assert_eq!(ahead, alone, "{seed}");
            let Ok(flight) = ahead else { continue };
            (flown, sorties) = (flown + 1, sorties + flight.sorties.len());
        }
        assert!(flown > 3 && sorties > 3 * flown, "{flown} {sorties}");
    }

    /// Derived: the heights above the ground that are known of rows and links from laying them are those of all exposures looked
    /// up and of all legs walked; rows run level past nothing nearer than their clearance, with every exposure where its stop
    /// says.
    #[test]
    fn rows_are_as_high_as_when_looked_up() {
        let (mut strips, mut links) = (0, 0);
        for seed in 0..12 {
            let outline = site(seed, f64::from(seed % 4) * 4.0, seed as usize % 3 / 2);
            let (terrain, conditions) = (&outline.terrain, Conditions::default());
            let height = Distance::Gsd { cm: 0.3 + 0.05 * f64::from(seed), above: Above::Ground };
            for structure in outline.structures.iter().filter_map(|structure| structure.id) {
                let Ok(plan) = plan_pass(&rows_before(structure, height), &aircraft(), &outline, &conditions)
                else {
                    continue;
                };
                let (airspace, ground) = (Airspace { site: &outline, clearance_m: 0.0 }, plan.ground);
                let ground = ground.expect("it has exposures");
                let above = |at: DVec3| at.z - terrain.height_m(at.truncate());
                let shots_m = || plan.stations.poses.iter().map(|pose| above(pose.position_m));
                assert_eq!(ground.least_m, shots_m().fold(f64::INFINITY, f64::min));
                assert_eq!(ground.greatest_m, shots_m().fold(f64::NEG_INFINITY, f64::max));
                let rows = || plan.legs.iter().filter(|leg| leg.kind == LegKind::Strip);
                let corners = |leg: &Leg| leg.corners_m().collect::<Vec<_>>();
                let rows_m = rows().map(|leg| airspace.least_above_ground_m(&corners(leg)));
                // rounding
                assert!((ground.lowest_m - rows_m.fold(f64::INFINITY, f64::min)).abs() < 1e-9, "{seed}");
                let highest_m = highest_above_ground_m(plan.legs.iter(), terrain, f64::NEG_INFINITY);
                assert!(
                    (ground.highest_m - highest_m).abs() < 1e-9,
                    "{seed} {} {highest_m}",
                    ground.highest_m
                );
                for leg in rows() {
                    assert_eq!(leg.from_m.z, leg.to_m.z);
                    assert_eq!(airspace.too_near(&corners(leg), 0.99 * 3.0), None, "{seed}");
                    for stop in &leg.stops {
                        let pose = plan.stations.poses[stop.station as usize];
                        assert!(pose.position_m.distance(leg.at_m(stop.along_m)) < 1e-5, "{seed}");
                    }
                }
                (strips, links) = (strips + rows().count(), links + plan.legs.len() - rows().count());
            }
        }
        assert!(strips > 500 && links > strips / 2, "{strips} {links}");
    }

    /// Derived: the heights of exposures that are known from laying strips that follow the ground are those looked up.
    #[test]
    fn strips_are_as_high_as_when_looked_up() {
        let mut laid = 0;
        for seed in 0..6 {
            let (outline, conditions) = (site(seed, 2.0 * f64::from(seed), 0), Conditions::default());
            let mut aircraft = aircraft();
            (aircraft.gimbal.pan_min_deg, aircraft.gimbal.pan_max_deg) = (-180.0, 180.0);
            let height = Distance::Height { m: 60.0, above: Above::Ground };
            for template in [Template::FiveDirectionOblique, Template::CycledGimbal] {
                for pass in template.strategy(Id(10), Id(1), height).passes {
                    let Ok(plan) = plan_pass(&pass, &aircraft, &outline, &conditions) else { continue };
                    let above = |at: DVec3| at.z - outline.terrain.height_m(at.truncate());
                    let shots_m = || plan.stations.poses.iter().map(|pose| above(pose.position_m));
                    let ground = plan.ground.expect("it has exposures");
                    assert_eq!(ground.least_m, shots_m().fold(f64::INFINITY, f64::min));
                    assert_eq!(ground.greatest_m, shots_m().fold(f64::NEG_INFINITY, f64::max));
                    laid += 1;
                }
            }
        }
        assert!(laid > 20, "{laid}");
    }

    /// Derived: rows before walls come to no more than their bound, whose lowest is lifted by no ground.
    #[test]
    fn no_facade_comes_to_more_than_its_bound() {
        let (mut fewer, mut as_many) = (0, 0);
        for seed in 0..12 {
            let outline = site(seed, f64::from(seed % 4) * 5.0, 0);
            let height = Distance::Gsd { cm: 0.3 + 0.05 * f64::from(seed), above: Above::Ground };
            for structure in outline.structures.iter().filter_map(|structure| structure.id) {
                let pass = rows_before(structure, height);
                let count_by = |count: fn(&Pass, &Aircraft, &SiteOutline, &Conditions) -> Option<Count>| {
                    count(&pass, &aircraft(), &outline, &Conditions::default()).expect("it can be counted")
                };
                let count = count_by(|pass, aircraft, outline, conditions| {
                    pass_count(pass, aircraft, outline, conditions).ok()
                });
                let most = count_by(pass_count_at_most);
                let told = format!("{seed}: {count:?} {most:?}");
                assert!(count.exposures <= most.exposures && count.strips <= most.strips, "{told}");
                let is_fewer = count.strips < most.strips;
                (fewer, as_many) = (fewer + u32::from(is_fewer), as_many + u32::from(!is_fewer));
            }
        }
        assert!(fewer > 20 && as_many > 20, "{fewer} {as_many}");
    }

    /// Derived: the order chosen takes no longer than any order with the same corners, and the corners found are those of
    /// the quickest of all 384 combinations of orders and corners, all flown; as listed, of all 64 corners. The tolerance is
    /// that of sums of some hundred terms and of times that are equal.
    #[test]
    fn no_order_and_no_corners_are_quicker() {
        for (corners, take_off) in sites() {
            let mut scenario = scenario(&corners, take_off);
            let (store, aircraft) = (Store::new(1 << 26), aircraft());
            let evaluator = Evaluator { store: &store, watch: &NoWatch };
            let outline = SiteOutline::new(&scenario.site).expect("a sound site");
            let planner = |scenario: &Scenario| {
                Planner::new(&evaluator, scenario, &scenario.strategies[0], &aircraft, &outline)
                    .quickest_corners()
            };
            let flown_s = |order: &[usize], corners: [BeginAt; 3]| {
                let scenario = begun(&scenario, &corners);
                let plan = |pass: &Pass| {
                    let plan = plan_pass(pass, &aircraft, &outline, &scenario.conditions);
                    Arc::new(plan.expect("can be laid out"))
                };
                let plans: Vec<_> = scenario.strategies[0].passes.iter().map(plan).collect();
                let homes = evaluator.homes(&scenario, &scenario.strategies[0], &outline);
                let (airframe, conditions) = (&aircraft.airframe, &scenario.conditions);
                let flight = fly(&plans, order.to_vec(), airframe, &outline, conditions, &homes);
                flight.expect("can be flown").terms.flight_time_s()
            };
            let least_s = |orders: &[Vec<usize>], corners: &[[BeginAt; 3]]| {
                let all = orders.iter().flat_map(|order| corners.iter().map(move |begun| (order, *begun)));
                all.map(|(order, begun)| flown_s(order, begun)).fold(f64::INFINITY, f64::min)
            };
            let all_corners: Vec<[BeginAt; 3]> = (0..64)
                .map(|k| [k % 4, k / 4 % 4, k / 16].map(|corner: usize| BeginAt::ALL[corner]))
                .collect();
            let any_s = least_s(&orders(3), &all_corners);
            let listed_s = least_s(&[vec![0, 1, 2]], &all_corners);
            let nearest_s = least_s(&orders(3), &[[BeginAt::NearestCorner; 3]]);
            let chosen_s = |scenario: &Scenario| {
                let outcome = evaluator.evaluate(scenario, Id(10), Depth::Quick).expect("can be evaluated");
                outcome.flight().expect("can be flown").terms.flight_time_s()
            };
            let at_best_s = |scenario: &Scenario| {
                let mut found = planner(scenario);
                found.sort_by_key(|(index, _)| *index);
                let corners: Vec<BeginAt> = found.iter().map(|(_, corner)| *corner).collect();
                chosen_s(&begun(scenario, &corners))
            };
            let close = |a: f64, b: f64| (a - b).abs() < 2e-6 * b;
            assert!(close(chosen_s(&scenario), nearest_s), "{} {nearest_s}", chosen_s(&scenario));
            assert!(close(at_best_s(&scenario), any_s), "{} {any_s}", at_best_s(&scenario));
            scenario.strategies[0].order = FlyingOrder::AsListed;
            assert!(close(at_best_s(&scenario), listed_s));
            assert!(any_s <= listed_s && any_s <= nearest_s);
        }
    }

    /// Derived: every pass begins at the corner of its strips that is nearest to the take-off point, or at the one asked for
    /// as seen from there, and says which.
    #[test]
    fn a_pass_begins_where_it_says() {
        for (corners, take_off) in sites() {
            let scenario = scenario(&corners, take_off);
            let (aircraft, outline) = (aircraft(), SiteOutline::new(&scenario.site).expect("a sound site"));
            let home = DVec2::from(take_off);
            let start = |pass: &Pass| {
                let plan = plan_pass(pass, &aircraft, &outline, &scenario.conditions).expect("laid out");
                (plan.legs[0].from_m.truncate(), plan.layout)
            };
            for number in 0..3 {
                let at = BeginAt::ALL.map(|corner| {
                    let passes = begun(&scenario, &[corner; 3]).strategies[0].passes.clone();
                    start(&passes[number])
                });
                let distance = |k: usize| at[k].0.distance(home);
                assert!((1..4).all(|k| distance(0) <= distance(k)));
                let along = |k: usize| {
                    let azimuth = at[k].1.direction_rad.expect("strips run one way");
                    DVec2::new(azimuth.sin(), azimuth.cos()).dot(at[k].0)
                };
                let across = |k: usize| {
                    let azimuth = at[k].1.direction_rad.expect("strips run one way");
                    DVec2::new(azimuth.cos(), -azimuth.sin()).dot(at[k].0)
                };
                assert!((across(0) - across(1)).abs() < 1e-9 && (across(2) - across(3)).abs() < 1e-9);
                let corner_rad = |k: usize| at[k].1.corner_rad.expect("strips have corners");
                for (k, begun) in at.iter().enumerate() {
                    let seen = corner_rad(k) - begun.1.direction_rad.expect("strips run one way");
                    let ends = |k: usize, other: usize| (along(k) - along(other)).signum();
                    assert_eq!(seen.cos().signum(), ends(k, k ^ 1), "{number} {k}");
                    assert_eq!(seen.sin().signum(), (across(k) - across(k ^ 2)).signum(), "{number} {k}");
                }
            }
        }
    }
}
