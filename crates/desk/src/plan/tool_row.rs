//! The row of tools over the plan, and the line of help at its foot.

use super::draw::{DrawForm, FORMS, Outlines, TOOLS, Tool, hint, spoken};
use super::state::PlanState;
use crate::canvas::Canvas;
use crate::target::Target;
use crate::theme::{self, space};
use crate::units::Units;
use egui::{
    Color32, Label, Painter, Pos2, Rect, Response, RichText, Role, Sense, Shape, Stroke, StrokeKind, Ui,
    UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};

/// Height of a tool's button.
const BUTTON: f32 = 26.0;
/// Of its picture.
const ICON: f32 = 15.0;
/// Of the line at the foot.
pub(super) const FOOT: f32 = 18.0;

/// How much room a button has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Faces {
    /// Picture and name.
    Named,
    /// The picture alone.
    Pictures,
}

/// Draws the tools, and takes one up where it is clicked.
pub(super) fn row(ui: &mut Ui, state: &mut PlanState, faces: Faces) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(space::HAIR, space::HAIR);
        for tool in TOOLS {
            let is_chosen = state.draw.tool() == tool.tool;
            let hint = format!("{} (key {})", tool.hint, tool.key);
            let spoken = format!("Tool: {}", tool.name);
            let named = (tool.name, spoken.as_str(), hint.as_str());
            let paint =
                |painter: &Painter, place: Rect, color: Color32| icon(painter, place, tool.tool, color);
            let look = if is_chosen { ToolLook::Chosen } else { ToolLook::Open };
            if button(ui, named, faces, look, paint).clicked() {
                state.draw.take_up(tool.tool);
                state.wants_focus = true;
            }
        }
        ui.add_space(space::GROUP);
        let is_area = state.draw.tool().area().is_some();
        for (form, name, key, hint) in FORMS {
            let spoken = format!("Draw as: {name}");
            let hint = format!("{hint} (key {key})");
            let look = match (is_area, state.draw.form() == form) {
                (false, _) => ToolLook::Shut,
                (true, true) => ToolLook::Chosen,
                (true, false) => ToolLook::Open,
            };
            let paint =
                |painter: &Painter, place: Rect, color: Color32| form_icon(painter, place, form, color);
            if button(ui, (name, &spoken, &hint), faces, look, paint).clicked() {
                state.draw.draw_as(form);
                state.wants_focus = true;
            }
        }
    });
}

#[derive(Clone, Copy, PartialEq)]
enum ToolLook {
    Chosen,
    Open,
    Shut,
}

fn button(
    ui: &mut Ui,
    (name, said, hint): (&str, &str, &str),
    faces: Faces,
    look: ToolLook,
    paint: impl Fn(&Painter, Rect, Color32),
) -> Response {
    let colors = theme::of(ui);
    let ink = match look {
        ToolLook::Chosen => colors.on_accent,
        ToolLook::Open => colors.ink,
        ToolLook::Shut => colors.muted.gamma_multiply(0.6),
    };
    let galley = ui.painter().layout_no_wrap(name.to_owned(), theme::caption(), ink);
    let width = match faces {
        Faces::Named => ICON + galley.size().x + 19.0,
        Faces::Pictures => BUTTON + 2.0,
    };
    let sense = if look == ToolLook::Shut { Sense::hover() } else { Sense::click() };
    let (place, response) = ui.allocate_exact_size(vec2(width, BUTTON), sense);
    response.widget_info(|| {
        WidgetInfo::selected(Role::Button, look != ToolLook::Shut, look == ToolLook::Chosen, said)
    });
    let painter = ui.painter();
    if look == ToolLook::Chosen {
        painter.rect_filled(place, 4.0, colors.accent);
    } else if response.hovered() && look == ToolLook::Open {
        painter.rect_filled(place, 4.0, colors.trough);
    }
    if response.has_focus() {
        painter.rect_stroke(place, 4.0, Stroke::new(2.0, colors.accent), StrokeKind::Outside);
    }
    let left = match faces {
        Faces::Named => place.left() + 6.0,
        Faces::Pictures => place.center().x - ICON / 2.0,
    };
    let picture = Rect::from_min_size(pos2(left, place.center().y - ICON / 2.0), Vec2::splat(ICON));
    paint(painter, picture, ink);
    if faces == Faces::Named {
        let at = pos2(picture.right() + 6.0, place.center().y - galley.size().y / 2.0);
        painter.galley(at, galley, ink);
    }
    let hint = if faces == Faces::Pictures { format!("{name}: {hint}") } else { hint.to_owned() };
    response.on_hover_text(hint)
}

