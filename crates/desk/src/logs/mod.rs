//! Logs of processed and of flown jobs: what is open, what is fitted to it, and how it is drawn.

mod document;
mod figures;
mod model;
mod table_view;
mod view;

pub use document::{LogDocument, LogEdit, LogPlace};
pub use figures::{FitLine, FittedLog, LogFigures, RowStanding};
pub use model::{GivenLog, LogAsk, LogFit, LogsSheet, TakeOver, TakenLine};
pub(crate) use model::{corrections_taken, into_aircraft, rates_taken};
pub use table_view::EditedCell;
pub use view::{empty, ui};
