//! The board: strategies as columns, five bands of figures across them.

mod bands;
mod cautions;
mod columns;
mod model;
mod paint;
mod view;

pub use model::{
    Band, Bar, Board, CautionRow, Cell, Column, Limit, Row, Sentence, Side, Slider, Standing, Verdict,
};
pub use view::{Ask, ui};
