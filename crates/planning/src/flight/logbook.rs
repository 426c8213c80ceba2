//! Writes down every leg of a flight: its line, its clock, its energy, the time of each exposure.

use super::course::Spot;
use super::pilot::{Log, Passed, What};
use super::record::FlownLeg;
use super::shared_leg::SharedLeg;
use crate::route::{Leg, PassPlan};
use std::sync::Arc;

/// The legs as they are flown, and when each exposure is taken.
pub(super) struct Logbook<'p> {
    plans: &'p [Arc<PassPlan>],
    pub(super) legs: Vec<FlownLeg>,
    /// For each pass, as they are listed, the flying clock at each of its stations.
    pub(super) station_time_s: Vec<Vec<f64>>,
}

impl<'p> Logbook<'p> {
    pub(super) fn new(plans: &'p [Arc<PassPlan>]) -> Self {
        let station_time_s = plans.iter().map(|plan| vec![0.0; plan.stations.poses.len()]).collect();
        // a way there, one home and a leg that is broken off for each of some sorties
        let legs: usize = plans.iter().map(|plan| plan.legs.len()).sum();
        Logbook { plans, legs: Vec::with_capacity(legs + legs / 4 + 32), station_time_s }
    }

    fn note_exposures(&mut self, passed: &Passed<'_>, leg: &Leg, pass: usize) {
        let begun_s = passed.start_s + passed.passage.turn.time_s;
        let times_s = &mut self.station_time_s[pass];
        if let Some(motion) = passed.passage.run.motion {
            for stop in &leg.stops {
                times_s[stop.station as usize] = begun_s + motion.time_at_s(stop.along_m);
            }
        } else if let What::Part { part, .. } = passed.what {
            for (stop, end_s) in leg.stops.iter().zip(part.run.hops_end_s(passed.craft)) {
                times_s[stop.station as usize] = begun_s + end_s;
            }
        }
    }
}

impl Log for Logbook<'_> {
    fn flown(&mut self, passed: &Passed<'_>) {
        let (leg, pass) = match passed.what {
            What::Part { item, stops, end, .. } => {
                let whole = || SharedLeg::of_plan(&self.plans[item.pass], item.index);
                let leg = cut(item.leg, stops, end).map_or_else(whole, SharedLeg::from);
                self.note_exposures(passed, &leg, item.pass);
                (leg, Some(item.pass_id))
            }
            What::Way(way) => (way.leg.clone().into(), None),
            What::Sweep { item, leg } => (leg.clone().into(), Some(item.pass_id)),
        };
        self.legs.push(FlownLeg {
            length_m: length_m(passed, &leg),
            leg,
            pass,
            sortie: passed.sortie as u32,
            start_s: passed.start_s,
            turn_s: passed.passage.turn.time_s,
            moving_s: passed.passage.run.cost.time_s,
            energy_j: passed.passage.turn.energy_j + passed.passage.run.cost.energy_j,
            peak_mps: passed.passage.run.peak_mps,
            ends_mps: [passed.entering_mps, passed.passage.leaving_mps],
            standing_s: passed.passage.run.standing_s,
        });
    }
}

/// A leg from after so many of its stops up to where it is left; nothing where that is all of it.
fn cut(leg: &Leg, [from, to]: [usize; 2], end: Spot) -> Option<Leg> {
    match (from, end) {
        (0, Spot::Stop(..)) => Some(leg.split(to).0),
        (0, _) => None,
        (_, Spot::Stop(..)) => Some(leg.split(from).1.split(to - from).0),
        _ => Some(leg.split(from).1),
    }
}

/// Length of a leg as it is flown: a movement along the whole of it knows that.
fn length_m(passed: &Passed<'_>, leg: &Leg) -> f64 {
    let is_cut = match passed.what {
        What::Part { stops, end, .. } => stops[0] > 0 || matches!(end, Spot::Stop(..)),
        What::Way(_) | What::Sweep { .. } => false,
    };
    passed.passage.run.motion.filter(|_| !is_cut).map_or_else(|| leg.length_m(), |motion| motion.length_m())
}
