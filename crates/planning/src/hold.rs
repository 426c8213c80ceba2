use crate::check::limits;
use crate::{Above, Depth, Distance, EvaluateError, Evaluator, Id, Scenario, Stopped, Strategy};

/// What a fair comparison holds equal; the program sets the free input of each strategy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Nominal GSD; heights follow from the cameras.
    Gsd,
    /// Height; GSDs follow from the cameras.
    Height,
    /// Time on site; heights are searched for.
    TimeOnSite,
}

/// A scenario in which something is held equal.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The scenario, its passes' distances set.
    pub scenario: Scenario,
    /// Strategies that cannot reach the lead's time on site between the lowest and the highest height allowed: they
    /// stand at the nearest they can come.
    pub out_of_reach: Vec<Id>,
}

/// Times on site this close are equal: strips and battery changes come in whole numbers.
const SAME_TIME_S: f64 = 90.0;

/// Halvings of the height range; the last one is below a centimetre.
const HALVINGS: u32 = 16;

impl Evaluator<'_> {
    /// Sets the distances of all strategies so that each equals the lead in what is held.
    ///
    /// GSD and height are taken from the lead's first pass. For equal time on site the lead keeps its passes as they are
    /// and the others' heights are halved in on, all passes of a strategy at one height.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn hold_equal(&self, scenario: &Scenario, lead: Id, hold: Hold) -> Result<Held, Stopped> {
        let outcome = self.evaluate(scenario, lead, Depth::Quick)?;
        let layout = &outcome.passes.first().ok_or(EvaluateError::NoSuchStrategy(lead))?.plan.layout;
        let mut held = Held { scenario: scenario.clone(), out_of_reach: Vec::new() };
        match hold {
            Hold::Gsd => {
                let cm = layout.vertical_gsd_m * 100.0;
                held.scenario.strategies.iter_mut().for_each(|strategy| set_gsd(strategy, cm));
            }
            Hold::Height => {
                let m = layout.height_m;
                set_all(&mut held.scenario, Distance::Height { m, above: layout.above });
            }
            Hold::TimeOnSite => {
                let target_s = outcome.time.time_on_site_s();
                let others = scenario.strategies.iter().map(|s| s.id).filter(|id| *id != lead);
                for id in others.collect::<Vec<_>>() {
                    self.match_time(&mut held, id, target_s)?;
                }
            }
        }
        Ok(held)
    }

    /// Sets one strategy to the height at which its time on site comes nearest to the target.
    fn match_time(&self, held: &mut Held, id: Id, target_s: f64) -> Result<(), Stopped> {
        let (mut low, mut high) = (limits::HEIGHT_M.least, held.scenario.conditions.height_ceiling_m);
        let mut best = (f64::INFINITY, high);
        let mut tries = vec![high];
        for _ in 0..HALVINGS {
            let height_m = tries.pop().unwrap_or(f64::midpoint(low, high));
            // A height at which the exposures are beyond counting is too low.
            let surplus_s = match self.time_at(&mut held.scenario, id, height_m) {
                Ok(time_s) => time_s - target_s,
                Err(Stopped::Refused(EvaluateError::Plan { .. })) => f64::INFINITY,
                Err(stopped) => return Err(stopped),
            };
            if surplus_s.abs() < best.0 {
                best = (surplus_s.abs(), height_m);
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

    fn time_at(&self, scenario: &mut Scenario, id: Id, height_m: f64) -> Result<f64, Stopped> {
        let distance = Distance::Height { m: height_m, above: Above::MeanGround };
        scenario.strategies.iter_mut().filter(|s| s.id == id).for_each(|s| set(s, distance));
        Ok(self.evaluate(scenario, id, Depth::Quick)?.time.time_on_site_s())
    }
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
