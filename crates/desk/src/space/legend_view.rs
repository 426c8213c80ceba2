//! The legend under pictures of surfaces.

use super::{Layer, Legend};
use crate::shell::elided;
use crate::show;
use crate::take_off_mark;
use crate::theme::{self, Colors, space};
use egui::{
    Color32, Galley, Painter, Pos2, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};
use std::sync::Arc;

/// Room under the pictures for the legend.
pub(crate) const LEGEND: f32 = 42.0;
/// One of its two lines.
const LEGEND_LINE: f32 = 18.0;
/// Width of its ramp, and how narrow it may be where its words need the room.
const WIDEST: f32 = 224.0;
const NARROWEST: f32 = 64.0;

/// What the colours stand for: swatches, or the ramp with the requirement marked on it.
pub(crate) fn draw_legend(ui: &mut Ui, room: Rect, legend: &Legend) {
    draw_legend_with(ui, room, legend, LegendTakeOffs::None);
}

/// The same, with the mark of where sorties start.
pub(super) fn draw_legend_with(ui: &mut Ui, room: Rect, legend: &Legend, take_offs: LegendTakeOffs) {
    let (colors, painter) = (theme::of(ui), ui.painter_at(room));
    let line = if legend.required.is_empty() { legend.layer.hint() } else { &legend.required };
    let mut at = room.left_top();
    if legend.layer != Layer::Covered {
        let [dark, light] = [&legend.words.0, &legend.words.1]
            .map(|text| painter.layout_no_wrap(text.clone(), theme::caption(), colors.ink));
        let left = room.width() - dark.size().x - light.size().x - 2.0 * space::ROW;
        let words = |at: Pos2, galley: Arc<Galley>| {
            let wide = galley.size().x;
            painter.galley(at, galley, colors.ink);
            at.x + wide
        };
        at.x = words(at, dark) + space::ROW;
        at.x = ramp_strip(&painter, at, left.clamp(NARROWEST, WIDEST), legend, colors) + space::ROW;
        at.x = words(at, light) + space::PAGE;
    }
    let rows = swatches(legend, colors).into_iter().fold(at, |at, (color, text)| {
        let galley = painter.layout_no_wrap(text.to_owned(), theme::caption(), colors.ink);
        let wide = 20.0 + galley.size().x;
        let wraps = at.x > room.left() && at.x + wide > room.right();
        let at = if wraps { pos2(room.left(), at.y + LEGEND_LINE) } else { at };
        let place = Rect::from_min_size(at + vec2(0.0, 2.0), vec2(14.0, 11.0));
        painter.rect(place, 1.0, color, Stroke::new(1.0, colors.muted), StrokeKind::Inside);
        painter.galley(at + vec2(20.0, 0.0), galley, colors.ink);
        pos2(at.x + wide + space::PAGE, at.y)
    });
    let rows = take_offs.draw(&painter, rows, room, colors);
    // Where the colours need both lines, the explanation is read by pointing at them.
    if rows.y < room.top() + LEGEND_LINE {
        let galley = elided(ui, &show::unbroken(line), theme::caption(), colors.muted, room.width());
        painter.galley(pos2(room.left(), room.top() + LEGEND_LINE), galley, colors.muted);
    }
    let marks = take_offs.text().map(|text| format!(" {text}")).unwrap_or_default();
    let spoken = format!("Legend: {}. {}{marks}", legend.layer.name(), legend.required);
    let response = ui.interact(room, ui.scope_id().with("legend"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &spoken));
    response.on_hover_text(line);
}

/// What a legend says of where sorties start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LegendTakeOffs {
    /// Nothing is marked.
    None,
    /// One place.
    One,
    /// Several, by their numbers.
    Several,
}

impl LegendTakeOffs {
    fn text(self) -> Option<&'static str> {
        match self {
            LegendTakeOffs::None => None,
            LegendTakeOffs::One => Some("take-off"),
            LegendTakeOffs::Several => Some("take-offs, numbered"),
        }
    }

    /// Returns where it ends.
    fn draw(self, painter: &Painter, at: Pos2, room: Rect, colors: &Colors) -> Pos2 {
        let Some(text) = self.text() else { return at };
        let galley = painter.layout_no_wrap(text.to_owned(), theme::caption(), colors.ink);
        let wide = 20.0 + galley.size().x;
        let wraps = at.x > room.left() && at.x + wide > room.right();
        let at = if wraps { pos2(room.left(), at.y + LEGEND_LINE) } else { at };
        let middle = at + vec2(7.0, 7.5);
        match self {
            LegendTakeOffs::Several => take_off_mark::numbered(painter, middle, 8.0, "", colors),
            LegendTakeOffs::One | LegendTakeOffs::None => take_off_mark::only(painter, middle, colors),
        }
        painter.galley(at + vec2(20.0, 0.0), galley, colors.ink);
        pos2(at.x + wide + space::PAGE, at.y)
    }
}

/// Colours with a meaning of their own, beside those of the ramp.
fn swatches<'a>(legend: &'a Legend, colors: &Colors) -> Vec<(Color32, &'a str)> {
    let mut of: Vec<(Color32, &str)> = Vec::new();
    if legend.layer == Layer::Covered {
        of.push((legend.color(Some(1.0)), &legend.words.1));
        of.push((legend.color(Some(0.0)), &legend.words.0));
    }
    of.extend([(legend.color(None), legend.lacking), (colors.rule, "not judged")]);
    of
}

/// Returns where it ends.
fn ramp_strip(painter: &Painter, at: Pos2, wide: f32, legend: &Legend, colors: &Colors) -> f32 {
    const STEPS: u16 = 64;
    let each = wide / f32::from(STEPS);
    let strip = Rect::from_min_size(at + vec2(0.0, 2.0), vec2(wide, 11.0));
    for step in 0..STEPS {
        let left = strip.left() + each * f32::from(step);
        let place = Rect::from_min_size(pos2(left, strip.top()), vec2(each + 0.5, strip.height()));
        painter.rect_filled(place, 0.0, legend.ramp_at(f64::from(step) / f64::from(STEPS - 1)));
    }
    painter.rect_stroke(strip, 0.0, Stroke::new(1.0, colors.muted), StrokeKind::Outside);
    for &mark in &legend.marks {
        let x = strip.left() + strip.width() * mark as f32;
        let ends = [pos2(x, strip.top() - 2.0), pos2(x, strip.bottom() + 3.0)];
        painter.line_segment(ends, Stroke::new(4.0, colors.surface));
        painter.line_segment(ends, Stroke::new(2.0, colors.ink));
    }
    strip.right()
}
