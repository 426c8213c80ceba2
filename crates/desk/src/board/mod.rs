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
pub use ask::{BoardAsk, Fold, Session, Updating};
pub use heads::name_field;
pub use model::{
    Bar, Board, BoardBand, Cell, Column, Direction, Fails, GivenBoard, Limit, Rank, Row, Sentence, Slider,
    Standing, Verdict, Whisker,
};
pub use view::{Headline, ui};
