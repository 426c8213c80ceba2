use crate::scenario::wind::Wind;
use crate::scenario::{LightLevel, Mission};
use serde::{Deserialize, Serialize};

/// What the job is flown under: rules, crew times and what is on hand. A file may leave out any of it: the default then
/// holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Conditions {
    /// Which rule on height the cautions remind of.
    pub height_rule: HeightRule,
    /// Highest that a pass led by its GSD may go.
    pub height_ceiling_m: f64,
    /// Distance from the pilot beyond which the cautions remind of line of sight.
    pub pilot_distance_m: f64,
    /// Kept from structures and ground on the way to a pass and between passes.
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
    /// How well they are measured.
    pub survey: Survey,
    /// Time to move crew and gear from one take-off point to another.
    pub move_min: f64,
    /// Battery sets on hand.
    pub battery_sets: u32,
    /// Free card space on hand, in gigabytes (10^9 bytes).
    pub card_gb: f64,
    /// Wind at flying height.
    pub wind: Wind,
    /// Temperature of the air where the aircraft flies.
    pub temperature_c: f64,
    /// Altitude of the site above sea level.
    pub altitude_m: f64,
    /// How batteries are charged on site; absent, they are not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub charging: Option<Charging>,
    /// How sure wind, speed, turns, batteries and the crew's times are.
    pub spread: Spread,
    /// When the crew arrives; without it nothing is said about the light.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mission: Option<Mission>,
    /// How much light there is to expose by; without it the cameras' own exposure times stand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub light: Option<LightLevel>,
}

/// How well the crew measures a control point, one sigma; horizontal is of east and of north each.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Survey {
    /// Of its place.
    pub horizontal_m: f64,
    /// Of its height.
    pub vertical_m: f64,
}

impl Default for Survey {
    /// A satellite receiver on a pole, corrected by a base: common practice, no source.
    fn default() -> Self {
        Survey { horizontal_m: 0.01, vertical_m: 0.02 }
    }
}

/// How battery sets are charged on site.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Charging {
    /// Where the power comes from.
    pub supply: Supply,
    /// Time to charge one set that was flown down to the reserve.
    #[serde(default = "Charging::usual_min")]
    pub charge_min: f64,
    /// Sets that can be charged at once.
    #[serde(default = "Charging::usual_at_once")]
    pub at_once: u32,
}

impl Charging {
    /// One set at a time, an hour each: common practice, no source.
    pub fn usual(supply: Supply) -> Self {
        Charging { supply, charge_min: Charging::usual_min(), at_once: Charging::usual_at_once() }
    }

    fn usual_min() -> f64 {
        60.0
    }

    fn usual_at_once() -> u32 {
        1
    }
}

/// Where the power for charging comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Supply {
    /// A socket on site.
    Mains,
    /// A generator that is brought along.
    Generator,
}

/// How far things may come out otherwise than planned: standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Spread {
    /// Of the wind's speed, in metres per second.
    pub wind_mps: f64,
    /// Of the wind's direction, in degrees.
    pub wind_deg: f64,
    /// Of the speed held on a leg, as a share of it.
    pub speed_ratio: f64,
    /// Of the time for turns, as a share of it.
    pub turn_ratio: f64,
    /// Of what a battery set holds, as a share of it.
    pub battery_ratio: f64,
    /// Of the time for a battery change, as a share of it.
    pub swap_ratio: f64,
    /// Of the crew's times for set-up, pack-up, control points and moves, as a share of them.
    pub crew_ratio: f64,
    /// What the draws start from: equal seeds give equal bands.
    pub seed: u64,
}

impl Default for Spread {
    /// Common practice, no source.
    fn default() -> Self {
        Spread {
            wind_mps: 1.5,
            wind_deg: 20.0,
            speed_ratio: 0.03,
            turn_ratio: 0.15,
            battery_ratio: 0.05,
            swap_ratio: 0.25,
            crew_ratio: 0.25,
            seed: 1,
        }
    }
}

impl Default for Conditions {
    /// Common practice, no source.
    fn default() -> Self {
        Conditions {
            height_rule: HeightRule::EuOpen,
            height_ceiling_m: 110.0,
            pilot_distance_m: 500.0,
            clearance_m: 10.0,
            blur_px: 0.5,
            set_up_min: 15.0,
            pack_up_min: 10.0,
            control_points: 0,
            per_control_point_min: 6.0,
            survey: Survey::default(),
            move_min: 10.0,
            battery_sets: 4,
            card_gb: 128.0,
            wind: Wind::default(),
            // The standard atmosphere's at sea level.
            temperature_c: 15.0,
            altitude_m: 0.0,
            charging: None,
            spread: Spread::default(),
            mission: None,
            light: None,
        }
    }
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
