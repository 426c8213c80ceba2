use super::NoLight;
use crate::scenario::{GeoPoint, LocalDate};
use glam::DVec3;
use solar_positioning::time::JulianDate;
use solar_positioning::{
    Error, Events, Horizon, Location, RefractionCorrection, SolarEvents, SolarPositions, delta_t,
};
use std::f64::consts::TAU;

/// Julian date of 1970-01-01T00:00 UTC.
const EPOCH_JD: f64 = 2_440_587.5;
const DAY_S: f64 = 86_400.0;

/// Where the sun's centre stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Above the horizon; below 0 when it is under it.
    pub elevation_rad: f64,
    /// Clockwise from north.
    pub azimuth_rad: f64,
}

impl SunPosition {
    /// Unit vector to the sun in the local frame: east, north, up.
    ///
    /// # Units
    /// - returns: no unit, a unit vector
    ///
    /// # References
    /// Derived from the definitions of elevation and azimuth.
    pub fn direction(&self) -> DVec3 {
        let (sin_e, cos_e) = self.elevation_rad.sin_cos();
        let (sin_a, cos_a) = self.azimuth_rad.sin_cos();
        DVec3::new(cos_e * sin_a, cos_e * cos_a, sin_e)
    }

    /// The position in a direction of any length.
    pub(super) fn towards(direction: DVec3) -> SunPosition {
        let level = direction.truncate();
        SunPosition {
            elevation_rad: direction.z.atan2(level.length()),
            azimuth_rad: level.x.atan2(level.y).rem_euclid(TAU),
        }
    }

    /// Angle between the direction to the sun and a surface's unit normal; beyond 90° the surface faces away.
    ///
    /// # Units
    /// - `normal`: no unit, a unit vector: east, north, up
    /// - returns: radians, 0 to π
    ///
    /// # References
    /// Derived: the angle between two unit vectors.
    pub fn incidence_rad(&self, normal: DVec3) -> f64 {
        self.direction().dot(normal).clamp(-1.0, 1.0).acos()
    }
}

/// The air that bends the sun's light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkyAir {
    /// Yearly mean pressure.
    pub pressure_hpa: f64,
    /// Yearly mean temperature.
    pub temperature_c: f64,
}

/// From where and under which assumptions the sun is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observer {
    /// On the earth.
    pub place: GeoPoint,
    /// Above the ellipsoid: moves the sun by less than 0.00001° in 5 km.
    pub height_m: f64,
    /// Terrestrial less universal time.
    pub delta_t_s: f64,
    /// The air, or nothing for the unrefracted sun.
    pub air: Option<SkyAir>,
}

impl Observer {
    /// An observer at height 0 who sees the unrefracted sun, with terrestrial less universal time estimated for the
    /// date: what mission figures use. The air lifts the sun by 0.03° where it stands at 30°, 0.5° at the horizon.
    ///
    /// # Errors
    /// [`NoLight::NoSun`] for a year without an estimate.
    pub fn on_date(place: GeoPoint, date: LocalDate) -> Result<Observer, NoLight> {
        let estimated = delta_t::estimate_from_date(i32::from(date.year), u32::from(date.month));
        Ok(Observer {
            place,
            height_m: 0.0,
            delta_t_s: estimated.map_err(|error| no_sun(&error))?,
            air: None,
        })
    }

