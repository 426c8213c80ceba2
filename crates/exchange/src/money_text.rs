//! Words for the numbers that a purchase rests on.

use obliquity_planning::money::{FleetCase, Lever, Swing};
use obliquity_planning::wording::{count, short, trimmed};

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

/// What is said where no number turns the answer within its range: which one comes nearest to it, and how far that is. Nothing
/// where one does, or where no range is known.
pub fn nearest_turn_text(case: &FleetCase, fleet: usize, swings: &[Swing]) -> Option<String> {
    const NONE: &str = "Nothing that was tried within its range turns the answer";
    let turns_inside = |swing: &Swing| {
        let within = |at: Option<f64>| at.is_some_and(|at| (swing.p10..=swing.p90).contains(&at));
        within(swing.turns.below) || within(swing.turns.above)
    };
    if swings.is_empty() || swings.iter().any(turns_inside) {
        return None;
    }
    // how many times the way to the end of its range a number would have to go
    let far = swings.iter().filter_map(|swing| {
        let now = swing.lever.value(case)?;
        let way = |turn: Option<f64>, end: f64| {
            turn.filter(|_| (end - now).abs() > 0.0).map(|turn| ((turn - now) / (end - now), turn, end))
        };
        let ways = [way(swing.turns.below, swing.p10), way(swing.turns.above, swing.p90)];
        let ways = ways.into_iter().flatten().filter(|(times, ..)| *times > 0.0);
        ways.min_by(|one, other| one.0.total_cmp(&other.0)).map(|way| (swing, way))
    });
    let nearest = far.min_by(|(_, one), (_, other)| one.0.total_cmp(&other.0));
    if let Some((swing, (_, turn, end))) = nearest {
        let (name, at) = (lever_text(&swing.lever), |value| lever_value(&swing.lever, value));
        let side = if turn < end { "below" } else { "above" };
        return Some(format!(
            "{NONE}; nearest comes {name}: its range ends at {}, it turns at {} and {side}.",
            at(end),
            at(turn)
        ));
    }
    let gain = case.gain(fleet, &case.counts()).total();
    let best = |swing: &Swing| {
        let ends = [(swing.p10, swing.at_p10), (swing.p90, swing.at_p90)];
        let nearer = |one: &(f64, f64), other: &(f64, f64)| one.1.abs().total_cmp(&other.1.abs());
        ends.into_iter().min_by(nearer)
    };
    let each = swings.iter().filter_map(|swing| Some((swing, best(swing)?)));
    let (swing, (value, left)) = each.min_by(|(_, one), (_, other)| one.1.abs().total_cmp(&other.1.abs()))?;
    let more = if gain < 0.0 { "costs" } else { "leaves" };
    Some(format!(
        "{NONE}, nor does any value of it beyond; nearest comes {}: at {} it still {more} {} a year more.",
        lever_text(&swing.lever),
        lever_value(&swing.lever, value),
        count(left.abs())
    ))
}
