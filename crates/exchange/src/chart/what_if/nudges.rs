//! What matters: every input alone, a step up and a step down.

use super::axis;
use crate::chart::{Axis, Bar, Chart, Present, Tone};
use obliquity_planning::what_if::{NudgeSide, Nudged};
use obliquity_planning::{Measure, MeasureId, Units, measure};

/// Two diagrams of one figure: what is chosen, and what happens to one. Bars from what it is now to what it comes to, those
/// that reach farthest on top, on one scale.
///
/// # Units
/// - `now`: the measure's own
pub fn nudge_charts(nudged: &[Nudged], of: MeasureId, now: f64, units: Units) -> [Chart; 2] {
    let row = measure(of);
    let figures = nudged.iter().flat_map(|one| [&one.lower, &one.higher]).flatten();
    let shown: Vec<f64> = figures
        .filter_map(|(_, tried)| tried.figure(of))
        .chain([now])
        .map(|figure| units.shown(row.unit, figure))
        .collect();
    [(NudgeSide::Chosen, "What I choose"), (NudgeSide::Befalls, "What happens to me")].map(|(side, title)| {
        let across = Axis { from: 0.0, ..axis(row, units, shown.iter().copied()) };
        let across = Axis { from: least(&shown, across.to), ..across };
        one_side(nudged.iter().filter(|one| one.side == side).collect(), title, (row, now), across, units)
    })
}

/// Bars are compared with each other, not with nothing.
fn least(shown: &[f64], most: f64) -> f64 {
    let least = shown.iter().copied().fold(most, f64::min);
    least - 0.06 * (most - least)
}

fn one_side(
    mut nudged: Vec<&Nudged>,
    title: &str,
    (row, now): (&Measure, f64),
    across: Axis,
    units: Units,
) -> Chart {
    let reach = |one: &Nudged| one.reach(row.id, now).unwrap_or(0.0);
    nudged.retain(|one| reach(one) > 0.0);
    // The last one stands on top.
    nudged.sort_by(|a, b| reach(a).total_cmp(&reach(b)).then(b.dial.knob().whole.cmp(a.dial.knob().whole)));
    let name = |one: &&Nudged| one.dial.knob().whole.to_owned();
    let spoken: Vec<String> = nudged.iter().rev().map(|one| told(one, (row, now), units)).collect();
    let told = if spoken.is_empty() { "nothing changes it".to_owned() } else { spoken.join("; ") };
    let up = Axis::of_names("", nudged.iter().map(name));
    let title = format!("{title}: {}", row.name);
    let mut chart = Chart::new(title.clone(), format!("{title}. {told}"), across, up);
    let at = units.shown(row.unit, now);
    chart.present = Some(Present { name: format!("now {}", units.text(row.unit, now)), at });
    for (place, one) in (0..).map(f64::from).zip(&nudged) {
        for (side, tone) in [(&one.lower, Tone::Muted), (&one.higher, Tone::Accent)] {
            let Some((value, figure)) = side.as_ref().and_then(|(v, tried)| Some((v, tried.figure(row.id)?)))
            else {
                continue;
            };
            let knob = one.dial.knob();
            let name =
                format!("{} {}: {}", knob.whole, units.text(knob.unit, *value), units.text(row.unit, figure));
            let half = if tone == Tone::Muted { [0.0, 0.36] } else { [-0.36, 0.0] };
            chart.bars.push(Bar {
                name,
                tone,
                across: [at, units.shown(row.unit, figure)],
                up: half.map(|half| place + half),
            });
        }
    }
    chart
}

/// What an input does, in words.
fn told(one: &Nudged, (row, now): (&Measure, f64), units: Units) -> String {
    let knob = one.dial.knob();
    let side = |side: &Option<(f64, obliquity_planning::what_if::Tried)>| {
        let (value, tried) = side.as_ref()?;
        let figure = tried.figure(row.id);
        let figure = figure.map_or("not known".to_owned(), |figure| units.text(row.unit, figure));
        Some(format!("{figure} at {}", units.text(knob.unit, *value)))
    };
    let sides: Vec<String> = [&one.lower, &one.higher].into_iter().filter_map(side).collect();
    format!(
        "{}: {} at {} now, {}",
        knob.whole,
        units.text(row.unit, now),
        units.text(knob.unit, one.present),
        sides.join(", ")
    )
}
