//! What the computer's clock says: the one place that asks it.

use jiff::ZonedDateTime;
use obliquity_planning::light::Zone;
use obliquity_planning::{LocalClock, LocalDate, Mission, SiteZone};

/// When a job that is begun now is taken to be flown: today, by this computer's time zone.
///
/// A zone that the program does not carry becomes its present offset.
pub fn mission_today(arrival: LocalClock) -> Mission {
    let now = ZonedDateTime::now();
    let date = LocalDate { year: now.year(), month: now.month() as u8, day: now.day() as u8 };
    let named = now.time_zone().iana_name().map(|name| SiteZone::Named { name: name.to_owned() });
    let offset = SiteZone::Offset { minutes: now.offset().seconds() / 60 };
    let zone = named.filter(|zone| Zone::new(zone).is_ok()).unwrap_or(offset);
    Mission { date, arrival, zone }
}
