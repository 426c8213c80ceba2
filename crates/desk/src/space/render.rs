use super::eye::NEAR_M;
use super::hill::{Relief, relief};
use super::{Eye, Picked, Projection, Scene, SceneMark, SceneMarks};
use egui::Color32;
use glam::{DVec2, DVec3};
use obliquity_planning::{CameraModel, LegKind, Pose, PosedCamera, Terrain, polygon};
use obliquity_raster::depth::{Corner, Frame, Shape, draw};

/// Colours of everything but the samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Behind everything.
    pub sky: Color32,
    /// Ground that is not asked for.
    pub ground: Color32,
    /// Structures' surfaces that are not asked for.
    pub solid: Color32,
    /// The boundary, what is picked.
    pub ink: Color32,
    /// Ways to and from the route.
    pub muted: Color32,
    /// The strategy's own colour.
    pub strategy: Color32,
    /// What must not be flown over.
    pub keep_out: Color32,
}

/// What one picture shows.
#[derive(Debug, Clone, Copy)]
pub struct ScenePane<'a> {
    /// The strategy and its site.
    pub scene: &'a Scene,
    /// The samples' colours, by number.
    pub colors: &'a [Color32],
    /// From where.
    pub eye: Eye,
    /// Whether the samples' colours are shaded.
    pub relief: Relief,
    /// What is drawn besides the surfaces.
    pub marks: SceneMarks,
    /// The sample that is told about.
    pub picked: Option<&'a Picked>,
    /// The other colours.
    pub paper: Paper,
    /// Width and height.
    pub size_px: (usize, usize),
    /// How many pixels a thin line is wide.
    pub pixels_per_point: f32,
}

/// Of more exposures than this only some show a frame, evenly spread.
const MOST_FRAMES: usize = 600;
/// How far before the camera its frame is drawn.
const FRAME_M: f64 = 3.0;
/// Rows and columns of the ground round the site, plane and uneven.
const GROUND_CELLS: [u32; 2] = [24, 96];
/// Edges of structures: dark in both modes, since what lies on their sides has the same colours in both.
pub(crate) const EDGE: Color32 = Color32::from_black_alpha(190);
/// Lines of equal height, on what may be light or dark.
const CONTOUR: Color32 = Color32::from_black_alpha(95);
/// Sides that meet at less are facets of something round.
const CORNER_RAD: f64 = 0.6;
/// Surfaces that are not asked for lie this share of their distance behind those that are.
const BEHIND: f32 = 0.9985;

/// Draws a pane.
pub fn render(pane: &ScenePane<'_>) -> Frame {
    let size = DVec2::new(pane.size_px.0 as f64, pane.size_px.1 as f64);
    let mut drawing = RenderWork {
        projection: pane.eye.project(size),
        size_px: size,
        shapes: Vec::new(),
        dot_px: pane.pixels_per_point,
    };
    if pane.marks.has(SceneMark::Ground) {
        drawing.surroundings(pane);
    }
    drawing.solids(pane);
    for (patch, (number, color)) in pane.scene.patches.iter().zip((1..).zip(pane.colors)) {
        if drawing.is_seen(&patch.corners_m) {
            let [a, b, _, d] = patch.corners_m;
            let color = pane.relief.on(*color, (b - a).cross(d - a));
            drawing.face(&patch.corners_m, color, number, 1.0);
        }
    }
    for &(from_m, to_m) in pane.scene.contours.iter().flat_map(|contours| &contours.lines_m) {
        drawing.line(from_m, to_m, CONTOUR);
    }
    drawing.boundary(pane);
    drawing.edges(pane);
    if pane.marks.has(SceneMark::KeepOuts) {
        drawing.keep_outs(pane);
    }
    drawing.flown(pane);
    if let Some(picked) = pane.picked {
        drawing.picked(pane, picked);
    }
    draw(&drawing.shapes, pane.size_px, pane.paper.sky)
}

struct RenderWork {
    projection: Projection,
    size_px: DVec2,
    shapes: Vec<Shape>,
    dot_px: f32,
}

impl RenderWork {
    fn corner(&self, seen_m: DVec3) -> Corner {
        let at = self.projection.pixel(seen_m);
        [at.x as f32, at.y as f32, (1.0 / seen_m.z) as f32]
    }

    /// Whether the eye is before a face, not behind it: the ground does not hide what is seen from below it.
    fn is_seen(&self, ring_m: &[DVec3; 4]) -> bool {
        let [a, b, _, d] = ring_m;
        self.projection.is_before(*a, (*b - *a).cross(*d - *a))
    }

    /// A convex plane face, cut at the nearest plane. `push` below 1 puts it behind others at the same place.
    fn face(&mut self, ring_m: &[DVec3], color: Color32, item: u32, push: f32) {
        let seen: Vec<DVec3> = ring_m.iter().map(|&p| self.projection.seen_m(p)).collect();
        let seen = if seen.iter().all(|p| p.z > NEAR_M) { seen } else { cut(&seen) };
        let corners: Vec<Corner> = seen.iter().map(|&p| self.corner(p)).collect();
        let beside = |axis: usize, end: f64| {
            corners.iter().all(|c| c[axis] < 0.0) || corners.iter().all(|c| f64::from(c[axis]) > end)
        };
        if corners.len() < 3 || beside(0, self.size_px.x) || beside(1, self.size_px.y) {
            return;
        }
        let corners = corners.into_iter().map(|[x, y, near]| [x, y, near * push]).collect();
        self.shapes.push(Shape::Face { corners, color, item });
    }

