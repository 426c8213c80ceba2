//! A year of fleets over the number of jobs of a kind, and what would turn the answer.

use super::{
    Axis, Bar, BarText, Chart, Fill, Mark, NumberMark, Present, Series, Span, Tone, Under, UnderKind,
};
use crate::money_text::{lever_text, lever_value, swing_matters, switching_text};
use obliquity_planning::money::{FleetCase, Lever, MOST_JOBS, Swing};
use obliquity_planning::wording::{count, listed, short};

/// Lines have at most so many steps.
const STEPS: f64 = 240.0;

/// What a year of a fleet comes to over the number of jobs of a kind.
struct MoneyLine {
    /// Jobs a year, and what is left then.
    points: Vec<[f64; 2]>,
    /// From how many jobs on the days of the year do not hold all of them; nothing where they do as far as the line goes.
    full_from: Option<f64>,
    /// Where it crosses the line of the kept fleet.
    crossings: Vec<[f64; 2]>,
}

/// A case with other numbers of jobs of a kind.
struct Along<'a> {
    case: &'a FleetCase,
    job: usize,
}

impl Along<'_> {
    fn counts(&self, jobs: f64) -> Vec<f64> {
        let mut counts = self.case.counts();
        counts[self.job] = jobs;
        counts
    }

    /// The kept fleet's own result, and for another what it leaves more: hours saved count as the firm has said.
    fn result(&self, fleet: usize, jobs: f64) -> f64 {
        let kept = self.case.year(0, &self.counts(jobs)).result();
        if fleet == 0 { kept } else { kept + self.gain(fleet, jobs) }
    }

    fn gain(&self, fleet: usize, jobs: f64) -> f64 {
        self.case.gain(fleet, &self.counts(jobs)).total()
    }

    /// As many jobs as the axis has: twice those there are, and where days run out if that is not far.
    fn most(&self) -> f64 {
        let least = (2.0 * self.case.jobs[self.job].count).max(10.0);
        let fulls = (0..self.case.fleets.len()).filter_map(|fleet| self.case.full_from(fleet, self.job));
        let near = fulls.filter(|full| *full < 3.0 * least).map(|full| 1.15 * full);
        near.fold(least, f64::max).ceil().min(f64::from(MOST_JOBS))
    }

    fn line(&self, fleet: usize, most: f64) -> MoneyLine {
        let step = (most / STEPS).ceil().max(1.0);
        let whole = (0..).map(f64::from).map(|k| k * step).take_while(|at| *at < most);
        let fulls = [0, fleet]
            .into_iter()
            .filter_map(|own| self.case.full_from(own, self.job))
            .filter(|full| *full < most);
        let mut places: Vec<f64> = whole.chain(fulls).chain([most]).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let points = places.iter().map(|at| [*at, self.result(fleet, *at)]).collect();
        let crossings = if fleet == 0 { Vec::new() } else { self.crossings(fleet, &places) };
        MoneyLine {
            points,
            full_from: self.case.full_from(fleet, self.job).filter(|full| *full < most),
            crossings,
        }
    }

    fn crossings(&self, fleet: usize, places: &[f64]) -> Vec<[f64; 2]> {
        let gains: Vec<f64> = places.iter().map(|at| self.gain(fleet, *at)).collect();
        let pairs = places.windows(2).zip(gains.windows(2));
        let crossing = pairs.filter(|(_, gain)| (gain[0] < 0.0) != (gain[1] < 0.0)).map(|(at, gain)| {
            let share = gain[0] / (gain[0] - gain[1]);
            let jobs = at[0] + share * (at[1] - at[0]);
            [jobs, self.result(0, jobs)]
        });
        crossing.collect()
    }
}

/// What the fleets leave in a year over the number of jobs of a kind: a line each, marked where one crosses that of the kept
/// fleet and where the days of the year are full.
///
/// # Units
/// - `job`: place in [`FleetCase::jobs`]
pub fn yearly_chart(case: &FleetCase, job: usize) -> Chart {
    let along = Along { case, job };
    let (kind, most) = (&case.jobs[job], along.most());
    let lines: Vec<MoneyLine> = (0..case.fleets.len()).map(|fleet| along.line(fleet, most)).collect();
    let across = Axis::new(&format!("Jobs of {} a year", kind.name), "", 0.0, most);
    let values = || lines.iter().flat_map(|line| &line.points).map(|point| point[1]);
    let (low, high) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    let air = 0.06 * (high - low).max(1.0);
    let name = format!("Result of a year before overheads, {}", case.firm.currency);
    let up = Axis::new(&name, "", low - air, high + air);
    let title = format!("Result of a year over jobs of {}", kind.name);
    let spoken = format!("{title}. {}.", told(case, job, &lines).join("; "));
    let mut chart = Chart::new(title, spoken, across, up);
    let present = Present { name: format!("now {}", short(kind.count)), at: kind.count };
    chart.present = Some(present).filter(|present| present.at <= most);
    for (fleet, line) in lines.iter().enumerate() {
        let (name, tone) = (&case.fleets[fleet].name, Tone::Strategy(fleet));
        for at in &line.crossings {
            let name = format!("{name}: as good as keeping at {} jobs", short(at[0]));
            chart.marks.push(Mark { name, tone: Tone::Ink, at: *at });
        }
        if let Some(full) = line.full_from {
            let name = format!("{name}: the days of the year are full from {} jobs on", short(full));
            let at = [full, along.result(fleet, full)];
            chart.marks.push(Mark { name: name.clone(), tone: Tone::Muted, at });
            let span = Span { name: "days are full".to_owned(), across: [full, most] };
            chart.under.push(Under { name, kind: UnderKind::Capped, tone, across: vec![span] });
        }
        // side by side, so that those of lines that lie upon each other are all to be read
        let at = most * (0.98 - 0.05 * (lines.len() - 1 - fleet) as f64).max(0.02);
        let number = NumberMark { name: name.clone(), slot: fleet, at: [at, along.result(fleet, at)] };
        chart.numbers.push(number);
        chart.series.push(Series { name: name.clone(), tone, points: line.points.clone() });
    }
    chart
}

