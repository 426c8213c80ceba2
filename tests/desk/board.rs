//! The board's view-model: plain values, no screen.

use crate::made_up::{self, CROSSED, FIVE, NADIR};
use crate::window::witness;
use obliquity::board::{Bar, Board, Cell, CellLook, CellOpens, Fails, GivenBoard, Row, Standing, Verdict};
use obliquity::cautions;
use obliquity::document::{Document, Edit};
use obliquity::figures::Report;
use obliquity::figures::{Figures, Freshness};
use obliquity::settings::{Role, Setting};
use obliquity_planning::{
    Above, CalibratedBy, ControlPoint, Depth, Distance, Facade, KnobId, MeasureId, NoWatch, Outcome, Pattern,
    PointRole, RateCalibration, Scenario, Severity, Units, measure,
};
use std::sync::Arc;

/// Figures as the window has them once everything is worked out.
pub(crate) fn known(scenario: &Arc<Scenario>) -> Figures {
    let mut figures = followed(scenario);
    for id in [NADIR, CROSSED, FIVE] {
        let outcome = Box::new(made_up::outcome(scenario, id, Depth::Views));
        figures.take(Report::Done { scenario: Arc::clone(scenario), outcome });
    }
    figures
}

fn followed(scenario: &Arc<Scenario>) -> Figures {
    let mut figures = Figures::default();
    figures.follow(scenario, &|scenario, id| Ok(made_up::outcome(scenario, id, Depth::Quick)));
    figures
}

fn row<'a>(board: &'a Board, band: &str, label: &str) -> &'a Row {
    let band = board.bands.iter().find(|b| b.title == band).expect("a band of this title");
    band.rows.iter().find(|row| row.label.starts_with(label)).expect("a row of this label")
}

#[test]
fn seven_bands_stand_in_their_order() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &known(&scenario));
    let titles: Vec<_> = board.bands.iter().map(|band| band.title).collect();
    assert_eq!(titles, ["Coverage", "GSD", "Accuracy", "Time", "Images", "Processing", "Money"]);
    for (title, row) in board.bands.iter().flat_map(|band| band.rows.iter().map(|row| (band.title, row))) {
        assert_eq!(row.cells.len(), 3, "{}", row.label);
        if title == "Accuracy" {
            // It comes after coverage.
            assert!(row.cells.iter().all(|cell| cell.text == "…" && cell.bar == Bar::None), "{}", row.label);
            continue;
        }
        if title == "Money" {
            // It has no price: nothing is told but what to enter, and a click leads there.
            let leads = |cell: &Cell| {
                cell.text == "enter the job's price"
                    && cell.opens == CellOpens::Price
                    && cell.bar == Bar::None
            };
            assert!(row.label == "contribution" && row.cells.iter().all(leads), "{row:?}");
            continue;
        }
        assert!(row.cells.iter().all(|cell| cell.bar != Bar::None), "{} has data", row.label);
    }
}

// Derived: the wall's requirement is 80 % on a scale that ends at 100 %; the made-up nadir block covers 1 %.
#[test]
fn coverage_is_held_against_its_line() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &known(&scenario));
    let wall = row(&board, "Coverage", "wall");
    assert_eq!(wall.label, "wall ≥ 80 %");
    let limit = wall.cells[0].limit.unwrap();
    assert!((limit.at - 0.8).abs() < 1e-12, "the same arithmetic, so only the last bits may differ");
    assert_eq!(limit.fails, Fails::Left);
    assert_eq!((wall.cells[0].text.as_str(), wall.cells[0].standing), ("1 %", Standing::Missed));
    assert_eq!((wall.cells[1].text.as_str(), wall.cells[1].standing), ("84 %", Standing::Met));
    assert_eq!(wall.cells[0].spoken, "Coverage, wall of Nadir block: 1 %, misses");
}

