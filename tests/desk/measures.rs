//! Board, table, JSON and CSV show the same figures: those of `MEASURES`, read from the same outcomes.

use crate::generate;
use crate::window::witness;
use egui_kittest::kittest::Queryable;
use obliquity::board::Board;
use obliquity::cli;
use obliquity::figures::{Figures, Report};
use obliquity::files;
use obliquity_exchange::{Units, comparison_csv, comparison_json};
use obliquity_planning::*;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Arc, LazyLock};

/// Keys of a strategy in the JSON that are no measures, each with why.
const NO_MEASURES: &[(&str, &str)] = &[
    ("name", "a name"),
    ("aircraft", "a name"),
    ("feasible", "a state: it decides whether there are figures at all"),
    ("reasons", "sentences"),
    ("wind_from_deg", "a condition that the figures are for"),
    ("time_budget_s", "the parts of the time on site, which add up to it"),
    ("take_offs", "places, and which sorties start there"),
    ("draws_out_of_reach", "how many draws the bands leave out"),
    ("spread_causes", "the parts of a band"),
    ("passes", "figures of single passes"),
    ("views_median", "a detail of coverage, for scripts"),
    ("load.fitted", "a state of the rates"),
    ("load.calibration", "what the rates rest on"),
    ("load.stage_hours", "the parts of the hours, which add up to them"),
    ("load.work", "what the hours are reckoned from, for scripts"),
    ("cautions", "sentences"),
    ("meets", "the verdict"),
    ("shortfalls", "sentences"),
];

/// Rows of the table that are no measures.
const OTHER_ROWS: [&str; 7] =
    ["", "Aircraft", "Height", "Nominal GSD", "Speed", "Speed bound by", "Meets the requirement"];

/// One scenario as every output shows it.
pub(crate) struct Shown {
    pub(crate) scenario: Arc<Scenario>,
    pub(crate) outcomes: Vec<Outcome>,
    board: Board,
}

impl Shown {
    fn new(scenario: Scenario) -> Shown {
        let (engine, scenario) = (witness(), Arc::new(scenario));
        let mut figures = Figures::default();
        figures.follow(&scenario, &|scenario, id| engine.quick(scenario, id));
        let mut outcomes = Vec::new();
        for strategy in &scenario.strategies {
            for depth in [Depth::Spread, Depth::Views] {
                let outcome = engine.evaluate(&scenario, strategy.id, depth, &NoWatch).unwrap();
                let report =
                    Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(outcome.clone()) };
                figures.take(report);
                outcomes.extend((depth == Depth::Views).then_some(outcome));
            }
        }
        let board = Board::new(&scenario, &figures);
        Shown { scenario, outcomes, board }
    }
}

static ALL: LazyLock<Vec<Shown>> = LazyLock::new(evaluated);

/// The demo, the examples and some drawn scenarios, evaluated once.
pub(crate) fn all() -> &'static [Shown] {
    &ALL
}

fn evaluated() -> Vec<Shown> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files = entries.filter(|path| path.extension().is_some_and(|extension| extension == "ron"));
    let mut scenarios: Vec<Scenario> = files.map(|path| files::read(&path).unwrap().scenario).collect();
    assert!(scenarios.len() >= 7);
    scenarios.push(files::demo().unwrap());
    scenarios.extend((0..6).map(generate::scenario));
    scenarios.extend((6..9).map(generate::priced));
    scenarios.into_iter().map(Shown::new).collect()
}

/// The ways to all leaves of a value, with the leaves.
fn leaves(value: &Value, way: &str, found: &mut BTreeMap<String, Value>) {
    if NO_MEASURES.iter().any(|(key, _)| *key == way) {
        return;
    }
    let Value::Object(inner) = value else {
        found.insert(way.to_owned(), value.clone());
        return;
    };
    for (key, value) in inner {
        let way = if way.is_empty() { key.clone() } else { format!("{way}.{key}") };
        leaves(value, &way, found);
    }
}

