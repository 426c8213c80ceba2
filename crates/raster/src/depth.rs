//! Faces, lines and dots in perspective, the nearer ones before the others.

use egui::Color32;
use rayon::prelude::*;

/// Rows that one thread draws at a time.
const BAND_ROWS: usize = 24;
/// Lines and dots lie this share of their distance before the surfaces, so that edges are not eaten by their faces.
const BEFORE: f32 = 1.0006;

/// A drawn picture that knows which sample is where.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Pixels in a row.
    pub width_px: usize,
    /// Rows.
    pub height_px: usize,
    /// Colours, row by row from the top.
    pub pixels: Vec<Color32>,
    /// For each pixel, the number of the sample there and 1; 0 where there is none.
    items: Vec<u32>,
}

impl Frame {
    /// The sample at a pixel from the top left; nothing beside the surfaces and beside the picture.
    pub fn sample_at(&self, column: usize, row: usize) -> Option<u32> {
        let inside = column < self.width_px && row < self.height_px;
        inside.then(|| self.items[row * self.width_px + column]).and_then(|item| item.checked_sub(1))
    }
}

/// A corner on the canvas: pixels from the left and the top, and 1 / depth, which is linear there.
pub type Corner = [f32; 3];

/// A convex plane face, a line or a dot, projected.
#[derive(Debug, Clone)]
pub enum Shape {
    /// A face of one colour.
    Face {
        /// In their order, either way round.
        corners: Vec<Corner>,
        /// Of all its pixels.
        color: Color32,
        /// The number of the sample and 1, or 0.
        item: u32,
    },
    /// A line a pixel wide, before the surfaces at its place.
    Line {
        /// From here to there.
        ends: [Corner; 2],
        /// May be partly transparent.
        color: Color32,
    },
    /// A disc that faces the eye, before the surfaces at its place.
    Dot {
        /// Its middle.
        at: Corner,
        /// In pixels.
        radius_px: f32,
        /// May be partly transparent.
        color: Color32,
    },
}

impl Shape {
    /// First and last row that it can touch.
    fn rows(&self) -> (f32, f32) {
        let span = |ys: &mut dyn Iterator<Item = f32>| {
            ys.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)))
        };
        match self {
            Shape::Face { corners, .. } => span(&mut corners.iter().map(|c| c[1])),
            Shape::Line { ends, .. } => span(&mut ends.iter().flat_map(|c| [c[1] - 1.0, c[1] + 1.0])),
            Shape::Dot { at, radius_px, .. } => (at[1] - radius_px, at[1] + radius_px),
        }
    }
}

/// Draws shapes over a background; faces first, then lines and dots in their order. The picture does not depend on the
/// number of threads.
///
/// # Units
/// - `width_px`, `height_px`: pixels of the picture
pub fn draw(shapes: &[Shape], (width_px, height_px): (usize, usize), background: Color32) -> Frame {
    let mut pixels = vec![background; width_px * height_px];
    let mut items = vec![0_u32; width_px * height_px];
    if width_px > 0 {
        let rows: Vec<(f32, f32)> = shapes.iter().map(Shape::rows).collect();
        let chunk = width_px * BAND_ROWS;
        pixels.par_chunks_mut(chunk).zip(items.par_chunks_mut(chunk)).enumerate().for_each(
            |(index, (pixels, items))| {
                let near = vec![0.0; pixels.len()];
                let mut band = PixelBand { pixels, items, near, width: width_px, top: index * BAND_ROWS };
                let (from, to) = (band.top as f32, (band.top + BAND_ROWS) as f32);
                let inside = || shapes.iter().zip(&rows).filter(move |(_, r)| r.1 >= from && r.0 <= to);
                inside().for_each(|(shape, _)| band.face(shape));
                inside().for_each(|(shape, _)| band.mark(shape));
            },
        );
    }
    Frame { width_px, height_px, pixels, items }
}

/// Some rows of the picture; `near` holds 1 / depth.
struct PixelBand<'a> {
    pixels: &'a mut [Color32],
    items: &'a mut [u32],
    near: Vec<f32>,
    width: usize,
    top: usize,
}

