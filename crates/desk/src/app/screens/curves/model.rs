//! The curves as plain values.

use crate::mark;
use obliquity_exchange::chart::{Chart, SweepOf, sweep_chart};
use obliquity_exchange::{Slots, misses_text};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Cap, Miss, SweepPoint, Tried, nearest_miss};
use obliquity_planning::wording::{listed, within};
use obliquity_planning::{Id, Judgement, KnobId, MeasureId, Scenario, SurfaceClass, Units, measure};

/// What the screen is made of.
#[derive(Debug)]
pub(super) struct GivenCurves<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) dial: &'a Dial,
    pub(super) ends: (f64, f64),
    pub(super) points: &'a [SweepPoint],
    /// So many of them with coverage.
    pub(super) seen: usize,
    /// Whether more are to come where the requirement begins or ceases to be met.
    pub(super) nearer: bool,
    pub(super) failure: Option<String>,
    pub(super) figure: MeasureId,
    /// The figure of each strategy as it stands, where it is known.
    pub(super) now: Vec<Option<f64>>,
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
    /// The neighbours, small, and what they are of.
    pub(super) beside: Vec<Chart>,
    pub(super) neighbours: Vec<MeasureId>,
    /// One for each strategy.
    pub(super) rows: Vec<CurveRow>,
    /// The value that the rows tell of, which is the one picked or the present one, in words.
    pub(super) told_at: String,
    /// The value picked, as stored; nothing where none is or it is the present one.
    pub(super) adopt: Option<(f64, String)>,
    /// How far it is, or why there is nothing.
    pub(super) status: Option<String>,
    pub(super) failure: Option<String>,
    /// The values.
    pub(super) values: Vec<CurveValue>,
    /// Where the value picked lies on the axis, and what it is.
    pub(super) picked: Option<(f64, String)>,
    pub(super) units: Units,
}

/// A value of the input.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CurveValue {
    /// As it is stored.
    pub(super) stored: f64,
    /// Where it lies on the axis.
    pub(super) at: f64,
    /// What comes of all strategies there.
    pub(super) told: String,
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
    /// Where it comes nearest, if it meets nowhere, and what it misses there; empty otherwise.
    pub(super) nearest: String,
    /// What caps it there; empty where nothing does.
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
        let nearer = || "looking nearer at where the requirement begins to be met".to_owned();
        let open = given.seen < points.len() || points.is_empty();
        let status = open.then_some(done).or_else(|| given.nearer.then(nearer));
        CurveSheet {
            knob: row.id,
            ends: given.ends,
            figure,
            only: given.only,
            strategies: scenario.strategies.iter().map(|own| (own.id, own.name.clone())).collect(),
            chart: sweep_chart(&sweep, figure),
            beside: neighbours(scenario, figure).iter().map(|other| sweep_chart(&sweep, *other)).collect(),
            neighbours: neighbours(scenario, figure),
            rows: (0..scenario.strategies.len()).map(|place| curve_row(&sweep, place, given)).collect(),
            told_at,
            adopt,
            status: status.filter(|_| given.failure.is_none()),
            failure: given.failure.clone(),
            values: points.iter().map(|point| curve_value(&sweep, point, figure)).collect(),
            picked: given.picked.map(|value| (units.shown(row.unit, value), text(value))),
            units,
        }
    }

    /// The value picked, or the one nearest to the present one, as its place; nothing while none is known.
    pub(super) fn chosen(&self) -> Option<usize> {
        let at = self.picked.as_ref().map(|(at, _)| *at);
        let at = at.or(self.chart.present.as_ref().map(|present| present.at));
        self.nearest(at.unwrap_or(f64::midpoint(self.chart.across.from, self.chart.across.to)))
    }

    /// The place of the value nearest to one on the axis.
    pub(super) fn nearest(&self, at: f64) -> Option<usize> {
        let apart = |value: &CurveValue| (value.at - at).abs();
        let values = self.values.iter().enumerate();
        values.min_by(|a, b| apart(a.1).total_cmp(&apart(b.1))).map(|(place, _)| place)
    }
}

/// The figure of each strategy at a value, and what caps it.
fn curve_value(sweep: &SweepOf<'_>, point: &SweepPoint, figure: MeasureId) -> CurveValue {
    let (knob, row) = (sweep.dial.knob(), measure(figure));
    let mut lines = vec![format!("{} {}", knob.whole, sweep.units.text(knob.unit, point.value))];
    match &point.tried {
        Err(fault) => lines.push(fault.message.clone()),
        Ok(tried) => lines.extend(sweep.scenario.strategies.iter().zip(tried).map(|(strategy, tried)| {
            let told = match tried.figure(figure) {
                Some(value) => sweep.units.text(row.unit, value),
                None if !tried.is_flown() => "cannot be flown".to_owned(),
                None => "…".to_owned(),
            };
            let caps: Vec<&str> = tried.caps.iter().map(|cap: &Cap| cap.name()).collect();
            let caps = if caps.is_empty() { String::new() } else { format!(", capped by {}", listed(&caps)) };
            let number = mark::number(Slots::of(sweep.scenario).slot(strategy.id));
            format!("{number} {}: {told}{caps}", strategy.name)
        })),
    }
    CurveValue { stored: point.value, at: sweep.units.shown(knob.unit, point.value), told: lines.join("\n") }
}

