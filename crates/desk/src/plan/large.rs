//! The plan with the whole window to itself: coloured if wanted, strategies beside each other, and what is told about a
//! point.

use super::draw::{Outlines, Tool};
use super::legend::PlanLegend;
use super::paint::{Pen, Surfaces};
use super::start;
use super::state::{Aside, PlanPlace, PlanState, Tools};
use super::tool_row::{self, FOOT, Faces};
use super::view::{Drawing, PassChoice, ShownPlan, draw_box, handle, marked, named, tools};
use super::{Plan, numbers};
use crate::canvas::Canvas;
use crate::handle;
use crate::rose;
use crate::space::{self, Layer, Look, Space};
use crate::theme::{self, space as gaps};
use crate::units::Units;
use egui::{ComboBox, Label, Rect, RichText, Sense, Ui, UiBuilder, vec2};
use glam::DVec2;
use obliquity_planning::Id;

/// One plan beside others.
#[derive(Debug, Clone, Copy)]
pub struct Pane<'a> {
    /// The strategy.
    pub strategy: Id,
    /// Its plan; nothing where it could not be worked out.
    pub plan: Option<&'a Plan>,
    /// Its colour.
    pub slot: usize,
}

/// Draws the screen into all of `ui`. The panes are those of `space`, or the one in focus.
pub fn large(
    ui: &mut Ui,
    shown: &ShownPlan<'_>,
    panes: &[Pane<'_>],
    state: &mut PlanState,
    (space, units): (&mut Space, Units),
) {
    state.look_from(PlanPlace::Large);
    ui.spacing_mut().item_spacing.y = gaps::ROW;
    ui.horizontal_wrapped(|ui| {
        if let Some(plan) = shown.plan {
            let choice = if panes.len() > 1 { PassChoice::None } else { PassChoice::One };
            tools(ui, plan, state, choice);
        }
        coloring(ui, state, space);
        space.choose_beside(ui);
        draw_box(ui, &mut state.large_tools);
    });
    let drawn_on = drawn_on(shown, panes, state);
    if drawn_on.is_some() {
        // In a low window names would take the plan's room.
        let faces = if ui.available_height() < NAMED { Faces::Pictures } else { Faces::Named };
        tool_row::row(ui, state, faces);
    }
    if let Some(plan) = shown.plan.filter(|_| panes.len() == 1) {
        marked(ui, plan, state);
    }
    let side = side(shown, panes, state, space);
    let whole = ui.available_rect_before_wrap();
    let room = match side.fold(whole.width()) {
        None => whole,
        Some(told) => with_handle(ui, whole, told, state),
    };
    let wide = side.width(whole.width(), room.width(), state);
    let split = if wide > 0.0 { room.right() - wide - gaps::PAGE } else { room.right() };
    let left = room.with_max_x(split);
    ui.scope_builder(UiBuilder::new().id_salt("plans").max_rect(left), |ui| {
        plans(ui, shown, panes, state, space);
    });
    if wide > 0.0 {
        let right = room.with_min_x(split + gaps::PAGE);
        ui.scope_builder(UiBuilder::new().id_salt(side.salt()).max_rect(right), |ui| {
            side_ui(ui, side, shown, state, (space, units));
        });
    }
    ui.advance_cursor_after_rect(whole);
}

/// What stands at the right of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum AtTheRight {
    /// Nothing: several plans take the room.
    Nothing,
    /// What is told about a point that was picked.
    Told,
    /// The numbers of the shape that is chosen.
    Numbers,
    /// The ways to begin.
    Begin,
    /// The view angles; as wide as numbers would be where these may come.
    Rose { drawn_on: bool },
}

/// What stands beside the plan keeps its place from this width on; in less the plan has the room, and a handle opens it.
const ROOMY: f32 = 2.0 * numbers::WIDTH;
/// From this height on there is room for the names of the tools.
const NAMED: f32 = 480.0;
/// The handle.
const HANDLE: f32 = 22.0;
/// Of little room, what is beside the plan.
const SHARE: f32 = 0.4;

