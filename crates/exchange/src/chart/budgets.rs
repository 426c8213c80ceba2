//! What time, energy and processing are made of, of several strategies below each other on one scale.

use super::{Axis, Bar, BarText, Chart, Fill, Tone};
use crate::Slots;
use obliquity_planning::wording::short;
use obliquity_planning::{
    Capacity, MeasureId, Outcome, ProcessingStage, Scenario, TimePart, Unit, Units, measure,
};

/// What is counted as one part of a bar, and its look, by which it is found in every bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartLook {
    /// What it is.
    pub name: &'static str,
    /// What is counted in it.
    pub explanation: &'static str,
    /// Its colour.
    pub tone: Tone,
    /// How it is filled.
    pub fill: Fill,
}

/// How a part of the time on site, or of the energy, looks: what is flown in one colour, the crew's and the batteries' in others.
pub fn part_look(part: TimePart) -> PartLook {
    let (tone, fill) = match part {
        TimePart::SetUp => (Tone::Muted, Fill::Light),
        TimePart::ControlPoints => (Tone::Muted, Fill::Rising),
        TimePart::Strips => (Tone::Accent, Fill::Solid),
        TimePart::Turns => (Tone::Accent, Fill::Rising),
        TimePart::Links => (Tone::Accent, Fill::Light),
        TimePart::Vertical => (Tone::Accent, Fill::Falling),
        TimePart::Transits => (Tone::Accent, Fill::Crossed),
        TimePart::Swaps => (Tone::Ink, Fill::Solid),
        TimePart::Waits => (Tone::Ink, Fill::Rising),
        TimePart::Moves => (Tone::Muted, Fill::Crossed),
        TimePart::PackUp => (Tone::Muted, Fill::Falling),
    };
    PartLook { name: part.name(), explanation: part.explanation(), tone, fill }
}

/// A budget of all strategies: a bar each, of its parts in one order.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// What it is of: "Time on site".
    pub title: String,
    /// What its numbers are in.
    pub unit: Unit,
    /// The parts that any of them has, in the order of the bars.
    pub parts: Vec<PartLook>,
    /// A row for each strategy that has the figure, in the scenario's order.
    pub rows: Vec<BudgetOf>,
}

/// A strategy's row of a [`Budget`].
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetOf {
    /// Its number, from 0.
    pub slot: usize,
    /// Its name.
    pub name: String,
    /// Each of the budget's parts, in [`Budget::unit`] as it is stored.
    pub parts: Vec<f64>,
    /// The figure that they make, in the same: parts in whole seconds may differ from it by less than one.
    pub total: f64,
}

impl Budget {
    fn new(
        title: impl Into<String>,
        unit: Unit,
        looks: Vec<PartLook>,
        mut rows: Vec<BudgetOf>,
    ) -> Option<Self> {
        // What nobody has is not listed.
        let is_had = |place: usize| rows.iter().any(|row| row.parts[place] > 0.0);
        let had: Vec<bool> = (0..looks.len()).map(is_had).collect();
        for row in &mut rows {
            row.parts = row.parts.iter().zip(&had).filter(|(_, had)| **had).map(|(part, _)| *part).collect();
        }
        let parts = looks.into_iter().zip(&had).filter(|(_, had)| **had).map(|(look, _)| look).collect();
        (!rows.is_empty()).then(|| Budget { title: title.into(), unit, parts, rows })
    }

    /// As bars below each other, the first strategy on top.
    pub fn chart(&self, units: Units) -> Chart {
        let shown = |value: f64| units.shown(self.unit, value);
        let most = self.rows.iter().map(|row| shown(row.total)).fold(0.0, f64::max);
        let sign = units.scale(self.unit).sign;
        // Room for the sum beyond the longest.
        let name = self.title.split(['(', ',']).next().unwrap_or_default().trim();
        let across = Axis::new(name, sign, 0.0, 1.14 * most);
        let name = |row: &BudgetOf| format!("{}  {}", row.slot + 1, row.name);
        let up = Axis::of_names("", self.rows.iter().rev().map(name));
        let told: Vec<String> = self.rows.iter().map(|row| self.told(row, units)).collect();
        let spoken = format!("{}. {}", self.title, told.join("; "));
        let mut chart = Chart::new(self.title.clone(), spoken, across, up);
        for (place, row) in (0..).map(f64::from).zip(self.rows.iter().rev()) {
            self.bars(row, place, units, &mut chart.bars);
        }
        chart
    }

