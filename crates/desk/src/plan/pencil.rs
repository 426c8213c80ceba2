//! Pointer and keys over the plan, given to drawing; what drawing leaves moves the plan.

use super::draw::{DrawKey, DrawView, Hold, KeyUse, Outlines, Run, Snapping, Stride, Tool};
use super::state::PlanState;
use crate::canvas::Canvas;
use crate::units::Units;
use egui::{CursorIcon, Event, EventFilter, Key, Modifiers, PointerButton, Response, Ui};
use glam::DVec2;

/// What is nearer to the pointer than this is meant, in points.
pub(super) const REACH: f32 = 9.0;

/// Over a picture, whose edges are what is followed, a right angle is meant from this near only.
const ANGLE_REACH_OVER_PICTURE: f32 = 4.0;

/// Draws with pointer and keys, and moves the plan with what is left of them.
pub(super) fn follow(
    ui: &Ui,
    response: &Response,
    bounds_m: (DVec2, DVec2),
    (outlines, units): (&Outlines, Units),
    state: &mut PlanState,
) -> KeysLeft {
    let canvas = state.canvas.unwrap_or_else(|| Canvas::fitted(bounds_m, response.rect));
    let off = ui.input(|input| input.modifiers.command);
    let angle_reach = if state.backdrop.is_some() { ANGLE_REACH_OVER_PICTURE } else { REACH };
    let seen = DrawView {
        outlines,
        reach_m: f64::from(REACH) / canvas.points_per_m,
        angle_reach_m: f64::from(angle_reach) / canvas.points_per_m,
        snapping: if off { Snapping::Off } else { Snapping::On },
        units,
    };
    state.draw.follow(outlines);
    if std::mem::take(&mut state.wants_focus) {
        response.request_focus();
    }
    // A key that presses what has focus is no click.
    let clicked = response.clicked_by(PointerButton::Primary);
    let at = |pos| canvas.to_site(pos, response.rect);
    let space = ui.input(|input| input.key_down(Key::Space));
    if response.drag_started_by(PointerButton::Primary) && !space {
        let from = ui.input(|input| input.pointer.press_origin());
        let taken = from.map(|pos| state.draw.take_hold(seen, at(pos)));
        if taken == Some(Hold::Taken) {
            response.request_focus();
        }
    }
    let pointer = response.hover_pos().or_else(|| response.interact_pointer_pos());
    let moved = ui.input(|input| input.pointer.delta() != egui::Vec2::ZERO || input.pointer.any_down());
    if let Some(pos) = pointer.filter(|_| moved || clicked) {
        state.draw.pointer(seen, at(pos));
    }
    if response.drag_stopped_by(PointerButton::Primary) {
        match pointer {
            Some(pos) => state.draw.release(seen, at(pos)),
            None => state.draw.let_go(),
        }
    }
    if clicked {
        response.request_focus();
        if let Some(pos) = response.interact_pointer_pos() {
            state.draw.click(seen, at(pos));
        }
    } else if response.secondary_clicked() && state.draw.is_drawing() {
        state.draw.key(seen, DrawKey::Enter);
    }
    state.pointed_m = pointer.map(at);
    let typed_before = !state.draw.typed().is_empty();
    let listens =
        response.has_focus() || (response.hovered() && ui.memory(|memory| memory.focused().is_none()));
    if listens && !ui.ctx().text_edit_focused() {
        keys(ui, response, seen, state);
    }
    let busy = state.draw.held().is_some() || !state.draw.placed_m().is_empty();
    if busy {
        // What is drawn makes the fitted plan another one: it stays as it is looked at now.
        state.canvas = Some(canvas);
    }
    cursor(ui, response, seen, at, state);
    let keeps_keys = typed_before || !state.draw.typed().is_empty();
    if keeps_keys { KeysLeft::None } else { KeysLeft::All }
}

/// Whether keys are left to move the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum KeysLeft {
    /// They are.
    All,
    /// They are letters of a number.
    None,
}

