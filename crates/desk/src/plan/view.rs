//! The panel with plan and rose of the strategy in focus.

use super::background;
use super::draw::{Outlines, Tool};
use super::legend::PlanLegend;
use super::model::{Plan, PlanPass};
use super::paint::{Pen, Shade};
use super::pencil::{self, KeysLeft};
use super::start;
use super::state::{Footprints, PlanPlace, PlanState, Tools};
use super::tool_row::{self, FOOT, Faces};
use super::trace::Trace;
use super::underlay;
use crate::canvas::{Canvas, zoomed};
use crate::conditions::wind_text;
use crate::figures::Freshness;
use crate::keys;
use crate::mark;
use crate::rose::{self, Roses};
use crate::show;
use crate::theme::{self, space};
use crate::units::Units;
use egui::{
    Color32, ComboBox, Key, Label, Mesh, Modifiers, Pos2, Rect, Response, RichText, Role, Sense, Shape,
    Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, vec2,
};
use glam::DVec2;
use obliquity_planning::{Scenario, polygon};

/// What the panel shows.
#[derive(Debug, Clone, Copy)]
pub struct ShownPlan<'a> {
    /// The plan of the strategy in focus; nothing where it could not be worked out.
    pub plan: Option<&'a Plan>,
    /// Its roses.
    pub roses: &'a Roses,
    /// The name of the strategy in focus.
    pub name: &'a str,
    /// Its colour.
    pub slot: usize,
    /// What can be drawn; nothing before there is a document.
    pub drawn_on: Option<(&'a Scenario, &'a Outlines)>,
    /// The units on the screen.
    pub units: Units,
}

/// What is asked for in the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanAsk {
    /// Fold the panel away.
    Fold,
}

/// From this width on plan and rose stand side by side.
const SIDE_BY_SIDE: f32 = 800.0;
/// Of the height, where they stand one above the other.
const PLAN_SHARE: f32 = 0.56;
/// How much of its colour a pass has that is not in focus.
const FAINT: f32 = 0.28;
/// Round outlines over a picture: how much of the page's colour.
const HALO: f32 = 0.75;
/// A station is pointed at from this near.
const NEAR: f32 = 9.0;

/// Draws the panel into all of `ui`.
pub fn ui(ui: &mut Ui, shown: &ShownPlan<'_>, state: &mut PlanState, asks: &mut Vec<PlanAsk>) {
    state.look_from(PlanPlace::Beside);
    ui.spacing_mut().item_spacing.y = space::ROW;
    header(ui, shown, asks);
    let room = ui.available_rect_before_wrap();
    let (plan, rose) = if room.width() >= SIDE_BY_SIDE {
        let split = room.left() + 0.64 * room.width();
        (room.with_max_x(split - space::PAGE), room.with_min_x(split))
    } else {
        let split = room.top() + PLAN_SHARE * room.height();
        (room.with_max_y(split - space::GROUP), room.with_min_y(split))
    };
    let color = theme::of(ui).strategy(shown.slot);
    ui.scope_builder(UiBuilder::new().id_salt("plan").max_rect(plan), |ui| {
        plan_ui(ui, shown, color, state);
    });
    ui.scope_builder(UiBuilder::new().id_salt("rose").max_rect(rose), |ui| {
        if shown.is_undrawn() {
            start::ui(ui, state);
        } else {
            rose::ui(ui, shown.roses, shown.name, color, &mut state.class);
        }
    });
}

impl ShownPlan<'_> {
    /// Whether the site's boundary waits to be drawn.
    pub(super) fn is_undrawn(&self) -> bool {
        self.drawn_on.is_some_and(|(_, outlines)| outlines.is_undrawn())
    }
}

/// Which strategy is in focus, and what puts the panel away.
fn header(ui: &mut Ui, shown: &ShownPlan<'_>, asks: &mut Vec<PlanAsk>) {
    ui.horizontal(|ui| {
        mark::put(ui, shown.slot);
        let width = ui.available_width() - 34.0;
        let name = RichText::new(shown.name).font(theme::body_strong());
        ui.add_sized(vec2(width, 18.0), Label::new(name).truncate().halign(egui::Align::Min));
        let fold = ui.button("»").on_hover_text("Put plan and view angles away");
        fold.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Put the plan away"));
        if fold.clicked() {
            asks.push(PlanAsk::Fold);
        }
    });
}

