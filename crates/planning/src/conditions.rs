use crate::{LightLevel, Mission};
use serde::{Deserialize, Serialize};

/// What the job is flown under: rules, crew times and what is on hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Conditions {
    /// Which rule on height the cautions remind of.
    pub height_rule: HeightRule,
    /// Highest that a pass led by its GSD may go.
    pub height_ceiling_m: f64,
    /// Distance from the pilot beyond which the cautions remind of line of sight.
    pub pilot_distance_m: f64,
    /// Kept from structures and ground on the way to a pass and between passes.
    #[serde(default = "default_clearance_m")]
    pub clearance_m: f64,
    /// Largest motion blur, in pixels.
    pub blur_px: f64,
    /// From arriving to the first take-off.
    pub set_up_min: f64,
    /// From the last landing to leaving.
    pub pack_up_min: f64,
    /// Ground control points to place and measure.
    pub control_points: u32,
    /// Time for one of them.
    pub per_control_point_min: f64,
    /// Battery sets on hand.
    pub battery_sets: u32,
    /// Free card space on hand, in gigabytes (10^9 bytes).
    pub card_gb: f64,
    /// When the crew arrives; without it nothing is said about the light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mission: Option<Mission>,
    /// How much light there is to expose by; without it the cameras' own exposure times stand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<LightLevel>,
}

impl Default for Conditions {
    /// Common practice, no source.
    fn default() -> Self {
        Conditions {
            height_rule: HeightRule::EuOpen,
            height_ceiling_m: 110.0,
            pilot_distance_m: 500.0,
            clearance_m: default_clearance_m(),
            blur_px: 0.5,
            set_up_min: 15.0,
            pack_up_min: 10.0,
            control_points: 0,
            per_control_point_min: 6.0,
            battery_sets: 4,
            card_gb: 128.0,
            mission: None,
            light: None,
        }
    }
}

/// Common practice, no source.
fn default_clearance_m() -> f64 {
    10.0
}

/// Which rule on height the cautions remind of. Local rules and the remote pilot decide.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum HeightRule {
    /// 14 CFR 107.51: 400 ft above ground level, or within 400 ft of a structure.
    UsPart107,
    /// Regulation (EU) 2019/947, Art. 4: 120 m from the closest point of the surface of the earth.
    EuOpen,
    /// A limit that the user found out.
    Custom {
        /// Metres above the ground.
        limit_m: f64,
    },
}

/// How long processing takes for each unit of work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rates {
    /// Whether the rates were fitted to logged jobs; until then every hour shown says so.
    pub fitted: bool,
    /// The rates.
    pub stages: StageRates,
}

/// Hours for each unit of counted work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StageRates {
    /// Finding image features: hours for each gigapixel.
    pub features_h_per_gigapixel: f64,
    /// Matching: hours for a thousand overlapping pairs.
    pub matching_h_per_thousand_pairs: f64,
    /// Bundle adjustment: hours for a thousand images.
    pub adjustment_h_per_thousand_images: f64,
    /// Dense reconstruction: hours for each gigapixel.
    pub dense_h_per_gigapixel: f64,
}

impl Default for Rates {
    /// Assumed orders of magnitude for one workstation, not fitted to any job.
    fn default() -> Self {
        Rates {
            fitted: false,
            stages: StageRates {
                features_h_per_gigapixel: 0.01,
                matching_h_per_thousand_pairs: 0.005,
                adjustment_h_per_thousand_images: 0.15,
                dense_h_per_gigapixel: 0.12,
            },
        }
    }
}
