//! What a flight comes to, without its legs.

use super::charging::hand_out;
use super::course::FlightCourse;
use super::craft::Craft;
use super::pilot::{NoLog, Pilot};
use super::record::Sortie;
use crate::scenario::{Airframe, Conditions};

/// What a flight comes to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Totals {
    pub(super) flight_s: f64,
    pub(super) time_on_site_s: f64,
    pub(super) sorties: f64,
    pub(super) energy_j: f64,
    /// Greatest share of what a battery gives above the reserve that a sortie takes.
    pub(super) fullest_ratio: f64,
}

/// How the work on the ground comes out; 1 as planned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground {
    pub(super) swap_ratio: f64,
    pub(super) crew_ratio: f64,
}

impl Ground {
    pub(super) const AS_PLANNED: Ground = Ground { swap_ratio: 1.0, crew_ratio: 1.0 };

    /// What the crew does between sorties: it moves where the next one starts elsewhere, changes batteries, and waits for
    /// chargers. Returns the time of one change.
    pub(super) fn between(self, sorties: &mut [Sortie], airframe: &Airframe, conditions: &Conditions) -> f64 {
        let swap_s = airframe.swap_min * 60.0 * self.swap_ratio;
        for k in 1..sorties.len() {
            if sorties[k].home != sorties[k - 1].home {
                sorties[k].move_s = conditions.move_min * 60.0 * self.crew_ratio;
            }
        }
        hand_out(sorties, conditions.battery_sets, conditions.charging.as_ref(), swap_s);
        swap_s
    }
}

impl Totals {
    /// Flies a route; nothing where a battery set does not reach it and come back, or no way leads there.
    pub(super) fn of(
        course: &FlightCourse<'_>,
        craft: &Craft,
        ground: Ground,
        conditions: &Conditions,
    ) -> Option<Self> {
        let mut pilot = Pilot::new(course, craft, NoLog);
        pilot.fly().ok()?;
        let mut sorties = pilot.sorties;
        let swap_s = ground.between(&mut sorties, course.airframe, conditions);
        let flight_s: f64 = sorties.iter().map(|sortie| sortie.duration_s).sum();
        let waits_s: f64 = sorties.iter().map(|sortie| sortie.wait_s).sum();
        let moves_s: f64 = sorties.iter().map(|sortie| sortie.move_s).sum();
        let swaps_s = sorties.len().saturating_sub(1) as f64 * swap_s;
        let control_min = f64::from(conditions.control_points) * conditions.per_control_point_min;
        let crew_s = (conditions.set_up_min + conditions.pack_up_min + control_min) * 60.0;
        Some(Totals {
            flight_s,
            time_on_site_s: crew_s * ground.crew_ratio + flight_s + swaps_s + waits_s + moves_s,
            sorties: sorties.len() as f64,
            energy_j: sorties.iter().map(|sortie| sortie.energy_j).sum(),
            fullest_ratio: sorties.iter().map(|s| s.energy_j / s.usable_j).fold(0.0, f64::max),
        })
    }
}
