//! Expected accuracy against the number of control points, and what each number takes on site.

use super::{Axis, Chart, Limit, Mark, Present, Series, Tone};
use obliquity_planning::what_if::{CONTROL_COUNTS, ControlTrial};
use obliquity_planning::{Accuracy, Depth, Units, wording};

/// Millimetres of metres.
const MM: f64 = 1000.0;

/// Names closer than this share of the axis would run into each other.
const NAME_ROOM: f64 = 0.16;
/// Beyond the last number there is room for half of its name.
const BEYOND: f64 = 1.1;

/// Whether any of them is only a first look.
fn is_preview(trials: &[ControlTrial]) -> bool {
    trials.iter().any(|trial| trial.depth == Depth::Preview)
}

/// How many and what they take on site, at each number for which there is room.
fn names(trials: &[ControlTrial], last: f64) -> Vec<(f64, String)> {
    let mut names: Vec<(f64, String)> = Vec::new();
    for trial in trials {
        let at = f64::from(trial.points);
        if names.last().is_none_or(|(before, _)| at - before >= NAME_ROOM * last) {
            let name = match trial.points {
                0 => "none".to_owned(),
                points => format!("{points}: {}", wording::minutes(trial.on_site_s)),
            };
            names.push((at, name));
        }
    }
    names
}

/// A line through what is known at each number.
fn line(name: &str, tone: Tone, points: impl Iterator<Item = (f64, Option<f64>)>) -> Series {
    let at = |(count, error): (f64, Option<f64>)| [count, error.map_or(f64::NAN, f64::log10)];
    Series { name: name.to_owned(), tone, points: points.map(at).collect() }
}

/// A diagram of expected accuracy over numbers of control points and what they take on site, with what is asked; `placed` are on
/// the plan. Equal steps upward are equal ratios.
///
/// # Units
/// - `trials`: in ascending order of their numbers
pub fn control_chart(trials: &[ControlTrial], asked: &Accuracy, placed: u32, units: Units) -> Chart {
    let shown = |metres: f64| units.error_form().shown(MM * metres);
    let numbered = |trial: &ControlTrial| f64::from(trial.points);
    // All that are going to be tried have their place from the first on.
    let tried = CONTROL_COUNTS.into_iter().max().map_or(1.0, f64::from);
    let last = trials.last().map_or(tried, numbered).max(tried).max(f64::from(placed));
    let across = Axis {
        names: names(trials, last),
        ..Axis::new("Control points, spread over the site: time on site for them", "", 0.0, BEYOND * last)
    };
    let vertical =
        line("vertical RMSE", Tone::Accent, trials.iter().map(|t| (numbered(t), t.vertical_m.map(shown))));
    let horizontal =
        line("horizontal RMSE", Tone::Ink, trials.iter().map(|t| (numbered(t), t.horizontal_m.map(shown))));
    let limits: Vec<(Limit, f64)> =
        [("vertical", asked.vertical_rmse_m()), ("horizontal", asked.horizontal_rmse_m())]
            .into_iter()
            .filter_map(|(name, limit_m)| {
                let limit_m = limit_m?;
                let text = units.error_form().limit(MM * limit_m);
                Some((
                    Limit { name: format!("{name} RMSE {text} required"), at: shown(limit_m).log10() },
                    limit_m,
                ))
            })
            .collect();
    let known = [&vertical, &horizontal].into_iter().flat_map(|line| &line.points).map(|[_, up]| *up);
    let all: Vec<f64> =
        known.filter(|up| up.is_finite()).chain(limits.iter().map(|(limit, _)| limit.at)).collect();
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
    let up = Axis {
        names: powers(low - 0.1, high + 0.1),
        ..Axis::new("Expected RMSE, log scale", units.error_form().sign, low - 0.1, high + 0.1)
    };
    let look = if is_preview(trials) { ", preview" } else { "" };
    let title = format!("Accuracy against control points{look}");
    let spoken = format!("{title}. {}", control_text(trials, asked, units));
    let marks = [&vertical, &horizontal].into_iter().flat_map(|line| {
        let at = line.points.iter().filter(|at| at[1].is_finite());
        at.map(|&at| Mark { name: line.name.clone(), tone: line.tone, at })
    });
    let marks = marks.collect();
    let present = Present { name: format!("{placed} on the plan"), at: f64::from(placed) };
    Chart {
        series: vec![vertical, horizontal],
        limits: limits.into_iter().map(|(limit, _)| limit).collect(),
        present: Some(present),
        marks,
        ..Chart::new(title, spoken, across, up)
    }
}

/// 1, 2 and 5 with zeros between two powers of ten, each at its logarithm.
fn powers(from: f64, to: f64) -> Vec<(f64, String)> {
    let steps = (from.floor() as i32..=to.ceil() as i32)
        .flat_map(|power| [1.0_f64, 2.0, 5.0].map(|step| step * 10_f64.powi(power)));
    let within = steps.map(|value| (value.log10(), value)).filter(|(at, _)| (from..=to).contains(at));
    // The last bits of powers of ten are no decimals.
    within.map(|(at, value)| (at, format!("{}", (value * 1e6).round() / 1e6))).collect()
}

/// What the numbers tried come to, in a sentence: the fewest that are accurate enough, what they take on site, and what fewer
/// would give. Of a first look it says so.
pub fn control_text(trials: &[ControlTrial], asked: &Accuracy, units: Units) -> String {
    let look = if is_preview(trials) { "Preview, from fewer tie points: " } else { "" };
    format!("{look}{}", told(trials, asked, units))
}