// Derived: hours are 0.1 + 0.2 + 0.3 + 0.6 + 0.5 + 0.2 + 0.1 = 2 and not fitted; five-direction skips 12 exposures.
#[test]
fn load_and_images_say_what_they_are() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &known(&scenario));
    let hours = row(&board, "Processing", "hours");
    assert_eq!((hours.label.as_str(), hours.cells[0].text.as_str()), ("hours, not calibrated", "about 2 h"));
    // two figures once they are fitted, and one again as soon as a rate is changed
    let mut scenario = made_up::scenario();
    let stages = scenario.rates.stages;
    let by = CalibratedBy::TotalHours;
    scenario.rates.calibration = Some(RateCalibration { jobs: 14, within_factor: 1.18, by, stages });
    let label = |scenario: &Scenario| {
        let scenario = Arc::new(scenario.clone());
        row(&Board::new(&scenario, &known(&scenario)), "Processing", "hours").label.clone()
    };
    assert_eq!(label(&scenario), "hours, calibrated ±18 %");
    let told = Arc::new(scenario.clone());
    let hint = row(&Board::new(&told, &known(&told)), "Processing", "hours").hint.clone();
    assert!(hint.starts_with("Processing, calibrated on 14 jobs, ±18 %. "), "{hint}");
    scenario.rates.stages.dense_h_per_gigapixel *= 2.0;
    assert_eq!(label(&scenario), "hours, changed by hand");
    let images = row(&board, "Images", "images");
    assert_eq!(images.cells[2].note.as_deref(), Some("12 skipped"));
    let gsd = row(&board, "GSD", "wall");
    assert_eq!(gsd.cells[0].doubt.as_deref(), Some("on the 7 % seen"));
    assert!(gsd.cells[0].spoken.contains("on the 7 % seen"), "{}", gsd.cells[0].spoken);
    assert_eq!((gsd.cells[1].text.as_str(), gsd.cells[1].doubt.as_ref()), ("3.17 cm", None), "0.99 × 3.2 cm");
    let beside = "5th percentile 2.56, median 2.88; 2 % unseen";
    assert_eq!(gsd.cells[1].note.as_deref(), Some(beside), "0.8 and 0.9 times the made-up 3.2 cm");
}

#[test]
fn heads_tell_the_worst_shortfall_first() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &known(&scenario));
    let nadir = &board.columns[0];
    assert_eq!((nadir.verdict, nadir.verdict_text.as_str()), (Verdict::Misses, "misses 2 requirements"));
    assert!(nadir.worst.as_ref().unwrap().starts_with("walls: 1 %"), "99 % lacking is worse than 26 %");
    assert_eq!(board.columns[1].verdict, Verdict::Meets);
    assert_eq!(board.sentence.freshness, Freshness::Fresh);
}

#[test]
fn before_coverage_is_known_the_rest_is_shown() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &followed(&scenario));
    assert_eq!(board.sentence.freshness, Freshness::Pending);
    assert_eq!(board.columns[0].verdict, Verdict::Unknown);
    let wall = &row(&board, "Coverage", "wall").cells[0];
    assert_eq!((wall.text.as_str(), wall.freshness), ("…", Freshness::Pending));
    let images = &row(&board, "Images", "images").cells[0];
    assert_eq!(images.freshness, Freshness::Fresh);
    assert_ne!(images.bar, Bar::None);
}

// Derived: only the edited strategy's coverage becomes stale; its count follows at once: 80000/(100² × 0.2 × 0.3) = 133.
#[test]
fn an_edit_makes_only_its_own_strategy_stale() {
    let mut document = Document::new(made_up::scenario(), None);
    let mut figures = known(document.scenario());
    document
        .edit(&Edit::Set { strategy: NADIR, setting: Setting::everywhere(KnobId::HEIGHT), value: 100.0 })
        .unwrap();
    let scenario = document.scenario();
    figures.follow(scenario, &|scenario, id| Ok(made_up::outcome(scenario, id, Depth::Quick)));
    let wanted = figures.wanted(scenario).into_iter();
    let coverage: Vec<_> = wanted.filter(|(_, depth)| *depth == Depth::Views).collect();
    assert_eq!(coverage, [(NADIR, Depth::Views)]);
    let board = Board::new(scenario, &figures);
    let wall = row(&board, "Coverage", "wall");
    assert_eq!(wall.cells[0].freshness, Freshness::Stale);
    assert_eq!(wall.cells[1].freshness, Freshness::Fresh);
    assert!(wall.cells[0].spoken.ends_with("of earlier settings"));
    assert_eq!(row(&board, "Images", "images").cells[0].text, "133");
    assert_eq!(board.sentence.freshness, Freshness::Stale);
}

