use super::{DayLight, LightPeriod, NoLight, SunPosition};
use crate::flight::TimeTerms;
use crate::scenario::{Conditions, LocalDate};
use std::sync::Arc;

/// Flying is followed over this many local days at most; no crew stays longer in one go.
const DAYS_FOLLOWED: usize = 8;

/// When the flying begins, before it is known how long it takes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LightClock {
    pub(crate) day: Arc<DayLight>,
    pub(crate) arrival_s: f64,
    pub(crate) take_off_s: f64,
}

impl LightClock {
    /// Control points are laid out before the first take-off, since the images must show them.
    pub(crate) fn new(day: Arc<DayLight>, conditions: &Conditions) -> Result<LightClock, NoLight> {
        let mission = conditions.mission.as_ref().ok_or(NoLight::NoMission)?;
        let arrival_s = day.zone.utc_s(mission.date, mission.arrival)?;
        let control_min = f64::from(conditions.control_points) * conditions.per_control_point_min;
        let take_off_s = arrival_s + (conditions.set_up_min + control_min) * 60.0;
        Ok(LightClock { day, arrival_s, take_off_s })
    }
}

/// The light while a strategy is flown.
///
/// The crew arrives, sets up, lays out the control points, and takes off; flying lasts until the last landing, battery
/// changes included.
#[derive(Debug, Clone, PartialEq)]
pub struct LightFigures {
    /// The sun on the day of the arrival.
    pub day: Arc<DayLight>,
    /// The set-up begins.
    pub arrival_s: f64,
    /// The first take-off.
    pub take_off_s: f64,
    /// The last landing.
    pub landing_s: f64,
    /// The sun at the first take-off.
    pub at_take_off: SunPosition,
    /// The sun half-way between first take-off and last landing.
    pub at_middle: SunPosition,
    /// The sun at the last landing.
    pub at_landing: SunPosition,
    /// What the law calls the time from the first take-off to the last landing.
    pub shares: LightShares,
}

/// What share of the flying is what in law; they add up to 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LightShares {
    /// Between sunrise and sunset.
    pub daylight: f64,
    /// In civil twilight, by the rule of the day.
    pub civil_twilight: f64,
    /// At night.
    pub night: f64,
}

impl LightFigures {
    /// Where the sun stands so many seconds after the arrival: for a timeline.
    ///
    /// # Units
    /// - `arrival_s`: seconds since the arrival
    ///
    /// # Errors
    /// [`NoLight::NoSun`] far out of the calendar.
    pub fn sun_after(&self, arrival_s: f64) -> Result<SunPosition, NoLight> {
        self.day.sun(self.arrival_s + arrival_s)
    }
}

/// The light of a flight whose times are known. `day_of` gives other days than that of the arrival.
pub(crate) fn light_figures(
    clock: &LightClock,
    time: &TimeTerms,
    day_of: impl FnMut(LocalDate) -> Result<Arc<DayLight>, NoLight>,
) -> Result<LightFigures, NoLight> {
    let (day, take_off_s) = (Arc::clone(&clock.day), clock.take_off_s);
    let landing_s = take_off_s + time.flight_s + time.swaps_s + time.waits_s + time.moves_s;
    let sun = |utc_s: f64| day.sun(utc_s);
    Ok(LightFigures {
        at_take_off: sun(take_off_s)?,
        at_middle: sun(f64::midpoint(take_off_s, landing_s))?,
        at_landing: sun(landing_s)?,
        shares: shares(&day, take_off_s, landing_s, day_of)?,
        arrival_s: clock.arrival_s,
        take_off_s,
        landing_s,
        day,
    })
}

/// Adds up the periods of every day that the flying touches.
fn shares(
    first: &Arc<DayLight>,
    from_s: f64,
    to_s: f64,
    mut day_of: impl FnMut(LocalDate) -> Result<Arc<DayLight>, NoLight>,
) -> Result<LightShares, NoLight> {
    let mut total = LightShares::default();
    let mut day = Arc::clone(first);
    for _ in 0..DAYS_FOLLOWED {
        for span in &day.periods {
            let length_s = (span.to_s.min(to_s) - span.from_s.max(from_s)).max(0.0);
            *total.of(span.period) += length_s;
        }
        // a flight of no length is at one instant
        if from_s >= to_s && day.to_s > from_s {
            *total.of(day.period(from_s).unwrap_or(LightPeriod::Night)) += 1.0;
        }
        if day.to_s >= to_s {
            break;
        }
        day = day_of(day.date.next()?)?;
    }
    let sum = total.daylight + total.civil_twilight + total.night;
    if sum > 0.0 {
        total = LightShares {
            daylight: total.daylight / sum,
            civil_twilight: total.civil_twilight / sum,
            night: total.night / sum,
        };
    }
    Ok(total)
}

impl LightShares {
    fn of(&mut self, period: LightPeriod) -> &mut f64 {
        match period {
            LightPeriod::Daylight => &mut self.daylight,
            LightPeriod::CivilTwilight => &mut self.civil_twilight,
            LightPeriod::Night => &mut self.night,
        }
    }
}
