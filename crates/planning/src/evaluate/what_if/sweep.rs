//! One input over a range, for all strategies.

use super::fewer_samples::fewer_samples;
use super::quiet::Quiet;
use super::tried::{Tried, by_lack};
use crate::base::Unit;
use crate::evaluate::stages::Extent;
use crate::evaluate::{Evaluator, Stopped};
use crate::result::Depth;
use crate::scenario::knob::Dial;
use crate::scenario::{EditError, Fault, Knob, Scenario};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// What came of all strategies at one value.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepPoint {
    /// The value.
    pub value: f64,
    /// In the scenario's order; what is wrong with the scenario at this value, where it cannot be evaluated.
    pub tried: Result<Vec<Tried>, Fault>,
    /// How close the samples stand that coverage rests on.
    pub samples: SampleDensity,
}

/// How close samples stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SampleDensity {
    /// As the scenario says.
    AsSet,
    /// Farther apart, for a first look: coverage is about right, and nothing is judged by it.
    Fewer,
}

impl Evaluator<'_> {
    /// All strategies with an input at one value, all else the same: exactly what evaluating such a scenario gives.
    ///
    /// # Units
    /// - `value`: the knob's own, [`crate::scenario::Knob::unit`] as it is stored
    ///
    /// # Errors
    /// As [`Evaluator::evaluate`]; and where the value is out of the input's range.
    pub fn sweep_point(
        &self,
        scenario: &Scenario,
        dial: &Dial,
        value: f64,
        depth: Depth,
    ) -> Result<SweepPoint, Stopped> {
        self.point(scenario, (dial, value), depth, Extent::Figures)
    }

    fn point(
        &self,
        scenario: &Scenario,
        (dial, value): (&Dial, f64),
        depth: Depth,
        extent: Extent,
    ) -> Result<SweepPoint, Stopped> {
        let samples = SampleDensity::AsSet;
        let mut turned = scenario.clone();
        dial.set(&mut turned, value).map_err(|error| Stopped::Refused(error.into()))?;
        if let Some(fault) = turned.faults().into_iter().next() {
            return Ok(SweepPoint { value, tried: Err(fault), samples });
        }
        let strategies = turned.strategies.par_iter();
        let tried = strategies.map(|strategy| self.try_out(&turned, strategy.id, depth, extent));
        Ok(SweepPoint { value, tried: Ok(tried.collect::<Result<_, Stopped>>()?), samples })
    }

    /// All strategies with an input at each of some values, side by side.
    ///
    /// # Units
    /// - `values`: as of [`Evaluator::sweep_point`]
    ///
    /// # Errors
    /// As [`Evaluator::sweep_point`].
    pub fn sweep(
        &self,
        scenario: &Scenario,
        dial: &Dial,
        values: &[f64],
        depth: Depth,
    ) -> Result<Vec<SweepPoint>, Stopped> {
        self.points(values, |evaluator, value| evaluator.sweep_point(scenario, dial, value, depth))
    }

    /// A first look at what [`Evaluator::sweep`] gives with coverage: where a site has many samples with fewer of them, and
    /// nothing judged by it.
    ///
    /// # Units
    /// - `values`: as of [`Evaluator::sweep_point`]
    ///
    /// # Errors
    /// As [`Evaluator::sweep_point`].
    pub fn first_look(
        &self,
        scenario: &Scenario,
        dial: &Dial,
        values: &[f64],
    ) -> Result<Vec<SweepPoint>, Stopped> {
        let Some(sparse) = fewer_samples(self, scenario)? else {
            return self.sweep(scenario, dial, values, Depth::Views);
        };
        self.points(values, |evaluator, value| {
            let mut point = evaluator.point(&sparse, (dial, value), Depth::Views, Extent::Judgements)?;
            point.samples = SampleDensity::Fewer;
            point.tried.iter_mut().flatten().for_each(|tried| tried.meets = None);
            Ok(point)
        })
    }

    fn points(
        &self,
        values: &[f64],
        point: impl Fn(&Evaluator<'_>, f64) -> Result<SweepPoint, Stopped> + Sync,
    ) -> Result<Vec<SweepPoint>, Stopped> {
        let (begun, total) = (AtomicU64::new(0), values.len() as u64);
        let point = |value: &f64| {
            let watch = Quiet { watch: self.watch, done: begun.fetch_add(1, Ordering::Relaxed), total };
            watch.watch.step(watch.done, total)?;
            point(&Evaluator { store: self.store, watch: &watch }, *value)
        };
        values.par_iter().map(point).collect()
    }
}

