//! Sizes of units that are exact by definition.

/// An international foot, exact (NIST SP 811, 2008, app. B.8).
pub const FOOT_M: f64 = 0.3048;

/// An international knot, exact: 1852 m an hour.
pub const KNOT_MPS: f64 = 1852.0 / 3600.0;

/// A statute mile, exact: 5280 ft.
pub const STATUTE_MILE_M: f64 = 5280.0 * FOOT_M;

/// Pound, avoirdupois, exact (NIST SP 811, 2008, app. B.8).
pub const POUND_KG: f64 = 0.453_592_37;

/// An inch, exact (NIST SP 811, 2008, app. B.8).
pub const INCH_M: f64 = 0.0254;

/// Mile of 5280 international feet in an hour, exact (NIST SP 811, 2008, app. B.8).
pub const MPH_MPS: f64 = 5280.0 * FOOT_M / 3600.0;

/// A hectare, exact: a square of 100 m.
pub const HECTARE_M2: f64 = 10_000.0;

/// Acre of 43,560 square international feet. The survey foot, withdrawn at the end of 2022, differs by 4 millionths.
pub const ACRE_M2: f64 = 43_560.0 * FOOT_M * FOOT_M;
