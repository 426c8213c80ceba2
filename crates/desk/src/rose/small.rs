//! A rose in a column of the board: the same pieces, small, in steps of grey that are the same for all.

use super::disc::Disc;
use super::model::Rose;
use crate::theme::Colors;
use egui::{Color32, Painter, Pos2, Rect, Stroke, pos2, vec2};

/// Where the steps end, as shares of what the fullest one stands for: each twice the one before.
const STEPS: [f64; 6] = [1.0 / 32.0, 1.0 / 16.0, 1.0 / 8.0, 1.0 / 4.0, 1.0 / 2.0, 1.0];

/// A small rose and what it is drawn with.
#[derive(Debug, Clone, Copy)]
pub struct SmallRose<'a> {
    /// The rose; nothing before it is known.
    pub rose: Option<&'a Rose>,
    /// Whether it is of a wall: half a disc.
    pub half: bool,
    /// What the fullest step stands for: views from 10° × 10°.
    pub full: f64,
    /// How strong it is drawn: 1, and less where it is of earlier settings.
    pub strength: f32,
}

/// Draws a small rose into the middle of `area`; returns what is pointed at, for people.
pub fn small(
    painter: &Painter,
    area: Rect,
    shown: &SmallRose<'_>,
    colors: &Colors,
    pointer: Option<Pos2>,
) -> Option<String> {
    let radius = (area.size().min_elem() / 2.0 - 2.0).max(4.0);
    let down = if shown.half { radius / 2.0 } else { 0.0 };
    let disc = Disc { centre: area.center() + vec2(0.0, down), radius, half: shown.half };
    let mut told = None;
    if let Some(rose) = shown.rose {
        let pieces = rose.pieces();
        let fade = |color: Color32| colors.surface.lerp_to_gamma(color, shown.strength);
        disc.pieces(painter, &pieces, |piece| fade(step_color(piece.density() / shown.full, colors)));
        let pointed = pointer.and_then(|at| disc.pointed(rose, at));
        if let Some(piece) = &pointed {
            painter.add(egui::Shape::closed_line(disc.outline(piece), Stroke::new(1.5, colors.accent)));
        }
        told = pointed.map(|piece| rose.piece_text(&piece));
    }
    disc.edge(painter, Stroke::new(1.0, colors.muted.gamma_multiply(0.6)));
    told
}

/// Draws the steps side by side into `area`, the emptiest first.
pub fn ramp(painter: &Painter, area: Rect, colors: &Colors) {
    let width = area.width() / STEPS.len() as f32;
    for (k, share) in STEPS.iter().enumerate() {
        let from = pos2(area.left() + width * k as f32, area.top());
        let step = Rect::from_min_size(from, vec2(width, area.height()));
        painter.rect_filled(step, 0.0, step_color(*share, colors));
    }
    let edge = Stroke::new(1.0, colors.muted.gamma_multiply(0.6));
    painter.rect_stroke(area, 0.0, edge, egui::StrokeKind::Outside);
}

/// The colour of a density, as a share of the fullest.
fn step_color(share: f64, colors: &Colors) -> Color32 {
    if share <= 0.0 {
        return colors.surface;
    }
    // The last bits of a quotient must not make a step of their own.
    let step = STEPS.iter().position(|end| share <= end * (1.0 + 1e-9)).unwrap_or(STEPS.len() - 1);
    let strength = (step as f32 + 0.6) / (STEPS.len() as f32 - 0.4);
    colors.surface.lerp_to_gamma(colors.ink, 0.06 + 0.86 * strength)
}
