use super::state::{Glance, MOST, size_of};
use super::{Arrangement, Cameras, Eye, Flat, Layer, Legend, Look, Paper, Scene, SceneMark, Shown, Space};
use crate::figures::Freshness;
use crate::mark;
use crate::shell::elided;
use crate::show;
use crate::theme::{self, Colors, space};
use crate::units::{Unit, Units};
use egui::{
    Align2, Color32, Key, Label, Modifiers, Painter, PointerButton, Pos2, Rect, Response, RichText, Role,
    Sense, Stroke, StrokeKind, Ui, UiBuilder, Vec2, WidgetInfo, pos2, vec2,
};
use glam::{DVec2, DVec3};
use obliquity_planning::Id;

/// Width of what is told about a point.
pub(crate) const TOLD: f32 = 270.0;
/// Room under the pictures for the legend.
pub(crate) const LEGEND: f32 = 42.0;
/// One of its two lines.
const LEGEND_LINE: f32 = 18.0;
/// Room over a picture for its strategy's name.
pub(crate) const NAME: f32 = 22.0;
/// A picture has no more pixels than this on a side.
const MOST_PX: f32 = 4096.0;
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
        let pictures = room.with_max_x(split).with_max_y(room.bottom() - LEGEND);
        self.pictures(ui, pictures, look, units);
        let under = room.with_max_x(split).with_min_y(pictures.bottom() + space::ROW);
        draw_legend(ui, under, &legend);
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
            name_over(ui, place, &shown);
            match look {
                Look::Solid => self.picture(ui, pane, picture, &shown, units),
                Look::Flat => self.flat_picture(ui, pane, picture, &shown, units),
            }
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
        if let Some(mark) = self.cursor.filter(|mark| mark.strategy == shown.strategy) {
            cursor(ui, place, eye, scene, mark.at_m);
        }
        compass(&ui.painter_at(place), place, eye, colors);
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
    let pressed = |modifiers: Modifiers, key: Key| ui.input_mut(|input| input.consume_key(modifiers, key));
    if pressed(Modifiers::NONE, Key::Plus) || pressed(Modifiers::NONE, Key::Equals) {
        eye.zoom(1.3);
    }
    if pressed(Modifiers::NONE, Key::Minus) {
        eye.zoom(1.0 / 1.3);
    }
    let arrows = [
        (Key::ArrowLeft, DVec2::NEG_X),
        (Key::ArrowRight, DVec2::X),
        (Key::ArrowUp, DVec2::NEG_Y),
        (Key::ArrowDown, DVec2::Y),
    ];
    for (key, way) in arrows {
        let by = way * KEY_STEP_PX * scale;
        if pressed(Modifiers::SHIFT, key) {
            eye.pan(-by, size_px);
        } else if pressed(Modifiers::NONE, key) {
            eye.orbit(by, size_px.y);
        }
    }
    pressed(Modifiers::NONE, Key::Num0) || pressed(Modifiers::NONE, Key::Home)
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

