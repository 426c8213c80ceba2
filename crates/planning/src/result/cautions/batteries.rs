//! Batteries and cards against what is on hand, and the charge left at landing.

use crate::base::Unit;
use crate::base::wording::{counted, held, minutes};
use crate::flight::{Bands, DRAWS};
use crate::result::caution::{Caution, CautionSource, Stretch, check};
use crate::result::cautions::facts::Facts;
use crate::result::cautions::place::beginning;
use crate::scenario::Conditions;

/// A battery reserve below this is cautioned. Common practice, no source.
const LEAST_RESERVE: f64 = 0.20;

pub(super) fn reserve(facts: &Facts<'_>) -> Option<Caution> {
    let reserve = facts.aircraft.airframe.reserve;
    (reserve < LEAST_RESERVE).then(|| {
        let told = held(Unit::Share, reserve, LEAST_RESERVE);
        let text =
            format!("lands with a reserve of {} only (common practice: {} and more)", told.value, told.limit);
        check("reserve", text, CautionSource::Practice).gauged(-reserve, told.value)
    })
}

/// Where a sortie begins.
fn take_off(facts: &Facts<'_>, sortie: usize) -> Vec<Stretch> {
    let first = facts.flight().legs.iter().position(|flown| flown.sortie as usize == sortie);
    first.map(|leg| Stretch::at(beginning(facts.flight(), leg))).into_iter().collect()
}

/// More sets than there are, where none is charged.
pub(super) fn sets(facts: &Facts<'_>) -> Option<Caution> {
    let (sorties, sets) = (facts.flight().sorties.len(), facts.conditions.battery_sets as usize);
    (sorties > sets && facts.conditions.charging.is_none()).then(|| {
        let text = format!(
            "needs {}, {sets} on hand: charge on site, bring more, or split the job",
            counted(sorties as u64, "battery set", "battery sets")
        );
        check("batteries", text, CautionSource::Plan)
            .placed(take_off(facts, sets))
            .gauged(sorties as f64, counted(sorties as u64, "set", "sets"))
    })
}

/// The crew stands about until a set is charged.
pub(super) fn waits(facts: &Facts<'_>) -> Option<Caution> {
    let flight = facts.flight();
    let first = flight.sorties.iter().position(|sortie| sortie.wait_s > 0.0)?;
    let times = flight.sorties.iter().filter(|sortie| sortie.wait_s > 0.0).count() as u64;
    let text = format!(
        "the crew waits {} for chargers, {}, first before sortie {}: bring more sets, or charge more at once",
        minutes(flight.waits_s()),
        counted(times, "time", "times"),
        first + 1
    );
    let waits_s = flight.waits_s();
    let caution = check("charger-wait", text, CautionSource::Plan).placed(take_off(facts, first));
    Some(caution.gauged(waits_s, minutes(waits_s)))
}

pub(super) fn card(facts: &Facts<'_>) -> Option<Caution> {
    let needed = facts.load.storage_gb;
    let free = facts.conditions.card_gb;
    (needed > free).then(|| {
        let told = held(Unit::Gigabytes, needed, free);
        let text = format!("needs {} of card space, {} on hand", told.value, told.limit);
        check("card-space", text, CautionSource::Plan).gauged(needed, told.value)
    })
}

/// What the draws of the flight tell of, where they are made.
pub(super) fn likely(facts: &Facts<'_>) -> Option<Caution> {
    facts.timing.bands.as_ref()?.caution(facts.conditions, facts.flight().sorties.len())
}

pub(super) fn out_of_reach(facts: &Facts<'_>) -> Option<Caution> {
    facts.timing.bands.as_ref()?.out_of_reach_caution()
}

impl Bands {
    /// What the spread of sorties says of the battery sets on hand: nothing where they last in nine draws of ten, where
    /// sets are charged on site, or where the plan as it stands needs more already.
    pub fn caution(&self, conditions: &Conditions, planned_sorties: usize) -> Option<Caution> {
        let (sets, needed) = (conditions.battery_sets, self.sorties.p90.ceil());
        let enough = needed <= f64::from(sets) || planned_sorties > sets as usize;
        if enough || conditions.charging.is_some() {
            return None;
        }
        let text = format!(
            "in at least one draw of ten it needs {}, {sets} on hand: bring {} more",
            counted(needed as u64, "battery set", "battery sets"),
            needed - f64::from(sets)
        );
        let gauge = counted(needed as u64, "set", "sets");
        Some(check("batteries-likely", text, CautionSource::Plan).gauged(needed, gauge))
    }

    /// Draws that cannot be flown: the battery or the wind of the day may be worse than planned.
    pub fn out_of_reach_caution(&self) -> Option<Caution> {
        (self.out_of_reach > 0).then(|| {
            let text = format!(
                "in {} of {DRAWS} draws, with a weak battery or more wind, a battery set does not reach the route and come \
                 back; the bands are those of the others",
                self.out_of_reach
            );
            let gauge = counted(u64::from(self.out_of_reach), "draw", "draws");
            check("battery-reach-likely", text, CautionSource::Plan).gauged(f64::from(self.out_of_reach), gauge)
        })
    }
}
