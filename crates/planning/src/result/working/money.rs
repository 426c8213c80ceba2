//! What a job leaves, and each part of it.

use crate::base::exact::HECTARE_M2;
use crate::money::JobFigures;
use crate::result::MeasureId;
use crate::result::outcome::Finished;
use crate::result::working::expression::Expression;
use crate::result::working::terms::{Budget, Formula, Origin, Step, Term, Working};
use crate::scenario::KnobId;

const DERIVED: &str =
    "hours, kilometres and cycles, each times what one costs (derived); amounts in your own currency";

/// A part of the cost, which opens its own working.
fn part(symbol: &'static str, name: &str, value: f64, of: MeasureId) -> Term {
    Term::new(symbol, name, value, "").from(Origin::Measure(of))
}

fn set(symbol: &'static str, name: &str, value: f64, unit: &'static str, key: &'static str) -> Term {
    Term::new(symbol, name, value, unit).from(Origin::Input(KnobId(key)))
}

fn crew_part(job: &JobFigures) -> Term {
    part("c_crew", "crew", job.terms.crew, MeasureId::JobCrew)
}

fn travel_part(job: &JobFigures) -> Term {
    part("c_travel", "travel", job.terms.travel, MeasureId::JobTravel)
}

fn wear_part(job: &JobFigures) -> Term {
    part("c_batteries", "battery wear", job.terms.battery_wear, MeasureId::JobBatteryWear)
}

/// All that the job takes.
fn cost_step(job: &JobFigures) -> Step {
    let terms = &job.terms;
    Step::Budget(Budget {
        result: Term::new("c", "cost of the job", terms.costs(), ""),
        parts: vec![
            crew_part(job),
            travel_part(job),
            part("c_control", "control survey", terms.control_survey, MeasureId::JobControlSurvey),
            wear_part(job),
            part("c_processing", "processing", terms.processing(), MeasureId::JobProcessing),
            part("c_again", "visits made again", terms.again, MeasureId::JobAgain),
            part("c_sign_off", "sign-off", terms.sign_off, MeasureId::JobSignOff),
        ],
        source: DERIVED,
    })
}

/// What the job leaves of its price.
fn contribution_step(job: &JobFigures, cost: Origin) -> Step {
    Step::Formula(Formula {
        result: Term::new("m", "contribution", job.terms.contribution(), ""),
        expression: Expression::symbol("P") - Expression::symbol("c"),
        terms: vec![
            set("P", "price", job.terms.price, "", "job.price"),
            Term::new("c", "cost of the job", job.terms.costs(), "").from(cost),
        ],
        source: "price less what the job takes; the aircraft's own cost a year is not in it",
    })
}

/// What the job takes.
pub(crate) fn cost(stages: &Finished<'_>) -> Option<Working> {
    Some(Working::new([cost_step(stages.job?)]))
}

/// What the job leaves.
pub(crate) fn contribution(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    Some(Working::new([cost_step(job), contribution_step(job, Origin::Step)]))
}

/// What the job leaves for each hectare.
pub(crate) fn contribution_per_ha(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let formula = Formula {
        result: Term::new("m_ha", "contribution a hectare", job.contribution_per_ha(), "/ha"),
        expression: Expression::symbol("m") / (Expression::symbol("A") / Expression::number(HECTARE_M2)),
        terms: vec![
            part("m", "contribution", job.terms.contribution(), MeasureId::JobContribution),
            Term::new("A", "land inside the boundary", job.area_m2, "m²"),
        ],
        source: "10,000 m² in a hectare",
    };
    Some(Working::new([Step::Formula(formula)]))
}

/// Wages on site and on the road.
pub(crate) fn crew(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let on_site = Expression::symbol("t_site") / Expression::number(3600.0);
    let formula = Formula {
        result: Term::new("c_crew", "crew", job.terms.crew, ""),
        expression: Expression::symbol("n")
            * Expression::symbol("w")
            * (on_site + Expression::symbol("t_road")),
        terms: vec![
            set("n", "people on site", job.job.crew, "", "job.crew"),
            set("w", "wage of one, an hour", job.job.crew_wage_per_h, "", "job.crew_wage_per_h"),
            Term::new("t_site", "time on site", 3600.0 * job.facts.on_site_h, "s")
                .from(Origin::Measure(MeasureId::TimeOnSite)),
            set("t_road", "on the road, there and back", job.job.road_h, "h", "job.road_h"),
        ],
        source: DERIVED,
    };
    Some(Working::new([Step::Formula(formula)]))
}

