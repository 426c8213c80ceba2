//! A rose on the screen: where its pieces lie.

use super::model::{ENDS_DEG, Piece, Rose, out};
use egui::epaint::{Vertex, WHITE_UV};
use egui::{Color32, Mesh, Painter, Pos2, Shape, Stroke, Vec2, vec2};

/// Where a rose stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Disc {
    pub(super) centre: Pos2,
    pub(super) radius: f32,
    pub(super) half: bool,
}

impl Disc {
    pub(super) fn at(&self, far: f32, azimuth_deg: f32) -> Pos2 {
        self.centre + far * self.way(azimuth_deg)
    }

    /// From the middle to the edge.
    fn way(&self, azimuth_deg: f32) -> Vec2 {
        let (sin, cos) = azimuth_deg.to_radians().sin_cos();
        self.radius * vec2(sin, -cos)
    }

    /// The piece under a place.
    pub(super) fn pointed(&self, rose: &Rose, at: Pos2) -> Option<Piece> {
        let from_centre = (at - self.centre) / self.radius;
        let azimuth_deg = from_centre.x.atan2(-from_centre.y).to_degrees();
        rose.piece_at(f64::from(from_centre.length()), azimuth_deg)
    }

    /// Fills every piece with its colour.
    pub(super) fn pieces(&self, painter: &Painter, pieces: &[Piece], fill: impl Fn(&Piece) -> Color32) {
        let mut mesh = Mesh::default();
        for piece in pieces {
            self.piece(&mut mesh, piece, fill(piece));
        }
        painter.add(mesh);
    }

    fn sweep(&self) -> [f32; 2] {
        if self.half { [-90.0, 90.0] } else { [0.0, 360.0] }
    }

    /// How many straight steps an arc is drawn in: as smooth as the screen shows, and all arcs of a rose in the same, so that no
    /// gap opens between two that lie on each other.
    fn steps(&self, arc_deg: f32) -> u16 {
        // The chord of a step stays nearer than this to its arc, r (1 − cos (step / 2)).
        const SAG: f32 = 0.05;
        let step_deg = 2.0 * (1.0 - SAG / self.radius.max(1.0)).acos().to_degrees();
        // Pieces begin and end at multiples of 30°.
        let a_sector =
            [4_u16, 5, 6].into_iter().find(|&steps| 30.0 / f32::from(steps) <= step_deg).unwrap_or(10);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most 12 sectors")]
        let sectors = (arc_deg / 30.0).round() as u16;
        a_sector * sectors
    }

    /// A part of a circle about the middle, the whole sweep of the rose.
    pub(super) fn arc(&self, far: f32) -> Vec<Pos2> {
        let [from, to] = self.sweep();
        let count = self.steps(to - from);
        (0..=count).map(|k| self.at(far, from + (to - from) * f32::from(k) / f32::from(count))).collect()
    }

    /// The edge of the whole rose.
    pub(super) fn edge(&self, painter: &Painter, line: Stroke) {
        painter.add(Shape::line(self.arc(1.0), line));
        if self.half {
            painter.line_segment([self.at(1.0, -90.0), self.at(1.0, 90.0)], line);
        }
    }

    /// The edge of a piece.
    pub(super) fn outline(&self, piece: &Piece) -> Vec<Pos2> {
        let [from, to] = piece.azimuth_deg;
        let count = self.steps(to - from);
        let azimuth = |k: u16| from + (to - from) * f32::from(k) / f32::from(count);
        let (inner, outer) = (far(ENDS_DEG[piece.ring]), far(ENDS_DEG[piece.ring + 1]));
        let ways: Vec<Vec2> = (0..=count).map(|k| self.way(azimuth(k))).collect();
        let there = ways.iter().map(|&way| self.centre + outer * way);
        let back = ways.iter().rev().map(|&way| self.centre + inner * way);
        there.chain(back).collect()
    }

    fn piece(&self, mesh: &mut Mesh, piece: &Piece, fill: Color32) {
        let points = self.outline(piece);
        let first = u32::try_from(mesh.vertices.len()).unwrap_or(0);
        mesh.vertices.extend(points.iter().map(|&pos| Vertex { pos, uv: WHITE_UV, color: fill }));
        let count = u32::try_from(points.len()).unwrap_or(0);
        for k in 0..count / 2 - 1 {
            let (a, b) = (first + k, first + count - 1 - k);
            mesh.indices.extend([a, a + 1, b, a + 1, b - 1, b]);
        }
    }
}

/// How far out from the middle an angle from the vertical is, as a share of the disc's radius.
pub(super) fn far(deg: u16) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
    let far = out(f64::from(deg)) as f32;
    far
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;
    use obliquity_planning::{RING_COUNT, SECTOR_COUNT, SurfaceClass};
    use std::collections::BTreeSet;

    fn area(ring: &[Pos2]) -> f64 {
        let next = ring.iter().cycle().skip(1);
        let twice = ring
            .iter()
            .zip(next)
            .map(|(a, b)| f64::from(a.x) * f64::from(b.y) - f64::from(b.x) * f64::from(a.y));
        (twice.sum::<f64>() / 2.0).abs()
    }

    // Derived: the disc has π r² for 2π sr, so that every piece takes r²/2 for a steradian; 1 % for arcs drawn in straight steps.
    #[test]
    fn equal_areas_are_equal_solid_angles() {
        for class in [SurfaceClass::Ground, SurfaceClass::Wall] {
            let rose = Rose::new(class, &[[1.0; SECTOR_COUNT]; RING_COUNT]);
            let disc = Disc { centre: pos2(300.0, 200.0), radius: 120.0, half: rose.is_half() };
            for piece in rose.pieces() {
                let expected = 120.0 * 120.0 / 2.0 * piece.solid_angle_sr;
                let found = area(&disc.outline(&piece));
                assert!((found / expected - 1.0).abs() < 0.01, "{piece:?}: {found} of {expected}");
            }
        }
    }

    // Derived: two rings meet along one line of chords, however large the rose is; otherwise what lies below would show between.
    #[test]
    fn no_gap_opens_between_rings() {
        let rose = Rose::new(SurfaceClass::Ground, &[[1.0; SECTOR_COUNT]; RING_COUNT]);
        for radius in [8.0, 20.0, 30.0, 60.0, 300.0] {
            let disc = Disc { centre: pos2(0.0, 0.0), radius, half: false };
            let corners = |ring: usize, is_outer: bool| -> BTreeSet<(i32, i32)> {
                let pieces = rose.pieces().into_iter().filter(|piece| piece.ring == ring);
                let side = |points: Vec<Pos2>| {
                    let (outer, inner) = points.split_at(points.len() / 2);
                    if is_outer { outer.to_vec() } else { inner.to_vec() }
                };
                #[expect(clippy::cast_possible_truncation, reason = "hundredths of a point")]
                let hundredths = |at: Pos2| ((at.x * 100.0).round() as i32, (at.y * 100.0).round() as i32);
                pieces.flat_map(|piece| side(disc.outline(&piece))).map(hundredths).collect()
            };
            for ring in 1..ENDS_DEG.len() - 1 {
                assert_eq!(corners(ring - 1, true), corners(ring, false), "ring {ring}, radius {radius}");
            }
        }
    }
}
