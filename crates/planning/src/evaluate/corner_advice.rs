//! At which corners passes of strips are begun quickest, and what that does to coverage.

use crate::base::{ByClass, Id};
use crate::evaluate::wind_advice::{WORTH_RATIO, flying_s};
use crate::evaluate::{Evaluator, Stopped};
use crate::result::{Depth, Outcome};
use crate::scenario::{BeginAt, Pass, Pattern, Scenario, Strategy, Strips};

/// What was found for one strategy.
#[derive(Debug, Clone, PartialEq)]
pub enum CornerAdvice {
    /// Beginning at other corners saves time, or makes the strategy flyable at all.
    Begin(Box<OtherCorners>),
    /// The passes are best begun where they are.
    Stay(WhyCornersStay),
}

/// A strategy with passes of strips begun at other corners.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherCorners {
    /// The passes that are begun elsewhere.
    pub begun: Vec<Begun>,
    /// All passes of the strategy afterwards.
    pub passes: Vec<Pass>,
    /// As it stands: from the first take-off to the last landing; nothing where it cannot be flown.
    pub present_s: Option<f64>,
    /// The same with the other corners.
    pub other_s: f64,
    /// Images as it stands; nothing where it cannot be flown.
    pub present_images: Option<u32>,
    /// Images with the other corners.
    pub other_images: u32,
    /// Coverage as it stands and with the other corners; nothing where it was not asked for.
    pub coverage: Option<[ByClass<Option<f64>>; 2]>,
}

/// A pass begun at another corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Begun {
    /// Its place in the list of passes, from 0.
    pub pass: usize,
    /// The corner, as seen from the one nearest to the take-off point.
    pub begin: BeginAt,
    /// The corner, as [`LayoutTerms::corner_rad`](crate::route::LayoutTerms::corner_rad).
    pub corner_rad: f64,
}

impl OtherCorners {
    /// What the other corners save; nothing where the strategy cannot be flown as it stands.
    ///
    /// # Units
    /// - returns: seconds
    pub fn saved_s(&self) -> Option<f64> {
        Some(self.present_s? - self.other_s)
    }
}

/// Why passes are begun where they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WhyCornersStay {
    /// The strategy has no strips over an area.
    NoStrips,
    /// The best of the others saves so little.
    NothingToGain {
        /// What it saves; 0 where none is quicker.
        saved_s: f64,
    },
    /// The strategy cannot be flown as it stands, nor from other corners.
    NotFlyable,
}