/// A tool's picture, on a square of 15 by 15.
fn icon(painter: &Painter, place: Rect, tool: Tool, color: Color32) {
    let at = |x: f32, y: f32| place.min + vec2(x, y);
    let stroke = Stroke::new(1.5, color);
    let ring = |points: &[(f32, f32)]| {
        let points = points.iter().map(|(x, y)| at(*x, *y)).collect();
        painter.add(Shape::closed_line(points, stroke));
    };
    let dot = |x: f32, y: f32, radius: f32| painter.circle_filled(at(x, y), radius, color);
    match tool {
        Tool::Select => {
            ring(&[(3.0, 1.5), (12.0, 7.5), (8.0, 8.6), (6.0, 13.0)]);
        }
        Tool::Boundary => {
            ring(&[(2.0, 5.0), (9.0, 1.5), (13.5, 8.0), (8.0, 13.5), (2.5, 11.0)]);
            for (x, y) in [(2.0, 5.0), (9.0, 1.5), (13.5, 8.0), (8.0, 13.5), (2.5, 11.0)] {
                dot(x, y, 1.8);
            }
        }
        Tool::Building => {
            ring(&[(2.0, 14.0), (2.0, 6.5), (7.5, 2.0), (13.0, 6.5), (13.0, 14.0)]);
            painter.line_segment([at(7.5, 9.5), at(7.5, 14.0)], stroke);
        }
        Tool::Deck => {
            painter.line_segment([at(0.5, 5.0), at(14.5, 5.0)], Stroke::new(3.0, color));
            painter.line_segment([at(4.0, 6.0), at(4.0, 13.5)], stroke);
            painter.line_segment([at(11.0, 6.0), at(11.0, 13.5)], stroke);
        }
        Tool::KeepOut => {
            ring(&[(2.0, 2.0), (13.0, 2.0), (13.0, 13.0), (2.0, 13.0)]);
            painter.line_segment([at(2.0, 13.0), at(13.0, 2.0)], stroke);
        }
        Tool::Cut => {
            ring(&[(2.0, 2.0), (8.0, 2.0), (8.0, 7.5), (13.0, 7.5), (13.0, 13.0), (2.0, 13.0)]);
            dot(13.0, 2.0, 1.6);
        }
        Tool::Line => {
            let points = vec![at(1.5, 12.5), at(5.5, 5.5), at(9.5, 8.5), at(13.5, 2.0)];
            painter.add(Shape::line(points, Stroke::new(2.2, color)));
        }
        Tool::TakeOff => {
            painter.circle_stroke(at(7.5, 8.5), 5.2, stroke);
            painter.line_segment([at(7.5, 11.5), at(7.5, 1.0)], stroke);
            painter.line_segment([at(4.7, 4.0), at(7.5, 1.0)], stroke);
            painter.line_segment([at(10.3, 4.0), at(7.5, 1.0)], stroke);
        }
        Tool::FurtherTakeOff => {
            painter.circle_stroke(at(5.8, 9.7), 4.0, stroke);
            painter.line_segment([at(5.8, 12.0), at(5.8, 3.4)], stroke);
            painter.line_segment([at(3.6, 5.8), at(5.8, 3.4)], stroke);
            painter.line_segment([at(8.0, 5.8), at(5.8, 3.4)], stroke);
            painter.line_segment([at(9.8, 3.6), at(14.6, 3.6)], stroke);
            painter.line_segment([at(12.2, 1.2), at(12.2, 6.0)], stroke);
        }
        Tool::ControlPoint => {
            ring(&[(7.5, 1.5), (14.0, 13.0), (1.0, 13.0)]);
            dot(7.5, 9.5, 1.7);
        }
    }
}

