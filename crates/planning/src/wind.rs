//! Wind and what it does to flying along a track.

use glam::DVec2;
use serde::{Deserialize, Serialize};

/// Wind at flying height.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wind {
    /// Metres per second.
    pub speed_mps: f64,
    /// Where it comes from, clockwise from north.
    pub from_deg: f64,
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
    /// The velocity of the air over ground, east and north.
    pub fn velocity_mps(&self) -> DVec2 {
        let from = self.from_deg.to_radians();
        -self.speed_mps * DVec2::new(from.sin(), from.cos())
    }

    /// Holds a track at an airspeed (the wind triangle); nothing when the wind is too strong for it.
    ///
    /// # Units
    /// - `track_rad`: clockwise from north
    pub fn held(&self, airspeed_mps: f64, track_rad: f64) -> Option<OnTrack> {
        let along = DVec2::new(track_rad.sin(), track_rad.cos());
        let ground_mps = held_mps(self.velocity_mps(), airspeed_mps, along)?;
        let across = along.perp_dot(self.velocity_mps());
        Some(OnTrack { ground_mps, crab_rad: (across / airspeed_mps).asin() })
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
