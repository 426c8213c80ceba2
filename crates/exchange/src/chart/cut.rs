//! A cut through site and strips.

use super::{Axis, Bar, BarText, Chart, Fill, Limit, Mark, Series, Tone};
use crate::Slots;
use obliquity_planning::cross_section::{Below, CrossSection, FlownAbove};
use obliquity_planning::{Above, Id, Scenario, Unit, Units};

/// So much of the greatest value stays free above it.
const AIR: f64 = 0.06;

/// More places along a line are not told apart in a diagram.
const MOST_SEEN: f64 = 300.0;

/// A figure of what is below a place.
type Figure = fn(&Below) -> Option<f64>;

/// Diagrams of a cut through one pass: heights, GSD straight below, and the overlaps where the pattern has them. Each has the
/// pass as it is set in the strategy's colour, and as it would be flown otherwise in the program's own.
pub fn cut_charts(
    scenario: &Scenario,
    (strategy, pass): (Id, Id),
    section: &CrossSection,
    units: Units,
) -> Vec<Chart> {
    let own = scenario.strategy(strategy).and_then(|own| own.passes.iter().find(|own| own.id == pass));
    let tone = Tone::Strategy(Slots::of(scenario).slot(strategy));
    let cut = CutOf { section, tone, units };
    let mut charts = vec![cut.heights()];
    charts.extend(cut.below(("GSD straight below", Unit::GsdMetres), None, |below| {
        (below.above_m > 0.0).then_some(below.gsd_m)
    }));
    let set = |of: fn(&obliquity_planning::Pass) -> f64| own.map(of);
    charts.extend(cut.below(("Forward overlap", Unit::Share), set(|own| own.forward_overlap), |below| {
        Some(below.overlaps?.0)
    }));
    charts
        .extend(cut.below(("Sidelap", Unit::Share), set(|own| own.sidelap), |below| Some(below.overlaps?.1)));
    charts
}

/// What heights are above, in words.
fn above(one: &FlownAbove) -> &'static str {
    match one.above {
        Above::MeanGround => "one height above the mean ground",
        Above::TakeOff => "one height above the take-off point",
        Above::Ground => "following the ground",
    }
}

/// Places of a line so far apart that each is seen, its ends among them.
fn thinned(line_m: &[[f64; 2]]) -> impl Iterator<Item = [f64; 2]> {
    let last = line_m.last().map_or(0.0, |place| place[0]);
    let mut kept_m = f64::NEG_INFINITY;
    line_m.iter().copied().filter(move |place| {
        let keeps = place[0] - kept_m > last / MOST_SEEN || place[0] == last;
        if keeps {
            kept_m = place[0];
        }
        keeps
    })
}

struct CutOf<'a> {
    section: &'a CrossSection,
    tone: Tone,
    units: Units,
}

