//! What the screen of logs shows, as plain values.

use super::document::{LogDocument, LogEdit};
use super::figures::{FittedLog, LogFigures, rate_name};
use crate::chart_files::ChartsAs;
use obliquity_exchange::{LogKind, calibrated, factor_text};
use obliquity_planning::{Aircraft, FlownCorrections, Id, ProcessingStage, Rates, Scenario};
use std::sync::Arc;

/// What is asked for on the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum LogAsk {
    /// The log of the other kind.
    Show(LogKind),
    /// Open a log.
    Open,
    /// Open the example.
    Example,
    /// Begin an empty one.
    Begin,
    /// A change.
    Edit(LogEdit),
    /// A row for the strategy in focus, with what is planned.
    AddPlanned,
    /// Only flights of this aircraft count.
    Count(String),
    /// What is fitted goes into this aircraft.
    Into(Id),
    /// Put what is fitted into the scenario.
    TakeOver,
    /// Save the diagram.
    SaveCharts(ChartsAs),
}

/// How far the fit is.
#[derive(Debug, Clone, PartialEq)]
pub enum LogFit {
    /// It is being worked out.
    Runs,
    /// It is there.
    Known(Arc<LogFigures>),
}

/// A line of what taking over changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenLine {
    /// What it is.
    pub name: String,
    /// As it is in the scenario.
    pub before: String,
    /// As it would be.
    pub after: String,
}

/// What taking over does.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOver {
    /// Into what: the processing rates, or an aircraft.
    pub into: String,
    /// What it changes.
    pub lines: Vec<TakenLine>,
    /// What is then said of it elsewhere.
    pub says: Option<String>,
    /// Whether the scenario has all of it already.
    pub is_taken: bool,
    /// The scenario's aircraft, of which one is chosen, where it goes into one.
    pub aircraft: Vec<(Id, String)>,
    /// The one chosen.
    pub chosen: Option<Id>,
}

/// What the screen shows of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogsSheet {
    /// The file, or where it is from.
    pub title: String,
    /// Whether it is not saved.
    pub is_changed: bool,
    /// The fit.
    pub fit: LogFit,
    /// What taking it over does; nothing where nothing is fitted.
    pub take: Option<TakeOver>,
    /// The strategy in focus, of which a row can be added.
    pub planned: Option<String>,
    /// The aircraft whose flights count, where the log has several.
    pub counted: Option<String>,
}

/// What the sheet is made from.
#[derive(Debug, Clone, Copy)]
pub struct GivenLog<'a> {
    /// The log.
    pub document: &'a LogDocument,
    /// What is known of it.
    pub figures: Option<&'a Arc<LogFigures>>,
    /// The scenario that it may be taken over into.
    pub scenario: &'a Scenario,
    /// The name of the strategy in focus.
    pub focus: Option<&'a str>,
    /// The aircraft chosen to count.
    pub counted: Option<&'a str>,
    /// The aircraft chosen to take over into.
    pub into: Option<Id>,
}

impl LogsSheet {
    /// Of a log.
    pub fn new(given: &GivenLog<'_>) -> Self {
        let GivenLog { document, figures, scenario, focus, counted, into } = *given;
        let now = figures.filter(|known| Arc::ptr_eq(&known.sheet, document.sheet()));
        let take = now.and_then(|known| take_over(known, scenario, counted, into));
        let several = now.filter(|known| known.aircraft.len() > 1);
        let counted =
            several.and_then(|known| counted.map(str::to_owned).or_else(|| known.aircraft.first().cloned()));
        LogsSheet {
            title: document.title(),
            is_changed: document.is_changed(),
            fit: now.map_or(LogFit::Runs, |known| LogFit::Known(Arc::clone(known))),
            take,
            planned: focus.filter(|_| document.kind() == LogKind::Flown).map(str::to_owned),
            counted,
        }
    }
}

/// The rates that taking over would set.
pub(crate) fn rates_taken(figures: &LogFigures, rates: &Rates) -> Option<Rates> {
    match figures.fitted.as_ref().ok()? {
        FittedLog::Rates(fitted) => Some(calibrated(rates, fitted)),
        FittedLog::Flights(_) => None,
    }
}

/// The corrections that taking over would set on an aircraft.
pub(crate) fn corrections_taken(figures: &LogFigures, aircraft: &Aircraft) -> Option<FlownCorrections> {
    match figures.fitted.as_ref().ok()? {
        FittedLog::Flights(fitted) => Some(fitted.corrections(aircraft.airframe.flown_corrections())),
        FittedLog::Rates(_) => None,
    }
}

/// The aircraft that corrections go into: the one chosen, else the one that the log names, else the first.
pub(crate) fn into_aircraft<'a>(
    figures: &LogFigures,
    scenario: &'a Scenario,
    counted: Option<&str>,
    into: Option<Id>,
) -> Option<&'a Aircraft> {
    let all = &scenario.equipment.aircraft;
    let named = counted.or_else(|| figures.aircraft.first().map(String::as_str));
    let by_id = || all.iter().find(|own| Some(own.id) == into);
    let by_name = || all.iter().find(|own| Some(own.name.as_str()) == named);
    by_id().or_else(by_name).or_else(|| all.first())
}

fn take_over(
    figures: &LogFigures,
    scenario: &Scenario,
    counted: Option<&str>,
    into: Option<Id>,
) -> Option<TakeOver> {
    let line = |name: String, before: String, after: String| TakenLine { name, before, after };
    if let Some(rates) = rates_taken(figures, &scenario.rates) {
        let own = &scenario.rates;
        let stages = ProcessingStage::ALL.map(|stage| {
            line(rate_name(stage), own.stages.of(stage).to_string(), rates.stages.of(stage).to_string())
        });
        let says =
            format!("Hours say \"{}\" now, then \"{}\".", own.standing().told(), rates.standing().told());
        let is_taken = own.stages == rates.stages && own.calibration == rates.calibration;
        return Some(TakeOver {
            into: "the processing rates".to_owned(),
            lines: stages.to_vec(),
            says: Some(says),
            is_taken,
            aircraft: Vec::new(),
            chosen: None,
        });
    }
    let aircraft = into_aircraft(figures, scenario, counted, into)?;
    let after = corrections_taken(figures, aircraft)?;
    let before = aircraft.airframe.flown_corrections();
    let of = counted.or_else(|| figures.aircraft.first().map(String::as_str));
    let says = of
        .filter(|of| *of != aircraft.name)
        .map(|of| format!("These are flights of {of}, not of {}.", aircraft.name));
    let each = |name: &str, of: fn(&FlownCorrections) -> f64| {
        line(name.to_owned(), factor_text(of(&before)), factor_text(of(&after)))
    };
    Some(TakeOver {
        into: aircraft.name.clone(),
        lines: vec![
            each("speed", |own| own.speed_ratio),
            each("time for turns", |own| own.turn_ratio),
            each("endurance", |own| own.endurance_ratio),
        ],
        says,
        is_taken: aircraft.airframe.corrections == Some(after),
        aircraft: scenario.equipment.aircraft.iter().map(|own| (own.id, own.name.clone())).collect(),
        chosen: Some(aircraft.id),
    })
}
