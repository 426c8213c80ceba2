use super::sun::Passages;
use super::{NoLight, Observer, SunPosition, Zone};
use crate::base::digest::Digest;
use crate::scenario::{GeoPoint, HeightRule, LocalDate, SiteZone};
use glam::DVec3;
use solar_positioning::Horizon;

/// The sun is high enough for even light and short shadows from here on: common practice, no source.
const WINDOW_ELEVATION_DEG: f64 = 30.0;

/// Where the sun never gets that high, this much before and after noon is suggested: common practice, no source.
const WINDOW_BESIDE_NOON_S: f64 = 3600.0;

/// The sun's centre at sunrise and sunset: 34' of refraction and 16' of radius below the horizon of the earth's centre,
/// as the solar position algorithm reckons it. From the surface the sun stands lower by its parallax, 8.794".
const HORIZON: Horizon = Horizon::Custom(-50.0 / 60.0 - 8.794 / 3600.0);

/// Civil twilight by the clock: 14 CFR 107.29(c).
const TWILIGHT_S: f64 = 1800.0;

/// Distance between the nodes that the sun's path is interpolated on.
const NODE_S: f64 = 600.0;

/// What civil twilight is in law.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TwilightRule {
    /// 30 minutes before sunrise, and 30 minutes after sunset: 14 CFR 107.29(c), Alaska apart.
    ThirtyMinutes,
    /// Until the sun's centre is 6° below the horizon: the general definition.
    SunSixBelow,
}

impl TwilightRule {
    /// The one that goes with a rule on height.
    pub fn of(rule: HeightRule) -> TwilightRule {
        match rule {
            HeightRule::UsPart107 => TwilightRule::ThirtyMinutes,
            HeightRule::EuOpen | HeightRule::Custom { .. } => TwilightRule::SunSixBelow,
        }
    }
}

/// What the law calls the time of day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LightPeriod {
    /// Between sunrise and sunset.
    Daylight,
    /// Beside it, by the [`TwilightRule`].
    CivilTwilight,
    /// The rest.
    Night,
}

/// A stretch of one [`LightPeriod`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeriodSpan {
    /// Its beginning.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// What it is.
    pub period: LightPeriod,
}

/// How the sun goes past an elevation within one local day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SunCourse {
    /// It passes it. Near the polar circles, and where the clock is far from the sun's, one of them may be missing.
    Passes {
        /// The first upward passage.
        rise_s: Option<f64>,
        /// The last downward passage.
        set_s: Option<f64>,
    },
    /// Above all day.
    StaysAbove,
    /// Below all day.
    StaysBelow,
}

impl SunCourse {
    fn new(passages: &Passages) -> SunCourse {
        if passages.rises_s.is_empty() && passages.sets_s.is_empty() {
            return if passages.above_s.is_empty() { SunCourse::StaysBelow } else { SunCourse::StaysAbove };
        }
        SunCourse::Passes {
            rise_s: passages.rises_s.first().copied(),
            set_s: passages.sets_s.last().copied(),
        }
    }

    /// The upward passage, if there is one.
    ///
    /// # Units
    /// - returns: seconds of UTC since 1970-01-01T00:00
    pub fn rise_s(self) -> Option<f64> {
        if let SunCourse::Passes { rise_s, .. } = self { rise_s } else { None }
    }

    /// The downward passage, if there is one.
    ///
    /// # Units
    /// - returns: seconds of UTC since 1970-01-01T00:00
    pub fn set_s(self) -> Option<f64> {
        if let SunCourse::Passes { set_s, .. } = self { set_s } else { None }
    }
}

/// When flying is suggested.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Its beginning.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// Why then.
    pub basis: WindowBasis,
}

/// Why a window is suggested. Common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WindowBasis {
    /// The sun stands at least 30° high.
    SunAboveThirty,
    /// The sun does not get that high: an hour before and after solar noon, as far as it is up.
    AroundNoon,
}

impl WindowBasis {
    /// The reason in words.
    pub fn text(self) -> &'static str {
        match self {
            WindowBasis::SunAboveThirty => "the sun stands at least 30° high (common practice, no source)",
            WindowBasis::AroundNoon => {
                "the sun stays below 30°: an hour before and after solar noon (common practice, no source)"
            }
        }
    }
}

