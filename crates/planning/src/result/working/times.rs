//! Time on the clock and energy from the batteries.

use crate::flight::{Sortie, Timing};
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::flying;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term, Working};
use crate::result::{MeasureId, PassOutcome, TimePart};
use crate::route::{PassPlan, SpeedTerms};
use crate::scenario::KnobId;

const FLIGHT: &str = "take-off to landing of all sorties, the parts as above, in whole seconds that add up";

const CLOCK: &str = "the crew's clock from arriving to leaving, in whole seconds";

/// Take-off to landing: the speeds of the passes, then the parts of the flight.
pub(crate) fn flight_time(stages: &Finished<'_>) -> Option<Working> {
    let timing = stages.timing?;
    let budget = timing.time_budget();
    let flown = budget.parts_s.iter().filter(|(part, _)| part.is_flown());
    let parts = flown.map(|(part, seconds)| {
        let origin = if *seconds > 0 { Origin::Step } else { Origin::Flown };
        Term::new("", part.name(), *seconds as f64, "s").from(origin)
    });
    let result = Term::new("t_flight", "flight time", budget.flight_s as f64, "s");
    let sum = Step::Budget(Budget { result, parts: parts.collect(), source: FLIGHT });
    let speeds = stages.passes.iter().enumerate().flat_map(|(k, pass)| speed(k, pass));
    let legs = |part| flying::legs(stages, part);
    let turned = legs(TimePart::Strips).into_iter().chain(flying::turns(stages));
    let further = [TimePart::Links, TimePart::Vertical, TimePart::Transits].into_iter().filter_map(legs);
    Some(Working::new(speeds.chain(turned).chain(further).chain([sum])))
}

/// What bounds the speed of a pass.
fn speed(k: usize, pass: &PassOutcome) -> Vec<Step> {
    let Some(plan) = pass.laid() else { return Vec::new() };
    let SpeedTerms { user_mps, airframe_mps, interval_mps, blur_mps, pattern_mps, speed_mps, .. } =
        plan.speed;
    let set = user_mps
        .map(|user_mps| Term::new("v_set", "speed set", user_mps, "m/s").from(Origin::Input(KnobId::SPEED)));
    let airframe = Term::new("v_top", "fastest level speed of the aircraft", airframe_mps, "m/s")
        .from(Origin::Input(KnobId("equipment.aircraft[].airframe.top_speed_mps")));
    let interval = Term::new("v_shot", "air base in the time between exposures", interval_mps, "m/s");
    let on = plan.speed.blur_on.text(|m| format!("{m:.1} m"));
    let blur = Term::new("v_blur", format!("motion blur at its limit on {on}"), blur_mps, "m/s");
    let pattern = pattern_mps.map(|mps| Term::new("v_pattern", "what the pattern allows", mps, "m/s"));
    // An aircraft that stops to expose need not mind the interval nor the blur on its way.
    let stops = plan.legs.iter().any(|leg| leg.standing.is_some());
    let (interval, shot) = match interval_by(k, plan, &interval) {
        Some(step) => (interval.from(Origin::Step), Some(step)),
        None => (interval, None),
    };
    let moving = [interval, blur].into_iter().filter(|term| !stops && term.value.is_finite());
    let terms: Vec<Term> = set.into_iter().chain([airframe]).chain(moving).chain(pattern).collect();
    let expression = Expression::Least(terms.iter().map(|term| Expression::symbol(term.symbol)).collect());
    let result = Term::new("v", format!("ground speed of pass {}", k + 1), speed_mps, "m/s");
    let least = Step::Formula(Formula { result, expression, terms, source: "the slowest of what bounds it" });
    shot.filter(|_| !stops).into_iter().chain([least]).map(|step| step.of_pass(plan.pass)).collect()
}

/// The speed at which one air base takes as long as the camera does.
fn interval_by(k: usize, plan: &PassPlan, gives: &Term) -> Option<Step> {
    let (base_m, cycle_s) = (plan.layout.air_base_m, plan.exposure.cycle_s);
    let agrees = (base_m / cycle_s - gives.value).abs() <= 1e-9 * gives.value;
    let taken = Term::new("t_shot", "time that one air base takes the camera", cycle_s, "s");
    let taken = match plan.exposure.dwell_s.len() {
        1 => taken.from(Origin::Input(KnobId("equipment.aircraft[].camera.shortest_interval_s"))),
        _ => Term { name: "one cycle through the attitudes, slewing included".to_owned(), ..taken },
    };
    let result = Term { name: format!("{}, pass {}", gives.name, k + 1), ..gives.clone() };
    agrees.then(|| {
        Step::Formula(Formula {
            result,
            expression: Expression::symbol("B") / Expression::symbol("t_shot"),
            terms: vec![Term::new("B", "air base", base_m, "m"), taken],
            source: "one exposure, or one cycle of them, an air base",
        })
    })
}