pub(crate) fn name_over(ui: &Ui, place: Rect, shown: &Shown) {
    let colors = theme::of(ui);
    mark::paint(
        ui.painter(),
        Rect::from_min_size(place.min + vec2(0.0, 2.0), mark::SIZE),
        shown.slot,
        colors,
    );
    let state = match shown.freshness {
        Freshness::Stale => " (updating…)",
        Freshness::Fresh | Freshness::Pending => "",
    };
    let text = format!("{}{state}", shown.name);
    let mut job = egui::text::LayoutJob::simple_singleline(text, theme::body_strong(), colors.ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(place.width() - NAMED - 2.0);
    let galley = ui.painter().layout_job(job);
    ui.painter().galley(place.min + vec2(NAMED, 1.0), galley, colors.ink);
}

/// Pixels of a picture.
pub(super) fn pixels(ui: &Ui, place: Rect) -> (usize, usize) {
    let scale = ui.ctx().pixels_per_point();
    let px = |points: f32| (points * scale).round().clamp(1.0, MOST_PX) as usize;
    (px(place.width()), px(place.height()))
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

/// What needs saying of a picture.
fn notes(scene: &Scene, eye: Eye, units: Units) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(contours) = &scene.contours {
        notes.push(format!("contours every {}", units.text(Unit::Metres, contours.step_m)));
    }
    let at = eye.position_m();
    if at.z < scene.site.terrain.height_m(at.truncate()) {
        notes.push("seen from below, through the ground".to_owned());
    }
    notes
}

/// Writes into the lower left corner of a picture.
fn caption(painter: &Painter, place: Rect, notes: &[String], colors: &Colors) {
    if notes.is_empty() {
        return;
    }
    let galley = painter.layout_no_wrap(notes.join("; "), theme::caption(), colors.muted);
    let at = Align2::LEFT_BOTTOM.anchor_size(place.left_bottom() + vec2(8.0, -6.0), galley.size());
    painter.rect_filled(at.expand2(vec2(3.0, 1.0)), 3.0, colors.surface.gamma_multiply(0.85));
    painter.galley(at.min, galley, colors.muted);
}

/// Where the timeline's cursor has the aircraft, with a line down to the ground.
fn cursor(ui: &Ui, place: Rect, eye: Eye, scene: &Scene, at_m: DVec3) {
    let (colors, painter) = (theme::of(ui), ui.painter_at(place));
    let projection = eye.project(size_of(pixels(ui, place)));
    let scale = f64::from(ui.ctx().pixels_per_point());
    let on_screen = |at_m: DVec3| {
        let (at, _) = projection.at(at_m)?;
        let at = at / scale;
        Some(place.min + vec2(at.x as f32, at.y as f32))
    };
    let ground_m = at_m.truncate().extend(scene.site.terrain.height_m(at_m.truncate()));
    let Some(at) = on_screen(at_m) else { return };
    if let Some(foot) = on_screen(ground_m) {
        painter.line_segment([at, foot], Stroke::new(3.0, colors.surface));
        painter.line_segment([at, foot], Stroke::new(1.5, colors.accent));
    }
    painter.circle(at, 7.0, colors.accent, Stroke::new(2.5, colors.surface));
    painter.circle_stroke(at, 10.0, Stroke::new(1.5, colors.accent));
}

/// Where north is.
fn compass(painter: &Painter, place: Rect, eye: Eye, colors: &Colors) {
    let centre = place.left_top() + vec2(26.0, 26.0);
    let (sin, cos) = (-eye.azimuth_rad).sin_cos();
    let flat = eye.down_rad.sin().max(0.3);
    let way = vec2(sin as f32, (-cos * flat) as f32);
    painter.circle_filled(centre, 20.0, colors.surface.gamma_multiply(0.8));
    painter.line_segment([centre - way * 9.0, centre + way * 7.0], Stroke::new(1.5, colors.ink));
    painter.text(centre + way * 13.5, Align2::CENTER_CENTER, "N", theme::caption_strong(), colors.ink);
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

/// What the colours stand for: swatches, or the ramp with the requirement marked on it.
pub(crate) fn draw_legend(ui: &mut Ui, room: Rect, legend: &Legend) {
    let (colors, painter) = (theme::of(ui), ui.painter_at(room));
    let line = if legend.required.is_empty() { legend.layer.hint() } else { &legend.required };
    let mut at = room.left_top();
    if legend.layer != Layer::Covered {
        let words = |at: Pos2, text: &str| {
            painter.text(at, Align2::LEFT_TOP, text, theme::caption(), colors.ink).right()
        };
        at.x = words(at, &legend.words.0) + space::ROW;
        at.x = ramp_strip(&painter, at, legend, colors) + space::ROW;
        at.x = words(at, &legend.words.1) + space::PAGE;
    }
    let rows = swatches(legend, colors).into_iter().fold(at, |at, (color, text)| {
        let galley = painter.layout_no_wrap(text.to_owned(), theme::caption(), colors.ink);
        let wide = 20.0 + galley.size().x;
        let wraps = at.x > room.left() && at.x + wide > room.right();
        let at = if wraps { pos2(room.left(), at.y + LEGEND_LINE) } else { at };
        let place = Rect::from_min_size(at + vec2(0.0, 2.0), vec2(14.0, 11.0));
        painter.rect(place, 1.0, color, Stroke::new(1.0, colors.muted), StrokeKind::Inside);
        painter.galley(at + vec2(20.0, 0.0), galley, colors.ink);
        pos2(at.x + wide + space::PAGE, at.y)
    });
    // Where the colours need both lines, the explanation is read by pointing at them.
    if rows.y < room.top() + LEGEND_LINE {
        let galley = elided(ui, &show::unbroken(line), theme::caption(), colors.muted, room.width());
        painter.galley(pos2(room.left(), room.top() + LEGEND_LINE), galley, colors.muted);
    }
    let spoken = format!("Legend: {}. {}", legend.layer.name(), legend.required);
    let response = ui.interact(room, ui.scope_id().with("legend"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    response.on_hover_text(line);
}

/// Colours with a meaning of their own, beside those of the ramp.
fn swatches<'a>(legend: &'a Legend, colors: &Colors) -> Vec<(Color32, &'a str)> {
    let mut of: Vec<(Color32, &str)> = Vec::new();
    if legend.layer == Layer::Covered {
        of.push((legend.color(Some(1.0)), &legend.words.1));
        of.push((legend.color(Some(0.0)), &legend.words.0));
    }
    of.extend([(legend.color(None), legend.lacking), (colors.rule, "not judged")]);
    of
}

/// Returns where it ends.
fn ramp_strip(painter: &Painter, at: Pos2, legend: &Legend, colors: &Colors) -> f32 {
    const STEPS: u16 = 64;
    const STEP: f32 = 3.5;
    let strip = Rect::from_min_size(at + vec2(0.0, 2.0), vec2(STEP * f32::from(STEPS), 11.0));
    for step in 0..STEPS {
        let left = strip.left() + STEP * f32::from(step);
        let place = Rect::from_min_size(pos2(left, strip.top()), vec2(STEP + 0.5, strip.height()));
        painter.rect_filled(place, 0.0, legend.ramp_at(f64::from(step) / f64::from(STEPS - 1)));
    }
    painter.rect_stroke(strip, 0.0, Stroke::new(1.0, colors.muted), StrokeKind::Outside);
    for &mark in &legend.marks {
        let x = strip.left() + strip.width() * mark as f32;
        let ends = [pos2(x, strip.top() - 2.0), pos2(x, strip.bottom() + 3.0)];
        painter.line_segment(ends, Stroke::new(4.0, colors.surface));
        painter.line_segment(ends, Stroke::new(2.0, colors.ink));
    }
    strip.right()
}
