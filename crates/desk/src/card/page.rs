//! A page of the printed card, painted: every line of text and every stroke where it is on paper.

use super::ask::CardAsk;
use crate::opens;
use crate::theme::{self, Colors};
use egui::{Color32, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};
use obliquity_exchange::CardSheet;
use obliquity_exchange::sheet::{Area, InkTone, PathEnd, PathMark, SheetMark, SheetPage, TextMark, Weight};

/// How a page lies on the screen.
struct Lie<'a> {
    corner: Pos2,
    /// Points of the screen for a point of the page.
    scale: f32,
    colors: &'a Colors,
    strategy: Color32,
}

impl Lie<'_> {
    fn at(&self, point: [f32; 2]) -> Pos2 {
        self.corner + self.scale * vec2(point[0], point[1])
    }

    fn rect(&self, area: Area) -> Rect {
        Rect::from_min_max(self.at([area.left, area.top]), self.at([area.right(), area.bottom()]))
    }

    fn color(&self, tone: InkTone) -> Color32 {
        match tone {
            InkTone::Ink => self.colors.ink,
            InkTone::Muted => self.colors.muted,
            InkTone::Rule => self.colors.rule,
            InkTone::Shade => self.colors.trough,
            InkTone::Bad => self.colors.bad,
            InkTone::Warn => self.colors.warn,
            InkTone::Strategy => self.strategy,
            InkTone::Paper => self.colors.surface,
        }
    }
}

/// Draws all pages one below the other, as wide as `width`.
pub(super) fn pages(ui: &mut Ui, sheet: &CardSheet, slot: usize, width: f32, asks: &mut Vec<CardAsk>) {
    const APART: f32 = 12.0;
    let (wide, high) = sheet.paper.size_pt();
    let scale = width / wide;
    for (number, page) in sheet.pages.iter().enumerate() {
        if number > 0 {
            ui.add_space(APART);
        }
        let (whole, _) = ui.allocate_exact_size(vec2(width, scale * high), Sense::hover());
        ui.push_id(number, |ui| one(ui, page, whole, (scale, slot), asks));
    }
}

fn one(ui: &mut Ui, page: &SheetPage, whole: Rect, (scale, slot): (f32, usize), asks: &mut Vec<CardAsk>) {
    let colors = theme::of(ui);
    let lie = Lie { corner: whole.min, scale, colors, strategy: colors.strategy(slot) };
    ui.painter().rect(whole, 0.0, colors.surface, Stroke::new(1.0, colors.rule), egui::StrokeKind::Inside);
    for mark in &page.marks {
        match mark {
            SheetMark::Text(text) => write(ui, text, &lie),
            SheetMark::Path(path) => trace(ui, path, &lie),
        }
    }
    for (number, saying) in page.said.iter().enumerate() {
        let area = lie.rect(saying.area);
        let id = ui.scope_id().with(("said", number));
        if let Some(figure) = saying.figure {
            if opens::figure(ui, area, id, &saying.text, &saying.text).clicked() {
                asks.push(CardAsk::Figure(figure));
            }
            continue;
        }
        let response = ui.interact(area, id, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &saying.text));
        response.on_hover_text(&saying.text);
    }
}

/// A line of text; where the screen's letters come out wider than those on paper, a little smaller.
fn write(ui: &Ui, mark: &TextMark, lie: &Lie<'_>) {
    let area = lie.rect(mark.area);
    if !ui.clip_rect().intersects(area) {
        return;
    }
    let font = |size: f32| match mark.weight {
        Weight::Regular => FontId::proportional(size),
        Weight::Strong => FontId::new(size, theme::strong()),
    };
    let color = lie.color(mark.tone);
    let layout = |size: f32| ui.painter().layout_no_wrap(mark.text.clone(), font(size), color);
    let size = lie.scale * mark.size;
    let mut galley = layout(size);
    if galley.size().x > area.width() + 0.5 {
        galley = layout(size * area.width() / galley.size().x);
    }
    let top = area.center().y - galley.size().y / 2.0;
    ui.painter().galley(pos2(area.left(), top), galley, color);
}

fn trace(ui: &Ui, mark: &PathMark, lie: &Lie<'_>) {
    let points: Vec<Pos2> = mark.points.iter().map(|point| lie.at(*point)).collect();
    let painter = ui.painter();
    if let Some(tone) = mark.fill {
        // What is filled on the card has no notch that would matter: marks, boxes, footprints.
        painter.add(Shape::convex_polygon(points.clone(), lie.color(tone), Stroke::NONE));
    }
    let Some((tone, width)) = mark.stroke else { return };
    let stroke = Stroke::new((lie.scale * width).max(0.5), lie.color(tone));
    match (mark.dash, mark.end) {
        (Some(length), _) => {
            let length = lie.scale * length;
            painter.extend(Shape::dashed_line(&points, stroke, length, length));
        }
        (None, PathEnd::Closed) => {
            painter.add(Shape::closed_line(points, stroke));
        }
        (None, PathEnd::Open) => {
            painter.add(Shape::line(points, stroke));
        }
    }
}
