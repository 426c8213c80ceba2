//! Every sentence is read back: no number and no relation in it contradicts the outcome.

use crate::generate;
use crate::window::witness;
use obliquity::board::{Board, GivenBoard, Standing, Verdict};
use obliquity::cautions::{CautionRow, ToldGauge};
use obliquity::cli;
use obliquity::corner_advice::{Corners, State};
use obliquity::engine::Engine;
use obliquity::figures::Figures;
use obliquity::figures::Freshness;
use obliquity::figures::Report;
use obliquity::files;
use obliquity::passes;
use obliquity::units::Unit;
use obliquity::wind_advice::{Advice, Wind};
use obliquity_exchange::{Card, CardFigure, Units};
use obliquity_planning::wording::Form;
use obliquity_planning::*;
use std::cmp::Ordering;
use std::path::Path;
use std::sync::Arc;

/// A number as it was read.
#[derive(Debug, Clone, PartialEq)]
struct Number {
    value: f64,
    /// Half of its last digit.
    half: f64,
    unit: String,
    /// What stands before it since the number before, and behind its unit.
    before: String,
    after: String,
}

/// What is written behind numbers.
const UNITS: [&str; 13] = ["%", "cm", "min", "m/s", "m", "ft", "kn", "mph", "h", "GB", "sets", "Wh", "in"];

/// A text whose thousands stand together and whose other spaces are all of one kind.
fn spaced(text: &str) -> String {
    let all: Vec<char> = text.chars().collect();
    let digit = |k: usize| all.get(k).is_some_and(char::is_ascii_digit);
    let parts =
        |k: usize| k > 0 && digit(k - 1) && digit(k + 1) && digit(k + 2) && digit(k + 3) && !digit(k + 4);
    let spaces = (0..all.len()).filter(|&k| all[k] != '\u{a0}' || !parts(k));
    spaces.map(|k| if all[k] == '\u{a0}' { ' ' } else { all[k] }).collect()
}

/// The numbers of a sentence in their order, with their units.
fn numbers(text: &str) -> Vec<Number> {
    let text = spaced(text);
    let bytes = text.as_bytes();
    let mut found: Vec<Number> = Vec::new();
    let (mut at, mut last) = (0, 0);
    while at < bytes.len() {
        let begins = bytes[at].is_ascii_digit() && (at == 0 || !bytes[at - 1].is_ascii_alphanumeric());
        if !begins {
            at += 1;
            continue;
        }
        let mut end = at;
        let digit = |k: usize| bytes.get(k).is_some_and(u8::is_ascii_digit);
        while digit(end) || (matches!(bytes.get(end), Some(b'.' | b',')) && digit(end + 1)) {
            end += 1;
        }
        let plain = text[at..end].replace(',', "");
        let decimals = plain.split_once('.').map_or(0, |(_, part)| part.len());
        let rest = text[end..].strip_prefix(' ').unwrap_or("");
        let word: String = rest.chars().take_while(|c| c.is_alphabetic() || matches!(c, '%' | '/')).collect();
        let unit = UNITS.iter().find(|unit| **unit == word).map_or("", |unit| *unit);
        let after = end + if unit.is_empty() { 0 } else { 1 + unit.len() };
        found.push(Number {
            value: plain.parse().unwrap(),
            half: 0.5 * 10_f64.powf(-(decimals as f64)),
            unit: unit.to_owned(),
            before: text[last..at].to_owned(),
            after: text[after..].to_owned(),
        });
        (at, last) = (after, after);
    }
    found
}

/// Words behind or before a limit, whether it stands before the value or behind it, and how the value must stand to it. In
/// per cent more is better, in all else less.
fn relation(number: &Number) -> Option<Vec<Ordering>> {
    let worse = if number.unit == "%" { Ordering::Less } else { Ordering::Greater };
    let (after, before) = (number.after.as_str(), number.before.as_str());
    if after.starts_with(" needed") || after.starts_with(" allowed") {
        return Some(vec![worse]);
    }
    if before.ends_with("above the limit of ")
        || before.ends_with(", more than ")
        || before.ends_with("more than the ")
    {
        return Some(vec![Ordering::Greater]);
    }
    if before.ends_with("; limit chosen: ") {
        return Some(vec![Ordering::Less, Ordering::Equal]);
    }
    if before.ends_with("nearer than ") || before.ends_with("(common practice: ") {
        return Some(vec![Ordering::Less]);
    }
    None
}

/// Relations of a sentence that its own numbers contradict.
fn contradictions(text: &str) -> Vec<String> {
    let found = numbers(text);
    let mut wrong = Vec::new();
    for (k, limit) in found.iter().enumerate() {
        let Some(allowed) = relation(limit) else { continue };
        let value = found[..k].iter().rev().find(|number| number.unit == limit.unit);
        let Some(value) = value.filter(|_| !limit.unit.is_empty() || k > 0) else { continue };
        if !allowed.contains(&value.value.total_cmp(&limit.value)) {
            wrong.push(format!("{} against {} in {text:?}", value.value, limit.value));
        }
    }
    wrong
}

/// Whether a text has a number that is a figure rounded to the digits shown.
fn tells(text: &str, unit: Unit, figure: f64) -> bool {
    tells_as(text, Units::Metric, unit, figure)
}

/// The same where the units are chosen.
fn tells_as(text: &str, units: Units, unit: Unit, figure: f64) -> bool {
    match unit {
        Unit::Metres | Unit::MetresPerSecond => {
            tells_in(text, units.scale(unit).sign, units.shown(unit, figure))
        }
        _ => {
            let form = Form::of_in(unit, units.gsd_unit());
            tells_in(text, form.sign, figure / form.stored_per_shown)
        }
    }
}

/// The same for a figure in the unit that stands behind the number.
fn tells_in(text: &str, sign: &str, shown: f64) -> bool {
    // The last bits of the figure may fall on the other side of half a digit.
    let near = |number: &Number| (number.value - shown).abs() <= number.half * (1.0 + 1e-6) + 1e-9;
    numbers(text).iter().any(|number| number.unit == sign && near(number))
}