impl AtTheRight {
    fn salt(self) -> &'static str {
        match self {
            AtTheRight::Nothing => "nothing",
            AtTheRight::Told => "told",
            AtTheRight::Numbers => "numbers",
            AtTheRight::Begin => "begin",
            AtTheRight::Rose { .. } => "rose",
        }
    }

    /// What its handle says, where it has one.
    fn fold(self, whole: f32) -> Option<&'static str> {
        let told = match self {
            AtTheRight::Nothing | AtTheRight::Told | AtTheRight::Begin => return None,
            AtTheRight::Numbers => "Numbers",
            AtTheRight::Rose { .. } => "View angles",
        };
        (whole < ROOMY).then_some(told)
    }

    /// How wide it is of the room that a handle leaves.
    fn width(self, whole: f32, room: f32, state: &PlanState) -> f32 {
        let little = whole < ROOMY;
        let folded = little && state.aside == Aside::Folded;
        match self {
            AtTheRight::Nothing => 0.0,
            AtTheRight::Told => space::TOLD,
            AtTheRight::Numbers | AtTheRight::Rose { .. } if folded => 0.0,
            AtTheRight::Numbers if little => numbers::WIDTH,
            AtTheRight::Begin | AtTheRight::Rose { .. } if little => SHARE * room,
            AtTheRight::Rose { drawn_on: false } => 0.36 * room,
            AtTheRight::Numbers | AtTheRight::Begin | AtTheRight::Rose { drawn_on: true } => {
                (0.36 * room).max(numbers::WIDTH)
            }
        }
    }
}

fn side(shown: &ShownPlan<'_>, panes: &[Pane<'_>], state: &PlanState, space: &Space) -> AtTheRight {
    let drawn_on = drawn_on(shown, panes, state).is_some();
    match panes.len() {
        _ if space.picked().is_some() => AtTheRight::Told,
        1 if drawn_on && state.draw.chosen().is_some() => AtTheRight::Numbers,
        1 if shown.is_undrawn() => AtTheRight::Begin,
        1 => AtTheRight::Rose { drawn_on },
        _ => AtTheRight::Nothing,
    }
}

fn side_ui(
    ui: &mut Ui,
    side: AtTheRight,
    shown: &ShownPlan<'_>,
    state: &mut PlanState,
    (space, units): (&mut Space, Units),
) {
    match side {
        AtTheRight::Nothing => {}
        AtTheRight::Told => space.told(ui, Look::Solid, units),
        AtTheRight::Numbers => {
            if let Some((scenario, outlines)) = shown.drawn_on {
                numbers::ui(ui, scenario, (outlines, units), &mut state.draw);
            }
        }
        AtTheRight::Begin => start::ui(ui, state),
        AtTheRight::Rose { .. } => {
            let color = theme::of(ui).strategy(shown.slot);
            rose::ui(ui, shown.roses, shown.name, color, &mut state.class);
        }
    }
}

/// Draws what opens the side of the plan and folds it away; gives the room that is left.
fn with_handle(ui: &mut Ui, whole: Rect, told: &str, state: &mut PlanState) -> Rect {
    let place = whole.with_min_x(whole.right() - HANDLE);
    let (text, name, next) = match state.aside {
        Aside::Folded => (format!("« {told}"), format!("Open {}", told.to_lowercase()), Aside::Open),
        Aside::Open => (format!("» {told}"), format!("Put {} away", told.to_lowercase()), Aside::Folded),
    };
    let builder = UiBuilder::new().id_salt("handle").max_rect(place);
    if ui.scope_builder(builder, |ui| handle::upright(ui, &text, &name)).inner {
        state.aside = next;
    }
    whole.with_max_x(place.left() - gaps::TIGHT)
}

/// What ground and roofs are coloured by.
fn coloring(ui: &mut Ui, state: &mut PlanState, space: &mut Space) {
    let chosen = match state.surfaces {
        Surfaces::Plain => "nothing",
        Surfaces::Colored => space.layer.name(),
    };
    ui.label("Coloured by");
    let combo = ComboBox::from_id_salt("colours of the plan").selected_text(chosen).width(120.0);
    let response = combo.show_ui(ui, |ui| {
        if ui.selectable_label(state.surfaces == Surfaces::Plain, "nothing").clicked() {
            state.surfaces = Surfaces::Plain;
        }
        for layer in Layer::ALL {
            let is_chosen = state.surfaces == Surfaces::Colored && space.layer == layer;
            if ui.selectable_label(is_chosen, layer.name()).on_hover_text(layer.hint()).clicked() {
                (state.surfaces, space.layer) = (Surfaces::Colored, layer);
            }
        }
    });
    let name = format!("Colour ground and roofs by: {chosen}");
    named(ui, &response.response, &name);
    response
        .response
        .on_hover_text("What ground and roofs are coloured by; click them to read what they get");
}