impl PixelBand<'_> {
    fn rows(&self) -> usize {
        self.pixels.len() / self.width
    }

    fn face(&mut self, shape: &Shape) {
        let Shape::Face { corners, color, item } = shape else { return };
        let Some([gain_x, gain_y, base]) = plane(corners) else { return };
        let (low, high) = shape.rows();
        let first = (low - self.top as f32).floor().max(0.0) as usize;
        let end = ((high - self.top as f32).ceil().max(0.0) as usize).min(self.rows());
        for row in first..end {
            let y = (self.top + row) as f32 + 0.5;
            let Some((from, to)) = crossing(corners, y) else { continue };
            let first = (from - 0.5).ceil().max(0.0) as usize;
            let last = ((to - 0.5).ceil().max(0.0) as usize).min(self.width);
            for column in first..last {
                let near = base + gain_x * (column as f32 + 0.5) + gain_y * y;
                let at = row * self.width + column;
                if near > self.near[at] {
                    self.near[at] = near;
                    self.pixels[at] = *color;
                    self.items[at] = *item;
                }
            }
        }
    }

    fn mark(&mut self, shape: &Shape) {
        match shape {
            Shape::Face { .. } => {}
            Shape::Line { ends, color } => self.line(*ends, *color),
            Shape::Dot { at, radius_px, color } => self.dot(*at, *radius_px, *color),
        }
    }

    /// One step for each pixel along the line's longer side, shared between the two pixels across it.
    fn line(&mut self, [a, b]: [Corner; 2], color: Color32) {
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let steep = dy.abs() > dx.abs();
        let Some((from, to)) = self.visible_part(a, b) else { return };
        let long = if steep { dy.abs() } else { dx.abs() };
        let steps = ((to - from) * long).ceil().clamp(1.0, 20_000.0);
        // Pieces of a longer line meet at their ends, which are drawn once, and one within a pixel fills part of it.
        let strength = ((to - from) * long).min(1.0);
        for step in 0..steps as usize {
            let t = from + (to - from) * step as f32 / steps;
            let at: Corner = std::array::from_fn(|k| a[k] + t * (b[k] - a[k]));
            let across = if steep { at[0] - 0.5 } else { at[1] - 0.5 };
            let (low, part) = (across.floor(), across - across.floor());
            for (side, share) in [(low, 1.0 - part), (low + 1.0, part)] {
                let (x, y) = if steep { (side, at[1].floor()) } else { (at[0].floor(), side) };
                self.blend((x, y), at[2], color, strength * share);
            }
        }
    }

    /// The part of a line, from 0 to 1, that crosses the band.
    fn visible_part(&self, a: Corner, b: Corner) -> Option<(f32, f32)> {
        let edges = [
            (a[0], b[0], -2.0, self.width as f32 + 2.0),
            (a[1], b[1], self.top as f32 - 2.0, (self.top + self.rows()) as f32 + 2.0),
        ];
        let (mut from, mut to) = (0.0_f32, 1.0_f32);
        for (start, end, low, high) in edges {
            let along = end - start;
            if along.abs() < 1e-6 {
                if start < low || start > high {
                    return None;
                }
                continue;
            }
            let (s, e) = ((low - start) / along, (high - start) / along);
            from = from.max(s.min(e));
            to = to.min(s.max(e));
        }
        (from < to).then_some((from, to))
    }

    fn dot(&mut self, at: Corner, radius_px: f32, color: Color32) {
        let reach = radius_px.ceil() as i32;
        for dy in -reach..=reach {
            for dx in -reach..=reach {
                let (x, y) = (at[0].floor() + dx as f32, at[1].floor() + dy as f32);
                let apart = (x + 0.5 - at[0]).hypot(y + 0.5 - at[1]);
                self.blend((x, y), at[2], color, (radius_px + 0.5 - apart).clamp(0.0, 1.0));
            }
        }
    }

    fn blend(&mut self, (x, y): (f32, f32), near: f32, color: Color32, share: f32) {
        let row = y - self.top as f32;
        if share <= 0.0 || x < 0.0 || row < 0.0 || x >= self.width as f32 || row >= self.rows() as f32 {
            return;
        }
        let at = row as usize * self.width + x as usize;
        if near * BEFORE >= self.near[at] {
            let opaque = f32::from(color.a()) / 255.0;
            self.pixels[at] = self.pixels[at].lerp_to_gamma(color.to_opaque(), share * opaque);
        }
    }
}

