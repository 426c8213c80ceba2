//! Strokes and fillings of the plan. What comes in thousands goes into one mesh.

use super::Area;
use super::model::{LineKind, Plan, PlanLine, PlanMark, PlanPass, PlanStation, round_step};
use super::site::PlanStructure;
use crate::canvas::Canvas;
use crate::conditions::arrow;
use crate::figures::Freshness;
use crate::space::{EDGE, Picked};
use crate::take_off_mark;
use crate::theme::{self, Colors};
use crate::units::Unit;
use egui::{Align2, Color32, Mesh, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};
use glam::DVec2;
use obliquity_planning::{ControlPoint, PointRole};
use std::collections::BTreeMap;

/// Exposures nearer to each other than this on the screen are left out: the strip says as much.
const LEAST_GAP: f32 = 4.5;
/// From here on exposures are ticked where they look; nearer to each other they are dots.
const ROOMY_GAP: f32 = 7.0;
/// An outline smaller than this on the screen has no name.
const LEAST_NAMED: f32 = 9.0;
/// Nearer to each other than this, structures of one height say it once, unless they have room inside.
const ONCE: f32 = 64.0;
/// From this size on they have.
const ROOM: f32 = 28.0;
/// Round a name, where its ground is wiped.
const NAME_EDGE: Vec2 = vec2(3.0, 2.0);
/// So many structures are named, the tallest.
const MOST_NAMED: usize = 60;
/// Half a dash and the gap after it, of every other sortie.
const DASH: [f32; 2] = [9.0, 5.0];

/// How much broader than a line its halo is.
pub(super) const HALO_WIDTH: f32 = 3.0;

/// A marked stretch that is shorter on the screen has a ring.
const LEAST_MARKED: f32 = 10.0;

/// How ground and roofs are drawn on the large plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Surfaces {
    /// As ground and roofs.
    #[default]
    Plain,
    /// Coloured by what they get.
    Colored,
}

/// How areas are filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shade {
    /// So that nothing below is seen.
    Full,
    /// So that the picture below is.
    Thin,
}

