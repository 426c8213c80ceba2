use super::pass::card_pass;
use super::words::{Said, difference, gigabytes, length, minutes, speed};
use crate::Units;
use obliquity_planning::{
    Caution, Conditions, Id, LoadFigures, Outcome, Scenario, SiteOutline, Timing, least_clearance,
};

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
    /// Batteries, sorties and card space against what is on hand; like all that follows, empty where the strategy cannot
    /// be flown.
    pub on_hand: Vec<CardFigure>,
    /// Farthest distance, wind, tallest structure and clearance.
    pub surroundings: Vec<CardFigure>,
    /// What the time on site is made of, and the sum last.
    pub time: Vec<CardFigure>,
    /// What the controller reports against what is predicted here.
    pub reports: Vec<CardReport>,
    /// What to mind, the gravest first.
    pub cautions: Vec<Caution>,
    /// Who decides.
    pub closing: String,
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

/// What every card ends with.
const WHO_DECIDES: &str = "Figures are predictions from geometry and physics, not promises. Local rules and the remote \
                           pilot decide whether, where and how to fly.";

/// What "nominal GSD" means, once for all passes.
const NOMINAL: &str = "Nominal GSD of blocks and corridors: of a nadir camera over level ground.";

impl CardFigure {
    pub(super) fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        let (label, value) = (label.into(), value.into());
        CardFigure { label, value, also: None, note: None, fit: CardFit::Open }
    }

    /// A figure in both systems of units.
    pub(super) fn said(label: &str, said: Said) -> Self {
        CardFigure::new(label, said.value).also(said.also)
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
    /// `outcome` must be of a strategy of `scenario`; any depth will do. Figures are in `units` first, in the other system
    /// beside them.
    pub fn new(scenario: &Scenario, outcome: &Outcome, units: Units) -> Self {
        let (count, timing, load) = (outcome.passes.len(), outcome.timing.as_ref(), outcome.load.as_ref());
        let both = timing.zip(load);
        let pass = |(index, planned)| card_pass((scenario, outcome, units), planned, (index + 1, count));
        Card {
            id: outcome.strategy,
            strategy: outcome.name.clone(),
            scenario: scenario.name.clone(),
            site: scenario.site.name.clone(),
            aircraft: outcome.aircraft.clone(),
            reasons: outcome.reasons.clone(),
            passes: outcome.passes.iter().enumerate().map(pass).collect(),
            on_hand: both
                .map(|(timing, load)| on_hand(&scenario.conditions_of(outcome.strategy), timing, load))
                .unwrap_or_default(),
            surroundings: timing
                .map(|timing| surroundings((scenario, outcome, units), timing))
                .unwrap_or_default(),
            time: timing.map(|timing| time(scenario, timing)).unwrap_or_default(),
            reports: both
                .map(|(timing, load)| reports(scenario, outcome.strategy, timing, load))
                .unwrap_or_default(),
            cautions: outcome.cautions.clone(),
            closing: if timing.is_some() {
                format!("{NOMINAL} {WHO_DECIDES}")
            } else {
                WHO_DECIDES.to_owned()
            },
        }
    }
}

/// How what is needed stands to what there is.
fn fit(need: f64, have: f64) -> CardFit {
    if need <= have { CardFit::Enough } else { CardFit::Short }
}

fn on_hand(conditions: &Conditions, timing: &Timing, load: &LoadFigures) -> Vec<CardFigure> {
    let sorties = u32::try_from(timing.flight.sorties.len()).unwrap_or(u32::MAX);
    let sets = conditions.battery_sets;
    let charged = conditions.charging.is_some();
    let verdict = match sorties.saturating_sub(sets) {
        0 => "enough".to_owned(),
        again if charged => format!("{again} flown again, charged on site"),
        short => format!("{short} short: charge on site or bring more"),
    };
    let more = timing.bands.as_ref().and_then(|bands| bands.more_batteries(timing));
    let more = more.map(|likely| format!("{likely} in one draw of ten; "));
    let batteries = CardFigure::new("batteries", format!("{sorties} needed"))
        .also("one a sortie")
        .note(format!("{}{sets} on hand: {verdict}", more.unwrap_or_default()))
        .fits(if charged { CardFit::Enough } else { fit(f64::from(sorties), f64::from(sets)) });
    let (need, have) = (load.storage_gb, conditions.card_gb);
    let verdict = if need <= have { "enough" } else { "too little: bring more" };
    let space = CardFigure::new("card space", format!("{} needed", gigabytes(need)))
        .note(format!("{} on hand: {verdict}", gigabytes(have)))
        .fits(fit(need, have));
    let sorties = timing.flight.sorties.iter().enumerate().map(|(index, sortie)| {
        let left_percent = 100.0 * sortie.left_ratio(timing.flight.capacity_j);
        let left = format!("battery {}, lands with {left_percent:.0} % of it, ", sortie.battery);
        let wait = if sortie.wait_s > 0.0 {
            format!(", after waiting {} for the charger", minutes(sortie.wait_s))
        } else {
            String::new()
        };
        CardFigure::new(format!("sortie {}", index + 1), minutes(sortie.duration_s))
            .note(format!("{left}{} images{wait}", sortie.exposures))
    });
    order(timing).into_iter().chain([batteries]).chain(sorties).chain([space]).collect()
}

