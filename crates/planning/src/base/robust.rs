//! The middle of numbers of which some may be absurd, and a line through such points.

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

/// Most pairs of points whose slopes are looked at.
const MOST_SLOPES: usize = 2_000_000;

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
    let mut centre = median(values)?;
    let scale = scale(values, centre)?;
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

/// Fewest points that a line with intervals is told of.
pub const LEAST_POINTS_OF_LINE: usize = 8;

/// A line through points, and how sure its heights at both ends of a unit are.
#[derive(Debug, Clone, PartialEq)]
pub struct RobustLine {
    /// Its heights at 0 and at 1.
    pub at: [f64; 2],
    /// So far on both sides lie the true heights, each in 95 of 100 such samples.
    pub half_widths: [f64; 2],
    /// Places of the points that do not count, far from the line.
    pub left_out: Vec<usize>,
}

/// A line through points `[x, y]` whose heights are off by shares of themselves, and some of them by any amount: from the median of
/// all slopes between two of them, as [`robust_centre`] goes on from a median. Nothing of fewer than [`LEAST_POINTS_OF_LINE`], where
/// a number is not finite or a height not above 0, or where all lie over one place.
///
/// # Units
/// - `points`: any
/// - returns: that of heights
///
/// # Accuracy
/// As [`robust_centre`], with Student's t of four degrees of freedom fewer than points: two for the line, one for the scale, and one
/// that makes up for small samples, which is our own choice; the tests count how often intervals hold.
///
/// # References
/// From memory: Theil 1950, Sen 1968 (median of slopes); Huber & Ronchetti 2009, Robust Statistics, section 7 (variance, and its
/// correction of small samples).
///
/// # Examples
/// ```
/// use obliquity_planning::robust_line;
/// // y = 1 + 2 x, but for small errors and one point far off
/// let errors = [0.01, -0.02, 0.0, 0.02, -0.01, 0.01, -0.01, 40.0];
/// let points: Vec<[f64; 2]> =
///     errors.iter().enumerate().map(|(k, error)| [k as f64 / 8.0, 1.0 + k as f64 / 4.0 + error]).collect();
/// let line = robust_line(&points).expect("eight are enough");
/// assert!((line.at[0] - 1.0).abs() < 0.05 && (line.at[1] - 3.0).abs() < 0.05);
/// assert_eq!(line.left_out, [7]);
/// ```
pub fn robust_line(points: &[[f64; 2]]) -> Option<RobustLine> {
    let is_told = |[x, y]: &[f64; 2]| x.is_finite() && y.is_finite() && *y > 0.0;
    if points.len() < LEAST_POINTS_OF_LINE || !points.iter().all(is_told) {
        return None;
    }
    let count = points.len() as f64;
    let mut line = first_line(points)?;
    let away: Vec<f64> = points.iter().map(|point| line.off(*point).abs()).collect();
    let scale = median(&away)? * NORMAL_PER_MEDIAN_DEVIATION * count / (count - 2.0);
    if scale <= 1e-12 {
        // more than half lie on one line: nothing tells how far the others may lie
        let left_out = (0..points.len()).filter(|k| line.off(points[*k]).abs() > 1e-9).collect();
        return Some(RobustLine { at: [line.base, line.base + line.slope], half_widths: [0.0; 2], left_out });
    }
    let inside =
        |line: &SoughtLine, point: &[f64; 2]| (1.0 - (line.off(*point) / (BOUND * scale)).powi(2)).max(0.0);
    for _ in 0..MOST_STEPS {
        let weight = |point: &[f64; 2]| (inside(&line, point) / line.height(point[0])).powi(2);
        let weights: Vec<f64> = points.iter().map(weight).collect();
        let next = weighted_line(points, &weights)?;
        let step = (next.base - line.base).abs() + (next.slope - line.slope).abs();
        line = next;
        if step < 1e-12 * scale {
            break;
        }
    }
    let inner: Vec<f64> = points.iter().map(|point| inside(&line, point)).collect();
    let influence = |(point, within): (&[f64; 2], &f64)| line.off(*point) / scale * within * within;
    let squared = points.iter().zip(&inner).map(|pair| influence(pair).powi(2)).sum::<f64>() / (count - 2.0);
    let each: Vec<f64> = inner.iter().map(|within| within * (5.0 * within - 4.0)).collect();
    let slopes = each.iter().sum::<f64>() / count;
    let scatter = each.iter().map(|slope| (slope - slopes).powi(2)).sum::<f64>() / count;
    let of_few = 1.0 + 2.0 / count * scatter / (slopes * slopes);
    let counted: Vec<(f64, f64)> = points
        .iter()
        .zip(&inner)
        .filter(|(_, own)| **own > 0.0)
        .map(|(point, _)| (point[0], line.height(point[0]).powi(-2)))
        .collect();
    let weight: f64 = counted.iter().map(|(_, weight)| weight).sum();
    let middle = counted.iter().map(|(x, weight)| weight * x).sum::<f64>() / weight;
    let lever: f64 = counted.iter().map(|(x, weight)| weight * (x - middle).powi(2)).sum();
    let one = student_t95(count - 4.0) * scale * of_few * squared.sqrt() / slopes;
    let half = |x: f64| one * (1.0 / weight + (x - middle).powi(2) / lever).sqrt();
    let half_widths = [half(0.0), half(1.0)];
    let is_sure = half_widths.iter().all(|half| half.is_finite() && *half >= 0.0);
    let left_out = (0..points.len()).filter(|k| inner[*k] == 0.0).collect();
    is_sure.then_some(RobustLine { at: [line.base, line.base + line.slope], half_widths, left_out })
}

