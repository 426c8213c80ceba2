use crate::scenario::Conditions;
use serde::{Deserialize, Serialize};

/// What a crew does and has on site where it differs from the scenario's: with one aircraft, or in one strategy. What is left
/// out is as it stands one level up: a strategy's as its aircraft's, an aircraft's as the scenario's.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OnSite {
    /// From arriving to the first take-off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_up_min: Option<f64>,
    /// From the last landing to leaving.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pack_up_min: Option<f64>,
    /// Ground control points to place and measure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub control_points: Option<u32>,
    /// Time for one of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per_control_point_min: Option<f64>,
    /// Battery sets on hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub battery_sets: Option<u32>,
}

impl OnSite {
    /// Whether nothing differs.
    pub fn is_usual(&self) -> bool {
        *self == OnSite::default()
    }

    /// Puts what differs in place of what stands there.
    pub(crate) fn put_on(self, conditions: &mut Conditions) {
        let OnSite { set_up_min, pack_up_min, control_points, per_control_point_min, battery_sets } = self;
        let put = |to: &mut f64, own: Option<f64>| *to = own.unwrap_or(*to);
        put(&mut conditions.set_up_min, set_up_min);
        put(&mut conditions.pack_up_min, pack_up_min);
        put(&mut conditions.per_control_point_min, per_control_point_min);
        conditions.control_points = control_points.unwrap_or(conditions.control_points);
        conditions.battery_sets = battery_sets.unwrap_or(conditions.battery_sets);
    }
}