fn form_icon(painter: &Painter, place: Rect, form: DrawForm, color: Color32) {
    let at = |x: f32, y: f32| place.min + vec2(x, y);
    let stroke = Stroke::new(1.5, color);
    let ring: Vec<Pos2> = match form {
        DrawForm::Rectangle => vec![at(1.5, 3.5), at(13.5, 3.5), at(13.5, 11.5), at(1.5, 11.5)],
        DrawForm::Side => vec![at(1.0, 8.5), at(10.0, 2.0), at(14.0, 6.5), at(5.0, 13.0)],
        DrawForm::Corners => vec![at(1.5, 5.0), at(9.0, 1.5), at(13.5, 9.0), at(5.0, 13.5)],
        DrawForm::Circle => {
            painter.circle_stroke(at(7.5, 7.5), 5.8, stroke);
            return;
        }
    };
    painter.add(Shape::closed_line(ring, stroke));
}

/// The line at the foot: what can be done, or why something was not.
pub(super) fn foot(ui: &mut Ui, outlines: &Outlines, units: Units, state: &PlanState) {
    let colors = theme::of(ui);
    let (line, _) = ui.allocate_exact_size(vec2(ui.available_width(), FOOT), Sense::hover());
    let (text, color) = match state.draw.notice() {
        Some(notice) => (notice.to_owned(), colors.warn),
        None => (hint(&state.draw, outlines, units), colors.muted),
    };
    let layout = egui::Layout::left_to_right(egui::Align::Center);
    ui.scope_builder(UiBuilder::new().id_salt("what can be done").max_rect(line).layout(layout), |ui| {
        let text = RichText::new(text).font(theme::caption()).color(color);
        let expected = if is_about_control(outlines, state) { state.expected.as_str() } else { "" };
        if expected.is_empty() {
            ui.add(Label::new(text).truncate());
            return;
        }
        let told = RichText::new(expected).font(theme::caption()).color(colors.ink);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            ui.add(Label::new(told));
            ui.with_layout(layout, |ui| ui.add(Label::new(text).truncate()));
        });
    });
}

/// Whether what is drawn bears on what accuracy is expected.
fn is_about_control(outlines: &Outlines, state: &PlanState) -> bool {
    let is_chosen = matches!(state.draw.chosen(), Some(Target::ControlPoint(_)));
    is_chosen || state.draw.tool() == Tool::ControlPoint || !outlines.site.control_points.is_empty()
}

/// Names every shape on the plan, and the corner that is chosen, for those who do not see them.
pub(super) fn name_shapes(
    ui: &Ui,
    area: Rect,
    canvas: &Canvas,
    (outlines, units): (&Outlines, Units),
    state: &PlanState,
) {
    /// More would make the list useless, and slow.
    const MOST: usize = 300;
    for target in outlines.targets().into_iter().take(MOST) {
        let Some(corners_m) = outlines.corners_m(target) else { continue };
        let points: Vec<Pos2> = corners_m.iter().map(|at_m| canvas.to_screen(*at_m, area)).collect();
        let whole = Rect::from_points(&points).expand(4.0);
        let place = whole.intersect(area);
        if !place.is_positive() {
            continue;
        }
        let chosen = if state.draw.chosen() == Some(target) { ", chosen" } else { "" };
        let text = format!("{}{chosen}", spoken(outlines, target, units));
        let response = ui.interact(place, ui.scope_id().with(("shape", target)), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::GraphicsObject, true, &text));
    }
}
