//! The card as a picture for paper: dark on white, whatever the screen looks like.

use super::sheet;
use crate::long;
use crate::picture::{self, PictureSize};
use crate::raster::Image;
use crate::theme::{self, Mode, space};
use egui::{CentralPanel, Frame, Label, RichText, Ui};
use obliquity_exchange::{Card, CardReport};

/// Width of the sheet, in points: A4 at 96 a inch.
pub const PAPER_POINTS: f32 = 794.0;
/// A card of more passes than anyone flies is cut here, in points.
const LONGEST: u32 = 8_000;
/// Pixels for each point: 192 an inch.
const SHARP: f32 = 2.0;

/// Draws the card on white, as long as it needs to be. `slot` is its colour.
pub fn picture(card: &Card, slot: usize) -> Image {
    long::begins("drawing a card");
    let mut height = 0.0;
    let width_px = whole(PAPER_POINTS * SHARP);
    let trial = PictureSize { width_px, height_px: 64, pixels_per_point: SHARP, mode: Mode::Light };
    picture::draw(&trial, |ui| height = page(ui, card, slot));
    let height_px = whole(height.min(LONGEST as f32) * SHARP);
    let canvas = PictureSize { width_px, height_px, pixels_per_point: SHARP, mode: Mode::Light };
    picture::draw(&canvas, |ui| {
        page(ui, card, slot);
    })
}

/// Draws the page and returns how long it is.
fn page(ui: &mut Ui, card: &Card, slot: usize) -> f32 {
    let colors = theme::of(ui);
    let frame = Frame::new().fill(colors.surface).inner_margin(2.0 * space::PAGE);
    let color = colors.strategy(slot);
    CentralPanel::default()
        .frame(frame)
        .show(ui, |ui| {
            ui.set_clip_rect(egui::Rect::EVERYTHING);
            ui.vertical(|ui| sheet(ui, card, color, &mut |ui, row, _| blank(ui, row)));
            ui.min_rect().bottom() + 2.0 * space::PAGE
        })
        .inner
}

/// What the controller reports, or a line to write it on.
fn blank(ui: &mut Ui, row: &CardReport) {
    let colors = theme::of(ui);
    let reported = row.reported.clone().unwrap_or_else(|| "________________".to_owned());
    ui.add(Label::new(RichText::new(format!("{}: {reported}", row.label))).wrap());
    let difference = row.difference.as_ref().map_or_else(String::new, |text| format!(": reported {text}"));
    let text = format!("predicted here {}{difference}", row.predicted);
    ui.add(Label::new(RichText::new(text).font(theme::caption()).color(colors.muted)).wrap());
    ui.add_space(space::ROW);
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a size in pixels, above 0")]
fn whole(size: f32) -> u32 {
    size.ceil().max(1.0) as u32
}

/// A file name for the card of a strategy.
pub fn short_file_name(strategy: &str, extension: &str) -> String {
    let plain: String =
        strategy.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
    format!("card_{plain}.{extension}")
}
