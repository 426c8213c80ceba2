//! What drawing shows over the plan: handles of what is chosen, what is being drawn, and the figures at the pointer.

use super::draw::{
    Closed, Draw, Held, Outlines, Tool, beside_pointer, middles_m, notched_m, place_text, sides,
    turn_handle_m,
};
use super::paint::{self, clipped};
use super::pencil::REACH;
use crate::canvas::Canvas;
use crate::target::Target;
use crate::theme::{self, Colors};
use crate::units::Units;
use egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};
use glam::DVec2;

/// What it is drawn with.
pub(super) struct Trace<'a> {
    pub(super) painter: &'a Painter,
    pub(super) canvas: Canvas,
    pub(super) area: Rect,
    pub(super) colors: &'a Colors,
    pub(super) outlines: &'a Outlines,
    pub(super) units: Units,
    /// Round lines, so that they stand out from a picture below; transparent where there is none.
    pub(super) halo: Color32,
}

/// How a corner is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum CornerHandle {
    /// As one of many.
    Plain,
    /// As the one that keys move.
    Chosen,
}

const DASH: f32 = 7.0;
const GAP: f32 = 4.0;

impl Trace<'_> {
    /// Draws all of it; `pointer` is where the pointer is over the plan.
    pub(super) fn all(&self, draw: &Draw, pointer: Option<Pos2>) {
        if let Some(held) = draw.held() {
            self.held(held);
        } else {
            self.pointed(draw, pointer);
            self.chosen(draw);
        }
        self.drawn(draw);
        self.guides(draw);
        self.label(draw, pointer);
        if draw.tool() == Tool::Boundary && draw.placed_m().is_empty() {
            self.invitation(pointer);
        }
    }

    fn at(&self, at_m: DVec2) -> Pos2 {
        self.canvas.to_screen(at_m, self.area)
    }

    fn reach_m(&self) -> f64 {
        f64::from(REACH) / self.canvas.points_per_m
    }

    fn points(&self, corners_m: &[DVec2]) -> Vec<Pos2> {
        corners_m.iter().map(|at_m| self.at(*at_m)).collect()
    }

    fn line(&self, corners_m: &[DVec2], closed: Closed, stroke: Stroke) {
        // Side by side: the sharp corner of one path would reach across the plan.
        let mut mesh = Mesh::default();
        let under =
            (self.halo != Color32::TRANSPARENT).then_some((stroke.width + paint::HALO_WIDTH, self.halo));
        for (width, color) in under.into_iter().chain([(stroke.width, stroke.color)]) {
            for (a, b) in sides(corners_m, closed) {
                if let Some(ends) = clipped([self.at(a), self.at(b)], self.area) {
                    paint::stroke(&mut mesh, ends, width, color);
                }
            }
        }
        self.painter.add(mesh);
    }

    fn dashed(&self, corners_m: &[DVec2], closed: Closed, stroke: Stroke) {
        let mut points = self.points(corners_m);
        if closed == Closed::Yes {
            points.extend(points.first().copied());
        }
        if self.halo != Color32::TRANSPARENT {
            let under = Stroke::new(stroke.width + paint::HALO_WIDTH, self.halo);
            self.painter.add(Shape::line(points.clone(), under));
        }
        self.painter.extend(Shape::dashed_line(&points, stroke, DASH, GAP));
    }

    /// The shape under the pointer, which a click would choose.
    fn pointed(&self, draw: &Draw, pointer: Option<Pos2>) {
        let Some(pos) = pointer.filter(|_| draw.tool() == Tool::Select) else { return };
        let at_m = self.canvas.to_site(pos, self.area);
        let shape = self.outlines.shape_at(at_m, self.reach_m());
        let Some(target) = shape.filter(|target| Some(*target) != draw.chosen()) else { return };
        let stroke = Stroke::new(2.0, self.colors.accent.gamma_multiply(0.6));
        self.shape(target, &self.outlines.corners_m(target).unwrap_or_default(), stroke);
    }

    fn shape(&self, target: Target, corners_m: &[DVec2], stroke: Stroke) {
        match corners_m {
            [only] => {
                self.painter.circle_stroke(self.at(*only), 11.0, stroke);
            }
            _ => self.line(corners_m, closed(target), stroke),
        }
    }

    fn chosen(&self, draw: &Draw) {
        let Some(target) = draw.chosen() else { return };
        let Some(corners_m) = self.outlines.corners_m(target) else { return };
        let colors = self.colors;
        self.shape(target, &corners_m, Stroke::new(2.5, colors.accent));
        if target.is_point() || !matches!(draw.tool(), Tool::Select | Tool::Cut) {
            return;
        }
        if draw.tool() == Tool::Select {
            self.turn_handle(&corners_m);
            for (_, at_m) in middles_m(target, &corners_m, self.reach_m()) {
                self.painter.circle(self.at(at_m), 3.5, colors.surface, Stroke::new(1.5, colors.accent));
            }
        }
        for (at, at_m) in corners_m.iter().enumerate() {
            let is_chosen = draw.corner() == Some(at);
            self.corner(*at_m, if is_chosen { CornerHandle::Chosen } else { CornerHandle::Plain });
        }
    }

    fn corner(&self, at_m: DVec2, handle: CornerHandle) {
        let colors = self.colors;
        let (half, fill) = match handle {
            CornerHandle::Chosen => (6.0, colors.accent),
            CornerHandle::Plain => (4.5, colors.surface),
        };
        let place = Rect::from_center_size(self.at(at_m), Vec2::splat(2.0 * half));
        self.painter.rect(place, 1.5, fill, Stroke::new(1.8, colors.accent), StrokeKind::Inside);
    }

    fn turn_handle(&self, corners_m: &[DVec2]) {
        let colors = self.colors;
        let handle = self.at(turn_handle_m(corners_m, self.reach_m()));
        let top = corners_m.iter().map(|at_m| self.at(*at_m).y).fold(f32::INFINITY, f32::min);
        let stroke = Stroke::new(1.5, colors.accent);
        self.painter.extend(Shape::dashed_line(&[pos2(handle.x, top), handle], stroke, 3.0, 3.0));
        self.painter.circle(handle, 7.0, colors.surface, stroke);
        let arc: Vec<Pos2> = (0..=9).map(|k| handle + 3.6 * Vec2::angled(-2.4 + 0.5 * k as f32)).collect();
        let end = handle + 3.6 * Vec2::angled(2.1);
        self.painter.add(Shape::line(arc, stroke));
        self.painter.circle_filled(end, 1.8, colors.accent);
    }

    /// What is held, where it is: dashed, in the colour of warnings, where it cannot stay so.
    fn held(&self, held: &Held) {
        let colors = self.colors;
        let wrong = held.wrong().is_some();
        let color = if wrong { colors.warn } else { colors.accent };
        let stroke = Stroke::new(2.5, color);
        match (held.now_m.as_slice(), wrong) {
            ([only], _) => {
                self.painter.circle(self.at(*only), 7.0, colors.surface, stroke);
            }
            (corners_m, true) => self.dashed(corners_m, closed(held.target), stroke),
            (corners_m, false) => self.line(corners_m, closed(held.target), stroke),
        }
        if !held.target.is_point() {
            for at_m in &held.now_m {
                self.corner(*at_m, CornerHandle::Plain);
            }
        }
    }

    /// Corners so far, and what comes of them at the pointer.
    fn drawn(&self, draw: &Draw) {
        let colors = self.colors;
        let Some(at_m) = draw.snap().map(|snap| snap.at_m).filter(|_| draw.held().is_none()) else {
            self.line(draw.placed_m(), Closed::No, Stroke::new(2.5, colors.accent));
            return;
        };
        if draw.tool() == Tool::Cut {
            self.cut(draw, at_m);
            return;
        }
        let outline = draw.outline_m(Some(at_m));
        let ring = if draw.tool() == Tool::Line { Closed::No } else { Closed::Yes };
        let crosses = ring == Closed::Yes
            && outline.len() > 3
            && !obliquity_planning::outline_faults(&outline).is_empty();
        if draw.placed_m().len() >= 2 || outline.len() > 3 {
            let (width, color) =
                if crosses { (2.0, colors.warn) } else { (1.5, colors.accent.gamma_multiply(0.7)) };
            self.dashed(&outline, ring, Stroke::new(width, color));
        } else if let [only] = draw.placed_m() {
            self.dashed(&[*only, at_m], Closed::No, Stroke::new(1.5, colors.accent));
        }
        let by_corners = outline.len() == draw.placed_m().len() + 1;
        if by_corners {
            self.line(draw.placed_m(), Closed::No, Stroke::new(2.5, colors.accent));
        }
        for placed_m in draw.placed_m() {
            self.corner(*placed_m, CornerHandle::Plain);
        }
        if draw.is_drawing() {
            self.cross(self.at(at_m));
        }
    }

    fn cut(&self, draw: &Draw, at_m: DVec2) {
        let from = draw.cut_corner(self.outlines, at_m, 0.0);
        let cut = from.and_then(|(target, at)| notched_m(&self.outlines.corners_m(target)?, at, at_m));
        if let Some(cut) = cut {
            self.dashed(&cut, Closed::Yes, Stroke::new(2.5, self.colors.warn));
        }
        self.cross(self.at(at_m));
    }

    /// Where the next corner would be.
    fn cross(&self, at: Pos2) {
        for along in [vec2(7.0, 0.0), vec2(0.0, 7.0)] {
            self.painter.line_segment([at - along, at + along], Stroke::new(3.5, self.colors.surface));
        }
        for along in [vec2(7.0, 0.0), vec2(0.0, 7.0)] {
            self.painter.line_segment([at - along, at + along], Stroke::new(1.5, self.colors.ink));
        }
    }

    /// Why it snaps: dotted lines, and a ring round the place.
    fn guides(&self, draw: &Draw) {
        let Some(snap) = draw.snap().filter(|snap| !snap.why.is_empty()) else { return };
        let stroke = Stroke::new(1.3, self.colors.good);
        for (from, to) in &snap.guides_m {
            self.painter.extend(Shape::dashed_line(&[self.at(*from), self.at(*to)], stroke, 2.0, 3.0));
        }
        let is_turn = draw.held().is_some_and(|held| held.grip == super::draw::Grip::Turn);
        if !is_turn {
            self.painter.circle_stroke(self.at(snap.at_m), 8.0, stroke);
        }
    }

    /// The figures beside the pointer.
    fn label(&self, draw: &Draw, pointer: Option<Pos2>) {
        let aimed = draw.snap().map(|snap| self.at(snap.at_m));
        let Some(pos) = pointer.or(aimed) else { return };
        let lines = beside_pointer(draw, self.outlines, self.units);
        let wrong = draw.held().and_then(Held::wrong);
        if lines.is_empty() && wrong.is_none() {
            return;
        }
        let ink = self.colors.ink;
        let mut job = egui::text::LayoutJob::default();
        let mut append = |text: &str, color: Color32| {
            let line = if job.is_empty() { text.to_owned() } else { format!("\n{text}") };
            job.append(&line, 0.0, egui::TextFormat::simple(theme::caption_strong(), color));
        };
        let why = draw.snap().map(|snap| snap.why.as_str()).unwrap_or_default();
        for line in &lines {
            append(line, if line == why { self.colors.good } else { ink });
        }
        if let Some(wrong) = &wrong {
            append(wrong, self.colors.warn);
        }
        job.wrap.max_width = 300.0;
        let galley = self.painter.layout_job(job);
        let size = galley.size() + vec2(12.0, 8.0);
        let inside = self.area.shrink(4.0);
        let mut at = pos + vec2(16.0, 16.0);
        if at.x + size.x > inside.right() {
            at.x = pos.x - 12.0 - size.x;
        }
        if at.y + size.y > inside.bottom() {
            at.y = pos.y - 12.0 - size.y;
        }
        let at = at.max(inside.min);
        let place = Rect::from_min_size(at, size);
        let frame = Stroke::new(1.0, self.colors.rule);
        self.painter.rect(place, 4.0, self.colors.surface.gamma_multiply(0.95), frame, StrokeKind::Inside);
        self.painter.galley(place.min + vec2(6.0, 4.0), galley, ink);
    }

    /// Where the place under the pointer is written.
    pub(super) fn plate(&self) -> Rect {
        let size = vec2(if self.outlines.site.origin.is_some() { 318.0 } else { 148.0 }, 20.0);
        Align2::RIGHT_BOTTOM.align_size_within_rect(size, self.area.shrink(8.0))
    }

    /// Writes it.
    pub(super) fn place(&self, at_m: DVec2) {
        let (plate, colors) = (self.plate(), self.colors);
        let text = place_text(&self.outlines.site, at_m, self.units);
        let galley = self.painter.layout_no_wrap(text, theme::caption(), colors.ink);
        let at = Align2::RIGHT_CENTER.align_size_within_rect(galley.size(), plate.shrink2(vec2(5.0, 0.0)));
        self.painter.rect_filled(at.expand2(vec2(5.0, 2.0)), 3.0, colors.surface.gamma_multiply(0.9));
        self.painter.galley(at.min, galley, colors.ink);
    }

    /// Where nothing is drawn yet: what to do.
    fn invitation(&self, pointer: Option<Pos2>) {
        let colors = self.colors;
        let large = self.painter.layout(
            "Draw the boundary".to_owned(),
            theme::headline(),
            colors.ink,
            self.area.width() - 32.0,
        );
        let small = self.painter.layout(
            "Click its corners, or drop a boundary file on this window".to_owned(),
            theme::body(),
            colors.muted,
            self.area.width() - 32.0,
        );
        let size =
            vec2(large.size().x.max(small.size().x), large.size().y + small.size().y) + vec2(32.0, 22.0);
        // At the edge, and never over what is pointed at.
        let place = Align2::CENTER_TOP.align_size_within_rect(size, self.area.shrink(10.0));
        if pointer.is_some_and(|at| place.expand(12.0).contains(at)) {
            return;
        }
        self.painter.rect(
            place,
            8.0,
            colors.surface.gamma_multiply(0.93),
            Stroke::new(1.0, colors.rule),
            StrokeKind::Inside,
        );
        let top = pos2(place.center().x, place.top() + 10.0);
        let at = |galley: &egui::Galley, y: f32| pos2(top.x - galley.size().x / 2.0, y);
        let (large_at, small_at) = (at(&large, top.y), at(&small, top.y + large.size().y + 2.0));
        self.painter.galley(large_at, large, colors.ink);
        self.painter.galley(small_at, small, colors.muted);
    }
}

fn closed(target: Target) -> Closed {
    if target.is_closed() { Closed::Yes } else { Closed::No }
}
