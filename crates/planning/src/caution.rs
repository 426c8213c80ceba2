mod batteries;
mod camera;
mod daylight;
mod height;
mod lookout;
mod place;
mod region;
pub mod rules;
mod sight;
mod surroundings;
mod weather;

pub(crate) use lookout::Lookout;
pub use place::{RoutePoint, Stretch};

use self::place::Walk;
use crate::{Aircraft, Conditions, Flight, Leg, Outcome, PassPlan, SiteOutline};

/// Something the crew must mind. Local rules and the remote pilot decide.
#[derive(Debug, Clone, PartialEq)]
pub struct Caution {
    /// Stable name for scripts.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// For people.
    pub text: String,
    /// Where it comes from.
    pub source: CautionSource,
    /// Where on the route it holds, the longest stretch first; none where it is about no place, or about all of it.
    pub places: Vec<Stretch>,
}

/// How grave a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Always worth a thought.
    Reminder,
    /// Something in this plan calls for a check before flying.
    Check,
    /// As planned it breaks a stated limit.
    Limit,
}

impl Severity {
    /// Name in files.
    pub fn name(self) -> &'static str {
        match self {
            Severity::Reminder => "reminder",
            Severity::Check => "check",
            Severity::Limit => "limit",
        }
    }
}

/// Where a caution comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CautionSource {
    /// A rule, with where it stands; what is cited from memory says so.
    Rule(&'static str),
    /// What crews do; no source is known.
    Practice,
    /// The plan's own figures against what is set in the scenario.
    Plan,
}

impl CautionSource {
    /// In words: the citation, or what else it is.
    pub fn text(self) -> &'static str {
        match self {
            CautionSource::Rule(citation) => citation,
            CautionSource::Practice => "common practice",
            CautionSource::Plan => "this plan's own figures",
        }
    }
}

impl Caution {
    fn placed(self, places: Vec<Stretch>) -> Caution {
        Caution { places, ..self }
    }
}

/// What cautions are drawn from: an outcome that lacks nothing but them and its judgements.
pub(crate) struct Facts<'a> {
    pub(crate) outcome: &'a Outcome,
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) site: &'a SiteOutline,
    pub(crate) conditions: &'a Conditions,
    pub(crate) lookout: &'a Lookout,
}

impl Facts<'_> {
    fn flight(&self) -> &Flight {
        &self.outcome.flight
    }

    fn plans(&self) -> impl Iterator<Item = &PassPlan> {
        self.outcome.passes.iter().map(|pass| &*pass.plan)
    }

    /// What the passes do not know: the ways to them, between them and back.
    fn ways(&self) -> impl Iterator<Item = &Leg> {
        self.flight().legs.iter().filter(|flown| flown.pass.is_none()).map(|flown| &flown.leg)
    }
}

/// All cautions of a strategy, gravest first.
pub(crate) fn cautions(facts: &Facts<'_>) -> Vec<Caution> {
    let walk = Walk::new(facts.flight());
    let mut found = height::heights(facts, &walk);
    found.extend(sight::sight(facts, &walk));
    found.extend(daylight::daylight(facts, &walk));
    found.extend(weather::weather(facts, &walk));
    found.extend(batteries::batteries(facts, &walk));
    found.extend(surroundings::surroundings(facts, &walk));
    found.extend(camera::rolling_shutter(facts));
    found.extend(region::region(facts, &walk));
    found.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
    found
}

fn reminder(id: &'static str, text: String, source: CautionSource) -> Caution {
    Caution { id, severity: Severity::Reminder, text, source, places: Vec::new() }
}

fn check(id: &'static str, text: String, source: CautionSource) -> Caution {
    Caution { severity: Severity::Check, ..reminder(id, text, source) }
}

/// Some names in a sentence: two at most, then how many more.
fn named(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [one, other] => format!("{one} and {other}"),
        [one, other, rest @ ..] => format!("{one}, {other} and {} more", rest.len()),
    }
}
