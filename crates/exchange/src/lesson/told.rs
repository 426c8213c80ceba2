//! Questions, figures and errors of guesses in words.

use crate::entry::{EntryField, EntryKind};
use crate::lesson::file::lesson_mark;
use obliquity_planning::lesson::{
    AskedOf, GuessOff, Lesson, LessonStep, StepSetting, Tolerance, knob_called,
};
use obliquity_planning::wording::{Form, short, within};
use obliquity_planning::{Id, Unit, Units};
use serde_json::{Value, json};
use std::fmt::Write;

/// The unit that a step's figure is stored in; none for a ratio.
pub fn asked_unit(step: &LessonStep) -> Unit {
    match step.asked.of {
        AskedOf::Ratio { .. } => Unit::Coefficient,
        _ => step.measure().map_or(Unit::Count, |row| row.unit),
    }
}

/// The name of a strategy of the lesson.
pub fn strategy_name(lesson: &Lesson, id: Id) -> String {
    lesson.scenario.strategy(id).map_or_else(|| format!("strategy {id}"), |own| own.name.clone())
}

/// What a step asks, as a question.
pub fn question_text(lesson: &Lesson, step: &LessonStep, units: Units) -> String {
    let figure = step.measure().map_or(step.asked.measure.as_str(), |row| row.name);
    let sign = units.suffix(asked_unit(step));
    let sign = sign.trim();
    let inside = if sign.is_empty() { String::new() } else { format!(", in {sign}") };
    match step.asked.of {
        AskedOf::Strategy(id) => format!("{figure} of {}{inside}?", strategy_name(lesson, id)),
        AskedOf::Difference { of, less } => {
            let inside = if asked_unit(step) == Unit::Share { ", in points".to_owned() } else { inside };
            format!("{figure}: {} less {}{inside}?", strategy_name(lesson, of), strategy_name(lesson, less))
        }
        AskedOf::Ratio { of, over } => {
            format!(
                "{figure} of {}: how many times that of {}?",
                strategy_name(lesson, of),
                strategy_name(lesson, over)
            )
        }
    }
}

/// What a step sets otherwise than in the scenario, in words; nothing where it sets nothing.
pub fn settings_text(lesson: &Lesson, step: &LessonStep, units: Units) -> Option<String> {
    let one = |setting: &StepSetting| {
        let on = setting.strategy.map_or_else(String::new, |id| format!(" of {}", strategy_name(lesson, id)));
        let value = knob_called(&setting.knob).map_or_else(
            || setting.value.to_string(),
            |knob| format!("{} {}", within(knob.whole), units.text(knob.unit, setting.value)),
        );
        format!("{value}{on}")
    };
    let all: Vec<String> = step.settings.iter().map(one).collect();
    (!all.is_empty()).then(|| format!("Set for this step: {}.", all.join("; ")))
}

/// A figure of a step, or a guess at it, with its unit.
pub fn figure_text(step: &LessonStep, value: f64, units: Units) -> String {
    let plain = |value: f64| match asked_unit(step) {
        Unit::GsdMetres => units.gsd(value),
        unit @ (Unit::Metres | Unit::Kilograms | Unit::MetresPerSecond) => units.text(unit, value),
        // as fine as the points by which guesses are off
        Unit::Share => Form::of(Unit::Share).text(value, 1).replace(".0 %", " %"),
        unit => Form::of(unit).alone(value),
    };
    match step.asked.of {
        AskedOf::Strategy(_) => plain(value),
        AskedOf::Ratio { .. } => format!("{} times", short(value)),
        AskedOf::Difference { .. } => {
            let sign = if value < 0.0 { "−" } else { "+" };
            let size = if asked_unit(step) == Unit::Share {
                format!("{} points", short(100.0 * value.abs()))
            } else {
                plain(value.abs())
            };
            format!("{sign}{size}")
        }
    }
}

