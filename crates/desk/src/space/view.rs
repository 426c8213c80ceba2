use super::legend_view::{LegendTakeOffs, draw_legend_with};
use super::over::{Overlay, caption, notes, pixels};
use super::state::{Glance, MOST, size_of};
use super::{Arrangement, Cameras, Eye, Flat, Layer, Look, Paper, Scene, SceneMark, Shown, Space};
use crate::figures::Freshness;
use crate::keys;
use crate::mark;
use crate::show;
use crate::theme::{self, Colors, space};
use crate::units::Units;
use egui::{
    Color32, Key, Label, Modifiers, PointerButton, Pos2, Rect, Response, RichText, Role, Sense, Stroke,
    StrokeKind, Ui, UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};
use glam::{DVec2, DVec3};
use obliquity_planning::Id;

/// Width of what is told about a point.
pub(crate) const TOLD: f32 = 270.0;
/// Room over a picture for its strategy's name.
pub(crate) const NAME: f32 = 22.0;
/// Turn of one press of an arrow.
const KEY_STEP_PX: f64 = 40.0;

impl Space {
    /// Draws the screen into all of `ui`.
    pub fn ui(&mut self, ui: &mut Ui, look: Look, units: Units) {
        ui.spacing_mut().item_spacing.y = space::ROW;
        self.tools(ui, look);
        let legend = self.legend(units);
        let room = ui.available_rect_before_wrap();
        let split = room.right() - TOLD - space::PAGE;
        let pictures = room.with_max_x(split).with_max_y(room.bottom() - super::LEGEND);
        self.pictures(ui, pictures, look, units);
        let under = room.with_max_x(split).with_min_y(pictures.bottom() + space::ROW);
        let take_offs = if look == Look::Solid { self.take_offs() } else { LegendTakeOffs::None };
        draw_legend_with(ui, under, &legend, take_offs);
        let told = room.with_min_x(split + space::PAGE);
        ui.scope_builder(UiBuilder::new().id_salt("told").max_rect(told), |ui| self.told(ui, look, units));
        ui.advance_cursor_after_rect(room);
    }

