//! Which way strips are flown quickest in the wind of the day.

use crate::base::Id;
use crate::evaluate::{Evaluator, Stopped};
use crate::result::{Depth, Outcome};
use crate::route::strips_rad;
use crate::scenario::{Pass, Pattern, Scenario, StripDirection, Strips};

/// Strips are tried turned by multiples of this, and along and across the wind.
pub const STEP_DEG: f64 = 15.0;

/// A change that saves less than this share of the time is not worth the other images that it gives: common practice, no
/// source.
pub const WORTH_RATIO: f64 = 0.01;

/// What was found for one strategy.
#[derive(Debug, Clone, PartialEq)]
pub enum WindAdvice {
    /// Turning the strips saves time, or makes them flyable at all.
    Turn(Box<TurnedStrips>),
    /// The strips are best left as they are.
    Stay(WhyStripsStay),
}

/// A strategy with its strips turned.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnedStrips {
    /// How far every strips pass is turned, clockwise: above −180 and up to 180.
    pub turned_deg: f64,
    /// Direction of the strips of the first strips pass afterwards, clockwise from north, below π.
    pub direction_rad: f64,
    /// All passes of the strategy afterwards.
    pub passes: Vec<Pass>,
    /// As it stands: from the first take-off to the last landing; nothing where it cannot be flown.
    pub present_s: Option<f64>,
    /// The same with the strips turned.
    pub turned_s: f64,
    /// Images as it stands; nothing where it cannot be flown.
    pub present_images: Option<u32>,
    /// Images with the strips turned.
    pub turned_images: u32,
}

impl TurnedStrips {
    /// What turning saves; nothing where the strips cannot be flown as they stand.
    ///
    /// # Units
    /// - returns: seconds
    pub fn saved_s(&self) -> Option<f64> {
        Some(self.present_s? - self.turned_s)
    }
}

/// Why strips are left as they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WhyStripsStay {
    /// There is no wind.
    NoWind,
    /// The wind's direction is unknown.
    DirectionUnknown,
    /// The strategy has no strips over an area.
    NoStrips,
    /// The best of the others saves so little.
    NothingToGain {
        /// What it saves; 0 where none is quicker.
        saved_s: f64,
    },
    /// The strategy cannot be flown as it stands, nor with its strips turned.
    NotFlyable,
}

impl Evaluator<'_> {
    /// Tries the strips of a strategy turned by every [`STEP_DEG`], and along and across the wind, all strips passes by
    /// the same angle, and gives the quickest.
    ///
    /// It costs a quick evaluation for each direction tried: too much for a slider's frame.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn wind_advice(&self, scenario: &Scenario, strategy: Id) -> Result<WindAdvice, Stopped> {
        let present = self.evaluate(scenario, strategy, Depth::Quick)?;
        if !scenario.conditions.wind.blows() {
            return Ok(WindAdvice::Stay(WhyStripsStay::NoWind));
        }
        let Some(from_deg) = scenario.conditions.wind.from_deg else {
            return Ok(WindAdvice::Stay(WhyStripsStay::DirectionUnknown));
        };
        let Some(place) = scenario.strategies.iter().position(|known| known.id == strategy) else {
            return Ok(WindAdvice::Stay(WhyStripsStay::NoStrips));
        };
        let passes = &scenario.strategies[place].passes;
        let outline = self.outline(scenario)?;
        let first_rad = |passes: &[Pass]| Some(strips_rad(passes.iter().find_map(direction_of)?, &outline));
        let Some(present_rad) = first_rad(passes) else {
            return Ok(WindAdvice::Stay(WhyStripsStay::NoStrips));
        };
        let mut best: Option<TurnedStrips> = None;
        let mut trial = scenario.clone();
        for (done, turned_deg) in turns_deg(from_deg, present_rad.to_degrees()).into_iter().enumerate() {
            self.watch.step(done as u64, TURNS)?;
            trial.strategies[place].passes = turned(passes, turned_deg);
            let outcome = self.evaluate(&trial, strategy, Depth::Quick)?;
            let (Some(turned_s), Some(load)) = (flying_s(&outcome), &outcome.load) else { continue };
            if best.as_ref().is_none_or(|best| turned_s < best.turned_s) {
                let passes = trial.strategies[place].passes.clone();
                best = Some(TurnedStrips {
                    turned_deg,
                    direction_rad: first_rad(&passes).unwrap_or(present_rad),
                    passes,
                    present_s: flying_s(&present),
                    turned_s,
                    present_images: present.load.as_ref().map(|load| load.image_count),
                    turned_images: load.image_count,
                });
            }
        }
        Ok(judged(best, &present))
    }
}

