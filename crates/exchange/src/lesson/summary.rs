//! A class's answers beside each other.

use super::answers::{Answers, NotTaken};
use super::told::{figure_text, off_text, question_text};
use crate::cells::quoted;
use obliquity_planning::lesson::{Guess, GuessOff, Lesson};
use obliquity_planning::{Unit, Units, median};
use serde_json::{Value, json};
use std::fmt::Write;

/// A class's answers to a lesson.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassSummary {
    /// The lesson's name.
    pub lesson: String,
    /// Its steps.
    pub steps: Vec<ClassStep>,
    /// The learners, one row each.
    pub rows: Vec<ClassRow>,
    /// What was not taken, and why.
    pub not_taken: Vec<NotTaken>,
}

/// A step over the whole class.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassStep {
    /// What is asked.
    pub question: String,
    /// What it comes to, as it is stored.
    pub figure: Option<f64>,
    /// The same in words.
    pub figure_text: String,
    /// The middle one of all guesses, in words.
    pub middle: Option<String>,
    /// Guesses that are near, and all of them.
    pub near: (usize, usize),
}

/// A learner's row.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassRow {
    /// Name or initials.
    pub who: String,
    /// In which file.
    pub file: String,
    /// One for each step; nothing where nothing was guessed.
    pub cells: Vec<Option<ClassCell>>,
}

/// A learner's guess at a step.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassCell {
    /// As it is stored.
    pub guess: f64,
    /// In words.
    pub text: String,
    /// How far it is off.
    pub off: Option<GuessOff>,
    /// The same in words.
    pub off_text: String,
    /// Whether it is near.
    pub is_near: bool,
    /// Where the learner left the step's input, in its own unit.
    pub moved: Option<f64>,
}

/// A class's answers beside each other; `figures` has what every step comes to.
pub fn class_summary(
    lesson: &Lesson,
    figures: &[Option<f64>],
    answers: &[(String, Answers)],
    not_taken: &[NotTaken],
    units: Units,
) -> ClassSummary {
    let figure = |step: usize| figures.get(step).copied().flatten();
    let cell = |step: usize, guess: &Guess, moved: Option<f64>| {
        let of = &lesson.steps[step];
        let unit = of.measure().map_or(Unit::Count, |row| row.unit);
        let off = figure(step).map(|figure| GuessOff::of(&of.asked, unit, guess.value, figure));
        ClassCell {
            guess: guess.value,
            text: figure_text(of, guess.value, units),
            off,
            off_text: off.map_or_else(String::new, |off| off_text(off, of, units)),
            is_near: off.is_some_and(|off| off.is_within(of.tolerance)),
            moved,
        }
    };
    let mut rows: Vec<ClassRow> = Vec::new();
    for (file, own) in answers {
        let named = |guess: &Guess| {
            if guess.who.is_empty() { own.run.learner.trim().to_owned() } else { guess.who.clone() }
        };
        for (step, run) in own.run.steps.iter().enumerate().take(lesson.steps.len()) {
            for guess in &run.guesses {
                let who = Some(named(guess)).filter(|who| !who.is_empty()).unwrap_or_else(|| file.clone());
                let known = rows.iter().position(|row| row.who == who && row.file == *file);
                let at = known.unwrap_or_else(|| {
                    rows.push(ClassRow { who, file: file.clone(), cells: vec![None; lesson.steps.len()] });
                    rows.len() - 1
                });
                rows[at].cells[step] = Some(cell(step, guess, run.moved));
            }
        }
    }
    let steps = lesson.steps.iter().enumerate().map(|(step, of)| {
        let cells: Vec<&ClassCell> = rows.iter().filter_map(|row| row.cells[step].as_ref()).collect();
        let guesses: Vec<f64> = cells.iter().map(|cell| cell.guess).collect();
        let middle = median(&guesses).map(|middle| figure_text(of, middle, units));
        ClassStep {
            question: question_text(lesson, of, units),
            figure: figure(step),
            figure_text: figure(step)
                .map_or_else(|| "no figure".to_owned(), |own| figure_text(of, own, units)),
            middle,
            near: (cells.iter().filter(|cell| cell.is_near).count(), cells.len()),
        }
    });
    let steps = steps.collect();
    ClassSummary { lesson: lesson.name.clone(), steps, rows, not_taken: not_taken.to_vec() }
}

