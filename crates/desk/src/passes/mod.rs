//! The passes of one strategy: their list, and every setting of the one that is chosen.

mod ask;
mod choices;
mod make;
mod model;
mod settings;
mod view;

pub use ask::PassesAsk;
pub use make::{Order, added, duplicated, moved, new_pass, removed};
pub use model::{Follow, GivenPasses, PassRow, Passes, tilt_text};
pub use view::ui;
