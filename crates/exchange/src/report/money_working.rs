//! How the difference between two fleets comes about, step by step, with the numbers to recompute it by hand.

use crate::money_text::NOTHING;
use obliquity_planning::money::{
    FleetCase, FleetMember, FreedHours, Holding, JobTerms, JobYear, Offer, Running, capital_recovery,
    hired_days, sinking_fund,
};
use obliquity_planning::wording::trimmed;

/// A step of a working.
#[derive(Debug, Clone, PartialEq)]
pub struct MoneyStep {
    /// What it works out.
    pub title: String,
    /// Its formula in words.
    pub formula: String,
    /// What goes into it.
    pub terms: Vec<MoneyTerm>,
    /// What comes out.
    pub result: MoneyTerm,
}

/// A number of a working.
#[derive(Debug, Clone, PartialEq)]
pub struct MoneyTerm {
    /// What it is, with how it is made of others where it is.
    pub name: String,
    /// The number as it is read.
    pub text: String,
    /// The number.
    pub value: f64,
}

impl MoneyTerm {
    fn new(name: impl Into<String>, value: f64, decimals: usize) -> Self {
        MoneyTerm { name: name.into(), text: trimmed(value, decimals), value }
    }

    /// An amount, to a hundredth.
    fn amount(name: impl Into<String>, value: f64) -> Self {
        MoneyTerm::new(name, value, 2)
    }
}

/// From the own cost of every aircraft over what each job leaves to the difference of a year.
///
/// # Units
/// - `fleet`: place in [`FleetCase::fleets`]
pub fn purchase_working(case: &FleetCase, fleet: usize) -> Vec<MoneyStep> {
    let sides = [0, fleet];
    let mut steps = vec![difference(case, fleet)];
    for of in sides {
        let members = case.fleets[of].members.iter();
        steps.extend(members.filter_map(|member| own_cost(case, member)));
    }
    let counts = case.counts();
    for of in sides {
        let year = case.year(of, &counts);
        for (place, own) in year.jobs.iter().enumerate() {
            steps.extend(contribution(case, of, place, own));
        }
    }
    // an aircraft that stands in both fleets is worked out once
    let mut known: Vec<(String, String)> = Vec::new();
    steps.retain(|step| {
        let key = (step.title.clone(), step.result.text.clone());
        let is_new = !known.contains(&key);
        known.push(key);
        is_new
    });
    steps
}

/// The sentence's number.
fn difference(case: &FleetCase, fleet: usize) -> MoneyStep {
    let counts = case.counts();
    let (kept, other) = (case.year(0, &counts), case.year(fleet, &counts));
    let gain = case.gain(fleet, &counts);
    let (kept_name, name) = (&case.fleets[0].name, &case.fleets[fleet].name);
    let mut terms = vec![
        MoneyTerm::amount(format!("jobs of a year leave, {name}"), other.contribution),
        MoneyTerm::amount(format!("jobs of a year leave, {kept_name}"), kept.contribution),
        MoneyTerm::amount(format!("own cost a year, {name}"), other.own_cost),
        MoneyTerm::amount(format!("own cost a year, {kept_name}"), kept.own_cost),
    ];
    let mut formula = "(jobs leave, new − kept) − (own cost, new − kept)".to_owned();
    if gain.paid_anyway.abs() >= NOTHING {
        terms.push(MoneyTerm::amount("wages saved that are paid anyway", gain.paid_anyway));
        formula += " − wages paid anyway";
    }
    if let FreedHours::SoldAsDays { share, day_value } = case.firm.freed {
        let name = format!(
            "freed days sold: {} whole days × {} × {}",
            trimmed(gain.freed_days, 0),
            trimmed(share, 4),
            trimmed(day_value, 2)
        );
        terms.push(MoneyTerm::amount(name, gain.sold));
        formula += " + freed days sold";
    }
    let more = if gain.total() < 0.0 { "costs more a year (below 0)" } else { "leaves more a year" };
    MoneyStep {
        title: format!("Difference: {name} against {kept_name}"),
        formula,
        terms,
        result: MoneyTerm::amount(more, gain.total()),
    }
}

