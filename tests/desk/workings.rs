//! Workings hold: whoever recomputes a formula from the values as they are shown finds the result that is shown.

use crate::made_up::{self, CROSSED, NADIR};
use crate::measures::{Shown, all};
use crate::recomputing::{Values, Worked, number, worked, worked_with};
use crate::window::{settle, window, witness, yard};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use obliquity::app::{App, Screen};
use obliquity::board::{CellOpens, Place, Row};
use obliquity::document::{Document, Edit};
use obliquity::strategies::Change;
use obliquity_exchange::{StepRow, working_steps};
use obliquity_planning::*;
use std::collections::BTreeSet;
use std::time::Duration;

/// What is wrong with a step as it is shown, worked out from its text alone.
fn wrong(step: &StepRow) -> Option<String> {
    let told = worked(step).into_iter().find(|worked| !worked.agrees());
    told.map(|worked| format!("{} instead of {}", worked.value, worked.shown))
}

/// Equal but for the rounding of sums of some hundred terms.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// The figure's unit in one of the working's.
fn stored(unit: &str) -> f64 {
    if unit == "%" || unit == "cm" { 0.01 } else { 1.0 }
}

/// Derived: every figure of the table and so of the board has a working wherever it is known; every step comes to what it shows
/// when it is worked out from its text alone, to the last place of four figures; and the last step gives the figure.
#[test]
fn every_figure_is_recomputed_from_what_is_shown() {
    let (mut steps, mut formulas, mut measures) = (0, BTreeSet::new(), BTreeSet::new());
    for Shown { scenario, outcomes, .. } in all() {
        for (outcome, measure) in outcomes.iter().flat_map(|o| MEASURES.iter().map(move |m| (o, m))) {
            let at = format!("{}, {}, {}", scenario.name, outcome.name, measure.name);
            let (figure, working) = (measure.read(outcome), measure.working(outcome));
            assert_eq!(working.is_some(), figure.is_some(), "{at}");
            let (Some(figure), Some(working)) = (figure, working) else { continue };
            let result = working.result().expect("it has a step");
            // Times are told in whole seconds, so that their parts add up.
            let off = (result.value * stored(result.unit) - figure).abs();
            assert!(off <= 1e-9 * figure || (result.unit == "s" && off <= 0.5), "{at}: {result:?} {figure}");
            for step in working_steps(measure, outcome).unwrap() {
                assert_eq!(wrong(&step), None, "{at}: {step:#?}");
                assert!(
                    !step.source.is_empty() && !step.heading.is_empty() && !step.formula.is_empty(),
                    "{at}"
                );
                steps += 1;
                formulas.insert(step.formula);
            }
            measures.insert(measure.id);
        }
    }
    assert!(steps > 500 && formulas.len() >= 15, "{steps} steps, {formulas:?}");
    // figures of the block's adjustment are of no outcome here
    assert_eq!(measures.len(), swept_measures().count(), "{measures:?}");
}

/// Derived: the same of what the adjustment tells: errors are put together class by class, and what 95 % of the area is as precise as
/// lies between two areas.
#[test]
fn figures_of_the_block_are_recomputed_from_what_is_shown() {
    let scenario = made_up::scenario();
    let mut measures = BTreeSet::new();
    for strategy in [NADIR, CROSSED] {
        let outcome = witness().evaluate(&scenario, strategy, Depth::Network, &NoWatch).unwrap();
        for measure in MEASURES.iter().filter(|measure| measure.depth > Depth::Views) {
            let at = format!("{}, {}", outcome.name, measure.name);
            let (figure, working) = (measure.read(&outcome), measure.working(&outcome));
            assert_eq!(working.is_some(), figure.is_some(), "{at}");
            let (Some(figure), Some(working)) = (figure, working) else { continue };
            let result = working.result().expect("it has a step");
            assert!(near(result.value, figure), "{at}: {result:?} {figure}");
            for step in working_steps(measure, &outcome).unwrap() {
                assert_eq!(wrong(&step), None, "{at}: {step:#?}");
                assert!(!step.source.is_empty() && !step.heading.is_empty() && !step.formula.is_empty());
            }
            measures.insert(measure.id);
        }
    }
    assert_eq!(measures.len(), 7, "{measures:?}");
}

