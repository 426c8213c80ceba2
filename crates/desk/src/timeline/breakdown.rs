use super::clock;
use crate::figures::{Freshness, Known};
use crate::show;
use obliquity_planning::{Band, Bands, MeasureId, Scenario, TimeBudget, TimePart, Timing, measure};

/// What the time on site is made of, and how sure it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Breakdown {
    /// The parts to the second, the flight's under its sum; the total comes last.
    pub budget: Vec<BudgetRow>,
    /// The middle eight of ten draws of each figure; empty where there are none.
    pub likely: Vec<Likely>,
    /// What the spread comes from, the widest first.
    pub causes: Vec<CauseRow>,
    /// How that was worked out, or why there is nothing.
    pub note: String,
    /// Whether `likely` and `causes` belong to the scenario as it stands.
    pub freshness: Freshness,
}

/// A part of the time on site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BudgetRow {
    /// What it is.
    pub name: &'static str,
    /// Whole seconds.
    pub seconds: u64,
    /// The same in hours, minutes and seconds.
    pub text: String,
    /// How it stands to the others.
    pub level: Level,
    /// The figure that it is a part of.
    pub measure: MeasureId,
}

/// How a row of the budget stands to the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// A part of the total.
    Part,
    /// A part of the flight.
    Flown,
    /// All of it.
    Total,
}

/// A figure with its band.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Likely {
    /// What it is.
    pub name: &'static str,
    /// "142–157 min".
    pub text: String,
    /// Which figure it is.
    pub measure: MeasureId,
}

/// A source of the spread.
#[derive(Debug, Clone, PartialEq)]
pub struct CauseRow {
    /// What varies.
    pub name: &'static str,
    /// Time on site with only that varied: one draw in ten is below the first, one above the second.
    pub from_s: f64,
    /// As `from_s`.
    pub to_s: f64,
    /// "147.5–150.2 min".
    pub text: String,
}

impl Breakdown {
    /// The breakdown of what is known of a strategy.
    pub fn new(scenario: &Scenario, timing: &Timing, known: Known<'_>) -> Self {
        let (drawn, freshness) =
            (known.spread.and_then(|outcome| outcome.timing.as_ref()), known.spread_freshness);
        let bands = known.bands();
        let seed = scenario.conditions.spread.seed;
        let note = match (bands, freshness) {
            (Some(_), _) => format!(
                "Estimated: 8 of 10 of 1000 draws (seed {seed}) lie between. Wind, speed, turns, batteries and the \
                 crew's times vary as the conditions say; the route stays."
            ),
            (None, _) => "Being estimated.".to_owned(),
        };
        Breakdown {
            budget: budget(&timing.time_budget()),
            likely: drawn.and_then(likely).unwrap_or_default(),
            causes: bands.map_or_else(Vec::new, causes),
            note,
            freshness,
        }
    }
}

fn budget(budget: &TimeBudget) -> Vec<BudgetRow> {
    let row =
        |name, seconds, level, measure| BudgetRow { name, seconds, text: clock(seconds), level, measure };
    let (flown, stay) = (MeasureId::FlightTime, MeasureId::TimeOnSite);
    let mut rows = Vec::new();
    // A crew that stays at one take-off point has nothing to read about moves.
    let told = |part: TimePart, seconds: u64| part != TimePart::Moves || seconds > 0;
    for (part, seconds) in budget.parts_s.into_iter().filter(|(part, seconds)| told(*part, *seconds)) {
        if part == TimePart::Strips {
            rows.push(row("flight", budget.flight_s, Level::Part, flown));
        }
        let (level, measure) = if part.is_flown() { (Level::Flown, flown) } else { (Level::Part, stay) };
        rows.push(row(part.name(), seconds, level, measure));
    }
    rows.push(row("time on site", budget.total_s, Level::Total, stay));
    rows
}

fn likely(timing: &Timing) -> Option<Vec<Likely>> {
    let bands = timing.bands.as_ref()?;
    let of = |name, id, band: Band| Likely {
        name,
        text: show::span(measure(id).unit, band.p10, band.p90),
        measure: id,
    };
    let mut rows = vec![
        of("time on site", MeasureId::TimeOnSite, bands.time_on_site_s),
        of("flight", MeasureId::FlightTime, bands.flight_s),
        of("batteries", MeasureId::Sorties, bands.sorties),
    ];
    rows.push(match timing.energy_wh_band() {
        Some(band) => of("energy", MeasureId::Energy, band),
        None => of("energy", MeasureId::EnergySets, timing.energy_sets_band()?),
    });
    Some(rows)
}

fn causes(bands: &Bands) -> Vec<CauseRow> {
    let minutes = |seconds: f64| format!("{:.1}", seconds / 60.0);
    let row = |cause: &obliquity_planning::Cause| {
        let Band { p10, p90, .. } = cause.time_on_site_s;
        CauseRow {
            name: cause.source.name(),
            from_s: p10,
            to_s: p90,
            text: format!("{}–{} min", minutes(p10), minutes(p90)),
        }
    };
    bands.causes.iter().map(row).collect()
}
