//! A small plan on which the cut is chosen: a click takes a strip, a drag draws a line.

use super::SectionAsk;
use crate::canvas::Canvas;
use crate::keys;
use crate::theme::{self, Colors};
use egui::{Key, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use glam::DVec2;
use obliquity_planning::SiteOutline;
use obliquity_planning::cross_section::Cut;

/// A click so near to a strip takes it.
const REACH: f32 = 14.0;
const THIN: f32 = 1.0;
const CUT: f32 = 2.5;

/// What the plan shows.
pub(super) struct CutMap<'a> {
    pub(super) outline: &'a SiteOutline,
    /// Where every strip begins and ends.
    pub(super) strips_m: Vec<[DVec2; 2]>,
    pub(super) slot: usize,
}

impl CutMap<'_> {
    /// Draws it into all of the width, and takes clicks, drags and arrow keys.
    pub(super) fn ui(&self, ui: &mut Ui, cut: Cut, height: f32, asks: &mut Vec<SectionAsk>) {
        let (area, response) =
            ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::click_and_drag());
        let colors = theme::of(ui);
        let canvas = Canvas::fitted(self.bounds(), area);
        let painter = ui.painter_at(area);
        painter.rect(area, 4.0, colors.surface, Stroke::new(THIN, colors.rule), egui::StrokeKind::Inside);
        self.paint(&painter, &canvas, area, colors);
        let dragged = response.dragged().then(|| {
            let from = ui.input(|input| input.pointer.press_origin());
            from.zip(response.interact_pointer_pos())
        });
        let drawn =
            dragged.flatten().map(|(from, to)| (canvas.to_site(from, area), canvas.to_site(to, area)));
        if let Some((from_m, to_m)) = drawn.filter(|(from_m, to_m)| from_m.distance(*to_m) > 1.0) {
            asks.push(SectionAsk::Cut(Cut::Line(from_m, to_m)));
        } else if let Some(at) = response.interact_pointer_pos().filter(|_| response.clicked()) {
            asks.extend(self.strip_at(at, &canvas, area).map(|k| SectionAsk::Cut(Cut::Strip(k))));
        }
        self.paint_cut(&painter, &canvas, area, (cut, colors));
        if response.has_focus() {
            self.keys(ui, cut, asks);
            painter.rect_stroke(area, 4.0, Stroke::new(2.0, colors.accent), egui::StrokeKind::Inside);
        }
        let spoken =
            "Plan of the cut: a click takes a strip, a drag draws a line, arrow keys go from strip to strip";
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, spoken));
        response.on_hover_text("Click a strip to cut along it; drag to draw a line");
    }

    fn bounds(&self) -> (DVec2, DVec2) {
        let strips = self.strips_m.iter().flatten();
        let places = strips.chain(&self.outline.boundary_m);
        let nothing = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        places.fold(nothing, |(low, high), place| (low.min(*place), high.max(*place)))
    }

    fn paint(&self, painter: &Painter, canvas: &Canvas, area: Rect, colors: &Colors) {
        let ring =
            |ring_m: &[DVec2]| ring_m.iter().map(|at| canvas.to_screen(*at, area)).collect::<Vec<Pos2>>();
        painter.add(Shape::closed_line(ring(&self.outline.boundary_m), Stroke::new(1.5, colors.ink)));
        for structure in &self.outline.structures {
            painter.add(Shape::closed_line(ring(&structure.footprint_m), Stroke::new(THIN, colors.muted)));
        }
        for strip in &self.strips_m {
            let ends = strip.map(|at| canvas.to_screen(at, area));
            let faint = colors.strategy(self.slot).gamma_multiply(0.55);
            painter.line_segment(ends, Stroke::new(THIN, faint));
        }
    }

    fn paint_cut(&self, painter: &Painter, canvas: &Canvas, area: Rect, (cut, colors): (Cut, &Colors)) {
        let ends = match cut {
            Cut::Line(from_m, to_m) => [from_m, to_m],
            Cut::Strip(k) => match self.strips_m.get(k) {
                Some(strip) => *strip,
                None => return,
            },
        };
        let ends = ends.map(|at| canvas.to_screen(at, area));
        painter.line_segment(ends, Stroke::new(CUT + 2.0, colors.surface));
        painter.line_segment(ends, Stroke::new(CUT, colors.accent));
        // where it begins
        painter.circle(ends[0], 4.5, colors.surface, Stroke::new(2.0, colors.accent));
    }

    fn strip_at(&self, at: Pos2, canvas: &Canvas, area: Rect) -> Option<usize> {
        let off = |strip: &[DVec2; 2]| {
            let [a, b] = strip.map(|place| canvas.to_screen(place, area));
            let along = ((at - a).dot(b - a) / (b - a).length_sq().max(f32::MIN_POSITIVE)).clamp(0.0, 1.0);
            at.distance(pos2(a.x + (b.x - a.x) * along, a.y + (b.y - a.y) * along))
        };
        let near = self.strips_m.iter().map(off).enumerate().filter(|(_, off)| *off <= REACH);
        near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
    }

    /// From strip to strip.
    fn keys(&self, ui: &Ui, cut: Cut, asks: &mut Vec<SectionAsk>) {
        let Cut::Strip(k) = cut else { return };
        let last = self.strips_m.len().saturating_sub(1);
        let arrows = [Key::ArrowRight, Key::ArrowDown, Key::ArrowLeft, Key::ArrowUp];
        let to = keys::taken(ui, &arrows).into_iter().fold(k, |at, key| match key {
            Key::ArrowRight | Key::ArrowDown => (at + 1).min(last),
            _ => at.saturating_sub(1),
        });
        if to != k {
            asks.push(SectionAsk::Cut(Cut::Strip(to)));
        }
    }
}
