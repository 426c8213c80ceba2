//! What matters: every input alone, a step up and a step down.

use super::axis;
use crate::chart::{Axis, Bar, BarText, Chart, Fill, Present, Tone};
use obliquity_planning::what_if::{NudgeSide, Nudged, Tried};
use obliquity_planning::wording::short;
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
        let across = axis(row, units, shown.iter().copied());
        let across = ends(&shown, across);
        one_side(nudged.iter().filter(|one| one.side == side).collect(), title, (row, now), across, units)
    })
}

/// Bars are compared with each other, not with nothing; at their ends there is room for a few words.
fn ends(shown: &[f64], across: Axis) -> Axis {
    let reach = |(low, high): (f64, f64), value: &f64| (low.min(*value), high.max(*value));
    let (low, high) = shown.iter().fold((f64::INFINITY, f64::NEG_INFINITY), reach);
    let air = 0.1 * (high - low);
    if air > 0.0 { Axis { from: low - air, to: high + air, ..across } } else { across }
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
            let Some((value, tried)) = side else { continue };
            let Some(figure) = tried.figure(row.id).filter(|figure| *figure != now) else { continue };
            let name = nudge_text(one, *value, tried, (row, now), units);
            let half = if tone == Tone::Muted { [0.0, 0.36] } else { [-0.36, 0.0] };
            chart.bars.push(Bar {
                name,
                text: BarText::Beyond(units.text(one.dial.knob().unit, *value)),
                tone,
                fill: Fill::Solid,
                across: [at, units.shown(row.unit, figure)],
                up: half.map(|half| place + half),
            });
        }
    }
    chart
}

/// What a step of an input does: "Wind speed 3 → 5 m/s: +4.2 min, 170 min".
///
/// # Units
/// - `value`: the input's own; `now`: the measure's own
pub fn nudge_text(
    one: &Nudged,
    value: f64,
    tried: &Tried,
    (row, now): (&Measure, f64),
    units: Units,
) -> String {
    let knob = one.dial.knob();
    let from = short(units.shown(knob.unit, one.present));
    let step = format!("{} {from} → {}", knob.whole, units.text(knob.unit, value));
    let told = match tried.figure(row.id) {
        Some(figure) => format!("{}, {}", change(row, figure, now, units), units.text(row.unit, figure)),
        None if !tried.is_flown() => "cannot be flown".to_owned(),
        None => "not known".to_owned(),
    };
    format!("{step}: {told}")
}

/// A change of a figure with its sign: "+4.2 min".
fn change(row: &Measure, figure: f64, now: f64, units: Units) -> String {
    let by = units.shown(row.unit, figure) - units.shown(row.unit, now);
    let text = short(by.abs());
    let sign = match by {
        _ if text == "0" => "±",
        by if by < 0.0 => "−",
        _ => "+",
    };
    format!("{sign}{}{text}{}", units.prefix(row.unit), units.suffix(row.unit))
}

/// What an input does, in words.
fn told(one: &Nudged, of: (&Measure, f64), units: Units) -> String {
    let sides = [&one.lower, &one.higher].into_iter().flatten();
    let sides: Vec<String> = sides.map(|(value, tried)| nudge_text(one, *value, tried, of, units)).collect();
    sides.join(", ")
}
