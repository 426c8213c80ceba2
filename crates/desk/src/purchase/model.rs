//! What the screen of a purchase shows, as plain values and finished texts.

use super::document::PortfolioDocument;
use super::figures::{FleetFigures, PurchaseFigures};
use crate::show;
use obliquity_exchange::chart::Chart;
use obliquity_exchange::{MoneyStep, freed_text, not_flown_text, payback_text, turned_text};
use obliquity_planning::money::{BreakEvenMix, JobYear, Offer, Portfolio, PortfolioMember};
use obliquity_planning::wording::{Form, count, short, trimmed};
use obliquity_planning::{Aircraft, Units};
use std::sync::Arc;

/// How far the figures are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PurchaseProgress {
    /// They are of the portfolio as it stands.
    Known,
    /// They are being worked out.
    Runs {
        /// How far it is, 0 to 10.
        tenths: u64,
    },
    /// That was stopped.
    Stopped,
    /// There are none, and why.
    Failed(String),
}

/// What of the inputs is shown to the left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PurchasePanel {
    /// The kinds of job, by each fleet.
    #[default]
    Jobs,
    /// How the aircraft of the fleet in focus are had.
    Fleet,
    /// What holds for every job.
    Firm,
    /// Numbers that are not sure.
    Ranges,
    /// What is listed: jobs, aircraft, fleets.
    Make,
}

/// What is shown to the right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ShownRight {
    /// The diagrams.
    #[default]
    Diagrams,
    /// How the difference comes about.
    Working,
}

/// A fleet in the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its name.
    pub name: String,
    /// What it leaves more than the kept one; of that one, what its year comes to.
    pub gain: String,
    /// In how many of the draws it pays; empty of the kept one.
    pub pays: String,
    /// Whether it pays; nothing of the kept one.
    pub verdict: Option<bool>,
}

/// Whether a fleet does a kind of job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FleetState {
    /// It flies it, as the kept one does.
    Flown,
    /// It flies it, and the kept one does not do it.
    Opened,
    /// Somebody else does it.
    BoughtIn,
    /// It does not.
    Closed,
}

impl FleetState {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            FleetState::Flown => "flown",
            FleetState::Opened => "opened",
            FleetState::BoughtIn => "bought in",
            FleetState::Closed => "closed",
        }
    }
}

/// A kind of job with a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCell {
    /// Whether it does it.
    pub state: FleetState,
    /// On site, each visit.
    pub minutes: String,
    /// Of the year, each job.
    pub days: String,
    /// What one job leaves.
    pub leaves: String,
    /// What to know when pointing at it: which aircraft, at which settings; or why not.
    pub told: String,
}

/// A kind of job.
#[derive(Debug, Clone, PartialEq)]
pub struct JobRow {
    /// Its name.
    pub name: String,
    /// One for each fleet.
    pub cells: Vec<JobCell>,
    /// Who does not fly it, and why.
    pub closed: Vec<String>,
    /// Hours at the workstation that processing asks for, by whom it is flown: "as processed: 1.4 to 2.1 h".
    pub attended: String,
    /// The least of them.
    pub attended_h: f64,
}

/// Scenarios that hold something else than when the portfolio was last looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangedScenario {
    /// Which ones, in a sentence.
    pub told: String,
}

/// What the screen is made of.
#[derive(Debug)]
pub struct GivenPurchase<'a> {
    /// What is open.
    pub document: &'a PortfolioDocument,
    /// The last that are known; they may be of earlier inputs.
    pub figures: Option<&'a Arc<PurchaseFigures>>,
    /// How far they are.
    pub progress: PurchaseProgress,
    /// The fleet that was chosen.
    pub focus: Option<usize>,
    /// The kind of job that was chosen.
    pub job: Option<usize>,
    /// What is shown to the left.
    pub panel: PurchasePanel,
    /// What is shown to the right.
    pub right: ShownRight,
    /// Aircraft that could be added, by where they are from.
    pub on_offer: Vec<OnOffer>,
    /// The scenario that is open on the board, by its file's name; or why it cannot be a job's.
    pub open_scenario: Result<String, String>,
    /// The units on the screen.
    pub units: Units,
}

/// Aircraft that could be added.
#[derive(Debug, Clone, PartialEq)]
pub struct OnOffer {
    /// Where they are from.
    pub from: String,
    /// All of them.
    pub aircraft: Vec<Aircraft>,
}

