//! One figure against another.

use super::{asked, axis};
use crate::Slots;
use crate::chart::{Chart, Cloud, CloudDot, Limit, NumberMark, Present, Series, Tone};
use obliquity_planning::what_if::{Looked, front};
use obliquity_planning::{Better, Id, Measure, MeasureId, Scenario, Units, measure};

/// The settings of a strategy that were looked at.
#[derive(Debug, Clone, Copy)]
pub struct TradeOf<'a> {
    /// The strategy.
    pub strategy: Id,
    /// All of them.
    pub looked: &'a [Looked],
    /// Which of them was found; nothing while that is not known.
    pub found: Option<usize>,
}

/// The diagram, and which setting each place on it is.
#[derive(Debug, Clone, PartialEq)]
pub struct FrontChart {
    /// What is drawn.
    pub chart: Chart,
    /// Every setting shown, in the order of the strategies and of their settings.
    pub points: Vec<FrontPoint>,
    /// Places in `points` of those that no other betters in both, from left to right.
    pub front: Vec<usize>,
}

/// A setting as a place on the diagram.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrontPoint {
    /// Which of the strategies handed in.
    pub of: usize,
    /// Which of its settings.
    pub setting: usize,
    /// Across and up, in the units of the axes.
    pub at: [f64; 2],
}

/// All settings that were looked at: one figure across, another up, filled where the requirement is met, and the Pareto front
/// of all strategies joined by a line. Settings of which a figure is not known are left out.
pub fn front_chart(
    scenario: &Scenario,
    trades: &[TradeOf<'_>],
    (across, up): (MeasureId, MeasureId),
    units: Units,
) -> FrontChart {
    let rows = (measure(across), measure(up));
    let figures = |one: &Looked| Some((one.tried.figure(across)?, one.tried.figure(up)?));
    let shown = |(x, y): (f64, f64)| [units.shown(rows.0.unit, x), units.shown(rows.1.unit, y)];
    let (mut points, mut costs) = (Vec::new(), Vec::new());
    for (of, trade) in trades.iter().enumerate() {
        for (setting, looked) in trade.looked.iter().enumerate() {
            let Some((x, y)) = figures(looked) else { continue };
            points.push(FrontPoint { of, setting, at: shown((x, y)) });
            costs.push((cost(rows.0, x), cost(rows.1, y)));
        }
    }
    let front = front(&costs);
    let (limit_x, limit_y) = (asked(scenario, across, units), asked(scenario, up, units));
    let xs = points.iter().map(|point| point.at[0]).chain(limit_x.iter().map(|(at, _)| *at));
    let ys = points.iter().map(|point| point.at[1]).chain(limit_y.iter().map(|(at, _)| *at));
    let title = format!("{} against {}", rows.1.name, obliquity_planning::wording::within(rows.0.name));
    let spoken = format!(
        "{title}: {} settings of {} strategies, {} of them on the Pareto front",
        points.len(),
        trades.len(),
        front.len()
    );
    let mut chart = Chart::new(title, spoken, axis(rows.0, units, xs), axis(rows.1, units, ys));
    let joined = front.iter().map(|k| points[*k].at).collect();
    chart.series.push(Series { name: "Pareto front".to_owned(), tone: Tone::Ink, points: joined });
    let slots = Slots::of(scenario);
    for (of, trade) in trades.iter().enumerate() {
        let name = scenario.strategy(trade.strategy).map_or("", |strategy| &strategy.name);
        let slot = slots.slot(trade.strategy);
        let own = || points.iter().filter(|point| point.of == of);
        for (dot, meets, word) in
            [(CloudDot::Hollow, false, "does not meet"), (CloudDot::Full, true, "meets")]
        {
            let is_so =
                |point: &&FrontPoint| (trade.looked[point.setting].tried.meets == Some(true)) == meets;
            let points: Vec<[f64; 2]> = own().filter(is_so).map(|point| point.at).collect();
            chart.clouds.push(Cloud { name: format!("{name}: {word}"), slot, dot, points });
        }
        let found = own().find(|point| Some(point.setting) == trade.found);
        chart.numbers.extend(found.map(|point| NumberMark {
            name: format!("{name}: found"),
            slot,
            at: point.at,
        }));
    }
    chart.limits.extend(limit_y.map(|(at, name)| Limit { name, at }));
    chart.present = limit_x.map(|(at, name)| Present { name, at });
    FrontChart { chart, points, front }
}

/// A figure so that less is better.
fn cost(row: &Measure, value: f64) -> f64 {
    if row.better == Better::Less { value } else { -value }
}
