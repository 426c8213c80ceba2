use super::once::{day, set_once};
use super::pass::card_pass;
use super::sketch::CardSketch;
use super::words::{Said, difference, gigabytes, length, minutes};
use crate::Units;
use obliquity_planning::{
    Caution, Conditions, Id, LoadFigures, Outcome, Scenario, SiteOutline, Sortie, Timing, least_clearance,
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
    /// In the order in which they are flown, numbered so; those that cannot be flown last.
    pub passes: Vec<CardPass>,
    /// What is keyed in once: return height, take-off and first point, exposure. Like all that follows, empty where the
    /// strategy cannot be flown.
    pub set_once: Vec<CardFigure>,
    /// Arrival, light and wind.
    pub day: Vec<CardFigure>,
    /// Batteries and card space against what is on hand.
    pub on_hand: Vec<CardFigure>,
    /// The flying between two battery changes.
    pub sorties: Vec<CardSortie>,
    /// Farthest distance, tallest structure and clearance.
    pub surroundings: Vec<CardFigure>,
    /// What the time on site is made of, and the sum last.
    pub time: Vec<CardFigure>,
    /// What the controller reports against what is predicted here.
    pub reports: Vec<CardReport>,
    /// What to mind, the gravest first.
    pub cautions: Vec<Caution>,
    /// Site and route from above.
    pub sketch: CardSketch,
    /// Who decides.
    pub closing: String,
}

/// The values of one pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardPass {
    /// As it is flown, from 1.
    pub number: usize,
    /// Its pattern.
    pub pattern: &'static str,
    /// Where it stands in the list of passes, if that is elsewhere.
    pub listed: Option<CardFigure>,
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
    /// Where it stands in the table of passes; nothing for what stands below its row.
    pub key: Option<CardKey>,
}

/// How a figure is written in the table of passes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardKey {
    /// Its column.
    pub column: CardColumn,
    /// What is written large, as it is keyed in; nothing where another figure of the column is.
    pub large: Option<String>,
    /// What is written small below.
    pub small: String,
}

/// What is keyed in for a pass: the columns of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CardColumn {
    /// How high.
    Height,
    /// The gimbal's pitch.
    Gimbal,
    /// How fast.
    Speed,
    /// How often the camera fires.
    Interval,
    /// Forward overlap and sidelap.
    Overlaps,
    /// Which way the lines run.
    Course,
    /// Where the nose points.
    Heading,
}

impl CardColumn {
    /// All of them, from left to right.
    pub const ALL: [CardColumn; 7] = [
        CardColumn::Height,
        CardColumn::Gimbal,
        CardColumn::Speed,
        CardColumn::Interval,
        CardColumn::Overlaps,
        CardColumn::Course,
        CardColumn::Heading,
    ];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            CardColumn::Height => "Height",
            CardColumn::Gimbal => "Gimbal pitch",
            CardColumn::Speed => "Speed",
            CardColumn::Interval => "Shot interval",
            CardColumn::Overlaps => "Overlaps; flown",
            CardColumn::Course => "Course angle",
            CardColumn::Heading => "Heading mode",
        }
    }
}

/// The flying between two battery changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CardSortie {
    /// From 1.
    pub number: usize,
    /// Number of the battery set, from 1.
    pub battery: u32,
    /// Numbers of the passes that are flown on it, as the card numbers them.
    pub passes: Vec<usize>,
    /// From take-off to landing.
    pub time: String,
    /// Images taken on it.
    pub images: u32,
    /// What is left in the battery at landing.
    pub left: String,
    /// Waiting for a charger before it; nothing where there is none.
    pub wait: Option<String>,
}

impl CardSortie {
    /// All of it on one line.
    pub fn figure(&self) -> CardFigure {
        let passes: Vec<String> = self.passes.iter().map(usize::to_string).collect();
        let wait = self
            .wait
            .as_ref()
            .map_or_else(String::new, |wait| format!(", after waiting {wait} for the charger"));
        let note = format!(
            "battery {}, lands with {} of it, {} images, pass {}{wait}",
            self.battery,
            self.left,
            self.images,
            passes.join(", ")
        );
        CardFigure::new(format!("sortie {}", self.number), self.time.clone()).note(note)
    }
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
        CardFigure { label, value, also: None, note: None, fit: CardFit::Open, key: None }
    }

    /// The same in the table of passes: its value large, the rest of it small.
    pub(super) fn column(self, column: CardColumn) -> Self {
        let small: Vec<&str> = self.also.iter().chain(&self.note).map(String::as_str).collect();
        let (large, small) = (self.value.clone(), small.join("; "));
        self.keyed(column, Some(large), small)
    }

    /// The same in the table of passes, in words of its own.
    pub(super) fn keyed(self, column: CardColumn, large: Option<String>, small: impl Into<String>) -> Self {
        CardFigure { key: Some(CardKey { column, large, small: small.into() }), ..self }
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

    pub(super) fn fits(self, fit: CardFit) -> Self {
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
        let (timing, load) = (outcome.timing.as_ref(), outcome.load.as_ref());
        let both = timing.zip(load);
        let order = flown_order(outcome);
        let outline = SiteOutline::new(&scenario.site).ok();
        let said = CardOf { scenario, outcome, units, order: &order, outline: outline.as_ref() };
        Card {
            id: outcome.strategy,
            strategy: outcome.name.clone(),
            scenario: scenario.name.clone(),
            site: scenario.site.name.clone(),
            aircraft: outcome.aircraft.clone(),
            reasons: outcome.reasons.clone(),
            passes: said.passes(),
            set_once: timing.map(|timing| set_once(&said, timing)).unwrap_or_default(),
            day: timing.map(|timing| day(&said, timing)).unwrap_or_default(),
            on_hand: both
                .map(|(timing, load)| on_hand(&scenario.conditions_of(outcome.strategy), timing, load))
                .unwrap_or_default(),
            sorties: timing.map(|timing| said.sorties(timing)).unwrap_or_default(),
            surroundings: timing.map(|timing| said.surroundings(timing)).unwrap_or_default(),
            time: timing.map(|timing| time(scenario, timing)).unwrap_or_default(),
            reports: both
                .map(|(timing, load)| reports(scenario, outcome.strategy, timing, load))
                .unwrap_or_default(),
            cautions: outcome.cautions.clone(),
            sketch: CardSketch::new(&said),
            closing: if timing.is_some() {
                format!("{NOMINAL} {WHO_DECIDES}")
            } else {
                WHO_DECIDES.to_owned()
            },
        }
    }
}

