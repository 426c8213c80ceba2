//! Logs of flown jobs: a row each (CSV), what was planned beside what came, from which corrections are fitted.

use super::columns::LogKind;
use super::sheet::{CellFault, LogSheet, Read, Row, not_whole};
use crate::FileError;
use crate::files::{read_bounded, utf8};
use obliquity_planning::{LoggedFlight, Outcome};
use std::path::Path;

/// Reads a log of flown jobs.
///
/// # Errors
/// When the file cannot be read or is too large; else everything that is wrong with it, each with its place.
pub fn read_flights(path: &Path) -> Result<Vec<LoggedFlight>, FileError> {
    let bytes = read_bounded(path, super::MOST_BYTES)?;
    let name = path.display().to_string();
    parse_flights(utf8(&bytes, &name)?, &name)
}

/// Reads a log of flown jobs from the text of a file; `name` is the file's in messages.
///
/// Under a line of names stands a row for each job; commas or semicolons part them. Needed are `planned_flight_min`,
/// `planned_turns_min` and `flight_min`; `job`, `aircraft`, `planned_steady_min`, `planned_images`, `images`, `planned_battery_sets` and `battery_sets`
/// may be left out or empty.
///
/// # Errors
/// As [`read_flights`].
pub fn parse_flights(text: &str, name: &str) -> Result<Vec<LoggedFlight>, FileError> {
    Read::of(LogKind::Flown, text, name)?.jobs(name, LogSheet::flight)
}

impl LogSheet {
    /// The flight of a row, or everything that is wrong with it.
    ///
    /// # Errors
    /// What is wrong with the cells.
    pub fn flight(&self, row: usize) -> Result<LoggedFlight, Vec<CellFault>> {
        flight(&self.row(row), row + 1)
    }
}

/// The flight of a row.
fn flight(row: &Row<'_>, number: usize) -> Result<LoggedFlight, Vec<CellFault>> {
    let numbers = row.numbers()?;
    let &[
        Some(planned_min),
        Some(turns_min),
        steady_min,
        planned_images,
        planned_sets,
        Some(flight_min),
        images,
        sets,
    ] = numbers.as_slice()
    else {
        return Err(row.fault(None, "a number is missing; add it"));
    };
    if turns_min >= planned_min {
        let message = format!(
            "planned_turns_min must be less than planned_flight_min, which is {planned_min}, but it is {turns_min}; it is the \
             part of the planned flight time that is turning"
        );
        return Err(row.fault(Some("planned_turns_min"), message));
    }
    if let Some(steady_min) =
        steady_min.filter(|steady_min| *steady_min <= 0.0 || steady_min + turns_min > planned_min + 0.011)
    {
        let most = planned_min - turns_min;
        let message = format!(
            "planned_steady_min must be more than 0 and with planned_turns_min at most planned_flight_min, which leaves {most:.2}, but it is \
             {steady_min}; correct it or leave it empty"
        );
        return Err(row.fault(Some("planned_steady_min"), message));
    }
    for (name, count) in [("planned_images", planned_images), ("images", images)] {
        if let Some(count) = count.filter(|count| count.fract() != 0.0) {
            return Err(row.fault(Some(name), not_whole(name, count)));
        }
    }
    Ok(LoggedFlight {
        name: row.text("job").unwrap_or_else(|| format!("job {number}")),
        aircraft: row.text("aircraft"),
        planned_flight_s: planned_min * 60.0,
        planned_turns_s: turns_min * 60.0,
        planned_steady_s: steady_min.map(|minutes| minutes * 60.0),
        planned_images: planned_images.map(|count| count as u32),
        planned_sets,
        flight_s: flight_min * 60.0,
        images: images.map(|count| count as u32),
        sets,
    })
}

/// The cells of a row for a strategy, in the order of [`LogKind::names`], what comes left empty; nothing of one that cannot be
/// flown. The outcome must be that of an aircraft without corrections.
pub fn planned_cells(job: &str, outcome: &Outcome) -> Option<Vec<String>> {
    let (timing, load) = (outcome.timing.as_ref()?, outcome.load.as_ref()?);
    let flight = &timing.flight;
    let minutes = |seconds: f64| format!("{:.2}", seconds / 60.0);
    Some(vec![
        LogSheet::cleaned(job),
        LogSheet::cleaned(&outcome.aircraft),
        minutes(flight.terms.flight_time_s()),
        minutes(flight.terms.turns_s),
        minutes(flight.steady_s()),
        load.image_count.to_string(),
        format!("{:.3}", flight.energy_sets()),
        String::new(),
        String::new(),
        String::new(),
    ])
}
