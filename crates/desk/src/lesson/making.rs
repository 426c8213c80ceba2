//! Making a lesson: its steps to the left, the one that is chosen to the right. No figure stands here.

use crate::form::{self, Enabled, Kind, Named};
use crate::theme::{self, space};
use egui::{Button, CentralPanel, Frame, RichText, ScrollArea, TextEdit, Ui};
use obliquity_exchange::{asked_unit, question_text, settings_text};
use obliquity_planning::lesson::{
    Asked, AskedOf, Lesson, LessonStep, MOST_STEPS, MOST_TEXT, StepKnob, StepSetting, Tolerance, knob_called,
};
use obliquity_planning::limits::Range;
use obliquity_planning::{At, Fault, Id, Knob, MEASURES, Measure, Scenario, Unit, Units, knobs};

/// A change of the lesson: what it is called, what makes it one step with the one before, and the lesson after it.
pub(crate) struct LessonEdit {
    pub(crate) label: String,
    pub(crate) key: Option<String>,
    pub(crate) lesson: Lesson,
}

/// What was asked for.
pub(crate) enum MakingAsk {
    Edit(Box<LessonEdit>),
    Choose(usize),
    Teach,
    Save,
}

/// Width of the list of steps.
const LIST: f32 = 330.0;

/// How many values an input is moved through at first.
const VALUES: u32 = 7;

/// Any number that a lesson holds.
const FACTOR: Range =
    Range { what: "the factor", least: 1.001, most: 100.0, mend: "write 1.25 for a quarter" };
const POINTS: Range = Range { what: "the points", least: 0.1, most: 100.0, mend: "write percentage points" };
const AMOUNT: Range = Range { what: "the amount", least: 1e-6, most: 1e9, mend: "write an amount above 0" };
const COUNT: Range = Range { what: "how many values", least: 2.0, most: 41.0, mend: "write how many" };

/// A step to begin with: the first figure of the first strategy that a requirement is about.
pub(crate) fn first_step(scenario: &Scenario) -> LessonStep {
    let asked = Asked {
        measure: "time_on_site_s".to_owned(),
        of: AskedOf::Strategy(scenario.strategies.first().map_or(Id(1), |own| own.id)),
    };
    LessonStep {
        text: "What is asked, and what one must know to guess it.".to_owned(),
        tolerance: Tolerance::usual(&asked, Unit::Seconds),
        asked,
        settings: Vec::new(),
        told: Vec::new(),
        moves: None,
        after: String::new(),
    }
}

/// Draws it; gives what was asked for.
pub(crate) fn making(
    ui: &mut Ui,
    (lesson, faults): (&Lesson, &[Fault]),
    chosen: usize,
    units: Units,
) -> Option<MakingAsk> {
    let mut ask = None;
    let page = Frame::new().fill(theme::of(ui).page).inner_margin(space::PAGE);
    CentralPanel::default().frame(page).show(ui, |ui| {
        ui.horizontal_top(|ui| {
            let high = ui.available_height();
            ui.vertical(|ui| {
                ui.set_width(LIST);
                ScrollArea::vertical().id_salt("steps of the lesson").max_height(high).show(ui, |ui| {
                    ask = list(ui, (lesson, faults), chosen, units);
                });
            });
            ui.add_space(space::GROUP);
            ui.vertical(|ui| {
                ScrollArea::vertical().id_salt("step of the lesson").max_height(high).show(ui, |ui| {
                    ui.set_max_width(720.0);
                    if let Some(edit) = step(ui, lesson, chosen, units) {
                        ask = Some(MakingAsk::Edit(Box::new(edit)));
                    }
                });
            });
        });
    });
    ask
}

fn edited(label: &str, key: Option<String>, lesson: &Lesson, change: impl FnOnce(&mut Lesson)) -> LessonEdit {
    let mut next = lesson.clone();
    change(&mut next);
    LessonEdit { label: label.to_owned(), key, lesson: next }
}