/// What a line of a card tells.
#[derive(Clone, Copy)]
enum Kind {
    /// In one unit.
    Plain(Unit),
    /// Metres and feet.
    Length,
    /// Metres a second and miles an hour, rounded down.
    Speed,
    /// In the unit chosen.
    Gsd(Units),
}

impl Kind {
    fn is_told(self, figure: &CardFigure, exact: f64) -> bool {
        let both = format!("{} ({})", figure.value, figure.also.as_deref().unwrap_or(""));
        let both = both.replace('−', "-");
        match self {
            Kind::Plain(unit) => tells(&figure.value, unit, exact),
            Kind::Length => tells_in(&both, "m", exact.abs()) && tells_in(&both, "ft", exact.abs() / 0.3048),
            Kind::Gsd(units) => {
                let form = units.gsd_form();
                tells_in(&both, form.sign, exact / form.stored_per_shown)
            }
            // What is rounded down to a step of a hundredth or a tenth lies less than a step below.
            Kind::Speed => {
                [("m/s", exact, 0.01), ("mph", exact / 0.44704, 0.1)].iter().all(|(sign, shown, step)| {
                    let mut all = numbers(&both).into_iter().filter(|number| number.unit == *sign);
                    all.any(|number| (-1e-6..step + 1e-6).contains(&(shown - number.value)))
                })
            }
        }
    }
}

/// All figures of a card.
fn lines(card: &Card) -> impl Iterator<Item = &CardFigure> {
    let of_passes =
        card.passes.iter().flat_map(|pass| pass.to_key_in.iter().chain(&pass.cameras).chain(&pass.follows));
    let lists = [&card.set_once, &card.take_offs, &card.day, &card.on_hand, &card.surroundings, &card.time];
    of_passes.chain(lists.into_iter().flatten())
}

/// Whether a text gives the ends of a band of time, or the one number that both read as.
fn spans(text: &str, band: Band) -> bool {
    let near = |number: &Number, s: f64| (number.value - s / 60.0).abs() <= number.half * (1.0 + 1e-6) + 1e-9;
    match numbers(text).as_slice() {
        [one] => near(one, band.p10) && near(one, band.p90),
        [low, high] => near(low, band.p10) && near(high, band.p90),
        _ => false,
    }
}

/// How many generated scenarios are read; more where this variable says so.
const MORE: &str = "OBLIQUITY_READ_BACK";

fn how_many() -> u64 {
    std::env::var(MORE).ok().and_then(|value| value.parse().ok()).unwrap_or(40)
}

/// All that is known of a scenario, as the window has it.
struct Told {
    scenario: Arc<Scenario>,
    outcomes: Vec<Outcome>,
    board: Board,
    table: String,
    /// What board and table are in.
    units: Units,
    /// How a missed line is said.
    says: fn(&Judgement, Units) -> String,
}