/// What a card is written from.
#[derive(Clone, Copy)]
pub(super) struct CardOf<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) outcome: &'a Outcome,
    pub(super) units: Units,
    /// Indices of the passes, as they stand on the card.
    order: &'a [usize],
    /// What stands on the site; nothing where it cannot be told.
    pub(super) outline: Option<&'a SiteOutline>,
}

/// Indices of the passes as they are flown, then of those that are not.
fn flown_order(outcome: &Outcome) -> Vec<usize> {
    let count = outcome.passes.len();
    let flown = outcome.flight().map(|flight| flight.order.as_slice()).unwrap_or_default();
    let flown = flown.iter().copied().filter(|index| *index < count);
    let mut order: Vec<usize> = flown.collect();
    order.extend((0..count).filter(|index| outcome.flight().is_none_or(|f| !f.order.contains(index))));
    order
}

impl CardOf<'_> {
    /// The number of a pass on the card.
    fn number(&self, pass: Id) -> Option<usize> {
        self.order.iter().position(|index| self.outcome.passes[*index].pass == pass).map(|at| at + 1)
    }

    fn passes(&self) -> Vec<CardPass> {
        let count = self.order.len();
        let of = |(at, index): (usize, &usize)| {
            card_pass(self, &self.outcome.passes[*index], [at + 1, count, index + 1])
        };
        self.order.iter().enumerate().map(of).collect()
    }

    fn sorties(&self, timing: &Timing) -> Vec<CardSortie> {
        let flight = &timing.flight;
        let mut passes: Vec<Vec<usize>> = vec![Vec::new(); flight.sorties.len()];
        for flown in &flight.legs {
            let number = flown.pass.and_then(|pass| self.number(pass));
            let of = passes.get_mut(flown.sortie as usize).zip(number);
            if let Some((numbers, number)) = of.filter(|(numbers, number)| !numbers.contains(number)) {
                numbers.push(number);
            }
        }
        let of = |(index, (sortie, passes)): (usize, (&Sortie, Vec<usize>))| CardSortie {
            number: index + 1,
            battery: sortie.battery,
            passes,
            time: minutes(sortie.duration_s),
            images: sortie.exposures,
            left: format!("{:.0} %", 100.0 * sortie.left_ratio(flight.capacity_j)),
            wait: (sortie.wait_s > 0.0).then(|| minutes(sortie.wait_s)),
        };
        flight.sorties.iter().zip(passes).enumerate().map(of).collect()
    }

    fn surroundings(&self, timing: &Timing) -> Vec<CardFigure> {
        let CardOf { scenario, outcome, units, .. } = *self;
        let (farthest_m, limit_m) = (timing.flight.farthest_m, scenario.conditions.pilot_distance_m);
        let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
        let limit = length(units, limit_m).value;
        let farthest = CardFigure::said("farthest", length(units, farthest_m))
            .note(format!("from the take-off point, {beyond} {limit} from the pilot"))
            .fits(fit(farthest_m, limit_m));
        let Some((outline, tallest_m)) =
            self.outline.and_then(|outline| outline.tallest_anywhere_m.map(|tallest_m| (outline, tallest_m)))
        else {
            let none = CardFigure::new("tallest structure", "none drawn").note("look for what stands there");
            return vec![farthest, none];
        };
        let assumed = if outcome.assumed { ", assumed and not surveyed" } else { "" };
        let tallest = CardFigure::said("tallest structure", length(units, tallest_m))
            .note(format!("above the mean ground{assumed}"));
        let clearance = least_clearance(outcome.plans(), outline).map(|least| {
            let number = self.number(least.pass).unwrap_or(0);
            let of = format!("pass {number} to {}, the least of all{assumed}", least.structure);
            CardFigure::said("clearance", length(units, least.m)).note(of)
        });
        [farthest, tallest].into_iter().chain(clearance).collect()
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
    order(timing).into_iter().chain([batteries, space]).collect()
}

/// In which order the passes are flown, where it is not the one listed.
fn order(timing: &Timing) -> Option<CardFigure> {
    let flown = &timing.flight.order;
    if flown.is_sorted() {
        return None;
    }
    let numbers: Vec<String> = flown.iter().map(|index| (index + 1).to_string()).collect();
    let order = CardFigure::new("order", format!("pass {}", numbers.join(", ")));
    Some(order.note("as they are listed; the quickest to fly, and numbered so here"))
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
