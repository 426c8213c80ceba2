//! Units on the screen. Texts and typed numbers come from here; the document stays metric.

pub use obliquity_planning::{GsdUnit, Scale, Unit, Units};
