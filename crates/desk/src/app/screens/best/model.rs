//! What was found, as plain values: a row a strategy.

use super::{SearchAge, Searched};
use crate::jobs::Progress;
use obliquity_exchange::{
    Slots, binds_text, free_name, looked_brief, looked_text, misses_text, setting_text,
};
use obliquity_planning::knob::Dial;
use obliquity_planning::what_if::{Free, Looked, LookedCount, SearchOf, ToSpare, TuneResult, Tuned};
use obliquity_planning::wording::within;
use obliquity_planning::{
    Better, Id, KnownOf, Measure, MeasureId, Outcome, Scenario, Strategy, Unit, Units, measure,
    swept_measures,
};

/// What a row is made of.
#[derive(Debug)]
pub(super) struct GivenBest<'a> {
    pub(super) strategy: &'a Strategy,
    pub(super) free: Vec<(Free, SearchOf)>,
    pub(super) searched: Option<&'a Searched>,
    /// As it stands.
    pub(super) outcome: Option<&'a Outcome>,
    pub(super) is_open: bool,
}

/// What the upper part of the screen shows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BestSheet {
    pub(super) objective: MeasureId,
    /// What may be least.
    pub(super) objectives: Vec<MeasureId>,
    pub(super) to_spare: ToSpare,
    pub(super) rows: Vec<BestRow>,
    /// How far the search is, while it runs.
    pub(super) running: Option<String>,
    pub(super) units: Units,
}

/// A strategy.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BestRow {
    pub(super) strategy: Id,
    pub(super) slot: usize,
    pub(super) name: String,
    pub(super) free: Vec<FreeTick>,
    pub(super) found: FoundText,
}

/// An input that may be searched.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FreeTick {
    pub(super) dial: Dial,
    pub(super) name: String,
    /// What is listed of it.
    pub(super) hint: String,
    pub(super) search: SearchOf,
}

/// What was found, in words.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct FoundText {
    /// What it is: the best, the best so far, the nearest.
    pub(super) head: String,
    pub(super) setting: String,
    /// What is to be least: now and then.
    pub(super) figure: String,
    /// What binds, or what is missed.
    pub(super) why: String,
    /// How much was looked at, in brief.
    pub(super) looked: String,
    /// And in what order.
    pub(super) strides: String,
    pub(super) tone: FoundTone,
    pub(super) adopting: Adopting,
}

/// How it is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum FoundTone {
    /// Nothing is known yet.
    #[default]
    Quiet,
    /// It meets.
    Good,
    /// Nothing meets.
    Bad,
}

/// Whether the strategy can be set to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Adopting {
    #[default]
    Nothing,
    /// It can, and it meets.
    Best,
    /// It can, and it is what comes nearest.
    Nearest,
    /// It stands so.
    Stands,
}

impl BestSheet {
    pub(super) fn new<'a>(
        scenario: &Scenario,
        (objective, to_spare): (MeasureId, ToSpare),
        running: Option<Progress>,
        rows: impl Iterator<Item = GivenBest<'a>>,
        units: Units,
    ) -> Self {
        let running = running.map(|Progress { done, total, .. }| {
            format!("Searching: {done} of {total} strategies done. What is found so far can be adopted.")
        });
        BestSheet {
            objective,
            objectives: swept_measures()
                .filter(|row| can_be_least(row, scenario))
                .map(|row| row.id)
                .collect(),
            to_spare,
            rows: rows.map(|given| row(scenario, objective, &given, units)).collect(),
            running,
            units,
        }
    }

    /// How many strategies would be set, were all set to what meets.
    pub(super) fn adoptable(&self) -> usize {
        self.rows.iter().filter(|row| row.found.adopting == Adopting::Best).count()
    }

    /// Whether something is ticked.
    pub(super) fn can_search(&self) -> bool {
        self.rows.iter().flat_map(|row| &row.free).any(|tick| tick.search == SearchOf::Free)
    }
}

/// What one may want least of: not what is to be covered, nor what the requirement asks of what is seen.
fn can_be_least(row: &Measure, scenario: &Scenario) -> bool {
    let is_of_most = match row.known_of {
        KnownOf::SeveralTakeOffs => false,
        // what is left of the price is greatest where the whole cost is least
        KnownOf::Priced => row.id == MeasureId::JobCost && scenario.job.price.is_some(),
        KnownOf::All | KnownOf::Capacity { .. } => true,
    };
    row.better == Better::Less && is_of_most && !matches!(row.id, MeasureId::GsdP95(_))
}

fn row(scenario: &Scenario, objective: MeasureId, given: &GivenBest<'_>, units: Units) -> BestRow {
    let strategy = given.strategy;
    let free = given.free.iter().map(|(free, search)| FreeTick {
        dial: free.dial.clone(),
        name: free_name(scenario, strategy.id, &free.dial),
        hint: listed_text(free, units),
        search: *search,
    });
    BestRow {
        strategy: strategy.id,
        slot: Slots::of(scenario).slot(strategy.id),
        name: strategy.name.clone(),
        free: free.collect(),
        found: found_text(scenario, objective, given, units),
    }
}