/// Values from one to another, both included, evenly spread and rounded to a billionth of the step.
///
/// # Units
/// - `from`, `to`, returns: the knob's own, [`crate::scenario::Knob::unit`] as it is stored
///
/// # Errors
/// [`EditError::OutOfRange`] where an end is out of the input's range.
pub fn sweep_values(
    scenario: &Scenario,
    dial: &Dial,
    (from, to): (f64, f64),
    steps: u32,
) -> Result<Vec<f64>, EditError> {
    let (row, (least, most)) = (dial.knob(), dial.bounds(scenario));
    if let Some(got) = [from, to].into_iter().find(|end| !(least..=most).contains(end)) {
        return Err(EditError::OutOfRange { what: row.range.what, least, most, got, mend: row.range.mend });
    }
    let step = (to - from) / f64::from(steps.max(2) - 1);
    let unit = 10_f64.powf((step.abs().max(f64::MIN_POSITIVE)).log10().floor() - 9.0);
    let rounded = |value: f64| {
        if unit < 1.0 { (value * (1.0 / unit).round()).round() / (1.0 / unit).round() } else { value }
    };
    let values =
        (0..steps.max(2)).map(|k| rounded(from + f64::from(k) * step).clamp(from.min(to), from.max(to)));
    let mut values: Vec<f64> = values.collect();
    values.dedup();
    Ok(values)
}

/// From where to where an input is looked at unless it is said: overlaps and tilts as they are flown, and half to twice of
/// anything else.
///
/// # Units
/// - returns: the knob's own, [`crate::scenario::Knob::unit`] as it is stored
///
/// # References
/// Common practice, no source.
pub fn usual_range(scenario: &Scenario, dial: &Dial) -> (f64, f64) {
    let (row, (least, most)) = (dial.knob(), dial.bounds(scenario));
    let values = dial.places().iter().filter_map(|at| row.get(scenario, *at));
    let ends = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), ends);
    let (low, high) = if low > high { (least, least) } else { (low, high) };
    let step = row.key_step();
    let (from, to) = match row.unit {
        Unit::Share => (low.min(0.2), high.max(0.9)),
        Unit::Degrees => (low.min(0.0), high.max(60.0)),
        _ => ((0.5 * low / step).round() * step, (2.0 * high / step).round() * step),
    };
    let (from, to) = (from.clamp(least, most), to.clamp(least, most));
    if from < to { (from, to) } else { (from, (from + 10.0 * step).min(most)) }
}

/// A range widened by half of itself at each end, as far as the input goes.
///
/// # Units
/// - `ends`, returns: the knob's own, [`crate::scenario::Knob::unit`] as it is stored
pub fn wider_range(scenario: &Scenario, dial: &Dial, (from, to): (f64, f64)) -> (f64, f64) {
    let ((least, most), step) = (dial.bounds(scenario), dial.knob().key_step());
    let more = ((0.5 * (to - from) / step).ceil() * step).max(step);
    ((from - more).max(least), (to + more).min(most))
}

