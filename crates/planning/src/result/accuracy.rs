//! Accuracy that is asked for and expected: levels of it, and classes of the standards.
//!
//! All of it is expected, never certified: that is done by a licensed surveyor, from check points that were surveyed.

use crate::geometry::polygon::area_m2;
use crate::network::standards::{
    ASPRS_CLASSES_CM, ASPRS_VERTICAL_CLASSES_CM, AsprsEdition, NSSDA_RADIAL_FACTOR, NSSDA_VERTICAL_FACTOR,
    check_points, nssda_vertical_m,
};
use crate::result::{Depth, Outcome};
use crate::scenario::{Accuracy, AccuracyLevel, PointRole, Requirement, Site};
use std::f64::consts::SQRT_2;

/// What is said wherever a class is told.
pub const NOT_CERTIFIED: &str = "expected, not certified: a licensed surveyor certifies";

/// Square metres of a square kilometre.
const KM2: f64 = 1e6;
/// Centimetres of a metre.
const CM: f64 = 100.0;

impl Accuracy {
    /// Whether any is asked for.
    pub fn is_asked(&self) -> bool {
        self.horizontal_m.is_some() || self.vertical_m.is_some()
    }

    /// Largest root mean square error of the horizontal distance that the limit allows.
    ///
    /// # Units
    /// - returns: metres
    ///
    /// # References
    /// Normal errors, alike in east and north: √2 σ; NSSDA (FGDC-STD-007.3-1998, app. 3-A): 95 % is 1.7308 of it.
    ///
    /// # Examples
    /// ```
    /// use obliquity_planning::{Accuracy, AccuracyLevel};
    /// let asked = Accuracy { level: AccuracyLevel::At95, horizontal_m: Some(0.17308), vertical_m: None };
    /// assert!((asked.horizontal_rmse_m().expect("asked") - 0.1).abs() < 1e-9);
    /// ```
    pub fn horizontal_rmse_m(&self) -> Option<f64> {
        let limit_m = self.horizontal_m?;
        Some(match self.level {
            AccuracyLevel::OneSigma => SQRT_2 * limit_m,
            AccuracyLevel::Rmse => limit_m,
            AccuracyLevel::At95 => limit_m / NSSDA_RADIAL_FACTOR,
        })
    }

    /// Largest root mean square error of heights that the limit allows.
    ///
    /// # Units
    /// - returns: metres
    ///
    /// # References
    /// Normal errors; NSSDA (FGDC-STD-007.3-1998, app. 3-A): 95 % is 1.96 of it.
    pub fn vertical_rmse_m(&self) -> Option<f64> {
        let limit_m = self.vertical_m?;
        Some(match self.level {
            AccuracyLevel::OneSigma | AccuracyLevel::Rmse => limit_m,
            AccuracyLevel::At95 => limit_m / NSSDA_VERTICAL_FACTOR,
        })
    }
}

/// What the standards would call the errors that a strategy's block is expected to have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExpectedClass {
    /// Finest class of the ASPRS standard's edition 1 that it meets horizontally: the error of east and of north each, in
    /// centimetres; nothing beyond the coarsest of its tables.
    pub horizontal_cm: Option<f64>,
    /// The same of heights.
    pub vertical_cm: Option<f64>,
    /// Radius that holds 95 % of the horizontal errors, by the NSSDA, in metres.
    pub horizontal_at_95_m: f64,
    /// What 95 % of the errors of heights stay below, by the NSSDA, in metres.
    pub vertical_at_95_m: f64,
    /// Check points that the ASPRS standard's edition 2 asks for at the area inside the boundary.
    pub check_points: u32,
    /// Check points that are placed on the site.
    pub placed: u32,
}

impl Depth {
    /// How deep an evaluation has to go for a verdict on everything that is asked.
    pub fn of_verdict(requirement: &Requirement) -> Self {
        if requirement.accuracy.is_asked() { Depth::Network } else { Depth::Views }
    }
}

impl ExpectedClass {
    /// Of a strategy whose network is worked out; nothing where it is not, or determines nothing.
    ///
    /// # References
    /// ASPRS Positional Accuracy Standards for Digital Geospatial Data, ed. 1 (2014), tables of classes, and ed. 2 (2023),
    /// table C.1; NSSDA, FGDC-STD-007.3-1998 (from memory, as their constants say).
    pub fn of(outcome: &Outcome, site: &Site) -> Option<Self> {
        let overall = outcome.network.as_ref()?.overall?;
        let placed = site.control_points.iter().filter(|point| point.role == PointRole::Check).count() as u32;
        let area_m2 = area_m2(&site.boundary_m);
        Some(ExpectedClass::from_rmse((overall.horizontal.rms_m, overall.vertical.rms_m), area_m2, placed))
    }