impl CutOf<'_> {
    fn across(&self) -> Axis {
        let length_m = self.section.from_m.distance(self.section.to_m);
        let sign = self.units.scale(Unit::Metres).sign;
        Axis::new("Along the line", sign, 0.0, self.units.shown(Unit::Metres, length_m))
    }

    fn place(&self, [along_m, height_m]: [f64; 2]) -> [f64; 2] {
        [self.units.shown(Unit::Metres, along_m), self.units.shown(Unit::Metres, height_m)]
    }

    /// As it is set, and as it would be flown otherwise.
    fn flown(&self) -> impl Iterator<Item = (&FlownAbove, Tone, String)> {
        let tones = [self.tone, Tone::Accent];
        let names = ["as set", "otherwise"];
        let flown = self.section.flown.iter().zip(tones).zip(names);
        flown.map(|((one, tone), name)| (one, tone, format!("{name}: {}", above(one))))
    }

    fn heights(&self) -> Chart {
        let section = self.section;
        let flown = section.flown.iter().flat_map(|one| one.line_m.iter().chain(&one.crossings_m));
        let tops = section.solids.iter().map(|solid| solid.top_m);
        let all = flown.chain(&section.ground_m).map(|place| place[1]).chain(tops);
        let (low_m, high_m) =
            all.fold((0.0_f64, 0.0_f64), |(low, high), value| (low.min(value), high.max(value)));
        let shown = |value: f64| self.units.shown(Unit::Metres, value);
        let air = AIR * (high_m - low_m);
        let sign = self.units.scale(Unit::Metres).sign;
        let up = Axis::new("Height above the mean ground", sign, shown(low_m - air), shown(high_m + air));
        let floor = up.from;
        let mut chart = Chart::new("Heights".to_owned(), self.told(), self.across(), up);
        chart.bars.extend(section.solids.iter().map(|solid| Bar {
            name: solid.name.clone(),
            text: BarText::None,
            tone: Tone::Muted,
            fill: Fill::Solid,
            across: [shown(solid.along_m.0), shown(solid.along_m.1)],
            up: [solid.bottom_m.map_or(floor, shown), shown(solid.top_m)],
        }));
        let ground = thinned(&section.ground_m).map(|place| self.place(place)).collect();
        chart.series.push(Series { name: "ground".to_owned(), tone: Tone::Ink, points: ground });
        for (one, tone, name) in self.flown() {
            let points = one.line_m.iter().map(|place| self.place(*place)).collect();
            chart.series.push(Series { name: name.clone(), tone, points });
            let crossing = |place: &[f64; 2]| Mark { name: name.clone(), tone, at: self.place(*place) };
            chart.marks.extend(one.crossings_m.iter().map(crossing));
        }
        chart
    }

    /// Least and greatest of what is below each.
    fn told(&self) -> String {
        if let [set, other] = self.section.flown.as_slice()
            && (&set.line_m, &set.crossings_m) == (&other.line_m, &other.crossings_m)
        {
            let heights = self.units.span(Unit::Metres, set.below.iter().map(|below| below.above_m));
            let set = above(set);
            return format!("{set}: {heights} above what is below; {} comes to the same here", above(other));
        }
        let flown = self.flown().map(|(one, _, name)| {
            let span = |unit: Unit, of: fn(&Below) -> f64| self.units.span(unit, one.below.iter().map(of));
            let heights = span(Unit::Metres, |below| below.above_m);
            let gsd = span(Unit::GsdMetres, |below| below.gsd_m);
            format!("{name}: {heights} above what is below, GSD straight below {gsd}")
        });
        flown.collect::<Vec<_>>().join("; ")
    }

    /// One figure along the line; nothing where it is nowhere known.
    fn below(&self, (name, unit): (&str, Unit), set: Option<f64>, of: Figure) -> Option<Chart> {
        let shown = |value: f64| self.units.shown(unit, value);
        let mut series = Vec::new();
        for (one, tone, name) in self.flown() {
            let point = |below: &Below| {
                let along = self.units.shown(Unit::Metres, below.along_m);
                // a line is broken where nothing is known
                [along, of(below).map_or(f64::NAN, shown)]
            };
            series.push(Series { name, tone, points: one.below.iter().map(point).collect() });
        }
        let values = series.iter().flat_map(|one| &one.points).map(|point| point[1]);
        let most = values.filter(|value| value.is_finite()).reduce(f64::max)?;
        let most = set.map_or(most, |set| most.max(shown(set)));
        let up = Axis::new(name, self.units.scale(unit).sign, 0.0, most * (1.0 + AIR));
        let known = |one: &FlownAbove| self.units.span(unit, one.below.iter().filter_map(of));
        let ranges: Vec<String> = self.section.flown.iter().map(known).collect();
        let spoken = format!("{name} along the line: {}", ranges.join(", otherwise "));
        let title = format!("{name}: {}", ranges.first().map_or("–", String::as_str));
        let mut chart = Chart::new(title, spoken, self.across(), up);
        chart.series = series;
        let told = |set: f64| Limit { name: format!("set {}", self.units.text(unit, set)), at: shown(set) };
        chart.limits.extend(set.map(told));
        Some(chart)
    }
}