    fn bars(&self, row: &BudgetOf, place: f64, units: Units, bars: &mut Vec<Bar>) {
        let up = [place - 0.34, place + 0.34];
        let shown = |value: f64| units.shown(self.unit, value);
        let mut from = 0.0;
        for (look, part) in self.parts.iter().zip(&row.parts).filter(|(_, part)| **part > 0.0) {
            let text = units.text(self.unit, *part);
            let within = vec![format!("{} {text}", look.name), text.clone(), short(shown(*part))];
            bars.push(Bar {
                name: format!("{}, {}: {text}", row.name, look.name),
                text: BarText::Within(within),
                tone: look.tone,
                fill: look.fill,
                across: [shown(from), shown(from + part)],
                up,
            });
            from += part;
        }
        let total = units.text(self.unit, row.total);
        bars.push(Bar {
            name: format!("{}, total: {total}", row.name),
            text: BarText::Beyond(total),
            tone: Tone::Ink,
            fill: Fill::Solid,
            across: [shown(from); 2],
            up,
        });
    }

    fn told(&self, row: &BudgetOf, units: Units) -> String {
        let parts = self.parts.iter().zip(&row.parts).filter(|(_, part)| **part > 0.0);
        let parts: Vec<String> =
            parts.map(|(look, part)| format!("{} {}", look.name, units.text(self.unit, *part))).collect();
        format!("{} {}: {}", row.name, units.text(self.unit, row.total), parts.join(", "))
    }
}

/// What time on site, energy and processing are made of, of all strategies that have the figure.
pub fn budgets(scenario: &Scenario, outcomes: &[&Outcome]) -> Vec<Budget> {
    [time(scenario, outcomes), energy(scenario, outcomes), hours(scenario, outcomes)]
        .into_iter()
        .flatten()
        .collect()
}

/// A row for each outcome that has the parts.
fn rows(
    scenario: &Scenario,
    outcomes: &[&Outcome],
    parts: impl Fn(&Outcome) -> Option<Vec<f64>>,
    total: impl Fn(&Outcome, &[f64]) -> f64,
) -> Vec<BudgetOf> {
    let slots = Slots::of(scenario);
    let row = |outcome: &&Outcome| {
        let parts = parts(outcome)?;
        let (slot, name, total) =
            (slots.slot(outcome.strategy), outcome.name.clone(), total(outcome, &parts));
        Some(BudgetOf { slot, name, parts, total })
    };
    outcomes.iter().filter_map(row).collect()
}

fn time(scenario: &Scenario, outcomes: &[&Outcome]) -> Option<Budget> {
    let parts = |outcome: &Outcome| {
        let budget = outcome.timing.as_ref()?.time_budget();
        Some(budget.parts_s.iter().map(|(_, seconds)| *seconds as f64).collect())
    };
    let looks = TimePart::ALL.map(part_look).to_vec();
    let total = |outcome: &Outcome, parts: &[f64]| {
        measure(MeasureId::TimeOnSite).read(outcome).unwrap_or_else(|| parts.iter().sum())
    };
    Budget::new("Time on site", Unit::Seconds, looks, rows(scenario, outcomes, parts, total))
}

/// In watt-hours, or in full battery sets where it is not known of all what a set holds.
fn energy(scenario: &Scenario, outcomes: &[&Outcome]) -> Option<Budget> {
    let is_known =
        |outcome: &&Outcome| outcome.flight().is_none_or(|flight| flight.capacity == Capacity::Known);
    let (title, unit) = if outcomes.iter().all(is_known) {
        ("Energy (a turn on the spot counts with the leg after it)", Unit::WattHours)
    } else {
        ("Energy in full battery sets (a turn on the spot counts with the leg after it)", Unit::BatterySets)
    };
    let parts = |outcome: &Outcome| {
        let timing = outcome.timing.as_ref()?;
        let each = match unit {
            Unit::WattHours => 1.0 / 3600.0,
            _ => 1.0 / timing.flight.capacity_j,
        };
        Some(timing.energy_parts_j().iter().map(|(_, joules)| joules * each).collect())
    };
    let looks = TimePart::FLOWN.map(part_look).to_vec();
    Budget::new(title, unit, looks, rows(scenario, outcomes, parts, |_, parts| parts.iter().sum()))
}

fn hours(scenario: &Scenario, outcomes: &[&Outcome]) -> Option<Budget> {
    let look = |name, explanation, fill| PartLook { name, explanation, tone: Tone::Accent, fill };
    let other = |name, explanation, fill| PartLook { name, explanation, tone: Tone::Muted, fill };
    let looks = vec![
        look("features", "Finding features, image by image", Fill::Light),
        look("matching", "Matching features, pair by pair", Fill::Rising),
        look("adjustment", "Adjusting all images together", Fill::Falling),
        look("dense points", "Computing dense points from all pixels", Fill::Solid),
        other("surface", "Making a surface of the points", Fill::Light),
        other("orthomosaic", "Making an orthomosaic", Fill::Rising),
        other("texture", "Laying a texture on the surface", Fill::Falling),
    ];
    let parts = |outcome: &Outcome| {
        let terms = outcome.load.as_ref()?.hours?;
        Some(ProcessingStage::ALL.map(|stage| terms.of(stage)).to_vec())
    };
    Budget::new(
        format!("Processing, {}", scenario.rates.standing().told()),
        Unit::Hours,
        looks,
        rows(scenario, outcomes, parts, |_, parts| parts.iter().sum()),
    )
}