/// Practice: a class rebuilds the strips and images of the demo with a pocket calculator. What is said to be from above is taken
/// from what was worked out there, not from what stands there; only what is set and what is measured on the plan is read.
#[test]
fn images_are_rebuilt_with_a_pocket_calculator() {
    let scenario = obliquity::files::demo().unwrap();
    let mut rebuilt = 0;
    for strategy in &scenario.strategies[..3] {
        let outcome = witness().evaluate(&scenario, strategy.id, Depth::Quick, &NoWatch).unwrap();
        let steps = working_steps(measure(MeasureId::ImageCount), &outcome).unwrap();
        let (mut above, mut passes) = (Values::new(), Vec::new());
        let mut strips = Vec::new();
        for step in &steps {
            let mut values = Values::new();
            for term in &step.terms {
                let worked = above.get(term.symbol).copied().filter(|_| term.origin == Origin::Step);
                values.insert(term.symbol.to_owned(), worked.unwrap_or_else(|| number(&term.value)));
            }
            let all = worked_with(step, &values);
            assert!(all.iter().all(Worked::agrees), "{}: {step:#?}", strategy.name);
            assert!(step.lines.iter().all(|line| !line.own.is_empty()), "{}: {step:#?}", strategy.name);
            let result = all.last().unwrap().value;
            let symbol = step.result.split(" = ").next().unwrap().to_owned();
            if symbol == "n" {
                strips.push(result);
            }
            if symbol.starts_with("images of pass") {
                passes.push(result);
            }
            above.insert(symbol, result);
        }
        // The last `n` is that of the images themselves.
        strips.pop();
        let laid: Vec<f64> = outcome.plans().map(|plan| f64::from(plan.layout.strips)).collect();
        assert_eq!(strips, laid, "{}", strategy.name);
        assert_eq!(passes.iter().sum::<f64>(), f64::from(outcome.load.as_ref().unwrap().image_count));
        // From the GSD that is set to the images: no link of the chain is missing.
        let chain = [
            "Height, pass 1",
            "Footprint along",
            "Air base",
            "Spacing",
            "Width of the region",
            "Strips, pass 1",
        ];
        for name in chain {
            assert!(steps.iter().any(|step| step.heading.starts_with(name)), "{}: {name}", strategy.name);
        }
        rebuilt += passes.len();
    }
    assert_eq!(rebuilt, 1 + 2 + 5);
}

/// Derived: a term that is said to be set is an input that applies somewhere in the scenario, and a term that is said to be
/// another figure has its value.
#[test]
fn terms_are_from_where_they_say() {
    let (mut inputs, mut figures) = (BTreeSet::new(), 0);
    for Shown { scenario, outcomes, .. } in all() {
        for outcome in outcomes {
            let workings = MEASURES.iter().filter_map(|measure| measure.working(outcome));
            for step in workings.flat_map(|working| working.steps) {
                for term in step.terms() {
                    match term.origin {
                        Origin::Input(id) => {
                            assert!(knobs().any(|known| known.id == id), "{term:?}");
                            let at = knob(id).places(scenario);
                            let mut values = at.into_iter().filter_map(|at| knob(id).get(scenario, at));
                            // An input in the term's own unit has its value somewhere; others are told in another one.
                            let same = wording::Form::of(knob(id).unit).sign == term.unit;
                            assert!(!same || values.any(|value| near(value, term.value)), "{term:?}");
                            inputs.insert(id);
                        }
                        Origin::Measure(id) => {
                            let figure = measure(id).read(outcome).expect("it is known");
                            let off = (term.value * stored(term.unit) - figure).abs();
                            assert!(off <= 1e-9 * figure || (term.unit == "s" && off <= 0.5), "{term:?}");
                            figures += 1;
                        }
                        Origin::Laid
                        | Origin::Flown
                        | Origin::Sampled
                        | Origin::Adjusted
                        | Origin::Practice
                        | Origin::Step => {}
                    }
                }
            }
        }
    }
    assert!(inputs.len() >= 12 && figures > 100, "{inputs:?}, {figures}");
}

/// A way to a figure's working, and one back.
#[derive(Clone, Copy)]
enum Way {
    Pointer,
    Keys,
}

fn open(window: &mut Harness<'static, App>, label: &str, way: Way) {
    match way {
        Way::Pointer => window.get_by_label_contains(label).click(),
        Way::Keys => {
            window.get_by_label_contains(label).focus();
            window.run_ok();
            window.key_press(Key::Enter);
        }
    }
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::WORKING, "{label}");
}

fn back(window: &mut Harness<'static, App>, to: Screen, way: Way) {
    match way {
        Way::Pointer => window.get_by_label_contains("Back to ").click(),
        Way::Keys => window.key_press(Key::Escape),
    }
    window.run_ok();
    assert_eq!(window.state().screen_shown(), to);
}

