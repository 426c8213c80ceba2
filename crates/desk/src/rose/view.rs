//! The roses of a strategy, large.

use super::disc::{Disc, far};
use super::model::{ENDS_DEG, Rose, Roses, sector_deg};
use crate::copied;
use crate::figures::Freshness;
use crate::show;
use crate::theme::{self, Colors, space};
use egui::{
    Align2, Color32, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use obliquity_planning::{SECTOR_COUNT, SurfaceClass};

/// Each class has its own rose where there is this much height for it.
const ROOM_FOR_ONE: f32 = 210.0;

/// Draws the roses into what is left of `ui`: one under the other where there is room, and else one with a chooser.
pub fn ui(ui: &mut Ui, roses: &Roses, strategy: &str, color: Color32, class: &mut SurfaceClass) {
    let count = roses.classes.len();
    let all = count > 1 && ui.available_height() >= ROOM_FOR_ONE * count as f32;
    head(ui, roses, class, if all { &[] } else { &roses.classes });
    let colors = theme::of(ui);
    let stale = roses.freshness == Some(Freshness::Stale);
    let color = if stale { color.gamma_multiply(0.45) } else { color };
    let (text, ink) = if stale { (" (updating…)", colors.muted) } else { ("", colors.ink) };
    let shown: Vec<&Rose> =
        if all { roses.classes.iter().collect() } else { roses.of(*class).into_iter().collect() };
    if shown.is_empty() {
        let text = roses.empty.as_deref().unwrap_or("The site has no surfaces.");
        ui.add(egui::Label::new(egui::RichText::new(text).color(colors.muted)).wrap());
        return;
    }
    let height = ui.available_height() / shown.len() as f32;
    for rose in shown {
        let end = ui.cursor().top() + height;
        let class = if all { format!("{}: ", rose.class.plural()) } else { String::new() };
        let summary = egui::RichText::new(format!("{class}{}{text}", rose.summary));
        ui.add(egui::Label::new(summary.font(theme::caption()).color(ink)).wrap());
        drawing(ui, rose, strategy, color, end - ui.cursor().top() - space::ROW);
    }
}

/// What the roses are, and which class to choose from.
fn head(ui: &mut Ui, roses: &Roses, class: &mut SurfaceClass, choice: &[Rose]) {
    ui.horizontal_wrapped(|ui| {
        let hint = "Counted views: in the frame, not hidden, not too slanted and not too coarse. The middle of the \
                    rose is straight up from the surface, its edge the horizon; on walls the top is square on. Equal areas \
                    are equal solid angles, so that dark means dense wherever it is.";
        let title = if choice.is_empty() { "View angles" } else { "Views of" };
        ui.label(egui::RichText::new(title).font(theme::body_strong())).on_hover_text(hint);
        for rose in choice {
            let chosen = roses.of(*class).is_some_and(|shown| shown.class == rose.class);
            let button = ui.selectable_label(chosen, rose.class.plural());
            button.widget_info(|| {
                let name = format!("View angles of {}", rose.class.plural());
                WidgetInfo::selected(Role::Button, true, chosen, name)
            });
            if button.clicked() {
                *class = rose.class;
            }
        }
    });
}

/// Room for the words around the disc and the scale under it.
const WORDS: f32 = 20.0;
const SCALE: f32 = 40.0;

fn drawing(ui: &mut Ui, rose: &Rose, strategy: &str, color: Color32, height: f32) {
    let size = vec2(ui.available_width(), height.clamp(150.0, 460.0));
    let (response, painter) = ui.allocate_painter(size, Sense::hover());
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Image,
            true,
            format!("View angles of the {} of {strategy}: {}", rose.class.plural(), rose.summary),
        )
    });
    let name = format!("view angles of the {}", rose.class.plural());
    copied::offer(&response, response.rect, &name);
    let colors = theme::of(ui);
    let room =
        response.rect.shrink2(vec2(2.0 * WORDS, WORDS)).with_max_y(response.rect.bottom() - WORDS - SCALE);
    let half = rose.is_half();
    let radius = if half { room.height().min(room.width() / 2.0) } else { room.size().min_elem() / 2.0 };
    let centre = pos2(room.center().x, room.top() + radius);
    let disc = Disc { centre, radius, half };
    let pointed = response.hover_pos().and_then(|at| disc.pointed(rose, at));
    let pieces = rose.pieces();
    disc.pieces(&painter, &pieces, |piece| match piece.density() {
        density if density > 0.0 => shade(density / rose.full, color, colors),
        _ => colors.surface,
    });
    lines(&disc, &painter, colors);
    if let Some(piece) = &pointed {
        painter.add(Shape::closed_line(disc.outline(piece), Stroke::new(2.0, colors.ink)));
    }
    words(&disc, &painter, colors);
    let scale_top = if half { centre.y + WORDS } else { centre.y + radius + WORDS };
    scale(&painter, pos2(response.rect.center().x, scale_top), rose, color, colors);
    if let Some(piece) = pointed {
        response.on_hover_text_at_pointer(rose.piece_text(&piece));
    }
}

