use crate::base::limits;
use crate::scenario::faults::Checker;
use crate::scenario::{Conditions, Mission, SiteZone, Zone};

/// When the job is flown and in what light.
pub(super) fn check(check: &mut Checker, conditions: &Conditions) {
    if let Some(mission) = &conditions.mission {
        check_date(check, mission);
        check_zone(check, &mission.zone);
    }
}

fn check_date(check: &mut Checker, mission: &Mission) {
    let (date, arrival) = (mission.date, mission.arrival);
    let place = |field: &str| format!("conditions.mission.{field}");
    check.number(place("date.year"), f64::from(date.year), limits::YEAR);
    check.number(place("date.month"), f64::from(date.month), limits::MONTH);
    if let Some(last) = date.days_in_month()
        && !(1..=last).contains(&date.day)
    {
        let message = format!(
            "day of the month must be at least 1 and at most {last} in month {} of {}, but it is {}; give a day that the month has",
            date.month, date.year, date.day
        );
        check.fault(place("date.day"), message);
    }
    check.number(place("arrival.hour"), f64::from(arrival.hour), limits::HOUR);
    check.number(place("arrival.minute"), f64::from(arrival.minute), limits::MINUTE);
}

fn check_zone(check: &mut Checker, zone: &SiteZone) {
    match zone {
        SiteZone::Named { .. } => {
            if let Err(unknown) = Zone::new(zone) {
                check.fault("conditions.mission.zone.name", unknown.to_string());
            }
        }
        SiteZone::Offset { minutes } => {
            check.number("conditions.mission.zone.minutes", f64::from(*minutes), limits::OFFSET_MIN);
        }
    }
}
