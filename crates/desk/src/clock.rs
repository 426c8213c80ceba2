//! What the computer's clock says: the one place that asks it.

use jiff::ZonedDateTime;
use jiff::civil::DateTime;
use obliquity_planning::light::Zone;
use obliquity_planning::{LocalClock, LocalDate, Mission, SiteZone};

/// When a job that is begun now is taken to be flown: the next time that the clock shows the arrival, by this computer's
/// time zone.
///
/// A zone that the program does not carry becomes its present offset.
pub fn next_mission(arrival: LocalClock) -> Mission {
    let now = ZonedDateTime::now();
    let date = date_of_next(arrival, now.datetime());
    let named = now.time_zone().iana_name().map(|name| SiteZone::Named { name: name.to_owned() });
    let offset = SiteZone::Offset { minutes: now.offset().seconds() / 60 };
    let zone = named.filter(|zone| Zone::new(zone).is_ok()).unwrap_or(offset);
    Mission { date, arrival, zone }
}

/// The day on which the clock shows a time next: today where that is still to come.
fn date_of_next(arrival: LocalClock, now: DateTime) -> LocalDate {
    let is_past = (i16::from(now.hour()), i16::from(now.minute()))
        >= (i16::from(arrival.hour), i16::from(arrival.minute));
    // The last day of the calendar has no next.
    let day = if is_past { now.date().tomorrow().unwrap_or(now.date()) } else { now.date() };
    LocalDate { year: day.year(), month: day.month() as u8, day: day.day() as u8 }
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

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by the calendar: 2028 is a leap year.
    #[test]
    fn an_arrival_that_is_past_is_of_the_next_day() {
        let nine = LocalClock { hour: 9, minute: 0 };
        let date = |year, month, day| LocalDate { year, month, day };
        let next = |text: &str| date_of_next(nine, text.parse().expect("a time"));
        assert_eq!(next("2026-11-26T08:59:59"), date(2026, 11, 26));
        assert_eq!(next("2026-11-26T09:00:00"), date(2026, 11, 27));
        assert_eq!(next("2028-02-28T19:30:00"), date(2028, 2, 29));
        assert_eq!(next("2026-12-31T23:59:59"), date(2027, 1, 1));
    }
}
