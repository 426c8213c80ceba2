//! Whether another fleet pays, in words and as JSON.

use super::tune::misses_text;
use crate::money_text::{NOTHING, lever_text, nearest_turn_text, swing_matters, switching_text};
use obliquity_planning::Units;
use obliquity_planning::knob::Dial;
use obliquity_planning::money::{
    BreakEven, BreakEvenMix, Firm, FleetCase, Foremost, FreedHours, Gain, GainSpread, JobTerms, Portfolio,
    Swing, Turn,
};
use obliquity_planning::purchase::{FlownJob, NotFlown, Purchase, Refusal};
use obliquity_planning::wording::{count, listed, short, trimmed, within};
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// What every answer about money ends with.
pub const NOT_ADVICE: &str = "An estimate for planning, before tax and VAT, in nominal money; not financial advice: let an \
                              accountant look at it before you sign.";

/// An amount in whole units of the currency.
fn amount(value: f64) -> String {
    count(value)
}

/// The sentence about a fleet: what it costs or leaves more in a year than the kept one, and what turns that.
pub fn purchase_sentence(case: &FleetCase, fleet: usize) -> String {
    let gain = case.gain(fleet, &case.counts()).total();
    let money = format!("{} {}", amount(gain.abs()), case.firm.currency);
    let gist = if gain.abs() < NOTHING {
        "Leaves the same as keeping what you have".to_owned()
    } else if gain > 0.0 {
        format!("Leaves {money} a year more than keeping what you have")
    } else {
        format!("Costs {money} a year more than keeping what you have")
    };
    format!("{gist}; {}.", turning_text(case, fleet))
}

/// What would turn the answer: the number of the kind of job that decides it.
fn turning_text(case: &FleetCase, fleet: usize) -> String {
    let Some(place) = case.deciding_job(fleet) else { return "no number of jobs turns that".to_owned() };
    let (job, found) = (&case.jobs[place], case.break_even(fleet, place));
    let name = &job.name;
    let gist = match &found {
        BreakEven::Always => format!("pays at any number of jobs of {name} that the days of a year hold"),
        BreakEven::Never => {
            format!("no number of jobs of {name} that the days of a year hold turns that")
        }
        BreakEven::BeyondCapacity => {
            format!("only more jobs of {name} than the days of a year hold would turn that")
        }
        // where it pays at any fewer, up to where it does says more than from where it does not
        BreakEven::At(turns) => match turns.as_slice() {
            [Turn { count, pays: false }] if f64::from(*count) > job.count => {
                format!("pays up to {} jobs of {name} a year", count - 1)
            }
            _ => break_even_text(&found, name),
        },
    };
    format!("{gist}, you have {}", short(job.count))
}

/// At how many jobs a fleet pays: "breaks even at 12 jobs of Viaduct a year".
pub fn break_even_text(found: &BreakEven, job: &str) -> String {
    match found {
        BreakEven::Always => format!("pays at any number of jobs of {job}"),
        BreakEven::Never => format!("never pays by jobs of {job}"),
        BreakEven::BeyondCapacity => format!("would pay only beyond what the days of a year hold of {job}"),
        BreakEven::At(turns) => match turns.as_slice() {
            [Turn { count, pays: true }] => format!("breaks even at {count} jobs of {job} a year"),
            [Turn { count, pays: false }] => format!("ceases to pay at {count} jobs of {job} a year"),
            several => {
                let each = several.iter().map(|turn| {
                    format!("{} {}", if turn.pays { "pays from" } else { "no more from" }, turn.count)
                });
                format!("{} jobs of {job} a year", each.collect::<Vec<_>>().join(", "))
            }
        },
    }
}

/// Most fleets that are told one after the other.
const MOST_TOLD: usize = 3;

/// Which fleet leaves most of all, over the number of jobs of a kind.
pub fn foremost_text(case: &FleetCase, job: usize) -> String {
    let (found, of) = (case.foremost_by_jobs(job), &case.jobs[job]);
    let name = |own: &Foremost| &case.fleets[own.fleet].name;
    if let [only] = found.as_slice() {
        let jobs = format!("any number of jobs of {} that the days of a year hold", of.name);
        return format!("At {jobs}, {} leaves most of all fleets.", name(only));
    }
    // of many those about the number there is
    let now = found.iter().rposition(|own| f64::from(own.from) <= of.count).unwrap_or(0);
    let first = now.saturating_sub(1).min(found.len().saturating_sub(MOST_TOLD));
    let told = found.iter().skip(first).take(MOST_TOLD).map(|own| {
        let number = match own {
            Foremost { from, to, .. } if from == to => format!("at {to}"),
            Foremost { from, to, .. } => format!("from {from} to {to}"),
        };
        format!("{} {number}", name(own))
    });
    let told: Vec<String> = told.collect();
    format!("Leaves most, by jobs of {} a year: {}.", of.name, told.join(", "))
}