fn told(trials: &[ControlTrial], asked: &Accuracy, units: Units) -> String {
    let minutes = |trial: &ControlTrial| wording::minutes(trial.on_site_s);
    let points = |count: u32| match count {
        0 => "no control point".to_owned(),
        1 => "1 control point".to_owned(),
        many => format!("{many} control points"),
    };
    let errors = |trial: &ControlTrial| match trial.horizontal_m.zip(trial.vertical_m) {
        Some((horizontal_m, vertical_m)) => {
            format!("{} horizontally and {} vertically", units.error(horizontal_m), units.error(vertical_m))
        }
        None => "nothing that holds the block".to_owned(),
    };
    let (Some(first), Some(last)) = (trials.first(), trials.last()) else { return String::new() };
    if !asked.is_asked() {
        let more = |trial: &ControlTrial| {
            format!("with {}, {} on site: {}", points(trial.points), minutes(trial), errors(trial))
        };
        // What the first few bring, which is most, and what many do.
        let later = trials.get(1).into_iter().chain(trials.get(2..).and_then(|rest| rest.last())).map(more);
        let own = format!("Expected with {}: {}", points(first.points), errors(first));
        let all: Vec<String> = std::iter::once(own).chain(later).collect();
        return format!("{}. No accuracy is required.", all.join("; "));
    }
    match trials.iter().find(|trial| trial.meets(asked)) {
        Some(fewest) if fewest.points == first.points => {
            format!("Expected to be accurate enough with {}: {}.", points(first.points), errors(first))
        }
        Some(fewest) => {
            let fewer = trials.iter().rev().find(|trial| trial.points < fewest.points).unwrap_or(first);
            format!(
                "{} are the fewest of those tried that are expected to be accurate enough: {}, for {} on site; with {}: {}.",
                points(fewest.points),
                errors(fewest),
                minutes(fewest),
                points(fewer.points),
                errors(fewer)
            )
        }
        None => format!(
            "None of the numbers tried is expected to be accurate enough; with {}, {} on site: {}.",
            points(last.points),
            minutes(last),
            errors(last)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trials() -> Vec<ControlTrial> {
        let of = |points: u32| ControlTrial {
            points,
            on_site_s: 360.0 * f64::from(points),
            horizontal_m: Some(0.02),
            vertical_m: Some(0.08 / f64::from(points + 1)),
            depth: Depth::Network,
        };
        CONTROL_COUNTS.map(of).to_vec()
    }

    fn asked(vertical_m: f64) -> Accuracy {
        Accuracy { vertical_m: Some(vertical_m), ..Accuracy::default() }
    }

    /// Derived: 80 mm over one more than the points: 16 mm with 4 and 13.3 mm with 5, which take 30 min of 6 min each.
    #[test]
    fn the_fewest_that_are_accurate_enough_are_told_with_their_time() {
        let told = |limit_m| control_text(&trials(), &asked(limit_m), Units::Metric);
        let fewest = told(0.015);
        assert!(fewest.starts_with("5 control points are the fewest"), "{fewest}");
        assert!(
            fewest.contains("30 min on site") && fewest.contains("with 4 control points: 20 mm"),
            "{fewest}"
        );
        assert!(told(0.1).starts_with("Expected to be accurate enough with no control point"));
        assert!(
            told(0.001).starts_with("None of the numbers tried") && told(0.001).contains("96 min on site")
        );
        let open = control_text(&trials(), &Accuracy::default(), Units::Metric);
        assert!(open.contains("No accuracy is required"), "{open}");
        assert!(open.contains("with 4 control points, 24 min on site: 20 mm"), "{open}");
        let mut first_look = trials();
        first_look[3].depth = Depth::Preview;
        let told = control_text(&first_look, &asked(0.015), Units::Metric);
        assert!(told.starts_with("Preview, from fewer tie points: 5 control points"), "{told}");
        assert!(control_chart(&first_look, &asked(0.015), 0, Units::Metric).title.ends_with("preview"));
    }

    /// Derived: 6 min a point; 5 stands too close to 4 for a name; every number tried has its dots.
    #[test]
    fn numbers_stand_with_the_time_that_they_take() {
        let chart = control_chart(&trials(), &asked(0.015), 0, Units::Metric);
        let names: Vec<&str> = chart.across.names.iter().map(|(_, name)| name.as_str()).collect();
        assert_eq!(names, ["none", "4: 24 min", "8: 48 min", "12: 72 min", "16: 96 min"]);
        assert_eq!(chart.marks.len(), 2 * CONTROL_COUNTS.len());
    }

    /// Derived: lines go through logarithms of millimetres, or of inches; the requirement lies at its own; what is not known breaks
    /// the line.
    #[test]
    fn the_diagram_is_logarithmic_and_has_the_requirement() {
        let mut trials = trials();
        trials[0].vertical_m = None;
        for (units, per_mm) in [(Units::Metric, 1.0_f64), (Units::UsCustomary, 1.0 / 25.4)] {
            let chart = control_chart(&trials, &asked(0.015), 4, units);
            let [across, up] = chart.series[0].points[1];
            assert!((up - (16.0 * per_mm).log10()).abs() < 1e-12 && across.total_cmp(&4.0).is_eq(), "{up}");
            assert!(chart.series[0].points[0][1].is_nan());
            assert!((chart.limits[0].at - (15.0 * per_mm).log10()).abs() < 1e-12);
            assert!(chart.up.title().contains("log scale"));
            assert!(chart.up.names.len() >= 2, "{:?}", chart.up.names);
            for (at, name) in &chart.up.names {
                let value: f64 = name.parse().expect("a number");
                assert!((value.log10() - at).abs() < 1e-9 && (chart.up.from..=chart.up.to).contains(at));
            }
        }
    }
}
