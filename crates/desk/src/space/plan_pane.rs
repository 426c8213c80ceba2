use super::Scene;
use egui::Color32;
use glam::{DVec2, DVec3};
use obliquity_raster::depth::{Corner, Frame, Shape, draw};

/// What one picture of the site from above shows.
#[derive(Debug, Clone, Copy)]
pub struct AbovePane<'a> {
    /// The strategy and its site.
    pub scene: &'a Scene,
    /// The samples' colours, by number.
    pub colors: &'a [Color32],
    /// What is in the middle.
    pub centre_m: DVec2,
    /// How large a metre is drawn.
    pub points_per_m: f64,
    /// Width and height.
    pub size_px: (usize, usize),
    /// Pixels for each point.
    pub pixels_per_point: f32,
}

/// Surfaces that are steeper are not seen from above.
const LEAST_UP: f64 = 0.05;

/// Draws ground and roofs from above, north up; what lies beside them is left clear.
pub fn render_above(pane: &AbovePane<'_>) -> Frame {
    let scale = pane.points_per_m * f64::from(pane.pixels_per_point);
    let middle = DVec2::new(pane.size_px.0 as f64, pane.size_px.1 as f64) / 2.0;
    let corner = |at_m: DVec3| -> Corner {
        let from_middle = (at_m.truncate() - pane.centre_m) * scale;
        // The higher hides the lower; heights on a site are within some kilometres.
        let near = 1.0 + at_m.z * 1e-4;
        [(middle.x + from_middle.x) as f32, (middle.y - from_middle.y) as f32, near as f32]
    };
    let shapes =
        pane.scene.patches.iter().zip((1..).zip(pane.colors)).filter_map(|(patch, (item, color))| {
            let [a, b, _, d] = patch.corners_m;
            let is_up = (b - a).cross(d - a).normalize_or_zero().z > LEAST_UP;
            is_up.then(|| Shape::Face { corners: patch.corners_m.map(corner).to_vec(), color: *color, item })
        });
    let shapes: Vec<Shape> = shapes.collect();
    draw(&shapes, pane.size_px, Color32::TRANSPARENT)
}
