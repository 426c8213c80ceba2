//! Something the crew must mind, and where on the route.

use crate::base::Id;
use crate::base::wording::InUnits;
use glam::DVec3;

/// Something the crew must mind. Local rules and the remote pilot decide.
#[derive(Debug, Clone, PartialEq)]
pub struct Caution {
    /// Stable name for scripts.
    pub id: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// For people.
    pub text: InUnits,
    /// Where it comes from.
    pub source: CautionSource,
    /// Where on the route it holds, the longest stretch first; none where it is about no place, or about all of it.
    pub places: Vec<Stretch>,
    /// How bad it is with this strategy, to be held against what is said of others.
    pub gauge: Option<Gauge>,
}

/// The figure of a caution by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// Greater is worse; the same scale for all cautions of one kind.
    pub worse: f64,
    /// In a few words, with its unit: "58 / 38 %".
    pub text: InUnits,
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
    pub(crate) fn placed(self, places: Vec<Stretch>) -> Caution {
        Caution { places, ..self }
    }

    pub(crate) fn gauged(self, worse: f64, text: impl Into<InUnits>) -> Caution {
        Caution { gauge: Some(Gauge { worse, text: text.into() }), ..self }
    }
}

pub(crate) fn reminder(id: &'static str, text: impl Into<InUnits>, source: CautionSource) -> Caution {
    Caution { id, severity: Severity::Reminder, text: text.into(), source, places: Vec::new(), gauge: None }
}

pub(crate) fn check(id: &'static str, text: impl Into<InUnits>, source: CautionSource) -> Caution {
    Caution { severity: Severity::Check, ..reminder(id, text, source) }
}

/// A place on the route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoutePoint {
    /// Where it is.
    pub position_m: DVec3,
    /// Way flown up to it since the first take-off.
    pub flown_m: f64,
    /// Flying clock, battery changes left out; within a leg by its share of the way, so a few seconds off.
    pub time_s: f64,
    /// Index into the sorties.
    pub sortie: u32,
    /// The pass that it belongs to; none on transits.
    pub pass: Option<Id>,
}

/// A stretch of the route; both ends are equal for a single place.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Where it begins.
    pub from: RoutePoint,
    /// Where it ends.
    pub to: RoutePoint,
    /// The first pass on it; none where it is all transit.
    pub pass: Option<Id>,
    /// The way from one to the other, both included.
    pub line_m: Vec<DVec3>,
}

impl Stretch {
    /// Its length along the route, in metres.
    ///
    /// # Units
    /// - returns: metres
    pub fn length_m(&self) -> f64 {
        self.to.flown_m - self.from.flown_m
    }

    pub(crate) fn at(point: RoutePoint) -> Stretch {
        Stretch { from: point, to: point, pass: point.pass, line_m: vec![point.position_m] }
    }

    /// Lengthens it to the next place.
    pub(crate) fn go_on_to(&mut self, point: RoutePoint) {
        if self.to.position_m != point.position_m {
            self.line_m.push(point.position_m);
        }
        (self.to, self.pass) = (point, self.pass.or(point.pass));
    }
}