/// Gives something a name for those who do not see it.
pub(super) fn named(ui: &Ui, response: &Response, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name.to_owned()));
}

fn plan_ui(ui: &mut Ui, shown: &ShownPlan<'_>, color: Color32, state: &mut PlanState) {
    let Some(plan) = shown.plan else {
        let text =
            "The plan is drawn once the strategy can be worked out; the board says what is in the way.";
        ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
        return;
    };
    ui.horizontal_wrapped(|ui| {
        tools(ui, plan, state, PassChoice::One);
        draw_box(ui, &mut state.side_tools);
    });
    let drawn_on = shown.drawn_on.map(|(_, outlines)| (outlines, shown.units));
    let drawn_on = drawn_on.filter(|_| state.side_tools == Tools::Shown);
    if drawn_on.is_some() {
        tool_row::row(ui, state, Faces::Pictures);
    }
    marked(ui, plan, state);
    let legend = PlanLegend::new(ui, plan, Some(&plan.notes));
    let foot = if drawn_on.is_some() { FOOT + space::ROW } else { 0.0 };
    let height = ui.available_height() - legend.height - space::ROW - foot;
    let size = vec2(ui.available_width(), height.max(80.0));
    let (response, _) = ui.allocate_painter(size, Sense::click_and_drag());
    let bounds_m = state.fitted_m(plan);
    handle(ui, &response, bounds_m, drawn_on, state);
    Drawing { plan, color, state, bounds_m, drawn_on }.all(ui, &response, &mut |_, _| {});
    if let Some((outlines, units)) = drawn_on {
        tool_row::foot(ui, outlines, units, state);
    }
    legend.show(ui, color);
}

/// Whether the plan is drawn on.
pub(super) fn draw_box(ui: &mut Ui, tools: &mut Tools) {
    let mut draws = *tools == Tools::Shown;
    ui.checkbox(&mut draws, "Draw").on_hover_text(
        "Draw and change boundary, structures, keep-outs, take-off and control points on the plan",
    );
    *tools = if draws { Tools::Shown } else { Tools::Folded };
}

/// Draws with pointer and keys where the plan is drawn on, and moves it with what is left.
pub(super) fn handle(
    ui: &Ui,
    response: &Response,
    bounds_m: (DVec2, DVec2),
    drawn_on: Option<(&Outlines, Units)>,
    state: &mut PlanState,
) {
    let listens = !ui.ctx().text_edit_focused() && !state.draw.is_drawing() && state.draw.chosen().is_none();
    if listens
        && state.marked.is_some()
        && ui.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape))
    {
        state.marked = None;
    }
    if let Some(part_m) = state.to_show_m.take() {
        state.canvas = Some(Canvas::fitted(part_m, response.rect));
    }
    let Some(drawn_on) = drawn_on else {
        state.pointed_m = None;
        move_about(ui, response, bounds_m, state, KeysLeft::All);
        return;
    };
    let keys = pencil::follow(ui, response, bounds_m, drawn_on, state);
    move_about(ui, response, bounds_m, state, keys);
}

/// Draws a plan alone into all of `ui`.
pub fn alone(ui: &mut Ui, plan: &Plan, state: &mut PlanState, color: Color32) {
    state.look_from(PlanPlace::Alone);
    let (response, _) = ui.allocate_painter(ui.available_size(), Sense::click_and_drag());
    let bounds_m = state.fitted_m(plan);
    move_about(ui, &response, bounds_m, state, KeysLeft::All);
    Drawing { plan, color, state, bounds_m, drawn_on: None }.all(ui, &response, &mut |_, _| {});
}

/// Whether a pass can be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PassChoice {
    /// One of the plan's, or all of them.
    One,
    /// All passes of all plans are shown.
    None,
}

