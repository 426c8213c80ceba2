//! What lies below everything on the plan: pictures of the ground, where there are any.

use crate::canvas::Canvas;
use egui::{Color32, Mesh, Painter, Pos2, Rect, TextureHandle};
use glam::DVec2;
use std::sync::Arc;

/// A picture of the ground, in pieces.
#[derive(Clone, PartialEq, Default)]
pub struct Backdrop {
    /// Its pieces.
    pub pieces: Vec<BackdropPiece>,
    /// From 0, not to be seen, to 1.
    pub opacity: f32,
}

/// A piece of it.
#[derive(Clone, PartialEq)]
pub struct BackdropPiece {
    /// Its pixels.
    pub texture: TextureHandle,
    /// Where its corners lie on the site: upper left, upper right, lower right, lower left of the pixels.
    pub corners_m: [DVec2; 4],
}

impl std::fmt::Debug for Backdrop {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Backdrop { pieces, opacity } = self;
        f.debug_struct("Backdrop").field("pieces", &pieces.len()).field("opacity", opacity).finish()
    }
}

impl std::fmt::Debug for BackdropPiece {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("BackdropPiece").field("corners_m", &self.corners_m).finish_non_exhaustive()
    }
}

/// Paints what lies below everything: the page, and the picture if there is one.
pub(super) fn paint(
    painter: &Painter,
    page: Color32,
    backdrop: Option<&Arc<Backdrop>>,
    area: Rect,
    canvas: &Canvas,
) {
    painter.rect_filled(area, 4.0, page);
    let Some(backdrop) = backdrop else { return };
    let tint = Color32::WHITE.gamma_multiply(backdrop.opacity.clamp(0.0, 1.0));
    for piece in &backdrop.pieces {
        let corners = piece.corners_m.map(|at_m| canvas.to_screen(at_m, area));
        if !Rect::from_points(&corners).intersects(area) {
            continue;
        }
        let mut mesh = Mesh::with_texture(piece.texture.id());
        let corner =
            |at: Pos2, u: f32, v: f32| egui::epaint::Vertex { pos: at, uv: Pos2::new(u, v), color: tint };
        let [a, b, c, d] = corners;
        mesh.vertices.extend([
            corner(a, 0.0, 0.0),
            corner(b, 1.0, 0.0),
            corner(c, 1.0, 1.0),
            corner(d, 0.0, 1.0),
        ]);
        mesh.add_triangle(0, 1, 2);
        mesh.add_triangle(0, 2, 3);
        painter.add(mesh);
    }
}
