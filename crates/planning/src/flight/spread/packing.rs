//! One draw of a route: sorties as full as the batteries allow.

use super::course::Course;
use crate::flight::Sortie;
use crate::flight::charging::hand_out;
use crate::flight::craft::{Cost, Craft};

/// What one draw came to.
pub(super) struct Drawn {
    pub(super) flight_s: f64,
    pub(super) time_on_site_s: f64,
    pub(super) sorties: f64,
    pub(super) energy_j: f64,
}

impl Course {
    /// Flies the route with an aircraft: sorties as full as the batteries allow.
    pub(super) fn fly(&self, craft: &Craft, swap_ratio: f64) -> Drawn {
        let mut packing = Packing { course: self, craft, sorties: Vec::new(), spent: None, after: 0 };
        for k in 0..self.items.len() {
            packing.fly(k);
        }
        packing.land(packing.home());
        let mut sorties = packing.sorties;
        let swap_s = self.swap_s * swap_ratio;
        hand_out(&mut sorties, self.battery_sets, self.charging.as_ref(), swap_s);
        let flight_s: f64 = sorties.iter().map(|sortie| sortie.duration_s).sum();
        let waits_s: f64 = sorties.iter().map(|sortie| sortie.wait_s).sum();
        let swaps_s = sorties.len().saturating_sub(1) as f64 * swap_s;
        Drawn {
            flight_s,
            time_on_site_s: self.fixed_s + flight_s + swaps_s + waits_s,
            sorties: sorties.len() as f64,
            energy_j: sorties.iter().map(|sortie| sortie.energy_j).sum(),
        }
    }

    fn out(&self, k: usize, craft: &Craft) -> Cost {
        self.items.get(k).or(self.items.last()).map_or(Cost::default(), |item| item.out.cost(craft))
    }

    /// The way home after so many items.
    fn home(&self, done: usize, craft: &Craft) -> Cost {
        match done.checked_sub(1) {
            Some(last) => self.items[last].home.cost(craft),
            None => self.out(0, craft),
        }
    }
}

/// Sorties as they fill up.
struct Packing<'c> {
    course: &'c Course,
    craft: &'c Craft,
    sorties: Vec<Sortie>,
    /// By the sortie in the air; none on the ground.
    spent: Option<Cost>,
    /// Items begun.
    after: usize,
}

impl Packing<'_> {
    fn fly(&mut self, k: usize) {
        let (item, craft) = (&self.course.items[k], self.craft);
        if self.spent.is_none() && item.link {
            return;
        }
        let across = self.spent.and(item.across.as_ref()).map(|way| way.cost(craft));
        let spent = self.spent.unwrap_or_else(|| self.course.out(k, craft));
        let there = item.run.cost(craft) + across.unwrap_or_else(|| craft.turned(item.corner_rad));
        let usable_j = craft.usable_j();
        let needed_j = spent.energy_j + there.energy_j;
        // Far from the end of a battery the way home need not be looked at.
        let far = needed_j + FAR_FROM_EMPTY * self.course.farthest_j <= usable_j;
        if far || needed_j + item.home.cost(craft).energy_j <= usable_j {
            self.spent = Some(spent + there);
            self.after = k + 1;
            return;
        }
        if across.is_some() {
            // Rather than going across, it lands and begins the item with a full battery.
            self.spent = Some(spent);
            self.land(self.home());
            return self.fly(k);
        }
        self.turn_back(k, spent, there);
    }

    /// Lands before a leg is done, and flies the rest of it in the next sortie.
    fn turn_back(&mut self, k: usize, spent: Cost, there: Cost) {
        let (item, craft) = (&self.course.items[k], self.craft);
        let [start, end] = [self.home(), item.home.cost(craft)];
        if item.link {
            self.spent = Some(spent);
            self.land(start);
            return;
        }
        let share = share_that_fits(item.stops, craft.usable_j() - spent.energy_j, there, [start, end]);
        self.spent = Some(spent + there.times(share));
        self.land(start.times(1.0 - share) + end.times(share));
        let out = self.course.out(k, craft).times(1.0 - share) + self.course.out(k + 1, craft).times(share);
        self.spent = Some(out + there.times(1.0 - share));
        self.after = k + 1;
    }

    /// The way home from where the aircraft is.
    fn home(&self) -> Cost {
        self.course.home(self.after, self.craft)
    }

    fn land(&mut self, home: Cost) {
        let Some(spent) = self.spent.take() else { return };
        let whole = spent + home;
        self.sorties.push(Sortie {
            duration_s: whole.time_s,
            energy_j: whole.energy_j,
            usable_j: self.craft.usable_j(),
            exposures: 0,
            battery: 0,
            wait_s: 0.0,
        });
    }
}

/// The way home is looked at once the battery would not cover the farthest one of the plan so many times.
const FAR_FROM_EMPTY: f64 = 3.0;

/// Greatest share of a strip, in whole exposures, from which the battery still covers the way home; from between two places
/// it is at most as long as the mean of theirs.
fn share_that_fits(stops: u32, left_j: f64, there: Cost, [start, end]: [Cost; 2]) -> f64 {
    let steps = stops.max(2) - 1;
    let needed = |done: u32| {
        let share = f64::from(done) / f64::from(steps);
        share * (there.energy_j + end.energy_j) + (1.0 - share) * start.energy_j
    };
    let done = (0..=steps).rev().find(|done| needed(*done) <= left_j).unwrap_or(0);
    f64::from(done) / f64::from(steps)
}