/// The class as text for a terminal.
pub fn class_text(class: &ClassSummary) -> String {
    let count = class.rows.len();
    let mut text = format!("{}: {count} {}\n", class.lesson, if count == 1 { "learner" } else { "learners" });
    for (k, step) in class.steps.iter().enumerate() {
        let (near, all) = step.near;
        let middle =
            step.middle.as_ref().map_or_else(String::new, |middle| format!(", middle guess {middle}"));
        let _ = write!(
            text,
            "\n{}. {}\n   {}{middle}; {near} of {all} near\n",
            k + 1,
            step.question,
            step.figure_text
        );
        for row in &class.rows {
            if let Some(cell) = &row.cells[k] {
                let near = if cell.is_near { ", near" } else { "" };
                let _ = writeln!(text, "   {:<16} {:>12}  {}{near}", row.who, cell.text, cell.off_text);
            }
        }
    }
    if !class.not_taken.is_empty() {
        text.push_str("\nNot counted\n");
    }
    for own in &class.not_taken {
        let _ = writeln!(text, "   {}: {}", own.file, own.why);
    }
    text
}

/// The class as CSV: one row a learner and step.
///
/// # Units
/// - `guess`, `figure`: the figure's own as files have it, shares from 0 to 1; `off`: points, a factor or an amount, as `off_by` says
pub fn class_csv(lesson: &Lesson, class: &ClassSummary) -> String {
    let mut text = "learner,file,step,measure,guess,figure,off,off_by,near,own_setting\n".to_owned();
    for row in &class.rows {
        for (k, cell) in row.cells.iter().enumerate() {
            let Some(cell) = cell else { continue };
            let (off, by) = match cell.off {
                Some(GuessOff::Points(points)) => (points.to_string(), "points"),
                Some(GuessOff::Factor(factor)) => (factor.to_string(), "factor"),
                Some(GuessOff::Amount(amount)) => (amount.to_string(), "amount"),
                None => (String::new(), ""),
            };
            let figure = class.steps[k].figure.map_or_else(String::new, |figure| figure.to_string());
            let moved = cell.moved.map_or_else(String::new, |moved| moved.to_string());
            let _ = writeln!(
                text,
                "{},{},{},{},{},{figure},{off},{by},{},{moved}",
                cell_text(&row.who),
                cell_text(&row.file),
                k + 1,
                lesson.steps[k].asked.measure,
                cell.guess,
                cell.is_near
            );
        }
    }
    text
}

/// A name as a cell: quoted where it must be, and never taken for a formula by a spreadsheet.
fn cell_text(text: &str) -> String {
    let is_formula = text.starts_with(['=', '+', '-', '@', '\t']);
    let text = if is_formula { format!("'{text}") } else { text.to_owned() };
    quoted(&text)
}

/// The class as JSON.
pub fn class_json(class: &ClassSummary) -> Value {
    let step = |(k, step): (usize, &ClassStep)| json!({ "step": k + 1, "question": step.question, "figure": step.figure, "near": step.near.0, "guesses": step.near.1 });
    let row = |row: &ClassRow| {
        let guesses: Vec<Value> = row
            .cells
            .iter()
            .map(|cell| cell.as_ref().map_or(Value::Null, |cell| json!(cell.guess)))
            .collect();
        json!({ "learner": row.who, "file": row.file, "guesses": guesses })
    };
    let not = |own: &NotTaken| json!({ "file": own.file, "why": own.why });
    json!({
        "lesson": class.lesson,
        "steps": class.steps.iter().enumerate().map(step).collect::<Vec<_>>(),
        "learners": class.rows.iter().map(row).collect::<Vec<_>>(),
        "not_counted": class.not_taken.iter().map(not).collect::<Vec<_>>(),
    })
}
