//! One figure against another.

use super::{asked, axis, tone};
use crate::chart::{Chart, Limit, Mark, Present, Series};
use obliquity_planning::what_if::{Looked, front};
use obliquity_planning::{Better, MeasureId, Scenario, Units, measure};

/// All settings that were looked at, of each strategy by its place: one figure across, another up, and those that no other of
/// the strategy betters in both joined by a line. The marks are in the order of the settings; those of which a figure is not
/// known are left out, and the places of those shown come back.
pub fn front_chart(
    scenario: &Scenario,
    looked: &[(usize, &[Looked])],
    (across, up): (MeasureId, MeasureId),
    units: Units,
) -> (Chart, Vec<(usize, usize)>) {
    let (row_x, row_y) = (measure(across), measure(up));
    let figures = |one: &Looked| Some((one.tried.figure(across)?, one.tried.figure(up)?));
    let shown = |(x, y): (f64, f64)| [units.shown(row_x.unit, x), units.shown(row_y.unit, y)];
    let all: Vec<[f64; 2]> =
        looked.iter().flat_map(|(_, settings)| *settings).filter_map(figures).map(shown).collect();
    let (limit_x, limit_y) = (asked(scenario, across, units), asked(scenario, up, units));
    let xs = all.iter().map(|at| at[0]).chain(limit_x.iter().map(|(at, _)| *at));
    let ys = all.iter().map(|at| at[1]).chain(limit_y.iter().map(|(at, _)| *at));
    let title = format!("{} against {}", row_y.name, row_x.name);
    let mut chart = Chart::new(title, String::new(), axis(row_x, units, xs), axis(row_y, units, ys));
    let mut places = Vec::new();
    let less = |better: Better, value: f64| if better == Better::Less { value } else { -value };
    for (strategy, settings) in looked {
        let (name, tone) = (&scenario.strategies[*strategy].name, tone(scenario, *strategy));
        let known: Vec<(usize, (f64, f64))> =
            settings.iter().enumerate().filter_map(|(k, one)| Some((k, figures(one)?))).collect();
        let costs: Vec<(f64, f64)> =
            known.iter().map(|(_, (x, y))| (less(row_x.better, *x), less(row_y.better, *y))).collect();
        let on: Vec<[f64; 2]> = front(&costs).into_iter().map(|k| shown(known[k].1)).collect();
        chart.series.push(Series { name: format!("{name}: none is better in both"), tone, points: on });
        for (k, figures) in known {
            let told = format!(
                "{name}: {}, {}",
                units.text(row_x.unit, figures.0),
                units.text(row_y.unit, figures.1)
            );
            chart.marks.push(Mark { name: told, tone, at: shown(figures) });
            places.push((*strategy, k));
        }
    }
    chart.spoken = format!("{}: {} settings of {} strategies", chart.title, places.len(), looked.len());
    chart.limits.extend(limit_y.map(|(at, name)| Limit { name, at }));
    chart.present = limit_x.map(|(at, name)| Present { name, at });
    (chart, places)
}
