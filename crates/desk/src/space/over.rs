//! What is painted over a picture in 3D: where sorties start, the timeline's cursor, north, what needs saying.

use super::state::size_of;
use super::{Eye, Projection, Scene};
use crate::take_off_mark;
use crate::theme::{self, Colors};
use crate::units::{Unit, Units};
use egui::{Align2, Painter, Pos2, Rect, Stroke, Ui, vec2};
use glam::DVec3;

/// A picture has no more pixels than this on a side.
const MOST_PX: f32 = 4096.0;
/// A picture with what it shows, to be painted over.
pub(super) struct Overlay<'a> {
    painter: Painter,
    place: Rect,
    eye: Eye,
    projection: Projection,
    pixels_per_point: f64,
    scene: &'a Scene,
    colors: &'a Colors,
}

impl<'a> Overlay<'a> {
    pub(super) fn new(ui: &Ui, place: Rect, eye: Eye, scene: &'a Scene) -> Self {
        Overlay {
            painter: ui.painter_at(place),
            place,
            eye,
            projection: eye.project(size_of(pixels(ui, place))),
            pixels_per_point: f64::from(ui.ctx().pixels_per_point()),
            scene,
            colors: theme::of(ui),
        }
    }

    /// Where a place is on the screen; nothing of one behind the eye.
    fn at(&self, at_m: DVec3) -> Option<Pos2> {
        let (at, _) = self.projection.at(at_m)?;
        let at = at / self.pixels_per_point;
        Some(self.place.min + vec2(at.x as f32, at.y as f32))
    }

    /// Where sorties start: as on the plan, numbered where there are several.
    pub(super) fn take_offs(&self) {
        let places_m = &self.scene.flight.take_offs_m;
        for (number, at_m) in (1..).zip(places_m) {
            let Some(at) = self.at(*at_m) else { continue };
            if places_m.len() > 1 {
                let number = format!("{number}");
                take_off_mark::numbered(&self.painter, at, take_off_mark::HALF, &number, self.colors);
            } else {
                take_off_mark::only(&self.painter, at, self.colors);
            }
        }
    }

    /// Where the timeline's cursor has the aircraft, with a line down to the ground.
    pub(super) fn cursor(&self, at_m: DVec3) {
        let (colors, painter) = (self.colors, &self.painter);
        let ground_m = at_m.truncate().extend(self.scene.site.terrain.height_m(at_m.truncate()));
        let Some(at) = self.at(at_m) else { return };
        if let Some(foot) = self.at(ground_m) {
            painter.line_segment([at, foot], Stroke::new(3.0, colors.surface));
            painter.line_segment([at, foot], Stroke::new(1.5, colors.accent));
        }
        painter.circle(at, 7.0, colors.accent, Stroke::new(2.5, colors.surface));
        painter.circle_stroke(at, 10.0, Stroke::new(1.5, colors.accent));
    }

    /// Where north is.
    pub(super) fn compass(&self) {
        let (colors, painter) = (self.colors, &self.painter);
        let centre = self.place.left_top() + vec2(26.0, 26.0);
        let (sin, cos) = (-self.eye.azimuth_rad).sin_cos();
        let flat = self.eye.down_rad.sin().max(0.3);
        let way = vec2(sin as f32, (-cos * flat) as f32);
        painter.circle_filled(centre, 20.0, colors.surface.gamma_multiply(0.8));
        painter.line_segment([centre - way * 9.0, centre + way * 7.0], Stroke::new(1.5, colors.ink));
        painter.text(centre + way * 13.5, Align2::CENTER_CENTER, "N", theme::caption_strong(), colors.ink);
    }
}

/// What needs saying of a picture.
pub(super) fn notes(scene: &Scene, eye: Eye, units: Units) -> Vec<String> {
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
pub(super) fn caption(painter: &Painter, place: Rect, notes: &[String], colors: &Colors) {
    if notes.is_empty() {
        return;
    }
    let galley = painter.layout_no_wrap(notes.join("; "), theme::caption(), colors.muted);
    let at = Align2::LEFT_BOTTOM.anchor_size(place.left_bottom() + vec2(8.0, -6.0), galley.size());
    painter.rect_filled(at.expand2(vec2(3.0, 1.0)), 3.0, colors.surface.gamma_multiply(0.85));
    painter.galley(at.min, galley, colors.muted);
}

/// Pixels of a picture.
pub(super) fn pixels(ui: &Ui, place: Rect) -> (usize, usize) {
    let scale = ui.ctx().pixels_per_point();
    let px = |points: f32| (points * scale).round().clamp(1.0, MOST_PX) as usize;
    (px(place.width()), px(place.height()))
}