    /// Where the sun stands at an instant, topocentric, by the solar position algorithm.
    ///
    /// # Units
    /// - `utc_s`: seconds of UTC since 1970-01-01T00:00
    ///
    /// # Accuracy
    /// 0.0003°, years −2000 to 6000, by the reference.
    ///
    /// # Errors
    /// [`NoLight::NoSun`] for a place that is not on the earth, air out of range or an instant out of the years.
    ///
    /// # References
    /// Reda & Andreas, *Solar position algorithm for solar radiation applications*, NREL/TP-560-34302 (2003,
    /// revised 2008), as the package solar-positioning works it out.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::GeoPoint;
    /// use obliquity_planning::light::{Observer, SkyAir};
    /// // the reference's example: 2003-10-17, 12:30:30 at seven hours behind UTC
    /// let golden = Observer {
    ///     place: GeoPoint { latitude_deg: 39.742476, longitude_deg: -105.1786 },
    ///     height_m: 1830.14,
    ///     delta_t_s: 67.0,
    ///     air: Some(SkyAir { pressure_hpa: 820.0, temperature_c: 11.0 }),
    /// };
    /// let sun = golden.sun(1_066_419_030.0).expect("on the earth");
    /// assert!((90.0 - sun.elevation_rad.to_degrees() - 50.111622).abs() < 1e-5);
    /// assert!((sun.azimuth_rad.to_degrees() - 194.340241).abs() < 1e-5);
    /// ```
    pub fn sun(&self, utc_s: f64) -> Result<SunPosition, NoLight> {
        let found = self.position(utc_s).map_err(|error| no_sun(&error))?;
        Ok(SunPosition {
            elevation_rad: found.elevation_angle().to_radians(),
            azimuth_rad: found.azimuth().to_radians(),
        })
    }

    fn position(&self, utc_s: f64) -> Result<solar_positioning::SolarPosition, Error> {
        let refraction =
            self.air.map(|air| RefractionCorrection::new(air.pressure_hpa, air.temperature_c)).transpose()?;
        let time = JulianDate::new(julian(utc_s), self.delta_t_s)?;
        SolarPositions::new().at_from_julian(time, self.location(), self.height_m, refraction)
    }

    /// When the unrefracted sun's centre passes an elevation, from one instant to another.
    pub(super) fn passages(&self, from_s: f64, to_s: f64, elevation: Horizon) -> Result<Passages, NoLight> {
        let events = SolarEvents::new().for_interval_from_julian(
            julian(from_s),
            julian(to_s),
            self.location(),
            self.delta_t_s,
            elevation,
        );
        events.map(|events| Passages::new(from_s, to_s, &events)).map_err(|error| no_sun(&error))
    }

    fn location(&self) -> Location {
        Location { latitude: self.place.latitude_deg, longitude: self.place.longitude_deg }
    }
}

/// The sun's passages of one elevation in a stretch of time.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Passages {
    pub(super) rises_s: Vec<f64>,
    pub(super) sets_s: Vec<f64>,
    pub(super) transits_s: Vec<f64>,
    /// When the sun is above the elevation, in order.
    pub(super) above_s: Vec<(f64, f64)>,
}

impl Passages {
    fn new(from_s: f64, to_s: f64, events: &Events<f64>) -> Passages {
        let utc = |found: &[f64]| found.iter().map(|&jd| (jd - EPOCH_JD) * DAY_S).collect::<Vec<_>>();
        let (rises_s, sets_s) = (utc(&events.rises), utc(&events.sets));
        let mut above_s = Vec::new();
        // the first thing to happen tells where it began; where nothing does, the state
        let (first_rise, first_set) = (rises_s.first(), sets_s.first());
        let begins_above = match (first_rise, first_set) {
            (Some(rise), Some(set)) => set < rise,
            (None, Some(_)) => true,
            (Some(_), None) => false,
            (None, None) => events.always_above(),
        };
        let mut starts = rises_s.clone();
        if begins_above {
            starts.insert(0, from_s);
        }
        for start_s in starts {
            let end_s = sets_s.iter().copied().find(|set_s| *set_s > start_s).unwrap_or(to_s);
            above_s.push((start_s, end_s));
        }
        Passages { rises_s, sets_s, transits_s: utc(&events.transits), above_s }
    }
}

fn julian(utc_s: f64) -> f64 {
    EPOCH_JD + utc_s / DAY_S
}

fn no_sun(error: &Error) -> NoLight {
    NoLight::NoSun { what: error.to_string() }
}
