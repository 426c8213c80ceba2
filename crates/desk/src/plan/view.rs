//! The panel with plan and rose of the strategy in focus.

use super::Canvas;
use super::model::{LineKind, Plan, PlanPass};
use super::paint::{self, Pen};
use crate::rose::{self, Roses};
use crate::show;
use crate::theme::{self, space};
use egui::{
    Align2, Color32, ComboBox, Galley, Key, Label, Mesh, Modifiers, Pos2, Rect, Response, RichText, Role,
    Sense, Shape, Stroke, StrokeKind, Ui, UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};
use obliquity_planning::{Id, Severity, SurfaceClass, polygon};
use std::sync::Arc;

/// Whose frames are drawn on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Footprints {
    /// That of the station that is pointed at.
    #[default]
    Pointed,
    /// Those of all stations shown.
    All,
}

/// How the plan is looked at; kept for the session only.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanState {
    /// The part that is shown; nothing for everything.
    canvas: Option<Canvas>,
    /// The pass that is shown; nothing for all of them.
    pub pass: Option<usize>,
    /// Whose frames are drawn.
    pub footprints: Footprints,
    /// Whose rose is drawn.
    pub class: SurfaceClass,
}

impl Default for PlanState {
    fn default() -> Self {
        PlanState { canvas: None, pass: None, footprints: Footprints::Pointed, class: SurfaceClass::Wall }
    }
}

impl PlanState {
    /// Shows everything again.
    pub fn fit(&mut self) {
        self.canvas = None;
    }

    /// The part that is shown; nothing for everything.
    pub fn canvas(&self) -> Option<Canvas> {
        self.canvas
    }
}

/// What the panel shows.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// The plan of the strategy in focus; nothing where it could not be worked out.
    pub plan: Option<&'a Plan>,
    /// Its roses.
    pub roses: &'a Roses,
    /// All strategies, in the board's order.
    pub strategies: &'a [(Id, String)],
    /// Which of them is in focus.
    pub column: usize,
    /// Its colour.
    pub slot: usize,
}

/// What is asked for in the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanAsk {
    /// Put another strategy in focus.
    Focus(Id),
    /// Fold the panel away.
    Fold,
}

/// From this width on plan and rose stand side by side.
const SIDE_BY_SIDE: f32 = 800.0;
/// Of the height, where they stand one above the other.
const PLAN_SHARE: f32 = 0.56;
/// A station is pointed at from this near.
const NEAR: f32 = 9.0;

/// Draws the panel into all of `ui`.
pub fn ui(ui: &mut Ui, shown: &Shown<'_>, state: &mut PlanState, asks: &mut Vec<PlanAsk>) {
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
        plan_ui(ui, shown.plan, color, state);
    });
    let name = shown.strategies.get(shown.column).map_or("the strategy", |(_, name)| name.as_str());
    ui.scope_builder(UiBuilder::new().id_salt("rose").max_rect(rose), |ui| {
        rose::ui(ui, shown.roses, name, color, &mut state.class);
    });
}

/// Which strategy is in focus, and the way to another.
fn header(ui: &mut Ui, shown: &Shown<'_>, asks: &mut Vec<PlanAsk>) {
    let colors = theme::of(ui);
    ui.horizontal(|ui| {
        let (mark, _) = ui.allocate_exact_size(vec2(10.0, 18.0), Sense::hover());
        ui.painter().rect_filled(mark, 2.0, colors.strategy(shown.slot));
        let name = shown.strategies.get(shown.column).map_or("no strategy", |(_, name)| name.as_str());
        let width = ui.available_width() - 34.0;
        let combo = ComboBox::from_id_salt("focus")
            .selected_text(RichText::new(name).font(theme::body_strong()))
            .width(width)
            .truncate();
        let shown_combo = combo.show_ui(ui, |ui| {
            for (index, (id, name)) in shown.strategies.iter().enumerate() {
                if ui.selectable_label(index == shown.column, name).clicked() {
                    asks.push(PlanAsk::Focus(*id));
                }
            }
        });
        named(ui, &shown_combo.response, &format!("Strategy in focus: {name}"));
        let fold = ui.button("»").on_hover_text("Put plan and view angles away");
        fold.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Put the plan away"));
        if fold.clicked() {
            asks.push(PlanAsk::Fold);
        }
    });
}

/// Gives something a name for those who do not see it.
fn named(ui: &Ui, response: &Response, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name.to_owned()));
}

