use crate::base::Id;
use crate::result::{Depth, Judgement, MEASURES, MeasureId, Outcome};
use crate::route::SpeedBound;
use std::cmp::Ordering;

/// What came of one strategy at one setting, without what it rests on: small enough to keep thousands.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// The strategy.
    pub strategy: Id,
    /// How much was worked out.
    pub depth: Depth,
    /// In the order of [`MEASURES`].
    figures: Vec<Option<f64>>,
    /// The requirement, line by line.
    pub judgements: Vec<Judgement>,
    /// Whether it is known to meet the requirement, as [`Outcome::meets`].
    pub meets: Option<bool>,
    /// Why it cannot be flown; empty when it can.
    pub reasons: Vec<String>,
    /// Limits that changed what was asked for, each once.
    pub caps: Vec<Cap>,
    /// Strips, rings and rows flown: where they change, time and images come in stairs.
    pub strips: u32,
}

/// A limit that holds where it is asked for more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cap {
    /// The height ceiling cuts the height or stand-off.
    HeightCeiling,
    /// Motion blur bounds the speed.
    Blur,
    /// The camera's shot interval bounds the speed.
    ShotInterval,
    /// The gimbal's cycle through its attitudes bounds the speed.
    GimbalCycle,
}

impl Cap {
    /// All of them, in the order in which they are told.
    pub const ALL: [Cap; 4] = [Cap::HeightCeiling, Cap::Blur, Cap::ShotInterval, Cap::GimbalCycle];

    /// Name in sentences and files.
    pub fn name(self) -> &'static str {
        match self {
            Cap::HeightCeiling => "height ceiling",
            Cap::Blur => "motion blur",
            Cap::ShotInterval => "shot interval",
            Cap::GimbalCycle => "gimbal cycle",
        }
    }

    /// What it limits, as the beginning of a sentence: "speed" is capped by motion blur.
    pub fn caps(self) -> &'static str {
        match self {
            Cap::HeightCeiling => "height",
            Cap::Blur | Cap::ShotInterval | Cap::GimbalCycle => "speed",
        }
    }

    fn of_speed(bound: SpeedBound) -> Option<Cap> {
        match bound {
            SpeedBound::Blur => Some(Cap::Blur),
            SpeedBound::ShotInterval => Some(Cap::ShotInterval),
            SpeedBound::GimbalCycle => Some(Cap::GimbalCycle),
            SpeedBound::User | SpeedBound::Airframe | SpeedBound::Curve | SpeedBound::Pattern => None,
        }
    }
}

/// Which comes nearer to the requirement, by what [`Tried::lacks`] says of two: the fewer lines missed, then the less they lack.
pub(super) fn by_lack(a: (usize, f64), b: (usize, f64)) -> Ordering {
    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
}

impl Tried {
    /// Keeps what an outcome comes to.
    pub fn of(outcome: &Outcome) -> Self {
        let ceiling = outcome.plans().any(|plan| plan.layout.capped).then_some(Cap::HeightCeiling);
        let speeds = outcome.plans().filter_map(|plan| Cap::of_speed(plan.speed.bound_by));
        let mut caps: Vec<Cap> = ceiling.into_iter().chain(speeds).collect();
        caps.sort_unstable();
        caps.dedup();
        Tried {
            strategy: outcome.strategy,
            depth: outcome.depth,
            figures: MEASURES.iter().map(|row| row.read(outcome)).collect(),
            judgements: outcome.judgements.clone(),
            meets: outcome.meets(),
            reasons: outcome.reasons.clone(),
            caps,
            strips: outcome.plans().map(|plan| plan.layout.strips).sum(),
        }
    }

    /// A figure; nothing where it is not known, or where the strategy cannot be flown.
    ///
    /// # Units
    /// - returns: the measure's own, [`crate::result::Measure::unit`] as it is stored
    pub fn figure(&self, id: MeasureId) -> Option<f64> {
        let place = MEASURES.iter().position(|row| row.id == id)?;
        self.figures.get(place).copied().flatten()
    }

    /// Whether it can be flown.
    pub fn is_flown(&self) -> bool {
        self.reasons.is_empty()
    }

    /// How many lines of the requirement are missed, and the sum of how far each is from what was required, as a share of it.
    ///
    /// # Units
    /// - returns: a count, and a sum of shares
    ///
    /// # References
    /// Derived: shares of what each line asks, so that centimetres and minutes can be added.
    pub fn lacks(&self) -> (usize, f64) {
        let missed = self.judgements.iter().filter(|line| matches!(line, Judgement::Missed { .. }));
        (missed.clone().count(), missed.map(Judgement::lack).sum())
    }
}