    /// Colours and arrangement.
    fn tools(&mut self, ui: &mut Ui, look: Look) {
        ui.horizontal_wrapped(|ui| {
            for layer in Layer::ALL {
                let button =
                    ui.selectable_label(self.layer == layer, layer.name()).on_hover_text(layer.hint());
                let chosen = self.layer == layer;
                let name = format!("Colour by: {}", layer.name());
                button.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &name));
                if button.clicked() {
                    self.layer = layer;
                }
            }
            ui.add_space(space::ROW);
            self.arrange(ui, look);
            let moved = match look {
                Look::Solid => self.eyes != [None; MOST],
                Look::Flat => self.flat != Flat::default(),
            };
            if look == Look::Solid {
                self.switches(ui);
            }
            let fit = ui.add_enabled(moved, egui::Button::new("Fit"));
            if fit.on_hover_text("Show everything again (key 0)").clicked() {
                self.fit();
            }
        });
    }

    /// What is drawn besides the surfaces, in a list that stays open while its switches are pressed.
    fn switches(&mut self, ui: &mut Ui) {
        let inside = egui::PopupCloseBehavior::CloseOnClickOutside;
        let config = egui::containers::menu::MenuConfig::new().close_behavior(inside);
        let button = egui::containers::menu::MenuButton::new("Show ⏷").config(config);
        button.ui(ui, |ui| {
            for mark in SceneMark::ALL {
                let mut on = self.marks.has(mark);
                if ui.checkbox(&mut on, mark.name()).on_hover_text(mark.hint()).changed() {
                    self.marks = self.marks.switched(mark);
                }
            }
        });
    }

    /// One strategy, or how many beside each other.
    pub(crate) fn choose_beside(&mut self, ui: &mut Ui) {
        if self.shown.len() < 2 {
            return;
        }
        let mut beside = self.arrangement == Arrangement::SideBySide;
        ui.checkbox(&mut beside, "Side by side").on_hover_text("Up to four strategies beside each other");
        self.arrangement = if beside { Arrangement::SideBySide } else { Arrangement::One };
        let room = self.shown.len().min(MOST);
        if beside && room > 2 {
            for count in 2..=room {
                let chosen = self.most().min(room) == count;
                let button = ui.selectable_label(chosen, count.to_string());
                let name = format!("{count} strategies side by side");
                button.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &name));
                if button.on_hover_text(&name).clicked() {
                    self.put_beside(count);
                }
            }
        }
    }

    fn arrange(&mut self, ui: &mut Ui, look: Look) {
        self.choose_beside(ui);
        let beside = self.arrangement == Arrangement::SideBySide && self.shown.len() > 1;
        if beside && look == Look::Solid {
            let mut linked = self.cameras == Cameras::Linked;
            let hint = "Turn, move and zoom all of them together";
            if ui.checkbox(&mut linked, "Moved together").on_hover_text(hint).changed() {
                self.cameras = if linked { Cameras::Linked } else { Cameras::Apart };
                if linked {
                    self.eyes = [self.eyes[0]; MOST];
                }
            }
        }
    }

    fn pictures(&mut self, ui: &mut Ui, room: Rect, look: Look, units: Units) {
        let panes = self.panes();
        if panes.is_empty() {
            let text = RichText::new("There is no strategy to show.").color(theme::of(ui).muted);
            ui.put(room, Label::new(text));
            return;
        }
        for (pane, place) in places(room, panes.len()).into_iter().enumerate() {
            let shown = self.shown[panes[pane]].clone();
            let picture = place.with_min_y(place.top() + NAME);
            name_over(ui, place, &shown, Some(self.layer));
            match look {
                Look::Solid => self.picture(ui, pane, picture, &shown, units),
                Look::Flat => self.flat_picture(ui, pane, picture, &shown, units),
            }
        }
    }

    /// What is marked in the pictures of where sorties start.
    fn take_offs(&self) -> LegendTakeOffs {
        let scenes = self.panes().into_iter().filter_map(|pane| self.shown[pane].scene.as_ref());
        match scenes.map(|scene| scene.flight.take_offs_m.len()).max() {
            None | Some(0) => LegendTakeOffs::None,
            Some(1) => LegendTakeOffs::One,
            Some(_) => LegendTakeOffs::Several,
        }
    }

    fn picture(&mut self, ui: &Ui, pane: usize, place: Rect, shown: &Shown, units: Units) {
        let colors = theme::of(ui);
        let response =
            ui.interact(place, ui.scope_id().with(("site in space", pane)), Sense::click_and_drag());
        let Some(scene) = &shown.scene else {
            empty(ui, place, &shown.empty);
            return;
        };
        let size_px = pixels(ui, place);
        let fitted = self.fitted(pane, scene, size_px);
        let mut eye = self.eye(pane).unwrap_or(fitted);
        let start = eye;
        let pointed_m = self.pointed_m(pane, &response, scene, eye, size_px);
        if Self::move_about(ui, &response, &mut eye, size_of(size_px), pointed_m) {
            self.fit();
            eye = fitted;
        } else if eye != start {
            self.set_eye(pane, eye);
        }
        self.pick_clicked(pane, &response, shown.strategy);
        self.draw(ui.ctx(), pane, scene, Glance::Solid(eye), paper(colors, shown.slot), size_px);
        self.show_canvas(ui, pane, place);
        let over = Overlay::new(ui, place, eye, scene);
        over.take_offs();
        if let Some(mark) = self.cursor.filter(|mark| mark.strategy == shown.strategy) {
            over.cursor(mark.at_m);
        }
        over.compass();
        caption(&ui.painter_at(place), place, &notes(scene, eye, units), colors);
        border(ui, place, &response);
        let spoken = spoken(shown, self.layer);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    }

    /// The place on a surface, or on the ground, that the pointer is at.
    fn pointed_m(
        &self,
        pane: usize,
        response: &Response,
        scene: &Scene,
        eye: Eye,
        size_px: (usize, usize),
    ) -> Option<DVec3> {
        let at = response.hover_pos()? - response.rect.min;
        let at = at * response.ctx.pixels_per_point();
        let (from_m, way) = eye.project(size_of(size_px)).ray(DVec2::new(f64::from(at.x), f64::from(at.y)));
        let sample = self.canvases.get(pane)?.sample_at(at.x.max(0.0) as usize, at.y.max(0.0) as usize);
        let patch = sample.and_then(|sample| scene.patches.get(sample as usize));
        let (place_m, normal) = if let Some(patch) = patch {
            let [a, b, _, d] = patch.corners_m;
            (a, (b - a).cross(d - a))
        } else {
            let middle = scene.site.extent_m.0.midpoint(scene.site.extent_m.1);
            (middle.extend(scene.site.terrain.height_m(middle)), DVec3::Z)
        };
        let along = (place_m - from_m).dot(normal) / way.dot(normal);
        (along.is_finite() && along > 0.0).then(|| from_m + way * along)
    }

    /// Tells about the sample that was clicked.
    pub(crate) fn pick_clicked(&mut self, pane: usize, response: &Response, strategy: Id) {
        let at = response.interact_pointer_pos().filter(|_| response.clicked_by(PointerButton::Primary));
        if let Some(at) = at {
            let at = (at - response.rect.min) * response.ctx.pixels_per_point();
            let canvas = self.canvases.get(pane);
            let sample =
                canvas.and_then(|canvas| canvas.sample_at(at.x.max(0.0) as usize, at.y.max(0.0) as usize));
            self.pick(strategy, sample);
        }
    }

    /// Draws the ground and the roofs of a strategy from above, in the colours of the layer; nothing before its views
    /// are counted. Call [`Space::legend`] before.
    pub(crate) fn above(
        &mut self,
        ui: &Ui,
        pane: usize,
        strategy: Id,
        place: Rect,
        canvas: &crate::canvas::Canvas,
    ) {
        let shown = self.shown.iter().find(|shown| shown.strategy == strategy);
        let Some((scene, slot)) = shown.and_then(|shown| Some((shown.scene.clone()?, shown.slot))) else {
            return;
        };
        let glance = Glance::Above { centre_m: canvas.centre_m, points_per_m: canvas.points_per_m };
        self.draw(ui.ctx(), pane, &scene, glance, paper(theme::of(ui), slot), pixels(ui, place));
        self.show_canvas(ui, pane, place);
    }

    /// Puts a pane's picture in its place.
    pub(super) fn show_canvas(&self, ui: &Ui, pane: usize, place: Rect) {
        if let Some(texture) = self.canvases.get(pane).and_then(super::state::PaneCanvas::texture) {
            let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
            ui.painter_at(place).image(texture.id(), place, whole, Color32::WHITE);
        }
    }

    /// Dragging, the wheel, pinching and keys. Returns whether the whole site is asked for.
    fn move_about(
        ui: &Ui,
        response: &Response,
        eye: &mut Eye,
        size_px: DVec2,
        pointed_m: Option<DVec3>,
    ) -> bool {
        let scale = f64::from(ui.ctx().pixels_per_point());
        if response.clicked() || response.drag_started() {
            response.request_focus();
        }
        if response.dragged() {
            let by = response.drag_delta();
            let by = DVec2::new(f64::from(by.x), f64::from(by.y)) * scale;
            let shift = ui.input(|input| input.modifiers.shift);
            if shift || !response.dragged_by(PointerButton::Primary) {
                eye.pan(by, size_px);
            } else {
                eye.orbit(by, size_px.y);
            }
        }
        let hovered = response.hovered();
        if hovered {
            let (wheel, pinch) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
            let factor = f64::from(pinch) * (f64::from(wheel) / 240.0).exp();
            if (factor - 1.0).abs() > 1e-4 {
                match pointed_m {
                    Some(place_m) => eye.zoom_to(factor, place_m),
                    None => eye.zoom(factor),
                }
            }
        }
        (hovered || response.has_focus()) && !ui.ctx().text_edit_focused() && keys(ui, eye, size_px, scale)
    }
}