/// The same of all jobs together.
pub fn mix_text(found: &BreakEvenMix) -> String {
    match found {
        BreakEvenMix::Always => "pays at any number of all jobs together".to_owned(),
        BreakEvenMix::Never => "does not pay at up to twenty times all jobs together".to_owned(),
        BreakEvenMix::At(turns) => {
            let each = turns.iter().map(|(factor, pays)| {
                let share = format!("{} %", trimmed(100.0 * factor, 0));
                if *pays { format!("pays from {share}") } else { format!("no more from {share}") }
            });
            format!("{} of all jobs together", each.collect::<Vec<_>>().join(", "))
        }
    }
}

/// Why an aircraft does not fly a kind of job.
pub fn not_flown_text(why: &NotFlown) -> String {
    let refusal = |refusal: &Refusal| match refusal {
        Refusal::CannotFly(reasons) => reasons.join("; "),
        Refusal::Misses(misses) => format!("misses {}", misses_text(misses, Units::Metric)),
    };
    match why {
        NotFlown::Asked(asked) => format!("the client asks for \"{asked}\", which it has not"),
        NotFlown::Refused(each) => {
            each.iter().map(|(name, why)| format!("{name}: {}", refusal(why))).collect::<Vec<_>>().join("; ")
        }
    }
}

