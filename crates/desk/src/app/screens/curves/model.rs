//! The curves as plain values.

use obliquity_exchange::Slots;
use obliquity_exchange::chart::{Chart, SweepOf, sweep_chart};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Cap, SweepPoint};
use obliquity_planning::{Id, KnobId, MeasureId, Scenario, SurfaceClass, Units, measure};

/// What the screen is made of.
#[derive(Debug)]
pub(super) struct GivenCurves<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) dial: &'a Dial,
    pub(super) ends: (f64, f64),
    pub(super) points: &'a [SweepPoint],
    /// So many of them with coverage.
    pub(super) seen: usize,
    pub(super) failure: Option<String>,
    pub(super) figure: MeasureId,
    pub(super) only: Option<Id>,
    pub(super) picked: Option<f64>,
    pub(super) units: Units,
}

/// What the screen shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CurveSheet {
    /// What is turned.
    pub(super) knob: KnobId,
    /// From where to where, as stored.
    pub(super) ends: (f64, f64),
    /// What is looked at.
    pub(super) figure: MeasureId,
    /// The strategy in which it is turned alone.
    pub(super) only: Option<Id>,
    /// All strategies, for the choice of one.
    pub(super) strategies: Vec<(Id, String)>,
    pub(super) chart: Chart,
    /// The neighbours, small.
    pub(super) beside: Vec<Chart>,
    /// One for each strategy.
    pub(super) rows: Vec<CurveRow>,
    /// The value that the rows tell of, which is the one picked or the present one, in words.
    pub(super) told_at: String,
    /// The value picked, as stored; nothing where none is or it is the present one.
    pub(super) adopt: Option<(f64, String)>,
    /// How far it is, or why there is nothing.
    pub(super) status: Option<String>,
    pub(super) failure: Option<String>,
    /// The values, as stored and as they lie on the axis.
    pub(super) values: Vec<(f64, f64)>,
    pub(super) units: Units,
}

/// A strategy.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CurveRow {
    pub(super) slot: usize,
    pub(super) name: String,
    /// The figure at the value told of.
    pub(super) figure: String,
    /// Where it meets the requirement.
    pub(super) meets: String,
    /// What caps it there.
    pub(super) caps: String,
}

/// Figures shown small beside the large one: two that cost, two that deliver.
fn neighbours(scenario: &Scenario, figure: MeasureId) -> Vec<MeasureId> {
    let asked = |class: &SurfaceClass| scenario.requirement.coverage[*class].is_some();
    let walls = [SurfaceClass::Wall, SurfaceClass::Roof, SurfaceClass::Ground].into_iter().filter(asked);
    let covered = walls.map(MeasureId::Coverage).take(2);
    let all = [MeasureId::TimeOnSite, MeasureId::ImageCount].into_iter().chain(covered);
    let others = all.chain([MeasureId::Sorties]).filter(|other| *other != figure);
    others.take(3).collect()
}

impl CurveSheet {
    pub(super) fn new(given: &GivenCurves<'_>) -> Self {
        let GivenCurves { scenario, dial, points, units, figure, .. } = *given;
        let sweep = SweepOf { scenario, dial, points, units };
        let row = dial.knob();
        let present = dial.value(scenario);
        let text = |value: f64| units.text(row.unit, value);
        let told_at = match (given.picked, present) {
            (Some(value), _) => format!("at {}", text(value)),
            (None, Some(value)) => format!("at {}, as it stands", text(value)),
            (None, None) => "each where it stands".to_owned(),
        };
        let adopt = given.picked.filter(|value| Some(*value) != present).map(|value| (value, text(value)));
        let done = format!("coverage known at {} of {} values", given.seen, points.len());
        let status = (given.seen < points.len() || points.is_empty()).then_some(done);
        CurveSheet {
            knob: row.id,
            ends: given.ends,
            figure,
            only: given.only,
            strategies: scenario.strategies.iter().map(|own| (own.id, own.name.clone())).collect(),
            chart: sweep_chart(&sweep, figure),
            beside: neighbours(scenario, figure)
                .into_iter()
                .map(|other| sweep_chart(&sweep, other))
                .collect(),
            rows: (0..scenario.strategies.len())
                .map(|place| curve_row(&sweep, place, figure, given.picked))
                .collect(),
            told_at,
            adopt,
            status: status.filter(|_| given.failure.is_none()),
            failure: given.failure.clone(),
            values: points.iter().map(|point| (point.value, units.shown(row.unit, point.value))).collect(),
            units,
        }
    }
}

fn curve_row(sweep: &SweepOf<'_>, place: usize, figure: MeasureId, picked: Option<f64>) -> CurveRow {
    let strategy = &sweep.scenario.strategies[place];
    let present = sweep.present(place);
    let at = picked.or(present);
    let nearest = at.and_then(|at| {
        let apart = |point: &&SweepPoint| (point.value - at).abs();
        sweep.points.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))
    });
    let tried = nearest.and_then(|point| point.tried.as_ref().ok()?.get(place));
    let row = measure(figure);
    let told = match tried {
        None if at.is_none() => "has it not, or differs from pass to pass".to_owned(),
        None => "–".to_owned(),
        Some(tried) if !tried.is_flown() => format!("cannot be flown: {}", tried.reasons.join("; ")),
        Some(tried) => {
            tried.figure(figure).map_or("…".to_owned(), |value| sweep.units.text(row.unit, value))
        }
    };
    let known = sweep.points.iter().flat_map(|point| point.tried.iter().flatten());
    let unknown = known.filter(|tried| tried.strategy == strategy.id).any(|tried| tried.meets.is_none());
    let nowhere = if unknown { "…" } else { "meets nowhere in this range" };
    let caps: Vec<&str> =
        tried.map(|tried| tried.caps.iter().map(|cap: &Cap| cap.name()).collect()).unwrap_or_default();
    CurveRow {
        slot: Slots::of(sweep.scenario).slot(strategy.id),
        name: strategy.name.clone(),
        figure: told,
        meets: sweep.meets_text(place).unwrap_or_else(|| nowhere.to_owned()),
        caps: caps.join(", "),
    }
}
