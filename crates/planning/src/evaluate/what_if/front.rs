/// Of points in two measures, less being better in both, those that no other one betters: by their places, from the least of
/// the first measure on. Of equal ones the first.
///
/// # Units
/// - `points`: any, the same for all
///
/// # References
/// Published: the non-dominated set of V. Pareto, Manuale di economia politica (1906), as every text on multi-objective
/// optimisation has it.
pub fn front(points: &[(f64, f64)]) -> Vec<usize> {
    let mut order: Vec<usize> =
        (0..points.len()).filter(|k| points[*k].0.is_finite() && points[*k].1.is_finite()).collect();
    order.sort_by(|a, b| {
        let ((x, y), (other_x, other_y)) = (points[*a], points[*b]);
        x.total_cmp(&other_x).then(y.total_cmp(&other_y)).then(a.cmp(b))
    });
    let mut least = f64::INFINITY;
    order.retain(|k| {
        let better = points[*k].1 < least;
        least = least.min(points[*k].1);
        better
    });
    order
}

#[cfg(test)]
mod tests {
    use super::front;
    use proptest::prelude::*;

    proptest! {
        /// Derived: by the definition, every point against every other.
        #[test]
        fn nothing_betters_what_is_on_the_front(
            points in proptest::collection::vec((0_u8..12, 0_u8..12), 0..60)
        ) {
            let points: Vec<(f64, f64)> = points.iter().map(|(x, y)| (f64::from(*x), f64::from(*y))).collect();
            let on = front(&points);
            let betters = |a: (f64, f64), b: (f64, f64)| a.0 <= b.0 && a.1 <= b.1 && a != b;
            for (k, point) in points.iter().enumerate() {
                let bettered = points.iter().any(|other| betters(*other, *point));
                let first = points.iter().position(|other| other == point) == Some(k);
                prop_assert_eq!(on.contains(&k), !bettered && first);
            }
        }
    }
}