/// Derived: coverage is shown before the block is adjusted, and then all that is left to do is the blocks; the figure is held
/// against what is asked, by which the verdict goes; after an edit it is of earlier settings. Images in two parts are marked in words.
#[test]
fn accuracy_comes_after_coverage_and_is_held_against_its_line() {
    let mut scenario = made_up::scenario();
    scenario.strategies.truncate(1);
    let engine = witness();
    let adjusted = engine.evaluate(&scenario, NADIR, Depth::Network, &NoWatch).unwrap();
    let vertical_mm = measure(MeasureId::AccuracyVertical).read(&adjusted).unwrap();
    for (factor, standing) in [(0.5, Standing::Missed), (2.0, Standing::Met)] {
        scenario.requirement.accuracy.vertical_m = Some(factor * vertical_mm / 1000.0);
        let document = Document::new(scenario.clone(), None);
        let scenario = Arc::clone(document.scenario());
        let mut figures = Figures::default();
        figures.follow(&scenario, &|scenario, id| engine.quick(scenario, id));
        for depth in [Depth::Spread, Depth::Views] {
            assert!(figures.wanted(&scenario).contains(&(NADIR, depth)), "{depth:?}");
            let outcome = Box::new(engine.evaluate(&scenario, NADIR, depth, &NoWatch).unwrap());
            figures.take(Report::Done { scenario: Arc::clone(&scenario), outcome });
        }
        assert_eq!(figures.wanted(&scenario), [(NADIR, Depth::Preview), (NADIR, Depth::Network)]);
        let board = Board::new(&scenario, &figures);
        assert_eq!(row(&board, "Coverage", "ground").cells[0].freshness, Freshness::Fresh);
        let cell = &row(&board, "Accuracy", "vertical RMSE").cells[0];
        assert_eq!((cell.text.as_str(), cell.freshness), ("…", Freshness::Pending));
        assert!(cell.limit.is_some() && board.columns[0].verdict != Verdict::Meets);
        assert_eq!(board.sentence.freshness, Freshness::Stale, "its verdict is not whole");

        let outcome = engine.evaluate(&scenario, NADIR, Depth::Network, &NoWatch).unwrap();
        let done = |outcome| Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(outcome) };
        figures.take(done(outcome.clone()));
        assert_eq!(figures.wanted(&scenario), []);
        let board = Board::new(&scenario, &figures);
        let cell = &row(&board, "Accuracy", "vertical RMSE").cells[0];
        let required = measure(MeasureId::AccuracyVertical).required_of(&scenario, NADIR);
        assert_eq!(cell.text, Units::Metric.error_form().against(vertical_mm, required));
        assert_eq!((cell.standing, cell.freshness, &cell.doubt), (standing, Freshness::Fresh, &None));
        assert_eq!(board.sentence.freshness, Freshness::Fresh);
        let misses = board.columns[0].shortfalls.iter().any(|miss| miss.contains("accura"));
        assert_eq!(misses, standing == Standing::Missed, "{:?}", board.columns[0].shortfalls);

        let mut network = (**outcome.network.as_ref().unwrap()).clone();
        network.parts.push(network.parts[0].clone());
        figures.take(done(Outcome { network: Some(Arc::new(network)), ..outcome }));
        let board = Board::new(&scenario, &figures);
        let cell = &row(&board, "Accuracy", "vertical RMSE").cells[0];
        assert_eq!(cell.doubt.as_deref(), Some("the block is in 2 parts that no tie holds together"));

        let mut document = document;
        let setting = Setting::everywhere(KnobId::HEIGHT);
        document.edit(&Edit::Set { strategy: NADIR, setting, value: 70.0 }).unwrap();
        let edited = document.scenario();
        figures.follow(edited, &|scenario, id| engine.quick(scenario, id));
        let board = Board::new(edited, &figures);
        let cell = &row(&board, "Accuracy", "vertical RMSE").cells[0];
        assert_eq!(cell.freshness, Freshness::Stale);
        assert!(cell.spoken.ends_with("of earlier settings"), "{}", cell.spoken);
    }
}

