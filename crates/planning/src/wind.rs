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
        let angle = self.from_deg.to_radians() - track_rad;
        let (across, against) = (self.speed_mps * angle.sin(), self.speed_mps * angle.cos());
        if across.abs() >= airspeed_mps {
            return None;
        }
        let crab_rad = (across / airspeed_mps).asin();
        let ground_mps = airspeed_mps * crab_rad.cos() - against;
        (ground_mps > 0.0).then_some(OnTrack { ground_mps, crab_rad })
    }

    /// The airspeed that a velocity over ground takes, east and north.
    pub fn airspeed_mps(&self, ground_mps: DVec2) -> f64 {
        (ground_mps - self.velocity_mps()).length()
    }
}