/// Arrows turn, with Shift they move; plus and minus zoom. Returns whether the whole site is asked for.
fn keys(ui: &Ui, eye: &mut Eye, size_px: DVec2, scale: f64) -> bool {
    for key in keys::taken(ui, &[Key::Plus, Key::Equals, Key::Minus]) {
        eye.zoom(if key == Key::Minus { 1.0 / 1.3 } else { 1.3 });
    }
    let arrows = [
        (Key::ArrowLeft, DVec2::NEG_X),
        (Key::ArrowRight, DVec2::X),
        (Key::ArrowUp, DVec2::NEG_Y),
        (Key::ArrowDown, DVec2::Y),
    ];
    for (key, way) in arrows {
        let by = way * KEY_STEP_PX * scale;
        for _ in 0..keys::times(ui, Modifiers::SHIFT, key) {
            eye.pan(-by, size_px);
        }
        for _ in 0..keys::times(ui, Modifiers::NONE, key) {
            eye.orbit(by, size_px.y);
        }
    }
    !keys::taken(ui, &[Key::Num0, Key::Home]).is_empty()
}

/// One place alone, two and three beside each other, four in two rows.
pub(crate) fn places(room: Rect, count: usize) -> Vec<Rect> {
    let columns = if count == 4 { 2 } else { count.max(1) };
    let rows = count.div_ceil(columns);
    let gap = space::GROUP;
    let size = vec2(
        (room.width() - gap * (columns - 1) as f32) / columns as f32,
        (room.height() - gap * (rows - 1) as f32) / rows as f32,
    );
    let place = |k: usize| {
        let at = vec2((k % columns) as f32, (k / columns) as f32);
        Rect::from_min_size(room.min + at * (size + Vec2::splat(gap)), size)
    };
    (0..count).map(place).collect()
}