/// What was turned: "sidelap 62 %, tilt 33°".
pub fn turned_text(turned: &[(Dial, f64)]) -> String {
    let one = |(dial, value): &(Dial, f64)| {
        let row = dial.knob();
        format!("{} {}", within(row.whole), Units::Metric.text(row.unit, *value))
    };
    turned.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// What hours are worth that a fleet saves.
pub fn freed_text(firm: &Firm) -> String {
    match firm.freed {
        FreedHours::NotPaid => "hours saved are not paid".to_owned(),
        FreedHours::SoldAsDays { share, day_value } => format!(
            "hours saved are paid anyway; {} % of the whole days freed are sold at {} {}",
            trimmed(100.0 * share, 0),
            amount(day_value),
            firm.currency
        ),
        FreedHours::Slack => "hours saved are paid anyway and nothing is made of them".to_owned(),
    }
}

/// Draws start from this, so that equal portfolios give equal bands.
pub const SEED: u64 = 1;

/// The whole answer as text: a sentence for each fleet, how each aircraft flies each job, what it leaves, what a year comes
/// to, and what would turn the answer.
pub fn purchase_text(portfolio: &Portfolio, purchase: &Purchase) -> String {
    let case = &purchase.case;
    let firm = &case.firm;
    let mut text = format!("{}\n", portfolio.name);
    let kept = case.fleets.first().map_or("", |fleet| &fleet.name);
    let _ = writeln!(
        text,
        "Against keeping: {kept}. Amounts in {}; interest {} % a year; {}; {} days a year to fly on.",
        firm.currency,
        trimmed(100.0 * firm.interest, 2),
        freed_text(firm),
        short(firm.days())
    );
    let spreads = case.gain_spreads(&portfolio.unsure, SEED);
    for (fleet, spread) in spreads.iter().enumerate().skip(1) {
        let _ = writeln!(text, "\n{}\n  {}", case.fleets[fleet].name, purchase_sentence(case, fleet));
        fleet_lines(&mut text, portfolio, case, (fleet, spread));
    }
    let foremost = (1..case.fleets.len())
        .filter_map(|fleet| Some((case.gain(fleet, &case.counts()).total(), case.deciding_job(fleet)?)));
    if let Some((_, job)) = foremost.max_by(|one, other| one.0.total_cmp(&other.0)) {
        let _ = writeln!(text, "\n{}", foremost_text(case, job));
    }
    for (entry, flown) in portfolio.aircraft.iter().zip(&purchase.flown) {
        let Some(flown) = flown else { continue };
        let _ = writeln!(text, "\n{}", entry.aircraft.name);
        for (job, flown) in case.jobs.iter().zip(flown) {
            let _ = writeln!(text, "  {}: {}", job.name, flown_text(flown));
        }
    }
    let _ = writeln!(text, "\n{NOT_ADVICE}");
    text
}

fn flown_text(flown: &Result<FlownJob, NotFlown>) -> String {
    match flown {
        Ok(FlownJob { strategy, turned, facts, .. }) => {
            let set = if turned.is_empty() { String::new() } else { format!(" at {}", turned_text(turned)) };
            format!(
                "{strategy}{set}: {} min on site, {} battery sets, {} h of the workstation",
                count(60.0 * facts.on_site_h),
                trimmed(facts.battery_cycles, 1),
                short(facts.machine_h)
            )
        }
        Err(why) => format!("closed: {}", not_flown_text(why)),
    }
}

fn fleet_lines(
    text: &mut String,
    portfolio: &Portfolio,
    case: &FleetCase,
    (fleet, spread): (usize, &GainSpread),
) {
    let counts = case.counts();
    let gain = case.gain(fleet, &counts);
    let _ = writeln!(text, "  {}", gain_text(&gain));
    let _ = writeln!(text, "  {}", mix_text(&case.break_even_mix(fleet)));
    let (simple, discounted) = case.payback_years(fleet);
    let _ = writeln!(
        text,
        "  over {} years: net present value {}, {} ({} with interest)",
        case.study_years,
        amount(case.net_present_value(fleet)),
        payback_text(simple),
        payback_text(discounted)
    );
    if portfolio.unsure.is_empty() {
        return;
    }
    let _ = writeln!(
        text,
        "  8 of 10 draws between {} and {} a year; it pays in {} % of them",
        amount(spread.p10),
        amount(spread.p90),
        trimmed(100.0 * spread.pays, 0)
    );
    let swings = case.swings(fleet, &portfolio.unsure);
    if let Some(told) = nearest_turn_text(case, fleet, &swings) {
        let _ = writeln!(text, "  {told}");
    }
    for swing in swings.iter().filter(|swing| swing_matters(swing)) {
        let _ = writeln!(
            text,
            "    {}: {} to {} a year; {}",
            lever_text(&swing.lever),
            amount(swing.at_p10),
            amount(swing.at_p90),
            switching_text(swing)
        );
    }
}

/// When it is paid back.
///
/// # Units
/// - `years`: years
pub fn payback_text(years: Option<f64>) -> String {
    match years {
        None => "not paid back".to_owned(),
        Some(0.0) => "paid back at once".to_owned(),
        Some(years) => format!("paid back in {} years", trimmed(years, 1)),
    }
}

/// What a gain is made of, in words.
fn gain_text(gain: &Gain) -> String {
    let more =
        |value: f64| format!("{} {}", amount(value.abs()), if value < -NOTHING { "less" } else { "more" });
    let mut parts = vec![format!("jobs leave {}", more(gain.contribution))];
    if gain.paid_anyway.abs() >= NOTHING {
        parts.push(format!("{} of wages saved are paid anyway", amount(gain.paid_anyway)));
    }
    if gain.sold.abs() >= NOTHING {
        parts.push(format!("freed days bring {}", amount(gain.sold)));
    }
    parts.push(format!("the aircraft cost {} to have", more(gain.own_cost)));
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    format!("a year: {}", listed(&parts))
}

/// The whole answer as JSON; amounts in the firm's currency, shares from 0 to 1, hours, days, years.
///
/// # Units
/// - money, hours, days and years as the keys say
pub fn purchase_json(portfolio: &Portfolio, purchase: &Purchase) -> Value {
    let case = &purchase.case;
    let mut aircraft = Vec::new();
    for (entry, flown) in portfolio.aircraft.iter().zip(&purchase.flown) {
        let Some(flown) = flown else { continue };
        let jobs: Vec<Value> =
            case.jobs.iter().zip(flown).map(|(job, flown)| flown_json(&job.name, flown)).collect();
        aircraft.push(json!({ "name": entry.aircraft.name, "jobs": jobs }));
    }
    let spreads = case.gain_spreads(&portfolio.unsure, SEED);
    let fleets = spreads.iter().enumerate().map(|of| fleet_json(portfolio, case, of));
    let jobs = case.jobs.iter().enumerate().map(|(k, job)| {
        let one =
            |own: &Foremost| json!({ "from": own.from, "to": own.to, "fleet": case.fleets[own.fleet].name });
        let foremost: Vec<Value> = case.foremost_by_jobs(k).iter().map(one).collect();
        json!({ "name": job.name, "count": job.count, "foremost": foremost })
    });
    json!({
        "portfolio": portfolio.name,
        "currency": case.firm.currency,
        "interest": case.firm.interest,
        "days_a_year": case.firm.days(),
        "study_years": case.study_years,
        "jobs": jobs.collect::<Vec<_>>(),
        "aircraft": aircraft,
        "fleets": fleets.collect::<Vec<_>>(),
        "note": NOT_ADVICE,
    })
}

fn flown_json(job: &str, flown: &Result<FlownJob, NotFlown>) -> Value {
    match flown {
        Ok(FlownJob { strategy, turned, facts, .. }) => json!({
            "job": job,
            "strategy": strategy,
            "setting": turned.iter().map(|(dial, value)| json!({ "knob": dial.knob().id.0, "value": value })).collect::<Vec<_>>(),
            "on_site_h": facts.on_site_h,
            "battery_cycles": facts.battery_cycles,
            "machine_h": facts.machine_h,
        }),
        Err(why) => json!({ "job": job, "closed": not_flown_text(why) }),
    }
}

fn fleet_json(portfolio: &Portfolio, case: &FleetCase, (fleet, spread): (usize, &GainSpread)) -> Value {
    let counts = case.counts();
    let year = case.year(fleet, &counts);
    let jobs = case.jobs.iter().zip(&year.jobs).map(|(job, of)| {
        json!({
            "job": job.name,
            "done": of.done,
            "by": of.choice.map(|choice| &case.fleets[fleet].members[choice.member].name),
            "terms": of.choice.map(|choice| terms_json(&choice.terms)),
        })
    });
    let mut keys = Map::new();
    let mut put = |key: &str, value: Value| drop(keys.insert(key.to_owned(), value));
    put("name", json!(case.fleets[fleet].name));
    put("jobs", jobs.collect());
    put("days", json!(year.days));
    put("contribution", json!(year.contribution));
    put("own_cost", json!(year.own_cost));
    put("result", json!(year.result()));
    if fleet > 0 {
        put("sentence", json!(purchase_sentence(case, fleet)));
        put("gain", gain_json(&case.gain(fleet, &counts)));
        let each = case.jobs.iter().enumerate();
        put(
            "break_even",
            each.map(|(k, job)| {
                let found = case.break_even(fleet, k);
                json!({ "job": job.name, "found": break_even_name(&found), "turns": turns_json(&found) })
            })
            .collect(),
        );
        put("break_even_mix", json!(mix_text(&case.break_even_mix(fleet))));
        put("net_present_value", json!(case.net_present_value(fleet)));
        let (simple, discounted) = case.payback_years(fleet);
        put("simple_payback_years", json!(simple));
        put("discounted_payback_years", json!(discounted));
        put("flows", json!(case.flows(fleet)));
        if !portfolio.unsure.is_empty() {
            put("gain_p10", json!(spread.p10));
            put("gain_p50", json!(spread.p50));
            put("gain_p90", json!(spread.p90));
            put("pays_share", json!(spread.pays));
            put("swings", case.swings(fleet, &portfolio.unsure).iter().map(swing_json).collect());
        }
    }
    Value::Object(keys)
}

fn terms_json(terms: &JobTerms) -> Value {
    json!({
        "price": terms.price,
        "crew": terms.crew,
        "travel": terms.travel,
        "control_survey": terms.control_survey,
        "battery_wear": terms.battery_wear,
        "hire": terms.hire,
        "machine": terms.machine,
        "attended": terms.attended,
        "again": terms.again,
        "bought_in": terms.bought_in,
        "sign_off": terms.sign_off,
        "visits": terms.visits,
        "days": terms.days,
        "contribution": terms.contribution(),
    })
}

fn gain_json(gain: &Gain) -> Value {
    json!({
        "contribution": gain.contribution,
        "paid_anyway": gain.paid_anyway,
        "freed_days": gain.freed_days,
        "sold": gain.sold,
        "own_cost": gain.own_cost,
        "total": gain.total(),
    })
}

fn break_even_name(found: &BreakEven) -> &'static str {
    match found {
        BreakEven::Always => "always",
        BreakEven::Never => "never",
        BreakEven::BeyondCapacity => "beyond capacity",
        BreakEven::At(_) => "turns",
    }
}

fn turns_json(found: &BreakEven) -> Value {
    match found {
        BreakEven::At(turns) => {
            turns.iter().map(|turn| json!({ "count": turn.count, "pays": turn.pays })).collect()
        }
        _ => json!([]),
    }
}

fn swing_json(swing: &Swing) -> Value {
    json!({
        "number": lever_text(&swing.lever),
        "gain_at_p10": swing.at_p10,
        "gain_at_p90": swing.at_p90,
        "turns_below": swing.turns.below,
        "turns_above": swing.turns.above,
    })
}