/// Everything that there is to know of one outcome by its measures, as deep as it was worked out: the key and the value, in the unit that the key names.
fn measured(outcome: &Outcome) -> BTreeMap<String, Option<f64>> {
    let stored = |unit: Unit, value: f64| if unit == Unit::GsdMetres { value * 100.0 } else { value };
    let mut found = BTreeMap::new();
    for measure in MEASURES.iter().filter(|measure| measure.depth <= outcome.depth) {
        let value = |unit, value: Option<f64>| value.map(|value| stored(unit, value));
        found.insert(measure.key.to_owned(), value(measure.unit, measure.read(outcome)));
        for beside in measure.beside {
            found.insert(beside.key.to_owned(), value(beside.unit, beside.read(outcome)));
        }
        if measure.band.is_some() {
            let band = measure.band_of(outcome);
            for (part, value) in
                [("p10", band.map(|b| b.p10)), ("p50", band.map(|b| b.p50)), ("p90", band.map(|b| b.p90))]
            {
                found.insert(format!("{}.{part}", measure.band_key()), value);
            }
        }
    }
    found
}

/// Derived: the JSON's figures are those of the measures and no others, each with the measure's value; a null, or no key,
/// where the measure has none.
#[test]
fn the_json_shows_the_measures_and_nothing_else() {
    let mut held = 0;
    for Shown { scenario, outcomes, .. } in all() {
        let json = comparison_json(scenario, outcomes);
        for (told, outcome) in json["strategies"].as_array().unwrap().iter().zip(outcomes) {
            let mut told_of = BTreeMap::new();
            leaves(told, "", &mut told_of);
            let known = measured(outcome);
            for (way, value) in &told_of {
                let at = format!("{}, {}: {way}", scenario.name, outcome.name);
                // A null may stand for all that is under it: of a class that there is none of, or of what cannot be flown.
                let under = |key: &&String| *key == way || key.starts_with(&format!("{way}."));
                let figures: Vec<Option<f64>> = known.keys().filter(under).map(|key| known[key]).collect();
                assert!(!figures.is_empty(), "{at} is no measure and stands on no list");
                assert!(figures.iter().all(|figure| *figure == value.as_f64()), "{at}: {value} {figures:?}");
                held += 1;
            }
            for (key, _) in known.iter().filter(|(_, value)| value.is_some()) {
                assert!(told_of.contains_key(key), "{}: {key} is not in the JSON", outcome.name);
            }
        }
    }
    assert!(held > 1000, "{held} figures");
}

/// A row of CSV in its fields.
fn fields(line: &str) -> Vec<String> {
    let (mut fields, mut quoted) = (vec![String::new()], false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            letter => fields.last_mut().unwrap().push(letter),
        }
    }
    fields
}

/// Derived: the CSV has one column for each figure, and every field reads as the measure's value; what is not known is empty.
#[test]
fn the_csv_shows_the_measures_and_nothing_else() {
    for Shown { outcomes, .. } in all() {
        let text = comparison_csv(outcomes);
        let mut lines = text.lines();
        let heads = fields(lines.next().unwrap());
        for (line, outcome) in lines.zip(outcomes) {
            let fields = fields(line);
            let names = [outcome.name.clone(), outcome.aircraft.clone(), outcome.feasible().to_string()];
            assert_eq!(fields[..3], names);
            let told: BTreeMap<String, Option<f64>> =
                heads[3..].iter().cloned().zip(fields[3..].iter().map(|field| field.parse().ok())).collect();
            // Figures of the adjustment have columns where that was worked out.
            let of_network = |key: &str| key.starts_with("calibration.") || key.starts_with("precision_mm.");
            let mut known = measured(outcome);
            known.retain(|key, value| value.is_some() || !of_network(key));
            assert_eq!(told, known, "{}", outcome.name);
            assert_eq!(fields.len(), heads.len());
        }
        assert_eq!(text.lines().count(), 1 + outcomes.len());
    }
}

/// Derived: the board has a row for every measure that is known of a strategy, and for no other; energy stands in one of its
/// two units, since they say the same.
#[test]
fn the_board_shows_the_measures_and_nothing_else() {
    for Shown { scenario, outcomes, board } in all() {
        let rows = || board.bands.iter().flat_map(|band| &band.rows);
        for (measure, row) in rows().map(|row| (measure(row.measure), row)) {
            assert!(row.label.starts_with(measure.label), "{}: {}", scenario.name, row.label);
            for (outcome, cell) in outcomes.iter().zip(&row.cells) {
                let known = measure.read(outcome).is_some();
                let is_empty = ["–", "none seen", "…", "enter the job's price"].contains(&cell.text.as_str());
                assert_eq!(known, !is_empty, "{}: {} {cell:?}", scenario.name, measure.name);
            }
        }
        let shown: Vec<MeasureId> = rows().map(|row| row.measure).collect();
        assert_eq!(shown.len(), shown.iter().collect::<BTreeSet<_>>().len(), "none twice");
        for measure in MEASURES.iter().filter(|measure| outcomes.iter().any(|o| measure.read(o).is_some())) {
            let twin = MEASURES.iter().find_map(|other| match other.known_of {
                KnownOf::Capacity { instead } if instead == measure.id => Some(other.id),
                KnownOf::Capacity { instead } if other.id == measure.id => Some(instead),
                _ => None,
            });
            let here = shown.contains(&measure.id);
            let told = twin.is_some_and(|twin| shown.contains(&twin) != here) || (twin.is_none() && here);
            assert!(told, "{}: {} {shown:?}", scenario.name, measure.name);
        }
    }
}

