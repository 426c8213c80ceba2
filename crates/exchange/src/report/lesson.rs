//! What a step of a lesson comes to, once it is revealed.

use super::working::{StepRow, working_steps, working_text};
use crate::card::CardSketch;
use crate::card::sheet::{Handout, HandoutStep};
use crate::lesson::{asked_unit, figure_text, question_text, settings_text, strategy_name, tolerance_text};
use obliquity_planning::Units;
use obliquity_planning::lesson::{Lesson, LessonStep, StepFigures};
use std::fmt::Write;

/// What a step comes to, as text: the figure, what is said of it, and the working of each strategy that it is of.
pub fn revealed_text(lesson: &Lesson, step: &LessonStep, figures: &StepFigures, units: Units) -> String {
    let mut text = match figures.figure {
        Some(figure) => format!("{}\n", figure_text(step, figure, units)),
        None => "There is no such figure.\n".to_owned(),
    };
    if !step.after.is_empty() {
        let _ = writeln!(text, "{}", step.after);
    }
    let Some(row) = step.measure() else { return text };
    for id in step.asked.of.strategies() {
        let Some(outcome) = figures.outcomes.iter().find(|outcome| outcome.strategy == id) else { continue };
        let working = match working_steps(row, outcome) {
            Ok(steps) => working_text(row, &steps),
            Err(why) => why,
        };
        let _ = write!(text, "\n{}\n{working}", strategy_name(lesson, id));
    }
    text
}

/// A working as lines, those within a step set in.
pub fn working_lines(step: &LessonStep, lesson: &Lesson, figures: &StepFigures) -> Vec<String> {
    let Some(row) = step.measure() else { return Vec::new() };
    let mut lines = Vec::new();
    for id in step.asked.of.strategies() {
        let Some(outcome) = figures.outcomes.iter().find(|outcome| outcome.strategy == id) else { continue };
        lines.push(strategy_name(lesson, id));
        match working_steps(row, outcome) {
            Ok(steps) => lines.extend(steps.iter().flat_map(step_lines)),
            Err(why) => lines.push(format!("    {why}")),
        }
    }
    lines
}

fn step_lines(step: &StepRow) -> Vec<String> {
    let mut lines = vec![format!("  {}: {}", step.heading, step.formula)];
    for term in &step.terms {
        let sign = if term.symbol.is_empty() { String::new() } else { format!("{} = ", term.symbol) };
        lines.push(format!("    {sign}{}  {}", term.value, term.name));
    }
    for own in &step.lines {
        let terms = if own.own.is_empty() { "counted".to_owned() } else { own.own.join(", ") };
        lines.push(format!("    {}: {terms}; {}", own.name, own.gives));
    }
    lines.push(format!("    {}", step.result));
    lines
}

/// A lesson to be handed out; `figures` has what every step comes to.
pub fn handout(lesson: &Lesson, figures: &[StepFigures], units: Units) -> Handout {
    let step = |(k, of): (usize, &LessonStep)| {
        let own = figures.get(k);
        let figure = own.and_then(|own| own.figure);
        HandoutStep {
            text: of.text.clone(),
            settings: settings_text(lesson, of, units),
            question: question_text(lesson, of, units),
            near: tolerance_text(of.tolerance, of, units),
            sign: units.suffix(asked_unit(of)).trim().to_owned(),
            figure: figure.map_or_else(
                || "There is no such figure.".to_owned(),
                |figure| figure_text(of, figure, units),
            ),
            after: of.after.clone(),
            working: own.map_or_else(Vec::new, |own| working_lines(of, lesson, own)),
        }
    };
    let steps = lesson.steps.iter().enumerate().map(step).collect();
    Handout { title: lesson.name.clone(), sketch: CardSketch::of_site(&lesson.scenario), steps }
}
