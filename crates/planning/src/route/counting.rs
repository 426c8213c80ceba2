use crate::base::choice::up;
use crate::scenario::CountingRule;

/// Where strips lie across a region.
#[derive(Debug, Clone, PartialEq)]
pub struct StripRow {
    /// Distance of each strip from the region's first edge; the outer ones may lie outside.
    pub offsets_m: Vec<f64>,
    /// Distance between neighbouring strips as flown.
    pub spacing_m: f64,
}

/// Rounds up to a count, forgiving the last bits of a division that should have come out whole.
pub(crate) fn whole_up(ratio: f64) -> u32 {
    up(ratio).max(0.0) as u32
}

/// How many strips a width needs, under a named rule.
///
/// # Units
/// - `width_m`: metres, extent of the region across the strips
/// - `spacing_m`: metres, strip spacing as the sidelap asks for it
/// - `swath_m`: metres, extent of the footprint across the track
///
/// # References
/// The rules stand side by side in textbooks and course notes; see [`CountingRule`]. `SidelapBeyondEdge`: Wolf, Dewitt &
/// Wilkinson, *Elements of Photogrammetry with Applications in GIS*, 4th ed. 2014, ch. 18.
///
/// # Examples
/// ```
/// use obliquity_planning::{CountingRule, strip_count};
/// // 300 m of width, 45 m of spacing, 150 m of swath, under three rules
/// let count = |rule| strip_count(rule, 300.0, 45.0, 150.0);
/// assert_eq!(count(CountingRule::HalfSpacingInside), 7);
/// assert_eq!(count(CountingRule::FootprintCover), 5);
/// assert_eq!(count(CountingRule::EdgeToEdge), 8);
/// ```
pub fn strip_count(rule: CountingRule, width_m: f64, spacing_m: f64, swath_m: f64) -> u32 {
    let spaces = width_m / spacing_m;
    let count = match rule {
        CountingRule::HalfSpacingInside | CountingRule::CentredAtSpacing => whole_up(spaces),
        CountingRule::FootprintCover => whole_up((width_m - swath_m) / spacing_m) + 1,
        CountingRule::EdgeToEdge => whole_up(spaces) + 1,
        CountingRule::SidelapBeyondEdge => {
            whole_up((width_m - 2.0 * inset_m(spacing_m, swath_m)) / spacing_m) + 1
        }
        CountingRule::SpareStripEachSide => whole_up(spaces) + 2,
    };
    count.max(1)
}

/// Lays strips across a width under a named rule.
///
/// # Units
/// As [`strip_count`].
///
/// # Shape
/// - returns: as many offsets as [`strip_count`] says, increasing
///
/// # References
/// As [`strip_count`]; the spacing of `SidelapBeyondEdge` is derived: the sidelap at which so many swaths reach beyond
/// either edge by just that.
///
/// # Examples
/// ```
/// use obliquity_planning::{CountingRule, strip_row};
/// // the handbook's plan in feet: 6.5 mi of width, 6300 ft of spacing, 9000 ft of swath
/// let row = strip_row(CountingRule::SidelapBeyondEdge, 6.5 * 5280.0, 6300.0, 9000.0);
/// assert_eq!(row.offsets_m.len(), 6);
/// assert!((row.spacing_m - 6188.571).abs() < 1e-3);
/// ```
pub fn strip_row(rule: CountingRule, width_m: f64, spacing_m: f64, swath_m: f64) -> StripRow {
    let count = strip_count(rule, width_m, spacing_m, swath_m);
    let spaces = f64::from(count - 1);
    let even = |inset: f64| if count > 1 { (width_m - 2.0 * inset) / spaces } else { spacing_m };
    let spacing = match rule {
        CountingRule::HalfSpacingInside => width_m / f64::from(count),
        CountingRule::CentredAtSpacing | CountingRule::SpareStripEachSide => spacing_m,
        CountingRule::FootprintCover => even((swath_m / 2.0).min(width_m / 2.0)),
        CountingRule::EdgeToEdge => even(0.0),
        CountingRule::SidelapBeyondEdge => {
            let sidelap = (f64::from(count) * swath_m - width_m) / (f64::from(count + 1) * swath_m);
            (1.0 - sidelap) * swath_m
        }
    };
    let first = (width_m - spaces * spacing) / 2.0;
    StripRow { offsets_m: (0..count).map(|k| first + f64::from(k) * spacing).collect(), spacing_m: spacing }
}

/// How far inside the edge the outer strip lies when its footprint reaches beyond by the sidelap.
///
/// # References
/// Derived: half a swath less the sidelap.
fn inset_m(spacing_m: f64, swath_m: f64) -> f64 {
    swath_m / 2.0 - (swath_m - spacing_m)
}

/// Exposures on a strip: ceil(length / base) + `added`.
///
/// `added` is 1 when both ends are included and nothing more is asked for; handbooks that want spare exposures beyond
/// the ends add more.
///
/// # Units
/// - `length_m`, `air_base_m`: metres
///
/// # References
/// Course notes, as [`strip_count`]: length / base + 1 where nothing more is asked for.
///
/// # Examples
/// ```
/// use obliquity_planning::exposure_count;
/// // 500 m with an exposure every 20 m, both ends included
/// assert_eq!(exposure_count(500.0, 20.0, 1), 26);
/// ```
pub fn exposure_count(length_m: f64, air_base_m: f64, added: u32) -> u32 {
    whole_up(length_m / air_base_m) + added
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: 100 m at 30 m need four strips; evened out they stand 25 m apart, 12.5 m inside.
    #[test]
    fn half_a_spacing_inside() {
        let row = strip_row(CountingRule::HalfSpacingInside, 100.0, 30.0, 60.0);
        assert_eq!(row.offsets_m, vec![12.5, 37.5, 62.5, 87.5]);
    }

    /// Derived: a whole number of spacings is not rounded up by the last bit.
    #[test]
    fn whole_ratios_stay_whole() {
        assert_eq!(exposure_count(0.3, 0.1, 1), 4);
        assert_eq!(strip_count(CountingRule::HalfSpacingInside, 0.7, 0.1, 1.0), 7);
    }
}