/// What the screen shows.
#[derive(Debug)]
pub struct PurchaseSheet {
    /// As it is edited.
    pub portfolio: Arc<Portfolio>,
    /// How far the figures are.
    pub progress: PurchaseProgress,
    /// Whether there are figures, of whatever inputs.
    pub known: Option<KnownPurchase>,
    /// The fleet in focus.
    pub focus: usize,
    /// What is said of scenarios that have changed.
    pub changed: Option<ChangedScenario>,
    /// What is shown to the left.
    pub panel: PurchasePanel,
    /// What is shown to the right.
    pub right: ShownRight,
    /// What it still takes to be worked out.
    pub lacks: Vec<&'static str>,
    /// What costs or brings nothing so far.
    pub at_nothing: Vec<String>,
    /// Aircraft that could be added, by where they are from.
    pub on_offer: Vec<OnOffer>,
    /// The scenario that is open on the board, by its file's name; or why it cannot be a job's.
    pub open_scenario: Result<String, String>,
    /// The units on the screen.
    pub units: Units,
}

/// What is shown of figures.
#[derive(Debug)]
pub struct KnownPurchase {
    /// The fleet in focus.
    pub fleet: String,
    /// The answer about it.
    pub sentence: String,
    /// Whether it pays; nothing of the kept one.
    pub verdict: Option<bool>,
    /// Whether it leaves as much as the kept one.
    pub is_same: bool,
    /// How it stands among the fleets; empty of the kept one.
    pub beside: String,
    /// How sure that is, when it is paid back.
    pub told: String,
    /// What all of it rests on.
    pub rests_on: String,
    /// All fleets.
    pub candidates: Vec<Candidate>,
    /// The kinds of job.
    pub jobs: Vec<JobRow>,
    /// The kind that the diagram is of.
    pub job: usize,
    /// The diagrams.
    pub yearly: Chart,
    /// Which fleet leaves most over the same jobs.
    pub foremost: String,
    /// What would turn the answer; nothing of the kept fleet.
    pub swings: Option<Chart>,
    /// How the difference comes about.
    pub working: Vec<MoneyStep>,
}

impl PurchaseSheet {
    /// Of what is known.
    pub fn new(given: GivenPurchase<'_>) -> Self {
        let GivenPurchase {
            document,
            figures,
            progress,
            focus,
            job,
            panel,
            right,
            on_offer,
            open_scenario,
            units,
        } = given;
        let lacks = document.portfolio().lacks();
        // what is shown of an earlier list would be told under the names of this one
        let figures =
            figures.filter(|own| lacks.is_empty() && lists_the_same(&own.portfolio, document.portfolio()));
        let focus = figures.map_or(0, |figures| {
            focus.filter(|at| *at < figures.fleets.len()).unwrap_or_else(|| figures.foremost())
        });
        let changed = document.changed_jobs();
        PurchaseSheet {
            portfolio: Arc::clone(document.portfolio()),
            known: figures.map(|figures| KnownPurchase::new(figures, focus, job)),
            progress,
            focus,
            changed: (!changed.is_empty()).then(|| changed_told(document.portfolio(), &changed)),
            panel,
            right,
            at_nothing: document.portfolio().at_nothing(),
            lacks,
            on_offer,
            open_scenario,
            units,
        }
    }
}

/// Whether two portfolios list jobs, aircraft and fleets of the same names.
fn lists_the_same(one: &Portfolio, other: &Portfolio) -> bool {
    let names = |portfolio: &Portfolio| -> Vec<String> {
        let jobs = portfolio.jobs.iter().map(|own| own.name.clone());
        let aircraft = portfolio.aircraft.iter().map(|own| own.aircraft.name.clone());
        let fleets = portfolio.fleets.iter().map(|own| format!("{} {}", own.name, own.members.len()));
        jobs.chain(aircraft).chain(fleets).collect()
    };
    names(one) == names(other)
}

fn changed_told(portfolio: &Portfolio, jobs: &[usize]) -> ChangedScenario {
    let names: Vec<&str> = jobs.iter().map(|job| portfolio.jobs[*job].name.as_str()).collect();
    let (of, are) = if jobs.len() == 1 {
        ("The scenario of", "holds something else")
    } else {
        ("The scenarios of", "hold something else")
    };
    let told = format!(
        "{of} {} {are} than when the portfolio was last looked at. The figures are of now.",
        obliquity_planning::wording::listed(&names)
    );
    ChangedScenario { told }
}

/// A difference of amounts with its sign.
fn signed(value: f64) -> String {
    let text = count(value.abs());
    match text.as_str() {
        "0" => "±0".to_owned(),
        _ if value < 0.0 => format!("−{text}"),
        _ => format!("+{text}"),
    }
}

