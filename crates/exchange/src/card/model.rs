use super::pass::card_pass;
use super::words::{difference, gigabytes, height, minutes};
use obliquity_planning::{Above, Caution, Id, Outcome, Scenario, SiteOutline};

/// The set-up card as data: finished texts, to be laid out as anyone likes.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// The strategy.
    pub id: Id,
    /// Its name.
    pub strategy: String,
    /// The scenario's name.
    pub scenario: String,
    /// The site's name.
    pub site: String,
    /// The aircraft's name.
    pub aircraft: String,
    /// Why the strategy cannot be flown as set; empty when it can.
    pub reasons: Vec<String>,
    /// In flying order.
    pub passes: Vec<CardPass>,
    /// Batteries, sorties and card space against what is on hand.
    pub on_hand: Vec<CardFigure>,
    /// Farthest distance, tallest structure and clearance.
    pub surroundings: Vec<CardFigure>,
    /// What the time on site is made of, and the sum last.
    pub time: Vec<CardFigure>,
    /// What the controller reports against what is predicted here.
    pub reports: Vec<CardReport>,
    /// What to mind, the gravest first.
    pub cautions: Vec<Caution>,
    /// Who decides.
    pub closing: &'static str,
}

/// The values of one pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardPass {
    /// Which one, of how many, and its pattern.
    pub title: String,
    /// Why it is left out, where it cannot be flown: it then has no figures.
    pub refused: Option<String>,
    /// Heights or stand-off, what it goes round or along, clearances, speed and overlaps.
    pub to_key_in: Vec<CardFigure>,
    /// Tilt, gimbal pitch and heading of every attitude.
    pub cameras: Vec<CardFigure>,
    /// What follows from them: base, spacing, directions, margin, counts.
    pub follows: Vec<CardFigure>,
}

/// One figure of the card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardFigure {
    /// What it is.
    pub label: String,
    /// The figure with its unit.
    pub value: String,
    /// The same in the other way of saying it: feet beside metres, gimbal pitch beside tilt.
    pub also: Option<String>,
    /// What to know about it.
    pub note: Option<String>,
    /// How it stands to what is on hand or allowed.
    pub fit: CardFit,
}

/// How a figure stands to what is on hand or allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CardFit {
    /// Nothing is held against it.
    #[default]
    Open,
    /// There is enough.
    Enough,
    /// There is not.
    Short,
}

/// A figure that the flight controller gives too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardReport {
    /// What it is.
    pub label: &'static str,
    /// As predicted here.
    pub predicted: String,
    /// As the controller reports it; nothing until it is written down.
    pub reported: Option<String>,
    /// The difference, of the prediction.
    pub difference: Option<String>,
}

const CLOSING: &str = "Figures are predictions from geometry and physics, not promises. Local rules and the remote \
                       pilot decide whether, where and how to fly.";

impl CardFigure {
    pub(super) fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        let (label, value) = (label.into(), value.into());
        CardFigure { label, value, also: None, note: None, fit: CardFit::Open }
    }

    /// A length with its feet.
    pub(super) fn long(label: &str, length_m: f64) -> Self {
        let (value, feet) = height(length_m);
        CardFigure::new(label, value).also(feet)
    }

    pub(super) fn also(self, also: impl Into<String>) -> Self {
        CardFigure { also: Some(also.into()), ..self }
    }

    pub(super) fn note(self, note: impl Into<String>) -> Self {
        CardFigure { note: Some(note.into()), ..self }
    }

    fn fits(self, fit: CardFit) -> Self {
        CardFigure { fit, ..self }
    }

    /// Value, other value and note on one line.
    pub fn sentence(&self) -> String {
        let also = self.also.as_ref().map_or_else(String::new, |also| format!(" ({also})"));
        let note = self.note.as_ref().map_or_else(String::new, |note| format!(", {note}"));
        format!("{}{also}{note}", self.value)
    }
}

impl Card {
    /// The card of one strategy.
    ///
    /// `outcome` must be of a strategy of `scenario`; any depth will do.
    pub fn new(scenario: &Scenario, outcome: &Outcome) -> Self {
        let count = outcome.passes.len();
        let pass = |(index, planned)| card_pass(scenario, outcome, planned, (index + 1, count));
        Card {
            id: outcome.strategy,
            strategy: outcome.name.clone(),
            scenario: scenario.name.clone(),
            site: scenario.site.name.clone(),
            aircraft: outcome.aircraft.clone(),
            reasons: outcome.reasons.clone(),
            passes: outcome.passes.iter().enumerate().map(pass).collect(),
            on_hand: on_hand(scenario, outcome),
            surroundings: surroundings(scenario, outcome),
            time: time(outcome),
            reports: reports(scenario, outcome),
            cautions: outcome.cautions.clone(),
            closing: CLOSING,
        }
    }
}

/// How what is needed stands to what there is.
fn fit(need: f64, have: f64) -> CardFit {
    if need <= have { CardFit::Enough } else { CardFit::Short }
}

