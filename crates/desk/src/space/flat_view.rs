use super::over::pixels;
use super::state::Glance;
use super::view::{border, empty, paper};
use super::{Flat, Group, Layer, Layout, Panel, Sheet, Shown, Space};
use crate::keys;
use crate::show;
use crate::theme::{self, Colors};
use crate::units::Units;
use egui::{FontId, Key, Modifiers, Painter, Pos2, Rect, Response, Role, Sense, Ui, WidgetInfo, pos2, vec2};

/// Between the picture's border and the sheet.
const MARGIN: f32 = 12.0;
/// One press of an arrow.
const KEY_STEP: f32 = 60.0;
/// Groups that are read out.
const MOST_SPOKEN: usize = 12;

impl Space {
    /// One strategy's walls, flat.
    pub(super) fn flat_picture(&mut self, ui: &Ui, pane: usize, place: Rect, shown: &Shown, units: Units) {
        let colors = theme::of(ui);
        let response = ui.interact(place, ui.scope_id().with(("walls", pane)), Sense::click_and_drag());
        let Some(scene) = &shown.scene else {
            empty(ui, place, &shown.empty);
            return;
        };
        let sheet = self.sheet(scene);
        if sheet.groups.is_empty() {
            empty(ui, place, "Nothing stands on the site, so there are no walls to show.");
            return;
        }
        let inner = place.shrink(MARGIN);
        let size_px = pixels(ui, inner);
        // The picture is laid out anew from its pixels, so that both must break at the same width.
        let width = size_px.0 as f32 / ui.ctx().pixels_per_point();
        let room = vec2(width, inner.height());
        let layout = self.layout(pane, &sheet, room);
        let most = (layout.height - inner.height()).max(0.0);
        move_about(ui, &response, &layout, &mut self.flat, most);
        let layout = self.layout(pane, &sheet, room);
        let scrolled = self.flat.scrolled.min((layout.height - inner.height()).max(0.0));
        self.pick_in(pane, &response, inner, shown.strategy);
        let glance = Glance::Flat { points_per_m: layout.points_per_m, scrolled };
        self.draw(ui.ctx(), pane, scene, glance, paper(colors, shown.slot), size_px);
        ui.painter().rect_filled(place, 2.0, colors.surface);
        self.show_canvas(ui, pane, inner);
        let writing =
            Writing { painter: &ui.painter_at(inner), at: inner.min - vec2(0.0, scrolled), colors, units };
        writing.all(&sheet, &layout, inner);
        scroll_bar(ui, place, scrolled, layout.height, inner.height());
        border(ui, place, &response);
        pointed_at(&response, &sheet, &layout, inner.min - vec2(0.0, scrolled), units);
        let spoken = spoken(&sheet, shown, self.layer);
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    }

    fn pick_in(&mut self, pane: usize, response: &Response, inner: Rect, strategy: obliquity_planning::Id) {
        let inside = Response { rect: inner, ..response.clone() };
        if response.interact_pointer_pos().is_none_or(|at| inner.contains(at)) {
            self.pick_clicked(pane, &inside, strategy);
        }
    }
}

/// Dragging, the wheel, pinching and keys.
fn move_about(ui: &Ui, response: &Response, layout: &Layout, flat: &mut Flat, most: f32) {
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let (mut down, mut factor) = (0.0, 1.0);
    if response.dragged() {
        down -= response.drag_delta().y;
    }
    if response.hovered() {
        let (wheel, pinch) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
        down -= wheel;
        factor *= pinch;
    }
    if (response.hovered() || response.has_focus()) && !ui.ctx().text_edit_focused() {
        if !keys::taken(ui, &[Key::Num0, Key::Home]).is_empty() {
            *flat = Flat::default();
            return;
        }
        for key in keys::taken(ui, &[Key::Plus, Key::Equals, Key::Minus]) {
            factor *= if key == Key::Minus { 1.0 / 1.3 } else { 1.3 };
        }
        let page = response.rect.height() * 0.8;
        let steps = [
            (Key::ArrowDown, KEY_STEP),
            (Key::ArrowUp, -KEY_STEP),
            (Key::PageDown, page),
            (Key::PageUp, -page),
        ];
        let times = |key: Key| keys::times(ui, Modifiers::NONE, key) as f32;
        down += steps.into_iter().map(|(key, step)| times(key) * step).sum::<f32>();
    }
    if (factor - 1.0).abs() > 1e-4 {
        flat.points_per_m = Some(layout.scaled(f64::from(factor)));
        flat.scrolled *= factor;
    } else if down != 0.0 {
        flat.scrolled = (flat.scrolled + down).clamp(0.0, most);
    }
}