fn shows(window: &Harness<'static, App>, figure: MeasureId) {
    let figure = format!("Figure: {}", measure(figure).name);
    assert!(window.query_by_label(&figure).is_some(), "{figure}");
}

/// Derived: a figure of the board opens its working for its strategy, with the result that the working gives, by a click and by
/// Enter once it is reached with Tab; Escape and the button lead back.
#[test]
fn a_figure_of_the_board_opens_its_working() {
    let mut window = yard();
    let board = window.state().board().unwrap().clone();
    let mut opened = 0;
    let rows = board.bands.iter().flat_map(|band| &band.rows).filter(|row| row.place == Place::Always);
    // The block is adjusted later.
    let worked =
        |row: &&Row| measure(row.measure).depth <= Depth::Views && row.cells[0].opens == CellOpens::Working;
    for row in rows.filter(worked) {
        let all = board.columns.iter().zip(&row.cells);
        for (way, (column, cell)) in [Way::Pointer, Way::Keys].into_iter().zip(all) {
            // What lies below the window's edge is reached with keys alone.
            let seen = matches!(measure(row.measure).group, MeasureGroup::Coverage | MeasureGroup::Gsd);
            let way = if seen { way } else { Way::Keys };
            open(&mut window, &cell.spoken, way);
            shows(&window, row.measure);
            assert!(window.query_by_label(&format!("Strategy in focus: {}", column.name)).is_some());
            let scenario = window.state().document().scenario().clone();
            let outcome = witness().evaluate(&scenario, column.strategy, Depth::Views, &NoWatch);
            let told = match measure(row.measure).working(&outcome.unwrap()) {
                Some(working) => {
                    format!("{}: {}", measure(row.measure).name, working.result().unwrap().text())
                }
                None => "This strategy has no such figure.".to_owned(),
            };
            assert!(window.query_by_label(&told).is_some(), "{told}");
            back(&mut window, Screen::BOARD, way);
            opened += 1;
        }
    }
    assert!(opened >= 20, "{opened}");
}

