//! The shape that goes with a caution's severity, so that it is told without colours.

use egui::{Color32, Pos2, Shape, Stroke, Ui, pos2, vec2};
use obliquity_planning::Severity;

/// Room for the shape before the word.
pub(crate) const MARK: f32 = 15.0;

/// Draws the shape at the left top of a line: a broken limit is a filled bar-crossed disc, a check a triangle, a reminder
/// a ring.
pub(crate) fn mark(ui: &Ui, line: Pos2, severity: Severity, color: Color32) {
    let centre = line + vec2(5.5, 8.0);
    let painter = ui.painter();
    match severity {
        Severity::Limit => {
            painter.circle_filled(centre, 5.0, color);
            let ends = [centre - vec2(2.8, 0.0), centre + vec2(2.8, 0.0)];
            painter.line_segment(ends, Stroke::new(2.0, crate::theme::of(ui).page));
        }
        Severity::Check => {
            let (x, y) = (centre.x, centre.y);
            let corners = vec![pos2(x, y - 5.0), pos2(x + 5.2, y + 4.2), pos2(x - 5.2, y + 4.2)];
            painter.add(Shape::convex_polygon(corners, color, Stroke::NONE));
        }
        Severity::Reminder => {
            painter.circle_stroke(centre, 3.2, Stroke::new(1.2, color));
        }
    }
}
