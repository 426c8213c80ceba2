//! The flight of a strategy, and why it cannot be flown.

use super::bearing::predicted_in;
use super::course::FlightCourse;
use super::craft::Craft;
use super::home::Home;
use super::logbook::Logbook;
use super::pilot::{Pilot, Stuck};
use super::record::{Capacity, Flight, FlightTerms, FlownLeg};
use super::totals::{Ground, Totals};
use crate::base::wording::speed;
use crate::ground::SiteOutline;
use crate::route::PassPlan;
use crate::scenario::wind::Wind;
use crate::scenario::{Airframe, Conditions};
use glam::{DVec2, DVec3};
use std::sync::Arc;

/// Times the legs of all passes and cuts them into sorties.
///
/// Legs are flown with trapezoidal speed, from rest to rest but where a sweep joins two strips; where the nose has to turn
/// the aircraft yaws on the spot at 60°/s and takes one second more. Sorties are cut so that the battery covers the way home
/// from everywhere. Where nobody knows where the wind comes from, it is flown in the one of sixteen directions, counted from
/// the automatic strip direction, whose time on site is the lower median; of equal times
/// the one whose energy is.
///
/// Where there are several take-off points, every sortie starts at one of them and lands there again; the crew moves between
/// sorties.
///
/// `order` has the indices of the passes as they are flown.
///
/// # Errors
/// Why wind or batteries do not allow it, or that nothing leads there.
pub(crate) fn fly(
    plans: &[Arc<PassPlan>],
    order: Vec<usize>,
    airframe: &Airframe,
    site: &SiteOutline,
    conditions: &Conditions,
    homes: &[Home],
) -> Result<Flight, String> {
    let course = FlightCourse::new(plans, &order, airframe, site, conditions, homes);
    let (still, given) = (Craft::new(airframe, conditions, DVec2::ZERO), conditions.wind);
    if given.speed_mps >= still.fastest_mps {
        return Err(format!(
            "the wind of {} is as fast as the aircraft goes through the air ({}): it cannot hold its tracks; wait for less \
             wind",
            speed(given.speed_mps),
            speed(still.fastest_mps)
        ));
    }
    let craft = |wind: Wind| still.in_air(wind.velocity_mps().unwrap_or_default());
    let flown = |wind: Wind| Totals::of(&course, &craft(wind), Ground::AS_PLANNED, conditions);
    let written = Written { plans, course: &course, conditions };
    let flight = course.flown(|| {
        let wind = predicted_in(given, site.best_strips_rad, flown);
        let craft = craft(wind);
        written.flight(&craft, Ground::AS_PLANNED, wind).map_err(|stuck| stuck.told(&course, &craft))
    })?;
    Ok(Flight { order, ..flight })
}

/// A route whose flight is written down leg by leg.
pub(super) struct Written<'a> {
    pub(super) plans: &'a [Arc<PassPlan>],
    pub(super) course: &'a FlightCourse<'a>,
    pub(super) conditions: &'a Conditions,
}

impl Written<'_> {
    pub(super) fn flight(&self, craft: &Craft, ground: Ground, wind: Wind) -> Result<Flight, Stuck> {
        let (airframe, conditions) = (self.course.airframe, self.conditions);
        let mut pilot = Pilot::new(self.course, craft, Logbook::new(self.plans));
        pilot.fly()?;
        ground.between(&mut pilot.sorties, airframe, conditions);
        let capacity = if airframe.energy.is_some() { Capacity::Known } else { Capacity::SharesOnly };
        Ok(Flight::new(pilot, wind, capacity))
    }
}

impl Stuck {
    /// Why the flight cannot go on, in words.
    fn told(self, course: &FlightCourse<'_>, craft: &Craft) -> String {
        match self {
            Stuck::OutOfReach => format!(
                "a battery set flies {:.1} min before the reserve, too short to reach the route, expose and return",
                craft.hovers_s() / 60.0
            ),
            Stuck::NoWayRound => format!(
                "no way between the take-off point and the route round {} at the clearance set; lower it, or move the \
                 take-off point",
                course.shut_in()
            ),
        }
    }
}

impl Flight {
    /// A flight as it was written down, its sorties' batteries handed out.
    fn new(pilot: Pilot<'_, '_, Logbook<'_>>, wind: Wind, capacity: Capacity) -> Self {
        let (homes, craft) = (pilot.course.homes, pilot.craft);
        let corrections = pilot.course.airframe.flown_corrections();
        let home_of = |flown: &FlownLeg| pilot.sorties[flown.sortie as usize].home as usize;
        let Logbook { legs, station_time_s, .. } = pilot.log;
        let mut terms = FlightTerms::default();
        let mut route_length_m = 0.0;
        let mut reaches_m = vec![DVec2::ZERO; homes.len()];
        for flown in &legs {
            terms.add(flown);
            route_length_m += flown.length_m;
            let home = home_of(flown);
            let off_m = |place: &DVec3| (*place - homes[home].at_m).truncate();
            let reach_m = flown.leg.via_m.iter().map(off_m).fold(reaches_m[home], farther);
            reaches_m[home] = farther(reach_m, off_m(&flown.leg.to_m));
        }
        Flight {
            legs,
            take_offs_m: homes.iter().map(|home| home.at_m).collect(),
            sorties: pilot.sorties,
            station_time_s,
            terms,
            route_length_m,
            farthest_m: reaches_m.iter().map(|reach| reach.length()).fold(0.0, f64::max),
            reaches_m,
            wind,
            order: Vec::new(),
            capacity_j: craft.power.capacity_j(),
            capacity,
            acceleration_mps2: craft.acceleration_mps2,
            corrections,
        }
    }
}

/// The farther of two places, the first where they are equally far; squares say so of most.
fn farther(far: DVec2, off: DVec2) -> DVec2 {
    let is_farther = off.length_squared() > far.length_squared() && off.length() > far.length();
    if is_farther { off } else { far }
}