/// Derived: a first look is shown and marked until the whole has come, which it never takes the place of; one step back the whole of
/// before holds again. What the whole cautioned of stays, as of earlier settings.
#[test]
fn a_first_look_stands_until_the_whole_has_come() {
    let mut document = Document::new(made_up::scenario(), None);
    let engine = witness();
    let before = Arc::clone(document.scenario());
    let whole = engine.evaluate(&before, NADIR, Depth::Network, &NoWatch).unwrap();
    let first_look = engine.evaluate(&before, NADIR, Depth::Preview, &NoWatch).unwrap();
    let done = |scenario: &Arc<Scenario>, outcome: &Outcome| Report::Done {
        scenario: Arc::clone(scenario),
        outcome: Box::new(outcome.clone()),
    };
    let cell = |scenario: &Arc<Scenario>, figures: &Figures| {
        let board = Board::new(scenario, figures);
        let cell = row(&board, "Accuracy", "vertical RMSE").cells[0].clone();
        (cell.look, cell.freshness, cell.spoken)
    };
    let mut figures = followed(&before);
    figures.take(done(&before, &first_look));
    let (look, freshness, spoken) = cell(&before, &figures);
    assert_eq!((look, freshness), (CellLook::First, Freshness::Fresh));
    assert!(spoken.contains("a preview from fewer tie points"), "{spoken}");
    assert!(figures.has_block(&before, NADIR, Depth::Preview));
    assert!(!figures.has_block(&before, NADIR, Depth::Network));
    figures.take(done(&before, &whole));
    figures.take(done(&before, &first_look));
    assert_eq!(cell(&before, &figures).0, CellLook::Whole);
    let cautioned = |scenario: &Scenario, figures: &Figures| -> Vec<Freshness> {
        let all = figures.known(scenario, NADIR).unwrap().cautions();
        all.iter().filter(|(own, _)| own.depth() == Depth::Network).map(|(_, freshness)| *freshness).collect()
    };
    let had = cautioned(&before, &figures).len();
    assert!(had > 0);

    let placed = |east_m: f64| {
        let mut moved = (**document.scenario()).clone();
        let at_m = glam::DVec2::new(east_m, 20.0);
        let point = ControlPoint { name: "A".to_owned(), at_m, role: PointRole::Control };
        Arc::make_mut(&mut moved.site).control_points = vec![point];
        Arc::new(moved)
    };
    let (one, other) = (placed(10.0), placed(30.0));
    assert!(figures.differs_by_control(&one, NADIR) && !figures.differs_by_control(&before, NADIR));
    let glanced = engine.evaluate(&one, NADIR, Depth::Preview, &NoWatch).unwrap();
    figures.take(done(&one, &glanced));
    let shown = |scenario: &Scenario| {
        let known = figures.known(scenario, NADIR).unwrap();
        (known.is_preview(), known.block_freshness, known.whole_freshness)
    };
    assert_eq!(shown(&one), (true, Freshness::Fresh, Freshness::Stale));
    assert_eq!(shown(&other), (true, Freshness::Stale, Freshness::Stale), "the pointer has moved on");
    assert_eq!(shown(&before), (false, Freshness::Fresh, Freshness::Fresh));
    assert_eq!(cautioned(&one, &figures), vec![Freshness::Stale; had]);
    let setting = Setting::everywhere(KnobId::HEIGHT);
    document.edit(&Edit::Set { strategy: NADIR, setting, value: 70.0 }).unwrap();
    assert!(!figures.differs_by_control(document.scenario(), NADIR), "its route is another one");
}