/// In which order the passes are flown, where it is not the one listed.
fn order(timing: &Timing) -> Option<CardFigure> {
    let flown = &timing.flight.order;
    if flown.is_sorted() {
        return None;
    }
    let numbers: Vec<String> = flown.iter().map(|index| (index + 1).to_string()).collect();
    Some(CardFigure::new("order", format!("pass {}", numbers.join(", "))).note("the quickest to fly"))
}

fn surroundings(
    (scenario, outcome, units): (&Scenario, &Outcome, Units),
    timing: &Timing,
) -> Vec<CardFigure> {
    let (farthest_m, limit_m) = (timing.flight.farthest_m, scenario.conditions.pilot_distance_m);
    let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
    let limit = length(units, limit_m).value;
    let farthest = CardFigure::said("farthest", length(units, farthest_m))
        .note(format!("from the take-off point, {beyond} {limit} from the pilot"))
        .fits(fit(farthest_m, limit_m));
    let outline = SiteOutline::new(&scenario.site).ok();
    let Some((outline, tallest_m)) =
        outline.and_then(|outline| outline.tallest_anywhere_m.map(|tallest_m| (outline, tallest_m)))
    else {
        let none = CardFigure::new("tallest structure", "none drawn").note("look for what stands there");
        return vec![farthest, wind(scenario, timing, units), none];
    };
    let assumed = if outcome.assumed { ", assumed and not surveyed" } else { "" };
    let tallest = CardFigure::said("tallest structure", length(units, tallest_m))
        .note(format!("above the mean ground{assumed}"));
    let number = |id: Id| outcome.passes.iter().position(|pass| pass.pass == id).map_or(0, |at| at + 1);
    let clearance = least_clearance(outcome.plans(), &outline).map(|least| {
        let of = format!("pass {} to {}, the least of all{assumed}", number(least.pass), least.structure);
        CardFigure::said("clearance", length(units, least.m)).note(of)
    });
    [farthest, wind(scenario, timing, units), tallest].into_iter().chain(clearance).collect()
}

/// The wind that the figures are for.
fn wind(scenario: &Scenario, timing: &Timing, units: Units) -> CardFigure {
    let given = scenario.conditions.wind;
    if !given.blows() {
        return CardFigure::new("wind", "none").note("at flying height");
    }
    let azimuth = |deg: f64| format!("{:03.0}°", deg.rem_euclid(360.0));
    let from = match (given.from_deg, timing.flight.wind.from_deg) {
        (Some(from_deg), _) => format!("from {}", azimuth(from_deg)),
        (None, Some(from_deg)) => format!("direction unknown, predicted from {}", azimuth(from_deg)),
        (None, None) => "direction unknown".to_owned(),
    };
    CardFigure::said("wind", speed(units, given.speed_mps)).note(format!("at flying height, {from}"))
}

fn time(scenario: &Scenario, timing: &Timing) -> Vec<CardFigure> {
    let time = timing.time;
    let terms = [
        ("set-up", time.set_up_s),
        ("flight", time.flight_s),
        ("battery changes", time.swaps_s),
        ("waiting for chargers", time.waits_s),
        ("control points", time.control_s),
        ("pack-up", time.pack_up_s),
    ];
    let sum = CardFigure::new("total", minutes(time.time_on_site_s()));
    let most_s = scenario.requirement.time_on_site_min.map(|most_min| most_min * 60.0);
    let longer = timing.bands.as_ref().and_then(|bands| bands.over_time_s(timing, most_s)).zip(most_s);
    let sum = match longer {
        Some((likely_s, most_s)) => {
            sum.note(format!("{} in one draw of ten, {} allowed", minutes(likely_s), minutes(most_s)))
        }
        None => sum,
    };
    terms.map(|(label, seconds)| CardFigure::new(label, minutes(seconds))).into_iter().chain([sum]).collect()
}

fn reports(scenario: &Scenario, strategy: Id, timing: &Timing, load: &LoadFigures) -> Vec<CardReport> {
    let reported = scenario.strategy(strategy).and_then(|strategy| strategy.reported);
    let reported = reported.unwrap_or_default();
    let flight_s = timing.flight.terms.flight_time_s();
    let reported_s = reported.flight_time_min.map(|min| 60.0 * min);
    let images = f64::from(load.image_count);
    vec![
        CardReport {
            label: "flight time",
            predicted: minutes(flight_s),
            reported: reported_s.map(minutes),
            difference: reported_s.and_then(|theirs_s| difference(theirs_s, flight_s)),
        },
        CardReport {
            label: "images",
            predicted: load.image_count.to_string(),
            reported: reported.image_count.map(|count| count.to_string()),
            difference: reported.image_count.and_then(|count| difference(f64::from(count), images)),
        },
    ]
}
