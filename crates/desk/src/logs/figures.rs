//! What is fitted to a log, worked out beside the window.

use obliquity_exchange::chart::{Chart, JobCounts, OffJob, flown_chart, off_chart};
use obliquity_exchange::{
    CellFault, LogKind, LogSheet, calibrated_text, correction_rows, factor_text, interval_text, not_told,
    rates_to_set,
};
use obliquity_planning::wording::off_by;
use obliquity_planning::{
    FittedFlights, FittedRates, LoggedFlight, ProcessedJob, ProcessingStage, StageRates, fit_flights,
    fit_rates,
};
use std::sync::Arc;

/// Jobs that a diagram has room for; of more the last are drawn.
const MOST_DRAWN: usize = 60;

/// Rows with something wrong that are told of.
const MOST_TOLD: usize = 12;

/// What a row is to the fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowStanding {
    /// It counts.
    Counted,
    /// It is far from all others and does not count.
    LeftOut,
    /// Its cells cannot be read.
    Wrong(Vec<CellFault>),
    /// It is of another aircraft.
    OfAnother,
}

/// What was fitted.
#[derive(Debug, Clone, PartialEq)]
pub enum FittedLog {
    /// Rates of processing.
    Rates(Box<FittedRates>),
    /// Corrections of flights.
    Flights(Box<FittedFlights>),
}

/// A line of what is fitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FitLine {
    /// What it is.
    pub name: String,
    /// Its value.
    pub value: String,
    /// Its interval, or how far it may be off.
    pub sure: String,
    /// Jobs that it rests on.
    pub jobs: usize,
}

/// What is worked out of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogFigures {
    /// The log that it is of.
    pub sheet: Arc<LogSheet>,
    /// What each row is.
    pub rows: Vec<RowStanding>,
    /// Aircraft that the log names, in the order of the alphabet.
    pub aircraft: Vec<String>,
    /// The fit, or why there is none.
    pub fitted: Result<FittedLog, String>,
    /// What it comes to, in a sentence.
    pub sentence: String,
    /// What is fitted, line by line.
    pub lines: Vec<FitLine>,
    /// What else is to be known.
    pub notes: Vec<String>,
    /// What is wrong with rows, and which are far from the others, in sentences.
    pub troubles: Vec<String>,
    /// How far predictions were off; nothing where no job tells it.
    pub chart: Option<Chart>,
}

impl LogFigures {
    /// Of a log. Rates that jobs do not tell are `assumed`; of flown jobs only those of an aircraft count, where one is chosen.
    pub fn new(sheet: &Arc<LogSheet>, aircraft: Option<&str>, assumed: &StageRates) -> Self {
        match sheet.kind {
            LogKind::Processed => processed(sheet, assumed),
            LogKind::Flown => flown(sheet, aircraft),
        }
    }
}

/// Jobs that can be read with their rows, and what each row is so far.
fn read<T>(
    sheet: &LogSheet,
    of: impl Fn(usize) -> Result<T, Vec<CellFault>>,
) -> (Vec<(usize, T)>, Vec<RowStanding>) {
    let (mut jobs, mut rows) = (Vec::new(), Vec::new());
    for row in 0..sheet.rows.len() {
        match of(row) {
            Ok(job) => {
                jobs.push((row, job));
                rows.push(RowStanding::Counted);
            }
            Err(faults) => rows.push(RowStanding::Wrong(faults)),
        }
    }
    (jobs, rows)
}

fn processed(sheet: &Arc<LogSheet>, assumed: &StageRates) -> LogFigures {
    let (read, mut rows) = read(sheet, |row| sheet.processed(row));
    let (places, jobs): (Vec<usize>, Vec<ProcessedJob>) = read.into_iter().unzip();
    let fitted = fit_rates(&jobs, assumed).map_err(|error| error.to_string());
    let mut left_out: Vec<usize> = Vec::new();
    let (mut lines, mut notes, mut sentence) = (Vec::new(), Vec::new(), String::new());
    if let Ok(fitted) = &fitted {
        let all = fitted.stages.iter().flatten().chain(&fitted.whole);
        left_out.extend(all.flat_map(|own| &own.left_out));
        left_out.sort_unstable();
        left_out.dedup();
        let (count, within) = fitted.sureness();
        sentence = format!("Hours {}, from {count} jobs.", off_by(within));
        let told = calibrated_text(fitted);
        notes
            .push(format!("Hours will say \"{told}\": the interval that would hold in 95 of 100 such logs."));
        lines = rate_lines(fitted);
        if !fitted.tells_stages() {
            let note = "Only total hours are told, so one factor is fitted to all stages; with the hours of each stage in \
                        at least 6 jobs they are told apart.";
            notes.push(note.to_owned());
        }
    }
    for at in &left_out {
        rows[places[*at]] = RowStanding::LeftOut;
    }
    let drawn = jobs.len().saturating_sub(MOST_DRAWN);
    let off: Vec<OffJob> = jobs
        .iter()
        .enumerate()
        .skip(drawn)
        .map(|(at, job)| OffJob {
            name: job.name.clone(),
            ratios: vec![job.hours_ratio(assumed)],
            counts: counts(&left_out, at),
        })
        .collect();
    let chart = (!off.is_empty()).then(|| off_chart("reckoned", &["hours"], &off));
    LogFigures {
        sheet: Arc::clone(sheet),
        troubles: troubles(sheet, &rows, drawn),
        rows,
        aircraft: Vec::new(),
        fitted: fitted.map(|fitted| FittedLog::Rates(Box::new(fitted))),
        sentence,
        lines,
        notes,
        chart,
    }
}