fn list(
    ui: &mut Ui,
    (lesson, faults): (&Lesson, &[Fault]),
    chosen: usize,
    units: Units,
) -> Option<MakingAsk> {
    let mut ask = None;
    let edit = |edit: LessonEdit| Some(MakingAsk::Edit(Box::new(edit)));
    form::card(ui, "Lesson", "Its name and what it teaches stand on the first page.", |ui| {
        if let Some(name) = text(ui, "Name", "Name of the lesson", &lesson.name, 1) {
            ask = edit(edited("lesson's name", Some("name".to_owned()), lesson, |next| next.name = name));
        }
        if let Some(note) = text(ui, "What it teaches", "What the lesson teaches", &lesson.note, 3) {
            ask = edit(edited("what the lesson teaches", Some("note".to_owned()), lesson, |next| {
                next.note = note;
            }));
        }
        ui.horizontal(|ui| {
            if ui
                .button("Teach it (F10)")
                .on_hover_text("Show its pages; other screens are shut until it is over")
                .clicked()
            {
                ask = Some(MakingAsk::Teach);
            }
            if ui
                .button("Save the lesson")
                .on_hover_text("Into a file of its own, the scenario in it")
                .clicked()
            {
                ask = Some(MakingAsk::Save);
            }
        });
    });
    ui.add_space(space::ROW);
    form::card(ui, "Steps", "One question each, in this order.", |ui| {
        for (k, own) in lesson.steps.iter().enumerate() {
            let set = settings_text(lesson, own, units).map_or_else(String::new, |set| format!(" – {set}"));
            let name = format!("{}. {}{set}", k + 1, question_text(lesson, own, units));
            let button = ui.add(Button::selectable(k == chosen, name.as_str()).wrap());
            form::spoken(ui, &button, &name);
            if button.clicked() {
                ask = Some(MakingAsk::Choose(k));
            }
        }
        let last = lesson.steps.len().saturating_sub(1);
        ui.horizontal_wrapped(|ui| {
            let can = |holds: bool| Enabled::when(|| holds);
            if form::small(
                ui,
                "Add",
                "Add a step",
                "A copy of the chosen step, after it: set something otherwise",
                can(last + 1 < MOST_STEPS),
            ) {
                let at = if lesson.steps.is_empty() { 0 } else { chosen + 1 };
                // What follows is mostly about the same.
                let own = lesson.steps.get(chosen).cloned().unwrap_or_else(|| first_step(&lesson.scenario));
                let own = LessonStep { text: first_step(&lesson.scenario).text, after: String::new(), ..own };
                ask = edit(edited("add a step", None, lesson, |next| next.steps.insert(at, own)));
            }
            if form::small(ui, "Remove", "Remove the step", "Take the chosen step away", can(last > 0)) {
                ask = edit(edited("remove a step", None, lesson, |next| drop(next.steps.remove(chosen))));
            }
            if form::small(ui, "Up", "Move the step up", "Ask it earlier", can(chosen > 0)) {
                ask = edit(edited("move a step", None, lesson, |next| next.steps.swap(chosen, chosen - 1)));
            }
            if form::small(ui, "Down", "Move the step down", "Ask it later", can(chosen < last)) {
                ask = edit(edited("move a step", None, lesson, |next| next.steps.swap(chosen, chosen + 1)));
            }
        });
    });
    ui.add_space(space::ROW);
    in_the_way(ui, faults);
    ask
}

fn in_the_way(ui: &mut Ui, faults: &[Fault]) {
    if faults.is_empty() {
        form::muted(ui, "Ready to be saved and taught.");
        return;
    }
    form::card(ui, "To mend before it can be saved", "", |ui| {
        for fault in faults.iter().take(8) {
            let step = fault
                .path
                .strip_prefix("steps[")
                .and_then(|rest| rest.split(']').next()?.parse::<usize>().ok());
            let place = step.map_or_else(String::new, |step| format!("Step {}: ", step + 1));
            let text = RichText::new(format!("{place}{}", fault.message)).color(theme::of(ui).bad);
            ui.add(egui::Label::new(text).wrap());
        }
    });
}

