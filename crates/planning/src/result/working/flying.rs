//! What is flown, part by part: legs, turns, ways, sorties.

use crate::flight::{Flight, FlownLeg, Sortie};
use crate::geometry::motion::{CORNER_S, YAW_RADPS, turned_rad};
use crate::result::TimePart;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{
    Budget, Formula, Origin, Step, StepLine, StepTable, Term, Together, Working,
};
use crate::route::LegKind;
use crate::scenario::KnobId;
use std::collections::BTreeMap;

const TURNING: &str = "common practice, no source: yaw at 60°/s by the change of the aircraft's heading, and one second more at \
                       each corner on the spot";
const SWEEPS: &str = "turns on the spot, and sweeps as they are flown";
const LEGS: &str = "constant acceleration from rest to the speed that the wind allows and back to rest; on a leg too short for \
                    that, v is √(l × a)";
const LEGS_CORRECTED: &str = "as constant acceleration from rest and back to rest gives it, at speeds that come out as logged flights did: \
                             the correction of the aircraft is in them";
const PATH: &str = "the lines flown, leg by leg, climbs and descents included";
const SETS: &str =
    "a sortie ends when what is left just covers the way home and the landing above the reserve";
const OFF: &str = "Pythagoras, on the plan, from the take-off point to the farthest place that is flown to";

/// Lines of a table beyond which the rest is told together.
const MOST_LINES: usize = 200;

/// All turns: those on the spot by their number and by how far the heading changes, and the sweeps; nothing where there is none.
pub(crate) fn turns(stages: &Finished<'_>) -> Vec<Step> {
    let Some(timing) = stages.timing else { return Vec::new() };
    let flight = &timing.flight;
    let corners: Vec<f64> =
        flight.legs.iter().map(|flown| flown.turn_s).filter(|time_s| *time_s > 0.0).collect();
    let on_the_spot_s: f64 = corners.iter().sum();
    let sweeps = || flight.legs.iter().filter(|flown| flown.leg.kind == LegKind::Turn);
    let swept_s: f64 = sweeps().map(|flown| flown.moving_s).sum();
    let ratio = flight.corrections.turn_ratio;
    let turned_deg: f64 = corners.iter().map(|time_s| turned_rad(time_s / ratio).to_degrees()).sum();
    let all = Term::new("t_turns", TimePart::Turns.name(), flight.terms.turns_s, "s");
    let spot = if swept_s > 0.0 {
        Term::new("t_spot", "turns on the spot", on_the_spot_s, "s")
    } else {
        all.clone()
    };
    let corner = |result: Term| {
        let counted = corners.len() as f64;
        let planned = Expression::symbol("n") * Expression::symbol("t_corner")
            + Expression::symbol("A") / Expression::symbol("ω");
        let is_corrected = ratio != 1.0;
        let correction = is_corrected.then(|| {
            Term::new("c", "correction by flights", ratio, "")
                .from(Origin::Input(KnobId("equipment.aircraft[].airframe.corrections.turn_ratio")))
        });
        Step::Formula(Formula {
            result,
            expression: if is_corrected { Expression::symbol("c") * planned } else { planned },
            terms: [
                Term::new("n", "corners turned at on the spot", counted, "").from(Origin::Flown),
                Term::new("t_corner", "to settle at a corner", CORNER_S, "s").from(Origin::Practice),
                Term::new("A", "heading changed, all corners together", turned_deg, "°").from(Origin::Flown),
                Term::new("ω", "yaw rate", YAW_RADPS.to_degrees().round(), "°/s").from(Origin::Practice),
            ]
            .into_iter()
            .chain(correction)
            .collect(),
            source: TURNING,
        })
    };
    let swept = || Term::new("", format!("{} sweeps", sweeps().count()), swept_s, "s").from(Origin::Flown);
    match (corners.is_empty(), swept_s > 0.0) {
        (true, false) => Vec::new(),
        (true, true) => vec![Step::Budget(Budget { result: all, parts: vec![swept()], source: SWEEPS })],
        (false, false) => vec![corner(spot)],
        (false, true) => {
            let parts = vec![spot.clone().from(Origin::Step), swept()];
            vec![corner(spot), Step::Budget(Budget { result: all, parts, source: SWEEPS })]
        }
    }
}

/// Legs that are flown alike: number, length, time.
type Alike = (u32, f64, f64);