/// Waits for the card's pages, which are laid out beside the window.
fn laid(window: &mut Harness<'static, App>) {
    for _ in 0..2000 {
        window.step();
        if window.state().printed().is_some() {
            return;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    panic!("no page is laid out");
}

/// Derived: what the timeline says the time is made of, how sure it is, the card, and what follows from a pass open the figure that they
/// are a part of.
#[test]
fn figures_of_timeline_card_and_passes_open_their_working() {
    let mut window = yard();
    window.state_mut().turn_to(Screen::TIMELINE);
    window.run_ok();
    for (label, figure) in [
        ("set-up: ", MeasureId::TimeOnSite),
        ("strips: ", MeasureId::FlightTime),
        ("time on site: ", MeasureId::TimeOnSite),
        ("batteries, estimated: ", MeasureId::Sorties),
    ] {
        for way in [Way::Pointer, Way::Keys] {
            open(&mut window, label, way);
            shows(&window, figure);
            back(&mut window, Screen::TIMELINE, way);
        }
    }
    window.state_mut().turn_to(Screen::CARD);
    laid(&mut window);
    for (label, figure) in [
        (", flight: ", MeasureId::FlightTime),
        (", batteries: ", MeasureId::Sorties),
        (", farthest: ", MeasureId::Farthest),
        (", speed: ", MeasureId::FlightTime),
    ] {
        open(&mut window, label, Way::Keys);
        shows(&window, figure);
        back(&mut window, Screen::CARD, Way::Pointer);
        laid(&mut window);
    }
    window.state_mut().turn_to(Screen::PASSES);
    window.run_ok();
    for (label, figure) in [
        ("Images: ", MeasureId::ImageCount),
        ("Flight time: ", MeasureId::FlightTime),
        ("Air base: ", MeasureId::ImageCount),
        ("Pass 1 takes ", MeasureId::ImageCount),
    ] {
        open(&mut window, label, Way::Keys);
        shows(&window, figure);
        back(&mut window, Screen::PASSES, Way::Pointer);
    }
}

/// Derived: what is said of a value's origin leads there: to the pass, the aircraft, the plan, another figure.
#[test]
fn a_value_is_one_click_from_where_it_is_from() {
    let mut window = yard();
    let board = window.state().board().unwrap().clone();
    let images =
        board.bands.iter().flat_map(|band| &band.rows).find(|row| row.measure == MeasureId::ImageCount);
    let spoken = images.unwrap().cells[1].spoken.clone();
    for (from, screen) in [
        ("set: Sidelap", Screen::PASSES),
        ("set: Image height", Screen::EQUIPMENT),
        ("laid out: see the plan", Screen::PLAN),
    ] {
        window.state_mut().turn_to(Screen::BOARD);
        window.run_ok();
        open(&mut window, &spoken, Way::Keys);
        window.get_all_by_label_contains(from).next().unwrap().focus();
        window.run_ok();
        window.key_press(Key::Enter);
        window.run_ok();
        assert_eq!(window.state().screen_shown(), screen, "{from}");
    }
    window.state_mut().turn_to(Screen::BOARD);
    window.run_ok();
    let on_site =
        board.bands.iter().flat_map(|band| &band.rows).find(|row| row.measure == MeasureId::TimeOnSite);
    open(&mut window, &on_site.unwrap().cells[1].spoken, Way::Keys);
    window.get_by_label_contains("figure: Flight time").click();
    window.run_ok();
    shows(&window, MeasureId::FlightTime);
}

/// Derived: while a height is dragged, bars of that strategy and its slider show where they stood, and those of others show
/// nothing of the kind; once it is let go there is no mark any more.
#[test]
fn a_mark_shows_where_it_stood_while_a_setting_is_dragged() {
    let mut window = yard();
    let marks = |window: &Harness<'static, App>| {
        let board = window.state().board().unwrap();
        let cells = |column: usize| {
            let rows = board.bands.iter().flat_map(|band| &band.rows);
            rows.filter(|row| row.cells[column].before.is_some()).count()
        };
        let sliders: Vec<Option<f64>> = board.columns[0].sliders.iter().map(|slider| slider.before).collect();
        (cells(0), cells(1), sliders.into_iter().flatten().collect::<Vec<f64>>())
    };
    assert_eq!(marks(&window), (0, 0, vec![]));
    let column = window.state().board().unwrap().columns[0].clone();
    let height = column.sliders.iter().find(|slider| slider.setting.knob == KnobId::HEIGHT).unwrap().clone();
    let rail = window.get_by_role_and_label(Role::Slider, &height.spoken).rect();
    let share = (height.shown - height.range.start()) / (height.range.end() - height.range.start());
    let x = rail.left() + share as f32 * rail.width();
    window.drag_at(egui::pos2(x, rail.center().y));
    window.run_ok();
    window.hover_at(egui::pos2(x + 12.0, rail.center().y));
    window.run_ok();
    let (own, others, sliders) = marks(&window);
    assert!(own >= 4, "flying, on site, images, hours: {own}");
    assert_eq!((others, sliders), (0, vec![height.shown]));
    window.drop_at(egui::pos2(x + 12.0, rail.center().y));
    settle(&mut window);
    window.run_ok();
    assert_eq!(marks(&window), (0, 0, vec![]));
    assert_ne!(window.state().board().unwrap().columns[0].sliders[0].shown, height.shown, "it was moved");
}

/// Derived: with a reference chosen, the strategy in focus is told against it on the board and above its workings, and the
/// table on the clipboard has all of them; of the reference itself nothing is told.
#[test]
fn a_strategy_is_told_against_the_reference_in_words() {
    let mut document = Document::new(made_up::scenario(), None);
    document.edit(&Edit::Strategy(Change::Reference(Some(NADIR)))).unwrap();
    let mut window = window(document);
    settle(&mut window);
    let board = window.state().board().unwrap().clone();
    assert_eq!(board.columns[0].against, None);
    let scenario = window.state().document().scenario().clone();
    let of = |id| witness().evaluate(&scenario, id, Depth::Views, &NoWatch).unwrap();
    let told = in_words(&of(NADIR), &of(CROSSED), GsdUnit::Centimetres);
    assert!(told.len() >= 3 && told[0].contains(" than "), "{told:?}");
    assert_eq!(board.columns[1].against.as_ref().unwrap().sentences, told);
    assert!(window.query_by_label(&told.join(" ")).is_none(), "the reference is in focus");
    window.state_mut().focus_on(CROSSED);
    window.run_ok();
    assert!(window.query_by_label(&told.join(" ")).is_some());
    assert!(window.state().table().unwrap().contains(&told.join(" ")));
    window.state_mut().turn_to(Screen::WORKING);
    window.run_ok();
    assert!(window.query_by_label(&told.join(" ")).is_some());
}
