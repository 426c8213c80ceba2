//! What is flown, part by part: turns, ways, sorties.

use crate::flight::{FlownLeg, Sortie};
use crate::result::outcome::Finished;
use crate::result::working::terms::{Budget, Step, Term, Working};
use crate::route::LegKind;
use std::collections::BTreeMap;

const TURNING: &str = "yaw at 60°/s and one second more at each corner on the spot, by the change of the aircraft's heading; \
                       sweeps as they are flown";
const PATH: &str = "the lines flown, leg by leg, climbs and descents included";
const SETS: &str =
    "a sortie ends when what is left just covers the way home and the landing above the reserve";

/// All turns: those on the spot by how long they take, and the sweeps; nothing where there is none.
pub(crate) fn turns(stages: &Finished<'_>) -> Option<Step> {
    let flight = &stages.timing?.flight;
    let mut on_the_spot: BTreeMap<u64, (u32, f64)> = BTreeMap::new();
    for flown in flight.legs.iter().filter(|flown| flown.turn_s > 0.0) {
        let kind = on_the_spot.entry((flown.turn_s * 100.0).round() as u64).or_default();
        *kind = (kind.0 + 1, kind.1 + flown.turn_s);
    }
    let sweeps = || flight.legs.iter().filter(|flown| flown.leg.kind == LegKind::Turn);
    let swept_s: f64 = sweeps().map(|flown| flown.moving_s).sum();
    let swept = (swept_s > 0.0).then(|| (format!("{} sweeps", sweeps().count()), swept_s));
    let spots = on_the_spot.into_iter().map(|(hundredths, (count, all_s))| {
        let each_s = hundredths as f64 / 100.0;
        (format!("{count} on the spot at {each_s:.2} s each"), all_s)
    });
    let parts: Vec<Term> = spots.chain(swept).map(|(name, all_s)| Term::new("", name, all_s, "s")).collect();
    let result = Term::new("t_turns", "turns", flight.terms.turns_s, "s");
    (!parts.is_empty()).then_some(Step::Budget(Budget { result, parts, source: TURNING }))
}

/// The strips of every pass on the clock.
pub(crate) fn strips(stages: &Finished<'_>) -> Option<Step> {
    let timing = stages.timing?;
    let of_pass = |k: usize| {
        let pass = stages.passes[k].pass;
        let own = |flown: &&FlownLeg| flown.pass == Some(pass) && flown.leg.kind == LegKind::Strip;
        let legs: Vec<&FlownLeg> = timing.flight.legs.iter().filter(own).collect();
        let (length_m, all_s) = legs.iter().fold((0.0, 0.0), |(length_m, all_s), flown| {
            (length_m + flown.leg.length_m(), all_s + flown.moving_s)
        });
        let name = format!("pass {}: {} lines, {length_m:.1} m", k + 1, legs.len());
        (!legs.is_empty()).then(|| Term::new("", name, all_s, "s"))
    };
    let parts: Vec<Term> = (0..stages.passes.len()).filter_map(of_pass).collect();
    let result = Term::new("t_strips", "strips", timing.flight.terms.strips_s, "s");
    let source = "each line from rest to rest or from sweep to sweep, at the speed above or what the wind leaves of it";
    (!parts.is_empty()).then_some(Step::Budget(Budget { result, parts, source }))
}

/// The path of all sorties, by what it is for.
pub(crate) fn route_length(stages: &Finished<'_>) -> Option<Working> {
    const KINDS: [(LegKind, &str); 6] = [
        (LegKind::Strip, "strips"),
        (LegKind::Turn, "sweeps"),
        (LegKind::Link, "links"),
        (LegKind::Transit, "transits"),
        (LegKind::Climb, "climbs"),
        (LegKind::Descent, "descents"),
    ];
    let flight = &stages.timing?.flight;
    let part = |(kind, name): (LegKind, &str)| {
        let own = flight.legs.iter().filter(|flown| flown.leg.kind == kind);
        Term::new("", name, own.map(|flown| flown.leg.length_m()).sum(), "m")
    };
    let result = Term::new("l", "route", flight.route_length_m, "m");
    let parts = KINDS.map(part).into_iter().collect();
    Some(Working { steps: vec![Step::Budget(Budget { result, parts, source: PATH })] })
}

/// Battery sets, sortie by sortie.
pub(crate) fn sorties(stages: &Finished<'_>) -> Option<Working> {
    let sorties = &stages.timing?.flight.sorties;
    let part = |(k, sortie): (usize, &Sortie)| {
        let used = 100.0 * sortie.energy_j / sortie.usable_j;
        let minutes = sortie.duration_s / 60.0;
        let name = format!(
            "sortie {}: {minutes:.1} min, takes {used:.0} % of what a set gives above the reserve",
            k + 1
        );
        Term::new("", name, 1.0, "")
    };
    let result = Term::new("n", "battery sets", sorties.len() as f64, "");
    let parts = sorties.iter().enumerate().map(part).collect();
    Some(Working { steps: vec![Step::Budget(Budget { result, parts, source: SETS })] })
}