/// The sun on one day of the site's clock: from local midnight to local midnight, whatever UTC's date is.
#[derive(Debug, Clone, PartialEq)]
pub struct DayLight {
    /// From where the sun is looked at.
    pub observer: Observer,
    /// The site's clock.
    pub zone: Zone,
    /// The day.
    pub date: LocalDate,
    /// What civil twilight is.
    pub rule: TwilightRule,
    /// Local midnight.
    pub from_s: f64,
    /// The next one.
    pub to_s: f64,
    /// Sunrise and sunset: the upper limb on a level horizon, the centre 50' below that of the earth's
    /// centre.
    pub sun: SunCourse,
    /// Civil dawn and dusk by the sun: the centre 6° below the horizon, whatever the law says.
    pub civil: SunCourse,
    /// Solar noon: upper transit; missing on a day of the calendar in which none falls.
    pub noon_s: Option<f64>,
    /// When flying is suggested; nothing where the sun stays down.
    pub window: Option<Window>,
    /// The whole day by what the law calls it, in order, without gaps.
    pub periods: Vec<PeriodSpan>,
    /// Directions to the sun, one before midnight to one after the next.
    path: Vec<DVec3>,
}

impl DayLight {
    /// The sun on one day of a clock, unrefracted whatever the observer's air.
    ///
    /// # Accuracy
    /// The elevations are passed within a second of the solar position algorithm's own; refraction at the horizon
    /// differs from the conventional 34' by several minutes of arc from day to day, so that the sun is really seen to
    /// rise within a minute or two of the time given, more towards the poles.
    ///
    /// # Errors
    /// Those of [`Zone::day_s`] and [`Observer::sun`].
    ///
    /// # References
    /// Sunrise and sunset: 34' of refraction and 16' of radius (convention; from memory). Civil twilight: 6°.
    pub fn new(
        observer: Observer,
        zone: Zone,
        date: LocalDate,
        rule: TwilightRule,
    ) -> Result<DayLight, NoLight> {
        let observer = Observer { air: None, ..observer };
        let (from_s, to_s) = zone.day_s(date)?;
        let horizon = observer.passages(from_s, to_s, HORIZON)?;
        let civil = observer.passages(from_s, to_s, Horizon::CivilTwilight)?;
        let high = observer.passages(from_s, to_s, Horizon::Custom(WINDOW_ELEVATION_DEG))?;
        let periods = match rule {
            TwilightRule::SunSixBelow => spans(from_s, to_s, &horizon.above_s, &civil.above_s),
            TwilightRule::ThirtyMinutes => {
                // a sunset just before midnight reaches into this day
                let wider = observer.passages(from_s - TWILIGHT_S, to_s + TWILIGHT_S, HORIZON)?;
                let beside: Vec<_> =
                    wider.above_s.iter().map(|(a, b)| (a - TWILIGHT_S, b + TWILIGHT_S)).collect();
                spans(from_s, to_s, &horizon.above_s, &beside)
            }
        };
        Ok(DayLight {
            sun: SunCourse::new(&horizon),
            civil: SunCourse::new(&civil),
            noon_s: horizon.transits_s.first().copied(),
            window: window(&horizon, &high),
            periods,
            path: path(&observer, from_s, to_s)?,
            observer,
            zone,
            date,
            rule,
            from_s,
            to_s,
        })
    }

    /// What the law calls an instant of this day; nothing for an instant outside it.
    ///
    /// # Units
    /// - `utc_s`: seconds of UTC since 1970-01-01T00:00
    pub fn period(&self, utc_s: f64) -> Option<LightPeriod> {
        self.periods.iter().find(|span| (span.from_s..span.to_s).contains(&utc_s)).map(|span| span.period)
    }

    /// Where the sun stands at an instant: within the day interpolated between positions ten minutes apart, else by the
    /// solar position algorithm itself.
    ///
    /// # Units
    /// - `utc_s`: seconds of UTC since 1970-01-01T00:00
    ///
    /// # Accuracy
    /// 0.00001° from that algorithm: a cubic through four points h = 2.5° apart on a circle is h⁴ · 3/128 off at most.
    ///
    /// # Errors
    /// Those of [`Observer::sun`], outside the day.
    ///
    /// # References
    /// [`Observer::sun`] for the nodes; Lagrange's interpolation between them (from memory).
    pub fn sun(&self, utc_s: f64) -> Result<SunPosition, NoLight> {
        let place = (utc_s - self.from_s) / NODE_S;
        let cell = place.floor();
        if !(cell >= 0.0 && utc_s <= self.to_s) {
            return self.observer.sun(utc_s);
        }
        match self.path.get(cell as usize..) {
            Some([a, b, c, d, ..]) => Ok(SunPosition::towards(cubic([*a, *b, *c, *d], place - cell))),
            _ => self.observer.sun(utc_s),
        }
    }