fn keys(ui: &Ui, response: &Response, seen: DrawView<'_>, state: &mut PlanState) {
    let filter = EventFilter { tab: true, horizontal_arrows: true, vertical_arrows: true, escape: true };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let has_focus = response.has_focus();
    let events = ui.input(|input| input.events.clone());
    let mut used = Vec::new();
    for (at, event) in events.iter().enumerate() {
        let taken = match event {
            Event::Key { key, pressed: true, repeat, modifiers, .. } => {
                meant(*key, *modifiers, *repeat, has_focus).map(|key| state.draw.key(seen, key))
            }
            Event::Text(text) => letters(text, seen, state),
            _ => None,
        };
        if taken == Some(KeyUse::Used) {
            used.push(at);
        }
    }
    if !used.is_empty() {
        ui.input_mut(|input| {
            let mut at = 0;
            input.events.retain(|_| {
                at += 1;
                !used.contains(&(at - 1))
            });
        });
    }
}

/// What a key means to drawing.
fn meant(key: Key, modifiers: Modifiers, repeat: bool, has_focus: bool) -> Option<DrawKey> {
    if modifiers.command || modifiers.alt {
        return None;
    }
    let stride = if modifiers.shift { Stride::Fine } else { Stride::Whole };
    let run = if repeat { Run::Held } else { Run::First };
    let nudge = |way: DVec2| Some(DrawKey::Nudge { way, stride, run });
    match key {
        Key::ArrowLeft => nudge(DVec2::NEG_X),
        Key::ArrowRight => nudge(DVec2::X),
        Key::ArrowUp => nudge(DVec2::Y),
        Key::ArrowDown => nudge(DVec2::NEG_Y),
        Key::Enter => Some(DrawKey::Enter),
        Key::Backspace => Some(DrawKey::Back),
        Key::Delete => Some(DrawKey::Delete),
        Key::Escape => Some(DrawKey::Escape),
        Key::Insert => Some(DrawKey::Insert),
        Key::Tab if has_focus => Some(if modifiers.shift { DrawKey::Previous } else { DrawKey::Next }),
        _ => None,
    }
}

/// Letters: tools, turning, copying, or numbers once one has begun.
fn letters(text: &str, seen: DrawView<'_>, state: &mut PlanState) -> Option<KeyUse> {
    let mut used = None;
    for letter in text.chars() {
        let draw = &mut state.draw;
        let typing = !draw.typed().is_empty();
        let key = match letter {
            _ if typing => DrawKey::Letter(letter),
            // These zoom and fit the plan where no number has begun; a place may begin with 0.
            '+' | '-' | '=' | ' ' => continue,
            '0' if !draw.is_drawing() => continue,
            'q' => DrawKey::Turn(-1.0, Stride::Whole),
            'e' => DrawKey::Turn(1.0, Stride::Whole),
            'Q' => DrawKey::Turn(-1.0, Stride::Fine),
            'E' => DrawKey::Turn(1.0, Stride::Fine),
            'y' | 'Y' => DrawKey::Copy,
            _ => DrawKey::Letter(letter),
        };
        used = Some(draw.key(seen, key));
    }
    used
}

fn cursor(
    ui: &Ui,
    response: &Response,
    seen: DrawView<'_>,
    at: impl Fn(egui::Pos2) -> DVec2,
    state: &PlanState,
) {
    use super::draw::Under;
    let Some(pos) = response.hover_pos() else { return };
    let icon = if state.draw.held().is_some() {
        CursorIcon::Grabbing
    } else if state.draw.tool() != Tool::Select {
        CursorIcon::Crosshair
    } else {
        match seen.outlines.under(at(pos), seen.reach_m, state.draw.chosen()) {
            Under::Corner(..) | Under::Turn(_) => CursorIcon::Grab,
            Under::Middle(..) => CursorIcon::Copy,
            Under::Shape(target) if target.is_point() || state.draw.chosen() == Some(target) => {
                CursorIcon::Move
            }
            Under::Shape(_) => CursorIcon::PointingHand,
            Under::Nothing => return,
        }
    };
    ui.ctx().set_cursor_icon(icon);
}
