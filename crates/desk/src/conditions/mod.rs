//! What the job is flown under: wind and air, crew, batteries, the day and its light, and how sure all of it is.

mod dial;
mod given;
mod hours;
mod light;
mod mission;
mod shade;
mod view;

pub(crate) use dial::{arrow, wind_text};
pub use hours::{DayAsk, DayStrip, Hours};
pub use light::{Fact, exposure_text, light_facts};
pub use shade::{ShadeRow, Shades, is_quick, shade_rows, work_out};
pub use view::{ConditionsAsk, GivenConditions, ui};