impl Told {
    fn new(scenario: Scenario, depth: Depth, units: Units) -> Told {
        let (engine, scenario) = (witness(), Arc::new(scenario));
        let of = |strategy: &Strategy| engine.evaluate(&scenario, strategy.id, depth, &NoWatch).unwrap();
        let outcomes: Vec<Outcome> = scenario.strategies.iter().map(of).collect();
        let mut figures = Figures::default();
        figures.follow(&scenario, &|scenario, id| engine.quick(scenario, id));
        for outcome in outcomes.iter().filter(|_| depth == Depth::Views) {
            figures
                .take(Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(outcome.clone()) });
        }
        for strategy in &scenario.strategies {
            let drawn = engine.evaluate(&scenario, strategy.id, Depth::Spread, &NoWatch).unwrap();
            figures.take(Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(drawn) });
        }
        let board = Board::of(&GivenBoard {
            scenario: &scenario,
            figures: &figures,
            holding: None,
            offers: &[],
            library: &[],
            units,
            before: None,
            unasked: &[],
        });
        let table = cli::table(&scenario, &outcomes, units);
        let says = |line: &Judgement, units: Units| line.shortfall(units.gsd_unit()).unwrap();
        Told { scenario, outcomes, board, table, units, says }
    }

    /// The texts that are read for relations.
    fn texts(&self) -> Vec<String> {
        let mut texts = vec![self.board.sentence.text.clone()];
        for column in &self.board.columns {
            texts.extend(column.shortfalls.iter().cloned());
            texts.push(column.verdict_text.clone());
        }
        for row in &self.board.cautions {
            texts.push(row.text.clone());
            texts.extend(row.further.iter().map(|other| other.text.clone()));
        }
        texts.extend(self.table.lines().map(str::to_owned));
        for card in Units::ALL.into_iter().flat_map(|units| self.cards(units)) {
            texts.extend(card.cautions.iter().map(|caution| caution.text.to_string()));
            texts.extend(lines(&card).map(CardFigure::sentence));
            texts.extend(card.to_text().lines().map(str::to_owned));
        }
        texts
    }

    /// The set-up cards, with what the bands add to them.
    fn cards(&self, units: Units) -> Vec<Card> {
        self.outcomes.iter().map(|outcome| Card::new(&self.scenario, outcome, units)).collect()
    }

    /// Figures of the set-up cards against the plan and its cost: in both systems of units, whichever comes first.
    fn wrong_cards(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        for units in Units::ALL {
            for (card, outcome) in self.cards(units).iter().zip(&self.outcomes) {
                let (Some(timing), Some(load)) = (&outcome.timing, &outcome.load) else { continue };
                let mut hold = |figures: &[CardFigure], label: &str, kind: Kind, exact: f64| {
                    let Some(figure) = figures.iter().find(|figure| figure.label == label) else { return };
                    if !kind.is_told(figure, exact) {
                        wrong.push(format!("{units:?} {}: {label} {exact} as {figure:?}", outcome.name));
                    }
                };
                let time = timing.time;
                for (label, seconds) in [
                    ("set-up", time.set_up_s),
                    ("flight", time.flight_s),
                    ("battery changes", time.swaps_s),
                    ("waiting for chargers", time.waits_s),
                    ("moves between take-offs", time.moves_s),
                    ("control points", time.control_s),
                    ("pack-up", time.pack_up_s),
                    ("total", time.time_on_site_s()),
                ] {
                    hold(&card.time, label, Kind::Plain(Unit::Seconds), seconds);
                }
                hold(&card.on_hand, "card space", Kind::Plain(Unit::Gigabytes), load.storage_gb);
                for (k, sortie) in timing.flight.sorties.iter().enumerate() {
                    let figure = card.sorties[k].figure();
                    hold(
                        &[figure],
                        &format!("sortie {}", k + 1),
                        Kind::Plain(Unit::Seconds),
                        sortie.duration_s,
                    );
                }
                hold(&card.surroundings, "farthest", Kind::Length, timing.flight.farthest_m);
                let wind = self.scenario.conditions.wind;
                if wind.blows() {
                    hold(&card.day, "wind", Kind::Speed, wind.speed_mps);
                }
                // The card has them in the order in which they are flown.
                let flown = timing.flight.order.iter().map(|index| &outcome.passes[*index]);
                for (pass, planned) in card.passes.iter().zip(flown) {
                    let Some(plan) = planned.laid() else { continue };
                    let layout = &plan.layout;
                    hold(&pass.to_key_in, "speed", Kind::Speed, plan.speed.speed_mps);
                    match (layout.flown.ring, layout.stand_off_m) {
                        (Some(ring), _) => {
                            hold(&pass.to_key_in, "radius", Kind::Length, ring.radius_m);
                            hold(&pass.to_key_in, "stand-off", Kind::Length, ring.radius_m - ring.circle_m);
                        }
                        (None, Some(stand_off_m)) => {
                            hold(&pass.to_key_in, "stand-off", Kind::Length, stand_off_m);
                        }
                        (None, None) => hold(&pass.to_key_in, "height", Kind::Length, layout.height_m),
                    }
                    hold(&pass.follows, "nominal GSD", Kind::Gsd(units), layout.vertical_gsd_m);
                    hold(&pass.follows, "images", Kind::Plain(Unit::Count), plan.stations.poses.len() as f64);
                }
            }
        }
        wrong
    }

    /// The rows of the printed comparison against the figures that they are of.
    fn wrong_table(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let in_cells = |line: &str| -> Option<Vec<String>> {
            let all: Vec<String> = line.split("  ").map(|cell| cell.trim().to_owned()).collect();
            let all: Vec<String> = all.into_iter().filter(|cell| !cell.is_empty()).collect();
            all.len().checked_sub(self.outcomes.len()).map(|first| all[first..].to_vec())
        };
        let lines: Vec<&str> = self.table.lines().collect();
        let place = |name: &str| lines.iter().position(|line| line.starts_with(name));
        let cells = |name: &str| in_cells(lines[place(name)?]);
        for row in MEASURES {
            // "Energy in battery sets" begins like "Energy".
            let Some(cells) = cells(&format!("{} ", row.name)) else { continue };
            let same = MEASURES.iter().filter(|other| other.name.starts_with(row.name)).count() == 1;
            for (cell, outcome) in cells.iter().zip(&self.outcomes).filter(|_| same) {
                let figure = row.read(outcome);
                let told = figure
                    .is_none_or(|figure| tells_as(&cell.replace(" Gpx", ""), self.units, row.unit, figure));
                if !told && row.unit != Unit::Gigapixels {
                    wrong.push(format!("{} of {}: {figure:?} as {cell:?}", row.name, outcome.name));
                }
            }
        }
        for row in MEASURES.iter().filter(|row| row.unit == Unit::Seconds && row.band.is_some()) {
            let bands: Vec<Option<Band>> = self.outcomes.iter().map(|o| row.band_of(o)).collect();
            let below = place(&format!("{} ", row.name)).map(|line| lines[line + 1]);
            let below = below.filter(|line| line.starts_with("  10–90 %")).and_then(in_cells);
            if below.is_none() && bands.iter().any(Option::is_some) {
                wrong.push(format!("the table has no band of {}", row.name));
            }
            for (cell, band) in below.unwrap_or_default().iter().zip(bands) {
                if band.is_some_and(|band| !spans(cell, band)) {
                    wrong.push(format!("{band:?} as {cell:?}"));
                }
            }
        }
        wrong
    }

    /// How sure the time on site is, as the board has it.
    fn wrong_bands(&self) -> Vec<String> {
        let rows = self.board.bands.iter().filter(|band| band.title == "Time").flat_map(|band| &band.rows);
        let mut wrong = Vec::new();
        for row in rows.filter(|row| row.label.starts_with("on site")) {
            for (cell, outcome) in row.cells.iter().zip(&self.outcomes) {
                let Some(bands) = outcome.bands() else { continue };
                if !cell.note.as_deref().is_some_and(|note| spans(note, bands.time_on_site_s)) {
                    wrong.push(format!("{:?} as {:?}", bands.time_on_site_s, cell.note));
                }
            }
        }
        wrong
    }

    /// What the pages of the passes say follows from the settings.
    fn wrong_pages(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let outline = SiteOutline::new(&self.scenario.site).ok();
        for (outcome, units) in self.outcomes.iter().flat_map(|one| Units::ALL.map(|units| (one, units))) {
            let given = passes::GivenPasses {
                scenario: &self.scenario,
                strategy: outcome.strategy,
                quick: Some(Ok(outcome)),
                outline: outline.as_ref(),
                advice: Advice { strategy: &outcome.name, wind: Wind::Still, found: None, trying: false },
                corners: Corners { strategy: &outcome.name, state: State::Unasked },
                units,
            };
            for planned in &outcome.passes {
                let Some(plan) = planned.laid() else { continue };
                let Some(page) = passes::Passes::of(&given, Some(planned.pass)) else { continue };
                let metres = |m: f64| (units.scale(Unit::Metres).sign, units.shown(Unit::Metres, m));
                let mps = |mps: f64| {
                    (units.scale(Unit::MetresPerSecond).sign, units.shown(Unit::MetresPerSecond, mps))
                };
                let layout = &plan.layout;
                let gsd = units.gsd_form();
                let expected = [
                    ("Radius", layout.flown.ring.map(|ring| metres(ring.radius_m))),
                    ("Stand-off", layout.stand_off_m.map(metres)),
                    ("Height", layout.stand_off_m.is_none().then(|| metres(layout.height_m))),
                    ("Nominal GSD", Some((gsd.sign, layout.vertical_gsd_m / gsd.stored_per_shown))),
                    ("Speed", Some(mps(plan.speed.speed_mps))),
                    ("Images", Some(("", plan.stations.poses.len() as f64))),
                ];
                for (name, figure) in expected {
                    let Some((sign, shown)) = figure else { continue };
                    let text =
                        page.follows.iter().find(|follow| follow.name == name).map(|follow| &follow.text);
                    if !text.is_some_and(|text| tells_in(text, sign, shown)) {
                        wrong.push(format!("{}: {name} {shown} {sign} as {text:?}", outcome.name));
                    }
                }
            }
        }
        wrong
    }

    /// The figure of a caution is the one that it is ordered by, in every unit that it is written in.
    fn wrong_gauges(&self) -> Vec<String> {
        let lengths = [
            "pilot-distance",
            "height-limit",
            "near-walls",
            "near-take-off",
            "near-keep-out",
            "unknown",
            "clearance",
        ];
        let mut wrong = Vec::new();
        for outcome in &self.outcomes {
            for caution in &outcome.cautions {
                let Some(gauge) = &caution.gauge else { continue };
                let exact = gauge.worse.abs();
                let [metric, us] =
                    [Units::Metric, Units::UsCustomary].map(|units| gauge.text.in_units(units));
                let told = match caution.id {
                    id if lengths.contains(&id) || id == "line-of-sight" => {
                        tells_in(metric, "m", exact) && tells_in(us, "ft", exact / 0.3048)
                    }
                    "speed-limit" | "wind-slows" => {
                        tells_in(metric, "m/s", exact) && tells_in(us, "mph", exact / 0.44704)
                    }
                    "twilight" | "night" | "wind-strong" | "reserve" => {
                        tells(&gauge.text, Unit::Share, exact)
                    }
                    "shade-moves" | "charger-wait" => tells(&gauge.text, Unit::Seconds, exact),
                    "card-space" => tells(&gauge.text, Unit::Gigabytes, exact),
                    "height-ceiling" => tells(&gauge.text, Unit::GsdMetres, exact),
                    _ => true,
                };
                if !told {
                    wrong.push(format!("{}: {} as {:?}", caution.id, gauge.worse, gauge.text));
                }
            }
        }
        wrong
    }

    /// Centimetres where inches are chosen, unless inches stand beside them.
    fn wrong_units(&self) -> Vec<String> {
        let columns = self.board.columns.iter();
        let columns =
            columns.flat_map(|column| column.shortfalls.iter().chain(std::iter::once(&column.follows)));
        let texts = std::iter::once(&self.board.sentence.text).chain(columns).map(String::as_str);
        let texts = texts.chain(self.table.lines()).filter(|_| self.units == Units::UsInches);
        let has = |text: &str, unit: &str| numbers(text).iter().any(|number| number.unit == unit);
        texts.filter(|text| has(text, "cm") && !has(text, "in")).map(str::to_owned).collect()
    }

    /// What is said of a missed line: its value and its limit, as they are.
    fn wrong_shortfalls(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        for outcome in &self.outcomes {
            for line in &outcome.judgements {
                let Judgement::Missed { of, value, required, .. } = line else { continue };
                let unit = measure(*of).unit;
                for units in Units::ALL {
                    let why = (self.says)(line, units);
                    let told = |figure: f64| tells_as(&why, units, unit, figure);
                    if !told(*value) || !told(*required) {
                        wrong.push(format!("{}: {value} of {required} as {why:?}", outcome.name));
                    }
                }
            }
        }
        wrong
    }

    /// The board's figures, ticks and crosses against the outcome.
    fn wrong_cells(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let bands = [("Coverage", true), ("GSD", false)];
        for (title, coverage) in bands {
            let rows = self.board.bands.iter().filter(|band| band.title == title).flat_map(|band| &band.rows);
            for row in rows {
                let class = SurfaceClass::ALL.into_iter().find(|class| row.label.starts_with(class.name()));
                let class = class.expect("a row of a class");
                let id = if coverage { MeasureId::Coverage(class) } else { MeasureId::GsdP95(class) };
                let asked = self.scenario.requirement.coverage[class].is_some();
                if row.cells.iter().any(|cell| cell.limit.is_some()) != asked {
                    wrong.push(format!(
                        "{title} {}: a limit is drawn that is not asked, or not drawn",
                        row.label
                    ));
                }
                for (cell, outcome) in row.cells.iter().zip(&self.outcomes) {
                    let figure = measure(id).read(outcome);
                    let text = cell.text.clone();
                    let told = |figure: f64| tells_as(&text, self.units, measure(id).unit, figure);
                    if let Some(figure) = figure.filter(|figure| !told(*figure)) {
                        wrong.push(format!("{}: {figure} as {text:?}", cell.spoken));
                    }
                    let line = outcome.judgements.iter().find(|line| line.of() == id);
                    let says = |word: &str| cell.spoken.contains(word);
                    let met = matches!(line, Some(Judgement::Met { .. }));
                    let missed = matches!(line, Some(Judgement::Missed { .. }));
                    if says(", meets") != met || says(", misses") != missed {
                        wrong.push(format!("{} against {line:?}", cell.spoken));
                    }
                }
            }
        }
        wrong
    }

    /// Ticks, names and "meets" for what is missed or was never judged; figures of what cannot be flown.
    fn wrong_verdicts(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        for (column, outcome) in self.board.columns.iter().zip(&self.outcomes) {
            let asked =
                SurfaceClass::ALL.into_iter().filter(|c| self.scenario.requirement.coverage[*c].is_some());
            let unjudged = outcome.views.as_ref().is_some_and(|views| {
                let mut classes = asked;
                classes.any(|class| views.classes[class].is_none())
            });
            if unjudged && (column.verdict == Verdict::Meets || outcome.meets() == Some(true)) {
                wrong.push(format!("{} meets what is not judged", outcome.name));
            }
            let misses = !outcome.shortfalls(GsdUnit::Centimetres).is_empty();
            if column.verdict == Verdict::Meets && (misses || !outcome.feasible()) {
                wrong.push(format!(
                    "{} meets with {:?}",
                    outcome.name,
                    outcome.shortfalls(GsdUnit::Centimetres)
                ));
            }
            let words = &column.verdict_text;
            if words.starts_with("meets") != (column.verdict == Verdict::Meets) {
                wrong.push(format!("{}: {words}", outcome.name));
            }
            if !outcome.feasible() && numbers(&column.follows).iter().any(|number| !number.unit.is_empty()) {
                wrong.push(format!("{} cannot be flown: {}", outcome.name, column.follows));
            }
        }
        wrong
    }

    /// The headline names the quickest of those that miss nothing, with its own figures.
    fn wrong_headline(&self) -> Vec<String> {
        let sentence = &self.board.sentence.text;
        if self.outcomes.iter().any(|outcome| outcome.depth < Depth::Views) {
            return Vec::new();
        }
        let time_s = |outcome: &Outcome| outcome.timing.as_ref().map(|timing| timing.time.time_on_site_s());
        let passing =
            self.outcomes.iter().filter(|o| o.feasible() && o.shortfalls(GsdUnit::Centimetres).is_empty());
        let best = passing.min_by(|a, b| time_s(a).unwrap().total_cmp(&time_s(b).unwrap()));
        let right = match best {
            None => sentence.starts_with("No strategy meets"),
            Some(best) => {
                let unjudged = best.judgements.iter().any(|line| matches!(line, Judgement::NotJudged { .. }));
                let lead = sentence.split(" on site").next().unwrap_or("");
                sentence.starts_with(&best.name)
                    && tells(lead, Unit::Seconds, time_s(best).unwrap())
                    && lead.contains("as far as judged") == unjudged
            }
        };
        if right { Vec::new() } else { vec![sentence.clone()] }
    }

    /// What is said of a strategy against the reference: each of its numbers is a figure of one of the two, or the difference of
    /// both; and it is only said where both are known.
    fn wrong_words(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        let reference =
            self.outcomes.iter().find(|outcome| Some(outcome.strategy) == self.scenario.reference);
        for (column, outcome) in self.board.columns.iter().zip(&self.outcomes) {
            let told = column.against.as_ref();
            let expected = reference.filter(|other| other.strategy != outcome.strategy);
            let known = expected.is_some_and(|_| self.outcomes.iter().all(|o| o.depth == Depth::Views));
            // Of what cannot be flown the reasons are known at once.
            if known != told.is_some() && (known || outcome.feasible()) {
                wrong.push(format!("{}: {told:?}", outcome.name));
            }
            let Some((other, told)) = expected.zip(told).filter(|(o, _)| o.feasible() && outcome.feasible())
            else {
                continue;
            };
            for sentence in &told.sentences {
                let bare = sentence.replace(&outcome.name, "").replace(&other.name, "");
                let backed = backing(&bare, other, outcome, self.units);
                let near = |n: &Number, v: f64| (n.value - v.abs()).abs() <= n.half * (1.0 + 1e-6) + 1e-9;
                for number in numbers(&bare) {
                    if !backed.iter().any(|value| near(&number, *value)) {
                        wrong.push(format!("{} of {sentence:?} is none of {backed:?}", number.value));
                    }
                }
            }
        }
        wrong
    }

    /// A caution of several strategies leads with the worst, and what it says of others is theirs.
    fn wrong_cautions(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        for row in &self.board.cautions {
            for other in &row.further {
                let own = self.outcomes.iter().find(|outcome| outcome.name == other.strategy);
                let own = own.and_then(|own| {
                    own.cautions.iter().find(|c| c.id == row.id && c.text.in_units(self.units) == other.text)
                });
                let less = match (&row.gauge, &other.gauge) {
                    (Some(worst), Some(other)) => other.worse <= worst.worse,
                    _ => true,
                };
                let figure =
                    |own: &Caution| own.gauge.as_ref().map(|g| g.text.in_units(self.units).to_owned());
                let shown = other.gauge.as_ref().map(|gauge| gauge.text.clone());
                if own.is_none_or(|own| figure(own) != shown) || !less {
                    wrong.push(format!("{}: {:?} beside {:?}", row.text, other, row.gauge));
                }
            }
            wrong.extend(row.also().filter(|also| also.contains("likewise")));
        }
        wrong
    }

    /// What cannot be flown has no figure and no tick on the board, and no figure on the card.
    fn wrong_refused(&self) -> Vec<String> {
        let mut wrong = Vec::new();
        for (k, outcome) in self.outcomes.iter().enumerate().filter(|(_, outcome)| !outcome.feasible()) {
            let cells = self.board.bands.iter().flat_map(|band| &band.rows).map(|row| &row.cells[k]);
            let figures =
                cells.filter(|cell| !numbers(&cell.text).is_empty() || cell.standing != Standing::Open);
            wrong.extend(figures.map(|cell| format!("cannot be flown: {}", cell.spoken)));
            let card = Card::new(&self.scenario, outcome, Units::Metric);
            if !(card.on_hand.is_empty() && card.time.is_empty() && card.surroundings.is_empty()) {
                wrong.push(format!("cannot be flown, but its card has {:?}", card.time));
            }
        }
        wrong
    }

    fn wrong(&self) -> Vec<String> {
        let texts = self.texts();
        let relations = texts.iter().flat_map(|text| contradictions(text));
        relations
            .chain(self.wrong_shortfalls())
            .chain(self.wrong_units())
            .chain(self.wrong_cells())
            .chain(self.wrong_verdicts())
            .chain(self.wrong_refused())
            .chain(self.wrong_headline())
            .chain(self.wrong_words())
            .chain(self.wrong_cautions())
            .chain(self.wrong_gauges())
            .chain(self.wrong_cards())
            .chain(self.wrong_table())
            .chain(self.wrong_bands())
            .chain(self.wrong_pages())
            .collect()
    }
}

