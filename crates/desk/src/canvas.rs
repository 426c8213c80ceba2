//! A part of the site on the screen, seen from above, and what is marked on it.

use egui::{Pos2, Rect, Vec2, pos2};
use glam::{DVec2, DVec3};
use obliquity_planning::Id;

/// Points on the screen for each metre, from the whole of a wide site to single pixels of it.
const ZOOM: std::ops::RangeInclusive<f64> = 0.005..=200.0;

/// Which part of the site is on the screen, and how large. North is up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Canvas {
    /// In the middle of the screen.
    pub centre_m: DVec2,
    /// How large a metre is drawn.
    pub points_per_m: f64,
}

impl Canvas {
    /// Shows all of a box with some air around it.
    pub fn fitted((low, high): (DVec2, DVec2), area: Rect) -> Self {
        const AIR: f64 = 0.9;
        let size = (high - low).max(DVec2::splat(1.0));
        let scale = (f64::from(area.width()) / size.x).min(f64::from(area.height()) / size.y);
        Canvas { centre_m: low.midpoint(high), points_per_m: (AIR * scale).clamp(*ZOOM.start(), *ZOOM.end()) }
    }

    /// Where a place of the site is on the screen.
    pub fn to_screen(&self, at_m: DVec2, area: Rect) -> Pos2 {
        let from_centre = (at_m - self.centre_m) * self.points_per_m;
        let centre = area.center();
        pos2(centre.x + narrow(from_centre.x), centre.y - narrow(from_centre.y))
    }

    /// Which place of the site is at a point of the screen.
    pub fn to_site(&self, at: Pos2, area: Rect) -> DVec2 {
        let from_centre = at - area.center();
        let metres = DVec2::new(f64::from(from_centre.x), -f64::from(from_centre.y)) / self.points_per_m;
        self.centre_m + metres
    }

    /// A length on the screen.
    pub fn length(&self, length_m: f64) -> f32 {
        narrow(length_m * self.points_per_m)
    }

    /// Draws everything `factor` times as large; what is at `at` stays there.
    pub fn zoom(&mut self, factor: f64, at: Pos2, area: Rect) {
        let held_m = self.to_site(at, area);
        let scale = (self.points_per_m * factor).clamp(*ZOOM.start(), *ZOOM.end());
        self.centre_m = held_m + (self.centre_m - held_m) * (self.points_per_m / scale);
        self.points_per_m = scale;
    }

    /// Moves everything with the pointer.
    pub fn pan(&mut self, by: Vec2) {
        self.centre_m += DVec2::new(-f64::from(by.x), f64::from(by.y)) / self.points_per_m;
    }
}

/// How many times as large the wheel and a pinch draw everything: a notch, 40 points, by a sixth.
pub fn zoomed(input: &egui::InputState) -> f64 {
    const POINTS: f64 = 260.0;
    f64::from(input.zoom_delta()) * (f64::from(input.smooth_scroll_delta().y) / POINTS).exp()
}

/// Where the timeline's cursor has an aircraft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CursorMark {
    /// The strategy that it is about.
    pub strategy: Id,
    /// The place.
    pub at_m: DVec3,
}

#[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
fn narrow(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::vec2;

    const AREA: Rect = Rect { min: pos2(100.0, 50.0), max: pos2(500.0, 350.0) };

    // Derived: 200 m by 100 m on 400 by 300 points: the width decides, 1.8 points a metre with a tenth of air.
    #[test]
    fn everything_fits_with_north_up() {
        let canvas = Canvas::fitted((DVec2::ZERO, DVec2::new(200.0, 100.0)), AREA);
        assert!((canvas.points_per_m - 1.8).abs() < 1e-12);
        let north = canvas.to_screen(DVec2::new(100.0, 100.0), AREA);
        assert!((north - pos2(300.0, 110.0)).length() < 1e-3, "{north:?}");
    }

    // Derived: zooming about a place and moving are undone by their opposites; single precision keeps 1e-3 points.
    #[test]
    fn what_is_zoomed_at_stays_where_it_is() {
        let mut canvas = Canvas::fitted((DVec2::ZERO, DVec2::new(200.0, 100.0)), AREA);
        let before = canvas;
        let at = pos2(160.0, 300.0);
        let held = canvas.to_site(at, AREA);
        canvas.zoom(3.0, at, AREA);
        assert!((canvas.to_screen(held, AREA) - at).length() < 1e-3);
        canvas.pan(vec2(40.0, -25.0));
        assert!((canvas.to_screen(held, AREA) - at - vec2(40.0, -25.0)).length() < 1e-3);
        canvas.pan(vec2(-40.0, 25.0));
        canvas.zoom(1.0 / 3.0, at, AREA);
        assert!(canvas.centre_m.distance(before.centre_m) < 1e-9);
    }

    #[test]
    fn zooming_ends_somewhere() {
        let mut canvas = Canvas::fitted((DVec2::ZERO, DVec2::ZERO), AREA);
        for _ in 0..100 {
            canvas.zoom(10.0, AREA.center(), AREA);
        }
        assert!((canvas.points_per_m - 200.0).abs() < 1e-9);
    }
}
