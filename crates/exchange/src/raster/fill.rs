//! Gaps in heights.

/// Fills gaps (NaN) from their edges inward: each ring of missing heights takes the mean of its known neighbours.
///
/// Does nothing where no height is known.
pub(super) fn fill(heights: &mut [f64], columns: usize) {
    let mut open: Vec<usize> = (0..heights.len()).filter(|&k| heights[k].is_nan()).collect();
    while !open.is_empty() {
        let found: Vec<(usize, f64)> =
            open.iter().filter_map(|&k| around(heights, columns, k).map(|mean| (k, mean))).collect();
        if found.is_empty() {
            return;
        }
        for (k, height) in found {
            heights[k] = height;
        }
        open.retain(|&k| heights[k].is_nan());
    }
}

/// Mean of the known ones of the eight neighbours.
fn around(heights: &[f64], columns: usize, k: usize) -> Option<f64> {
    let rows = heights.len() / columns;
    let (column, row) = (k % columns, k / columns);
    let (mut sum, mut count) = (0.0, 0);
    for r in row.saturating_sub(1)..(row + 2).min(rows) {
        for c in column.saturating_sub(1)..(column + 2).min(columns) {
            let height = heights[r * columns + c];
            if !height.is_nan() {
                sum += height;
                count += 1;
            }
        }
    }
    (count > 0).then(|| sum / f64::from(count))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: the middle of a plane is the mean of its eight neighbours.
    #[test]
    fn a_gap_in_a_plane_is_filled_with_the_plane() {
        let mut heights: Vec<f64> = (0..25).map(|k| f64::from(k % 5) * 2.0 + f64::from(k / 5)).collect();
        heights[12] = f64::NAN;
        fill(&mut heights, 5);
        assert!((heights[12] - 6.0).abs() < 1e-12); // rounding
        let mut none = vec![f64::NAN; 4];
        fill(&mut none, 2);
        assert!(none.iter().all(|height| height.is_nan()));
    }
}
