//! What one job brings and takes in money.

use serde::{Deserialize, Serialize};

/// What the job brings and takes in money, whatever flies it. A file may leave out any of it: what is left out costs nothing, and
/// without a price nothing is said about money at all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Job {
    /// What amounts are in; nothing is converted.
    pub currency: String,
    /// What the client pays.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// People on site and on the road.
    pub crew: f64,
    /// What an hour of one of them costs.
    pub crew_wage_per_h: f64,
    /// On the road, there and back, each visit.
    pub road_h: f64,
    /// The same in kilometres.
    pub road_km: f64,
    /// What a kilometre on the road costs, wages left out.
    pub road_per_km: f64,
    /// Measuring one control point, the crew's time left out.
    pub control_point_price: f64,
    /// What one battery set costs.
    pub battery_set_price: f64,
    /// Full cycles that it lasts.
    pub battery_cycles: f64,
    /// What an hour of the workstation costs while it works by itself.
    pub machine_per_h: f64,
    /// What an hour of somebody at the workstation costs.
    pub attended_wage_per_h: f64,
    /// Share of visits after which the site must be visited again.
    pub again_share: f64,
    /// A licensed practice's signature.
    pub sign_off: f64,
}

impl Job {
    /// Whether it is as where a file leaves it out.
    pub fn is_usual(&self) -> bool {
        *self == Job::default()
    }

    /// What costs nothing so far and mostly costs something: names of inputs.
    pub fn at_nothing(&self) -> Vec<&'static str> {
        let usual = [
            (self.crew * self.crew_wage_per_h, "wage of the crew"),
            (self.battery_set_price, "battery set"),
            (self.machine_per_h, "workstation"),
            (self.attended_wage_per_h, "wage at the workstation"),
        ];
        usual.into_iter().filter(|(amount, _)| *amount == 0.0).map(|(_, name)| name).collect()
    }
}

impl Default for Job {
    /// No price and no costs; two people and 200 cycles of a battery set are common practice, no source.
    fn default() -> Self {
        Job {
            currency: String::new(),
            price: None,
            crew: 2.0,
            crew_wage_per_h: 0.0,
            road_h: 0.0,
            road_km: 0.0,
            road_per_km: 0.0,
            control_point_price: 0.0,
            battery_set_price: 0.0,
            battery_cycles: 200.0,
            machine_per_h: 0.0,
            attended_wage_per_h: 0.0,
            again_share: 0.0,
            sign_off: 0.0,
        }
    }
}
