//! Strokes and fillings of the plan. What comes in thousands goes into one mesh.

use super::model::{LineKind, Plan, PlanLine, PlanMark, PlanPass, PlanStation, round_step};
use super::view::Surfaces;
use super::{Area, Canvas};
use crate::conditions::arrow;
use crate::space::{EDGE, Picked};
use crate::theme::{self, Colors};
use crate::units::Quantity;
use egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};
use glam::DVec2;
use std::collections::BTreeMap;

/// Exposures nearer to each other than this on the screen are left out: the strip says as much.
const LEAST_GAP: f32 = 4.5;
/// From here on exposures are ticked where they look; nearer to each other they are dots.
const ROOMY_GAP: f32 = 7.0;
/// A name is written into an outline that is at least this large.
const LEAST_NAMED: Vec2 = vec2(44.0, 17.0);
/// Half a dash and the gap after it, of every other sortie.
const DASH: [f32; 2] = [9.0, 5.0];

/// What a plan is drawn with.
pub(super) struct Pen<'a> {
    pub(super) painter: &'a Painter,
    pub(super) canvas: Canvas,
    pub(super) area: Rect,
    pub(super) colors: &'a Colors,
    /// The strategy's.
    pub(super) color: Color32,
}

impl Pen<'_> {
    pub(super) fn at(&self, place_m: DVec2) -> Pos2 {
        self.canvas.to_screen(place_m, self.area)
    }

    fn sees(&self, points: &[Pos2]) -> bool {
        !points.is_empty() && Rect::from_points(points).expand(4.0).intersects(self.area)
    }

    fn fill(&self, area: &Area, points: &[Pos2], color: Color32) {
        let mut mesh = Mesh::default();
        for point in points {
            mesh.colored_vertex(*point, color);
        }
        mesh.indices = area.triangles.iter().flatten().copied().collect();
        self.painter.add(mesh);
    }

    fn outline(&self, points: Vec<Pos2>, stroke: Stroke) {
        self.painter.add(Shape::closed_line(points, stroke));
    }

    /// Ground and structures.
    pub(super) fn site(&self, plan: &Plan) {
        let colors = self.colors;
        let boundary = self.points(&plan.site.boundary.ring_m);
        self.fill(&plan.site.boundary, &boundary, colors.page);
        for structure in &plan.site.structures {
            let points = self.points(&structure.area.ring_m);
            if !self.sees(&points) {
                continue;
            }
            let shade = 0.15 + 0.6 * structure.shade;
            let fill = colors.trough.lerp_to_gamma(colors.muted, narrow(shade));
            self.fill(&structure.area, &points, fill);
        }
    }

    /// Lines round structures, keep-outs and the boundary; keep-outs are tinted.
    pub(super) fn outlines(&self, plan: &Plan, surfaces: Surfaces) {
        let colors = self.colors;
        // What surfaces are coloured with is the same in both modes.
        let line = if surfaces == Surfaces::Colored { EDGE } else { colors.muted };
        for structure in &plan.site.structures {
            let points = self.points(&structure.area.ring_m);
            if !self.sees(&points) {
                continue;
            }
            let marked = plan.roof_marked && structure.tallest;
            let (width, color) = if marked { (2.5, colors.warn) } else { (1.0, line) };
            self.outline(points, Stroke::new(width, color));
        }
        for keep_out in &plan.site.keep_outs {
            let points = self.points(&keep_out.area.ring_m);
            if self.sees(&points) {
                self.fill(&keep_out.area, &points, colors.bad.gamma_multiply(0.14));
                self.outline(points, Stroke::new(1.5, colors.bad));
            }
        }
        self.outline(self.points(&plan.site.boundary.ring_m), Stroke::new(2.0, colors.ink));
    }

    /// Heights of structures and names of keep-outs, where there is room.
    pub(super) fn names(&self, plan: &Plan) {
        let colors = self.colors;
        for structure in &plan.site.structures {
            let text = plan.units.length(structure.height_m);
            self.name(&structure.area, &text, colors.ink);
        }
        for keep_out in &plan.site.keep_outs {
            self.name(&keep_out.area, &keep_out.name, colors.bad);
        }
    }

    fn name(&self, area: &Area, text: &str, color: Color32) {
        let (low, high) = area.bounds_m();
        let room = Rect::from_two_pos(self.at(low), self.at(high));
        if !room.intersects(self.area) || room.width() < LEAST_NAMED.x || room.height() < LEAST_NAMED.y {
            return;
        }
        let galley = self.painter.layout_no_wrap(text.to_owned(), theme::caption_strong(), color);
        let at = Align2::CENTER_CENTER.anchor_size(room.center(), galley.size());
        if self.area.contains_rect(at) && galley.size().x < room.width() {
            self.painter.rect_filled(
                at.expand2(vec2(3.0, 0.0)),
                3.0,
                self.colors.surface.gamma_multiply(0.85),
            );
            self.painter.galley(at.min, galley, color);
        }
    }

    fn points(&self, ring_m: &[DVec2]) -> Vec<Pos2> {
        ring_m.iter().map(|p| self.at(*p)).collect()
    }

    /// Distances from the take-off point.
    pub(super) fn rings(&self, plan: &Plan) {
        let colors = self.colors;
        let centre = self.at(plan.site.take_off_m);
        for ring in &plan.rings {
            let radius = self.canvas.length(ring.radius_m);
            let color = if ring.limit { colors.warn } else { colors.rule };
            self.circle(centre, radius, Stroke::new(if ring.limit { 2.0 } else { 1.0 }, color));
        }
    }

    fn circle(&self, centre: Pos2, radius: f32, stroke: Stroke) {
        const PIECES: u16 = 180;
        let at =
            |k: u16| centre + radius * Vec2::angled(std::f32::consts::TAU * f32::from(k) / f32::from(PIECES));
        let points: Vec<Pos2> = (0..=PIECES).map(at).collect();
        for piece in points.windows(2) {
            if let Some(ends) = clipped([piece[0], piece[1]], self.area) {
                self.painter.line_segment(ends, stroke);
            }
        }
    }

    /// The rings' distances, where nothing else is written.
    pub(super) fn ring_texts(&self, plan: &Plan, taken: &mut Vec<Rect>) {
        let centre = self.at(plan.site.take_off_m);
        for ring in &plan.rings {
            let radius = self.canvas.length(ring.radius_m);
            let color = if ring.limit { self.colors.warn } else { self.colors.muted };
            let galley = self.painter.layout_no_wrap(ring.text.clone(), theme::caption(), color);
            let free = (0..24_u8).map(|k| -90.0 + 15.0 * f32::from(k)).find_map(|degrees| {
                let at = centre + radius * Vec2::angled(degrees.to_radians());
                let place = Align2::CENTER_CENTER.anchor_size(at, galley.size()).expand(2.0);
                let clear =
                    self.area.shrink(3.0).contains_rect(place) && !taken.iter().any(|t| t.intersects(place));
                clear.then_some(place)
            });
            if let Some(place) = free {
                self.painter.rect_filled(place, 3.0, self.colors.surface.gamma_multiply(0.85));
                self.painter.galley(place.shrink(2.0).min, galley, color);
                taken.push(place);
            }
        }
    }

    /// Strips, links and transits. Every other sortie is dashed.
    pub(super) fn lines(&self, lines: &[PlanLine], mesh: &mut Mesh) {
        for line in lines {
            let Some(ends) = clipped([self.at(line.from_m), self.at(line.to_m)], self.area) else { continue };
            let (width, color) = match line.kind {
                LineKind::Strip => (1.6, self.color),
                LineKind::Link => (1.0, self.color.gamma_multiply(0.7)),
                LineKind::Transit => (1.0, self.colors.muted),
            };
            if line.kind == LineKind::Transit {
                dashes(mesh, ends, [2.0, 4.0], width, color);
            } else if line.sortie.is_multiple_of(2) {
                dashes(mesh, ends, DASH, width, color);
            } else {
                stroke(mesh, ends, width, color);
            }
        }
    }

    /// The usual distance between exposures on the screen.
    fn gap(&self, pass: &PlanPass) -> f32 {
        let places: Vec<DVec2> = pass.stations.iter().map(|s| s.pose.position_m.truncate()).collect();
        let mut gaps: Vec<f64> = places.windows(2).map(|pair| pair[0].distance(pair[1])).collect();
        let middle = gaps.len() / 2;
        if gaps.is_empty() {
            return f32::INFINITY;
        }
        let (_, gap, _) = gaps.select_nth_unstable_by(middle, f64::total_cmp);
        self.canvas.length(*gap)
    }

    /// Exposures: a tick in the direction the camera looks, a square where it looks straight down.
    pub(super) fn stations(&self, pass: &PlanPass, mesh: &mut Mesh) {
        let seen = self.area.expand(6.0);
        let gap = self.gap(pass);
        let (drawn, roomy) = (gap >= LEAST_GAP, gap >= ROOMY_GAP);
        for station in pass.stations.iter().filter(|station| drawn || station.beyond) {
            let at = self.at(station.pose.position_m.truncate());
            if !seen.contains(at) {
                continue;
            }
            let quiet = if roomy { self.colors.ink } else { self.colors.ink.gamma_multiply(0.6) };
            let color = if station.beyond { self.colors.warn } else { quiet };
            let half = match (station.beyond, roomy) {
                (true, _) => 2.2,
                (false, true) => 1.4,
                (false, false) => 0.9,
            };
            mesh.add_colored_rect(Rect::from_center_size(at, Vec2::splat(2.0 * half)), color);
            let reach = 7.0 * narrow(station.pose.tilt_rad.sin());
            if reach > 0.7 && roomy {
                let heading = narrow(station.pose.heading_rad);
                let tip = at + reach * vec2(heading.sin(), -heading.cos());
                stroke(mesh, [at, tip], 1.2, color);
            }
        }
    }

    /// The frames of all stations of a pass on the ground, laid over each other.
    pub(super) fn footprints(&self, plan: &Plan, pass: usize, mesh: &mut Mesh) {
        let color = self.color.gamma_multiply(0.05);
        for station in 0..plan.passes[pass].stations.len() {
            let Some(ring) = plan.footprint_m(pass, station) else { continue };
            let points = self.points(&ring);
            if !self.sees(&points) {
                continue;
            }
            let first = u32::try_from(mesh.vertices.len()).unwrap_or(0);
            for point in &points {
                mesh.colored_vertex(*point, color);
            }
            let count = u32::try_from(points.len()).unwrap_or(0);
            for k in 2..count {
                mesh.add_triangle(first, first + k - 1, first + k);
            }
        }
    }

    /// The frame of one station on the ground.
    pub(super) fn footprint(&self, ring_m: &[DVec2]) {
        let points = self.points(ring_m);
        self.painter.add(Shape::convex_polygon(
            points,
            self.color.gamma_multiply(0.18),
            Stroke::new(2.0, self.color),
        ));
    }

    /// Where a caution holds: a broad line under whatever is flown there, with rings at its ends.
    pub(super) fn mark(&self, mark: &PlanMark) {
        let color = theme::severity(self.colors, mark.severity);
        for line in &mark.lines_m {
            let points = self.points(line);
            let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else {
                continue;
            };
            self.painter.add(Shape::line(points, Stroke::new(7.0, color.gamma_multiply(0.45))));
            for end in [first, last] {
                self.painter.circle_stroke(end, 8.0, Stroke::new(4.0, self.colors.surface));
                self.painter.circle_stroke(end, 8.0, Stroke::new(2.0, color));
            }
        }
    }

    /// A piece of surface and the exposures whose views of it count.
    pub(super) fn picked(&self, picked: &Picked) {
        let at = self.at(picked.position_m.truncate());
        let mut mesh = Mesh::default();
        for seeing in picked.seen_by.iter().filter(|seeing| seeing.counts) {
            let from = self.at(seeing.position_m.truncate());
            if let Some(ends) = clipped([at, from], self.area) {
                stroke(&mut mesh, ends, 1.0, self.colors.ink.gamma_multiply(0.6));
            }
        }
        self.painter.add(mesh);
        self.painter.circle(at, 4.5, self.colors.ink, Stroke::new(2.0, self.colors.surface));
    }

    /// Where each sortie begins, with its number.
    pub(super) fn sortie_starts(&self, passes: &[&PlanPass]) {
        let mut first: BTreeMap<u32, &PlanStation> = BTreeMap::new();
        for station in passes.iter().flat_map(|pass| &pass.stations) {
            let known = first.entry(station.sortie).or_insert(station);
            if station.time_s < known.time_s {
                *known = station;
            }
        }
        for (sortie, station) in first {
            let at = self.at(station.pose.position_m.truncate());
            if !self.area.shrink(9.0).contains(at) {
                continue;
            }
            self.painter.circle(at, 8.0, self.colors.surface, Stroke::new(1.5, self.color));
            let number = sortie.to_string();
            self.painter.text(at, Align2::CENTER_CENTER, number, theme::caption_strong(), self.colors.ink);
        }
    }

    /// The take-off point.
    pub(super) fn take_off(&self, plan: &Plan) {
        let at = self.at(plan.site.take_off_m);
        if self.area.shrink(7.0).contains(at) {
            self.painter.circle(at, 6.0, self.colors.surface, Stroke::new(2.0, self.colors.ink));
            self.painter.circle_filled(at, 2.2, self.colors.ink);
        }
    }

    /// Where the timeline's cursor has the aircraft.
    pub(super) fn cursor(&self, at_m: DVec2) {
        let at = self.at(at_m);
        if !self.area.expand(8.0).contains(at) {
            return;
        }
        let colors = self.colors;
        self.painter.circle(at, 7.0, colors.accent, Stroke::new(2.5, colors.surface));
        self.painter.circle_stroke(at, 10.0, Stroke::new(1.5, colors.accent));
    }

    /// A bar of a round length; returns where it is.
    pub(super) fn scale_bar(&self, plan: &Plan) -> Rect {
        let unit_m = plan.units.stored(Quantity::Length, 1.0);
        let shown = round_step(70.0 / (self.canvas.points_per_m * unit_m));
        let length = self.canvas.length(shown * unit_m);
        let text = plan.units.text(Quantity::Length, shown * unit_m);
        let galley = self.painter.layout_no_wrap(text, theme::caption(), self.colors.ink);
        let left = self.area.left_bottom() + vec2(12.0, -12.0);
        let text_at = left + vec2(0.0, -6.0 - galley.size().y);
        let whole = Rect::from_min_max(text_at, left + vec2(length.max(galley.size().x), 2.0)).expand(4.0);
        self.painter.rect_filled(whole, 4.0, self.colors.surface.gamma_multiply(0.85));
        self.painter.galley(text_at, galley, self.colors.ink);
        let stroke = Stroke::new(2.0, self.colors.ink);
        self.painter.line_segment([left, left + vec2(length, 0.0)], stroke);
        for end in [0.0, length] {
            self.painter.line_segment([left + vec2(end, -4.0), left + vec2(end, 1.0)], stroke);
        }
        whole
    }

    /// Which way the wind blows and how fast; returns where it is drawn, if it does.
    pub(super) fn wind(&self, plan: &Plan) -> Option<Rect> {
        let wind = plan.wind;
        if wind.speed_mps <= 0.0 {
            return None;
        }
        let at = self.area.right_top() + vec2(-18.0, 66.0);
        let speed = plan.units.speed(wind.speed_mps);
        let text = at + vec2(12.0, 16.0);
        let font = theme::caption_strong();
        let galley = self.painter.layout_no_wrap(format!("wind {speed}"), font, self.colors.ink);
        let place = Rect::from_min_size(text - vec2(galley.size().x, 0.0), galley.size());
        let whole = place.expand(2.0).union(Rect::from_center_size(at, vec2(28.0, 28.0)));
        self.painter.rect_filled(whole, 4.0, self.colors.surface.gamma_multiply(0.85));
        arrow(self.painter, at, wind.from_deg, 12.0, self.colors.accent);
        self.painter.galley(place.min, galley, self.colors.ink);
        Some(whole)
    }

    /// Which way north is; returns where it is drawn.
    pub(super) fn north(&self) -> Rect {
        let at = self.area.right_top() + vec2(-18.0, 30.0);
        let whole = Rect::from_center_size(at + vec2(0.0, -3.0), vec2(24.0, 42.0));
        self.painter.rect_filled(whole, 4.0, self.colors.surface.gamma_multiply(0.85));
        let ink = Stroke::new(1.6, self.colors.ink);
        self.painter.line_segment([at + vec2(0.0, 14.0), at + vec2(0.0, -6.0)], ink);
        for side in [-4.0, 4.0] {
            self.painter.line_segment([at + vec2(0.0, -6.0), at + vec2(side, 1.0)], ink);
        }
        self.painter.text(
            at + vec2(0.0, -7.0),
            Align2::CENTER_BOTTOM,
            "N",
            theme::caption_strong(),
            self.colors.ink,
        );
        whole
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a place on the screen")]
fn narrow(value: f64) -> f32 {
    value as f32
}

/// The part of a line inside an area.
///
/// # References
/// Liang and Barsky, "A new concept and method for line clipping", 1984 (from memory).
pub(super) fn clipped([a, b]: [Pos2; 2], area: Rect) -> Option<[Pos2; 2]> {
    let d = b - a;
    let (mut low, mut high) = (0.0_f32, 1.0_f32);
    let sides = [
        (-d.x, a.x - area.left()),
        (d.x, area.right() - a.x),
        (-d.y, a.y - area.top()),
        (d.y, area.bottom() - a.y),
    ];
    for (towards, room) in sides {
        if towards == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if towards < 0.0 {
            low = low.max(room / towards);
        } else {
            high = high.min(room / towards);
        }
    }
    (low < high).then(|| [a + low * d, a + high * d])
}

/// A line with soft edges.
pub(super) fn stroke(mesh: &mut Mesh, [a, b]: [Pos2; 2], width: f32, color: Color32) {
    const SOFT: f32 = 0.6;
    let along = (b - a).normalized();
    let across = vec2(-along.y, along.x);
    let first = u32::try_from(mesh.vertices.len()).unwrap_or(0);
    let (outer, inner) = (width / 2.0 + SOFT, (width / 2.0 - SOFT).max(0.0));
    for end in [a, b] {
        for (off, color) in
            [(-outer, Color32::TRANSPARENT), (-inner, color), (inner, color), (outer, Color32::TRANSPARENT)]
        {
            mesh.colored_vertex(end + off * across, color);
        }
    }
    for k in first..first + 3 {
        mesh.add_triangle(k, k + 1, k + 4);
        mesh.add_triangle(k + 1, k + 5, k + 4);
    }
}

fn dashes(mesh: &mut Mesh, [a, b]: [Pos2; 2], [on, off]: [f32; 2], width: f32, color: Color32) {
    let length = a.distance(b);
    let along = (b - a) / length.max(f32::MIN_POSITIVE);
    let mut at = 0.0;
    while at < length {
        stroke(mesh, [a + at * along, a + (at + on).min(length) * along], width, color);
        at += on + off;
    }
}

/// The lines of a legend: how a sortie's strips are drawn.
pub(super) fn sample(painter: &Painter, left: Pos2, odd: LineKind, sortie: u32, color: Color32) {
    let mut mesh = Mesh::default();
    let ends = [left, pos2(left.x + 26.0, left.y)];
    if odd == LineKind::Transit {
        dashes(&mut mesh, ends, [2.0, 4.0], 1.0, color);
    } else if sortie.is_multiple_of(2) {
        dashes(&mut mesh, ends, DASH, 1.6, color);
    } else {
        stroke(&mut mesh, ends, 1.6, color);
    }
    painter.add(mesh);
}