/// Derived: a block that nobody has asked for says how many images it has and offers to be worked out; where there is a first look it
/// stays, and a click asks for the whole.
#[test]
fn a_block_nobody_asked_for_offers_to_be_worked_out() {
    let scenario = Arc::new(made_up::scenario());
    let mut figures = followed(&scenario);
    let made = |figures: &Figures| {
        Board::of(&GivenBoard {
            scenario: &scenario,
            figures,
            holding: None,
            offers: &[],
            library: &[],
            units: Units::Metric,
            before: None,
            unasked: &[NADIR],
        })
    };
    let board = made(&figures);
    let images = &row(&board, "Images", "images").cells[0].text;
    let cell = |board: &Board, label: &str, place: usize| row(board, "Accuracy", label).cells[place].clone();
    let (first, second) = (cell(&board, "horizontal RMSE", 0), cell(&board, "vertical RMSE", 0));
    assert_eq!(first.text, format!("not worked out: {images} images"));
    assert!(first.spoken.ends_with(&first.text), "{}", first.spoken);
    assert_eq!((second.text.as_str(), second.opens), ("click to work it out", CellOpens::Block));
    assert_eq!((cell(&board, "vertical RMSE", 1).text.as_str(), first.opens), ("…", CellOpens::Block));
    let first_look = witness().evaluate(&scenario, NADIR, Depth::Preview, &NoWatch).unwrap();
    figures.take(Report::Done { scenario: Arc::clone(&scenario), outcome: Box::new(first_look) });
    let looked = cell(&made(&figures), "vertical RMSE", 0);
    assert_eq!((looked.look, looked.opens), (CellLook::First, CellOpens::Block));
    assert!(
        looked.text.ends_with(" mm") && looked.spoken.contains("when it is asked for"),
        "{}",
        looked.spoken
    );
}

#[test]
fn a_failure_is_told_in_the_head() {
    let scenario = Arc::new(made_up::scenario());
    let mut figures = known(&scenario);
    let message = "pass 1 is too low".to_owned();
    figures.take(Report::Failed { scenario: Arc::clone(&scenario), strategy: CROSSED, message });
    let board = Board::new(&scenario, &figures);
    assert_eq!(board.columns[1].verdict, Verdict::Failed);
    assert_eq!(board.columns[1].worst.as_deref(), Some("pass 1 is too low"));
    assert_eq!(row(&board, "Coverage", "wall").cells[1].text, "–");
}

#[test]
fn sliders_follow_the_roles_of_the_passes() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &followed(&scenario));
    let settings =
        |column: usize| board.columns[column].sliders.iter().map(|s| s.setting).collect::<Vec<_>>();
    let height = Setting::everywhere(KnobId::HEIGHT);
    let tilt = Setting::everywhere(KnobId::TILT);
    let overlaps = |role| [KnobId::FORWARD_OVERLAP, KnobId::SIDELAP].map(|knob| Setting { knob, role });
    assert_eq!(settings(0), [vec![height], overlaps(Role::All).to_vec()].concat());
    assert_eq!(settings(1), [vec![height, tilt], overlaps(Role::All).to_vec()].concat());
    let split = [overlaps(Role::Nadir), overlaps(Role::Oblique)].concat();
    assert_eq!(settings(2), [vec![height, tilt], split].concat());
    assert_eq!(
        board.columns[2].sliders[4].spoken,
        "Forward overlap of the oblique passes of Five-direction oblique"
    );
    assert!(board.columns[1].sliders[1].hint.contains("Gimbal pitch −60°"), "30 − 90 = −60");
}

#[test]
fn every_slider_has_a_name_of_its_own() {
    let mut scenario = made_up::scenario();
    scenario.strategies[1].name = "Nadir block".to_owned();
    let scenario = Arc::new(scenario);
    let board = Board::new(&scenario, &followed(&scenario));
    let mut names: Vec<_> =
        board.columns.iter().flat_map(|c| &c.sliders).map(|s| s.spoken.as_str()).collect();
    let all = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), all);
    assert_eq!(board.columns[1].name, "Nadir block (2)");
}

