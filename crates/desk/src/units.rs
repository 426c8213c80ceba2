//! Units on the screen. Texts and typed numbers come from here; the document stays metric.

pub use obliquity_exchange::{GsdUnit, Quantity, Scale, Units};
use obliquity_planning::Unit;

/// What a figure or an input of planning measures.
pub fn quantity_of(unit: Unit) -> Quantity {
    match unit {
        Unit::Metres => Quantity::Length,
        Unit::MetresPerSecond => Quantity::Speed,
        Unit::Degrees => Quantity::Angle,
        Unit::Share => Quantity::Share,
        Unit::Centimetres => Quantity::Gsd,
        Unit::GsdMetres => Quantity::Fixed("m/px"),
        Unit::Seconds => Quantity::Fixed("s"),
        Unit::Hours => Quantity::Fixed("h"),
        Unit::Gigabytes => Quantity::Fixed("GB"),
        Unit::WattHours => Quantity::Fixed("Wh"),
        Unit::BatterySets => Quantity::Fixed("sets"),
        Unit::Gigapixels => Quantity::Fixed("gigapixels"),
        Unit::Count => Quantity::Fixed(""),
    }
}
