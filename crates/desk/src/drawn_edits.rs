//! What is asked for by drawing, done to the document; drawing is told what became of it.

use crate::amendment::{Amendment, Part, Subject, Terms};
use crate::document::{Document, Edit, EditError};
use crate::passes::{added, new_pass};
use crate::plan::draw::{Draw, DrawAsk, Merge, Outlines};
use crate::target::Target;
use glam::DVec2;
use obliquity_planning::{Id, Pass, Pattern, PatternKind, Scenario};
use std::sync::Arc;

/// Does everything that drawing has asked for; a line goes to the corridor of the strategy in focus.
pub fn follow(document: &mut Document, draw: &mut Draw, focus: Option<Id>) {
    for ask in draw.take_asks() {
        let done = match ask {
            DrawAsk::Put { what, outlines, merge } => put(document, &what, &outlines, &merge),
            DrawAsk::NewLine(line_m) => put_line(document, draw, focus, &line_m),
            DrawAsk::LetGo => {
                // Where it stays, the gesture ends as every other.
                if draw.let_go_of().is_some() {
                    document.abandon_gesture();
                }
                continue;
            }
            DrawAsk::GoBack => {
                document.abandon_gesture();
                continue;
            }
        };
        match done {
            Ok(()) => draw.accepted(),
            Err(why) => draw.refused(&why),
        }
    }
}

fn put(document: &mut Document, what: &Subject, outlines: &Outlines, merge: &Merge) -> Result<(), String> {
    let before = Arc::clone(document.scenario());
    let Some(part) = changed_part(&before, outlines) else { return Ok(()) };
    let edit = Edit::Amend(Amendment { what: what.clone(), part });
    match merge {
        Merge::Own => document.edit(&edit),
        Merge::Onto(label) => document.edit_onto(&edit, label),
    }
    .map_err(sentence)?;
    count_control_points(document, &before, what)
}

/// The part of the scenario that is drawn differently; nothing where all is as it was.
fn changed_part(scenario: &Scenario, outlines: &Outlines) -> Option<Part> {
    if *outlines.site != *scenario.site {
        return Some(Part::Site(Arc::clone(&outlines.site)));
    }
    let strategy = scenario.strategy(outlines.strategy?)?;
    if outlines.take_offs_m != strategy.take_offs_m {
        return Some(Part::TakeOffs(strategy.id, outlines.take_offs_m.clone()));
    }
    let mut passes = strategy.passes.clone();
    for (id, line_m) in &outlines.lines {
        let pass = passes.iter_mut().find(|pass| pass.id == *id);
        if let Some(Pass { pattern: Pattern::Corridor(corridor), .. }) = pass {
            corridor.line_m.clone_from(line_m);
        }
    }
    (passes != strategy.passes).then_some(Part::Passes(strategy.id, passes))
}

/// Where as many control points are reckoned with as have their places, or fewer, their number follows.
fn count_control_points(document: &mut Document, before: &Scenario, what: &Subject) -> Result<(), String> {
    let places = |scenario: &Scenario| u32::try_from(scenario.site.control_points.len()).unwrap_or(u32::MAX);
    let (had, has) = (places(before), places(document.scenario()));
    let counted = document.scenario().conditions.control_points;
    if had == has || (counted != had && counted >= has) {
        return Ok(());
    }
    let mut terms = Terms::of(document.scenario());
    terms.conditions.control_points = has;
    let edit = Edit::Amend(Amendment { what: what.clone(), part: Part::Terms(Box::new(terms)) });
    document.edit_onto(&edit, what.label()).map_err(sentence)
}

/// Gives the strategy's corridor a line; where it has none, it gets one.
fn put_line(
    document: &mut Document,
    draw: &mut Draw,
    focus: Option<Id>,
    line_m: &[DVec2],
) -> Result<(), String> {
    let scenario = Arc::clone(document.scenario());
    let strategy = focus.and_then(|id| scenario.strategy(id));
    let strategy = strategy.ok_or("There is no strategy that could fly along it.")?;
    let mut passes = strategy.passes.clone();
    let corridor = passes.iter_mut().find(|pass| matches!(pass.pattern, Pattern::Corridor(_)));
    let pass = if let Some(pass) = corridor {
        set_line(pass, line_m);
        pass.id
    } else {
        let mut pass = new_pass(&scenario, strategy, PatternKind::Corridor)?;
        set_line(&mut pass, line_m);
        let id = pass.id;
        passes = added(&passes, None, pass);
        id
    };
    let target = Target::Line { strategy: strategy.id, pass };
    let what = Subject::drawn(target, format!("draw the corridor line of {}", strategy.name));
    let part = Part::Passes(strategy.id, passes);
    document.edit(&Edit::Amend(Amendment { what, part })).map_err(sentence)?;
    draw.choose(Some(target));
    Ok(())
}

fn set_line(pass: &mut Pass, line_m: &[DVec2]) {
    if let Pattern::Corridor(corridor) = &mut pass.pattern {
        corridor.line_m = line_m.to_vec();
    }
}

/// An error as a sentence: with a capital and a full stop.
#[expect(clippy::needless_pass_by_value, reason = "it is what map_err gives")]
fn sentence(error: EditError) -> String {
    let text = error.to_string();
    let mut letters = text.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}