/// What is drawn on: nothing where strategies stand beside each other, or where a click picks a coloured surface.
fn drawn_on<'a>(
    shown: &ShownPlan<'a>,
    panes: &[Pane<'_>],
    state: &PlanState,
) -> Option<(&'a Outlines, Units)> {
    let open = state.large_tools == Tools::Shown && panes.len() == 1;
    shown.drawn_on.filter(|_| open).map(|(_, outlines)| (outlines, shown.units))
}

fn plans(ui: &mut Ui, shown: &ShownPlan<'_>, panes: &[Pane<'_>], state: &mut PlanState, space: &mut Space) {
    let drawn = panes.iter().filter_map(|pane| pane.plan);
    let Some(first) = drawn.clone().next() else {
        let text =
            "The plan is drawn once the strategy can be worked out; the board says what is in the way.";
        ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
        return;
    };
    let bounds_m = drawn
        .map(|plan| state.fitted_m(plan))
        .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
        .unwrap_or_default();
    let colored = state.surfaces == Surfaces::Colored;
    let surfaces = colored.then(|| space.legend(first.units));
    // Cautions of one strategy would be taken for those of all.
    let notes = (panes.len() < 2).then_some(first.notes.as_slice());
    let lines = PlanLegend::new(ui, first, notes);
    let under = lines.height + if colored { space::LEGEND } else { 0.0 };
    let drawn_on = drawn_on(shown, panes, state);
    let under = under + if drawn_on.is_some() { FOOT + gaps::ROW } else { 0.0 };
    let room = ui.available_rect_before_wrap();
    let pictures = room.with_max_y(room.bottom() - under - gaps::ROW);
    let colors = theme::of(ui);
    let color = if let [pane] = panes { colors.strategy(pane.slot) } else { colors.ink };
    for (k, place) in space::places(pictures, panes.len()).into_iter().enumerate() {
        let mut place = place;
        if panes.len() > 1 {
            if let Some(shown) = space.shown().iter().find(|shown| shown.strategy == panes[k].strategy) {
                space::name_over(ui, place, shown, colored.then_some(space.layer));
            }
            place = place.with_min_y(place.top() + space::NAME);
        }
        one(ui, (k, place), (panes, drawn_on), (state, bounds_m), space);
    }
    let below = room.with_min_y(pictures.bottom() + gaps::ROW);
    ui.scope_builder(UiBuilder::new().id_salt("legends").max_rect(below), |ui| {
        ui.spacing_mut().item_spacing.y = gaps::TIGHT;
        if let Some((outlines, units)) = drawn_on {
            tool_row::foot(ui, outlines, units, state);
        }
        if let Some(legend) = &surfaces {
            let (place, _) = ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::hover());
            space::draw_legend(ui, place, legend);
        }
        lines.show(ui, color);
    });
    ui.advance_cursor_after_rect(room);
}

fn one(
    ui: &Ui,
    (k, place): (usize, Rect),
    (panes, drawn_on): (&[Pane<'_>], Option<(&Outlines, Units)>),
    (state, bounds_m): (&mut PlanState, (DVec2, DVec2)),
    space: &mut Space,
) {
    let pane = panes[k];
    let colors = theme::of(ui);
    let Some(plan) = pane.plan else {
        ui.painter().rect_filled(place, 4.0, colors.surface);
        return;
    };
    let response = ui.interact(place, ui.scope_id().with(("plan", k)), Sense::click_and_drag());
    let colored = state.surfaces == Surfaces::Colored;
    // A click on a coloured surface picks it, unless a tool is in hand.
    let drawn_on = drawn_on.filter(|_| !colored || state.draw.tool() != Tool::Select);
    handle(ui, &response, bounds_m, drawn_on, state);
    let mut seen = state.clone();
    if panes.len() > 1 {
        seen.pass = None;
    }
    let color = colors.strategy(pane.slot);
    let mut canvas = Canvas::fitted(bounds_m, place);
    Drawing { plan, color, state: &seen, bounds_m, drawn_on }.all(ui, &response, &mut |area, at| {
        canvas = *at;
        if colored {
            space.above(ui, k, pane.strategy, area, at);
        }
    });
    if colored && drawn_on.is_none() {
        space.pick_clicked(k, &response, pane.strategy);
    }
    if let Some((_, picked)) = space.picked().filter(|(strategy, _)| *strategy == pane.strategy) {
        let painter = ui.painter_at(place);
        let halo = egui::Color32::TRANSPARENT;
        Pen { painter: &painter, canvas, area: place, colors, color, halo }.picked(picked);
    }
}