impl KnownPurchase {
    fn new(figures: &PurchaseFigures, focus: usize, job: Option<usize>) -> Self {
        let case = &figures.purchase.case;
        let own = &figures.fleets[focus];
        let jobs: Vec<JobRow> = (0..case.jobs.len()).map(|job| job_row(figures, job)).collect();
        let job = job.filter(|at| *at < jobs.len()).unwrap_or_else(|| figures.deciding_job(focus));
        let verdict = |fleet: usize| (fleet > 0).then(|| figures.fleets[fleet].gain.total() >= 0.0);
        let candidate = |(fleet, own): (usize, &FleetFigures)| Candidate {
            name: case.fleets[fleet].name.clone(),
            gain: if fleet == 0 { "kept".to_owned() } else { signed(own.gain.total()) },
            pays: if fleet == 0 || figures.portfolio.unsure.is_empty() {
                String::new()
            } else {
                format!("{} %", trimmed(100.0 * own.spread.pays, 0))
            },
            verdict: verdict(fleet),
        };
        KnownPurchase {
            fleet: case.fleets[focus].name.clone(),
            sentence: own.sentence.clone(),
            verdict: verdict(focus),
            is_same: signed(own.gain.total()) == "±0",
            beside: beside(figures, focus),
            told: told(figures, focus),
            rests_on: format!(
                "Amounts in {}; interest {} % a year; {}; {} days a year to fly on.",
                case.firm.currency,
                trimmed(100.0 * case.firm.interest, 2),
                freed_text(&case.firm),
                short(case.firm.days())
            ),
            candidates: figures.fleets.iter().enumerate().map(candidate).collect(),
            yearly: figures.yearly[job].clone(),
            foremost: figures.foremost_told[job].clone(),
            swings: (focus > 0).then(|| own.swings.clone()),
            working: if focus > 0 { own.working.clone() } else { Vec::new() },
            jobs,
            job,
        }
    }
}

/// Whether it leaves most of all fleets, or which one does.
fn beside(figures: &PurchaseFigures, focus: usize) -> String {
    let gain = |fleet: usize| figures.fleets[fleet].gain.total();
    let best = figures.foremost();
    match best {
        _ if focus == 0 => String::new(),
        best if gain(best) < 0.0 => "keeping what you have leaves most of all fleets".to_owned(),
        best if best == focus => "leaves most of all fleets".to_owned(),
        best => {
            format!(
                "{} leaves most of all fleets: {}",
                figures.purchase.case.fleets[best].name,
                signed(gain(best))
            )
        }
    }
}

fn told(figures: &PurchaseFigures, focus: usize) -> String {
    let (case, own) = (&figures.purchase.case, &figures.fleets[focus]);
    if focus == 0 {
        return format!(
            "Its jobs leave {} a year, and it costs {} a year to have. The others are held against it.",
            count(own.year.contribution),
            count(own.year.own_cost)
        );
    }
    let mut parts = Vec::new();
    if !figures.portfolio.unsure.is_empty() {
        parts.push(format!(
            "8 times of 10 the difference lies between {} and {} a year; in {} of 100 draws it leaves more than keeping.",
            signed(own.spread.p10),
            signed(own.spread.p90),
            trimmed(100.0 * own.spread.pays, 0)
        ));
    }
    let (simple, discounted) = own.payback_years;
    parts.extend(own.nearest.clone());
    let payback = match (simple, discounted) {
        (None, None) => format!("Not paid back within {} years.", case.study_years),
        (Some(0.0), _) => "No money is tied up.".to_owned(),
        _ => format!(
            "{}, with interest {}.",
            show::begun(&payback_text(simple)),
            payback_text(discounted).replace("paid back ", "")
        ),
    };
    parts.push(payback);
    parts.extend(mix_told(&own.mix));
    parts.join(" ")
}

/// How many of all jobs together it takes; nothing where their number does not matter or would have to be more than so many times
/// what it is.
fn mix_told(mix: &BreakEvenMix) -> Option<String> {
    let BreakEvenMix::At(turns) = mix else { return None };
    // as fine as tells on which side of the jobs there are it turns
    let times = |factor: f64| Form::new(1.0, "times", |_| 2).against(factor, Some(1.0));
    let (below, above) = (
        turns.iter().rev().find(|(factor, _)| *factor <= 1.0),
        turns.iter().find(|(factor, _)| *factor > 1.0 && *factor <= MANY_TIMES),
    );
    let told = match (below, above) {
        (None, None) => return None,
        (Some((from, true)), None) => format!("It pays from {} the jobs you have", times(*from)),
        (Some((from, false)), None) => format!("It no longer pays from {} the jobs you have", times(*from)),
        (None, Some((to, true))) => format!("It would pay from {} the jobs you have", times(*to)),
        (None, Some((to, false))) => format!("It pays up to {} the jobs you have", times(*to)),
        (Some((from, true)), Some((to, _))) => {
            format!("It pays from {} to {} the jobs you have", times(*from), times(*to))
        }
        (Some((from, false)), Some((to, _))) => {
            format!("It does not pay from {} to {} the jobs you have", times(*from), times(*to))
        }
    };
    Some(format!("{told}, of all kinds together."))
}