/// What is written on a sheet.
struct Writing<'a> {
    painter: &'a Painter,
    /// Where the sheet's upper left corner is.
    at: Pos2,
    colors: &'a Colors,
    units: Units,
}

impl Writing<'_> {
    fn all(&self, sheet: &Sheet, layout: &Layout, inner: Rect) {
        for &(group, place) in &layout.heads {
            let place = place.translate(self.at.to_vec2());
            if place.intersects(inner) {
                let group = &sheet.groups[group];
                let covered = show::percent(group.covered_ratio, None);
                let (ink, font) = (self.colors.ink, theme::body_strong());
                self.first(
                    &[format!("{}: {covered} covered", group.name), group.name.clone()],
                    place,
                    &font,
                    ink,
                );
            }
        }
        for &(group, panel, place) in &layout.panels {
            let place = place.translate(self.at.to_vec2());
            let label =
                place.with_max_y(place.top() - 1.0).with_min_y(place.top() - super::flat::LABEL + 2.0);
            if label.intersects(inner) && label.width() >= super::flat::LEAST_LABELLED {
                self.panel(&sheet.groups[group].panels[panel], label);
            }
        }
    }

    fn panel(&self, panel: &Panel, place: Rect) {
        let covered = show::percent(panel.covered_ratio, None);
        let facing = panel.facing();
        let texts = [format!("faces {facing}: {covered}"), format!("{facing}: {covered}"), facing.to_owned()];
        self.first(&texts, place, &theme::caption_strong(), self.colors.ink);
        let size = panel.size_text(self.units);
        let under = place.with_min_y(place.top() + 14.0);
        self.first(&[size.clone(), size.replace(' ', "")], under, &theme::caption(), self.colors.muted);
    }

    /// Writes the first text for which there is room, or none.
    fn first(&self, texts: &[String], place: Rect, font: &FontId, color: egui::Color32) {
        let galleys = texts.iter().map(|text| self.painter.layout_no_wrap(text.clone(), font.clone(), color));
        let room = place.width() - 4.0;
        if let Some(galley) = galleys.into_iter().find(|galley| galley.size().x <= room) {
            self.painter.galley(place.min, galley, color);
        }
    }
}

/// How much of the sheet is in sight.
fn scroll_bar(ui: &Ui, place: Rect, scrolled: f32, height: f32, room: f32) {
    if height <= room {
        return;
    }
    let colors = theme::of(ui);
    let track = place.shrink(3.0).with_min_x(place.right() - 8.0);
    let (from, to) = (scrolled / height, (scrolled + room) / height);
    let bar = |share: f32| track.top() + share * track.height();
    ui.painter().rect_filled(track, 2.5, colors.trough);
    let thumb = Rect::from_min_max(pos2(track.left(), bar(from)), pos2(track.right(), bar(to.min(1.0))));
    ui.painter().rect_filled(thumb, 2.5, colors.muted);
}

/// What there is to know of the panel under the pointer.
fn pointed_at(response: &Response, sheet: &Sheet, layout: &Layout, at: Pos2, units: Units) {
    let Some(pointer) = response.hover_pos().filter(|_| !response.dragged()) else { return };
    let under = pointer - at.to_vec2();
    if let Some(&(group, panel, _)) = layout.panels.iter().find(|(.., place)| place.contains(under)) {
        let group: &Group = &sheet.groups[group];
        let text = group.panels[panel].lines(group, units).join("\n");
        response.clone().on_hover_text_at_pointer(text);
    }
}

fn spoken(sheet: &Sheet, shown: &Shown, layer: Layer) -> String {
    let groups = sheet.groups.iter().take(MOST_SPOKEN);
    let parts = groups.map(|group| {
        let covered = show::percent(group.covered_ratio, None);
        format!("{} {covered} covered", group.name)
    });
    let parts: Vec<String> = parts.collect();
    let rest = sheet.groups.len().saturating_sub(MOST_SPOKEN);
    let rest = if rest > 0 { format!(", and {rest} more") } else { String::new() };
    let layer = layer.name().to_lowercase();
    format!("Walls of {}, by {layer}: {}{rest}", shown.name, parts.join(", "))
}
