//! A step of a lesson as bars: what is told, the guesses as marks, and what is asked once it may be seen.

use super::{Axis, Bar, BarText, Chart, Fill, Mark, Present, Tone};
use crate::lesson::{ClassSummary, asked_unit, figure_text, question_text, strategy_name};
use crate::slots::Slots;
use obliquity_planning::lesson::{AskedOf, Guess, Lesson, LessonStep};
use obliquity_planning::{Id, Unit, Units};

/// A bar reaches so far to both sides of its row's middle.
const HALF: f64 = 0.35;

/// What may be seen of a step.
#[derive(Debug, Clone, Copy)]
pub struct StepShown<'a> {
    /// The lesson.
    pub lesson: &'a Lesson,
    /// The step.
    pub step: &'a LessonStep,
    /// The guesses made at it.
    pub guesses: &'a [Guess],
    /// What is told with the question: figures of strategies.
    pub told: &'a [(Id, f64)],
    /// What is asked, where it is revealed.
    pub figure: Option<f64>,
    /// Where the step's input stands after the reveal, in words, and what it comes to there, where that is known.
    pub moved: Option<(&'a str, Option<f64>)>,
    /// What texts and axes are in.
    pub units: Units,
}

/// What is asked, in the name of its bar.
fn asked_name(lesson: &Lesson, step: &LessonStep) -> String {
    match step.asked.of {
        AskedOf::Strategy(id) => strategy_name(lesson, id),
        AskedOf::Difference { of, less } => {
            format!("{} less {}", strategy_name(lesson, of), strategy_name(lesson, less))
        }
        AskedOf::Ratio { of, over } => {
            format!("{} over {}", strategy_name(lesson, of), strategy_name(lesson, over))
        }
    }
}

/// The strategy whose colour the bar of what is asked has.
fn asked_of(step: &LessonStep) -> Id {
    step.asked.of.strategies()[0]
}

/// A step as lying bars, the guesses as marks on that of what is asked. Nothing in it, its axes included, is made from a figure
/// that is not given.
pub fn step_chart(of: &StepShown<'_>) -> Chart {
    let StepShown { lesson, step, units, .. } = *of;
    let shown = |value: f64| units.shown(asked_unit(step), value);
    let slots = Slots::of(&lesson.scenario);
    let mut rows: Vec<(String, Option<f64>, Tone, Fill)> = Vec::new();
    for (id, value) in of.told {
        // A ratio's axis has no room for what it is of.
        let is_one = !matches!(step.asked.of, AskedOf::Ratio { .. });
        if is_one {
            let tone = Tone::Strategy(slots.slot(*id));
            rows.push((strategy_name(lesson, *id), Some(*value), tone, Fill::Light));
        }
    }
    let tone = Tone::Strategy(slots.slot(asked_of(step)));
    let asked = rows.len();
    rows.push((asked_name(lesson, step), of.figure, tone, Fill::Solid));
    if let Some((words, value)) = of.moved {
        rows.push((words.to_owned(), value, tone, Fill::Light));
    }
    let values = rows.iter().filter_map(|row| row.1).chain(of.guesses.iter().map(|guess| guess.value));
    let values: Vec<f64> = values.map(shown).collect();
    let is_share = asked_unit(step) == Unit::Share && matches!(step.asked.of, AskedOf::Strategy(_));
    let most = values.iter().copied().fold(0.0, f64::max) * 1.2;
    let least = values.iter().copied().fold(0.0, f64::min) * 1.2;
    let (least, most) = if is_share { (0.0, 100.0) } else { (least, most) };
    let name = step.measure().map_or("", |row| row.name);
    let sign = if matches!(step.asked.of, AskedOf::Ratio { .. }) {
        "times"
    } else {
        units.scale(asked_unit(step)).sign
    };
    let across = Axis::new(name, sign, least, most);
    // The first row stands on top.
    let place = |k: usize| (rows.len() - 1 - k) as f64;
    let up = Axis::of_names("", rows.iter().rev().map(|row| row.0.clone()));
    let told = |name: &str, value: f64| format!("{name}: {}", figure_text(step, value, units));
    let mut spoken: Vec<String> =
        rows.iter().filter_map(|(name, value, ..)| Some(told(name, (*value)?))).collect();
    if of.figure.is_none() {
        spoken.push(format!("{}: hidden", rows[asked].0));
    }
    let who = |guess: &Guess| if guess.who.is_empty() { "guess".to_owned() } else { guess.who.clone() };
    spoken.extend(of.guesses.iter().map(|guess| told(&who(guess), guess.value)));
    let title = question_text(lesson, step, units);
    let mut chart = Chart::new(title, spoken.join("; "), across, up);
    for (k, (name, value, tone, fill)) in rows.iter().enumerate() {
        let Some(value) = value else { continue };
        chart.bars.push(Bar {
            name: name.clone(),
            text: BarText::Beyond(figure_text(step, *value, units)),
            tone: *tone,
            fill: *fill,
            across: [0.0, shown(*value)],
            up: [place(k) - HALF, place(k) + HALF],
        });
    }
    chart.marks = of
        .guesses
        .iter()
        .map(|guess| Mark { name: who(guess), tone: Tone::Ink, at: [shown(guess.value), place(asked)] })
        .collect();
    chart
}

