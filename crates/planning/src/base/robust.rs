//! The middle of numbers of which some may be absurd.

use puruspe::invbetai;

/// Fewest numbers that a middle with an interval is told of.
pub const LEAST_VALUES: usize = 6;

/// From so many scatters on a number does not count at all; where errors are normal one in 500 million lies there.
const BOUND: f64 = 6.0;

/// The normal's scatter over its median deviation.
const NORMAL_PER_MEDIAN_DEVIATION: f64 = 1.482_602_218_505_6;

/// The same for few numbers: factors for 6 to 9 of them.
const OF_FEW: [f64; 4] = [1.200, 1.140, 1.129, 1.107];

const MOST_STEPS: usize = 200;

/// The middle of some numbers, and how sure it is.
#[derive(Debug, Clone, PartialEq)]
pub struct RobustCentre {
    /// The middle.
    pub centre: f64,
    /// So far on both sides lies the true middle, in 95 of 100 such samples.
    pub half_width: f64,
    /// So far from the middle lies the next number, in 95 of 100 cases.
    pub next_half_width: f64,
    /// Places of the numbers that do not count, far from all others.
    pub left_out: Vec<usize>,
}

/// The middle of numbers, a share of which may be wrong by any amount: Tukey's biweight by iteratively reweighted least squares,
/// with the median absolute deviation as its scale, so that the influence of one number is bounded. Nothing of fewer than
/// [`LEAST_VALUES`], or where one is not finite.
///
/// # Units
/// - `values`: any, all the same
/// - returns: the same
///
/// # Accuracy
/// The interval is that of the sandwich variance with Student's t of two degrees of freedom fewer than numbers: one for the
/// middle, one for the scale. Of fewer than six numbers intervals would hold too seldom. That the second makes up for small
/// samples is our own choice; the tests count how often intervals hold.
///
/// # References
/// From memory: Beaton & Tukey 1974, Technometrics 16 (biweight); Huber & Ronchetti 2009, Robust Statistics, section 6 (variance);
/// Croux & Rousseeuw 1992, COMPSTAT (factors of small samples).
///
/// # Examples
/// ```
/// use obliquity_planning::robust_centre;
/// let of = robust_centre(&[1.0, 1.1, 0.9, 1.05, 0.95, 1000.0]).expect("six are enough");
/// assert!((of.centre - 1.0).abs() < 0.05);
/// assert_eq!(of.left_out, [5]);
/// ```
pub fn robust_centre(values: &[f64]) -> Option<RobustCentre> {
    if values.len() < LEAST_VALUES || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let count = values.len() as f64;
    let mut centre = median(values);
    let scale = scale(values, centre);
    if scale == 0.0 {
        // more than half are one number: nothing tells how far the others may lie
        let left_out = (0..values.len()).filter(|k| values[*k] != centre).collect();
        return Some(RobustCentre { centre, half_width: 0.0, next_half_width: 0.0, left_out });
    }
    let inside = |centre: f64, value: f64| (1.0 - ((value - centre) / (BOUND * scale)).powi(2)).max(0.0);
    for _ in 0..MOST_STEPS {
        let weights: Vec<f64> = values.iter().map(|value| inside(centre, *value).powi(2)).collect();
        let sum: f64 = weights.iter().zip(values).map(|(weight, value)| weight * value).sum();
        let next = sum / weights.iter().sum::<f64>();
        let step = (next - centre).abs();
        centre = next;
        if step < 1e-12 * scale {
            break;
        }
    }
    let influence = |value: f64| (value - centre) / scale * inside(centre, value).powi(2);
    let slope = |value: f64| {
        let within = inside(centre, value);
        within * (5.0 * within - 4.0)
    };
    let squared = values.iter().map(|value| influence(*value).powi(2)).sum::<f64>() / count;
    let slopes = values.iter().map(|value| slope(*value)).sum::<f64>() / count;
    let left_out: Vec<usize> = (0..values.len()).filter(|k| inside(centre, values[*k]) == 0.0).collect();
    let t = student_t95(count - 2.0);
    let one = scale * squared.sqrt() / slopes;
    let told = |width: f64| Some(width).filter(|width| width.is_finite() && *width >= 0.0);
    Some(RobustCentre {
        centre,
        half_width: told(t * one / (count - 1.0).sqrt())?,
        next_half_width: told(t * one * (1.0 + 1.0 / count).sqrt())?,
        left_out,
    })
}

/// Student's t that 95 % of draws stay within on both sides.
fn student_t95(freedom: f64) -> f64 {
    let x = invbetai(0.05, freedom / 2.0, 0.5);
    (freedom * (1.0 - x) / x).sqrt()
}

fn scale(values: &[f64], centre: f64) -> f64 {
    let away: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    let few = OF_FEW.get(values.len() - LEAST_VALUES).copied();
    let count = values.len() as f64;
    median(&away) * NORMAL_PER_MEDIAN_DEVIATION * few.unwrap_or(count / (count - 0.8))
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len().is_multiple_of(2) {
        f64::midpoint(sorted[middle - 1], sorted[middle])
    } else {
        sorted[middle]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: tables of Student's t, two-sided 95 %: 3.182 with 3 degrees of freedom, 2.228 with 10, 1.96 with many.
    #[test]
    fn student_t_matches_tables() {
        for (freedom, printed) in [(3.0, 3.182), (10.0, 2.228), (1e6, 1.960)] {
            assert!((student_t95(freedom) - printed).abs() < 6e-4, "{freedom}: {}", student_t95(freedom));
        }
    }

    #[test]
    fn few_or_odd_numbers_have_no_middle() {
        assert_eq!(robust_centre(&[1.0; 5]), None);
        assert_eq!(robust_centre(&[1.0, 2.0, 3.0, 4.0, 5.0, f64::NAN]), None);
        let alike = robust_centre(&[2.0, 2.0, 2.0, 2.0, 2.0, 9.0]).expect("six");
        assert_eq!((alike.centre, alike.half_width, alike.left_out), (2.0, 0.0, vec![5]));
    }
}