/// Why there is no one present value: the strategy has none, it follows from others, or passes differ.
fn no_present(sweep: &SweepOf<'_>, strategy: Id) -> String {
    let knob = sweep.dial.knob();
    let Some(dial) = sweep.dial.on(sweep.scenario, strategy) else {
        return format!("has no {}", within(knob.whole));
    };
    let values: Vec<f64> = dial.places().iter().filter_map(|at| knob.get(sweep.scenario, *at)).collect();
    if values.is_empty() {
        return format!("{} is automatic", knob.whole);
    }
    format!("differs from pass to pass: {}", sweep.units.span(knob.unit, values))
}

fn curve_row(sweep: &SweepOf<'_>, place: usize, given: &GivenCurves<'_>) -> CurveRow {
    let strategy = &sweep.scenario.strategies[place];
    let known = sweep.points.iter().flat_map(|point| point.tried.iter().flatten());
    let unknown = known.filter(|tried| tried.strategy == strategy.id).any(|tried| tried.meets.is_none());
    let nowhere = if unknown { "…" } else { "meets nowhere in this range" };
    let meets = sweep.meets_text(place);
    let nearest = if meets.is_none() && !unknown { nearest_text(sweep, place) } else { None };
    let at = given.picked.or_else(|| sweep.present(place));
    let point = at.and_then(|at| sweep.points.iter().find(|point| point.value == at));
    let tried = point.and_then(|point| point.tried.as_ref().ok()?.get(place));
    CurveRow {
        slot: Slots::of(sweep.scenario).slot(strategy.id),
        name: strategy.name.clone(),
        figure: told_figure(sweep, place, given, tried),
        meets: meets.unwrap_or_else(|| nowhere.to_owned()),
        nearest: nearest.unwrap_or_default(),
        caps: tried.map(|tried| told_caps(sweep, place, tried)).unwrap_or_default(),
    }
}

/// Where a strategy that meets the requirement nowhere comes nearest to it, and what it misses there; nothing while that is not
/// known.
fn nearest_text(sweep: &SweepOf<'_>, place: usize) -> Option<String> {
    let (value, tried) = nearest_miss(sweep.points, place)?;
    let missed = tried.judgements.iter().filter_map(|line| match *line {
        Judgement::Missed { of, value, required, .. } => Some(Miss { of, value, asked: required }),
        _ => None,
    });
    let misses = misses_text(&missed.collect::<Vec<Miss>>(), sweep.units);
    Some(format!("nearest at {}: {misses}", sweep.units.text(sweep.dial.knob().unit, value)))
}

/// The figure of a strategy at the value picked; without one, as it stands, which is the board's.
fn told_figure(sweep: &SweepOf<'_>, place: usize, given: &GivenCurves<'_>, tried: Option<&Tried>) -> String {
    let (strategy, row) = (&sweep.scenario.strategies[place], measure(given.figure));
    let text = |value: f64| sweep.units.text(row.unit, value);
    if let Some(reasons) = tried.filter(|tried| !tried.is_flown()).map(|tried| &tried.reasons) {
        return format!("cannot be flown: {}", reasons.join("; "));
    }
    if given.picked.is_some() {
        return tried.and_then(|tried| tried.figure(given.figure)).map_or("…".to_owned(), text);
    }
    let now = given.now.get(place).copied().flatten().map_or("…".to_owned(), text);
    let value = |at: f64| sweep.units.text(sweep.dial.knob().unit, at);
    match sweep.present(place) {
        Some(at) if sweep.dial.value(sweep.scenario).is_none() => format!("{now} at {}", value(at)),
        Some(_) => now,
        None => format!("{now}; {}", no_present(sweep, strategy.id)),
    }
}

/// What caps a strategy at a value, and whether it does so all over the range.
fn told_caps(sweep: &SweepOf<'_>, place: usize, tried: &Tried) -> String {
    let all: Vec<&Tried> =
        sweep.points.iter().filter_map(|point| point.tried.as_ref().ok()?.get(place)).collect();
    let one = |cap: &Cap| {
        let everywhere = all.iter().all(|tried| tried.caps.contains(cap));
        if everywhere { format!("{}, as all over this range", cap.name()) } else { cap.name().to_owned() }
    };
    let caps: Vec<String> = tried.caps.iter().map(one).collect();
    if caps.is_empty() { String::new() } else { format!("capped by {}", caps.join("; ")) }
}