/// How far a guess is off, in words: with as many decimals as show whether that is near.
pub fn off_text(off: GuessOff, step: &LessonStep, units: Units) -> String {
    let way = |more: bool| if more { "too high" } else { "too low" };
    match off {
        GuessOff::Points(points) if points.abs() < 0.05 => "on the point".to_owned(),
        GuessOff::Points(points) => {
            let form = Form::new(1.0, "points", |_| 1);
            format!("{} {}", form.against(points.abs(), Some(step.tolerance.number())), way(points > 0.0))
        }
        GuessOff::Factor(factor) if (factor - 1.0).abs() < 0.005 => "on the point".to_owned(),
        GuessOff::Factor(factor) => {
            let form = Form::new(1.0, "times", |_| 2);
            let by = form.against(factor.max(factor.recip()), Some(step.tolerance.number()));
            format!("{by} {}", way(factor > 1.0))
        }
        GuessOff::Amount(amount) => {
            let text = match (asked_unit(step), step.tolerance) {
                (
                    unit @ (Unit::Metres | Unit::Kilograms | Unit::MetresPerSecond),
                    Tolerance::Within(most),
                ) => {
                    let scale = units.scale(unit);
                    let form = Form::new(scale.stored_per_shown, scale.sign, |own| usize::from(own < 9.95));
                    form.against(amount.abs(), Some(most))
                }
                (unit, Tolerance::Within(most)) => {
                    Form::of_in(unit, units.gsd_unit()).against(amount.abs(), Some(most))
                }
                _ => figure_text(step, amount.abs(), units),
            };
            format!("{} {}", text.trim_start_matches('+'), way(amount > 0.0))
        }
    }
}

/// Within what a guess is near, in words.
pub fn tolerance_text(tolerance: Tolerance, step: &LessonStep, units: Units) -> String {
    match tolerance {
        Tolerance::Points(points) => format!("near: within {} points", short(points)),
        Tolerance::Factor(factor) => format!("near: within a factor of {}", short(factor)),
        Tolerance::Within(amount) => {
            format!("near: within {}", figure_text(step, amount, units).trim_start_matches('+'))
        }
    }
}

/// What may be typed as a guess at a step's figure.
pub fn guess_field(step: &LessonStep, units: Units) -> EntryField {
    let unit = asked_unit(step);
    let range = match (step.asked.of, unit) {
        (AskedOf::Difference { .. }, Unit::Share) => -1.0..=1.0,
        (AskedOf::Difference { .. }, _) | (AskedOf::Strategy(_), Unit::Money | Unit::MoneyPerHectare) => {
            -1e9..=1e9
        }
        (_, Unit::Share) => 0.0..=1.0,
        _ => 0.0..=1e9,
    };
    EntryField { unit, units, range, decimals: 3, kind: EntryKind::Any }
}

/// A lesson as text: its questions without any figure.
pub fn lesson_text(lesson: &Lesson, units: Units) -> String {
    let mut text = format!("{}\n", lesson.name);
    if !lesson.note.is_empty() {
        let _ = writeln!(text, "{}", lesson.note);
    }
    for (k, step) in lesson.steps.iter().enumerate() {
        let _ = write!(text, "\n{}. {}\n", k + 1, step.text);
        if let Some(settings) = settings_text(lesson, step, units) {
            let _ = writeln!(text, "   {settings}");
        }
        let question = question_text(lesson, step, units);
        let _ = writeln!(text, "   {question} ({})", tolerance_text(step.tolerance, step, units));
        if let Some(moves) = &step.moves
            && let Some(knob) = knob_called(&moves.knob)
        {
            let (from, to) = (units.text(knob.unit, moves.from), units.text(knob.unit, moves.to));
            let _ = writeln!(text, "   Then {} may be moved from {from} to {to}.", within(knob.whole));
        }
    }
    text
}

/// A lesson as JSON: its questions, and of each the figure where it is given.
pub fn lesson_json(lesson: &Lesson, figures: &[Option<f64>]) -> Value {
    let one = |(k, step): (usize, &LessonStep)| {
        let mut value = json!({
            "step": k + 1,
            "text": step.text,
            "question": question_text(lesson, step, Units::Metric),
            "measure": step.asked.measure,
        });
        if let Some(figure) = figures.get(k) {
            value["figure"] = json!(figure);
            value["after"] = json!(step.after);
        }
        value
    };
    let steps: Vec<Value> = lesson.steps.iter().enumerate().map(one).collect();
    json!({ "lesson": lesson.name, "mark": lesson_mark(lesson), "steps": steps })
}
