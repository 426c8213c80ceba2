use crate::scenario::{LocalClock, LocalDate, SiteZone};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::{Offset, TimeZone, TimeZoneDatabase};
use std::fmt;

/// Why a mission's clock shows nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ClockError {
    /// The zone is not in the time zone database.
    #[error(
        "the time zone must be one of the IANA database, but it is \"{name}\"; write region and city, or a fixed offset"
    )]
    UnknownZone {
        /// What came.
        name: String,
    },
    /// The date, the time or the offset is out of range.
    #[error("the mission's date, time and offset must exist, but {what}; mend them in the conditions")]
    NoSuchTime {
        /// What is wrong.
        what: String,
    },
}

/// The site's clock: turns local times into instants and back. The zones are those of the IANA database that the
/// program carries, whatever the system has.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone(TimeZone);

/// What the site's clock shows at an instant, to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LocalTime {
    /// The date there.
    pub date: LocalDate,
    /// Hour, 0 to 23.
    pub hour: u8,
    /// Minute.
    pub minute: u8,
    /// Second.
    pub second: u8,
    /// Minutes ahead of UTC.
    pub utc_offset_min: i32,
}

impl fmt::Display for LocalTime {
    /// Hours, minutes and seconds: `06:12:43`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}:{:02}", self.hour, self.minute, self.second)
    }
}

impl LocalTime {
    /// Hours and minutes, the seconds cut off: `06:12`.
    pub fn hour_minute(&self) -> String {
        format!("{:02}:{:02}", self.hour, self.minute)
    }
}

impl LocalDate {
    /// The calendar's last day of the month; nothing for a month that does not exist.
    ///
    /// # Units
    /// - returns: days
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::LocalDate;
    /// assert_eq!(LocalDate { year: 2024, month: 2, day: 1 }.days_in_month(), Some(29));
    /// assert_eq!(LocalDate { year: 2100, month: 2, day: 1 }.days_in_month(), Some(28));
    /// ```
    pub fn days_in_month(self) -> Option<u8> {
        let first = Date::new(self.year, i8::try_from(self.month).ok()?, 1).ok()?;
        u8::try_from(first.days_in_month()).ok()
    }

    pub(crate) fn next(self) -> Result<LocalDate, ClockError> {
        self.civil()?.tomorrow().map(LocalDate::of).map_err(|error| no_such_time(&error))
    }

    fn of(date: Date) -> LocalDate {
        LocalDate { year: date.year(), month: date.month() as u8, day: date.day() as u8 }
    }

    fn civil(self) -> Result<Date, ClockError> {
        let signed = |part: u8| i8::try_from(part).unwrap_or(i8::MAX);
        Date::new(self.year, signed(self.month), signed(self.day)).map_err(|error| no_such_time(&error))
    }
}

impl Zone {
    /// The clock of a zone.
    ///
    /// # Errors
    /// [`ClockError::UnknownZone`] for a name that the database has not, [`ClockError::NoSuchTime`] for an offset of more
    /// than a day.
    pub fn new(zone: &SiteZone) -> Result<Zone, ClockError> {
        match zone {
            SiteZone::Named { name } => TimeZoneDatabase::bundled()
                .get(name)
                .map(Zone)
                .map_err(|_| ClockError::UnknownZone { name: name.clone() }),
            SiteZone::Offset { minutes } => Offset::from_seconds(minutes.saturating_mul(60))
                .map(|offset| Zone(TimeZone::fixed(offset)))
                .map_err(|error| no_such_time(&error)),
        }
    }

    /// Names of all zones that the program carries, in the order of the alphabet.
    pub fn names() -> Vec<String> {
        let mut names: Vec<String> =
            TimeZoneDatabase::bundled().available().map(|name| name.as_str().to_owned()).collect();
        names.sort_unstable();
        names
    }