/// Which pass, whose footprints, and the way back to everything.
pub(super) fn tools(ui: &mut Ui, plan: &Plan, state: &mut PlanState, choice: PassChoice) {
    if state.pass.is_some_and(|pass| pass >= plan.passes.len()) {
        state.pass = None;
    }
    if choice == PassChoice::One {
        choose_pass(ui, plan, state);
    }
    let mut every = state.footprints == Footprints::All;
    ui.checkbox(&mut every, "Footprints").on_hover_text(
        "What the frame of every exposure covers on the mean ground; point at an exposure for its own",
    );
    state.footprints = if every { Footprints::All } else { Footprints::Pointed };
    let fit = ui.add_enabled(state.canvas.is_some(), egui::Button::new("Fit"));
    if fit.on_hover_text("Show everything again (key 0; + and − zoom, the arrows move)").clicked() {
        state.fit();
    }
    underlay::controls(ui, &mut state.underlay);
}

/// What the mark on the plan is about, and the way to be rid of it.
pub(super) fn marked(ui: &mut Ui, plan: &Plan, state: &mut PlanState) {
    let mark = plan.mark(state.marked.as_deref()).filter(|_| !plan.site.undrawn);
    let Some(mark) = mark else { return };
    let colors = theme::of(ui);
    let stale = mark.freshness != Freshness::Fresh;
    let color = if stale { colors.muted } else { theme::severity(colors, mark.severity) };
    ui.horizontal_top(|ui| {
        let forget = ui.small_button("×").on_hover_text("Take the mark off the plan");
        named(ui, &forget, "Take the mark off the plan");
        if forget.clicked() {
            state.marked = None;
        }
        let text = RichText::new(show::unbroken(&mark.text)).font(theme::caption()).color(color);
        ui.add(Label::new(text).wrap());
    });
}

fn choose_pass(ui: &mut Ui, plan: &Plan, state: &mut PlanState) {
    let all = match plan.passes.len() {
        1 => "1 pass".to_owned(),
        count => format!("All {count} passes"),
    };
    let chosen = state.pass.map_or(all.clone(), |pass| format!("Pass {}", pass + 1));
    let combo = ComboBox::from_id_salt("pass").selected_text(&chosen).width(110.0);
    let response = combo.show_ui(ui, |ui| {
        ui.selectable_value(&mut state.pass, None, all);
        for (index, pass) in plan.passes.iter().enumerate() {
            ui.selectable_value(&mut state.pass, Some(index), &pass.title);
        }
    });
    named(ui, &response.response, &format!("Passes on the plan: {chosen}"));
}

/// Dragging, the wheel, pinching and keys.
pub(super) fn move_about(
    ui: &Ui,
    response: &Response,
    bounds_m: (DVec2, DVec2),
    state: &mut PlanState,
    keys_left: KeysLeft,
) {
    let area = response.rect;
    let mut canvas = state.canvas.unwrap_or_else(|| Canvas::fitted(bounds_m, area));
    let before = canvas;
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let holds = state.draw.drags();
    if response.dragged() && (!holds || response.dragged_by(egui::PointerButton::Middle)) {
        canvas.pan(response.drag_delta());
    }
    let pointer = response.hover_pos();
    if let Some(at) = pointer {
        let factor = ui.input(zoomed);
        if (factor - 1.0).abs() > 1e-4 {
            canvas.zoom(factor, at, area);
        }
    }
    let hears = keys_left == KeysLeft::All && !ui.ctx().text_edit_focused();
    if hears && (pointer.is_some() || response.has_focus()) {
        keys(ui, pointer.unwrap_or(area.center()), area, &mut canvas);
        let zero = [Key::Num0, Key::Home];
        if ui.input_mut(|input| zero.iter().any(|key| input.consume_key(Modifiers::NONE, *key))) {
            state.canvas = None;
            return;
        }
    }
    if canvas != before {
        state.canvas = Some(canvas);
    }
}

fn keys(ui: &Ui, at: Pos2, area: Rect, canvas: &mut Canvas) {
    const STEP: f32 = 48.0;
    for key in keys::taken(ui, &[Key::Plus, Key::Equals, Key::Minus]) {
        canvas.zoom(if key == Key::Minus { 1.0 / 1.4 } else { 1.4 }, at, area);
    }
    let arrows = [
        (Key::ArrowLeft, vec2(STEP, 0.0)),
        (Key::ArrowRight, vec2(-STEP, 0.0)),
        (Key::ArrowUp, vec2(0.0, STEP)),
        (Key::ArrowDown, vec2(0.0, -STEP)),
    ];
    for (key, by) in arrows {
        if ui.memory(|memory| memory.focused().is_some()) {
            canvas.pan(by * keys::times(ui, Modifiers::NONE, key) as f32);
        }
    }
}

