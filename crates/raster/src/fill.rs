use super::texture::{Rgba, Texture, rgba};
use egui::epaint::{Mesh, Vertex};
use egui::{Color32, Rect};
use std::ops::Range;

/// Some rows of the image, drawn by one thread.
pub(super) struct RowBand<'a> {
    pixels: &'a mut [Color32],
    width: usize,
    first_row: usize,
}

/// The pixels that may be touched: columns and rows, the last ones not included.
#[derive(Clone, Copy)]
struct Clip {
    left: i32,
    right: i32,
    top: i32,
    bottom: i32,
}

/// A vertex in pixels, with its colour.
#[derive(Clone, Copy)]
struct FillCorner {
    x: f32,
    y: f32,
    u: f32,
    v: f32,
    color: Rgba,
}

impl<'a> RowBand<'a> {
    pub(super) fn new(pixels: &'a mut [Color32], width: usize, first_row: usize) -> Self {
        RowBand { pixels, width, first_row }
    }

    /// Draws the part of a mesh that falls into the band.
    pub(super) fn draw(&mut self, mesh: &Mesh, texture: Option<&Texture>, clip_points: Rect, scale: f32) {
        let clip = self.clip(clip_points, scale);
        if clip.left >= clip.right || clip.top >= clip.bottom {
            return;
        }
        for triangle in mesh.indices.chunks_exact(3) {
            let [a, b, c] = [0, 1, 2].map(|i| &mesh.vertices[triangle[i] as usize]);
            if outside(&[a, b, c], clip, scale) {
                continue;
            }
            let same_texel = a.uv == b.uv && b.uv == c.uv;
            let corners = [a, b, c].map(|vertex| corner(vertex, scale));
            self.fill(&corners, texture, clip, if same_texel { Paint::Flat } else { Paint::Textured });
        }
    }

    /// The clip rectangle in whole pixels, as the window's renderer rounds it, cut to the band.
    fn clip(&self, points: Rect, scale: f32) -> Clip {
        let rows = self.pixels.len() / self.width;
        let (first, last) = (to_i32(self.first_row as f32), to_i32((self.first_row + rows) as f32));
        Clip {
            left: to_i32((points.min.x * scale).round()).max(0),
            right: to_i32((points.max.x * scale).round()).min(to_i32(self.width as f32)),
            top: to_i32((points.min.y * scale).round()).max(first),
            bottom: to_i32((points.max.y * scale).round()).min(last),
        }
    }

    fn fill(&mut self, corners: &[FillCorner; 3], texture: Option<&Texture>, clip: Clip, paint: Paint) {
        let Some(gradient) = Gradient::new(corners) else { return };
        let flat = texture.filter(|_| paint == Paint::Flat).map(|t| t.sample(corners[0].u, corners[0].v));
        let even = flat.filter(|_| corners[1..].iter().all(|corner| corner.color == corners[0].color));
        let even: Option<Rgba> = even.map(|texel| std::array::from_fn(|i| corners[0].color[i] * texel[i]));
        let (low, high) = span_of(corners.map(|corner| corner.y));
        let rows = first_inside(low).max(clip.top)..first_inside(high).min(clip.bottom);
        for row in rows {
            let Some((left, right)) = crossing(corners, row as f32 + 0.5) else { continue };
            let columns = first_inside(left).max(clip.left)..first_inside(right).min(clip.right);
            if let Some(over) = even {
                self.blend_run(columns, row, over);
                continue;
            }
            for column in columns {
                let at = gradient.at(column as f32 + 0.5, row as f32 + 0.5);
                let texel = match (flat, texture) {
                    (Some(texel), _) => texel,
                    (None, Some(texture)) => texture.sample(at.u, at.v),
                    (None, None) => [1.0; 4],
                };
                self.blend(column, row, std::array::from_fn(|i| at.color[i] * texel[i]));
            }
        }
    }

    /// Lays a premultiplied colour over a pixel.
    fn blend(&mut self, column: i32, row: i32, over: Rgba) {
        let at = self.place(column, row);
        self.pixels[at] = blended(over, self.pixels[at]);
    }

    /// The same over pixels side by side: most of a screen, and opaque.
    fn blend_run(&mut self, columns: Range<i32>, row: i32, over: Rgba) {
        if columns.is_empty() {
            return;
        }
        let from = self.place(columns.start, row);
        let run = &mut self.pixels[from..from + columns.len()];
        if over[3] == 1.0 {
            run.fill(blended(over, Color32::TRANSPARENT));
        } else {
            for pixel in run {
                *pixel = blended(over, *pixel);
            }
        }
    }