/// Derived: the table has a row for every measure that is known of a strategy, and below it what stands beside it and how sure
/// it is; and no row but those and the settings.
#[test]
fn the_table_shows_the_measures_and_nothing_else() {
    for Shown { scenario, outcomes, .. } in all() {
        let text = cli::table(scenario, outcomes, Units::Metric);
        let mut lines = text.lines().skip(2).take_while(|line| !line.is_empty()).peekable();
        let mut shown = Vec::new();
        while let Some(line) = lines.next() {
            let is_other = OTHER_ROWS.iter().any(|name| {
                line.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with("  "))
            });
            if is_other {
                continue;
            }
            let named = MEASURES.iter().filter(|measure| line.starts_with(measure.name));
            let measure = named.max_by_key(|measure| measure.name.len());
            let measure = measure.unwrap_or_else(|| panic!("{}: {line:?} is no measure", scenario.name));
            shown.push(measure.id);
            let known = |read: &dyn Fn(&Outcome) -> Option<f64>| outcomes.iter().any(|o| read(o).is_some());
            let is_drawn = known(&|o| measure.band_of(o).map(|band| band.p90));
            let mut under = Vec::new();
            while let Some(next) =
                lines.peek().filter(|next| next.starts_with("  ") && !next.trim().is_empty())
            {
                under.push(next.trim_start());
                lines.next();
            }
            assert_eq!(is_drawn, under.iter().any(|row| row.starts_with("10–90 %")), "{line}");
            for beside in measure.beside {
                let some = outcomes.iter().any(|o| beside.read(o) > Some(0.0));
                let name = beside.name.split(' ').next().unwrap();
                assert!(
                    !some || under.iter().any(|row| row.contains(name)),
                    "{line}: {} {under:?}",
                    beside.name
                );
            }
        }
        let known = |measure: &&Measure| outcomes.iter().any(|outcome| measure.read(outcome).is_some());
        let known: Vec<MeasureId> = MEASURES.iter().filter(known).map(|measure| measure.id).collect();
        assert_eq!(shown, known, "{}", scenario.name);
    }
}

/// Derived: where a strategy has a second take-off point the moves are a figure, as many times as long as each of them, on the
/// board, in the table, the JSON and the CSV; of one that has the site's alone nothing is said of moves.
#[test]
fn moves_between_take_offs_are_a_figure() {
    let mut scenario = crate::made_up::scenario();
    let crossed = scenario.strategies.iter_mut().find(|own| own.id == crate::made_up::CROSSED).unwrap();
    crossed.take_offs_m = vec![glam::DVec2::new(300.0, 120.0)];
    let Shown { scenario, outcomes, .. } = Shown::new(scenario);
    let json = comparison_json(&scenario, &outcomes);
    for (told, outcome) in json["strategies"].as_array().unwrap().iter().zip(&outcomes) {
        let time = &outcome.timing.as_ref().unwrap().time;
        if outcome.strategy == crate::made_up::CROSSED {
            let expected_s = f64::from(time.moves) * 60.0 * scenario.conditions.move_min;
            assert_eq!(told["moves_s"].as_f64(), Some(expected_s));
            assert_eq!(told["moves"].as_u64(), Some(u64::from(time.moves)));
        } else {
            assert!(told.get("moves_s").is_none() && told.get("moves").is_none(), "{}", outcome.name);
        }
    }
    let table = cli::table(&scenario, &outcomes, Units::Metric);
    assert!(table.contains("Moves between take-offs"), "{table}");
    assert!(comparison_csv(&outcomes).lines().next().unwrap().contains(",moves_s,moves,"));

    let document = obliquity::document::Document::new((*scenario).clone(), None);
    let mut window = crate::window::window(document);
    window.state_mut().open_on_board("Time");
    crate::window::settle(&mut window);
    assert!(window.query_all_by_label_contains("Time, moves of Crossed strips: ").next().is_some());
}