// Derived: by hand from the made-up settings; 3 µm × 80 m / 12 mm is 2 cm, and the airframe flies 10 m/s.
#[test]
fn settings_and_what_follows_from_them_stand_in_a_line_each() {
    let mut scenario = made_up::scenario();
    scenario.strategies[2].passes[0].distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    scenario.strategies[2].passes[1].distance = Distance::Gsd { cm: 2.5, above: Above::MeanGround };
    let scenario = Arc::new(scenario);
    let board = Board::new(&scenario, &followed(&scenario));
    let briefs: Vec<&str> = board.columns.iter().map(|column| column.brief.as_str()).collect();
    assert_eq!(briefs, ["80 m · 80/70 %", "80 m · 80/70 % · 30°", "2.0–2.5 cm · 80/70, 70/55 % · 45°"]);
    let follows: Vec<&str> = board.columns.iter().map(|column| column.follows_brief.as_str()).collect();
    assert_eq!(follows, ["2 cm · 10 m/s", "2 cm · 10 m/s", "80 m · 10 m/s"]);
}

// Derived: the sentence is its two parts, whatever the strategies deliver.
#[test]
fn the_sentence_names_the_winner_first() {
    let scenario = Arc::new(made_up::scenario());
    let sentence = Board::new(&scenario, &known(&scenario)).sentence;
    assert!(sentence.lead.starts_with("Five-direction oblique is the quickest"), "{}", sentence.lead);
    assert!(sentence.rest.starts_with("Nadir block misses"), "{}", sentence.rest);
    assert_eq!(sentence.text, format!("{}; {}.", sentence.lead, sentence.rest));
}

#[test]
fn a_caution_stands_once_the_gravest_first() {
    let scenario = Arc::new(made_up::scenario());
    let board = Board::new(&scenario, &followed(&scenario));
    assert_eq!(board.cautions.len(), 2);
    assert_eq!(board.cautions[0].severity, Severity::Check);
    assert_eq!(board.cautions[0].strategies, ["Nadir block"]);
    assert!(board.cautions[1].strategies.is_empty(), "it is about all of them");
    assert!(board.cautions.iter().all(|row| row.further.is_empty() && row.place_of.is_none()));
}

/// Derived: one kind of caution stands once, the others' words beside it, whatever their figures.
#[test]
fn cautions_of_one_kind_stand_together() {
    let mut scenario = made_up::scenario();
    scenario.conditions.pilot_distance_m = 50.0;
    scenario.strategies[0].passes[0].margin_m = Some(90.0);
    let engine = witness();
    let outcomes: Vec<_> =
        scenario.strategies.iter().map(|s| engine.quick(&scenario, s.id).unwrap()).collect();
    let rows = cautions::grouped(
        outcomes.iter().map(cautions::of_outcome),
        outcomes.len(),
        obliquity::units::Units::Metric,
    );
    let far: Vec<_> = rows.iter().filter(|row| row.id == "pilot-distance").collect();
    assert!(far.len() > 1, "the distances differ: {far:?}");
    let kinds = cautions::by_kind(rows.clone());
    let one: Vec<_> = kinds.iter().filter(|row| row.id == "pilot-distance").collect();
    assert_eq!(one.len(), 1);
    let told = one[0].strategies.len() + one[0].further.len();
    assert_eq!(told, outcomes.len(), "every strategy is named: {one:?}");
    let farthest = outcomes
        .iter()
        .max_by(|a, b| a.flight().unwrap().farthest_m.total_cmp(&b.flight().unwrap().farthest_m));
    assert_eq!(one[0].place_of, farthest.map(|outcome| outcome.strategy), "the worst leads");
    let also = one[0].also().unwrap();
    assert!(also.starts_with("also, less: "), "{also}");
    for other in &one[0].further {
        let outcome = outcomes.iter().find(|outcome| outcome.name == other.strategy).unwrap();
        let metres = format!("{} {:.0} m", other.strategy, outcome.flight().unwrap().farthest_m);
        assert!(also.contains(&metres), "each with its own figure: {also}");
    }
}

