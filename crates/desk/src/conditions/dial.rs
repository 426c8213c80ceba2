//! A dial that shows, and sets, where the wind comes from.

use crate::show::compass_name;
use crate::theme;
use crate::units::Units;
use egui::{Align2, Color32, Pos2, Sense, Stroke, Ui, Vec2, pos2, vec2};
use obliquity_planning::wind::Wind;

const SIDE: f32 = 104.0;
/// Dragging snaps to this.
const SNAP_DEG: f64 = 5.0;

/// The wind in words: "5 m/s from the south-west (225°)", that its direction is unknown, or that there is none.
pub(crate) fn wind_text(wind: Wind, units: Units) -> String {
    if !wind.blows() {
        return "No wind".to_owned();
    }
    let from = wind
        .from_deg
        .map_or_else(|| ", direction unknown".to_owned(), |deg| format!(" from the {}", from_text(deg)));
    format!("{}{from}", units.speed(wind.speed_mps))
}

/// A direction in words: "south-west (225°)".
pub(crate) fn from_text(from_deg: f64) -> String {
    let from_deg = from_deg.rem_euclid(360.0);
    format!("{} ({from_deg:.0}°)", compass_name(from_deg))
}

/// Draws the dial; gives the direction that it was dragged or clicked to.
pub(super) fn dial(ui: &mut Ui, wind: Wind, units: Units) -> Option<f64> {
    let (area, response) = ui.allocate_exact_size(vec2(SIDE, SIDE), Sense::CLICK | Sense::DRAG);
    let colors = theme::of(ui);
    let (middle, radius) = (area.center(), SIDE / 2.0 - 16.0);
    let painter = ui.painter();
    painter.circle(middle, radius, colors.page, Stroke::new(1.0, colors.rule));
    for step in 0..24 {
        let toward = toward(15.0 * f64::from(step));
        let length = if step % 6 == 0 { 6.0 } else { 3.0 };
        let ends = [middle + toward * radius, middle + toward * (radius - length)];
        painter.line_segment(ends, Stroke::new(1.0, colors.muted));
    }
    for (deg, letter) in [(0.0, "N"), (90.0, "E"), (180.0, "S"), (270.0, "W")] {
        let at = middle + toward(deg) * (radius + 9.0);
        painter.text(at, Align2::CENTER_CENTER, letter, theme::caption(), colors.muted);
    }
    match wind.from_deg {
        Some(from_deg) if wind.blows() => arrow(painter, middle, from_deg, radius - 5.0, colors.accent),
        None if wind.blows() => {
            painter.text(middle, Align2::CENTER_CENTER, "?", theme::headline(), colors.accent);
        }
        _ => drop(painter.circle_filled(middle, 2.5, colors.muted)),
    }
    let said = format!("Dial of the wind: {}", wind_text(wind, units));
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
    let at = response.interact_pointer_pos().filter(|_| response.clicked() || response.dragged());
    response.on_hover_text("Click or drag to where the wind comes from; the number above does the same");
    let from_deg = azimuth_deg(at? - middle)?;
    (Some(from_deg) != wind.from_deg).then_some(from_deg)
}

/// An arrow that blows from a direction over a place.
pub(crate) fn arrow(painter: &egui::Painter, middle: Pos2, from_deg: f64, half: f32, color: Color32) {
    let from = toward(from_deg);
    let side = vec2(-from.y, from.x);
    let tip = middle - from * half;
    let neck = tip + from * (half * 0.55);
    painter.line_segment([middle + from * half, neck], Stroke::new(2.0, color));
    let head = vec![tip, neck + side * (half * 0.32), neck - side * (half * 0.32)];
    painter.add(egui::Shape::convex_polygon(head, color, Stroke::NONE));
}

/// Towards an azimuth on the screen, north up.
#[expect(clippy::cast_possible_truncation, reason = "a direction on the screen")]
fn toward(azimuth_deg: f64) -> Vec2 {
    let (sin, cos) = azimuth_deg.to_radians().sin_cos();
    vec2(sin as f32, -cos as f32)
}

/// The azimuth of a place on the dial, snapped; nothing in its very middle.
fn azimuth_deg(offset: Vec2) -> Option<f64> {
    if offset.length() < 4.0 {
        return None;
    }
    let at = pos2(offset.x, -offset.y);
    let deg = f64::from(at.x.atan2(at.y)).to_degrees();
    Some(((deg / SNAP_DEG).round() * SNAP_DEG).rem_euclid(360.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: by hand; up on the screen is north.
    #[test]
    fn places_on_the_dial_are_azimuths() {
        assert_eq!(azimuth_deg(vec2(0.0, -30.0)), Some(0.0));
        assert_eq!(azimuth_deg(vec2(30.0, 0.0)), Some(90.0));
        assert_eq!(azimuth_deg(vec2(-20.0, 20.0)), Some(225.0));
        assert_eq!(azimuth_deg(vec2(0.0, 1.0)), None);
    }

    // Derived: by hand.
    #[test]
    fn wind_is_said_in_words() {
        let wind = Wind { speed_mps: 5.0, from_deg: Some(-135.0) };
        assert_eq!(wind_text(wind, Units::Metric), "5 m/s from the south-west (225°)");
        assert_eq!(wind_text(Wind::default(), Units::Metric), "4 m/s, direction unknown");
        assert_eq!(wind_text(Wind::STILL, Units::Metric), "No wind");
    }
}
