//! One figure over one input.

use super::{asked, axis, tone};
use crate::chart::{Axis, Chart, Limit, Mark, Present, Series, Span, Under, UnderKind};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Cap, SweepPoint, Tried, meeting_ranges};
use obliquity_planning::wording::{listed, within};
use obliquity_planning::{MeasureId, Scenario, Unit, Units, measure};

/// A sweep, as far as it is worked out.
#[derive(Debug, Clone, Copy)]
pub struct SweepOf<'a> {
    /// The scenario as it stands.
    pub scenario: &'a Scenario,
    /// What is swept.
    pub dial: &'a Dial,
    /// In the order of their values.
    pub points: &'a [SweepPoint],
    /// What numbers are shown in.
    pub units: Units,
}

impl SweepOf<'_> {
    /// A value of the input as it is shown on the axis.
    fn across(&self, value: f64) -> f64 {
        self.units.shown(self.dial.knob().unit, value)
    }

    fn text(&self, value: f64) -> String {
        self.units.text(self.dial.knob().unit, value)
    }

    /// What came of a strategy at each value; nothing where the scenario cannot be evaluated there.
    fn of(&self, place: usize) -> impl Iterator<Item = (f64, Option<&Tried>)> {
        self.points
            .iter()
            .map(move |point| (point.value, point.tried.as_ref().ok().and_then(|tried| tried.get(place))))
    }

    /// Where the input stands now in a strategy; nothing where it differs from pass to pass.
    ///
    /// # Units
    /// - returns: the knob's own, as it is stored
    pub fn present(&self, place: usize) -> Option<f64> {
        self.dial.on(self.scenario, self.scenario.strategies[place].id)?.value(self.scenario)
    }

    /// From where to where a strategy meets the requirement, in words; nothing where it nowhere does.
    pub fn meets_text(&self, place: usize) -> Option<String> {
        let ranges = self.ranges_text(&meeting_ranges(self.points, place))?;
        Some(format!("meets {ranges}"))
    }

    /// Where limits hold of a strategy on part of the axis, a row for each limit.
    fn capped(&self, place: usize) -> impl Iterator<Item = Under> {
        Cap::ALL.into_iter().filter_map(move |cap| self.capped_by(place, cap))
    }

    fn capped_by(&self, place: usize, cap: Cap) -> Option<Under> {
        let tried: Vec<(f64, bool)> = self
            .of(place)
            .map(|(value, tried)| (value, tried.is_some_and(|tried| tried.caps.contains(&cap))))
            .collect();
        // What holds everywhere tells nothing of the input.
        if tried.iter().all(|(_, holds)| *holds) {
            return None;
        }
        let runs: Vec<(f64, f64)> = tried
            .chunk_by(|a, b| a.1 == b.1)
            .filter(|run| run[0].1)
            .map(|run| (run[0].0, run[run.len() - 1].0))
            .collect();
        let strategy = &self.scenario.strategies[place];
        let name = format!("{} is capped by {} {}", strategy.name, cap.name(), self.ranges_text(&runs)?);
        let span = |(from, to): &(f64, f64)| Span {
            name: cap.name().to_owned(),
            across: [self.across(*from), self.across(*to)],
        };
        let across = runs.iter().map(span).collect();
        Some(Under { name, kind: UnderKind::Capped, tone: tone(self.scenario, place), across })
    }

    /// "from 20 to 30° and at 45°"; nothing for none. Where a range may go on beyond what is looked at, that is said.
    fn ranges_text(&self, ranges: &[(f64, f64)]) -> Option<String> {
        let ends = [self.points.first()?.value, self.points.last()?.value];
        let bounds = self.dial.bounds(self.scenario);
        let open = |value: f64, end: f64, bound: f64, word: &str| {
            let goes_on = value == end && value != bound;
            if goes_on { format!("{} or {word}", self.text(value)) } else { self.text(value) }
        };
        let told = |(from, to): &(f64, f64)| match (*from == ends[0], *to == ends[1]) {
            (true, true) => "all over this range".to_owned(),
            _ if from == to => format!("at {}", self.text(*from)),
            _ => format!(
                "from {} to {}",
                open(*from, ends[0], bounds.0, "less"),
                open(*to, ends[1], bounds.1, "more")
            ),
        };
        let told: Vec<String> = ranges.iter().map(told).collect();
        let told: Vec<&str> = told.iter().map(String::as_str).collect();
        (!told.is_empty()).then(|| listed(&told))
    }
}

