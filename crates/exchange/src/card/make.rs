use super::given::{CardOf, several_take_offs};
use super::model::{Card, CardFigure, CardFit, CardPass, CardReport, CardSortie};
use super::once::{day, set_once, take_offs};
use super::pass::card_pass;
use super::sketch::CardSketch;
use super::words::{difference, gigabytes, length, minutes};
use crate::Units;
use obliquity_planning::{
    Caution, Conditions, Id, LoadFigures, MeasureId, Outcome, Scenario, SiteOutline, Sortie, Timing,
    least_clearance,
};

/// What every card ends with.
const WHO_DECIDES: &str = "Figures are predictions from geometry and physics, not promises. Local rules and the remote \
                           pilot decide whether, where and how to fly.";
/// What "nominal GSD" means, once for all passes.
const NOMINAL: &str = "Nominal GSD of blocks and corridors: of a nadir camera over level ground.";

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
            number: None,
            strategy: outcome.name.clone(),
            scenario: scenario.name.clone(),
            site: scenario.site.name.clone(),
            aircraft: outcome.aircraft.clone(),
            reasons: outcome.reasons.clone(),
            passes: said.passes(),
            set_once: timing.map(|timing| set_once(&said, timing)).unwrap_or_default(),
            take_offs: timing.map(|timing| take_offs(&said, timing)).unwrap_or_default(),
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
            cautions: outcome.cautions.iter().map(|caution| told(caution, units)).collect(),
            sketch: CardSketch::new(&said),
            closing: if timing.is_some() {
                format!("{NOMINAL} {WHO_DECIDES}")
            } else {
                WHO_DECIDES.to_owned()
            },
        }
    }
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
        let several = several_take_offs(flight).is_some();
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
            take_off: several.then_some(sortie.home + 1),
            moving: (sortie.move_s > 0.0).then(|| minutes(sortie.move_s)),
        };
        flight.sorties.iter().zip(passes).enumerate().map(of).collect()
    }

    fn surroundings(&self, timing: &Timing) -> Vec<CardFigure> {
        let CardOf { scenario, outcome, units, .. } = *self;
        let (farthest_m, limit_m) = (timing.flight.farthest_m, scenario.conditions.pilot_distance_m);
        let beyond = if farthest_m > limit_m { "beyond" } else { "within" };
        let limit = length(units, limit_m).value;
        let several = several_take_offs(&timing.flight).is_some();
        let from = if several { "the sortie's take-off" } else { "the take-off point" };
        let farthest = CardFigure::said("farthest", length(units, farthest_m))
            .note(format!("from {from}, {beyond} {limit} from the pilot"))
            .fits(fit(farthest_m, limit_m))
            .of(MeasureId::Farthest);
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
/// A caution that speaks the card's units, whatever it is asked for in.
fn told(caution: &Caution, units: Units) -> Caution {
    Caution { text: caution.text.in_units(units).into(), ..caution.clone() }
}

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
        .fits(if charged { CardFit::Enough } else { fit(f64::from(sorties), f64::from(sets)) })
        .of(MeasureId::Sorties);
    let (need, have) = (load.storage_gb, conditions.card_gb);
    let verdict = if need <= have { "enough" } else { "too little: bring more" };
    let space = CardFigure::new("card space", format!("{} needed", gigabytes(need)))
        .note(format!("{} on hand: {verdict}", gigabytes(have)))
        .fits(fit(need, have))
        .of(MeasureId::Storage);
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
    let moves = (time.moves > 0).then_some(("moves between take-offs", time.moves_s));
    let sum = CardFigure::new("total", minutes(time.time_on_site_s()));
    let most_s = scenario.requirement.time_on_site_min.map(|most_min| most_min * 60.0);
    let longer = timing.bands.as_ref().and_then(|bands| bands.over_time_s(timing, most_s)).zip(most_s);
    let sum = match longer {
        Some((likely_s, most_s)) => {
            sum.note(format!("{} in one draw of ten, {} allowed", minutes(likely_s), minutes(most_s)))
        }
        None => sum,
    };
    let terms = terms.into_iter().chain(moves);
    let term = |(label, seconds): (&str, f64)| {
        let figure = if label == "flight" { MeasureId::FlightTime } else { MeasureId::TimeOnSite };
        CardFigure::new(label, minutes(seconds)).of(figure)
    };
    terms.map(term).chain([sum.of(MeasureId::TimeOnSite)]).collect()
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
