//! Words for the numbers that a purchase rests on.

use obliquity_planning::money::{Lever, Swing};
use obliquity_planning::wording::{short, trimmed};

/// Amounts below this are none.
pub(crate) const NOTHING: f64 = 0.5;

/// One number of a case, in words.
pub fn lever_text(lever: &Lever) -> String {
    match lever {
        Lever::Count(job) => format!("jobs of {job} a year"),
        Lever::Price(job) => format!("price of {job}"),
        Lever::AgainShare(job) => format!("visits to {job} that must be repeated"),
        Lever::SiteTime => "time on site, as a factor".to_owned(),
        Lever::MachineTime => "workstation hours, as a factor".to_owned(),
        Lever::CrewWage => "wage of the crew".to_owned(),
        Lever::AttendedWage => "wage at the workstation".to_owned(),
        Lever::MachineHour => "workstation hour".to_owned(),
        Lever::FlyingDays => "flying days a year".to_owned(),
        Lever::HoursADay => "hours a day".to_owned(),
        Lever::Interest => "interest a year".to_owned(),
        Lever::SoldShare => "share of freed days sold".to_owned(),
        Lever::DayValue => "value of a sold day".to_owned(),
        Lever::AircraftPrice(name) => format!("price of {name}"),
        Lever::HireDay(name) => format!("hire of {name} for a day"),
        Lever::Resale(name) => format!("resale of {name}"),
    }
}

/// The value of such a number.
///
/// # Units
/// - `value`: as the number's own field says
pub fn lever_value(lever: &Lever, value: f64) -> String {
    match lever {
        Lever::Interest | Lever::SoldShare | Lever::AgainShare(_) => {
            format!("{} %", trimmed(100.0 * value, 1))
        }
        Lever::SiteTime | Lever::MachineTime => format!("{} times", trimmed(value, 2)),
        _ => short(value),
    }
}

/// Where a number turns the answer: "turns at 9 and below".
pub fn switching_text(swing: &Swing) -> String {
    let at = |value: f64| lever_value(&swing.lever, value);
    match (swing.turns.below, swing.turns.above) {
        (None, None) => "does not turn the answer".to_owned(),
        (Some(low), None) => format!("the answer turns at {} and below", at(low)),
        (None, Some(high)) => format!("the answer turns at {} and above", at(high)),
        (Some(low), Some(high)) => {
            format!("the answer turns at {} and below, and at {} and above", at(low), at(high))
        }
    }
}

/// Which numbers of a case are worth telling of for a fleet: those that turn its answer, and those that move its gain.
pub fn swing_matters(swing: &Swing) -> bool {
    let turns = swing.turns.below.is_some() || swing.turns.above.is_some();
    turns || swing.width() >= NOTHING
}
