//! The row on top of the window: what is in it beside the menus, and where it gives way when there is little room.

mod chooser;
mod fold;
mod place;
mod tabs;

pub use chooser::{Focusable, chooser};
pub use fold::{RowShares, share, standing};
pub use place::{Doing, PlaceAsk, place};
pub use tabs::{Tab, tabs, width_of as tabs_width};

use egui::{Color32, FontId, Galley, Ui, text::LayoutJob, text::TextWrapping};
use std::sync::Arc;

/// Height of everything in the row.
pub const HEIGHT: f32 = 26.0;

/// A text on one line, cut with an ellipsis where it is longer than the room that it has.
pub(crate) fn elided(ui: &Ui, text: &str, font: FontId, color: Color32, width: f32) -> Arc<Galley> {
    let mut job = LayoutJob::simple_singleline(text.to_owned(), font, color);
    job.wrap = TextWrapping::truncate_at_width(width);
    ui.fonts_mut(|fonts| fonts.layout_job(job))
}

/// How wide a text is on one line.
pub(crate) fn text_width(ui: &Ui, text: &str, font: FontId) -> f32 {
    let job = LayoutJob::simple_singleline(text.to_owned(), font, Color32::BLACK);
    ui.fonts_mut(|fonts| fonts.layout_job(job)).size().x
}