/// The figures that a sentence about two outcomes may tell.
fn backing(sentence: &str, from: &Outcome, to: &Outcome, units: Units) -> Vec<f64> {
    let total_s = |o: &Outcome| o.timing.as_ref().unwrap().time_budget().total_s as f64;
    let images = |o: &Outcome| f64::from(o.load.as_ref().unwrap().image_count);
    let class = SurfaceClass::ALL.into_iter().find(|class| sentence.contains(class.plural()));
    let both = |of: &dyn Fn(&Outcome) -> f64| vec![of(from), of(to)];
    if sentence.starts_with("It takes ") {
        let mut all = both(&images);
        all.push(images(to) - images(from));
        return all;
    }
    if sentence.starts_with("It ") {
        return both(&|o| 100.0 * o.coverage()[class.unwrap()].unwrap());
    }
    if sentence.starts_with("GSD of ") {
        let form = Form::of_in(Unit::GsdMetres, units.gsd_unit());
        return both(&|o| o.gsd(class.unwrap()).unwrap().p95_m / form.stored_per_shown);
    }
    if sentence.contains(" meets the requirement; ") {
        // The 95th percentile is a name.
        return vec![95.0];
    }
    let strips = |o: &Outcome| o.plans().map(|plan| f64::from(plan.layout.strips)).sum::<f64>();
    let flown = |o: &Outcome| o.flight().unwrap().legs.clone();
    let is_turn = |leg: &FlownLeg| leg.turn_s > 0.0 || leg.leg.kind == LegKind::Turn;
    let turns = |o: &Outcome| flown(o).iter().filter(|leg| is_turn(leg)).count() as f64;
    let sets = |o: &Outcome| o.flight().unwrap().sorties.len() as f64;
    let more = |of: &dyn Fn(&Outcome) -> f64| of(to) - of(from);
    let due = |part: TimePart| more(&|o| o.timing.as_ref().unwrap().time_budget().of(part) as f64);
    let words = |part: TimePart| match part {
        TimePart::Strips => "strip",
        TimePart::Turns => "turn",
        TimePart::Swaps => "batter",
        TimePart::Links => "links",
        TimePart::Transits => "transits",
        part => part.name(),
    };
    let causes: Vec<&str> = sentence.split(" (").collect();
    let told = |part: &TimePart| {
        let is_of = |cause: &str| {
            cause.contains(words(*part)) && (*part != TimePart::Strips || !cause.contains("links"))
        };
        causes.iter().any(|cause| is_of(cause))
    };
    let rest = |sign: f64| -> f64 {
        let untold = TimePart::ALL.into_iter().filter(|part| !told(part)).map(due);
        untold.filter(|due| due * sign > 0.0).sum::<f64>().abs()
    };
    let lengths = TimePart::ALL.into_iter().map(|part| due(part).abs()).chain([
        more(&total_s).abs(),
        rest(1.0),
        rest(-1.0),
    ]);
    let clocks = lengths.flat_map(|length_s| [(length_s / 60.0).floor(), length_s % 60.0]);
    let speed = |o: &Outcome| {
        let length_m: f64 = o.plans().map(|plan| plan.layout.strips_length_m).sum();
        length_m / o.flight().unwrap().terms.strips_s
    };
    let counts = [more(&strips), more(&turns), more(&sets), 100.0 * speed(to) / speed(from)];
    counts.into_iter().chain(clocks).collect()
}

