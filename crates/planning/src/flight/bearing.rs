//! Wind of an unknown direction: the one that a prediction is flown in.

use super::totals::Totals;
use crate::scenario::wind::Wind;
use std::array::from_fn;

/// Directions that are tried, evenly round.
const DIRECTIONS: usize = 16;

/// The place of the lower median of so many, from 0.
const LOWER_MEDIAN: usize = DIRECTIONS / 2 - 1;

/// Times and energies that differ by less, as a share, are equal: sums of some thousand terms.
const SAME: f64 = 1e-9;

/// The wind that a prediction is flown in: as it is given, or, where its direction is unknown, from the one of sixteen
/// directions whose time on site is the lower median.
///
/// Of equal times, as where no wind of that speed slows the aircraft, it is the lower median by energy, and of those the first.
///
/// # Units
/// - `first_rad`: the direction that they are counted from, clockwise
/// - `flown`: what a flight in a wind comes to; nothing where it cannot be flown
pub(super) fn predicted_in(wind: Wind, first_rad: f64, flown: impl Fn(Wind) -> Option<Totals>) -> Wind {
    if wind.velocity_mps().is_some() {
        return wind;
    }
    let step_deg = 360.0 / DIRECTIONS as f64;
    let from_deg = |k: usize| (first_rad.to_degrees() + k as f64 * step_deg).rem_euclid(360.0);
    let winds: [Wind; DIRECTIONS] = from_fn(|k| Wind { from_deg: Some(from_deg(k)), ..wind });
    let takes = winds.map(|wind| flown(wind).map_or([f64::INFINITY; 2], |t| [t.time_on_site_s, t.energy_j]));
    winds[lower_median(&takes)]
}

/// Index of the lower median by time; of equal times by energy, and of equal energies the first.
fn lower_median(takes: &[[f64; 2]; DIRECTIONS]) -> usize {
    let mut open: Vec<usize> = (0..DIRECTIONS).collect();
    let mut place = LOWER_MEDIAN;
    let figures: [fn(&[f64; 2]) -> f64; 2] = [|taken| taken[0], |taken| taken[1]];
    for figure in figures {
        let mut sorted: Vec<f64> = open.iter().map(|&k| figure(&takes[k])).collect();
        sorted.sort_by(f64::total_cmp);
        let median = sorted[place];
        let is_median = |value: f64| value == median || (value - median).abs() / median <= SAME;
        place -= sorted.iter().take_while(|value| !is_median(**value)).count();
        open.retain(|&k| is_median(figure(&takes[k])));
    }
    open[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(times_s: [f64; DIRECTIONS], energies_j: [f64; DIRECTIONS]) -> usize {
        lower_median(&from_fn(|k| [times_s[k], energies_j[k]]))
    }

    const FALLING: [f64; DIRECTIONS] =
        [16., 15., 14., 13., 12., 11., 10., 9., 8., 7., 6., 5., 4., 3., 2., 1.];

    // Derived: the eighth of sixteen in ascending order, whatever the energy.
    #[test]
    fn the_lower_median_is_the_eighth() {
        assert_eq!(at(FALLING, FALLING.map(|time| 20.0 - time)), 8);
        let stuck = FALLING.map(|time| if time < 10.0 { f64::INFINITY } else { time });
        assert_eq!(at(stuck, FALLING), 15, "of nine that cannot be flown the one of the least energy");
    }

    // Derived: all times equal but for rounding: the eighth by energy; eight times equal above four shorter ones: the fourth
    // of them by energy; all alike: the first.
    #[test]
    fn equal_times_are_told_apart_by_energy() {
        assert_eq!(at(FALLING.map(|time| 900.0 + time * 1e-9), FALLING), 8);
        let middle = FALLING.map(|time| if (5.0..=12.0).contains(&time) { 8.0 } else { time });
        assert_eq!(at(middle, FALLING), 8);
        assert_eq!(at(middle, FALLING.map(|time| -time + 20.0)), 7);
        assert_eq!(at([900.0; DIRECTIONS], [7.0; DIRECTIONS]), 0);
    }

    // Derived: by hand; a wind that is known, or none at all, is flown in as it is.
    #[test]
    fn what_is_known_is_flown_in_as_it_is() {
        let takes = |time_on_site_s: f64| {
            let flight_s = time_on_site_s;
            Some(Totals { flight_s, time_on_site_s, sorties: 1.0, energy_j: 1.0, fullest_ratio: 1.0 })
        };
        let known = Wind { speed_mps: 4.0, from_deg: Some(200.0) };
        for wind in [known, Wind::STILL] {
            assert_eq!(predicted_in(wind, 0.3, |_| takes(1.0)), wind);
        }
        let open = Wind { speed_mps: 4.0, from_deg: None };
        let chosen = predicted_in(open, 0.0, |wind| takes(wind.from_deg.unwrap_or(1e9)));
        assert_eq!(chosen, Wind { from_deg: Some(7.0 * 22.5), ..open });
        let all_alike = predicted_in(open, std::f64::consts::FRAC_PI_2, |_| takes(100.0));
        assert_eq!(all_alike.from_deg, Some(90.0));
    }
}
