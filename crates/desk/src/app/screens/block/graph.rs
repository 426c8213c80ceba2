//! Ties as they are drawn on a small plan: every image a dot, lines to those that it hangs together with.

use crate::canvas::Canvas;
use crate::theme::{self, Colors, space};
use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use glam::DVec2;
use obliquity_planning::{Outcome, SiteOutline};

/// So many of an image's strongest ties are drawn.
const EACH: u32 = 6;
/// No more lines than this are drawn: a frame has no time for more.
const MOST: usize = 5000;
/// Shares of the smaller image's surface from which a tie is fair, and strong.
const FAIR: f64 = 0.25;
const STRONG: f64 = 0.5;

/// How much two images share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum TieStrength {
    Weak,
    Fair,
    Strong,
}

impl TieStrength {
    const ALL: [TieStrength; 3] = [TieStrength::Strong, TieStrength::Fair, TieStrength::Weak];

    fn of(share: f64) -> Self {
        match share {
            share if share >= STRONG => TieStrength::Strong,
            share if share >= FAIR => TieStrength::Fair,
            _ => TieStrength::Weak,
        }
    }

    fn name(self) -> &'static str {
        match self {
            TieStrength::Weak => "10 to 25 %",
            TieStrength::Fair => "25 to 50 %",
            TieStrength::Strong => "half and more",
        }
    }

    fn stroke(self, colors: &Colors) -> Stroke {
        match self {
            TieStrength::Weak => Stroke::new(1.6, colors.bad),
            TieStrength::Fair => Stroke::new(1.0, colors.accent),
            TieStrength::Strong => Stroke::new(0.6, colors.muted),
        }
    }
}

/// The images of a strategy and what ties them.
#[derive(Debug)]
pub(super) struct TieGraph {
    /// Where each image is taken.
    images_m: Vec<DVec2>,
    /// The part of each, by its place among the parts; nothing of one that covers nothing with others.
    parts: Vec<Option<usize>>,
    part_count: usize,
    /// The weakest last, so that they are on top.
    ties: Vec<(u32, u32, TieStrength)>,
    /// How many ties there are in all.
    tie_count: usize,
    /// Control points.
    control_m: Vec<DVec2>,
}

