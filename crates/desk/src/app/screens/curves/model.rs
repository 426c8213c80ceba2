//! The curves as plain values.

use crate::mark;
use crate::show;
use obliquity_exchange::chart::{Chart, SweepOf, sweep_chart};
use obliquity_exchange::{Slots, misses_text};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{
    Cap, Miss, SampleDensity, SweepPoint, Tried, meeting_ranges, nearest_miss,
};
use obliquity_planning::wording::{listed, within};
use obliquity_planning::{
    Depth, Id, Judgement, KnobId, Measure, MeasureId, Scenario, SurfaceClass, Units, measure,
};

/// What the screen is made of.
#[derive(Debug)]
pub(super) struct GivenCurves<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) dial: &'a Dial,
    pub(super) ends: (f64, f64),
    pub(super) points: &'a [SweepPoint],
    /// Those at which blocks were looked at, where the figure takes that.
    pub(super) looked: &'a [SweepPoint],
    /// So many of them with coverage.
    pub(super) seen: usize,
    /// Whether more are to come where the requirement begins or ceases to be met.
    pub(super) nearer: bool,
    pub(super) failure: Option<String>,
    /// How far blocks are looked at, where the figure takes that.
    pub(super) looks: Option<Looks>,
    pub(super) figure: MeasureId,
    /// The figure of each strategy as it stands, where it is known.
    pub(super) now: Vec<Option<f64>>,
    pub(super) only: Option<Id>,
    pub(super) picked: Option<f64>,
    pub(super) units: Units,
}

/// How far blocks are looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Looks {
    pub(super) done: usize,
    pub(super) of: usize,
    pub(super) state: LooksState,
    /// Why one could not be.
    pub(super) failure: Option<String>,
}

/// Whether looking at blocks goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LooksState {
    /// It does.
    Run,
    /// Someone has stopped it.
    Stopped,
    /// All are looked at.
    Done,
}