/// A plan as it is drawn.
pub(super) struct Drawing<'a> {
    pub(super) plan: &'a Plan,
    /// The strategy's.
    pub(super) color: Color32,
    pub(super) state: &'a PlanState,
    /// What a fitted plan shows.
    pub(super) bounds_m: (DVec2, DVec2),
    /// What is drawn on; nothing where the plan is looked at only.
    pub(super) drawn_on: Option<(&'a Outlines, Units)>,
}

impl Drawing<'_> {
    /// Draws it; `under` draws what lies on the ground and under everything that is flown.
    pub(super) fn all(&self, ui: &Ui, response: &Response, under: &mut dyn FnMut(Rect, &Canvas)) {
        let (area, colors) = (response.rect, theme::of(ui));
        let (plan, state) = (self.plan, self.state);
        let painter = ui.painter_at(area);
        let canvas = state.canvas.unwrap_or_else(|| Canvas::fitted(self.bounds_m, area));
        let halo =
            if state.backdrop.is_some() { colors.surface.gamma_multiply(HALO) } else { Color32::TRANSPARENT };
        let pen = Pen { painter: &painter, canvas, area, colors, color: self.color, halo };
        background::paint(&painter, colors.surface, state.backdrop.as_ref(), area, &canvas);
        pen.site(plan, if state.backdrop.is_some() { Shade::Thin } else { Shade::Full });
        under(area, &canvas);
        let edge = if self.redraws_boundary() { colors.rule } else { colors.ink };
        pen.outlines(plan, state.surfaces, edge);
        let shown = self.shown();
        if !shown.is_empty() {
            pen.rings(plan);
        }
        self.flown(&pen, &shown);
        let passes: Vec<&PlanPass> = shown.iter().map(|(_, pass)| *pass).collect();
        let ends = pen.sortie_ends(&passes);
        pen.names(plan, ends);
        pen.control_points(plan);
        if !plan.site.undrawn {
            pen.take_offs(plan);
        }
        if let Some(mark) = plan.mark(state.marked.as_deref()).filter(|_| !plan.site.undrawn) {
            pen.mark(mark);
        }
        if let Some(mark) = state.cursor.filter(|mark| mark.strategy == plan.strategy) {
            pen.cursor(mark.at_m.truncate());
        }
        let cursor = state.cursor.filter(|mark| mark.strategy == plan.strategy);
        let mut places = pen.places(plan, cursor.map(|mark| mark.at_m.truncate()), &passes);
        if let Some((outlines, units)) = self.drawn_on {
            let plate = Trace { painter: &painter, canvas, area, colors, outlines, units, halo }.plate();
            places.splice(0..0, [plate.center(), plate.right_center(), plate.left_center()]);
        }
        let mut taken = vec![pen.scale_bar(plan, &places), pen.north_and_wind(plan, &places)];
        if !shown.is_empty() {
            pen.ring_texts(plan, &mut taken);
        }
        painter.rect_stroke(area, 4.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
        if response.has_focus() {
            painter.rect_stroke(area, 4.0, Stroke::new(2.0, colors.accent), StrokeKind::Inside);
        }
        if let Some((outlines, units)) = self.drawn_on {
            let trace = Trace { painter: &painter, canvas, area, colors, outlines, units, halo };
            trace.all(&state.draw, response.hover_pos());
            if let Some(at_m) = state.draw.snap().map(|snap| snap.at_m).or(state.pointed_m) {
                trace.place(at_m);
            }
            tool_row::name_shapes(ui, area, &canvas, (outlines, units), state);
        }
        if self.drawn_on.is_none() || (!state.draw.is_drawing() && state.draw.chosen().is_none()) {
            pointed_at(response, plan, &pen, &shown);
        }
        let spoken = spoken(plan);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    }

    /// The passes in focus. While something is drawn there are none: they would hide what is followed, and what is flown over
    /// what stands for a boundary says nothing.
    fn shown(&self) -> Vec<(usize, &PlanPass)> {
        if self.draws() || self.plan.site.undrawn {
            return Vec::new();
        }
        let passes = self.plan.passes.iter().enumerate();
        passes.filter(|(index, _)| self.state.pass.is_none_or(|pass| pass == *index)).collect()
    }

    fn draws(&self) -> bool {
        self.drawn_on.is_some() && self.state.draw.is_drawing()
    }

    fn redraws_boundary(&self) -> bool {
        self.drawn_on.is_some() && self.state.draw.tool() == Tool::Boundary
    }

    fn flown(&self, pen: &Pen<'_>, shown: &[(usize, &PlanPass)]) {
        let mut mesh = Mesh::default();
        if self.state.footprints == Footprints::All {
            for (index, _) in shown {
                pen.footprints(self.plan, *index, &mut mesh);
            }
        }
        if self.state.pass.is_none() && !shown.is_empty() {
            pen.lines(&self.plan.transits, &mut mesh);
        }
        let faint = Pen { color: pen.color.gamma_multiply(FAINT), ..*pen };
        let others = self.plan.passes.iter().enumerate();
        let others = others.filter(|(index, _)| shown.iter().all(|(known, _)| known != index));
        for (_, pass) in others.filter(|_| !shown.is_empty()) {
            faint.lines(&pass.lines, &mut mesh);
        }
        for (_, pass) in shown {
            pen.lines(&pass.lines, &mut mesh);
        }
        for (_, pass) in shown {
            pen.stations(pass, &mut mesh);
        }
        pen.painter.add(Shape::mesh(mesh));
    }
}