/// So many times the jobs of a year are no longer looked forward to.
const MANY_TIMES: f64 = 2.0;

fn job_row(figures: &PurchaseFigures, job: usize) -> JobRow {
    let case = &figures.purchase.case;
    let kept = figures.fleets[0].year.jobs[job].choice.is_some();
    let cells = (0..case.fleets.len()).map(|fleet| {
        let year = &figures.fleets[fleet].year.jobs[job];
        cell(figures, (fleet, job), year, kept)
    });
    let (attended, attended_h) = attended(figures, job);
    JobRow {
        name: case.jobs[job].name.clone(),
        cells: cells.collect(),
        closed: closed(figures, job),
        attended,
        attended_h,
    }
}

/// Hours at the workstation that processing asks for with those who fly a kind of job, in words, and the least of them.
fn attended(figures: &PurchaseFigures, job: usize) -> (String, f64) {
    let members = figures.purchase.case.fleets.iter().flat_map(|fleet| &fleet.members);
    let flown = members.filter_map(|member| match &member.offers[job] {
        Offer::Flown(facts) => Some(facts.attended_h),
        Offer::BoughtIn { .. } | Offer::Closed => None,
    });
    let ends = flown.fold(None, |ends: Option<(f64, f64)>, hours| {
        Some(ends.map_or((hours, hours), |(low, high)| (low.min(hours), high.max(hours))))
    });
    let Some((low, high)) = ends else { return ("as processed".to_owned(), 0.0) };
    let text = |hours: f64| trimmed(hours, 1);
    if text(low) == text(high) {
        return (format!("as processed: {} h", text(low)), low);
    }
    (format!("as processed: {} to {} h", text(low), text(high)), low)
}

fn cell(
    figures: &PurchaseFigures,
    (fleet, job): (usize, usize),
    year: &JobYear,
    kept_does_it: bool,
) -> JobCell {
    let case = &figures.purchase.case;
    let dash = || "–".to_owned();
    let Some(choice) = year.choice else {
        return JobCell {
            state: FleetState::Closed,
            minutes: dash(),
            days: dash(),
            leaves: dash(),
            told: format!("{}: {}", case.fleets[fleet].name, FleetState::Closed.word()),
        };
    };
    let member = &case.fleets[fleet].members[choice.member];
    let (state, minutes) = match &member.offers[job] {
        Offer::Flown(facts) => {
            let state = if kept_does_it { FleetState::Flown } else { FleetState::Opened };
            (state, trimmed(60.0 * facts.on_site_h, 0))
        }
        _ => (FleetState::BoughtIn, dash()),
    };
    let flown = figures.purchase.members[fleet].get(choice.member).and_then(Option::as_ref);
    let how = flown
        .and_then(|jobs| jobs.get(job)?.as_ref().ok())
        .map(|flown| {
            let set = if flown.turned.is_empty() {
                String::new()
            } else {
                format!(" at {}", turned_text(&flown.turned))
            };
            format!(": {}{set}", flown.strategy)
        })
        .unwrap_or_default();
    let few = if year.done + 1e-9 < case.jobs[job].count {
        format!("; the days of the year hold {} of them", short(year.done))
    } else {
        String::new()
    };
    JobCell {
        state,
        minutes,
        days: trimmed(choice.terms.days, 2),
        leaves: count(choice.terms.contribution()),
        told: format!("{}, {}{how}{few}", case.fleets[fleet].name, member.name),
    }
}

/// Which aircraft do not fly a kind of job, of fleets that do not do it, and why.
fn closed(figures: &PurchaseFigures, job: usize) -> Vec<String> {
    let mut lines: Vec<(String, Vec<String>)> = Vec::new();
    for (fleet, own) in figures.fleets.iter().enumerate() {
        if own.year.jobs[job].choice.is_some() {
            continue;
        }
        let members = figures.portfolio.fleets[fleet].members.iter().zip(&figures.purchase.members[fleet]);
        for (member, flown) in members {
            let PortfolioMember::Aircraft { name, .. } = member else { continue };
            let Some(Err(why)) = flown.as_ref().and_then(|jobs| jobs.get(job)) else { continue };
            let text = format!("{name}: {}", not_flown_text(why));
            let number = (fleet + 1).to_string();
            match lines.iter_mut().find(|(known, _)| *known == text) {
                Some((_, numbers)) => numbers.push(number),
                None => lines.push((text, vec![number])),
            }
        }
    }
    lines.into_iter().map(|(text, fleets)| format!("Closed for {} – {text}", fleets.join(", "))).collect()
}
