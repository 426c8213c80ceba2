//! Each input alone, a step up and a step down: what matters, and what does not.

use super::quiet::Quiet;
use super::tried::Tried;
use crate::base::Id;
use crate::evaluate::stages::Extent;
use crate::evaluate::{Evaluator, Stopped};
use crate::result::{Depth, MeasureId};
use crate::scenario::knob::{Dial, KnobId};
use crate::scenario::{Scenario, Spread};

/// Whose an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NudgeSide {
    /// What is chosen: the settings of the strategy.
    Chosen,
    /// What happens to one: wind, air, batteries, crew.
    Befalls,
}

/// One input, nudged.
#[derive(Debug, Clone, PartialEq)]
pub struct Nudged {
    /// Whose it is.
    pub side: NudgeSide,
    /// The input.
    pub dial: Dial,
    /// Its value now.
    pub present: f64,
    /// A step lower, and what then comes of the strategy; nothing where it cannot be lower.
    pub lower: Option<(f64, Tried)>,
    /// A step higher.
    pub higher: Option<(f64, Tried)>,
}

impl Nudged {
    /// The largest change of a figure from what it is now, up or down; nothing where the figure is known in neither.
    ///
    /// # Units
    /// - `now`, returns: the measure's own
    pub fn reach(&self, of: MeasureId, now: f64) -> Option<f64> {
        let figures =
            [&self.lower, &self.higher].into_iter().flatten().filter_map(|(_, tried)| tried.figure(of));
        figures.map(|figure| (figure - now).abs()).max_by(f64::total_cmp)
    }
}

/// By how much an input is nudged.
#[derive(Debug, Clone, Copy)]
enum By {
    /// So much in its own unit.
    Steps(f64),
    /// A share of what it is.
    Share(f64),
}

/// What is chosen, and a step of it that one would try: common practice, no source.
const CHOSEN: [(KnobId, By); 9] = [
    (KnobId::GSD, By::Steps(0.1)),
    (KnobId::HEIGHT, By::Steps(5.0)),
    (KnobId::STAND_OFF, By::Steps(1.0)),
    (KnobId::FORWARD_OVERLAP, By::Steps(0.05)),
    (KnobId::SIDELAP, By::Steps(0.05)),
    (KnobId::TILT, By::Steps(5.0)),
    (KnobId::SPEED, By::Steps(1.0)),
    (KnobId::MARGIN, By::Steps(5.0)),
    (KnobId("equipment.aircraft[].airframe.reserve"), By::Steps(0.05)),
];

/// Kelvin by which a day is colder or warmer than thought: common practice, no source.
const TEMPERATURE_K: f64 = 10.0;

/// What happens to one, and how far it may come out otherwise: by the scenario's own standard deviations where it has one.
fn befalling(spread: &Spread) -> [(KnobId, By); 8] {
    [
        (KnobId("conditions.wind.speed_mps"), By::Steps(spread.wind_mps)),
        (KnobId("conditions.temperature_c"), By::Steps(TEMPERATURE_K)),
        (KnobId("equipment.aircraft[].airframe.endurance_min"), By::Share(spread.battery_ratio)),
        (KnobId("equipment.aircraft[].airframe.top_speed_mps"), By::Share(spread.speed_ratio)),
        (KnobId("equipment.aircraft[].airframe.swap_min"), By::Share(spread.swap_ratio)),
        (KnobId("conditions.set_up_min"), By::Share(spread.crew_ratio)),
        (KnobId("conditions.per_control_point_min"), By::Share(spread.crew_ratio)),
        (KnobId("conditions.pack_up_min"), By::Share(spread.crew_ratio)),
    ]
}

/// Why an input is not nudged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NudgeGap {
    /// It has one value here and another there.
    Differs,
    /// It has no value of its own: it follows from others.
    Automatic,
}

/// Inputs of a strategy that [`Evaluator::nudges`] leaves out though they have a say, and why: there is no one value to step
/// from.
pub fn nudge_gaps(scenario: &Scenario, strategy: Id) -> Vec<(Dial, NudgeGap)> {
    let gap = |dial: Dial| {
        let values: Vec<_> = dial.places().iter().map(|at| dial.knob().get(scenario, *at)).collect();
        let why = if values.iter().all(Option::is_none) { NudgeGap::Automatic } else { NudgeGap::Differs };
        dial.value(scenario).is_none().then_some((dial, why))
    };
    rows(scenario).filter_map(|(_, id, _)| nudged_dial(scenario, strategy, id)).filter_map(gap).collect()
}

/// Everything that is nudged, the settings first.
fn rows(scenario: &Scenario) -> impl Iterator<Item = (NudgeSide, KnobId, By)> {
    let chosen = CHOSEN.into_iter().map(|(id, by)| (NudgeSide::Chosen, id, by));
    let befalls = befalling(&scenario.conditions.spread).into_iter();
    chosen.chain(befalls.map(|(id, by)| (NudgeSide::Befalls, id, by)))
}

/// An input where it has a say in what is predicted of a strategy.
fn nudged_dial(scenario: &Scenario, strategy: Id, id: KnobId) -> Option<Dial> {
    let own = Dial::of_strategy(scenario, id, strategy);
    own.or_else(|| Dial::everywhere(scenario, id)).filter(|dial| dial.moves(scenario, strategy))
}

impl Evaluator<'_> {
    /// Every input of a strategy alone, a step lower and a step higher, all else the same.
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`].
    pub fn nudges(&self, scenario: &Scenario, strategy: Id, depth: Depth) -> Result<Vec<Nudged>, Stopped> {
        let rows: Vec<_> = rows(scenario).collect();
        let mut found = Vec::new();
        for (done, (side, id, by)) in rows.iter().enumerate() {
            let watch = Quiet { watch: self.watch, done: done as u64, total: rows.len() as u64 };
            let evaluator = Evaluator { store: self.store, watch: &watch };
            if let Some(dial) = nudged_dial(scenario, strategy, *id) {
                found.extend(evaluator.nudged(scenario, strategy, (*side, dial, *by), depth)?);
            }
        }
        Ok(found)
    }

    /// One input, where it stands at one value.
    fn nudged(
        &self,
        scenario: &Scenario,
        strategy: Id,
        (side, dial, by): (NudgeSide, Dial, By),
        depth: Depth,
    ) -> Result<Option<Nudged>, Stopped> {
        let Some(present) = dial.value(scenario) else { return Ok(None) };
        let (least, most) = dial.bounds(scenario);
        let step = match by {
            By::Steps(step) => step,
            By::Share(share) => share * present.abs(),
        };
        let at = |value: f64| {
            // Of a sum of decimals, what would be typed.
            let value = ((value * 1e6).round() / 1e6).clamp(least, most);
            if value == present {
                return Ok(None);
            }
            let mut turned = scenario.clone();
            let refused = |error: crate::scenario::EditError| Stopped::Refused(error.into());
            dial.set(&mut turned, value).map_err(refused)?;
            if !turned.faults().is_empty() {
                return Ok(None);
            }
            Ok::<_, Stopped>(Some((value, self.try_out(&turned, strategy, depth, Extent::Figures)?)))
        };
        let (lower, higher) = (at(present - step)?, at(present + step)?);
        Ok(Some(Nudged { side, dial, present, lower, higher }))
    }
}
