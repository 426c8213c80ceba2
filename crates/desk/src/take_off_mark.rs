//! The marks of take-off points, on the plan and in 3D.

use crate::theme::{self, Colors};
use egui::{Align2, Painter, Pos2, Shape, Stroke, vec2};

/// Half the width of a diamond with its number.
pub(crate) const HALF: f32 = 11.0;

/// The only take-off point.
pub(crate) fn only(painter: &Painter, at: Pos2, colors: &Colors) {
    painter.circle(at, 6.0, colors.surface, Stroke::new(2.0, colors.ink));
    painter.circle_filled(at, 2.2, colors.ink);
}

/// One of several: its number in a diamond, which no end of a sortie has.
pub(crate) fn numbered(painter: &Painter, at: Pos2, half: f32, number: &str, colors: &Colors) {
    let corners = [vec2(0.0, -half), vec2(half, 0.0), vec2(0.0, half), vec2(-half, 0.0)];
    let ring = corners.map(|corner| at + corner).to_vec();
    painter.add(Shape::convex_polygon(ring, colors.ink, Stroke::new(1.5, colors.surface)));
    painter.text(at, Align2::CENTER_CENTER, number, theme::caption_strong(), colors.surface);
}