    /// About the memory that it takes, in bytes.
    pub(crate) fn bytes(&self) -> usize {
        size_of::<DayLight>()
            + self.periods.len() * size_of::<PeriodSpan>()
            + self.path.len() * size_of::<DVec3>()
    }
}

/// The nodes of a day's path: from one before its beginning to two after its end.
fn path(observer: &Observer, from_s: f64, to_s: f64) -> Result<Vec<DVec3>, NoLight> {
    let count = ((to_s - from_s) / NODE_S).ceil() as i32;
    let node = |k: i32| Ok(observer.sun(from_s + NODE_S * f64::from(k))?.direction());
    (-1..=count + 2).map(node).collect()
}

/// The cubic through four evenly spaced points, from the second (`t` = 0) to the third (`t` = 1).
///
/// # References
/// Lagrange's interpolation (from memory).
fn cubic([a, b, c, d]: [DVec3; 4], t: f64) -> DVec3 {
    let (before, after, beyond) = (t + 1.0, t - 1.0, t - 2.0);
    a * (-t * after * beyond / 6.0)
        + b * (before * after * beyond / 2.0)
        + c * (-before * t * beyond / 2.0)
        + d * (before * t * after / 6.0)
}

/// The longest time of the day with the sun high, or else around noon.
fn window(horizon: &Passages, high: &Passages) -> Option<Window> {
    let length = |span: &(f64, f64)| span.1 - span.0;
    let longest = high.above_s.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
    if let Some(&(from_s, to_s)) = longest {
        return Some(Window { from_s, to_s, basis: WindowBasis::SunAboveThirty });
    }
    let noon_s = *horizon.transits_s.first()?;
    let (up_s, down_s) = *horizon.above_s.iter().find(|(up, down)| (*up..=*down).contains(&noon_s))?;
    Some(Window {
        from_s: up_s.max(noon_s - WINDOW_BESIDE_NOON_S),
        to_s: down_s.min(noon_s + WINDOW_BESIDE_NOON_S),
        basis: WindowBasis::AroundNoon,
    })
}

/// A day cut into periods by when it is daylight and when it is at least twilight.
fn spans(from_s: f64, to_s: f64, daylight: &[(f64, f64)], twilight: &[(f64, f64)]) -> Vec<PeriodSpan> {
    let ends = daylight.iter().chain(twilight).flat_map(|(a, b)| [*a, *b]);
    let mut cuts: Vec<f64> = ends.filter(|cut| *cut > from_s && *cut < to_s).chain([from_s, to_s]).collect();
    cuts.sort_by(f64::total_cmp);
    let within = |spans: &[(f64, f64)], at: f64| spans.iter().any(|(a, b)| *a < at && at < *b);
    let mut found: Vec<PeriodSpan> = Vec::new();
    for pair in cuts.windows(2) {
        let middle_s = f64::midpoint(pair[0], pair[1]);
        let period = if within(daylight, middle_s) {
            LightPeriod::Daylight
        } else if within(twilight, middle_s) {
            LightPeriod::CivilTwilight
        } else {
            LightPeriod::Night
        };
        match found.last_mut() {
            Some(last) if last.period == period => last.to_s = pair[1],
            _ => found.push(PeriodSpan { from_s: pair[0], to_s: pair[1], period }),
        }
    }
    found
}

impl Digest {
    /// What the sun on one day of a site's clock rests on.
    pub(crate) fn day(
        &mut self,
        place: GeoPoint,
        date: LocalDate,
        zone: &SiteZone,
        rule: TwilightRule,
    ) -> &mut Self {
        self.numbers(&[place.latitude_deg, place.longitude_deg]).wholes(&[
            i32::from(date.year),
            i32::from(date.month),
            i32::from(date.day),
        ]);
        match zone {
            SiteZone::Named { name } => self.whole(0).text(name),
            SiteZone::Offset { minutes } => self.whole(1).wholes(&[*minutes]),
        };
        self.whole(u64::from(rule == TwilightRule::ThirtyMinutes))
    }
}
