//! Batteries and cards against what is on hand, and the charge left at landing.

use super::place::{Stretch, Walk};
use super::{Caution, CautionSource, Facts, Severity, check};
use crate::wording::{counted, minutes};
use crate::{Bands, Conditions, Outcome};

/// A battery reserve below this is cautioned. Common practice, no source.
const LEAST_RESERVE: f64 = 0.20;

/// Room for rounding in a share of a battery.
const ROUNDING: f64 = 1e-9;

pub(super) fn batteries(facts: &Facts<'_>, walk: &Walk) -> Vec<Caution> {
    let found =
        [below_reserve(facts, walk), reserve(facts), sets(facts, walk), waits(facts, walk), card(facts)];
    found.into_iter().flatten().collect()
}

/// A sortie that lands with less than the reserve, since nothing shorter can be flown.
fn below_reserve(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    let (flight, reserve) = (facts.flight(), facts.aircraft.airframe.reserve);
    let left = |sortie: &crate::Sortie| sortie.left_ratio(flight.capacity_j);
    let below = |sortie: &crate::Sortie| left(sortie) < reserve - ROUNDING;
    let index = flight.sorties.iter().position(below)?;
    let usable_j = flight.capacity_j * (1.0 - reserve);
    let mut drawn_j = 0.0;
    let touched = flight.legs.iter().position(|flown| {
        drawn_j += if flown.sortie as usize == index { flown.energy_j } else { 0.0 };
        drawn_j > usable_j
    });
    let share = left(&flight.sorties[index]) * 100.0;
    let what = if share < 0.0 {
        "would need more than a battery set holds".to_owned()
    } else {
        format!("would land with {share:.0} % of its battery set")
    };
    let text = format!(
        "sortie {} {what}, below the reserve of {:.0} %: move the take-off point nearer, or fly less far",
        index + 1,
        reserve * 100.0
    );
    let places = touched.map(|leg| walk.of_leg(leg)).into_iter().collect();
    let caution = check("battery-reserve", text, CautionSource::Plan).placed(places);
    Some(Caution { severity: Severity::Limit, ..caution })
}

fn reserve(facts: &Facts<'_>) -> Option<Caution> {
    let reserve = facts.aircraft.airframe.reserve;
    (reserve < LEAST_RESERVE).then(|| {
        let text =
            format!("lands with a reserve of {:.0} % only (common practice: 20 % and more)", reserve * 100.0);
        check("reserve", text, CautionSource::Practice)
    })
}

/// Where a sortie begins.
fn take_off(facts: &Facts<'_>, walk: &Walk, sortie: usize) -> Vec<Stretch> {
    let first = facts.flight().legs.iter().position(|flown| flown.sortie as usize == sortie);
    first.map(|leg| Stretch::at(walk.point_on(facts.flight(), leg, 0.0))).into_iter().collect()
}

/// More sets than there are, where none is charged.
fn sets(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    let (sorties, sets) = (facts.flight().sorties.len(), facts.conditions.battery_sets as usize);
    (sorties > sets && facts.conditions.charging.is_none()).then(|| {
        let text = format!(
            "needs {}, {sets} on hand: charge on site, bring more, or split the job",
            counted(sorties as u64, "battery set", "battery sets")
        );
        check("batteries", text, CautionSource::Plan).placed(take_off(facts, walk, sets))
    })
}

/// The crew stands about until a set is charged.
fn waits(facts: &Facts<'_>, walk: &Walk) -> Option<Caution> {
    let flight = facts.flight();
    let first = flight.sorties.iter().position(|sortie| sortie.wait_s > 0.0)?;
    let times = flight.sorties.iter().filter(|sortie| sortie.wait_s > 0.0).count() as u64;
    let text = format!(
        "the crew waits {} for chargers, {}, first before sortie {}: bring more sets, or charge more at once",
        minutes(flight.waits_s()),
        counted(times, "time", "times"),
        first + 1
    );
    Some(check("charger-wait", text, CautionSource::Plan).placed(take_off(facts, walk, first)))
}

fn card(facts: &Facts<'_>) -> Option<Caution> {
    let (needed, free) = (facts.outcome.storage_gb, facts.conditions.card_gb);
    let text = || format!("needs {needed:.0} GB of card space, {free:.0} GB on hand");
    (needed > free).then(|| check("card-space", text(), CautionSource::Plan))
}

impl Outcome {
    /// All its cautions, with what the spread of sorties says of the battery sets on hand where that is known.
    pub fn cautions_with(&self, bands: Option<&Bands>, conditions: &Conditions) -> Vec<Caution> {
        let mut all = self.cautions.clone();
        all.extend(bands.and_then(|bands| bands.caution(conditions, self.flight.sorties.len())));
        all.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
        all
    }
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
            "in at least one draw of ten it needs {}, {sets} on hand: bring one more",
            counted(needed as u64, "battery set", "battery sets")
        );
        Some(check("batteries-likely", text, CautionSource::Plan))
    }
}