/// Gains along x and y and value at the corner of 1 / depth; nothing for a face seen from its edge.
fn plane(corners: &[Corner]) -> Option<[f32; 3]> {
    let a = *corners.first()?;
    let sides = |k: usize| {
        let (b, c) = (corners[k], corners[k + 1]);
        ([b[0] - a[0], b[1] - a[1], b[2] - a[2]], [c[0] - a[0], c[1] - a[1], c[2] - a[2]])
    };
    let twice = |k: usize| {
        let (u, v) = sides(k);
        u[0] * v[1] - u[1] * v[0]
    };
    let widest =
        (1..corners.len().saturating_sub(1)).max_by(|&j, &k| twice(j).abs().total_cmp(&twice(k).abs()))?;
    let (area, (u, v)) = (twice(widest), sides(widest));
    if area.abs() < 1e-6 {
        return None;
    }
    let gain_x = (u[2] * v[1] - v[2] * u[1]) / area;
    let gain_y = (u[0] * v[2] - v[0] * u[2]) / area;
    Some([gain_x, gain_y, a[2] - gain_x * a[0] - gain_y * a[1]])
}

/// Where a row enters and leaves a convex face.
fn crossing(corners: &[Corner], y: f32) -> Option<(f32, f32)> {
    let (mut from, mut to) = (f32::INFINITY, f32::NEG_INFINITY);
    for (k, a) in corners.iter().enumerate() {
        let b = corners[(k + 1) % corners.len()];
        if (a[1] <= y) != (b[1] <= y) {
            let x = a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
            (from, to) = (from.min(x), to.max(x));
        }
    }
    (from < to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn face(corners: [[f32; 2]; 4], near: f32, item: u32, color: Color32) -> Shape {
        Shape::Face { corners: corners.map(|[x, y]| [x, y, near]).to_vec(), color, item }
    }

    const SQUARE: [[f32; 2]; 4] = [[2.0, 2.0], [8.0, 2.0], [8.0, 8.0], [2.0, 8.0]];

    /// Derived: of two faces at one place the nearer one shows, in whichever order they come.
    #[test]
    fn the_nearer_face_hides_the_other() {
        let near = face(SQUARE, 0.2, 7, Color32::RED);
        let far = face(SQUARE, 0.1, 9, Color32::BLUE);
        for shapes in [[near.clone(), far.clone()], [far, near]] {
            let frame = draw(&shapes, (10, 60), Color32::WHITE);
            assert_eq!(frame.sample_at(5, 5), Some(6));
            assert_eq!(frame.pixels[5 * 10 + 5], Color32::RED);
            assert_eq!((frame.sample_at(0, 0), frame.sample_at(99, 0)), (None, None));
        }
    }

    /// Derived: a square of 6 by 6 pixels has 36 of them, and two that share an edge neither overlap nor gape.
    #[test]
    fn faces_that_share_an_edge_fill_it_once() {
        let right = SQUARE.map(|[x, y]| [x + 6.0, y]);
        let shapes = [face(SQUARE, 0.1, 1, Color32::RED), face(right, 0.1, 2, Color32::BLUE)];
        let frame = draw(&shapes, (20, 10), Color32::WHITE);
        let count = |item| frame.items.iter().filter(|&&i| i == item).count();
        assert_eq!((count(1), count(2), count(0)), (36, 36, 200 - 72));
    }

    /// Derived: a dot behind a face is hidden, one before it shows.
    #[test]
    fn marks_are_hidden_by_what_is_before_them() {
        let dot = |near| Shape::Dot { at: [5.0, 5.0, near], radius_px: 1.5, color: Color32::BLACK };
        let of = |near| draw(&[face(SQUARE, 0.1, 1, Color32::RED), dot(near)], (10, 10), Color32::WHITE);
        assert_eq!(of(0.05).pixels[55], Color32::RED);
        assert_eq!(of(0.2).pixels[55], Color32::BLACK);
    }
}
