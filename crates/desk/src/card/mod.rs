//! The set-up card on the screen and on paper: the same data as the text, laid out as a card.

mod print;
mod sheet;
mod tiles;
mod view;

pub use print::{PAPER_POINTS, picture, short_file_name};
pub use sheet::sheet;
pub use view::{CardAsk, CardView, ui};