/// A requirement that some strategies only just reach or miss: their own figures, a little off.
fn near(scenario: &mut Scenario, seed: u64) {
    let requirement = &mut scenario.requirement;
    let step = (seed % 7) as f64;
    for class in SurfaceClass::ALL {
        requirement.gsd_cm[class] = 1.5 + 0.37 * step;
        requirement.coverage[class] = (seed % 3 != class as u64 % 3).then_some(0.015 + 0.14 * step);
    }
    requirement.time_on_site_min = (seed.is_multiple_of(2)).then_some(22.5 + 9.0 * step);
    requirement.images = (seed % 4 == 1).then_some(100 + 40 * (seed % 7) as u32);
    scenario.conditions.pilot_distance_m = 150.0 + 40.0 * step;
    scenario.conditions.height_rule = match seed % 3 {
        0 => HeightRule::UsPart107,
        1 => HeightRule::EuOpen,
        _ => HeightRule::Custom { limit_m: 60.5 },
    };
}

/// Derived: the relations and figures of sentences, read back.
#[test]
fn what_is_said_of_generated_scenarios_is_so() {
    let mut wrong = Vec::new();
    let mut read = 0;
    for seed in 0..how_many() {
        let mut scenario = generate::scenario(seed);
        near(&mut scenario, seed);
        scenario.reference = scenario.strategies.first().map(|strategy| strategy.id);
        let mut site = (*scenario.site).clone();
        site.sample_spacing_m = site.sample_spacing_m.map(|spacing_m| 2.5 * spacing_m);
        scenario.site = site.into();
        let depth = if seed % 4 == 3 { Depth::Spread } else { Depth::Views };
        let told = Told::new(scenario, depth, Units::ALL[seed as usize % 3]);
        read += told.texts().iter().map(|text| numbers(text).len()).sum::<usize>();
        wrong.extend(told.wrong().into_iter().map(|what| format!("seed {seed}: {what}")));
    }
    assert!(read as u64 > 1_000 * how_many(), "{read} numbers are read");
    assert!(
        wrong.is_empty(),
        "{} of {read} numbers, the first:\n{}",
        wrong.len(),
        wrong[..wrong.len().min(12)].join("\n")
    );
}

