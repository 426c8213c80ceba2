//! Workings hold: whoever recomputes a formula from the values as they are shown finds the result that is shown.

use crate::measures::{Shown, all};
use crate::window::yard;
use egui::Key;
use egui_kittest::kittest::Queryable;
use obliquity::app::Screen;
use obliquity::engine::Engine;
use obliquity_planning::*;
use std::collections::{BTreeMap, BTreeSet};

/// A value as it is shown, and how far the exact one may be from it: half of its last decimal; whole numbers are exact.
#[derive(Clone, Copy)]
struct Read {
    value: f64,
    half: f64,
}

fn read(term: &Term) -> Read {
    let text = term.shown();
    let decimals = text.split_once('.').map(|(_, decimals)| i32::try_from(decimals.len()).unwrap());
    // A last bit for numbers that lie in the middle of two decimals.
    let half = decimals.map_or(0.0, |decimals| 0.5 * 10_f64.powi(-decimals) * (1.0 + 1e-6));
    Read { value: text.parse().unwrap_or_else(|_| panic!("{} is shown as {text:?}", term.name)), half }
}

/// Least and greatest that an expression may come to with values as they are shown: each symbol moves it one way only, so
/// the ends of the symbols' ranges give the ends of its own.
fn bounds(expression: &Expression, terms: &[Term]) -> (f64, f64) {
    let read: Vec<(&str, Read)> = terms.iter().map(|term| (term.symbol, read(term))).collect();
    let corners = (0..1_u32 << read.len()).map(|corner| {
        let at: BTreeMap<&str, f64> = read
            .iter()
            .enumerate()
            .map(|(k, (symbol, read))| {
                let side = if corner >> k & 1 == 1 { read.half } else { -read.half };
                (*symbol, read.value + side)
            })
            .collect();
        expression.value(&|symbol| at.get(symbol).copied()).expect("every symbol has a term")
    });
    corners.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

/// What is wrong with a step as it is shown, and with the exact numbers behind it.
fn wrong(step: &Step) -> Option<String> {
    let shown = read(step.result());
    let (low, high, exact) = match step {
        Step::Formula(Formula { expression, terms, .. }) => {
            let of = |symbol: &str| Some(terms.iter().find(|term| term.symbol == symbol)?.value);
            let (low, high) = bounds(expression, terms);
            (low, high, expression.value(&of)?)
        }
        Step::Budget(Budget { parts, .. }) => sum(parts.iter()),
        Step::Share(CountedShare { result, whole, counted, rest, .. }) => {
            let (low, high, exact) = sum([counted].into_iter().chain(rest));
            let all = read(whole);
            if low > all.value + all.half || high < all.value - all.half || !near(exact, whole.value) {
                return Some(format!("{low} to {high} of {}", whole.text()));
            }
            if result.unit != "%" {
                return None;
            }
            let part = read(counted);
            let share = |part: f64, whole: f64| 100.0 * part / whole;
            let low = share(part.value - part.half, all.value + all.half);
            (low, share(part.value + part.half, all.value - all.half), share(counted.value, whole.value))
        }
    };
    let told = low <= shown.value + shown.half && high >= shown.value - shown.half;
    (!told || !near(exact, step.result().value)).then(|| format!("{low} to {high}, exactly {exact}"))
}

fn sum<'a>(parts: impl Iterator<Item = &'a Term>) -> (f64, f64, f64) {
    parts.fold((0.0, 0.0, 0.0), |(low, high, exact), part| {
        let Read { value, half } = read(part);
        (low + value - half, high + value + half, exact + part.value)
    })
}

/// Equal but for the rounding of sums of some hundred terms.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// The figure's unit in one of the working's.
fn stored(unit: &str) -> f64 {
    if unit == "%" || unit == "cm" { 0.01 } else { 1.0 }
}

/// Figures whose working is said, wherever they are known.
fn is_worked(id: MeasureId) -> bool {
    !matches!(id, MeasureId::Farthest | MeasureId::ImagePairs)
}