/// What an aircraft costs to have; nothing where it is had by the job.
fn own_cost(case: &FleetCase, member: &FleetMember) -> Option<MoneyStep> {
    let interest = case.firm.interest;
    let years = member.holding.years()?;
    let (recovery, fund) = (capital_recovery(interest, years), sinking_fund(interest, years));
    let cost = member.holding.own_cost(interest);
    let mut terms = Vec::new();
    let (running, formula) = match member.holding {
        Holding::Kept { resale_today, resale, running, .. } => {
            terms.push(MoneyTerm::amount("P, what it would fetch today", resale_today));
            terms.push(MoneyTerm::amount("S, resale at the end", resale));
            (running, "P × a − S × s + running + losses × deductible")
        }
        Holding::Bought { price, one_off, resale, running, .. } => {
            terms.push(MoneyTerm::amount("P, price without battery sets", price));
            terms.push(MoneyTerm::amount("one-off: training, permits, fittings", one_off));
            terms.push(MoneyTerm::amount("S, resale at the end", resale));
            (running, "(P + one-off) × a − S × s + running + losses × deductible")
        }
        Holding::Leased { rent, one_off, running, .. } => {
            terms.push(MoneyTerm::amount("rent a year", rent));
            terms.push(MoneyTerm::amount("one-off: training, permits, fittings", one_off));
            (running, "rent + one-off × a + running + losses × deductible")
        }
        Holding::Hired { .. } | Holding::Subcontracted => return None,
    };
    let Running { a_year, losses, deductible } = running;
    let rate = if interest == 0.0 { "1 / n" } else { "i / (1 − (1 + i)^−n)" };
    terms.extend([
        MoneyTerm::new("i, interest a year", interest, 4),
        MoneyTerm::new("n, years", years, 0),
        MoneyTerm::new(format!("a = {rate}"), recovery, 6),
    ]);
    if !matches!(member.holding, Holding::Leased { .. }) {
        let rate = if interest == 0.0 { "1 / n" } else { "i / ((1 + i)^n − 1)" };
        terms.push(MoneyTerm::new(format!("s = {rate}"), fund, 6));
    }
    terms.extend([
        MoneyTerm::amount("running: insurance, upkeep, licences", a_year),
        MoneyTerm::new("losses a year", losses, 4),
        MoneyTerm::amount("deductible, cost of a loss after insurance", deductible),
    ]);
    Some(MoneyStep {
        title: format!("Own cost a year: {}", member.name),
        formula: formula.to_owned(),
        terms,
        result: MoneyTerm::amount("own cost a year", cost.total()),
    })
}

/// What the jobs of a kind leave with a fleet; nothing where it does none.
fn contribution(case: &FleetCase, fleet: usize, job: usize, year: &JobYear) -> Option<MoneyStep> {
    let choice = year.choice?;
    let (kind, member) = (&case.jobs[job], &case.fleets[fleet].members[choice.member]);
    let terms = choice.terms;
    let mut rows = vec![MoneyTerm::amount("price", terms.price)];
    if let Offer::Flown(facts) = member.offers[job] {
        let attended_h = kind.money.attended_h(&facts);
        rows.extend(flown_rows(case, job, member, (&terms, facts.on_site_h, facts.battery_cycles)));
        rows.push(MoneyTerm::amount(
            format!(
                "− workstation alone: {} h × {}",
                trimmed(facts.machine_h, 3),
                trimmed(case.firm.machine_per_h, 2)
            ),
            terms.machine,
        ));
        rows.push(MoneyTerm::amount(
            format!(
                "− at the workstation: {} h × {}",
                trimmed(attended_h, 3),
                trimmed(case.firm.attended_wage_per_h, 2)
            ),
            terms.attended,
        ));
    } else {
        rows.push(MoneyTerm::amount(format!("− paid to {}", member.name), terms.bought_in));
    }
    rows.push(MoneyTerm::amount("− sign-off", terms.sign_off));
    rows.push(MoneyTerm::amount("= one job leaves", terms.contribution()));
    rows.push(MoneyTerm::new("jobs done a year", year.done, 3));
    Some(MoneyStep {
        title: format!("{} by {}", kind.name, member.name),
        formula: "what one job leaves × jobs done".to_owned(),
        terms: rows,
        result: MoneyTerm::amount("leave a year", year.done * terms.contribution()),
    })
}

/// What a visit takes, and the visits that are expected beyond the first.
fn flown_rows(
    case: &FleetCase,
    job: usize,
    member: &FleetMember,
    (terms, on_site_h, cycles): (&JobTerms, f64, f64),
) -> Vec<MoneyTerm> {
    let (firm, money) = (&case.firm, &case.jobs[job].money);
    let mut rows = vec![
        MoneyTerm::amount(
            format!(
                "− crew: {} × ({} h on site + {} h on the road) × {}",
                trimmed(firm.crew, 1),
                trimmed(on_site_h, 4),
                trimmed(money.road_h, 3),
                trimmed(firm.crew_wage_per_h, 2)
            ),
            terms.crew,
        ),
        MoneyTerm::amount(
            format!("− travel: {} km × {}", trimmed(money.road_km, 2), trimmed(firm.road_per_km, 3)),
            terms.travel,
        ),
        MoneyTerm::amount("− control survey", terms.control_survey),
        MoneyTerm::amount(
            format!(
                "− battery wear: {} sets × {} / {} cycles",
                trimmed(cycles, 4),
                trimmed(member.wear.set_price, 2),
                trimmed(member.wear.cycles, 0)
            ),
            terms.battery_wear,
        ),
    ];
    if terms.hire > 0.0 {
        let days = hired_days(terms.days / terms.visits);
        let name = format!(
            "− hire: {} whole {} × {}",
            trimmed(days, 0),
            if days == 1.0 { "day" } else { "days" },
            trimmed(member.holding.hire_a_day(), 2)
        );
        rows.push(MoneyTerm::amount(name, terms.hire));
    }
    if money.again_share > 0.0 {
        let p = trimmed(money.again_share, 4);
        let hire = if terms.hire > 0.0 { " + hire" } else { "" };
        rows.push(MoneyTerm::amount(
            format!("− visits again: {p} / (1 − {p}) × (crew + travel + battery wear{hire})"),
            terms.again,
        ));
    }
    rows
}
