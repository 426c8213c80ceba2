use crate::base::{Id, limits};
use crate::evaluate::what_if::ToSpare;
use crate::evaluate::{EvaluateError, Evaluator, Stopped};
use crate::result::{Depth, MeasureId};
use crate::route::height_m;
use crate::scenario::{Above, Distance, Pass, Scenario, Strategy};

/// What a fair comparison holds equal; the program sets the free input of each strategy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Nominal GSD; heights follow from the cameras.
    Gsd,
    /// Height; GSDs follow from the cameras.
    Height,
    /// Time on site; heights are searched for.
    TimeOnSite,
    /// The requirement: each at its own setting of least time on site that meets it.
    Requirement,
}

impl Hold {
    /// Whether it takes so long that someone waits: settings are searched for.
    pub fn is_searched(self) -> bool {
        matches!(self, Hold::TimeOnSite | Hold::Requirement)
    }
}

/// A scenario in which something is held equal.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldEqual {
    /// The scenario, its passes set.
    pub scenario: Scenario,
    /// Strategies that cannot reach the lead's time on site between the lowest and the highest height allowed: they
    /// stand at the nearest they can come. The lead itself where it cannot be flown and has no time: then all stand as
    /// they were. Where the requirement is held, strategies that no setting brings to meet it with the usual margin.
    pub out_of_reach: Vec<Id>,
}

/// Times on site this close are equal: strips and battery changes come in whole numbers.
const SAME_TIME_S: f64 = 90.0;

/// Halvings of the height range; the last one is below a centimetre.
const HALVINGS: u32 = 16;

/// Times on site as close as this need no halving more.
const CLOSE_S: f64 = 1.0;

impl Evaluator<'_> {
    /// Sets all strategies so that each equals the lead in what is held.
    ///
    /// GSD and height are taken from the lead's first pass that flies over its subject. For equal time on site the lead keeps
    /// its passes as they are and the others' heights are halved in on, all passes of a strategy at one height. Where the
    /// requirement is held nobody leads: each is set as [`Evaluator::each_at_best`] finds.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn hold_equal(&self, scenario: &Scenario, lead: Id, hold: Hold) -> Result<HeldEqual, Stopped> {
        let led = scenario.strategy(lead).ok_or(EvaluateError::NoSuchStrategy(lead))?;
        let first = led.passes.iter().find(|pass| pass.pattern.kind().flies_over());
        let mut held = HeldEqual { scenario: scenario.clone(), out_of_reach: Vec::new() };
        match hold {
            Hold::Gsd => {
                if let Some(cm) = first.or(led.passes.first()).and_then(|p| nominal_gsd_cm(scenario, led, p))
                {
                    held.scenario.strategies.iter_mut().for_each(|strategy| set_gsd(strategy, cm));
                }
            }
            Hold::Height => {
                if let Some(m) = first.and_then(|pass| kept_m(scenario, led, pass)) {
                    let above = first.map_or(Above::MeanGround, |pass| pass.distance.above());
                    set_all(&mut held.scenario, Distance::Height { m, above });
                }
            }
            Hold::TimeOnSite => {
                let others = scenario.strategies.iter().map(|s| s.id).filter(|id| *id != lead);
                match self.evaluate(scenario, lead, Depth::Quick)?.timing {
                    Some(timing) => {
                        let target_s = timing.time.time_on_site_s();
                        let count = scenario.strategies.len() as u64;
                        for (done, id) in (0..).zip(others) {
                            self.match_time(&mut held, id, target_s, (done, count))?;
                        }
                    }
                    None => held.out_of_reach.push(lead),
                }
            }
            Hold::Requirement => {
                let best =
                    self.each_at_best(scenario, MeasureId::TimeOnSite, ToSpare::default(), &|_, _| {})?;
                held = HeldEqual { out_of_reach: best.out_of_reach(), scenario: best.scenario };
            }
        }
        Ok(held)
    }

    /// Sets one strategy to the height at which its time on site comes nearest to the target.
    fn match_time(
        &self,
        held: &mut HeldEqual,
        id: Id,
        target_s: f64,
        (done, count): (u64, u64),
    ) -> Result<(), Stopped> {
        let (mut low, mut high) = (limits::HEIGHT_M.least, held.scenario.conditions.height_ceiling_m);
        let mut best = (f64::INFINITY, high);
        let mut tries = vec![high];
        for halving in 0..u64::from(HALVINGS) {
            self.watch.step(done * u64::from(HALVINGS) + halving, count * u64::from(HALVINGS))?;
            let height_m = tries.pop().unwrap_or(f64::midpoint(low, high));
            // A height at which it cannot be flown is too low: there are too many exposures, or roofs in the way.
            let time_s = self.time_at(&mut held.scenario, id, height_m)?;
            let surplus_s = time_s.map_or(f64::INFINITY, |time_s| time_s - target_s);
            if surplus_s.abs() < best.0 {
                best = (surplus_s.abs(), height_m);
            }
            if best.0 <= CLOSE_S {
                break;
            }
            if surplus_s > 0.0 {
                low = height_m;
            } else {
                high = height_m;
            }
        }
        self.time_at(&mut held.scenario, id, best.1)?;
        if best.0 > SAME_TIME_S {
            held.out_of_reach.push(id);
        }
        Ok(())
    }

    fn time_at(&self, scenario: &mut Scenario, id: Id, height_m: f64) -> Result<Option<f64>, Stopped> {
        let distance = Distance::Height { m: height_m, above: Above::MeanGround };
        scenario.strategies.iter_mut().filter(|s| s.id == id).for_each(|s| set(s, distance));
        let timing = self.evaluate(scenario, id, Depth::Quick)?.timing;
        Ok(timing.map(|timing| timing.time.time_on_site_s()))
    }
}

/// Height or stand-off that a pass asks for, cut by the ceiling.
fn kept_m(scenario: &Scenario, strategy: &Strategy, pass: &Pass) -> Option<f64> {
    let camera = scenario.equipment.aircraft(strategy.aircraft)?.camera.model();
    Some(height_m(pass.distance, &camera, scenario.conditions.height_ceiling_m).0)
}

/// GSD of a camera that faces its surface from there.
fn nominal_gsd_cm(scenario: &Scenario, strategy: &Strategy, pass: &Pass) -> Option<f64> {
    let camera = scenario.equipment.aircraft(strategy.aircraft)?.camera.model();
    Some(camera.vertical_gsd_m(kept_m(scenario, strategy, pass)?) * 100.0)
}

fn set_all(scenario: &mut Scenario, distance: Distance) {
    scenario.strategies.iter_mut().for_each(|strategy| set(strategy, distance));
}

/// Sets the distance of the passes that fly above their subject; the others keep their stand-off.
fn set(strategy: &mut Strategy, distance: Distance) {
    let over = strategy.passes.iter_mut().filter(|pass| pass.pattern.kind().flies_over());
    over.for_each(|pass| pass.distance = distance);
}

/// Sets the GSD of every pass: heights and stand-offs follow.
fn set_gsd(strategy: &mut Strategy, cm: f64) {
    for pass in &mut strategy.passes {
        pass.distance = Distance::Gsd { cm, above: pass.distance.above() };
    }
}