/// Arriving to leaving.
pub(crate) fn time_on_site(stages: &Finished<'_>) -> Option<Working> {
    let timing = stages.timing?;
    let budget = timing.time_budget();
    let of = |part: TimePart| Term::new("", part.name(), budget.of(part) as f64, "s");
    let flight = Term::new("t_flight", "flight", budget.flight_s as f64, "s")
        .from(Origin::Measure(MeasureId::FlightTime));
    let moves = moves(timing);
    let moved = moves.is_some().then(|| of(TimePart::Moves).from(Origin::Step));
    let before = [
        of(TimePart::SetUp).from(Origin::Input(timing.time.inputs.set_up)),
        of(TimePart::ControlPoints).from(Origin::Step),
        flight,
        of(TimePart::Swaps).from(Origin::Step),
        of(TimePart::Waits).from(Origin::Flown),
    ];
    let pack_up = of(TimePart::PackUp).from(Origin::Input(timing.time.inputs.pack_up));
    let parts = before.into_iter().chain(moved).chain([pack_up]).collect();
    let result = Term::new("t_site", "time on site", budget.total_s as f64, "s");
    let sum = Step::Budget(Budget { result, parts, source: CLOCK });
    Some(Working::new([control(timing), swaps(timing)].into_iter().chain(moves).chain([sum])))
}

/// Time for all control points.
fn control(timing: &Timing) -> Step {
    let time = &timing.time;
    Step::Formula(Formula {
        result: Term::new("t_control", "control points", time.control_s, "s"),
        expression: Expression::symbol("p") * Expression::symbol("t_point"),
        terms: vec![
            Term::new("p", "control points", f64::from(time.control_points), "")
                .from(Origin::Input(time.inputs.control_points)),
            Term::new("t_point", "for each control point", time.per_control_point_s, "s")
                .from(Origin::Input(time.inputs.per_control_point)),
        ],
        source: "common practice, no source",
    })
}

/// Time for all battery changes: none before the first sortie.
fn swaps(timing: &Timing) -> Step {
    let sorties = timing.flight.sorties.len() as f64;
    Step::Formula(Formula {
        result: Term::new("t_changes", "battery changes", timing.time.swaps_s, "s"),
        expression: (Expression::symbol("n") - Expression::number(1.0)) * Expression::symbol("t_change"),
        terms: vec![
            Term::new("n", "sorties", sorties, "").from(Origin::Measure(MeasureId::Sorties)),
            Term::new("t_change", "for each battery change", timing.time.swap_s, "s")
                .from(Origin::Input(KnobId("equipment.aircraft[].airframe.swap_min"))),
        ],
        source: "one change between two sorties",
    })
}

/// Time for all moves between take-off points; nothing where there is one.
fn moves(timing: &Timing) -> Option<Step> {
    let time = &timing.time;
    timing.has_several_take_offs().then(|| {
        Step::Formula(Formula {
            result: Term::new("t_moves", "take-off moves", time.moves_s, "s"),
            expression: Expression::symbol("m") * Expression::symbol("t_move"),
            terms: vec![
                Term::new("m", "moves", f64::from(time.moves), "").from(Origin::Flown),
                Term::new("t_move", "for each move", time.move_s, "s")
                    .from(Origin::Input(KnobId("conditions.move_min"))),
            ],
            source: "common practice, no source",
        })
    })
}

/// The same as a figure of its own.
pub(crate) fn time_of_moves(stages: &Finished<'_>) -> Option<Working> {
    Some(Working::new([moves(stages.timing?)?]))
}

const SORTIES: &str =
    "drawn leg by leg: level flight at its airspeed, corners and stops in hover, the weight lifted";

/// Energy in watt-hours, sortie by sortie; nothing where it is not known what a set holds.
pub(crate) fn energy(stages: &Finished<'_>) -> Option<Working> {
    let flight = &stages.timing?.flight;
    let parts = flight.sorties.iter().map(Sortie::energy_wh);
    Some(by_sortie("E", "energy", flight.energy_wh()?, "Wh", parts))
}

/// Energy in full battery sets, sortie by sortie.
pub(crate) fn energy_sets(stages: &Finished<'_>) -> Option<Working> {
    let flight = &stages.timing?.flight;
    let parts = flight.sorties.iter().map(|sortie| sortie.energy_sets(flight.capacity_j));
    Some(by_sortie("E", "energy in full battery sets", flight.energy_sets(), "sets", parts))
}

fn by_sortie(
    symbol: &'static str,
    name: &str,
    total: f64,
    unit: &'static str,
    parts: impl Iterator<Item = f64>,
) -> Working {
    let part = |(k, value): (usize, f64)| {
        Term::new("", format!("sortie {}", k + 1), value, unit).from(Origin::Flown)
    };
    let result = Term::new(symbol, name, total, unit);
    let parts = parts.enumerate().map(part).collect();
    Working::new([Step::Budget(Budget { result, parts, source: SORTIES })])
}
