//! How far predictions of jobs were off.

use super::{Axis, Bar, BarText, Chart, Fill, Series, Tone};
use obliquity_planning::{LoggedFigure, LoggedFlight};

/// A counted job that is farther off than this times is drawn to here.
const FARTHEST: f64 = 3.0;

/// How bars of the first figures are drawn.
const LOOKS: [(Tone, Fill); 3] =
    [(Tone::Accent, Fill::Solid), (Tone::Muted, Fill::Light), (Tone::Ink, Fill::Rising)];

/// A job, and what came of its figures over what was predicted.
#[derive(Debug, Clone, PartialEq)]
pub struct OffJob {
    /// Its name.
    pub name: String,
    /// Of each figure, where it is known.
    pub ratios: Vec<Option<f64>>,
    /// Whether it counts, or is far from all others.
    pub counts: JobCounts,
}

/// Whether a job counts in a fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobCounts {
    /// It does.
    Counted,
    /// It is far from all others.
    LeftOut,
}

/// Flights as [`off_chart`] draws them.
///
/// # Units
/// - `left_out`: places of flights that are not counted, far from all others
pub fn flown_chart(flights: &[LoggedFlight], left_out: &[usize]) -> Chart {
    let job = |(at, flight): (usize, &LoggedFlight)| OffJob {
        name: flight.name.clone(),
        ratios: LoggedFigure::ALL.map(|of| flight.ratio(of)).to_vec(),
        counts: if left_out.contains(&at) { JobCounts::LeftOut } else { JobCounts::Counted },
    };
    let jobs: Vec<OffJob> = flights.iter().enumerate().map(job).collect();
    off_chart("planned", &LoggedFigure::ALL.map(LoggedFigure::name), &jobs)
}

/// What came over what was `predicted`: a row for each job, the first on top, a bar for each figure that is known, from a line where
/// it came as predicted.
pub fn off_chart(predicted: &str, figures: &[&str], jobs: &[OffJob]) -> Chart {
    // jobs that are not counted do not press the others together: they are drawn to the edge
    let counted = jobs.iter().filter(|job| job.counts == JobCounts::Counted);
    let ratios =
        counted.flat_map(|job| &job.ratios).flatten().map(|ratio| ratio.clamp(1.0 / FARTHEST, FARTHEST));
    let (low, high) = ratios.fold((0.9_f64, 1.1_f64), |(low, high), at| (low.min(at), high.max(at)));
    let air = 0.12 * (high - low);
    let (from, to) = (low - air, high + air);
    let shown = |ratio: f64| ratio.clamp(from + 0.75 * air, to - 0.75 * air);
    let is_told = |at: &usize| jobs.iter().any(|job| job.ratios.get(*at).is_some_and(Option::is_some));
    let told: Vec<usize> = (0..figures.len()).filter(is_told).collect();
    let names: Vec<&str> = told.iter().map(|at| figures[*at]).collect();
    let order = if names.len() > 1 { "; from above in each row: " } else { ": " };
    let across =
        Axis::new(&format!("How it came, over {predicted}{order}{}", names.join(", ")), "", from, to);
    let name = |job: &OffJob| match job.counts {
        JobCounts::Counted => job.name.clone(),
        JobCounts::LeftOut => format!("{}, not counted", job.name),
    };
    let up = Axis::of_names("", jobs.iter().rev().map(name));
    let title = "How far predictions were off".to_owned();
    let spoken = format!("{title}, what came over what was {predicted}. {}.", in_words(figures, jobs));
    let mut chart = Chart::new(title, spoken, across, up);
    let rows = jobs.len().max(1) as f64;
    let line = vec![[1.0, -0.5], [1.0, rows - 0.5]];
    chart.series.push(Series { name: format!("as {predicted}"), tone: Tone::Ink, points: line });
    let high_each = 0.8 / told.len().max(1) as f64;
    for (row, job) in (0..).map(f64::from).zip(jobs.iter().rev()) {
        for (slot, &figure) in told.iter().enumerate() {
            let Some(ratio) = job.ratios.get(figure).copied().flatten() else { continue };
            let (tone, fill) = LOOKS[figure % LOOKS.len()];
            let text = format!("{ratio:.2}");
            let top = row + 0.4 - high_each * slot as f64;
            chart.bars.push(Bar {
                name: format!("{}: {} came {text} times as {predicted}", job.name, figures[figure]),
                text: if slot == 0 { BarText::Beyond(text) } else { BarText::None },
                tone,
                fill,
                across: [1.0, shown(ratio)],
                up: [top - high_each, top],
            });
        }
    }
    chart
}

/// Every job in words.
fn in_words(figures: &[&str], jobs: &[OffJob]) -> String {
    let one = |job: &OffJob| {
        let known = figures.iter().zip(&job.ratios);
        let parts = known.filter_map(|(name, ratio)| Some(format!("{name} {:.2}", (*ratio)?)));
        let far = if job.counts == JobCounts::LeftOut { ", not counted" } else { "" };
        format!("{}: {}{far}", job.name, parts.collect::<Vec<_>>().join(", "))
    };
    jobs.iter().map(one).collect::<Vec<_>>().join("; ")
}