fn spoken(plan: &Plan) -> String {
    let count = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    let stations = plan.passes.iter().map(|pass| pass.stations.len()).sum();
    let figures = format!(
        "Plan of {}: {}, {}, {}",
        plan.name,
        show::counted(count(plan.passes.len()), "pass", "passes"),
        show::counted(count(stations), "exposure", "exposures"),
        show::counted(plan.sorties, "sortie", "sorties"),
    );
    let wind = plan.wind.blows().then(|| wind_text(plan.wind, plan.units));
    let several = Some(&plan.take_offs).filter(|take_offs| take_offs.len() > 1);
    let from = several.into_iter().flatten().enumerate().map(|(index, take_off)| take_off.text(index + 1));
    let notes = plan.notes.iter().map(|note| note.text.clone());
    std::iter::once(figures).chain(wind).chain(from).chain(notes).collect::<Vec<_>>().join("; ")
}

/// The station near the pointer, or the structure or keep-out under it.
fn pointed_at(response: &Response, plan: &Plan, pen: &Pen<'_>, shown: &[(usize, &PlanPass)]) {
    let Some(pointer) = response.hover_pos().filter(|_| !response.dragged()) else { return };
    if let Some((pass, station)) = nearest(pen, shown, pointer) {
        if let Some(ring) = plan.footprint_m(pass, station) {
            pen.footprint(&ring);
        }
        let at = pen.at(plan.passes[pass].stations[station].pose.position_m.truncate());
        pen.painter.circle(at, 4.5, pen.color, Stroke::new(1.5, pen.colors.surface));
        response.clone().on_hover_text_at_pointer(plan.station_lines(pass, station).join("\n"));
        return;
    }
    let at_m = pen.canvas.to_site(pointer, pen.area);
    let structures = &plan.site.structures;
    if let Some(structure) = structures.iter().position(|s| polygon::contains(&s.area.ring_m, at_m)) {
        response.clone().on_hover_text_at_pointer(plan.structure_lines(structure).join("\n"));
    } else if let Some(keep_out) =
        plan.site.keep_outs.iter().find(|k| polygon::contains(&k.area.ring_m, at_m))
    {
        let text = format!("{}\nkeep-out: flown round", keep_out.name);
        response.clone().on_hover_text_at_pointer(text);
    }
}

fn nearest(pen: &Pen<'_>, shown: &[(usize, &PlanPass)], pointer: Pos2) -> Option<(usize, usize)> {
    let stations = shown.iter().flat_map(|(index, pass)| {
        pass.stations.iter().enumerate().map(move |(k, station)| ((*index, k), station.pose.position_m))
    });
    let apart = stations.map(|(which, at_m)| (pen.at(at_m.truncate()).distance(pointer), which));
    let near = apart.filter(|(distance, _)| *distance < NEAR);
    near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, which)| which)
}
