//! The board: strategies as columns, bands of figures across them.

mod adding;
mod ask;
mod bands;
mod before;
mod columns;
mod corner;
mod figures;
mod foot;
mod grid;
mod heads;
mod make;
mod model;
mod paint;
mod roses;
mod sliders;
mod view;

pub use crate::cautions::CautionRow;
pub use ask::{BoardAsk, CAUTIONS, SETTINGS, Session, Updating};
pub use before::Before;
pub use heads::name_field;
pub use model::{
    Against, Bar, Board, BoardBand, Cell, CellLook, CellOpens, Column, Difference, Direction, Fails, Fold,
    GivenBoard, Limit, Place, Rank, Row, Sense, Sentence, Slider, Standing, Verdict, ViewAngles, Whisker,
    Worth,
};
pub use view::{Headline, ui};