/// Derived: the same of the demo and of all that lies in the examples' folder; a boundary alone is never met.
#[test]
fn what_is_said_of_demo_and_examples_is_so() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut told = Vec::from(Units::ALL.map(|units| Told::new(files::demo().unwrap(), Depth::Views, units)));
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let is_wanted = path.extension().is_some_and(|e| e == "ron" || e == "kml" || e == "geojson");
        if !is_wanted || path.ends_with("sandpit.ron") {
            continue;
        }
        let Ok(files::Opened { mut scenario, .. }) = files::read(&path) else { continue };
        let mut site = (*scenario.site).clone();
        site.sample_spacing_m = Some(site.sample_spacing_m.unwrap_or(1.0).max(5.0));
        scenario.site = site.into();
        let one = Told::new(scenario, Depth::Views, Units::ALL[told.len() % 3]);
        if path.ends_with("hamlet.kml") {
            assert!(one.board.columns.iter().all(|column| column.verdict != Verdict::Meets));
            let said: Vec<&str> =
                one.board.columns.iter().map(|column| column.verdict_text.as_str()).collect();
            assert!(said.contains(&"ground only; roofs and walls are not modelled"), "{said:?}");
        }
        told.push(one);
    }
    assert!(told.len() >= 7, "{}", told.len());
    let wrong: Vec<String> = told.iter().flat_map(Told::wrong).collect();
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}