/// Kilometres on the road.
pub(crate) fn travel(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let road = set("d", "on the road, there and back, km", job.job.road_km, "", "job.road_km");
    let each = set("r", "a kilometre", job.job.road_per_km, "", "job.road_per_km");
    Some(product(Term::new("c_travel", "travel", job.terms.travel, ""), road, each))
}

/// Measuring control points.
pub(crate) fn control_survey(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let points = Term::new("p", "control points", f64::from(job.control_points), "")
        .from(Origin::Input(stages.timing?.time.inputs.control_points));
    let each = set("r", "survey of one", job.job.control_point_price, "", "job.control_point_price");
    Some(product(Term::new("c_control", "control survey", job.terms.control_survey, ""), points, each))
}

/// So many, times what each costs.
fn product(result: Term, count: Term, each: Term) -> Working {
    let expression = Expression::symbol(count.symbol) * Expression::symbol(each.symbol);
    Working::new([Step::Formula(Formula { result, expression, terms: vec![count, each], source: DERIVED })])
}

/// Wear of battery sets.
pub(crate) fn battery_wear(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let formula = Formula {
        result: Term::new("c_batteries", "battery wear", job.terms.battery_wear, ""),
        expression: Expression::symbol("e") * Expression::symbol("s") / Expression::symbol("n"),
        terms: vec![
            Term::new("e", "full battery sets drawn", job.facts.battery_cycles, "sets")
                .from(Origin::Measure(MeasureId::EnergySets)),
            set("s", "price of a set", job.job.battery_set_price, "", "job.battery_set_price"),
            set("n", "cycles of a set", job.job.battery_cycles, "", "job.battery_cycles"),
        ],
        source: "a set is worn by its full cycles, whatever its age (common practice)",
    };
    Some(Working::new([Step::Formula(formula)]))
}

/// The workstation by itself, and somebody at it.
pub(crate) fn processing(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let machine = Expression::symbol("t") * Expression::symbol("r");
    let attended = Expression::symbol("t_a") * Expression::symbol("w");
    let formula = Formula {
        result: Term::new("c_processing", "processing", job.terms.processing(), ""),
        expression: machine + attended,
        terms: vec![
            Term::new("t", "processing", job.facts.machine_h, "h")
                .from(Origin::Measure(MeasureId::ProcessingHours)),
            set("r", "workstation, an hour", job.job.machine_per_h, "", "job.machine_per_h"),
            Term::new("t_a", "attended hours", job.facts.attended_h, "h")
                .from(Origin::Measure(MeasureId::AttendedHours)),
            set(
                "w",
                "wage at the workstation, an hour",
                job.job.attended_wage_per_h,
                "",
                "job.attended_wage_per_h",
            ),
        ],
        source: DERIVED,
    };
    Some(Working::new([Step::Formula(formula)]))
}

/// Visits beyond the first.
pub(crate) fn again(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let share = Expression::symbol("p") / (Expression::number(1.0) - Expression::symbol("p"));
    let visit =
        Expression::symbol("c_crew") + Expression::symbol("c_travel") + Expression::symbol("c_batteries");
    let formula = Formula {
        result: Term::new("c_again", "visits made again", job.terms.again, ""),
        expression: share * visit,
        terms: vec![
            set("p", "visits made again, a share", job.job.again_share, "", "job.again_share"),
            crew_part(job),
            travel_part(job),
            wear_part(job),
        ],
        source: "each visit fails with the same chance, until one is good (geometric distribution)",
    };
    Some(Working::new([Step::Formula(formula)]))
}

/// A licensed practice's signature.
pub(crate) fn sign_off(stages: &Finished<'_>) -> Option<Working> {
    let job = stages.job?;
    let given = set("c_sign_off", "sign-off", job.job.sign_off, "", "job.sign_off");
    let result = Term::new("c_sign_off", "sign-off", job.terms.sign_off, "");
    Some(Working::new([Step::Budget(Budget { result, parts: vec![given], source: "as it is set" })]))
}