/// The time on all legs of a part of the flight, those together that reach the same speed; nothing where there is none.
pub(crate) fn legs(stages: &Finished<'_>, part: TimePart) -> Option<Step> {
    let timing = stages.timing?;
    let flight = &timing.flight;
    let (kinds, symbol, total_s): (&[LegKind], _, _) = match part {
        TimePart::Strips => (&[LegKind::Strip], "t_strips", flight.terms.strips_s),
        TimePart::Links => (&[LegKind::Link], "t_links", flight.terms.links_s),
        TimePart::Vertical => (&[LegKind::Climb, LegKind::Descent], "t_vertical", flight.terms.vertical_s),
        TimePart::Transits => (&[LegKind::Transit], "t_transits", flight.terms.transits_s),
        _ => return None,
    };
    let mut alike: BTreeMap<(usize, u64), Alike> = BTreeMap::new();
    let mut others: Alike = (0, 0.0, 0.0);
    for flown in flight.legs.iter().filter(|flown| kinds.contains(&flown.leg.kind) && flown.moving_s > 0.0) {
        let of_pass = |k: &usize| part == TimePart::Strips && Some(stages.passes[*k].pass) == flown.pass;
        let pass = (0..stages.passes.len()).find(of_pass).map_or(0, |k| k + 1);
        let group = if is_plain(flown, flight.acceleration_mps2) {
            // Speeds are never negative, so that their bits are in their order.
            alike.entry((pass, flown.peak_mps.to_bits())).or_default()
        } else {
            &mut others
        };
        *group = (group.0 + 1, group.1 + flown.length_m, group.2 + flown.moving_s);
    }
    let lines: Vec<StepLine> =
        alike.into_iter().map(|((pass, peak), alike)| line(pass, f64::from_bits(peak), alike)).collect();
    let lines = shortened(lines, others);
    let plain = lines.iter().any(|line| !line.own.is_empty());
    let acceleration = plain.then(|| {
        Term::new("a", "acceleration", flight.acceleration_mps2, "m/s²")
            .from(Origin::Input(KnobId("equipment.aircraft[].airframe.acceleration_mps2")))
    });
    let term = Expression::symbol;
    (!lines.is_empty()).then(|| {
        Step::Table(StepTable {
            result: Term::new(symbol, part.name(), total_s, "s"),
            expression: term("l") / term("v") + term("k") * term("v") / term("a"),
            shared: acceleration.into_iter().collect(),
            lines,
            together: Together::Sum,
            source: if flight.corrections.speed_ratio == 1.0 { LEGS } else { LEGS_CORRECTED },
        })
    })
}

fn line(pass: usize, peak_mps: f64, (count, length_m, all_s): Alike) -> StepLine {
    let legs = if count == 1 { "leg" } else { "legs" };
    StepLine {
        name: if pass > 0 { format!("pass {pass}") } else { format!("{count} {legs}") },
        own: vec![
            Term::new("k", "legs", f64::from(count), "").from(Origin::Flown),
            Term::new("l", "together", length_m, "m").from(Origin::Flown),
            Term::new("v", "greatest speed on them", peak_mps, "m/s").from(Origin::Flown),
        ],
        gives: Term::new("t", "time", all_s, "s"),
    }
}

/// The lines of a table with those that are counted otherwise, and no more of them than can be read.
fn shortened(mut lines: Vec<StepLine>, others: Alike) -> Vec<StepLine> {
    let mut rest = (others.0, others.2);
    let time_s = |line: &StepLine| line.gives.value;
    lines.sort_by(|a, b| time_s(b).total_cmp(&time_s(a)));
    for line in lines.drain(MOST_LINES.min(lines.len())..) {
        rest = (rest.0 + line.own[0].value as u32, rest.1 + time_s(&line));
    }
    let counted = (rest.0 > 0).then(|| StepLine {
        name: format!("{} with corners, stops or changing speeds on them, or very short", rest.0),
        own: Vec::new(),
        gives: Term::new("t", "time", rest.1, "s"),
    });
    lines.into_iter().chain(counted).collect()
}

/// Whether a leg is flown from rest to rest at one speed.
fn is_plain(flown: &FlownLeg, acceleration_mps2: f64) -> bool {
    let time_s = flown.length_m / flown.peak_mps + flown.peak_mps / acceleration_mps2;
    flown.ends_mps == [0.0, 0.0] && (time_s - flown.moving_s).abs() <= 1e-9 * flown.moving_s
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
        let length_m: f64 = own.clone().map(|flown| flown.length_m).sum();
        Term::new("", format!("{} {name}", own.count()), length_m, "m").from(Origin::Flown)
    };
    let result = Term::new("l", "route", flight.route_length_m, "m");
    let parts = KINDS.map(part).into_iter().collect();
    Some(Working::new([Step::Budget(Budget { result, parts, source: PATH })]))
}

/// How far the route goes from its take-off points.
pub(crate) fn farthest(stages: &Finished<'_>) -> Option<Working> {
    let flight = &stages.timing?.flight;
    let result = Term::new("d", "farthest from take-off", flight.farthest_m, "m");
    let lines = farthest_of_each(flight);
    let square = |symbol| Expression::symbol(symbol) * Expression::symbol(symbol);
    let expression = (square("x") + square("y")).root();
    let table = StepTable {
        result,
        expression,
        shared: Vec::new(),
        lines,
        together: Together::Greatest,
        source: OFF,
    };
    Some(Working::new([Step::Table(table)]))
}

fn farthest_of_each(flight: &Flight) -> Vec<StepLine> {
    let several = flight.reaches_m.len() > 1;
    let used = |home: usize| flight.sorties.iter().any(|sortie| sortie.home as usize == home);
    let reaches = flight.reaches_m.iter().enumerate().filter(|(home, _)| used(*home));
    reaches
        .map(|(home, off_m)| {
            let (x, y) =
                (if off_m.x < 0.0 { "west" } else { "east" }, if off_m.y < 0.0 { "south" } else { "north" });
            let point = if several { format!("take-off {}: ", home + 1) } else { String::new() };
            StepLine {
                name: format!("{point}x to the {x}, y to the {y}"),
                own: vec![
                    Term::new("x", "across", off_m.x.abs(), "m").from(Origin::Flown),
                    Term::new("y", "up the plan", off_m.y.abs(), "m").from(Origin::Flown),
                ],
                gives: Term::new("d", "distance", off_m.length(), "m"),
            }
        })
        .collect()
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
        Term::new("", name, 1.0, "").from(Origin::Flown)
    };
    let result = Term::new("n", "battery sets", sorties.len() as f64, "");
    let parts = sorties.iter().enumerate().map(part).collect();
    Some(Working::new([Step::Budget(Budget { result, parts, source: SETS })]))
}