/// Derived: sentences that were told once, rounded so that they contradict themselves or the figure.
#[test]
fn a_rounding_that_lies_is_found() {
    for lie in [
        "walls: 95 % of what is seen is at 3 cm or finer, 3 cm needed; fly lower",
        "time on site: 56 min, 56 min allowed; 30 min of it is flight, in 2 sorties",
        "walls: 2 % of the area is covered, 2 % needed; most of the rest is hidden",
        "flies up to 120 m, above the limit of 120 m from the ground",
        "flies up to 394 ft, above the limit of 394 ft (120 m) from the ground",
        "images: 1,000, 1,000 allowed",
    ] {
        assert!(!contradictions(lie).is_empty(), "{lie}");
    }
    assert!(contradictions("walls: 95 % of what is seen is at 3.15 cm or finer, 3.00 cm needed").is_empty());
    assert!(!tells("at 3 cm or finer", Unit::GsdMetres, 0.0351));
    let mut told = Told::new(files::demo().unwrap(), Depth::Views, Units::UsInches);
    assert!(told.wrong_shortfalls().is_empty());
    let missed: usize = told.outcomes.iter().map(|outcome| outcome.missed().count()).sum();
    told.says = |line, units| {
        let Judgement::Missed { of, value, required, .. } = line else { return String::new() };
        let form = Form::of_in(measure(*of).unit, units.gsd_unit());
        let whole = |stored: f64| format!("{:.0} {}", 1.4 * stored / form.stored_per_shown, form.sign);
        format!("{} of the area, {} needed", whole(*value), whole(*required))
    };
    assert!(missed > 0, "or nothing is spoilt");
    assert_eq!(told.wrong_shortfalls().len(), 3 * missed, "every wrong figure is found in all units");
}

/// Derived: one kind of caution of three strategies: the worst leads, whatever the order in which they stand.
#[test]
fn a_caution_of_several_leads_with_the_worst() {
    let row = |name: &str, text: &str, worse: f64, figure: &str| CautionRow {
        id: "roof-overlap",
        severity: Severity::Check,
        text: text.to_owned(),
        source: CautionSource::Practice,
        strategies: vec![name.to_owned()],
        place_of: None,
        gauge: Some(ToldGauge { worse, text: figure.to_owned() }),
        freshness: Freshness::Fresh,
        further: Vec::new(),
    };
    let rows = vec![
        row("Nadir", "58 and 38", 0.02, "58 / 38 %"),
        row("Five", "38 and 6", 0.34, "38 / 6 %"),
        row("Crosshatch", "50 and 30", 0.1, "50 / 30 %"),
    ];
    let kinds = obliquity::cautions::by_kind(rows);
    assert_eq!(kinds.len(), 1);
    assert_eq!(
        (kinds[0].text.as_str(), kinds[0].strategies.as_slice()),
        ("38 and 6", ["Five".to_owned()].as_slice())
    );
    assert_eq!(kinds[0].also().unwrap(), "also, less: Crosshatch 50 / 30 %; Nadir 58 / 38 %");
    let alike = vec![row("A", "over the shed", 1.0, "the shed"), row("B", "over the mill", 1.0, "the mill")];
    let alike = obliquity::cautions::by_kind(alike);
    assert_eq!(alike[0].also().unwrap(), "also: B the mill", "as many, so not less");
}