/// One figure over the input, a line for each strategy: what is required, what stands now, and below the axis where the
/// requirement is met and where a limit holds.
pub fn sweep_chart(sweep: &SweepOf<'_>, of: MeasureId) -> Chart {
    let (row, knob) = (measure(of), sweep.dial.knob());
    let SweepOf { scenario, units, .. } = *sweep;
    let shown = |tried: Option<&Tried>| {
        tried.and_then(|tried| tried.figure(of)).map(|figure| units.shown(row.unit, figure))
    };
    let limit = asked(scenario, of, units);
    let places = 0..scenario.strategies.len();
    let figures: Vec<f64> = places
        .clone()
        .flat_map(|place| sweep.of(place).filter_map(|(_, tried)| shown(tried)).collect::<Vec<_>>())
        .chain(limit.iter().map(|(at, _)| *at))
        .collect();
    let ends = [sweep.points.first(), sweep.points.last()].map(|end| end.map_or(0.0, |point| point.value));
    let across = Axis::new(
        knob.whole,
        units.scale(knob.unit).sign,
        sweep.across(ends[0].min(ends[1])),
        sweep.across(ends[0].max(ends[1])),
    );
    let title = format!("{} over {}", row.name, within(knob.whole));
    let mut chart = Chart::new(title, spoken(sweep, of), across, axis(row, units, figures));
    for place in places {
        let (name, tone) = (scenario.strategies[place].name.clone(), tone(scenario, place));
        let points = stairs(sweep, place, row.unit, shown);
        if let Some(now) = present(sweep, place, shown) {
            chart.marks.push(Mark { name: name.clone(), tone, at: now });
        }
        let meets = meeting_ranges(sweep.points, place).into_iter();
        let span = |(from, to)| Span { name: String::new(), across: [sweep.across(from), sweep.across(to)] };
        let across = meets.map(span).collect();
        let told =
            sweep.meets_text(place).unwrap_or_else(|| "meets nowhere here, as far as known".to_owned());
        let told = format!("{name} {told}");
        chart.under.push(Under { name: told, kind: UnderKind::Meets, tone, across });
        chart.series.push(Series { name, tone, points });
    }
    chart.under.extend((0..scenario.strategies.len()).flat_map(|place| sweep.capped(place)));
    chart.limits.extend(limit.map(|(at, name)| Limit { name, at }));
    chart.present = sweep
        .dial
        .value(scenario)
        .map(|value| Present { name: format!("now {}", sweep.text(value)), at: sweep.across(value) });
    chart
}

/// Steps are not quite upright, as a part of the way between two values: painters round corners that are.
const HAIR: f64 = 0.01;

/// The line of a strategy: straight between two values, and a step midway where strips or battery sets are one more or
/// fewer, or where the figure is a count. Values whose figure is yet to come are passed over.
fn stairs(
    sweep: &SweepOf<'_>,
    place: usize,
    unit: Unit,
    shown: impl Fn(Option<&Tried>) -> Option<f64>,
) -> Vec<[f64; 2]> {
    let mut line: Vec<[f64; 2]> = Vec::new();
    let mut before: Option<&Tried> = None;
    for (value, tried) in sweep.of(place) {
        let figure = shown(tried);
        if figure.is_none() && tried.is_some_and(Tried::is_flown) {
            before = None;
            continue;
        }
        let at = [sweep.across(value), figure.unwrap_or(f64::NAN)];
        let steps = before.zip(tried).is_some_and(|(before, now)| {
            let sets = |tried: &Tried| tried.figure(MeasureId::Sorties);
            unit == Unit::Count || before.strips != now.strips || sets(before) != sets(now)
        });
        if let Some(last) = line.last().copied().filter(|_| steps) {
            let (middle, hair) = (f64::midpoint(last[0], at[0]), HAIR * (at[0] - last[0]));
            line.extend([[middle - hair, last[1]], [middle + hair, at[1]]]);
        }
        line.push(at);
        before = tried;
    }
    line
}

/// The point of the value that stands now, where it is one of them.
fn present(
    sweep: &SweepOf<'_>,
    place: usize,
    shown: impl Fn(Option<&Tried>) -> Option<f64>,
) -> Option<[f64; 2]> {
    let now = sweep.present(place)?;
    let (value, tried) = sweep.of(place).find(|(value, _)| *value == now)?;
    Some([sweep.across(value), shown(tried)?])
}

fn spoken(sweep: &SweepOf<'_>, of: MeasureId) -> String {
    let row = measure(of);
    let told = |(place, strategy): (usize, &obliquity_planning::Strategy)| {
        let figures: Vec<f64> = sweep.of(place).filter_map(|(_, tried)| tried?.figure(of)).collect();
        let known = (!figures.is_empty()).then(|| sweep.units.span(row.unit, figures));
        let figures = known.unwrap_or_else(|| "not known".to_owned());
        let meets = sweep.meets_text(place).map(|told| format!(", {told}")).unwrap_or_default();
        format!("{}: {figures}{meets}", strategy.name)
    };
    let all: Vec<String> = sweep.scenario.strategies.iter().enumerate().map(told).collect();
    format!("{} over {}. {}", row.name, within(sweep.dial.knob().whole), all.join("; "))
}