fn on_hand(scenario: &Scenario, outcome: &Outcome) -> Vec<CardFigure> {
    let sorties = u32::try_from(outcome.flight.sorties.len()).unwrap_or(u32::MAX);
    let sets = scenario.conditions.battery_sets;
    let verdict = match sorties.saturating_sub(sets) {
        0 => "enough".to_owned(),
        short => format!("{short} short: charge on site or bring more"),
    };
    let batteries = CardFigure::new("batteries", format!("{sorties} needed"))
        .also("one a sortie")
        .note(format!("{sets} on hand: {verdict}"))
        .fits(fit(f64::from(sorties), f64::from(sets)));
    let (need, have) = (outcome.storage_gb, scenario.conditions.card_gb);
    let verdict = if need <= have { "enough" } else { "too little: bring more" };
    let space = CardFigure::new("card space", format!("{} needed", gigabytes(need)))
        .note(format!("{} on hand: {verdict}", gigabytes(have)))
        .fits(fit(need, have));
    let sorties = outcome.flight.sorties.iter().enumerate().map(|(index, sortie)| {
        let left = if sortie.usable_j.is_finite() {
            let ratio = sortie.left_ratio(outcome.flight.capacity_j);
            format!("battery {}, lands with {:.0} % of it, ", sortie.battery, ratio * 100.0)
        } else {
            String::new()
        };
        let wait = if sortie.wait_s > 0.0 {
            format!(", after waiting {} for the charger", minutes(sortie.wait_s))
        } else {
            String::new()
        };
        CardFigure::new(format!("sortie {}", index + 1), minutes(sortie.duration_s))
            .note(format!("{left}{} images{wait}", sortie.exposures))
    });
    order(outcome).into_iter().chain([batteries]).chain(sorties).chain([space]).collect()
}

/// In which order the passes are flown, where it is not the one listed.
fn order(outcome: &Outcome) -> Option<CardFigure> {
    let flown = &outcome.flight.order;
    if flown.is_sorted() {
        return None;
    }
    let numbers: Vec<String> = flown.iter().map(|index| (index + 1).to_string()).collect();
    Some(CardFigure::new("order", format!("pass {}", numbers.join(", "))).note("the quickest to fly"))
}

fn surroundings(scenario: &Scenario, outcome: &Outcome) -> Vec<CardFigure> {
    let (farthest_m, limit_m) = (outcome.flight.farthest_m, scenario.conditions.pilot_distance_m);
    let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
    let farthest = CardFigure::new("farthest", format!("{farthest_m:.0} m"))
        .also(height(farthest_m).1)
        .note(format!("from the take-off point, {beyond} the {limit_m:.0} m set for the pilot"))
        .fits(fit(farthest_m, limit_m));
    let tallest_m = SiteOutline::new(&scenario.site).ok().and_then(|outline| outline.tallest_anywhere_m);
    let Some(tallest_m) = tallest_m else {
        let none = CardFigure::new("tallest structure", "none drawn").note("look for what stands there");
        return vec![farthest, none];
    };
    let assumed = if outcome.assumed { ", assumed and not surveyed" } else { "" };
    let (value, feet) = height(tallest_m);
    let tallest = CardFigure::new("tallest structure", value)
        .also(feet)
        .note(format!("above the mean ground{assumed}"));
    // What follows the ground, goes round or goes along keeps clearances of its own.
    let at_a_height = outcome.passes.iter().map(|pass| &pass.plan).filter(|plan| {
        plan.pattern.flies_over() && plan.layout.above != Above::Ground && plan.refused.is_none()
    });
    let lowest = at_a_height.map(|plan| plan.layout.lowest_m).min_by(f64::total_cmp);
    let clearance = lowest.map(|lowest_m| {
        CardFigure::long("clearance", lowest_m - tallest_m).note("from the lowest pass to its top")
    });
    [farthest, tallest].into_iter().chain(clearance).collect()
}

fn time(outcome: &Outcome) -> Vec<CardFigure> {
    let time = outcome.time;
    let terms = [
        ("set-up", time.set_up_s),
        ("flight", time.flight_s),
        ("battery changes", time.swaps_s),
        ("waiting for chargers", time.waits_s),
        ("control points", time.control_s),
        ("pack-up", time.pack_up_s),
        ("together", time.time_on_site_s()),
    ];
    terms.map(|(label, seconds)| CardFigure::new(label, minutes(seconds))).to_vec()
}

fn reports(scenario: &Scenario, outcome: &Outcome) -> Vec<CardReport> {
    let reported = scenario.strategy(outcome.strategy).and_then(|strategy| strategy.reported);
    let reported = reported.unwrap_or_default();
    let flight_s = outcome.flight.terms.flight_time_s();
    let reported_s = reported.flight_time_min.map(|min| 60.0 * min);
    let images = f64::from(outcome.image_count);
    vec![
        CardReport {
            label: "flight time",
            predicted: minutes(flight_s),
            reported: reported_s.map(minutes),
            difference: reported_s.and_then(|theirs_s| difference(theirs_s, flight_s)),
        },
        CardReport {
            label: "images",
            predicted: outcome.image_count.to_string(),
            reported: reported.image_count.map(|count| count.to_string()),
            difference: reported.image_count.and_then(|count| difference(f64::from(count), images)),
        },
    ]
}