/// Passes that no slider tilts, or that are not over the site, are called by their pattern.
#[test]
fn passes_of_a_role_are_called_by_their_pattern() {
    let mut scenario = made_up::scenario();
    let five = scenario.strategies.len() - 1;
    let walls = Pattern::Facade(Facade {
        structure: scenario.site.structures[0].id,
        others: Vec::new(),
        walls: None,
        clearance_m: 5.0,
        lowest_m: 3.0,
    });
    for pass in scenario.strategies[five].passes.iter_mut().skip(1) {
        pass.pattern = walls.clone();
        pass.distance = Distance::StandOff { m: 20.0 };
    }
    let scenario = Arc::new(scenario);
    let board = Board::new(&scenario, &followed(&scenario));
    let last = &board.columns[five];
    let spoken: Vec<&str> = last.sliders.iter().map(|slider| slider.spoken.as_str()).collect();
    let of = format!("Forward overlap of the facade passes of {}", last.name);
    assert!(spoken.contains(&of.as_str()), "{spoken:?}");
    assert!(spoken.iter().all(|spoken| !spoken.contains("oblique passes")), "{spoken:?}");
}

/// Derived: where one strategy has other battery sets on hand than the rest, each has its own line, and the row says so.
#[test]
fn a_strategys_own_sets_are_its_own_line() {
    let mut scenario = made_up::scenario();
    scenario.strategies[0].on_site.battery_sets = Some(2);
    let sets = f64::from(scenario.conditions.battery_sets);
    let scenario = Arc::new(scenario);
    let board = Board::new(&scenario, &known(&scenario));
    let row = row(&board, "Time", "batteries");
    assert_eq!(row.label, "batteries ≤ its own");
    let at = |cell: usize| row.cells[cell].limit.expect("a line").at;
    assert!((at(0) / at(1) - 2.0 / sets).abs() < 1e-12, "{} {}", at(0), at(1));
    assert_eq!(at(1), at(2));
}

/// Derived: while a newer route is shown, what is found along the route stays from the last that is known, in its place and
/// marked as of earlier settings; before any of it is known the board says so, and once it has come nothing is marked.
#[test]
fn cautions_along_the_route_stay_until_they_are_looked_at_anew() {
    let engine = witness();
    let quick = |scenario: &Scenario, id| engine.quick(scenario, id);
    let spread = |figures: &mut Figures, scenario: &Arc<Scenario>| {
        for strategy in &scenario.strategies {
            let outcome = engine.evaluate(scenario, strategy.id, Depth::Spread, &obliquity_planning::NoWatch);
            let outcome = Box::new(outcome.unwrap());
            figures.take(Report::Done { scenario: Arc::clone(scenario), outcome });
        }
    };
    let ids = |board: &Board| board.cautions.iter().map(|row| row.id).collect::<Vec<_>>();
    let all_fresh = |board: &Board| board.cautions.iter().all(|row| row.freshness == Freshness::Fresh);
    let (scenario, mut figures) = (Arc::new(made_up::scenario()), Figures::default());
    figures.follow(&scenario, &quick);
    let first = Board::new(&scenario, &figures);
    assert!(first.cautions_freshness == Freshness::Pending && all_fresh(&first));
    spread(&mut figures, &scenario);
    let known = Board::new(&scenario, &figures);
    assert!(known.cautions_freshness == Freshness::Fresh && all_fresh(&known));
    assert!(ids(&known).contains(&"unknown") && !ids(&first).contains(&"unknown"));
    let mut edited = (*scenario).clone();
    for strategy in &mut edited.strategies {
        strategy.passes[0].forward_overlap += 0.001;
    }
    let edited = Arc::new(edited);
    figures.follow(&edited, &quick);
    let moved = Board::new(&edited, &figures);
    assert_eq!(ids(&moved), ids(&known), "none goes and none moves");
    assert_eq!(moved.cautions_freshness, Freshness::Stale);
    for row in &moved.cautions {
        let at_once = ids(&first).contains(&row.id);
        assert_eq!(row.freshness, if at_once { Freshness::Fresh } else { Freshness::Stale }, "{row:?}");
    }
    spread(&mut figures, &edited);
    let settled = Board::new(&edited, &figures);
    assert!(settled.cautions_freshness == Freshness::Fresh && all_fresh(&settled));
}