/// A row of values and those at which strategies stand now, where they lie within the row.
///
/// # Units
/// - `values`, ascending, returns: the knob's own, [`crate::scenario::Knob::unit`] as it is stored
pub fn with_present(scenario: &Scenario, dial: &Dial, mut values: Vec<f64>) -> Vec<f64> {
    let Some((first, last)) = values.first().copied().zip(values.last().copied()) else { return values };
    let of = |id| dial.on(scenario, id)?.value(scenario);
    let present = scenario.strategies.iter().filter_map(|strategy| of(strategy.id));
    values.extend(present.filter(|value| (first..=last).contains(value)));
    values.sort_by(f64::total_cmp);
    values.dedup();
    values
}

/// Values that would tell more exactly where the requirement begins or ceases to be met: as they are keyed in, midway
/// between neighbours of which a strategy is known to meet it at one and not at the other; none where no such value lies
/// between.
///
/// # Units
/// - returns: the knob's own, as the points' values
///
/// # References
/// Derived: halving, between two points at a time.
pub fn nearer_edges(points: &[SweepPoint], row: &Knob) -> Vec<f64> {
    let meets = |point: &SweepPoint| -> Vec<Option<bool>> {
        point.tried.iter().flatten().map(|tried| tried.meets).collect()
    };
    let is_edge = |pair: &&[SweepPoint]| {
        let (before, after) = (meets(&pair[0]), meets(&pair[1]));
        before.iter().zip(&after).any(|(a, b)| a.is_some() && b.is_some() && a != b)
    };
    let midway = |pair: &[SweepPoint]| {
        let middle = row.keyed((f64::midpoint(pair[0].value, pair[1].value) / row.keyed(1.0)).round());
        (pair[0].value < middle && middle < pair[1].value).then_some(middle)
    };
    points.windows(2).filter(is_edge).filter_map(midway).collect()
}

/// Where a strategy, by its place in the scenario, comes nearest to the requirement: the fewest lines missed, then the least
/// sum of shares that they lack; nothing while that is not known at every value where it can be flown.
///
/// # Units
/// - returns: as the points' values, and what came of the strategy there
pub fn nearest_miss(points: &[SweepPoint], place: usize) -> Option<(f64, &Tried)> {
    let tried = points.iter().filter_map(|point| Some((point.value, point.tried.as_ref().ok()?.get(place)?)));
    let flown: Vec<(f64, &Tried)> = tried.filter(|(_, tried)| tried.is_flown()).collect();
    if flown.iter().any(|(_, tried)| tried.meets.is_none()) {
        return None;
    }
    flown.into_iter().min_by(|(_, a), (_, b)| by_lack(a.lacks(), b.lacks()))
}

/// In which order to work out points that come in a row, so that the first few already span it: the ends, the middle, then
/// the middles of what is between.
pub fn coarse_first(count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = [0, count.saturating_sub(1)].into_iter().take(count).collect();
    let mut step = count.next_power_of_two();
    while step > 1 {
        step /= 2;
        order.extend((step..count).step_by(step));
    }
    let mut seen = vec![false; count];
    order.retain(|place| !std::mem::replace(&mut seen[*place], true));
    order
}

/// From which value to which a strategy, by its place in the scenario, is known to meet the requirement: the first and the
/// last value of every unbroken row of points that do.
///
/// # Units
/// - returns: as the points' values
pub fn meeting_ranges(points: &[SweepPoint], place: usize) -> Vec<(f64, f64)> {
    let meets = |point: &SweepPoint| {
        let tried = point.tried.as_ref().ok().and_then(|tried| tried.get(place));
        tried.is_some_and(|tried| tried.meets == Some(true))
    };
    let runs = points.chunk_by(|a, b| meets(a) == meets(b)).filter(|run| meets(&run[0]));
    runs.map(|run| (run[0].value, run[run.len() - 1].value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: every place once, the ends first, and after n of them no gap is wider than needed.
    #[test]
    fn what_comes_first_spans_the_row() {
        assert_eq!(coarse_first(9), [0, 8, 4, 2, 6, 1, 3, 5, 7]);
        for count in 0..40 {
            let mut order = coarse_first(count);
            order.sort_unstable();
            assert!(order.into_iter().eq(0..count), "{count}");
        }
    }
}
