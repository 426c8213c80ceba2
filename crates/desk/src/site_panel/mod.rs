//! What the site is made of: structures, the ground, and how densely surfaces are sampled.

mod ask;
mod earth;
mod ground;
mod known;
mod make;
mod structures;
mod view;

pub use ask::{GivenSite, SiteAsk, SiteState};
pub use ground::ground_text;
pub use make::{
    NewRectangle, free_name, free_structure_id, kind_text, rectangle_m, with_kind, with_structure,
};
pub use structures::{card as structure_card, name_input};
pub use view::ui;