    fn from_rmse((horizontal_m, vertical_m): (f64, f64), area_m2: f64, placed: u32) -> Self {
        let finest = |classes: &[f64], rmse_m: f64| classes.iter().copied().find(|cm| CM * rmse_m <= *cm);
        ExpectedClass {
            horizontal_cm: finest(&ASPRS_CLASSES_CM, horizontal_m / SQRT_2),
            vertical_cm: finest(&ASPRS_VERTICAL_CLASSES_CM, vertical_m),
            horizontal_at_95_m: NSSDA_RADIAL_FACTOR * horizontal_m,
            vertical_at_95_m: nssda_vertical_m(vertical_m),
            check_points: check_points(AsprsEdition::Second, area_m2 / KM2).horizontal,
            placed,
        }
    }

    /// The classes with the standards that they are of, the check points that would show them, and that nobody has certified
    /// them.
    pub fn sentence(&self) -> String {
        let class = |cm: Option<f64>| match cm {
            Some(cm) => format!("class {cm} cm"),
            None => "no class".to_owned(),
        };
        format!(
            "horizontal {} and vertical {} by the ASPRS Positional Accuracy Standards, edition 1 (2014); {:.1} cm horizontally and \
             {:.1} cm vertically at 95 % (NSSDA); edition 2 (2023) asks for {} check points at this area to show it, {} \
             are placed; {NOT_CERTIFIED}",
            class(self.horizontal_cm),
            class(self.vertical_cm),
            CM * self.horizontal_at_95_m,
            CM * self.vertical_at_95_m,
            self.check_points,
            self.placed
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::standards::{asprs_horizontal, circular_radius};

    fn asked(level: AccuracyLevel) -> Accuracy {
        Accuracy { level, horizontal_m: Some(0.05), vertical_m: Some(0.05) }
    }

    /// Source: NSSDA, app. 3-A: 1.7308 `RMSE_r` and 1.9600 `RMSE_z` at 95 %. Derived: the radius of the Rayleigh distribution
    /// that holds 95 %, over its root mean square √2; to the four decimals that the standard prints.
    #[test]
    fn limits_of_every_level_are_root_mean_squares() {
        let of = |level| {
            let asked = asked(level);
            (asked.horizontal_rmse_m().unwrap_or(0.0), asked.vertical_rmse_m().unwrap_or(0.0))
        };
        assert_eq!(of(AccuracyLevel::Rmse), (0.05, 0.05));
        assert_eq!(of(AccuracyLevel::OneSigma), (SQRT_2 * 0.05, 0.05));
        let (horizontal, vertical) = of(AccuracyLevel::At95);
        assert!((horizontal - 0.05 / (circular_radius(0.95) / SQRT_2)).abs() < 1e-5);
        assert!((vertical - 0.05 / 1.96).abs() < 1e-12);
    }

    /// Source: ASPRS ed. 1 (2014), table B: class X allows √2 X of the radius and 2.4477 X at 95 %; ed. 2: 30 check points up
    /// to 1,000 km².
    #[test]
    fn a_class_is_met_by_what_it_just_allows() {
        for class_cm in ASPRS_CLASSES_CM {
            let allows = asprs_horizontal(class_cm);
            // the last bits of √2 X / √2
            let just = ExpectedClass::from_rmse((allows.rmse_r_cm / CM * (1.0 - 1e-12), 0.02), 22e4, 0);
            assert_eq!(just.horizontal_cm, Some(class_cm));
            let at_95_cm = CM * just.horizontal_at_95_m;
            assert!((at_95_cm - allows.at_95_cm).abs() < 1e-4 * allows.at_95_cm, "factors of four decimals");
            let more = ExpectedClass::from_rmse((1.001 * allows.rmse_r_cm / CM, 0.02), 22e4, 0);
            assert!(more.horizontal_cm.is_none_or(|cm| cm > class_cm));
            assert_eq!((just.vertical_cm, just.check_points), (Some(2.5), 30));
        }
    }

    #[test]
    fn a_class_is_never_told_as_certified() {
        let told = ExpectedClass::from_rmse((0.03, 5.0), 22e4, 4).sentence();
        assert!(told.ends_with(NOT_CERTIFIED), "{told}");
        assert!(told.contains("edition 1 (2014)") && told.contains("edition 2 (2023)"), "{told}");
        assert!(told.contains("vertical no class") && told.contains("4 are placed"), "{told}");
    }
}
