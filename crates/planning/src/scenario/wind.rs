//! Wind and what it does to flying along a track.

use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Wind at flying height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Wind {
    /// Metres per second.
    pub speed_mps: f64,
    /// Where it comes from, clockwise from north; absent, nobody knows.
    pub from_deg: Option<f64>,
}

impl Default for Wind {
    /// Common practice, no source: a breeze from nobody knows where.
    fn default() -> Self {
        Wind { speed_mps: 4.0, from_deg: None }
    }
}

/// How a track is held in wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnTrack {
    /// Speed over ground.
    pub ground_mps: f64,
    /// Angle by which the nose points to the right of the track.
    pub crab_rad: f64,
}

impl Wind {
    /// No wind.
    pub const STILL: Wind = Wind { speed_mps: 0.0, from_deg: None };

    /// Whether it blows.
    pub fn blows(&self) -> bool {
        self.speed_mps > 0.0
    }

    /// The velocity of the air over ground, east and north; nothing where it blows from nobody knows where.
    ///
    /// # Units
    /// - returns: metres a second, east and north
    ///
    /// # References
    /// Derived: what comes from an azimuth goes to its opposite.
    ///
    /// # Examples
    /// ```
    /// use glam::DVec2;
    /// use obliquity_planning::wind::Wind;
    /// // from the west to the east
    /// let west = Wind { speed_mps: 5.0, from_deg: Some(270.0) };
    /// assert!(west.velocity_mps().expect("known").abs_diff_eq(DVec2::new(5.0, 0.0), 1e-12));
    /// assert_eq!(Wind { from_deg: None, ..west }.velocity_mps(), None);
    /// ```
    pub fn velocity_mps(&self) -> Option<DVec2> {
        if !self.blows() {
            return Some(DVec2::ZERO);
        }
        let from = self.from_deg?.to_radians();
        Some(-self.speed_mps * DVec2::new(from.sin(), from.cos()))
    }

    /// Holds a track at an airspeed (the wind triangle); nothing when the wind is too strong for it, or blows from nobody
    /// knows where.
    ///
    /// # Units
    /// - `airspeed_mps`: metres a second through the air
    /// - `track_rad`: radians, clockwise from north
    ///
    /// # References
    /// Derived: the wind triangle: what blows across is held by the crab, what blows along adds to the rest.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::wind::Wind;
    /// // northward at 15 m/s with 5 m/s from the east: √(15² − 5²) over ground, nose to the right by asin(1/3)
    /// let east = Wind { speed_mps: 5.0, from_deg: Some(90.0) };
    /// let held = east.held(15.0, 0.0).expect("slower than the aircraft");
    /// assert!((held.ground_mps - 14.142136).abs() < 1e-6);
    /// assert!((held.crab_rad.to_degrees() - 19.471221).abs() < 1e-6);
    /// assert_eq!(Wind { speed_mps: 12.0, ..east }.held(10.0, 0.0), None);
    /// ```
    pub fn held(&self, airspeed_mps: f64, track_rad: f64) -> Option<OnTrack> {
        let along = DVec2::new(track_rad.sin(), track_rad.cos());
        let air_mps = self.velocity_mps()?;
        let ground_mps = held_mps(air_mps, airspeed_mps, along)?;
        Some(OnTrack { ground_mps, crab_rad: (along.perp_dot(air_mps) / airspeed_mps).asin() })
    }
}

/// Speed over ground of an airspeed that is held on a track; nothing when the wind is too strong for it.
///
/// # Units
/// - `air_mps`: velocity of the air over ground, east and north; `along`: unit vector of the track
///
/// # References
/// As [`Wind::held`].
pub(crate) fn held_mps(air_mps: DVec2, airspeed_mps: f64, along: DVec2) -> Option<f64> {
    let across = along.perp_dot(air_mps);
    let square = airspeed_mps * airspeed_mps - across * across;
    let ground_mps = square.max(0.0).sqrt() + along.dot(air_mps);
    (square > 0.0 && ground_mps > 0.0).then_some(ground_mps)
}