fn plan_ui(ui: &mut Ui, plan: Option<&Plan>, color: Color32, state: &mut PlanState) {
    let Some(plan) = plan else {
        let text =
            "The plan is drawn once the strategy can be worked out; the board says what is in the way.";
        ui.add(Label::new(RichText::new(text).color(theme::of(ui).muted)).wrap());
        return;
    };
    if state.pass.is_some_and(|pass| pass >= plan.passes.len()) {
        state.pass = None;
    }
    tools(ui, plan, state);
    let legend = Legend::new(ui, plan);
    let height = ui.available_height() - legend.height - space::ROW;
    let size = vec2(ui.available_width(), height.max(80.0));
    let (response, _) = ui.allocate_painter(size, Sense::click_and_drag());
    move_about(ui, &response, plan, state);
    drawing(ui, &response, plan, color, state);
    legend.show(ui, color);
}

/// Which pass, whose footprints, and the way back to everything.
fn tools(ui: &mut Ui, plan: &Plan, state: &mut PlanState) {
    ui.horizontal_wrapped(|ui| {
        let all = match plan.passes.len() {
            1 => "The only pass".to_owned(),
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
        let mut every = state.footprints == Footprints::All;
        ui.checkbox(&mut every, "Footprints").on_hover_text(
            "What the frame of every exposure covers on the mean ground; point at an exposure for its own",
        );
        state.footprints = if every { Footprints::All } else { Footprints::Pointed };
        let fit = ui.add_enabled(state.canvas.is_some(), egui::Button::new("Fit"));
        if fit.on_hover_text("Show everything again (key 0; + and − zoom, the arrows move)").clicked() {
            state.fit();
        }
    });
}

/// Dragging, the wheel, pinching and keys.
fn move_about(ui: &Ui, response: &Response, plan: &Plan, state: &mut PlanState) {
    let area = response.rect;
    let mut canvas = state.canvas.unwrap_or_else(|| Canvas::fitted(plan.bounds_m(), area));
    let before = canvas;
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    if response.dragged() {
        canvas.pan(response.drag_delta());
    }
    let pointer = response.hover_pos();
    if let Some(at) = pointer {
        let (wheel, pinch) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
        let factor = f64::from(pinch) * (f64::from(wheel) / 240.0).exp();
        if (factor - 1.0).abs() > 1e-4 {
            canvas.zoom(factor, at, area);
        }
    }
    if (pointer.is_some() || response.has_focus()) && !ui.ctx().text_edit_focused() {
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
    let pressed = |key: Key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    let larger = pressed(Key::Plus) || pressed(Key::Equals);
    if larger || pressed(Key::Minus) {
        canvas.zoom(if larger { 1.4 } else { 1.0 / 1.4 }, at, area);
    }
    let arrows = [
        (Key::ArrowLeft, vec2(STEP, 0.0)),
        (Key::ArrowRight, vec2(-STEP, 0.0)),
        (Key::ArrowUp, vec2(0.0, STEP)),
        (Key::ArrowDown, vec2(0.0, -STEP)),
    ];
    for (key, by) in arrows {
        if ui.memory(|memory| memory.focused().is_some()) && pressed(key) {
            canvas.pan(by);
        }
    }
}

fn drawing(ui: &Ui, response: &Response, plan: &Plan, color: Color32, state: &PlanState) {
    let area = response.rect;
    let colors = theme::of(ui);
    let painter = ui.painter_at(area);
    let canvas = state.canvas.unwrap_or_else(|| Canvas::fitted(plan.bounds_m(), area));
    let pen = Pen { painter: &painter, canvas, area, colors, color };
    let shown: Vec<(usize, &PlanPass)> = plan
        .passes
        .iter()
        .enumerate()
        .filter(|(index, _)| state.pass.is_none_or(|pass| pass == *index))
        .collect();
    painter.rect_filled(area, 4.0, colors.surface);
    pen.site(plan);
    pen.rings(plan);
    let mut mesh = Mesh::default();
    if state.footprints == Footprints::All {
        for (index, _) in &shown {
            pen.footprints(plan, *index, &mut mesh);
        }
    }
    if state.pass.is_none() {
        pen.lines(&plan.transits, &mut mesh);
    }
    for (_, pass) in &shown {
        pen.lines(&pass.lines, &mut mesh);
    }
    for (_, pass) in &shown {
        pen.stations(pass, &mut mesh);
    }
    painter.add(Shape::mesh(mesh));
    pen.names(plan);
    let passes: Vec<&PlanPass> = shown.iter().map(|(_, pass)| *pass).collect();
    pen.sortie_starts(&passes);
    pen.take_off(plan);
    let mut taken = vec![pen.scale_bar(plan), pen.north()];
    pen.ring_texts(plan, &mut taken);
    painter.rect_stroke(area, 4.0, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
    if response.has_focus() {
        painter.rect_stroke(area, 4.0, Stroke::new(2.0, colors.accent), StrokeKind::Inside);
    }
    pointed_at(response, plan, &pen, &shown);
    let spoken = spoken(plan);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
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
    let notes = plan.notes.iter().map(|note| note.text.clone());
    std::iter::once(figures).chain(notes).collect::<Vec<_>>().join("; ")
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

const LEGEND_ROW: f32 = 17.0;
/// Of a legend's line, with the gap behind it.
const SAMPLE: f32 = 32.0;

/// What a legend says of a line.
#[derive(Clone, Copy)]
enum Entry {
    Odd,
    Even,
    Only,
    Transit,
    Exposure,
}

impl Entry {
    fn text(self) -> &'static str {
        match self {
            Entry::Odd => "odd sorties",
            Entry::Even => "even sorties",
            Entry::Only => "strips",
            Entry::Transit => "to and fro",
            Entry::Exposure => "exposure, ticked where it looks",
        }
    }

    fn of(plan: &Plan) -> Vec<Entry> {
        let sorties: &[Entry] = if plan.sorties > 1 { &[Entry::Odd, Entry::Even] } else { &[Entry::Only] };
        sorties.iter().copied().chain([Entry::Transit, Entry::Exposure]).collect()
    }

    fn sample(self, painter: &egui::Painter, at: Pos2, color: Color32, colors: &theme::Colors) {
        match self {
            Entry::Odd | Entry::Only => paint::sample(painter, at, LineKind::Strip, 1, color),
            Entry::Even => paint::sample(painter, at, LineKind::Strip, 2, color),
            Entry::Transit => paint::sample(painter, at, LineKind::Transit, 1, colors.muted),
            Entry::Exposure => {
                let dot = pos2(at.x + 10.0, at.y);
                let mut mesh = Mesh::default();
                mesh.add_colored_rect(Rect::from_center_size(dot, Vec2::splat(3.0)), colors.ink);
                paint::stroke(&mut mesh, [dot, dot + vec2(8.0, -4.0)], 1.2, colors.ink);
                painter.add(mesh);
            }
        }
    }
}

/// The legend and the cautions that are marked, laid out under the plan.
struct Legend {
    entries: Vec<(Entry, Rect, Arc<Galley>)>,
    notes: Vec<(Vec2, Arc<Galley>)>,
    height: f32,
}

impl Legend {
    fn new(ui: &Ui, plan: &Plan) -> Self {
        let colors = theme::of(ui);
        let width = ui.available_width();
        let mut at = Vec2::ZERO;
        let entries = Entry::of(plan)
            .into_iter()
            .map(|entry| {
                let text = entry.text().to_owned();
                let galley = ui.painter().layout_no_wrap(text, theme::caption(), colors.muted);
                let size = vec2(SAMPLE + galley.size().x, LEGEND_ROW);
                if at.x > 0.0 && at.x + size.x > width {
                    at = vec2(0.0, at.y + LEGEND_ROW);
                }
                let place = Rect::from_min_size(at.to_pos2(), size);
                at.x += size.x + space::GROUP;
                (entry, place, galley)
            })
            .collect();
        let mut height = at.y + LEGEND_ROW;
        let notes = plan
            .notes
            .iter()
            .map(|note| {
                let color = if note.severity == Severity::Limit { colors.bad } else { colors.warn };
                let text = show::unbroken(&note.text);
                let galley = ui.painter().layout(text, theme::caption(), color, width);
                let top = height + space::HAIR;
                height = top + galley.size().y;
                (vec2(0.0, top), galley)
            })
            .collect();
        Legend { entries, notes, height }
    }

    fn show(self, ui: &mut Ui, color: Color32) {
        let colors = theme::of(ui);
        let (whole, _) = ui.allocate_exact_size(vec2(ui.available_width(), self.height), Sense::hover());
        for (entry, place, galley) in self.entries {
            let place = place.translate(whole.min.to_vec2());
            entry.sample(ui.painter(), place.left_center(), color, colors);
            let middle = place.left_center() + vec2(SAMPLE, 0.0);
            let at = Align2::LEFT_CENTER.anchor_size(middle, galley.size()).min;
            ui.painter().galley(at, galley, colors.muted);
        }
        for (at, galley) in self.notes {
            ui.painter().galley(whole.min + at, galley, colors.warn);
        }
    }
}
