//! Figures of the rules that cautions remind of, and where they stand. Local rules and the remote pilot decide.

/// 14 CFR Part 107, small unmanned aircraft in the United States.
pub mod us {
    use crate::base::exact::{FOOT_M, KNOT_MPS, STATUTE_MILE_M};

    /// Where the limits on speed, height, visibility and clouds stand.
    pub const LIMITS: &str = "14 CFR 107.51";
    /// Where the lights at night and in twilight stand.
    pub const NIGHT: &str = "14 CFR 107.29";
    /// Where line of sight stands.
    pub const SIGHT: &str = "14 CFR 107.31 (from memory)";
    /// 400 ft above ground level.
    pub const HEIGHT_M: f64 = 400.0 * FOOT_M;
    /// Within 400 ft of a structure, level, the height may be measured from its top.
    pub const STRUCTURE_RADIUS_M: f64 = 400.0 * FOOT_M;
    /// Then it is 400 ft above its immediate uppermost limit.
    pub const ABOVE_STRUCTURE_M: f64 = 400.0 * FOOT_M;
    /// 87 knots (the rule says 100 miles an hour as well, which is 0.05 m/s less) over ground.
    pub const SPEED_MPS: f64 = 87.0 * KNOT_MPS;
    /// 3 statute miles, from the control station.
    pub const VISIBILITY_M: f64 = 3.0 * STATUTE_MILE_M;
    /// 500 ft below clouds.
    pub const BELOW_CLOUD_M: f64 = 500.0 * FOOT_M;
    /// 2000 ft beside clouds.
    pub const BESIDE_CLOUD_M: f64 = 2000.0 * FOOT_M;
}

/// Regulation (EU) 2019/947, open category.
pub mod eu {
    /// Where height, mass, line of sight, people and goods stand.
    pub const OPEN: &str = "Regulation (EU) 2019/947, Art. 4(1)";
    /// Where tall obstacles stand.
    pub const OBSTACLE: &str = "Regulation (EU) 2019/947, UAS.OPEN.010 (from memory)";
    /// Where the distance of subcategory A3 from areas stands.
    pub const AREAS: &str = "Regulation (EU) 2019/947, UAS.OPEN.040";
    /// Where the light at night stands.
    pub const NIGHT: &str = "local rules; the green flashing light of the open category is from memory";
    /// From the closest point of the surface of the earth.
    pub const HEIGHT_M: f64 = 120.0;
    /// Greatest take-off mass, not included.
    pub const MASS_KG: f64 = 25.0;
    /// An artificial obstacle taller than this may be overflown at a request.
    pub const TALL_OBSTACLE_M: f64 = 105.0;
    /// Level distance from it.
    pub const OBSTACLE_RADIUS_M: f64 = 50.0;
    /// Above it.
    pub const ABOVE_OBSTACLE_M: f64 = 15.0;
    /// Subcategory A3: from residential, commercial, industrial or recreational areas.
    pub const AREAS_M: f64 = 150.0;
}
