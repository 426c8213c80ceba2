//! What rates a logbook of processed jobs gives, in words and as JSON.

use obliquity_planning::wording::{listed, off_by};
use obliquity_planning::{
    FittedFactor, FittedRates, LEAST_VALUES, ProcessedJob, ProcessingStage, RateCalibration, RateStanding,
    Rates, StageRates, USUAL_NEIGHBOURS,
};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// Figures that rates are written with.
const FIGURES: i32 = 3;

/// On how many jobs rates rest, and how sure hours are: "calibrated on 14 jobs, ±18 %".
pub fn calibrated_text(fitted: &FittedRates) -> String {
    RateStanding::Calibrated(fitted.record(fitted.rates)).told()
}

/// A rate to so many figures as its logs are worth.
fn rounded(rate: f64) -> f64 {
    if rate == 0.0 {
        return 0.0;
    }
    let decimals = (FIGURES - 1 - rate.abs().log10().floor() as i32).clamp(0, 12) as usize;
    format!("{rate:.decimals$}").parse().unwrap_or(rate)
}

/// The rates as they are written into a scenario: to three figures.
pub fn rates_to_set(fitted: &FittedRates) -> StageRates {
    let rates = ProcessingStage::ALL.iter().map(|stage| (*stage, rounded(fitted.rates.of(*stage))));
    rates.fold(fitted.rates, |all, (stage, rate)| all.with(stage, rate))
}

/// The rates of a scenario with those of a fit in their place, and with what they rest on.
#[must_use]
pub fn calibrated(rates: &Rates, fitted: &FittedRates) -> Rates {
    let stages = rates_to_set(fitted);
    Rates { fitted: true, calibration: Some(fitted.record(stages)), stages, ..rates.clone() }
}

/// What stands in a scenario's file for them.
fn rates_ron(fitted: &FittedRates) -> String {
    let rates = rates_to_set(fitted);
    let line =
        |stage: ProcessingStage| format!("        {}: {},\n", stage.rate_key(), written(rates.of(stage)));
    let lines: String = ProcessingStage::ALL.map(line).concat();
    let RateCalibration { jobs, within_factor, by, .. } = fitted.record(rates);
    format!(
        "    rates: (fitted: true, stages: (\n{lines}    ), calibration: (jobs: {jobs}, within_factor: {}, by: {by:?}, stages: (\n\
         {lines}    ))),\n",
        written(within_factor)
    )
}

/// A number with a point.
pub(super) fn written(rate: f64) -> String {
    let text = rate.to_string();
    if text.contains('.') { text } else { format!("{text}.0") }
}

/// Rates with how sure they are, the jobs that do not count, and what to set in a scenario.
pub fn calibration_text(jobs: &[ProcessedJob], fitted: &FittedRates) -> String {
    let mut text = format!("{}.\n", capital(&calibrated_text(fitted)));
    text += "The interval of hours that would hold in 95 of 100 such logs";
    if let Some(whole) = &fitted.whole {
        let _ = write!(text, "; the next single job, {}", off_by(whole.next_within));
    }
    text += ".\n\n";
    if fitted.tells_stages() {
        stages(&mut text, fitted);
    } else if let Some(whole) = &fitted.whole {
        let _ = writeln!(
            text,
            "Total hours alone: all rates that are assumed are multiplied by {}. Stages are not told apart; that needs the \
             hours of each in at least {LEAST_VALUES} jobs.",
            written(rounded(whole.factor))
        );
    }
    if let Some(whole) = fitted.whole.as_ref().filter(|_| fitted.tells_stages()) {
        let _ = writeln!(
            text,
            "\nTotal hours of {} jobs are {} times those of these rates, {}.",
            whole.jobs,
            written(rounded(whole.factor)),
            off_by(whole.within)
        );
    }
    left_out(&mut text, jobs, fitted);
    if jobs.iter().any(|job| job.image_pairs.is_none()) {
        let _ = writeln!(
            text,
            "\nWhere pairs are not logged, {USUAL_NEIGHBOURS} neighbours an image are taken for total hours, and the job does not \
             tell the rate of matching."
        );
    }
    let _ = write!(
        text,
        "\nTo reckon with them, set this in your scenario (screen Logs, or its file; `--into SCENARIO --out FILE` writes one that has it); nothing has been written:\n\n{}",
        rates_ron(fitted)
    );
    text
}

fn stages(text: &mut String, fitted: &FittedRates) {
    let _ = writeln!(text, "{:<12} {:>8}  {:<18} {:<16} jobs", "stage", "hours", "for each", "95 %");
    for (stage, own) in ProcessingStage::ALL.iter().zip(&fitted.stages) {
        let rate = written(rounded(fitted.rates.of(*stage)));
        let (sure, jobs) = match own {
            Some(own) => (off_by(own.within), own.jobs.to_string()),
            None => ("not calibrated".to_owned(), format!("fewer than {LEAST_VALUES}")),
        };
        let _ = writeln!(text, "{:<12} {rate:>8}  {:<18} {sure:<16} {jobs}", stage.name(), stage.work_unit());
    }
}

/// Jobs that are far from all others, and of what.
fn left_out(text: &mut String, jobs: &[ProcessedJob], fitted: &FittedRates) {
    let of_stages = ProcessingStage::ALL.iter().zip(&fitted.stages);
    let all = of_stages
        .filter_map(|(stage, own)| Some((stage.name(), own.as_ref()?)))
        .chain(fitted.whole.as_ref().map(|whole| ("total hours", whole)));
    for (what, own) in all.filter(|(_, own)| !own.left_out.is_empty()) {
        let names: Vec<&str> = own.left_out.iter().map(|at| jobs[*at].name.as_str()).collect();
        let _ = write!(text, "\nFar from the others in {what} and not counted: {}.\n", listed(&names));
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// The same as one object: rates with intervals, and `rates` as they would stand in a scenario.
///
/// # Units
/// - hours for each unit of counted work; factors
pub fn calibration_json(jobs: &[ProcessedJob], fitted: &FittedRates) -> Value {
    let factor = |own: &FittedFactor| {
        let names: Vec<&str> = own.left_out.iter().map(|at| jobs[*at].name.as_str()).collect();
        json!({
            "value": own.factor,
            "low": own.factor / own.within,
            "high": own.factor * own.within,
            "next_job_low": own.factor / own.next_within,
            "next_job_high": own.factor * own.next_within,
            "jobs": own.jobs,
            "left_out": names,
        })
    };
    let of_stages = ProcessingStage::ALL.iter().zip(&fitted.stages);
    let stages: Map<String, Value> = of_stages
        .map(|(stage, own)| (stage.rate_key().to_owned(), json!(own.as_ref().map(factor))))
        .collect();
    let rates = rates_to_set(fitted);
    let record = fitted.record(rates);
    let set: Map<String, Value> = ProcessingStage::ALL
        .iter()
        .map(|stage| (stage.rate_key().to_owned(), json!(rates.of(*stage))))
        .collect();
    json!({
        "jobs": fitted.jobs,
        "told": calibrated_text(fitted),
        "confidence": 0.95,
        "stages": stages,
        "total_hours": fitted.whole.as_ref().map(factor),
        "rates": {
            "fitted": true,
            "stages": set,
            "calibration": {
                "jobs": record.jobs,
                "within_factor": record.within_factor,
                "by": record.by.told(),
            },
        },
    })
}