/// Most guesses that stand in one place.
const BINS: usize = 12;

/// What a class guessed at a step: how many guesses lie in each part of the axis, and where the figure is.
pub fn class_chart(lesson: &Lesson, step: usize, class: &ClassSummary, units: Units) -> Option<Chart> {
    let of = lesson.steps.get(step)?;
    let own = class.steps.get(step)?;
    let shown = |value: f64| units.shown(asked_unit(of), value);
    let guesses: Vec<f64> = class
        .rows
        .iter()
        .filter_map(|row| row.cells.get(step)?.as_ref())
        .map(|cell| shown(cell.guess))
        .collect();
    let all = || guesses.iter().copied().chain(own.figure.map(shown));
    let is_share = asked_unit(of) == Unit::Share && matches!(of.asked.of, AskedOf::Strategy(_));
    let (least, most) = (all().fold(0.0, f64::min), all().fold(0.0, f64::max));
    let (from, to) = if is_share { (0.0, 100.0) } else { (1.1 * least, 1.1 * most) };
    let sign =
        if matches!(of.asked.of, AskedOf::Ratio { .. }) { "times" } else { units.scale(asked_unit(of)).sign };
    let across = Axis::new(of.measure().map_or("", |row| row.name), sign, from, to);
    let width = (across.to - across.from) / BINS as f64;
    let mut counts = [0_u32; BINS];
    for guess in &guesses {
        let bin = ((guess - across.from) / width).floor().clamp(0.0, BINS as f64 - 1.0);
        counts[bin as usize] += 1;
    }
    let top = f64::from(counts.iter().copied().max().unwrap_or(0)).max(1.0);
    let title = format!("{}. {}", step + 1, own.question);
    let spoken = format!(
        "{} guesses, {} near; {}{}",
        own.near.1,
        own.near.0,
        own.figure_text,
        own.middle.as_ref().map_or_else(String::new, |middle| format!(", middle guess {middle}"))
    );
    let mut chart = Chart::new(title, spoken, across, Axis::new("Guesses", "", 0.0, top + 1.0));
    for (bin, count) in counts.into_iter().enumerate().filter(|(_, count)| *count > 0) {
        let left = chart.across.from + bin as f64 * width;
        chart.bars.push(Bar {
            name: "guesses".to_owned(),
            text: BarText::None,
            tone: Tone::Accent,
            fill: Fill::Light,
            across: [left, left + width],
            up: [0.0, f64::from(count)],
        });
    }
    chart.present = own.figure.map(|figure| Present { name: own.figure_text.clone(), at: shown(figure) });
    Some(chart)
}