    fn line(&mut self, from_m: DVec3, to_m: DVec3, color: Color32) {
        let (a, b) = (self.projection.seen_m(from_m), self.projection.seen_m(to_m));
        let at = |p: DVec3, q: DVec3| {
            if p.z > NEAR_M { p } else { p + (q - p) * ((NEAR_M - p.z) / (q.z - p.z)) }
        };
        if a.z.max(b.z) > NEAR_M {
            let ends = [self.corner(at(a, b)), self.corner(at(b, a))];
            self.shapes.push(Shape::Line { ends, color });
        }
    }

    fn dot(&mut self, at_m: DVec3, radius: f32, color: Color32) {
        let seen_m = self.projection.seen_m(at_m);
        if seen_m.z > NEAR_M {
            let at = self.corner(seen_m);
            self.shapes.push(Shape::Dot { at, radius_px: radius * self.dot_px, color });
        }
    }

    /// Ground round the site, and solids under the samples on them.
    fn surroundings(&mut self, pane: &ScenePane<'_>) {
        let (low, high) = pane.scene.site.extent_m;
        let room = DVec2::splat(0.15 * (high - low).max_element());
        let (low, size) = (low - room, high - low + 2.0 * room);
        let cells = match pane.scene.site.terrain {
            Terrain::Plane { .. } => GROUND_CELLS[0],
            Terrain::Grid(_) => GROUND_CELLS[1],
        };
        let at = |column: u32, row: u32| {
            let share = DVec2::new(f64::from(column), f64::from(row)) / f64::from(cells);
            let place = low + size * share;
            place.extend(pane.scene.site.terrain.height_m(place))
        };
        for row in 0..cells {
            for column in 0..cells {
                let ring =
                    [at(column, row), at(column + 1, row), at(column + 1, row + 1), at(column, row + 1)];
                // Coarser cells would stick out of the surface that is asked for.
                let inside = |p: &DVec3| polygon::contains(&pane.scene.boundary_m, p.truncate());
                if self.is_seen(&ring) && !ring.iter().all(inside) {
                    let normal = (ring[2] - ring[0]).cross(ring[3] - ring[1]);
                    self.face(&ring, relief(pane.paper.ground, normal), 0, BEHIND);
                }
            }
        }
        // The border against the sky is drawn over by lines, whose edges are smooth.
        let last = cells;
        for k in 0..cells {
            let sides = [
                (at(k, 0), at(k + 1, 0)),
                (at(k, last), at(k + 1, last)),
                (at(0, k), at(0, k + 1)),
                (at(last, k), at(last, k + 1)),
            ];
            for (from_m, to_m) in sides {
                self.line(from_m, to_m, pane.paper.ground);
            }
        }
    }

    fn solids(&mut self, pane: &ScenePane<'_>) {
        for prism in &pane.scene.site.prisms {
            let ring = &prism.footprint_m;
            let level = |z: f64| ring.iter().map(|p| p.extend(z)).collect::<Vec<_>>();
            self.face(&level(prism.top_m), pane.paper.solid, 0, BEHIND);
            self.face(&level(prism.bottom_m), pane.paper.solid, 0, BEHIND);
            for (k, a) in ring.iter().enumerate() {
                let b = ring[(k + 1) % ring.len()];
                let side = [
                    a.extend(prism.bottom_m),
                    b.extend(prism.bottom_m),
                    b.extend(prism.top_m),
                    a.extend(prism.top_m),
                ];
                let outward = (b - *a).perp().extend(0.0) * -1.0;
                self.face(&side, relief(pane.paper.solid, outward), 0, BEHIND);
            }
        }
    }

    fn edges(&mut self, pane: &ScenePane<'_>) {
        for outline in &pane.scene.outlines {
            let ring = &outline.ring_m;
            for (k, a) in ring.iter().enumerate() {
                let b = ring[(k + 1) % ring.len()];
                let before = ring[(k + ring.len() - 1) % ring.len()];
                self.line(a.extend(outline.roof_z_m), b.extend(outline.roof_z_m), EDGE);
                self.line(a.extend(outline.base_z_m), b.extend(outline.base_z_m), EDGE);
                // The facets of something round are no corners.
                let turn = (*a - before).angle_to(b - *a).abs();
                if turn > CORNER_RAD {
                    self.line(a.extend(outline.base_z_m), a.extend(outline.roof_z_m), EDGE);
                }
            }
        }
    }

    /// What is to be captured, drawn on the ground.
    fn boundary(&mut self, pane: &ScenePane<'_>) {
        let ring = &pane.scene.boundary_m;
        for (k, a) in ring.iter().enumerate() {
            self.on_ground(&pane.scene.site.terrain, *a, ring[(k + 1) % ring.len()], pane.paper.ink);
        }
    }