/// A text of one or more lines; gives what it was changed to.
fn text(ui: &mut Ui, name: &str, spoken: &str, own: &str, rows: usize) -> Option<String> {
    let mut typed = own.to_owned();
    let label = ui.label(RichText::new(name).color(theme::of(ui).muted));
    let wide = ui.available_width();
    let field = if rows == 1 {
        TextEdit::singleline(&mut typed)
    } else {
        TextEdit::multiline(&mut typed).desired_rows(rows)
    };
    let response = ui.add(field.desired_width(wide).id_salt(spoken)).labelled_by(label.id);
    form::spoken(ui, &response, spoken);
    (typed != own).then_some(typed)
}

fn step(ui: &mut Ui, lesson: &Lesson, chosen: usize, units: Units) -> Option<LessonEdit> {
    let own = lesson.steps.get(chosen)?;
    let mut next = own.clone();
    let mut what: Option<(&str, Option<&str>)> = None;
    form::card(ui, &format!("Step {}", chosen + 1), "", |ui| {
        let hint = format!("Before the guess, at most {MOST_TEXT} characters");
        if let Some(typed) = text(ui, &hint, "Text before the guess", &own.text, 4) {
            next.text = typed;
            what = Some(("text of a step", Some("text")));
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "What is guessed", "The figure stays hidden until it is revealed.", |ui| {
        if asked(ui, &lesson.scenario, &mut next) {
            what = Some(("what a step asks", None));
        }
        if tolerance(ui, own, &mut next, units) {
            what = Some(("tolerance of a step", Some("tolerance")));
        }
        if told(ui, &lesson.scenario, &mut next) {
            what = Some(("what a step tells", None));
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "Set for this step", "Otherwise everything is as in the scenario.", |ui| {
        if settings(ui, &lesson.scenario, &mut next, units) {
            what = Some(("settings of a step", Some("settings")));
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "Moved after the reveal", "One input, by the arrows left and right.", |ui| {
        if moves(ui, &lesson.scenario, &mut next, units) {
            what = Some(("input of a step", Some("moves")));
        }
    });
    ui.add_space(space::ROW);
    form::card(ui, "After the reveal", "", |ui| {
        if let Some(typed) = text(ui, "Why it is so", "Text after the reveal", &own.after, 4) {
            next.after = typed;
            what = Some(("text of a step", Some("after")));
        }
    });
    let (label, key) = what?;
    let key = key.map(|key| format!("{key} {chosen}"));
    Some(edited(label, key, lesson, |lesson| lesson.steps[chosen] = next))
}

/// The names of the strategies, with their identifiers.
fn strategies(scenario: &Scenario) -> Vec<(Id, String)> {
    scenario.strategies.iter().map(|own| (own.id, own.name.clone())).collect()
}

/// A choice of a strategy; gives another one that was chosen.
fn strategy(ui: &mut Ui, scenario: &Scenario, (name, spoken): (&str, &str), own: Id) -> Option<Id> {
    let all = strategies(scenario);
    let names: Vec<(&str, &str)> = all.iter().map(|(_, name)| (name.as_str(), "")).collect();
    let at = all.iter().position(|(id, _)| *id == own);
    form::choice(ui, Named { name, spoken, hint: "" }, &names, at).map(|at| all[at].0)
}

fn asked(ui: &mut Ui, scenario: &Scenario, next: &mut LessonStep) -> bool {
    let rows: Vec<&Measure> = MEASURES.iter().collect();
    let choices: Vec<(&str, &str)> = rows.iter().map(|row| (row.name, row.explanation)).collect();
    let at = rows.iter().position(|row| row.key == next.asked.measure);
    let named = Named { name: "Figure", spoken: "Figure that is guessed", hint: "" };
    let mut changed = false;
    if let Some(at) = form::long_choice(ui, named, &[("Figures", choices)], at) {
        rows[at].key.clone_into(&mut next.asked.measure);
        changed = true;
    }
    let others = strategies(scenario);
    let (kind, one) = match next.asked.of {
        AskedOf::Strategy(id) => (0, id),
        AskedOf::Difference { of, .. } => (1, of),
        AskedOf::Ratio { of, .. } => (2, of),
    };
    let kinds = [
        ("of one strategy", ""),
        ("difference of two", "By how much one's is more than the other's"),
        ("ratio of two", "How many times the other's one's is"),
    ];
    let named = Named { name: "Guessed is", spoken: "What of the figure is guessed", hint: "" };
    let other = match next.asked.of {
        AskedOf::Difference { less: other, .. } | AskedOf::Ratio { over: other, .. } => Some(other),
        AskedOf::Strategy(_) => None,
    };
    let usual = others.iter().map(|(id, _)| *id).find(|id| *id != one).unwrap_or(one);
    let build = |kind: usize, one: Id, other: Id| match kind {
        0 => AskedOf::Strategy(one),
        1 => AskedOf::Difference { of: one, less: other },
        _ => AskedOf::Ratio { of: one, over: other },
    };
    if let Some(kind) = form::choice(ui, named, &kinds, Some(kind)) {
        next.asked.of = build(kind, one, other.unwrap_or(usual));
        changed = true;
    }
    if let Some(one) = strategy(ui, scenario, ("Strategy", "Strategy that is asked about"), one) {
        next.asked.of = build(kind, one, other.unwrap_or(usual));
        changed = true;
    }
    if let Some(other) = other
        && let Some(other) = strategy(ui, scenario, ("Beside", "Strategy beside it"), other)
    {
        next.asked.of = build(kind, one, other);
        changed = true;
    }
    if changed {
        let unit = next.measure().map_or(Unit::Count, |row| row.unit);
        next.tolerance = Tolerance::usual(&next.asked, unit);
        let asked = next.asked.of.strategies();
        next.told.retain(|id| !asked.contains(id));
    }
    changed
}

fn tolerance(ui: &mut Ui, own: &LessonStep, next: &mut LessonStep, units: Units) -> bool {
    let (name, unit, range) = match own.tolerance {
        Tolerance::Points(_) => ("Near within, points", Unit::Count, POINTS),
        Tolerance::Factor(_) => ("Near within, a factor of", Unit::Coefficient, FACTOR),
        Tolerance::Within(_) => ("Near within", asked_unit(own), AMOUNT),
    };
    let named = Named { name, spoken: "Tolerance of the guess", hint: "A guess within it counts as near" };
    let kind = Kind { unit, range, decimals: 2 };
    match form::number(ui, named, kind, own.tolerance.number(), units) {
        Some(number) => {
            next.tolerance = own.tolerance.with(number);
            true
        }
        None => false,
    }
}

/// Which strategies' same figures are told with the question.
fn told(ui: &mut Ui, scenario: &Scenario, next: &mut LessonStep) -> bool {
    let asked = next.asked.of.strategies();
    let mut changed = false;
    for (id, name) in strategies(scenario).into_iter().filter(|(id, _)| !asked.contains(id)) {
        let mut is_told = next.told.contains(&id);
        if ui.checkbox(&mut is_told, format!("Tell that of {name} with the question")).changed() {
            next.told.retain(|own| *own != id);
            if is_told {
                next.told.push(id);
            }
            changed = true;
        }
    }
    changed
}

/// The inputs that a scenario has, by part, with whole names.
fn inputs(scenario: &Scenario, strategy: Option<Id>) -> Vec<Knob> {
    let has = |knob: &Knob| {
        let places = knob.places(scenario);
        match strategy {
            None => !places.is_empty(),
            Some(id) => places.iter().any(|at| is_of(scenario, *at, id)),
        }
    };
    knobs().filter(has).collect()
}

fn is_of(scenario: &Scenario, at: At, strategy: Id) -> bool {
    let Some(own) = scenario.strategy(strategy) else { return false };
    match at {
        At::Pass(id) | At::Attitude(id, _) => own.passes.iter().any(|pass| pass.id == id),
        At::Strategy(id) => id == strategy,
        At::Aircraft(id) => own.aircraft == id,
        At::Structure(_) | At::Scenario => false,
    }
}

/// On what an input is set: everywhere, or on one strategy; whether that was changed.
fn place(ui: &mut Ui, scenario: &Scenario, spoken: &str, own: &mut Option<Id>) -> bool {
    let all = strategies(scenario);
    let mut names: Vec<(&str, &str)> = vec![("everywhere", "On all strategies, or on the scenario")];
    names.extend(all.iter().map(|(_, name)| (name.as_str(), "")));
    let at = own.map_or(Some(0), |own| all.iter().position(|(id, _)| *id == own).map(|at| at + 1));
    let named = Named { name: "On", spoken, hint: "" };
    let Some(at) = form::choice(ui, named, &names, at) else { return false };
    *own = at.checked_sub(1).map(|at| all[at].0);
    true
}

/// A choice of an input; gives another one that was chosen.
fn input(ui: &mut Ui, scenario: &Scenario, spoken: &str, key: &str, on: Option<Id>) -> Option<Knob> {
    let all = inputs(scenario, on);
    let choices: Vec<(&str, &str)> = all.iter().map(|knob| (knob.whole, knob.explanation)).collect();
    let at = all.iter().position(|knob| knob.id.0 == key);
    let named = Named { name: "Input", spoken, hint: "" };
    form::long_choice(ui, named, &[("Inputs", choices)], at).map(|at| all[at])
}

/// Where an input stands in the scenario, on one strategy or everywhere.
fn present(scenario: &Scenario, knob: &Knob, on: Option<Id>) -> f64 {
    let places = knob.places(scenario).into_iter();
    let own = places.filter(|at| on.is_none_or(|id| is_of(scenario, *at, id)));
    own.filter_map(|at| knob.get(scenario, at)).next_back().unwrap_or(knob.range.least)
}

fn value(ui: &mut Ui, key: &str, (name, spoken): (&str, &str), own: f64, units: Units) -> Option<f64> {
    let knob = knob_called(key)?;
    let kind = Kind { unit: knob.unit, range: Range { ..knob.range }, decimals: knob.decimals.max(1) };
    form::number(ui, Named { name, spoken, hint: knob.explanation }, kind, own, units)
}

fn settings(ui: &mut Ui, scenario: &Scenario, next: &mut LessonStep, units: Units) -> bool {
    let mut changed = false;
    let mut gone = None;
    for (k, setting) in next.settings.iter_mut().enumerate() {
        let of = |what: &str| format!("{what} of setting {}", k + 1);
        changed |= place(ui, scenario, &of("Place"), &mut setting.strategy);
        if let Some(knob) = input(ui, scenario, &of("Input"), &setting.knob, setting.strategy) {
            knob.id.0.clone_into(&mut setting.knob);
            setting.value = present(scenario, &knob, setting.strategy);
            changed = true;
        }
        if let Some(own) = value(ui, &setting.knob.clone(), ("Value", &of("Value")), setting.value, units) {
            setting.value = own;
            changed = true;
        }
        if form::small(ui, "Remove", &of("Remove"), "As in the scenario again", Enabled::Yes) {
            gone = Some(k);
        }
        ui.add_space(space::TIGHT);
    }
    if let Some(k) = gone {
        next.settings.remove(k);
        changed = true;
    }
    if form::small(ui, "Add a setting", "Add a setting", "An input that is set otherwise here", Enabled::Yes)
    {
        let on = next.asked.of.strategies().first().copied();
        if let Some(knob) = inputs(scenario, on)
            .into_iter()
            .find(|knob| knob.id.0.ends_with("sidelap"))
            .or_else(|| inputs(scenario, on).into_iter().next())
        {
            let value = present(scenario, &knob, on);
            next.settings.push(StepSetting { knob: knob.id.0.to_owned(), strategy: on, value });
            changed = true;
        }
    }
    changed
}

fn moves(ui: &mut Ui, scenario: &Scenario, next: &mut LessonStep, units: Units) -> bool {
    let mut is_moved = next.moves.is_some();
    if ui.checkbox(&mut is_moved, "An input may be moved once the figure is revealed").changed() {
        // what the step sets is mostly what it is about
        let set = next.settings.iter().find_map(|own| {
            let knob = inputs(scenario, own.strategy).into_iter().find(|knob| knob.id.0 == own.knob)?;
            Some(around_value(&knob, own.strategy, own.value))
        });
        let on = next.asked.of.strategies().first().copied();
        let sidelap = || {
            let knob = inputs(scenario, on).into_iter().find(|knob| knob.id.0.ends_with("sidelap"))?;
            Some(around(scenario, &knob, on))
        };
        next.moves = is_moved.then(|| set.or_else(sidelap)).flatten();
        return true;
    }
    let Some(own) = &mut next.moves else { return false };
    let mut changed = false;
    changed |= place(ui, scenario, "Place of the moved input", &mut own.strategy);
    if let Some(knob) = input(ui, scenario, "Input that is moved", &own.knob, own.strategy) {
        *own = around(scenario, &knob, own.strategy);
        changed = true;
    }
    let key = own.knob.clone();
    if let Some(from) = value(ui, &key, ("From", "First value of the moved input"), own.from, units) {
        own.from = from;
        changed = true;
    }
    if let Some(to) = value(ui, &key, ("To", "Last value of the moved input"), own.to, units) {
        own.to = to;
        changed = true;
    }
    let named =
        Named { name: "Values", spoken: "How many values of the moved input", hint: "Both ends included" };
    let kind = Kind { unit: Unit::Count, range: COUNT, decimals: 0 };
    if let Some(count) = form::number(ui, named, kind, f64::from(own.values), units) {
        own.values = count.round() as u32;
        changed = true;
    }
    changed
}

/// An input with some values about where it stands.
fn around(scenario: &Scenario, knob: &Knob, on: Option<Id>) -> StepKnob {
    let at = present(scenario, knob, on);
    around_value(knob, on, at)
}

/// The same about a value, which is one of them.
fn around_value(knob: &Knob, on: Option<Id>, at: f64) -> StepKnob {
    // of a narrow range a part
    let step = (10.0 * knob.key_step()).min((knob.range.most - knob.range.least) / f64::from(VALUES - 1));
    let most = f64::from(VALUES / 2);
    let steps = |room: f64| (room / step + 1e-9).floor().clamp(0.0, most);
    let (down, up) = (steps(at - knob.range.least), steps(knob.range.most - at));
    let (from, to) = (knob.range.nearest(at - down * step), knob.range.nearest(at + up * step));
    StepKnob { knob: knob.id.0.to_owned(), strategy: on, from, to, values: (down + up) as u32 + 1 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files;

    /// Derived: whatever input is chosen, wherever it stands, the values that it is moved through at first can be set.
    #[test]
    fn every_input_can_be_moved_about_where_it_stands() {
        let scenario = files::demo().unwrap();
        let mut seen = 0;
        for on in scenario.strategies.iter().map(|own| Some(own.id)).chain([None]) {
            for knob in inputs(&scenario, on) {
                let range = knob.range;
                for at in [present(&scenario, &knob, on), range.least, range.most, 0.3, 0.68] {
                    let own = around_value(&knob, on, range.nearest(at));
                    let all = own.all();
                    assert!(own.values >= 2 && own.from < own.to, "{}: {own:?}", knob.id.0);
                    assert!(
                        all.iter().all(|value| range.nearest(*value) == *value),
                        "{}: {all:?}",
                        knob.id.0
                    );
                    seen += 1;
                }
            }
        }
        assert!(seen > 100, "{seen}");
    }
}