/// Derived: every number of the answer about a fleet is one of its case: the difference of a year, at how many jobs it turns, how many
/// there are, the band, its chance, payback and the share of all jobs; of the portfolio's fleets with several prices and counts.
#[test]
fn answers_about_money_are_read_back() {
    use obliquity::purchase::{
        GivenPurchase, PortfolioDocument, PortfolioPlace, PurchaseFigures, PurchasePanel, PurchaseProgress,
        ShownRight,
    };
    use obliquity_planning::money::{BreakEven, BreakEvenMix, JobSettings, Lever};
    use obliquity_planning::purchase::FlightsOf;
    let mut read = files::example_portfolio().unwrap();
    read.portfolio.settings = JobSettings::EqualGsd;
    read.portfolio.jobs.drain(..2);
    read.scenarios.drain(..2);
    read.held.drain(..2);
    let flights =
        Engine::aside().flights(&FlightsOf::new(&read.portfolio), &read.scenarios, None, &NoWatch).unwrap();
    let mut answers = 0;
    for (count, price) in [(8.0, 1600.0), (2.0, 1600.0), (30.0, 1150.0), (5.0, 2200.0), (0.0, 1500.0)] {
        let mut read = read.clone();
        (read.portfolio.jobs[0].count, read.portfolio.jobs[0].money.price) = (count, price);
        let document = PortfolioDocument::new(read, PortfolioPlace::Example);
        let figures = PurchaseFigures::new(document.portfolio(), &flights, &NoWatch).unwrap();
        let figures = Arc::new(figures);
        let case = &figures.purchase.case;
        for fleet in 1..case.fleets.len() {
            let sheet = obliquity::purchase::PurchaseSheet::new(GivenPurchase {
                document: &document,
                figures: Some(&figures),
                progress: PurchaseProgress::Known,
                focus: Some(fleet),
                job: None,
                panel: PurchasePanel::Jobs,
                right: ShownRight::Diagrams,
                on_offer: Vec::new(),
                open_scenario: Err(String::new()),
                units: Units::Metric,
            });
            let known = sheet.known.unwrap();
            let own = &figures.fleets[fleet];
            let mut allowed =
                vec![own.gain.total().abs(), count, 8.0, 10.0, 100.0, f64::from(case.study_years)];
            if let BreakEven::At(turns) = case.break_even(fleet, 0) {
                allowed.extend(
                    turns.iter().flat_map(|turn| [f64::from(turn.count), f64::from(turn.count) - 1.0]),
                );
            }
            if let BreakEvenMix::At(turns) = case.break_even_mix(fleet) {
                allowed.extend(turns.iter().map(|(factor, _)| *factor));
            }
            allowed.extend([own.spread.p10.abs(), own.spread.p90.abs(), 100.0 * own.spread.pays]);
            for swing in case.swings(fleet, &figures.portfolio.unsure) {
                let scale =
                    if matches!(swing.lever, Lever::Interest | Lever::AgainShare(_)) { 100.0 } else { 1.0 };
                let ends = [Some(swing.p10), Some(swing.p90), swing.turns.below, swing.turns.above];
                allowed.extend(ends.into_iter().flatten().map(|value| scale * value));
                allowed.extend([swing.at_p10.abs(), swing.at_p90.abs()]);
            }
            let (simple, discounted) = case.payback_years(fleet);
            allowed.extend(simple.into_iter().chain(discounted));
            let foremost = figures.foremost();
            allowed.push(figures.fleets[foremost].gain.total().abs());
            assert_eq!(
                known.beside == "leaves most of all fleets",
                foremost == fleet && own.gain.total() >= 0.0
            );
            let shown = figures.deciding_job(fleet);
            let foremost_by_jobs = case.foremost_by_jobs(shown);
            let ends = foremost_by_jobs.iter().flat_map(|own| [f64::from(own.from), f64::from(own.to)]);
            let ends: Vec<f64> = ends.collect();
            let mut texts = vec![(&known.foremost, &ends)];
            texts.extend([&known.sentence, &known.told, &known.beside].map(|text| (text, &allowed)));
            for (text, allowed) in texts {
                for number in numbers(text) {
                    let is = |value: &f64| (value - number.value).abs() <= number.half + 1e-9;
                    assert!(allowed.iter().any(is), "{} in {text:?} is none of {allowed:?}", number.value);
                    answers += 1;
                }
            }
            let (gain, pays) = (own.gain.total(), known.verdict.unwrap());
            assert_eq!(pays, gain >= 0.0, "{}", known.sentence);
            let word = if gain.abs() < 0.5 {
                "Leaves the same"
            } else if gain > 0.0 {
                "Leaves "
            } else {
                "Costs "
            };
            assert!(known.sentence.starts_with(word), "{}: {gain}", known.sentence);
        }
    }
    assert!(answers > 100, "{answers}");
}

/// What is said of hours of processing and of corrections, read back: no interval is told narrower than it was fitted, no factor on
/// another side of 1, and the number of jobs is that of the log.
#[test]
fn what_is_said_of_fits_is_what_was_fitted() {
    use obliquity::logs::{FittedLog, LogFigures};
    use obliquity_exchange::{LogKind, calibrated};
    for kind in LogKind::ALL {
        let whole = files::example_log(kind).expect("is built in");
        for left_out in 0..8 {
            let mut sheet = whole.clone();
            sheet.rows.rotate_left(left_out);
            sheet.rows.truncate(whole.rows.len() - left_out);
            let figures = LogFigures::new(&Arc::new(sheet), None, &StageRates::default());
            match figures.fitted.as_ref().expect("enough jobs") {
                FittedLog::Rates(fitted) => {
                    let told = calibrated(&Rates::default(), fitted).standing().told();
                    let read = numbers(&told);
                    let (jobs, within) = fitted.sureness();
                    assert!((read[0].value - jobs as f64).abs() < 1e-9, "{told}");
                    let (off, percent) = (100.0 * (within - 1.0), read[1].value);
                    assert!(
                        read[1].unit == "%" && percent >= off - 1e-6 && percent < off + 1.2,
                        "{told}: {off}"
                    );
                    let sentence = numbers(&figures.sentence);
                    assert_eq!(
                        (sentence[0].value, sentence[1].value),
                        (percent, read[0].value),
                        "{}",
                        figures.sentence
                    );
                }
                FittedLog::Flights(fitted) => {
                    for (line, (_, own)) in
                        figures.lines.iter().zip(obliquity_exchange::correction_rows(fitted))
                    {
                        let (value, sure) = (numbers(&line.value), numbers(&line.sure));
                        assert!((value[0].value - own.value).abs() <= 0.0005 + 1e-9, "{line:?}");
                        for (read, end) in sure.iter().zip(own.interval) {
                            assert!((read.value - end).abs() <= 0.0005 + 1e-9, "{line:?}");
                        }
                        assert_eq!((sure.len(), line.jobs), (2, own.flights));
                    }
                    let read = numbers(&figures.sentence);
                    assert!((read[0].value - fitted.flights as f64).abs() < 1e-9, "{}", figures.sentence);
                }
            }
        }
    }
}