/// What a plan is drawn with.
pub(super) struct Pen<'a> {
    pub(super) painter: &'a Painter,
    pub(super) canvas: Canvas,
    pub(super) area: Rect,
    pub(super) colors: &'a Colors,
    /// The strategy's.
    pub(super) color: Color32,
    /// Round outlines, so that they stand out from a picture below; transparent where there is none.
    pub(super) halo: Color32,
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

    /// Side by side: the sharp corner of one path would reach across the plan.
    fn outline(&self, points: &[Pos2], pen: Stroke) {
        let mut mesh = Mesh::default();
        let under = (self.halo != Color32::TRANSPARENT).then_some((pen.width + HALO_WIDTH, self.halo));
        for (width, color) in under.into_iter().chain([(pen.width, pen.color)]) {
            for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
                if let Some(ends) = clipped([*a, *b], self.area.expand(width)) {
                    stroke(&mut mesh, ends, width, color);
                }
            }
        }
        self.painter.add(mesh);
    }

    /// Ground and structures.
    pub(super) fn site(&self, plan: &Plan, thickness: Shade) {
        let colors = self.colors;
        if thickness == Shade::Full && !plan.site.undrawn {
            let boundary = self.points(&plan.site.boundary.ring_m);
            self.fill(&plan.site.boundary, &boundary, colors.page);
        }
        for structure in &plan.site.structures {
            let points = self.points(&structure.area.ring_m);
            if !self.sees(&points) {
                continue;
            }
            let shade = 0.15 + 0.6 * structure.shade;
            let fill = colors.trough.lerp_to_gamma(colors.muted, narrow(shade));
            let fill = if thickness == Shade::Thin { fill.gamma_multiply(0.45) } else { fill };
            self.fill(&structure.area, &points, fill);
        }
    }

    /// Lines round structures, keep-outs and, in the colour `edge`, the boundary; keep-outs are tinted.
    pub(super) fn outlines(&self, plan: &Plan, surfaces: Surfaces, edge: Color32) {
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
            self.outline(&points, Stroke::new(width, color));
        }
        for keep_out in &plan.site.keep_outs {
            let points = self.points(&keep_out.area.ring_m);
            if self.sees(&points) {
                self.fill(&keep_out.area, &points, colors.bad.gamma_multiply(0.14));
                self.outline(&points, Stroke::new(1.5, colors.bad));
            }
        }
        if !plan.site.undrawn {
            self.outline(&self.points(&plan.site.boundary.ring_m), Stroke::new(2.0, edge));
        }
    }

    /// Heights of structures, the tallest first, and names of keep-outs, where nothing else is written; `taken` is.
    pub(super) fn names(&self, plan: &Plan, mut taken: Vec<Rect>) {
        let colors = self.colors;
        let mut written: Vec<(String, Pos2)> = Vec::new();
        let mut tallest: Vec<&PlanStructure> = plan.site.structures.iter().collect();
        tallest.sort_by(|a, b| b.height_m.total_cmp(&a.height_m));
        for structure in tallest.into_iter().take(MOST_NAMED) {
            let text = plan.units.length(structure.height_m);
            let at = self.at(structure.area.middle_m());
            // A row of tanks needs its height once.
            let (low, high) = structure.area.bounds_m();
            let room = Rect::from_two_pos(self.at(low), self.at(high)).size();
            let said = |known: &(String, Pos2)| known.0 == text && known.1.distance(at) < ONCE;
            if room.min_elem() < ROOM && written.iter().any(said) {
                continue;
            }
            if self.name(&structure.area, &text, colors.ink, &mut taken) {
                written.push((text, at));
            }
        }
        for keep_out in &plan.site.keep_outs {
            self.name(&keep_out.area, &keep_out.name, colors.bad, &mut taken);
        }
    }

    /// Writes a name into an outline, or beside one that is too small for it; gives whether there was room.
    fn name(&self, area: &Area, text: &str, color: Color32, taken: &mut Vec<Rect>) -> bool {
        let (low, high) = area.bounds_m();
        let room = Rect::from_two_pos(self.at(low), self.at(high));
        if !room.intersects(self.area) || room.width().max(room.height()) < LEAST_NAMED {
            return false;
        }
        let galley = self.painter.layout_no_wrap(text.to_owned(), theme::caption_strong(), color);
        let size = galley.size() + 2.0 * NAME_EDGE;
        let inside = Align2::CENTER_CENTER.align_size_within_rect(size, room);
        let (middle, apart) = (room.center(), (room.size() + size) / 2.0 + Vec2::splat(1.0));
        let beside = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
            .map(|(x, y)| Rect::from_center_size(middle + vec2(x * apart.x, y * apart.y), size));
        let fits = room.width() > size.x && room.height() > size.y;
        let places = std::iter::once(inside).filter(|_| fits).chain(beside);
        let free = |place: &Rect| {
            self.area.contains_rect(*place) && !taken.iter().any(|other| other.intersects(*place))
        };
        let Some(place) = places.into_iter().find(free) else { return false };
        self.painter.rect_filled(place, 3.0, self.colors.surface.gamma_multiply(0.92));
        self.painter.galley(place.min + NAME_EDGE, galley, color);
        taken.push(place);
        true
    }

    fn points(&self, ring_m: &[DVec2]) -> Vec<Pos2> {
        ring_m.iter().map(|p| self.at(*p)).collect()
    }

    /// Distances from the take-off point.
    pub(super) fn rings(&self, plan: &Plan) {
        let colors = self.colors;
        for (ring, centre) in plan.rings.iter().flat_map(|ring| self.centres(plan).map(move |at| (ring, at)))
        {
            let radius = self.canvas.length(ring.radius_m);
            let color = if ring.limit { colors.warn } else { colors.rule };
            self.circle(centre, radius, Stroke::new(if ring.limit { 2.0 } else { 1.0 }, color));
        }
    }

    /// What rings are drawn about: the take-off points in use, the site's own where nothing is flown.
    fn centres(&self, plan: &Plan) -> impl Iterator<Item = Pos2> {
        let flown = plan.take_offs.iter().any(|take_off| !take_off.sorties.is_empty());
        let used = plan.take_offs.iter().enumerate();
        let used = used.filter(move |(at, one)| if flown { !one.sorties.is_empty() } else { *at == 0 });
        used.map(|(_, take_off)| self.at(take_off.at_m))
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
        for (ring, centre) in plan.rings.iter().flat_map(|ring| self.centres(plan).map(move |at| (ring, at)))
        {
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

    /// Where a caution holds: broad lines under whatever is flown there. The longest has rings at its ends; the others have
    /// one where they are too short to be seen.
    pub(super) fn mark(&self, mark: &PlanMark) {
        let stale = mark.freshness != Freshness::Fresh;
        let color = if stale { self.colors.muted } else { theme::severity(self.colors, mark.severity) };
        let mut rings = Vec::new();
        for (index, line) in mark.lines_m.iter().enumerate() {
            let points = self.points(line);
            let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else {
                continue;
            };
            if index == 0 {
                rings.extend([first, last]);
            } else if Rect::from_points(&points).size().max_elem() < LEAST_MARKED {
                rings.push(first.lerp(last, 0.5));
            }
            self.painter.add(Shape::line(points, Stroke::new(7.0, color.gamma_multiply(0.45))));
        }
        for at in rings {
            self.painter.circle_stroke(at, 8.0, Stroke::new(4.0, self.colors.surface));
            self.painter.circle_stroke(at, 8.0, Stroke::new(2.0, color));
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

    /// Where each sortie begins, in a ring, and ends, in a box, with its number; gives where they are.
    pub(super) fn sortie_ends(&self, passes: &[&PlanPass]) -> Vec<Rect> {
        let mut taken: Vec<Rect> = Vec::new();
        let ends = ends_of_sorties(passes);
        let firsts = ends.iter().map(|(sortie, [first, _])| (*sortie, *first, SortieEnd::First));
        let lasts = ends.iter().map(|(sortie, [_, last])| (*sortie, *last, SortieEnd::Last));
        for (sortie, station, end) in firsts.chain(lasts) {
            let at = self.at(station.pose.position_m.truncate());
            // An end that a beginning covers stands beside it.
            let aside = [(0.0, 0.0), (0.0, 18.0), (18.0, 0.0), (-18.0, 0.0), (0.0, -18.0)];
            let places = aside.map(|(x, y)| Rect::from_center_size(at + vec2(x, y), Vec2::splat(17.0)));
            let free = |place: &&Rect| {
                end == SortieEnd::First || !taken.iter().any(|other| other.intersects(place.shrink(0.5)))
            };
            let Some(place) = places.iter().find(free).filter(|_| self.area.shrink(9.0).contains(at)) else {
                continue;
            };
            self.sortie_end(place.center(), end, &sortie.to_string());
            taken.push(*place);
        }
        taken
    }

    /// The mark at an end of a sortie.
    pub(super) fn sortie_end(&self, at: Pos2, end: SortieEnd, number: &str) {
        let edge = Stroke::new(1.5, self.color);
        match end {
            SortieEnd::First => {
                self.painter.circle(at, 8.0, self.colors.surface, edge);
            }
            SortieEnd::Last => {
                let place = Rect::from_center_size(at, vec2(14.0, 15.0));
                self.painter.rect(place, 2.0, self.colors.surface, edge, StrokeKind::Inside);
            }
        }
        self.painter.text(at, Align2::CENTER_CENTER, number, theme::caption_strong(), self.colors.ink);
    }

    /// Control points and check points with their names.
    pub(super) fn control_points(&self, plan: &Plan) {
        let colors = self.colors;
        for ControlPoint { name, at_m, role } in &plan.site.control_points {
            let at = self.at(*at_m);
            if !self.area.shrink(7.0).contains(at) {
                continue;
            }
            measured_point(self.painter, at, *role, colors);
            let place = at + vec2(9.0, 0.0);
            self.painter.text(place, Align2::LEFT_CENTER, name, theme::caption(), colors.ink);
        }
    }

    /// The take-off points; several have numbers.
    pub(super) fn take_offs(&self, plan: &Plan) {
        for (index, one) in plan.take_offs.iter().enumerate() {
            let at = self.at(one.at_m);
            if !self.area.shrink(7.0).contains(at) {
                continue;
            }
            if plan.take_offs.len() > 1 {
                let number = (index + 1).to_string();
                take_off_mark::numbered(self.painter, at, take_off_mark::HALF, &number, self.colors);
            } else {
                take_off_mark::only(self.painter, at, self.colors);
            }
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

    /// The places that no legend should cover, the one that matters most first: take-off, cursor, beginnings of sorties.
    pub(super) fn places(&self, plan: &Plan, cursor: Option<DVec2>, passes: &[&PlanPass]) -> Vec<Pos2> {
        let starts = ends_of_sorties(passes).into_values().flatten().map(|s| s.pose.position_m.truncate());
        let take_offs = plan.take_offs.iter().map(|take_off| take_off.at_m);
        let places_m = take_offs.chain(cursor).chain(starts);
        places_m.map(|at_m| self.at(at_m)).collect()
    }

    /// A bar of a round length, in a corner or at an edge where it covers none of the places, or the least important ones; returns where
    /// it is.
    pub(super) fn scale_bar(&self, plan: &Plan, places: &[Pos2]) -> Rect {
        let unit_m = plan.units.stored(Unit::Metres, 1.0);
        let shown = round_step(70.0 / (self.canvas.points_per_m * unit_m));
        let length = self.canvas.length(shown * unit_m);
        let text = plan.units.text(Unit::Metres, shown * unit_m);
        let galley = self.painter.layout_no_wrap(text, theme::caption(), self.colors.ink);
        let size = vec2(length.max(galley.size().x), galley.size().y + 8.0) + Vec2::splat(8.0);
        let inside = self.area.shrink(8.0);
        let sides = [
            Align2::LEFT_BOTTOM,
            Align2::RIGHT_BOTTOM,
            Align2::LEFT_TOP,
            Align2::CENTER_BOTTOM,
            Align2::CENTER_TOP,
        ];
        let whole = least_covering(sides.map(|side| side.align_size_within_rect(size, inside)), places);
        let left = whole.left_bottom() + vec2(4.0, -6.0);
        let text_at = whole.min + Vec2::splat(4.0);
        self.painter.rect_filled(whole, 4.0, self.colors.surface.gamma_multiply(0.85));
        self.painter.galley(text_at, galley, self.colors.ink);
        let stroke = Stroke::new(2.0, self.colors.ink);
        self.painter.line_segment([left, left + vec2(length, 0.0)], stroke);
        for end in [0.0, length] {
            self.painter.line_segment([left + vec2(end, -4.0), left + vec2(end, 1.0)], stroke);
        }
        whole
    }

    /// Which way north is, and below it which way the wind blows and how fast, if it does, in a corner that covers none of
    /// the places or the least important ones; returns where they are drawn.
    pub(super) fn north_and_wind(&self, plan: &Plan, places: &[Pos2]) -> Rect {
        let wind = plan.wind.blows().then(|| {
            let known = if plan.wind.from_deg.is_some() { "" } else { ",\ndirection unknown" };
            let text = format!("wind {}{known}", plan.units.speed(plan.wind.speed_mps));
            self.painter.layout_no_wrap(text, theme::caption_strong(), self.colors.ink)
        });
        let arrow_y = if plan.wind.from_deg.is_some() { 34.0 } else { 6.0 };
        let below =
            wind.as_ref().map_or(Vec2::ZERO, |galley| vec2(galley.size().x + 4.0, galley.size().y + arrow_y));
        let size = vec2(below.x.max(28.0), 42.0 + below.y);
        let inside = self.area.shrink2(vec2(4.0, 6.0));
        let corners = [Align2::RIGHT_TOP, Align2::LEFT_TOP, Align2::RIGHT_CENTER, Align2::LEFT_CENTER];
        let sides = corners.map(|corner| corner.align_size_within_rect(size, inside));
        let whole = least_covering(sides, places);
        self.painter.rect_filled(whole, 4.0, self.colors.surface.gamma_multiply(0.85));
        let middle = whole.center().x;
        self.north(pos2(middle, whole.top() + 24.0));
        if let Some(galley) = wind {
            if let Some(from_deg) = plan.wind.from_deg {
                let at = pos2(middle, whole.top() + 58.0);
                arrow(self.painter, at, from_deg, 12.0, self.colors.accent);
            }
            let text = pos2(middle - galley.size().x / 2.0, whole.bottom() - 2.0 - galley.size().y);
            self.painter.galley(text, galley, self.colors.ink);
        }
        whole
    }

    fn north(&self, at: Pos2) {
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
    }
}

/// The mark of a point that the crew measures.
pub(super) fn measured_point(painter: &Painter, at: Pos2, role: PointRole, colors: &Colors) {
    let corner = |x: f32, y: f32| at + vec2(x, y);
    let (ring, middle) = match role {
        PointRole::Control => {
            (vec![corner(0.0, -6.5), corner(6.0, 4.5), corner(-6.0, 4.5)], corner(0.0, 1.2))
        }
        PointRole::Check => {
            (vec![corner(0.0, -6.5), corner(6.5, 0.0), corner(0.0, 6.5), corner(-6.5, 0.0)], at)
        }
    };
    painter.add(Shape::convex_polygon(ring, colors.surface, Stroke::new(1.8, colors.ink)));
    painter.circle_filled(middle, 1.4, colors.ink);
}

/// An end of a sortie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SortieEnd {
    /// Where it begins.
    First,
    /// Where it ends.
    Last,
}

/// The first and the last station of each sortie.
fn ends_of_sorties<'a>(passes: &[&'a PlanPass]) -> BTreeMap<u32, [&'a PlanStation; 2]> {
    let mut ends: BTreeMap<u32, [&PlanStation; 2]> = BTreeMap::new();
    let flown = passes.iter().flat_map(|pass| &pass.stations).filter(|station| station.time_s.is_some());
    for station in flown {
        let known = ends.entry(station.sortie).or_insert([station, station]);
        if station.time_s < known[0].time_s {
            known[0] = station;
        }
        if station.time_s > known[1].time_s {
            known[1] = station;
        }
    }
    ends
}

/// The first of some rectangles of which the most important place that it covers is the least important; the first that
/// covers none, if there is one.
fn least_covering<const N: usize>(sides: [Rect; N], places: &[Pos2]) -> Rect {
    let room = 9.0; // half of what marks a place
    let covered = |side: &Rect| {
        places.iter().position(|place| side.expand(room).contains(*place)).unwrap_or(usize::MAX)
    };
    // The last of equals is taken: so the first comes last.
    sides.into_iter().rev().max_by_key(covered).unwrap_or(Rect::NOTHING)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: of three corners the first that covers nothing is taken; where all cover something, the one whose places
    /// matter least.
    #[test]
    fn legends_go_where_they_cover_least() {
        let at = |x: f32| Rect::from_min_size(pos2(x, 0.0), vec2(50.0, 20.0));
        let corners = [at(0.0), at(200.0), at(400.0)];
        let place = |x: f32| pos2(x, 10.0);
        assert_eq!(least_covering(corners, &[]), corners[0]);
        assert_eq!(least_covering(corners, &[place(25.0)]), corners[1]);
        assert_eq!(least_covering(corners, &[place(-8.0)]), corners[1], "the mark has a size");
        assert_eq!(least_covering(corners, &[place(220.0)]), corners[0]);
        let everywhere = [place(25.0), place(410.0), place(210.0)];
        assert_eq!(least_covering(corners, &everywhere), corners[1]);
    }
}