    /// A line that follows the ground.
    fn on_ground(&mut self, terrain: &Terrain, a: DVec2, b: DVec2, color: Color32) {
        const PIECE_M: f64 = 10.0;
        let pieces = (a.distance(b) / PIECE_M).ceil().clamp(1.0, 200.0);
        let at = |step: u32| {
            let place = a.lerp(b, f64::from(step) / pieces);
            place.extend(terrain.height_m(place))
        };
        for piece in 0..pieces as u32 {
            self.line(at(piece), at(piece + 1), color);
        }
    }

    /// Outlines on the ground and up to the highest flight, where they stand against everything that is flown.
    fn keep_outs(&mut self, pane: &ScenePane<'_>) {
        let terrain = &pane.scene.site.terrain;
        let flown_m =
            pane.scene.plans.iter().flat_map(|plan| &plan.stations.poses).map(|pose| pose.position_m.z);
        let top_z_m = flown_m.fold(f64::NEG_INFINITY, f64::max);
        for keep_out in &pane.scene.keep_outs {
            let ring = &keep_out.outline_m;
            for (k, a) in ring.iter().enumerate() {
                let b = ring[(k + 1) % ring.len()];
                self.on_ground(terrain, *a, b, pane.paper.keep_out);
                if top_z_m.is_finite() {
                    self.line(a.extend(top_z_m), b.extend(top_z_m), pane.paper.keep_out);
                    self.line(a.extend(terrain.height_m(*a)), a.extend(top_z_m), pane.paper.keep_out);
                }
            }
        }
    }

    fn flown(&mut self, pane: &ScenePane<'_>) {
        if pane.marks.has(SceneMark::Route) {
            self.route(pane);
        }
        if pane.marks.has(SceneMark::Exposures) {
            for pose in pane.scene.plans.iter().flat_map(|plan| &plan.stations.poses) {
                self.dot(pose.position_m, 1.1, pane.paper.strategy);
            }
        }
        if pane.marks.has(SceneMark::Frames) {
            self.frames(pane);
        }
    }

    /// A small frame before an exposure, with lines from its corners: of some, evenly spread, where there are many.
    fn frames(&mut self, pane: &ScenePane<'_>) {
        let count: usize = pane.scene.plans.iter().map(|plan| plan.stations.poses.len()).sum();
        let every = count.div_ceil(MOST_FRAMES).max(1);
        for plan in &pane.scene.plans {
            for pose in plan.stations.poses.iter().step_by(every) {
                let corners = frame_corners(plan.stations.camera, pose);
                for (k, corner) in corners.iter().enumerate() {
                    self.line(pose.position_m, *corner, pane.paper.strategy.gamma_multiply(0.6));
                    self.line(*corner, corners[(k + 1) % 4], pane.paper.strategy);
                }
            }
        }
    }

    fn route(&mut self, pane: &ScenePane<'_>) {
        for flown in &pane.scene.flight.legs {
            let color = match flown.leg.kind {
                LegKind::Strip => pane.paper.strategy,
                LegKind::Link | LegKind::Turn => pane.paper.strategy.gamma_multiply(0.5),
                LegKind::Transit | LegKind::Climb | LegKind::Descent => pane.paper.muted.gamma_multiply(0.6),
            };
            for (from_m, to_m) in flown.leg.pieces_m() {
                self.line(from_m, to_m, color);
            }
        }
    }

    fn picked(&mut self, pane: &ScenePane<'_>, picked: &Picked) {
        let from_m = picked.position_m + 0.02 * picked.normal;
        for seeing in &picked.seen_by {
            let (color, size) = if seeing.counts {
                (pane.paper.ink.gamma_multiply(0.55), 2.6)
            } else {
                (pane.paper.muted.gamma_multiply(0.3), 1.6)
            };
            self.line(from_m, seeing.position_m, color);
            self.dot(seeing.position_m, size, if seeing.counts { pane.paper.ink } else { pane.paper.muted });
        }
        self.dot(from_m, 5.5, pane.paper.sky);
        self.dot(from_m, 4.0, pane.paper.ink);
    }
}

/// Corners of the frame before a camera, in order round it.
fn frame_corners(model: CameraModel, pose: &Pose) -> [DVec3; 4] {
    let camera = PosedCamera::new(model, pose);
    model.corners().map(|corner| camera.centre_m + camera.ray(model.without_distortion(corner)) * FRAME_M)
}

/// The part of a convex ring that lies beyond the nearest plane.
fn cut(ring: &[DVec3]) -> Vec<DVec3> {
    let mut kept = Vec::with_capacity(ring.len() + 1);
    for (k, &a) in ring.iter().enumerate() {
        let b = ring[(k + 1) % ring.len()];
        if a.z > NEAR_M {
            kept.push(a);
        }
        if (a.z > NEAR_M) != (b.z > NEAR_M) {
            let mut on = a + (b - a) * ((NEAR_M - a.z) / (b.z - a.z));
            on.z = NEAR_M;
            kept.push(on);
        }
    }
    kept
}