    /// The index of a pixel.
    #[expect(clippy::cast_sign_loss, reason = "the clip keeps both inside the band")]
    fn place(&self, column: i32, row: i32) -> usize {
        (row as usize - self.first_row) * self.width + column as usize
    }
}

/// A premultiplied colour laid over another.
fn blended(over: Rgba, under: Color32) -> Color32 {
    let under = rgba(under);
    let rest = 1.0 - over[3];
    let [r, g, b, a] = std::array::from_fn(|i| byte(over[i] + under[i] * rest));
    Color32::from_rgba_premultiplied(r, g, b, a)
}

/// Whether a triangle's three texture coordinates are the same.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Paint {
    Flat,
    Textured,
}

/// What is interpolated over a triangle: a value at the first corner and its change along x and y.
struct Gradient {
    origin: FillCorner,
    along_x: [f32; 6],
    along_y: [f32; 6],
}

impl Gradient {
    /// Nothing for a triangle without area.
    fn new(corners: &[FillCorner; 3]) -> Option<Self> {
        let [a, b, c] = corners;
        let (bx, by, cx, cy) = (b.x - a.x, b.y - a.y, c.x - a.x, c.y - a.y);
        let area = bx * cy - cx * by;
        if area.abs() < 1e-9 || !area.is_finite() {
            return None;
        }
        let (va, vb, vc) = (values(a), values(b), values(c));
        let along_x = std::array::from_fn(|i| ((vb[i] - va[i]) * cy - (vc[i] - va[i]) * by) / area);
        let along_y = std::array::from_fn(|i| ((vc[i] - va[i]) * bx - (vb[i] - va[i]) * cx) / area);
        Some(Gradient { origin: *a, along_x, along_y })
    }

    fn at(&self, x: f32, y: f32) -> FillCorner {
        let (dx, dy) = (x - self.origin.x, y - self.origin.y);
        let from = values(&self.origin);
        let [u, v, r, g, b, a] =
            std::array::from_fn(|i| from[i] + self.along_x[i] * dx + self.along_y[i] * dy);
        FillCorner { x, y, u, v, color: [r, g, b, a].map(|c| c.clamp(0.0, 1.0)) }
    }
}

fn values(corner: &FillCorner) -> [f32; 6] {
    let [r, g, b, a] = corner.color;
    [corner.u, corner.v, r, g, b, a]
}

fn corner(vertex: &Vertex, scale: f32) -> FillCorner {
    FillCorner {
        x: vertex.pos.x * scale,
        y: vertex.pos.y * scale,
        u: vertex.uv.x,
        v: vertex.uv.y,
        color: rgba(vertex.color),
    }
}

/// Whether a triangle lies wholly on one side of the clip rectangle.
fn outside(vertices: &[&Vertex; 3], clip: Clip, scale: f32) -> bool {
    let (left, right) = span_of(vertices.map(|v| v.pos.x * scale));
    let (top, bottom) = span_of(vertices.map(|v| v.pos.y * scale));
    right < clip.left as f32
        || left > clip.right as f32
        || bottom < clip.top as f32
        || top > clip.bottom as f32
}

/// Where a row's centre line enters and leaves the triangle. An edge owns its upper end and not its lower one, so every
/// row meets exactly two edges or none.
fn crossing(corners: &[FillCorner; 3], y: f32) -> Option<(f32, f32)> {
    let mut found = [0.0_f32; 2];
    let mut count = 0;
    for i in 0..3 {
        let (mut a, mut b) = (corners[i], corners[(i + 1) % 3]);
        if a.y > b.y {
            std::mem::swap(&mut a, &mut b);
        }
        if a.y <= y && y < b.y && count < 2 {
            found[count] = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
            count += 1;
        }
    }
    (count == 2).then(|| (found[0].min(found[1]), found[0].max(found[1])))
}

/// The first pixel whose centre is not before a coordinate.
fn first_inside(at: f32) -> i32 {
    to_i32((at - 0.5).ceil())
}

fn span_of(values: [f32; 3]) -> (f32, f32) {
    let [a, b, c] = values;
    (a.min(b).min(c), a.max(b).max(c))
}

#[expect(clippy::cast_possible_truncation, reason = "saturates, and images are far smaller")]
fn to_i32(value: f32) -> i32 {
    value as i32
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
fn byte(value: f32) -> u8 {
    (value * 255.0 + 0.5).clamp(0.0, 255.0) as u8
}
