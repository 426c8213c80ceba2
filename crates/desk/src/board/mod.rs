//! The board: strategies as columns, five bands of figures across them.

mod adding;
mod ask;
mod bands;
mod columns;
mod corner;
mod figures;
mod foot;
mod grid;
mod heads;
mod make;
mod model;
mod paint;
mod sliders;
mod view;

pub use crate::cautions::CautionRow;
pub use ask::{Ask, Fold, Session, Updating};
pub use heads::name_field;
pub use model::{
    Band, Bar, Board, Cell, Column, Direction, Given, Limit, Rank, Row, Sentence, Side, Slider, Standing,
    Verdict, Whisker,
};
pub use view::{Headline, ui};