/// A line by its height at 0 and by its slope.
#[derive(Debug, Clone, Copy)]
struct SoughtLine {
    base: f64,
    slope: f64,
}

impl SoughtLine {
    /// Its height; hardly anything where it falls below 0.
    fn height(&self, x: f64) -> f64 {
        (self.base + self.slope * x).max(1e-9)
    }

    /// How far a point is off it, over its height.
    fn off(&self, [x, y]: [f64; 2]) -> f64 {
        (y - self.base - self.slope * x) / self.height(x)
    }
}

/// The median of all slopes between two points, through the median of what it leaves.
fn first_line(points: &[[f64; 2]]) -> Option<SoughtLine> {
    let all =
        points.iter().enumerate().flat_map(|(k, one)| points[k + 1..].iter().map(move |other| (one, other)));
    let slopes: Vec<f64> = all
        .filter(|(one, other)| one[0] != other[0])
        .map(|(one, other)| (other[1] - one[1]) / (other[0] - one[0]))
        .take(MOST_SLOPES)
        .collect();
    let slope = median(&slopes)?;
    let bases: Vec<f64> = points.iter().map(|[x, y]| y - slope * x).collect();
    Some(SoughtLine { base: median(&bases)?, slope })
}

fn weighted_line(points: &[[f64; 2]], weights: &[f64]) -> Option<SoughtLine> {
    let sum =
        |of: fn(&[f64; 2]) -> f64| points.iter().zip(weights).map(|(p, weight)| weight * of(p)).sum::<f64>();
    let whole: f64 = weights.iter().sum();
    let middle = [sum(|p| p[0]) / whole, sum(|p| p[1]) / whole];
    let about = |at: usize| {
        let own = points.iter().zip(weights);
        own.map(|(p, weight)| weight * (p[0] - middle[0]) * (p[at] - middle[at])).sum::<f64>()
    };
    let slope = about(1) / about(0);
    slope.is_finite().then(|| SoughtLine { base: middle[1] - slope * middle[0], slope })
}

/// Student's t that 95 % of draws stay within on both sides.
fn student_t95(freedom: f64) -> f64 {
    let x = invbetai(0.05, freedom / 2.0, 0.5);
    (freedom * (1.0 - x) / x).sqrt()
}

fn scale(values: &[f64], centre: f64) -> Option<f64> {
    let away: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    let few = OF_FEW.get(values.len() - LEAST_VALUES).copied();
    let count = values.len() as f64;
    Some(median(&away)? * NORMAL_PER_MEDIAN_DEVIATION * few.unwrap_or(count / (count - 0.8)))
}

/// The middle of some values, or between the two in the middle; nothing of none.
///
/// # Units
/// - `values`: any one
/// - returns: the same
///
/// # References
/// Derived, the definition.
///
/// # Examples
/// ```
/// use obliquity_planning::median;
/// assert_eq!(median(&[4.0, 1.0, 2.0]), Some(2.0));
/// assert_eq!(median(&[4.0, 1.0]), Some(2.5));
/// assert_eq!(median(&[]), None);
/// ```
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    Some(f64::midpoint(sorted[last / 2], sorted[sorted.len() / 2]))
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
