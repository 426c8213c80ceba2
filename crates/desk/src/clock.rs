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

/// Seconds since 1970 (UTC).
pub fn now_unix_s() -> u64 {
    u64::try_from(jiff::Timestamp::now().as_second()).unwrap_or_default()
}

/// A moment as people here say it: "14:02" for one of the day of `now_unix_s`, "25 November, 14:02" for any other.
pub fn moment_text(at_unix_s: u64, now_unix_s: u64) -> String {
    let zone = jiff::tz::TimeZone::system();
    let local = |unix_s: u64| {
        let moment = jiff::Timestamp::from_second(i64::try_from(unix_s).unwrap_or_default());
        moment.unwrap_or_default().to_zoned_datetime(zone.clone())
    };
    let (at, now) = (local(at_unix_s), local(now_unix_s));
    let form = if at.date() == now.date() { "%H:%M" } else { "%-d %B %Y, %H:%M" };
    at.strftime(form).to_string()
}