impl Evaluator<'_> {
    /// Begins the passes of strips at other corners and gives the quickest: each pass by itself at each of its corners, and
    /// all of them where they are quickest in still air with one battery (exact over all corners and orders). Every one of
    /// these is flown in the conditions of the day.
    ///
    /// It costs a quick evaluation for each, and to [`Depth::Views`] one with coverage of the best: too much for a slider's
    /// frame.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn corner_advice(
        &self,
        scenario: &Scenario,
        strategy: Id,
        depth: Depth,
    ) -> Result<CornerAdvice, Stopped> {
        let present = self.evaluate(scenario, strategy, Depth::Quick)?;
        let Some(place) = scenario.strategies.iter().position(|known| known.id == strategy) else {
            return Ok(CornerAdvice::Stay(WhyCornersStay::NoStrips));
        };
        let stands = &scenario.strategies[place];
        if stands.passes.iter().all(|pass| begin_of(pass).is_none()) {
            return Ok(CornerAdvice::Stay(WhyCornersStay::NoStrips));
        }
        let mut trial = scenario.clone();
        let mut best: Option<FlownTrial> = None;
        let trials = self.trials(scenario, stands)?;
        for (done, passes) in trials.iter().enumerate() {
            self.watch.step(done as u64, trials.len() as u64)?;
            trial.strategies[place].passes.clone_from(passes);
            let outcome = self.evaluate(&trial, strategy, Depth::Quick)?;
            let Some(flying_s) = flying_s(&outcome) else { continue };
            if best.as_ref().is_none_or(|best| flying_s < best.flying_s) {
                best = Some(FlownTrial { passes: passes.clone(), outcome, flying_s });
            }
        }
        let FlownTrial { passes, outcome, flying_s: other_s } = match worth(best, flying_s(&present)) {
            Ok(best) => best,
            Err(reason) => return Ok(CornerAdvice::Stay(reason)),
        };
        trial.strategies[place].passes.clone_from(&passes);
        let coverage = match depth {
            Depth::Quick | Depth::Spread => None,
            Depth::Views | Depth::Preview | Depth::Network => {
                let of = |scenario: &Scenario| self.evaluate(scenario, strategy, depth).map(|o| o.coverage());
                Some([of(scenario)?, of(&trial)?])
            }
        };
        Ok(CornerAdvice::Begin(Box::new(OtherCorners {
            begun: begun(&stands.passes, &passes, &outcome),
            passes,
            present_s: flying_s(&present),
            other_s,
            present_images: present.load.as_ref().map(|load| load.image_count),
            other_images: outcome.load.as_ref().map_or(0, |load| load.image_count),
            coverage,
        })))
    }

    /// The passes of a strategy as they might be begun otherwise.
    fn trials(&self, scenario: &Scenario, stands: &Strategy) -> Result<Vec<Vec<Pass>>, Stopped> {
        let mut trials = Vec::new();
        for (index, present) in stands.passes.iter().enumerate() {
            let others = |at: &&BeginAt| begin_of(present).is_some_and(|begin| begin != **at);
            trials.extend(BeginAt::ALL.iter().filter(others).map(|at| with(&stands.passes, &[(index, *at)])));
        }
        let quickest = with(&stands.passes, &self.quickest_corners(scenario, stands)?);
        if quickest != stands.passes && !trials.contains(&quickest) {
            trials.push(quickest);
        }
        Ok(trials)
    }
}

/// The passes with some of them begun elsewhere.
fn with(passes: &[Pass], begun: &[(usize, BeginAt)]) -> Vec<Pass> {
    let mut passes = passes.to_vec();
    for (index, at) in begun {
        if let Pattern::Strips(Strips { begin, .. }) = &mut passes[*index].pattern {
            *begin = *at;
        }
    }
    passes
}

/// A trial that can be flown.
struct FlownTrial {
    passes: Vec<Pass>,
    outcome: Outcome,
    flying_s: f64,
}

/// The best of the trials where it is worth its while, else why the passes stay as they are.
fn worth(best: Option<FlownTrial>, present_s: Option<f64>) -> Result<FlownTrial, WhyCornersStay> {
    match (best, present_s) {
        (None, None) => Err(WhyCornersStay::NotFlyable),
        (None, Some(_)) => Err(WhyCornersStay::NothingToGain { saved_s: 0.0 }),
        (Some(best), None) => Ok(best),
        (Some(best), Some(present_s)) => {
            let saved_s = (present_s - best.flying_s).max(0.0);
            let enough = saved_s >= WORTH_RATIO * present_s;
            if enough { Ok(best) } else { Err(WhyCornersStay::NothingToGain { saved_s }) }
        }
    }
}

fn begun(present: &[Pass], passes: &[Pass], outcome: &Outcome) -> Vec<Begun> {
    let one = |index: usize| {
        let begin = begin_of(&passes[index]).filter(|begin| begin_of(&present[index]) != Some(*begin))?;
        let corner_rad = outcome.passes[index].laid()?.layout.corner_rad?;
        Some(Begun { pass: index, begin, corner_rad })
    };
    (0..passes.len()).filter_map(one).collect()
}

fn begin_of(pass: &Pass) -> Option<BeginAt> {
    if let Pattern::Strips(Strips { begin, .. }) = pass.pattern { Some(begin) } else { None }
}