/// "1 to 3.5 cm, 26 values".
fn listed_text(free: &Free, units: Units) -> String {
    let unit = free.knob().unit;
    let (Some(first), Some(last)) = (free.values.first(), free.values.last()) else { return String::new() };
    format!(
        "{} to {}, {} values about the present one",
        units.text(unit, *first),
        units.text(unit, *last),
        free.values.len()
    )
}

fn found_text(scenario: &Scenario, objective: MeasureId, given: &GivenBest<'_>, units: Units) -> FoundText {
    let quiet = |head: &str| FoundText { head: head.to_owned(), ..FoundText::default() };
    let Some(searched) = given.searched else {
        let ticked = given.free.iter().any(|(_, search)| *search == SearchOf::Free);
        return quiet(match (ticked, given.free.is_empty()) {
            (true, _) => "not searched yet",
            (false, false) => "nothing is ticked",
            (false, true) => "nothing to set",
        });
    };
    if searched.age(scenario) == SearchAge::Outdated {
        return quiet("the scenario has changed since: search again");
    }
    let told = |looked: &Looked, head: &str, tone: FoundTone| FoundText {
        head: head.to_owned(),
        setting: setting_text(scenario, &searched.ask, &looked.values, units),
        figure: figure_text(searched.ask.objective, given.outcome, looked, units),
        tone,
        adopting: match tone {
            _ if searched.ask.stands_at(scenario, &looked.values) => Adopting::Stands,
            FoundTone::Good => Adopting::Best,
            FoundTone::Bad | FoundTone::Quiet => Adopting::Nearest,
        },
        ..FoundText::default()
    };
    match &searched.done {
        None => {
            let running = if given.is_open { "" } else { "called off; " };
            let found = match searched.foremost() {
                Some(looked) if looked.misses.is_empty() => {
                    told(&looked, &format!("{running}best so far"), FoundTone::Good)
                }
                Some(looked) => FoundText {
                    why: misses_text(&looked.misses, units),
                    ..told(&looked, &format!("{running}none meets yet; nearest so far"), FoundTone::Quiet)
                },
                None if given.is_open => quiet("searching"),
                None => quiet("called off before anything was found"),
            };
            FoundText { looked: searched.so_far().count.map(count_text).unwrap_or_default(), ..found }
        }
        Some(Err(why)) => FoundText { head: "not searched".to_owned(), why: why.clone(), ..quiet("") },
        Some(Ok(tuned)) => FoundText {
            looked: format!("{} looked at", looked_brief(tuned)),
            strides: format!("Looked at {}.", looked_text(scenario, tuned)),
            ..done_text(scenario, objective, tuned, told, units)
        },
    }
}

fn done_text(
    scenario: &Scenario,
    objective: MeasureId,
    tuned: &Tuned,
    told: impl Fn(&Looked, &str, FoundTone) -> FoundText,
    units: Units,
) -> FoundText {
    match &tuned.found {
        TuneResult::Best(looked) => {
            let of = tuned.ask.objective;
            let head = if of == objective {
                "best".to_owned()
            } else {
                format!("least {}", within(measure(of).name))
            };
            FoundText { why: binds_text(scenario, tuned, units), ..told(looked, &head, FoundTone::Good) }
        }
        TuneResult::Nearest(looked) => FoundText {
            why: misses_text(&looked.misses, units),
            ..told(looked, "nothing meets it; nearest", FoundTone::Bad)
        },
        TuneResult::Nothing(reasons) => FoundText {
            head: "no setting can be flown".to_owned(),
            why: reasons.join("; "),
            tone: FoundTone::Bad,
            ..FoundText::default()
        },
    }
}

/// "1 207 of 29 791 settings looked at, 37 with coverage".
fn count_text(of: LookedCount) -> String {
    let count = |count: usize| obliquity_exchange::count(count as f64);
    format!(
        "{} of {} settings looked at, {} with coverage",
        count(of.looked),
        count(of.listed),
        count(of.seen)
    )
}

/// What is to be least, as the strategy stands and at the setting.
fn figure_text(of: MeasureId, outcome: Option<&Outcome>, looked: &Looked, units: Units) -> String {
    let row = measure(of);
    let text = |value: Option<f64>| value.map_or("–".to_owned(), |value| figure(units, row.unit, value));
    let (now, then) = (outcome.and_then(|outcome| row.read(outcome)), looked.tried.figure(of));
    if now == then { text(then) } else { format!("{} → {}", text(now), text(then)) }
}

/// A figure with about three digits; a count whole.
pub(super) fn figure(units: Units, unit: Unit, value: f64) -> String {
    if unit == Unit::Count { obliquity_exchange::count(value) } else { units.text(unit, value) }
}
