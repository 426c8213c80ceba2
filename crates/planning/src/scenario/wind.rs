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
    /// - `track_rad`: clockwise from north
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
pub(crate) fn held_mps(air_mps: DVec2, airspeed_mps: f64, along: DVec2) -> Option<f64> {
    let across = along.perp_dot(air_mps);
    let square = airspeed_mps * airspeed_mps - across * across;
    let ground_mps = square.max(0.0).sqrt() + along.dot(air_mps);
    (square > 0.0 && ground_mps > 0.0).then_some(ground_mps)
}
