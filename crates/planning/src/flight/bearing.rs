//! Wind from nobody knows where: the direction that a prediction is flown in.

use crate::wind::Wind;
use std::array::from_fn;

/// Directions that are tried, evenly round.
const DIRECTIONS: usize = 16;

/// The place of the lower median of so many.
const LOWER_MEDIAN: usize = DIRECTIONS / 2 - 1;

/// Times that differ by less, as a share, are equal: sums of some thousand terms.
const SAME_TIME: f64 = 1e-9;

/// The wind that a prediction is flown in: as it is given, or, where its direction is not known, from the one of sixteen
/// directions whose time is the lower median; of equal ones the first.
///
/// # Units
/// - `first_rad`: the direction that they are counted from, clockwise
/// - `time_s`: seconds in a wind; infinite where it cannot be flown
pub(super) fn predicted_in(wind: Wind, first_rad: f64, time_s: impl Fn(Wind) -> f64) -> Wind {
    if wind.velocity_mps().is_some() {
        return wind;
    }
    let step_deg = 360.0 / DIRECTIONS as f64;
    let from_deg = |k: usize| (first_rad.to_degrees() + k as f64 * step_deg).rem_euclid(360.0);
    let winds: [Wind; DIRECTIONS] = from_fn(|k| Wind { from_deg: Some(from_deg(k)), ..wind });
    let times_s = winds.map(time_s);
    winds[lower_median(&times_s)]
}

/// Index of the lower median; of equal values the first.
fn lower_median(values: &[f64; DIRECTIONS]) -> usize {
    let mut sorted = *values;
    sorted.sort_by(f64::total_cmp);
    let median = sorted[LOWER_MEDIAN];
    let is_median = |value: &f64| *value == median || (value - median).abs() / median <= SAME_TIME;
    values.iter().position(is_median).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Derived: the eighth of sixteen in ascending order; 7 lies first among its equals though rounded another way.
    #[test]
    fn the_lower_median_is_the_eighth_and_the_first_of_equals() {
        let times = [16., 15., 14., 13., 12., 11., 10., 9., 8., 7., 6., 5., 4., 3., 2., 1.];
        assert_eq!(lower_median(&times), 8);
        let equal = times.map(|time: f64| if time < 9.0 { 7.0 + time * 1e-12 } else { time });
        assert_eq!(lower_median(&equal), 8);
        let stuck = times.map(|time: f64| if time < 10.0 { f64::INFINITY } else { time });
        assert_eq!(lower_median(&stuck), 7);
    }

    // Derived: by hand; a wind that is known, or none at all, is flown in as it is.
    #[test]
    fn what_is_known_is_flown_in_as_it_is() {
        let known = Wind { speed_mps: 4.0, from_deg: Some(200.0) };
        for wind in [known, Wind::STILL] {
            assert_eq!(predicted_in(wind, 0.3, |_| 1.0), wind);
        }
        let open = Wind { speed_mps: 4.0, from_deg: None };
        let chosen = predicted_in(open, 0.0, |wind| wind.from_deg.unwrap_or(1e9));
        assert_eq!(chosen, Wind { from_deg: Some(7.0 * 22.5), ..open });
        let all_alike = predicted_in(open, std::f64::consts::FRAC_PI_2, |_| 100.0);
        assert_eq!(all_alike.from_deg, Some(90.0));
    }
}