/// What a stage's rate is called.
pub(super) fn rate_name(stage: ProcessingStage) -> String {
    format!("{}, h for each {}", stage.name(), stage.work_unit().replace("10^9", "10⁹"))
}

/// The rates, stage by stage, or the one factor.
fn rate_lines(fitted: &FittedRates) -> Vec<FitLine> {
    let set = rates_to_set(fitted);
    if let (false, Some(whole)) = (fitted.tells_stages(), &fitted.whole) {
        return vec![FitLine {
            name: "all stages, factor".to_owned(),
            value: factor_text(whole.factor),
            sure: off_by(whole.within),
            jobs: whole.jobs,
        }];
    }
    let line = |(stage, own): (ProcessingStage, &Option<obliquity_planning::FittedFactor>)| {
        let own = own.as_ref()?;
        Some(FitLine {
            name: rate_name(stage),
            value: set.of(stage).to_string(),
            sure: off_by(own.within),
            jobs: own.jobs,
        })
    };
    ProcessingStage::ALL.into_iter().zip(&fitted.stages).filter_map(line).collect()
}

fn flown(sheet: &Arc<LogSheet>, aircraft: Option<&str>) -> LogFigures {
    let (read, mut rows) = read(sheet, |row| sheet.flight(row));
    let mut names: Vec<String> = read.iter().filter_map(|(_, flight)| flight.aircraft.clone()).collect();
    names.sort_unstable();
    names.dedup();
    // corrections are one aircraft's own
    let chosen = aircraft.map(str::to_owned).or_else(|| names.first().cloned()).filter(|_| names.len() > 1);
    let is_chosen = |flight: &LoggedFlight| chosen.is_none() || flight.aircraft == chosen;
    for (row, flight) in &read {
        if !is_chosen(flight) {
            rows[*row] = RowStanding::OfAnother;
        }
    }
    let (places, flights): (Vec<usize>, Vec<LoggedFlight>) =
        read.into_iter().filter(|(_, flight)| is_chosen(flight)).unzip();
    let fitted = fit_flights(&flights).map_err(|error| error.to_string());
    let (mut left_out, mut lines, mut notes, mut sentence) =
        (Vec::new(), Vec::new(), Vec::new(), String::new());
    if let Ok(fitted) = &fitted {
        left_out = fitted.left_out();
        lines = correction_rows(fitted)
            .into_iter()
            .map(|(name, own)| FitLine {
                name: format!("{name}, factor"),
                value: factor_text(own.value),
                sure: interval_text(own),
                jobs: own.flights,
            })
            .collect();
        let out = match left_out.len() {
            0 => String::new(),
            1 => ", 1 of them far off and not counted".to_owned(),
            many => format!(", {many} of them far off and not counted"),
        };
        sentence = format!("Corrections from {} flights{out}; a factor of 1 is as planned.", fitted.flights);
        notes = not_told(fitted);
    }
    for at in &left_out {
        rows[places[*at]] = RowStanding::LeftOut;
    }
    let drawn = flights.len().saturating_sub(MOST_DRAWN);
    let of_drawn: Vec<usize> = left_out.iter().filter(|at| **at >= drawn).map(|at| at - drawn).collect();
    let chart = (!flights.is_empty()).then(|| flown_chart(&flights[drawn..], &of_drawn));
    LogFigures {
        sheet: Arc::clone(sheet),
        troubles: troubles(sheet, &rows, drawn),
        rows,
        aircraft: names,
        fitted: fitted.map(|fitted| FittedLog::Flights(Box::new(fitted))),
        sentence,
        lines,
        notes,
        chart,
    }
}

fn counts(left_out: &[usize], at: usize) -> JobCounts {
    if left_out.contains(&at) { JobCounts::LeftOut } else { JobCounts::Counted }
}

/// What is wrong with rows, and which are far from the others; of many the first.
fn troubles(sheet: &LogSheet, rows: &[RowStanding], undrawn: usize) -> Vec<String> {
    let name = |row: usize| {
        let cell = sheet.place("job").map(|at| sheet.rows[row][at].as_str()).unwrap_or_default();
        if cell.is_empty() { format!("Row {}", row + 1) } else { format!("Row {}, {cell}", row + 1) }
    };
    let mut all: Vec<String> = Vec::new();
    for (row, standing) in rows.iter().enumerate() {
        match standing {
            RowStanding::Wrong(faults) => {
                all.extend(faults.iter().map(|fault| format!("{}: {}", name(row), fault.message)));
            }
            RowStanding::LeftOut => {
                all.push(format!(
                    "{}: far from the others, not counted. Correct it, or leave it.",
                    name(row)
                ));
            }
            RowStanding::Counted | RowStanding::OfAnother => {}
        }
    }
    let more = all.len().saturating_sub(MOST_TOLD);
    all.truncate(MOST_TOLD);
    if more > 0 {
        all.push(format!("… and {more} more."));
    }
    if undrawn > 0 {
        all.push(format!("The diagram shows the last {MOST_DRAWN} jobs."));
    }
    all
}