/// The fullest cells have the strategy's own colour, the emptiest are nearly the paper: lightness alone tells them apart.
fn shade(share: f64, color: Color32, colors: &Colors) -> Color32 {
    #[expect(clippy::cast_possible_truncation, reason = "a share")]
    let share = (0.12 + 0.88 * share.clamp(0.0, 1.0)) as f32;
    colors.trough.lerp_to_gamma(color, share)
}

/// Rings, and the spokes between pieces: none in the middle, where all round is one piece.
fn lines(disc: &Disc, painter: &Painter, colors: &Colors) {
    let line = Stroke::new(1.0, colors.rule);
    for end in &ENDS_DEG[1..] {
        painter.add(Shape::line(disc.arc(far(*end)), line));
    }
    for spoke in 0..SECTOR_COUNT {
        if disc.half && (4..9).contains(&spoke) {
            continue;
        }
        let azimuth = sector_deg(spoke);
        let level = disc.half && (spoke == 3 || spoke == 9);
        let from = match spoke % 2 {
            _ if level => 0.0,
            0 => far(ENDS_DEG[2]),
            _ => far(ENDS_DEG[1]),
        };
        painter.line_segment([disc.at(from, azimuth), disc.at(1.0, azimuth)], line);
    }
}

/// Which way is which.
fn words(disc: &Disc, painter: &Painter, colors: &Colors) {
    let put = |at: Pos2, align: Align2, text: &str| {
        painter.text(at, align, text, theme::caption_strong(), colors.ink);
    };
    let gap = 1.0 + space::TIGHT / disc.radius;
    let (top, right, left) = (disc.at(gap, 0.0), disc.at(gap, 90.0), disc.at(gap, -90.0));
    if disc.half {
        put(top, Align2::CENTER_BOTTOM, "facing the wall");
        put(right, Align2::LEFT_CENTER, "right");
        put(left, Align2::RIGHT_CENTER, "left");
    } else {
        put(top, Align2::CENTER_BOTTOM, "N");
        put(right, Align2::LEFT_CENTER, "E");
        put(disc.at(gap, 180.0), Align2::CENTER_TOP, "S");
        put(left, Align2::RIGHT_CENTER, "W");
    }
    let spoke = if disc.half { 60.0 } else { 45.0 };
    let mut last = f32::INFINITY;
    for end in ENDS_DEG[1..].iter().rev() {
        let apart = disc.radius * (last - far(*end));
        if apart < LEAST_APART {
            continue;
        }
        last = far(*end);
        let text = format!("{end}°");
        let at = disc.at(far(*end), spoke);
        let galley = painter.layout_no_wrap(text, theme::caption(), colors.ink);
        let place = Align2::CENTER_CENTER.anchor_size(at, galley.size());
        painter.rect_filled(place.expand(1.0), 3.0, colors.surface.gamma_multiply(0.8));
        painter.galley(place.min, galley, colors.ink);
    }
}

/// Rings whose texts would stand nearer than this go without.
const LEAST_APART: f32 = 24.0;

/// What the colours stand for, under the disc.
fn scale(painter: &Painter, top: Pos2, rose: &Rose, color: Color32, colors: &Colors) {
    const STEPS: u8 = 8;
    const STEP: Vec2 = vec2(16.0, 8.0);
    let left = top.x - STEP.x * f32::from(STEPS) / 2.0;
    for step in 0..STEPS {
        let share = (f64::from(step) + 0.5) / f64::from(STEPS);
        let place = Rect::from_min_size(pos2(left + STEP.x * f32::from(step), top.y), STEP);
        painter.rect_filled(place, 0.0, shade(share, color, colors));
    }
    let right = left + STEP.x * f32::from(STEPS);
    let text = |at: Pos2, align: Align2, text: &str| {
        painter.text(at, align, text, theme::caption(), colors.muted);
    };
    text(pos2(left - 5.0, top.y + 4.0), Align2::RIGHT_CENTER, "0");
    text(pos2(right + 5.0, top.y + 4.0), Align2::LEFT_CENTER, &show::short(rose.full));
    text(pos2(top.x, top.y + STEP.y + 2.0), Align2::CENTER_TOP, "views from each 10° × 10°");
}