    /// The instant at which the clock shows a date and a time: of a time that comes twice the first, of one that is
    /// skipped the one as many minutes after the change.
    ///
    /// # Units
    /// - returns: seconds of UTC since 1970-01-01T00:00
    ///
    /// # Errors
    /// [`ClockError::NoSuchTime`] for a date or time that the calendar has not.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{LocalClock, LocalDate, SiteZone, Zone};
    /// let zone = Zone::new(&SiteZone::Offset { minutes: 120 }).expect("an offset of two hours");
    /// let first = LocalDate { year: 1970, month: 1, day: 1 };
    /// // two o'clock where the clock is two hours ahead
    /// assert_eq!(zone.utc_s(first, LocalClock { hour: 2, minute: 0 }), Ok(0.0));
    /// ```
    pub fn utc_s(&self, date: LocalDate, clock: LocalClock) -> Result<f64, ClockError> {
        let signed = |part: u8| i8::try_from(part).unwrap_or(i8::MAX);
        let time = jiff::civil::Time::new(signed(clock.hour), signed(clock.minute), 0, 0)
            .map_err(|error| no_such_time(&error))?;
        let found = self.0.to_timestamp(DateTime::from_parts(date.civil()?, time));
        found.map(|instant| instant.as_second() as f64).map_err(|error| no_such_time(&error))
    }

    /// What the clock shows at an instant, to the nearest second; nothing beyond the calendar.
    ///
    /// # Units
    /// - `utc_s`: seconds of UTC since 1970-01-01T00:00
    pub fn local(&self, utc_s: f64) -> Option<LocalTime> {
        let instant = Timestamp::from_second(utc_s.round() as i64).ok()?;
        let (shown, offset) = (self.0.to_datetime(instant), self.0.to_offset(instant));
        Some(LocalTime {
            date: LocalDate::of(shown.date()),
            hour: shown.hour() as u8,
            minute: shown.minute() as u8,
            second: shown.second() as u8,
            utc_offset_min: offset.seconds() / 60,
        })
    }

    /// As [`Zone::local`], to the nearest minute: the seconds are 0.
    ///
    /// # Units
    /// - `utc_s`: seconds of UTC since 1970-01-01T00:00
    pub fn local_to_minute(&self, utc_s: f64) -> Option<LocalTime> {
        self.local((utc_s / 60.0).round() * 60.0)
    }

    /// Hours ahead of UTC in a year without summer time: the least of January and July.
    ///
    /// # Units
    /// - returns: hours
    ///
    /// # Errors
    /// [`ClockError::NoSuchTime`] for a year that the calendar has not.
    pub fn winter_offset_h(&self, year: i16) -> Result<f64, ClockError> {
        let offset_min = |month: u8| {
            let at_s = self.utc_s(LocalDate { year, month, day: 1 }, LocalClock { hour: 12, minute: 0 })?;
            Ok(self.local(at_s).map_or(0, |local| local.utc_offset_min))
        };
        Ok(f64::from(offset_min(1)?.min(offset_min(7)?)) / 60.0)
    }

    /// First and last instant of a day by this clock, the last one not included: 23 to 25 hours where the clocks
    /// change.
    ///
    /// # Units
    /// - returns: seconds of UTC since 1970-01-01T00:00
    ///
    /// # Errors
    /// [`ClockError::NoSuchTime`] for a date that the calendar has not.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{LocalDate, SiteZone, Zone};
    /// // the day on which the clocks go forward has 23 hours
    /// let zone = Zone::new(&SiteZone::Named { name: "Europe/Paris".to_owned() }).expect("a zone");
    /// let (from_s, to_s) = zone.day_s(LocalDate { year: 2025, month: 3, day: 30 }).expect("a day");
    /// assert_eq!(to_s - from_s, 23.0 * 3600.0);
    /// ```
    pub fn day_s(&self, date: LocalDate) -> Result<(f64, f64), ClockError> {
        let midnight = LocalClock { hour: 0, minute: 0 };
        Ok((self.utc_s(date, midnight)?, self.utc_s(date.next()?, midnight)?))
    }
}

fn no_such_time(error: &jiff::Error) -> ClockError {
    ClockError::NoSuchTime { what: error.to_string() }
}