/// The chart in words, a part for each fleet.
fn told(case: &FleetCase, job: usize, lines: &[MoneyLine]) -> Vec<String> {
    let counts = case.counts();
    let one = |(fleet, line): (usize, &MoneyLine)| {
        let mut parts = Vec::new();
        if fleet == 0 {
            parts.push(format!("{} now", count(case.year(fleet, &counts).result())));
        } else {
            parts.push(format!("{} more than kept now", count(case.gain(fleet, &counts).total())));
            let crossings: Vec<String> = line.crossings.iter().map(|at| short(at[0])).collect();
            let crossings: Vec<&str> = crossings.iter().map(String::as_str).collect();
            parts.push(if crossings.is_empty() {
                "crosses the kept one nowhere".to_owned()
            } else {
                format!("crosses the kept one at {}", listed(&crossings))
            });
        }
        if let Some(full) = line.full_from {
            parts.push(format!("days are full from {} jobs of {} on", short(full), case.jobs[job].name));
        }
        format!("{}: {}", case.fleets[fleet].name, parts.join(", "))
    };
    lines.iter().enumerate().map(one).collect()
}

/// What each unsure number does to what a fleet leaves more than the kept one, the widest on top: grey to its 10th, coloured to its
/// 90th percentile; beside its name where it turns the answer. A line stands where nothing is gained.
///
/// # Units
/// - `fleet`: place in [`FleetCase::fleets`]
pub fn swing_chart(case: &FleetCase, fleet: usize, swings: &[Swing]) -> Chart {
    let now = case.gain(fleet, &case.counts()).total();
    let shown: Vec<&Swing> = swings.iter().filter(|swing| swing_matters(swing)).rev().collect();
    let ends = shown.iter().flat_map(|swing| [swing.at_p10, swing.at_p90]).chain([now, 0.0]);
    let (low, high) =
        ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
    let air = 0.2 * (high - low).max(1.0);
    let name = format!("More than keeping, {} a year; below 0 it costs more", case.firm.currency);
    let across = Axis::new(&name, "", low - air, high + air);
    let name = |swing: &&Swing| {
        let turns = switching_text(swing).replace("the answer turns", "turns");
        match swing.lever {
            Lever::SiteTime | Lever::MachineTime => format!("{}: {turns}", lever_text(&swing.lever)),
            _ => {
                let value = swing.lever.value(case).map(|value| lever_value(&swing.lever, value));
                format!("{}, now {}: {turns}", lever_text(&swing.lever), value.unwrap_or_default())
            }
        }
    };
    let names: Vec<String> = shown.iter().map(name).collect();
    let title = format!("What would turn the answer: {}", case.fleets[fleet].name);
    let spoken: Vec<&str> = names.iter().rev().map(String::as_str).collect();
    let spoken = format!("{title}. {}.", spoken.join("; "));
    let rows = names.len().max(1) as f64;
    let mut chart = Chart::new(title, spoken, across, Axis::of_names("", names));
    chart.present = Some(Present { name: format!("now {}", count(now).replace('-', "−")), at: now });
    let zero = vec![[0.0, -0.5], [0.0, rows - 0.5]];
    chart.series.push(Series { name: "nothing gained".to_owned(), tone: Tone::Ink, points: zero });
    for (place, swing) in (0..).map(f64::from).zip(&shown) {
        let sides = [
            (swing.p10, swing.at_p10, Tone::Muted, [0.0, 0.36], "10th percentile"),
            (swing.p90, swing.at_p90, Tone::Accent, [-0.36, 0.0], "90th percentile"),
        ];
        for (value, gain, tone, half, which) in sides {
            let value = lever_value(&swing.lever, value);
            chart.bars.push(Bar {
                name: format!("{} {value} ({which}): {} a year", lever_text(&swing.lever), count(gain)),
                text: BarText::Beyond(value),
                tone,
                fill: Fill::Solid,
                across: [now, gain],
                up: half.map(|half| place + half),
            });
        }
    }
    chart
}