/// Derived: every formula comes to what is shown with the values that are shown, every budget adds up, every counted share is
/// the part of the whole, to the rounding of what is shown; and the last step gives the figure.
#[test]
fn what_is_shown_comes_to_what_is_shown() {
    let (mut steps, mut formulas, mut measures) = (0, BTreeSet::new(), BTreeSet::new());
    for Shown { scenario, outcomes, .. } in all() {
        for (outcome, measure) in outcomes.iter().flat_map(|o| MEASURES.iter().map(move |m| (o, m))) {
            let at = format!("{}, {}, {}", scenario.name, outcome.name, measure.name);
            let (figure, working) = (measure.read(outcome), measure.working(outcome));
            assert_eq!(working.is_some(), figure.is_some() && is_worked(measure.id), "{at}");
            let (Some(figure), Some(working)) = (figure, working) else { continue };
            let result = working.result().expect("it has a step");
            // Times are told in whole seconds, so that their parts add up.
            let off = (result.value * stored(result.unit) - figure).abs();
            assert!(off <= 1e-9 * figure || (result.unit == "s" && off <= 0.5), "{at}: {result:?} {figure}");
            for step in &working.steps {
                assert_eq!(wrong(step), None, "{at}: {step:?}");
                assert!(!step.source().is_empty() && !step.result().name.is_empty(), "{at}");
                steps += 1;
                if let Step::Formula(Formula { expression, terms, .. }) = step {
                    let text = expression.text();
                    assert!(terms.iter().all(|term| text.contains(term.symbol)), "{at}: {text} {terms:?}");
                    formulas.insert(text);
                }
            }
            measures.insert(measure.id);
        }
    }
    assert!(steps > 500 && formulas.len() >= 6, "{steps} steps, {formulas:?}");
    assert_eq!(
        measures.len(),
        MEASURES.iter().filter(|measure| is_worked(measure.id)).count(),
        "{measures:?}"
    );
}

/// Derived: a term that is said to be set is an input that applies somewhere in the scenario, and a term that is said to be
/// another figure has its value.
#[test]
fn terms_are_from_where_they_say() {
    let (mut inputs, mut figures) = (BTreeSet::new(), 0);
    for Shown { scenario, outcomes, .. } in all() {
        for outcome in &outcomes {
            let workings = MEASURES.iter().filter_map(|measure| measure.working(outcome));
            for step in workings.flat_map(|working| working.steps) {
                let terms = match step {
                    Step::Formula(formula) => formula.terms,
                    Step::Budget(budget) => budget.parts,
                    Step::Share(share) => share.rest,
                };
                for term in terms {
                    match term.origin {
                        Origin::Input(id) => {
                            assert!(knobs().any(|known| known.id == id), "{term:?}");
                            let at = knob(id).places(&scenario);
                            let mut values = at.into_iter().filter_map(|at| knob(id).get(&scenario, at));
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
                        Origin::Counted | Origin::Step => {}
                    }
                }
            }
        }
    }
    assert!(inputs.len() >= 12 && figures > 100, "{inputs:?}, {figures}");
}

/// Derived: a click on a figure of the board opens the working of that figure for that strategy, with the result that the
/// working gives; the row of screens leads back, Escape does not.
#[test]
fn a_click_on_a_figure_opens_its_working() {
    let mut window = yard();
    let board = window.state().board().unwrap().clone();
    let mut opened = 0;
    for row in board.bands.iter().filter(|band| band.title == "Coverage").flat_map(|band| &band.rows) {
        for (column, cell) in board.columns.iter().zip(&row.cells).take(2) {
            window.get_by_label(&cell.spoken).click();
            window.run_ok();
            assert_eq!(window.state().screen_shown().name(), "working");
            let figure = format!("Figure: {}", measure(row.measure).name);
            assert!(window.query_by_label(&figure).is_some(), "{figure}");
            assert!(window.query_by_label(&format!("Strategy in focus: {}", column.name)).is_some());
            let scenario = window.state().document().scenario().clone();
            let outcome = Engine::default().evaluate(&scenario, column.strategy, Depth::Views, &NoWatch);
            let working = measure(row.measure).working(&outcome.unwrap()).unwrap();
            let result = working.result().unwrap();
            let told = format!("{} = {}", result.symbol, result.text());
            assert!(window.query_by_label(&told).is_some(), "{told}");
            window.key_press(Key::Escape);
            window.run_ok();
            assert_eq!(window.state().screen_shown(), Screen::WORKING);
            window.get_by_label("Board").click();
            window.run_ok();
            assert_eq!(window.state().screen_shown(), Screen::BOARD);
            opened += 1;
        }
    }
    assert!(opened >= 4, "{opened}");
}
