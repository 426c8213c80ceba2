//! A scenario as it is planned without what earlier flights have corrected: what a log of flown jobs holds as planned.

use obliquity_planning::Scenario;
use std::sync::Arc;

/// The same scenario with aircraft that come out as planned.
pub fn uncorrected(scenario: &Scenario) -> Scenario {
    let mut own = scenario.clone();
    if own.equipment.aircraft.iter().any(|aircraft| aircraft.airframe.corrections.is_some()) {
        for aircraft in &mut Arc::make_mut(&mut own.equipment).aircraft {
            aircraft.airframe.corrections = None;
        }
    }
    own
}
