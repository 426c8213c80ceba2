//! What makes a scenario one that can be evaluated: everything that reading a file cannot know from its syntax.

mod equipment;
mod mission;
mod outline;
mod site;
mod strategy;

pub use outline::{OutlineFault, outline_faults};

use crate::base::ByClass;
use crate::base::limits::{self, Range};
use crate::scenario::faults::{Checker, Fault};
use crate::scenario::{Conditions, HeightRule, Rates, Requirement, Scenario, Spread};

impl Scenario {
    /// Everything wrong with the scenario, in the order of its fields; empty when it can be evaluated.
    ///
    /// Whether an aircraft can really fly a strategy is not asked here: that is a result of evaluating it.
    pub fn faults(&self) -> Vec<Fault> {
        let mut check = Checker::default();
        check.name("name", "scenario", &self.name);
        site::check(&mut check, &self.site);
        equipment::check(&mut check, &self.equipment, "equipment.aircraft");
        strategy::check(&mut check, self);
        check_conditions(&mut check, &self.conditions);
        check_requirement(&mut check, &self.requirement);
        check_rates(&mut check, &self.rates);
        check.faults
    }
}

impl Checker {
    /// An outline must be a simple polygon.
    fn outline(&mut self, path: &str, what: &str, outline_m: &[glam::DVec2]) {
        for fault in outline_faults(outline_m) {
            match fault.corner {
                Some(corner) => {
                    let place = format!("{path}[{corner}]");
                    self.fault(
                        place,
                        format!("corner {} of the {what}: the outline {}", corner + 1, fault.message()),
                    );
                }
                None => self.fault(path, format!("the {what} {}", fault.message())),
            }
        }
    }
}

fn check_conditions(check: &mut Checker, conditions: &Conditions) {
    let c = conditions;
    if let HeightRule::Custom { limit_m } = c.height_rule {
        check.number("conditions.height_rule.limit_m", limit_m, limits::CEILING_M);
    }
    check.number("conditions.height_ceiling_m", c.height_ceiling_m, limits::CEILING_M);
    check.number("conditions.pilot_distance_m", c.pilot_distance_m, limits::PILOT_DISTANCE_M);
    check.number("conditions.clearance_m", c.clearance_m, limits::CLEARANCE_M);
    check.number("conditions.blur_px", c.blur_px, limits::BLUR_PX);
    check.number("conditions.set_up_min", c.set_up_min, limits::CREW_TIME_MIN);
    check.number("conditions.pack_up_min", c.pack_up_min, limits::CREW_TIME_MIN);
    check.number("conditions.control_points", f64::from(c.control_points), limits::CONTROL_POINTS);
    check.number("conditions.per_control_point_min", c.per_control_point_min, limits::CREW_TIME_MIN);
    check.number("conditions.battery_sets", f64::from(c.battery_sets), limits::BATTERY_SETS);
    check.number("conditions.card_gb", c.card_gb, limits::CARD_GB);
    check.number("conditions.wind.speed_mps", c.wind.speed_mps, limits::WIND_MPS);
    check.optional("conditions.wind.from_deg", c.wind.from_deg, limits::DIRECTION_DEG);
    check.number("conditions.temperature_c", c.temperature_c, limits::TEMPERATURE_C);
    check.number("conditions.altitude_m", c.altitude_m, limits::ALTITUDE_M);
    if let Some(charging) = &c.charging {
        check.number("conditions.charging.charge_min", charging.charge_min, limits::CHARGE_MIN);
        check.number("conditions.charging.at_once", f64::from(charging.at_once), limits::CHARGED_AT_ONCE);
    }
    check_spread(check, &c.spread);
    mission::check(check, c);
}

fn check_spread(check: &mut Checker, spread: &Spread) {
    check.number("conditions.spread.wind_mps", spread.wind_mps, limits::WIND_MPS);
    check.number("conditions.spread.wind_deg", spread.wind_deg, limits::SPREAD_DEG);
    check.number("conditions.spread.speed_ratio", spread.speed_ratio, limits::SPREAD_RATIO);
    check.number("conditions.spread.turn_ratio", spread.turn_ratio, limits::SPREAD_RATIO);
    check.number("conditions.spread.battery_ratio", spread.battery_ratio, limits::SPREAD_RATIO);
    check.number("conditions.spread.swap_ratio", spread.swap_ratio, limits::SPREAD_RATIO);
    check.number("conditions.spread.crew_ratio", spread.crew_ratio, limits::SPREAD_RATIO);
}

fn check_requirement(check: &mut Checker, requirement: &Requirement) {
    by_class(
        check,
        "requirement.gsd_cm",
        &ByClass::from_fn(|class| Some(requirement.gsd_cm[class])),
        limits::GSD_CM,
    );
    by_class(check, "requirement.coverage", &requirement.coverage, limits::COVERAGE);
    let views = requirement.views;
    check.number("requirement.views.max_incidence_deg", views.max_incidence_deg, limits::INCIDENCE_DEG);
    check.number("requirement.views.min_views", f64::from(views.min_views), limits::MIN_VIEWS);
    check.number(
        "requirement.views.min_intersection_deg",
        views.min_intersection_deg,
        limits::INTERSECTION_DEG,
    );
    check.number("requirement.views.max_link_deg", views.max_link_deg, limits::LINK_DEG);
    check.optional("requirement.time_on_site_min", requirement.time_on_site_min, limits::TIME_ON_SITE_MIN);
    check.optional("requirement.images", requirement.images.map(f64::from), limits::IMAGES);
}

fn by_class(check: &mut Checker, path: &str, values: &ByClass<Option<f64>>, range: Range) {
    for (class, value) in values.iter() {
        check.optional(format!("{path}.{}", class.name()), *value, range);
    }
}

fn check_rates(check: &mut Checker, rates: &Rates) {
    let stages = rates.stages;
    let fields = [
        ("features_h_per_gigapixel", stages.features_h_per_gigapixel),
        ("matching_h_per_thousand_pairs", stages.matching_h_per_thousand_pairs),
        ("adjustment_h_per_thousand_images", stages.adjustment_h_per_thousand_images),
        ("dense_h_per_gigapixel", stages.dense_h_per_gigapixel),
    ];
    for (field, value) in fields {
        check.number(format!("rates.stages.{field}"), value, limits::STAGE_RATE_H);
    }
}
