//! Diagrams of what would come of other settings.

mod nudges;
mod sweep;
mod trade;

pub use nudges::{nudge_charts, nudge_text};
pub use sweep::{SweepOf, sweep_chart};
pub use trade::{FrontChart, FrontPoint, TradeOf, front_chart};

use super::{Axis, Tone};
use crate::Slots;
use obliquity_planning::{Measure, MeasureId, Scenario, Unit, Units, measure};

/// The colour of a strategy, by its own slot.
fn tone(scenario: &Scenario, place: usize) -> Tone {
    Tone::Strategy(Slots::of(scenario).slot(scenario.strategies[place].id))
}

/// An axis for figures of a measure, as they are shown: from 0 where the least is not far from the most.
fn axis(row: &Measure, units: Units, shown: impl IntoIterator<Item = f64>) -> Axis {
    let ends = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
    let values = shown.into_iter().filter(|value| value.is_finite());
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), ends);
    let sign = units.scale(row.unit).sign;
    if low > high {
        return Axis::new(row.name, sign, 0.0, 1.0);
    }
    let air = 0.06 * (high - low).max(0.02 * high.abs());
    let from = if low >= 0.0 && low < 0.6 * high { 0.0 } else { low - air };
    let most = if row.unit == Unit::Share { (high + air).min(100.0) } else { high + air };
    Axis::new(row.name, sign, from, most)
}

/// What is asked of a figure in every strategy alike, as it is shown.
fn asked(scenario: &Scenario, of: MeasureId, units: Units) -> Option<(f64, String)> {
    let row = measure(of);
    let required = row.required_of_all(scenario)?;
    Some((units.shown(row.unit, required), format!("required {}", units.text(row.unit, required))))
}