impl Looks {
    fn told(&self) -> String {
        let known = match self.state {
            LooksState::Done => String::new(),
            LooksState::Run | LooksState::Stopped => {
                format!(", known at {} of {} values", self.done, self.of)
            }
        };
        format!("preview from fewer tie points, expected, not certified{known}")
    }
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
    /// Whether looking at blocks goes on; nothing where the figure takes none.
    pub(super) looks: Option<LooksState>,
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
    /// The figure at the value told of, and at a value picked how much more or less that is than it stands.
    pub(super) figure: String,
    /// Whether it meets the requirement there, and what it misses; empty while that is not known.
    pub(super) here: String,
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
        let first = points.iter().any(|point| point.samples == SampleDensity::Fewer);
        let first = if first { "first look, from fewer samples; " } else { "" };
        let done = format!("{first}coverage known at {} of {} values", given.seen, points.len());
        let nearer = || "looking nearer at where the requirement begins to be met".to_owned();
        let status = match points.len() {
            0 => Some("working it out…".to_owned()),
            _ => is_open(given).then_some(done).or_else(|| given.nearer.then(nearer)),
        };
        let status = given.looks.as_ref().map(Looks::told).or(status);
        let mut chart = sweep_chart(&sweep, figure);
        let drawn = SweepOf { points: if given.looks.is_some() { given.looked } else { points }, ..sweep };
        if given.looks.is_some() {
            // The line goes through what was looked at; where the requirement is met is told by all values.
            let looked = sweep_chart(&drawn, figure);
            chart = Chart { under: chart.under, across: chart.across, ..looked };
            chart.title += ", preview";
            chart.spoken = format!("Preview. {}", chart.spoken);
        }
        CurveSheet {
            knob: row.id,
            ends: given.ends,
            figure,
            only: given.only,
            strategies: scenario.strategies.iter().map(|own| (own.id, own.name.clone())).collect(),
            chart,
            beside: neighbours(scenario, figure).iter().map(|other| sweep_chart(&sweep, *other)).collect(),
            neighbours: neighbours(scenario, figure),
            rows: (0..scenario.strategies.len()).map(|place| curve_row(&sweep, place, given)).collect(),
            told_at,
            adopt,
            status: status.filter(|_| given.failure.is_none()),
            failure: given.failure.clone(),
            looks: given.looks.as_ref().map(|looks| looks.state),
            values: drawn.points.iter().map(|point| curve_value(&drawn, point, figure)).collect(),
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

/// A figure, which is only about right where fewer samples were looked at.
fn figure_text(row: &Measure, value: f64, samples: SampleDensity, units: Units) -> String {
    let about = samples == SampleDensity::Fewer && row.depth >= Depth::Views;
    format!("{}{}", if about { "about " } else { "" }, units.text(row.unit, value))
}

/// The figure of each strategy at a value, and what caps it.
fn curve_value(sweep: &SweepOf<'_>, point: &SweepPoint, figure: MeasureId) -> CurveValue {
    let (knob, row) = (sweep.dial.knob(), measure(figure));
    let mut lines = vec![format!("{} {}", knob.whole, sweep.units.text(knob.unit, point.value))];
    match &point.tried {
        Err(fault) => lines.push(fault.message.clone()),
        Ok(tried) => lines.extend(sweep.scenario.strategies.iter().zip(tried).map(|(strategy, tried)| {
            let told = match tried.figure(figure) {
                Some(value) => figure_text(row, value, point.samples, sweep.units),
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
    let span = sweep.units.span(knob.unit, values);
    format!("differs from pass to pass, {span}; here all get the same")
}

/// Whether there are values whose coverage is yet to come.
fn is_open(given: &GivenCurves<'_>) -> bool {
    given.seen < given.points.len() || given.points.is_empty()
}

fn curve_row(sweep: &SweepOf<'_>, place: usize, given: &GivenCurves<'_>) -> CurveRow {
    let strategy = &sweep.scenario.strategies[place];
    let known = sweep.points.iter().flat_map(|point| point.tried.iter().flatten());
    let unknown = known.filter(|tried| tried.strategy == strategy.id).any(|tried| tried.meets.is_none());
    let meets = match sweep.meets_text(place) {
        Some(meets) if unknown => format!("as far as known {meets}"),
        Some(meets) => meets,
        None if unknown => "…".to_owned(),
        None => "meets nowhere in this range".to_owned(),
    };
    let is_nowhere = meeting_ranges(sweep.points, place).is_empty();
    let nearest = if is_nowhere && !is_open(given) { nearest_text(sweep, place) } else { None };
    let at = given.picked.or_else(|| sweep.present(place));
    let point = at.and_then(|at| sweep.points.iter().find(|point| point.value == at));
    let tried = point.and_then(|point| point.tried.as_ref().ok()?.get(place));
    let looked = at.and_then(|at| given.looked.iter().find(|point| point.value == at));
    CurveRow {
        slot: Slots::of(sweep.scenario).slot(strategy.id),
        name: strategy.name.clone(),
        figure: told_figure(sweep, place, given, looked.or(point)),
        here: tried.and_then(|tried| told_verdict(tried, sweep.units)).unwrap_or_default(),
        meets,
        nearest: nearest.unwrap_or_default(),
        caps: tried.map(|tried| told_caps(sweep, place, tried)).unwrap_or_default(),
    }
}

/// Whether it meets the requirement, and what it misses; nothing while that is not known.
fn told_verdict(tried: &Tried, units: Units) -> Option<String> {
    let meets = tried.meets.filter(|_| tried.is_flown())?;
    let misses = || format!("misses there: {}", told_misses(tried, units));
    Some(if meets { "meets the requirement there".to_owned() } else { misses() })
}

fn told_misses(tried: &Tried, units: Units) -> String {
    let missed = tried.judgements.iter().filter_map(|line| match *line {
        Judgement::Missed { of, value, required, .. } => Some(Miss { of, value, asked: required }),
        _ => None,
    });
    misses_text(&missed.collect::<Vec<Miss>>(), units)
}

/// Where a strategy that meets the requirement nowhere comes nearest to it, and what it misses there; nothing while that is not
/// known.
fn nearest_text(sweep: &SweepOf<'_>, place: usize) -> Option<String> {
    let (value, tried) = nearest_miss(sweep.points, place)?;
    let misses = told_misses(tried, sweep.units);
    Some(format!("nearest at {}: {misses}", sweep.units.text(sweep.dial.knob().unit, value)))
}

/// The figure of a strategy at the value picked; without one, as it stands, which is the board's.
fn told_figure(
    sweep: &SweepOf<'_>,
    place: usize,
    given: &GivenCurves<'_>,
    point: Option<&SweepPoint>,
) -> String {
    let (strategy, row) = (&sweep.scenario.strategies[place], measure(given.figure));
    let text = |value: f64, samples| figure_text(row, value, samples, sweep.units);
    let tried = point.and_then(|point| point.tried.as_ref().ok()?.get(place));
    if let Some(reasons) = tried.filter(|tried| !tried.is_flown()).map(|tried| &tried.reasons) {
        return format!("cannot be flown: {}", reasons.join("; "));
    }
    let now = given.now.get(place).copied().flatten();
    if given.picked.is_some() {
        let Some((point, value)) = point.zip(tried.and_then(|tried| tried.figure(given.figure))) else {
            return "…".to_owned();
        };
        let more = now.and_then(|now| show::difference_in(sweep.units, row.unit, value - now));
        let more = more.map(|more| format!(" ({more} against now)")).unwrap_or_default();
        return format!("{}{more}", text(value, point.samples));
    }
    let now = now.map_or("…".to_owned(), |value| text(value, SampleDensity::AsSet));
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
        let told = format!("{} capped by {}", cap.caps(), cap.name());
        if everywhere { format!("{told}, as all over this range") } else { told }
    };
    tried.caps.iter().map(one).collect::<Vec<_>>().join("; ")
}