/// How many turns are tried.
const TURNS: u64 = 13;

/// The turns to try: by a quarter of a turn at most, which tries every direction once. From its other end a pass takes as
/// long: it begins at the corner nearest to the take-off point all the same.
fn turns_deg(from_deg: f64, present_deg: f64) -> Vec<f64> {
    let steps = (-5..=6).filter(|k| *k != 0).map(|k| f64::from(k) * STEP_DEG);
    let wind = [0.0, 90.0].map(|beside| 90.0 - (90.0 - (from_deg + beside - present_deg)).rem_euclid(180.0));
    steps.chain(wind).collect()
}

fn judged(best: Option<TurnedStrips>, present: &Outcome) -> WindAdvice {
    match (best, flying_s(present)) {
        (None, None) => WindAdvice::Stay(WhyStripsStay::NotFlyable),
        (Some(best), None) => WindAdvice::Turn(Box::new(best)),
        (best, Some(present_s)) => {
            let saved_s = best.as_ref().map_or(0.0, |best| (present_s - best.turned_s).max(0.0));
            match best {
                Some(best) if saved_s >= WORTH_RATIO * present_s => WindAdvice::Turn(Box::new(best)),
                _ => WindAdvice::Stay(WhyStripsStay::NothingToGain { saved_s }),
            }
        }
    }
}

/// From the first take-off to the last landing; nothing where it cannot be flown.
pub(crate) fn flying_s(outcome: &Outcome) -> Option<f64> {
    let time = &outcome.timing.as_ref()?.time;
    Some(time.flight_s + time.swaps_s + time.waits_s + time.moves_s)
}

fn direction_of(pass: &Pass) -> Option<StripDirection> {
    if let Pattern::Strips(Strips { direction, .. }) = pass.pattern { Some(direction) } else { None }
}

/// The passes with all their strips turned.
fn turned(passes: &[Pass], by_deg: f64) -> Vec<Pass> {
    let turn = |pass: &Pass| {
        let mut pass = pass.clone();
        if let Pattern::Strips(Strips { direction, .. }) = &mut pass.pattern {
            let (StripDirection::Automatic { turned_deg: deg } | StripDirection::FromNorth { deg }) =
                direction;
            *deg = half_turn(*deg + by_deg);
        }
        pass
    };
    passes.iter().map(turn).collect()
}

/// An angle above −180° and up to 180°, in hundredths.
fn half_turn(deg: f64) -> f64 {
    let deg = (deg * 100.0).round() / 100.0;
    180.0 - (180.0 - deg).rem_euclid(360.0)
}

#[cfg(test)]
mod tests {
    use crate::evaluate::wind_advice::*;

    /// Derived: by hand.
    #[test]
    fn angles_stay_within_half_a_turn() {
        assert_eq!([180.0, -180.0, 190.0, 0.0, 539.0].map(half_turn), [180.0, 180.0, -170.0, 0.0, 179.0]);
    }

    /// Derived: strips along 20° in wind from 250° (or 70°) are turned by 50° to lie along it and back by 40° to lie
    /// across it.
    #[test]
    fn along_and_across_the_wind_are_tried() {
        let turns = turns_deg(250.0, 20.0);
        assert_eq!(turns.len() as u64, TURNS);
        assert_eq!(turns[11..], [50.0, -40.0]);
    }
}