impl TieGraph {
    /// The graph of an outcome; empty while its network is not worked out.
    pub(super) fn new(outcome: &Outcome) -> Self {
        let poses = outcome.plans().flat_map(|plan| &plan.stations.poses);
        let images_m: Vec<DVec2> = poses.map(|pose| pose.position_m.truncate()).collect();
        let mut graph = TieGraph {
            parts: vec![None; images_m.len()],
            images_m,
            part_count: 0,
            ties: Vec::new(),
            tie_count: 0,
            control_m: Vec::new(),
        };
        let Some(network) = outcome.network.as_deref() else { return graph };
        for (place, part) in network.parts.iter().enumerate() {
            for image in &part.images {
                if let Some(own) = graph.parts.get_mut(*image as usize) {
                    *own = Some(place);
                }
            }
        }
        graph.part_count = network.parts.len();
        graph.control_m = network.terms.control.iter().map(|point| point.position_m.truncate()).collect();
        graph.tie_count = network.ties.len();
        let mut strongest: Vec<_> = network.ties.iter().collect();
        strongest.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.images.cmp(&b.images)));
        let mut drawn = vec![0; graph.images_m.len()];
        for tie in strongest {
            let (a, b) = tie.images;
            let ends = [a as usize, b as usize];
            if graph.ties.len() < MOST
                && ends.iter().any(|end| drawn.get(*end).is_some_and(|count| *count < EACH))
            {
                for end in ends {
                    drawn[end] += 1;
                }
                graph.ties.push((a, b, TieStrength::of(tie.share)));
            }
        }
        graph
    }

    /// Draws it into all of the width.
    pub(super) fn ui(&self, ui: &mut Ui, outline: Option<&SiteOutline>, height: f32) {
        let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        let colors = theme::of(ui);
        let painter = ui.painter_at(area);
        painter.rect(area, 4.0, colors.surface, Stroke::new(1.0, colors.rule), StrokeKind::Inside);
        let room = area.with_max_y(area.bottom() - self.legend_rows(area) * LEGEND);
        let canvas = Canvas::fitted(self.bounds(outline), room);
        if let Some(outline) = outline {
            paint_site(&painter, &canvas, room, (outline, colors));
        }
        self.paint(&painter, &canvas, room, colors);
        self.legend(&painter, area, colors);
        let spoken = self.spoken();
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
        response.on_hover_text(spoken);
    }

    fn spoken(&self) -> String {
        let (images, ties, parts) = (self.images_m.len(), self.tie_count, self.part_count);
        let parts = if parts == 1 { "in one part".to_owned() } else { format!("in {parts} parts") };
        format!(
            "Plan of ties: {images} images, {ties} pairs that see a tenth or more of the same surface from alike, {parts}. Drawn \
             are the {EACH} strongest of every image"
        )
    }

    fn bounds(&self, outline: Option<&SiteOutline>) -> (DVec2, DVec2) {
        let boundary = outline.map_or(&[][..], |outline| &outline.boundary_m);
        let nothing = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        let places = self.images_m.iter().chain(boundary);
        let (low, high) = places.fold(nothing, |(low, high), place| (low.min(*place), high.max(*place)));
        if low.x <= high.x { (low, high) } else { (DVec2::ZERO, DVec2::ONE) }
    }

    fn paint(&self, painter: &Painter, canvas: &Canvas, area: Rect, colors: &Colors) {
        let at: Vec<Pos2> = self.images_m.iter().map(|place| canvas.to_screen(*place, area)).collect();
        let lines = self.ties.iter().map(|(a, b, strength)| {
            Shape::line_segment([at[*a as usize], at[*b as usize]], strength.stroke(colors))
        });
        painter.extend(lines);
        let dots = at.iter().zip(&self.parts).map(|(at, part)| match part {
            Some(part) if self.part_count > 1 => Shape::circle_filled(*at, 2.4, colors.strategy(part % 8)),
            Some(_) => Shape::circle_filled(*at, 1.4, colors.ink),
            None => Shape::circle_stroke(*at, 2.2, Stroke::new(1.0, colors.bad)),
        });
        painter.extend(dots);
        for place in &self.control_m {
            let at = canvas.to_screen(*place, area);
            let corners = [at + vec2(0.0, -6.0), at + vec2(5.5, 4.0), at + vec2(-5.5, 4.0)];
            painter.add(Shape::convex_polygon(
                corners.to_vec(),
                colors.surface,
                Stroke::new(1.8, colors.ink),
            ));
        }
    }

    /// Lines and dots stand in two rows where one has no room for both.
    fn legend_rows(&self, area: Rect) -> f32 {
        let has_dots =
            self.part_count > 1 || !self.control_m.is_empty() || self.parts.iter().any(Option::is_none);
        if has_dots && area.width() < WIDE { 2.0 } else { 1.0 }
    }

    /// What lines and dots are, below them.
    fn legend(&self, painter: &Painter, area: Rect, colors: &Colors) {
        let rows = self.legend_rows(area);
        let mut at = pos2(area.left() + space::ROW, area.bottom() - (rows - 0.5) * LEGEND);
        let text = |at: &mut Pos2, text: &str| {
            let galley = painter.layout_no_wrap(text.to_owned(), theme::caption(), colors.muted);
            let size = galley.size();
            painter.galley(*at - vec2(0.0, 0.5 * size.y), galley, colors.muted);
            at.x += size.x + space::GROUP;
        };
        let is_wide = area.width() >= WIDE;
        text(
            &mut at,
            if is_wide { "Two images share, of what the one with less sees:" } else { "Images share:" },
        );
        for strength in TieStrength::ALL {
            let stroke = strength.stroke(colors);
            painter.hline(at.x..=at.x + 20.0, at.y, Stroke::new(stroke.width.max(1.2), stroke.color));
            at.x += 20.0 + space::TIGHT;
            text(&mut at, strength.name());
        }
        if rows > 1.0 {
            at = pos2(area.left() + space::ROW, area.bottom() - 0.5 * LEGEND);
        }
        if self.part_count > 1 {
            painter.circle_filled(at + vec2(3.0, 0.0), 2.8, colors.strategy(0));
            at.x += 8.0 + space::TIGHT;
            text(&mut at, "a colour for each part");
        }
        if self.parts.iter().any(Option::is_none) {
            painter.circle_stroke(at + vec2(3.0, 0.0), 2.6, Stroke::new(1.0, colors.bad));
            at.x += 8.0 + space::TIGHT;
            text(&mut at, "in no part");
        }
        if !self.control_m.is_empty() {
            painter.text(at, Align2::LEFT_CENTER, "△", theme::caption(), colors.ink);
            at.x += 12.0 + space::TIGHT;
            text(&mut at, "control");
        }
    }
}

/// From this width on the legend says all of what two images share.
const WIDE: f32 = 760.0;
/// Height of the legend.
const LEGEND: f32 = 22.0;

fn paint_site(painter: &Painter, canvas: &Canvas, area: Rect, (outline, colors): (&SiteOutline, &Colors)) {
    let ring = |ring_m: &[DVec2]| ring_m.iter().map(|at| canvas.to_screen(*at, area)).collect::<Vec<Pos2>>();
    painter.add(Shape::closed_line(ring(&outline.boundary_m), Stroke::new(1.5, colors.ink)));
    for structure in &outline.structures {
        painter.add(Shape::closed_line(ring(&structure.footprint_m), Stroke::new(1.0, colors.muted)));
    }
}

#[cfg(test)]
mod tests {
    use super::TieStrength::{self, Fair, Strong, Weak};

    // Derived: by hand.
    #[test]
    fn ties_are_as_strong_as_what_they_share() {
        let strengths = [0.1, 0.25, 0.499, 0.5, 1.0].map(TieStrength::of);
        assert_eq!(strengths, [Weak, Fair, Fair, Strong, Strong]);
    }
}
