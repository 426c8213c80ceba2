//! The set-up card on the screen: the pages as they are printed, and the ways to take them along.

mod ask;
mod page;
mod picture;
mod reports;
mod view;

pub use ask::{CardAsk, CardMaking, CardView};
pub use picture::{PAPER_POINTS, picture, short_file_name};
pub use view::ui;

use crate::theme::{self, Mode};
use obliquity_exchange::CardSheet;

/// The sheet as a PDF, in the colour of a strategy.
///
/// # Errors
/// Why there is none, for people.
pub fn pdf(sheet: &CardSheet, slot: usize) -> Result<Vec<u8>, String> {
    crate::long::begins("making a PDF");
    let [red, green, blue, _] = theme::colors(Mode::Light).strategy(slot).to_array();
    sheet.to_pdf([red, green, blue]).map_err(|error| error.to_string())
}
