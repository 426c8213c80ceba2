//! Small dense matrices, row by row.

/// Share of its diagonal that a pivot must keep; below it is rounding.
const LEAST_PIVOT: f64 = 1e-13;

/// Inverse of a symmetric positive definite matrix; what is not determined by it comes out as hardly known, never as
/// infinite.
///
/// `given` says what each diagonal element was made of before anything was taken off it: a pivot that is no more than
/// the rounding of that counts as that rounding.
pub(super) fn inverse(matrix: &[f64], given: &[f64]) -> Vec<f64> {
    let n = given.len();
    let scale: Vec<f64> = given.iter().map(|value| 1.0 / value.max(f64::MIN_POSITIVE).sqrt()).collect();
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let taken: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
            let left = matrix[i * n + j] * scale[i] * scale[j] - taken;
            l[i * n + j] = if i == j { left.max(LEAST_PIVOT).sqrt() } else { left / l[j * n + j] };
        }
    }
    let lower = inverse_of_lower(&l, n);
    let mut found = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..n {
            let sum: f64 = (i.max(j)..n).map(|k| lower[k * n + i] * lower[k * n + j]).sum();
            found[i * n + j] = sum * scale[i] * scale[j];
        }
    }
    found
}

fn inverse_of_lower(l: &[f64], n: usize) -> Vec<f64> {
    let mut found = vec![0.0; n * n];
    for column in 0..n {
        for row in column..n {
            let unit = if row == column { 1.0 } else { 0.0 };
            let taken: f64 = (column..row).map(|k| l[row * n + k] * found[k * n + column]).sum();
            found[row * n + column] = (unit - taken) / l[row * n + row];
        }
    }
    found
}

/// Rank of a symmetric positive semidefinite matrix, and vectors that span what it does not see.
///
/// By Cholesky's method with the largest pivot first; pivots below 1e-10 of the first are none.
pub(super) fn null_space(matrix: &[f64], n: usize) -> Vec<Vec<f64>> {
    let mut left = matrix.to_vec();
    let mut order: Vec<usize> = (0..n).collect();
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let largest = (0..n).map(|k| left[k * n + k]).fold(0.0, f64::max);
    while columns.len() < n {
        let rank = columns.len();
        let pick = (rank..n).max_by(|&a, &b| left[order[a] * (n + 1)].total_cmp(&left[order[b] * (n + 1)]));
        let Some(pick) = pick.filter(|&pick| left[order[pick] * (n + 1)] > 1e-10 * largest) else { break };
        order.swap(rank, pick);
        let pivot = order[rank];
        let root = left[pivot * (n + 1)].sqrt();
        let column: Vec<f64> = (0..n).map(|row| left[row * n + pivot] / root).collect();
        for &i in &order[rank..] {
            for &j in &order[rank..] {
                left[i * n + j] -= column[i] * column[j];
            }
        }
        columns.push(column);
    }
    let rank = columns.len();
    order[rank..].iter().map(|&free| unseen(&columns, &order[..rank], free, n)).collect()
}

/// The vector with a one at `free` that the columns' rows at `pivots` answer for.
fn unseen(columns: &[Vec<f64>], pivots: &[usize], free: usize, n: usize) -> Vec<f64> {
    let mut vector = vec![0.0; n];
    vector[free] = 1.0;
    for k in (0..pivots.len()).rev() {
        let known: f64 = (k + 1..pivots.len()).map(|m| columns[k][pivots[m]] * vector[pivots[m]]).sum();
        vector[pivots[k]] = -(columns[k][free] + known) / columns[k][pivots[k]];
    }
    vector
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: a matrix times its inverse is one.
    #[test]
    fn the_inverse_is_one() {
        let matrix = [4.0, 1.0, 0.5, 1.0, 3.0, -0.2, 0.5, -0.2, 2.0];
        let found = inverse(&matrix, &[4.0, 3.0, 2.0]);
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| matrix[i * 3 + k] * found[k * 3 + j]).sum();
                let unit = if i == j { 1.0 } else { 0.0 };
                assert!((product - unit).abs() < 1e-14); // a few roundings
            }
        }
    }

    /// Derived: two equal rows leave their difference unseen.
    #[test]
    fn what_a_matrix_does_not_see() {
        let matrix = [1.0, 1.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 5.0];
        let unseen = null_space(&matrix, 3);
        assert_eq!(unseen.len(), 1);
        assert!((unseen[0][0] + unseen[0][1]).abs() < 1e-14 && unseen[0][2].abs() < 1e-14); // a few roundings
        assert!(null_space(&[2.0, 1.0, 1.0, 2.0], 2).is_empty());
        assert_eq!(null_space(&[0.0; 4], 2).len(), 2);
    }
}