/// Where a name begins beside its mark.
const NAMED: f32 = mark::SIZE.x + 6.0;

pub(crate) fn name_over(ui: &Ui, place: Rect, shown: &Shown, layer: Option<Layer>) {
    let colors = theme::of(ui);
    mark::paint(
        ui.painter(),
        Rect::from_min_size(place.min + vec2(0.0, 2.0), mark::SIZE),
        shown.slot,
        colors,
    );
    let of_block = layer.is_some_and(Layer::is_of_block);
    let network = shown.scene.as_ref().and_then(|scene| scene.network.as_ref());
    let is_preview = network.is_some_and(|network| network.is_preview());
    let state = match (shown.freshness, shown.block_freshness) {
        (Freshness::Stale, _) => " (updating…)",
        (_, Freshness::Stale) if of_block => " (updating…)",
        (_, Freshness::Pending) if of_block => " (being adjusted…)",
        _ if of_block && is_preview => " (preview)",
        _ => "",
    };
    let text = format!("{}{state}", shown.name);
    let mut job = egui::text::LayoutJob::simple_singleline(text, theme::body_strong(), colors.ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(place.width() - NAMED - 2.0);
    let galley = ui.painter().layout_job(job);
    ui.painter().galley(place.min + vec2(NAMED, 1.0), galley, colors.ink);
}

/// Says why there is no picture.
pub(super) fn empty(ui: &Ui, place: Rect, why: &str) {
    let colors = theme::of(ui);
    ui.painter().rect_filled(place, 4.0, colors.surface);
    let galley = ui.painter().layout(why.to_owned(), theme::body(), colors.muted, place.width() - 32.0);
    ui.painter().galley(place.min + vec2(16.0, 16.0), galley, colors.muted);
}

/// The line round a picture, heavier round the one that keys go to.
pub(super) fn border(ui: &Ui, place: Rect, response: &Response) {
    let colors = theme::of(ui);
    let (width, color) = if response.has_focus() { (2.0, colors.accent) } else { (1.0, colors.rule) };
    ui.painter().rect_stroke(place, 2.0, Stroke::new(width, color), StrokeKind::Inside);
}

pub(super) fn paper(colors: &Colors, slot: usize) -> Paper {
    Paper {
        sky: colors.surface,
        ground: colors.trough,
        solid: colors.rule,
        ink: colors.ink,
        muted: colors.muted,
        strategy: colors.strategy(slot),
        keep_out: colors.bad,
    }
}

fn spoken(shown: &Shown, layer: Layer) -> String {
    let Some(scene) = &shown.scene else { return format!("{} in 3D: nothing yet", shown.name) };
    let parts = scene.views.classes.iter().filter_map(|(class, figures)| {
        let covered = show::percent(figures.as_ref()?.covered_ratio, None);
        Some(format!("{} {covered} covered", class.name()))
    });
    format!(
        "{} in 3D, by {}: {}",
        shown.name,
        layer.name().to_lowercase(),
        parts.collect::<Vec<_>>().join(", ")
    )
}
