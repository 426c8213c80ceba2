//! Choosing and counting by lengths that may be equal, or whole, but for rounding.

/// Lengths that differ by less than this share of the size of what they belong to are equal: the last bits of a number
/// decide nothing.
pub(crate) const EQUAL_RATIO: f64 = 1e-6;

/// The place of the one whose first key is least; of those that are equal in it, the one whose second key is least, and so
/// on; the first of those that are equal in all. Nothing without any.
///
/// # Units
/// - `size_m`: size of what the lengths belong to; keys that differ by less than [`EQUAL_RATIO`] of it are equal
pub(crate) fn least<const N: usize>(keys: impl IntoIterator<Item = [f64; N]>, size_m: f64) -> Option<usize> {
    least_of(&keys.into_iter().collect::<Vec<_>>(), size_m)
}

/// As [`least`].
pub(crate) fn least_of<const N: usize>(keys: &[[f64; N]], size_m: f64) -> Option<usize> {
    // of each key so far the greatest that counts as the least of those left by the keys before it
    let mut most = [f64::INFINITY; N];
    let is_left = |key: &&[f64; N], most: &[f64; N]| key.iter().zip(most).all(|(value, most)| value <= most);
    for part in 0..N {
        let left = keys.iter().filter(|key| is_left(key, &most));
        let best = left.map(|key| key[part]).fold(f64::INFINITY, f64::min);
        most[part] = best + EQUAL_RATIO * size_m;
    }
    keys.iter().position(|key| is_left(&key, &most))
}

/// The first of some numbers that is not zero but for rounding.
pub(crate) fn first_that_tells<const N: usize>(numbers: [f64; N], size_m: f64) -> Option<f64> {
    numbers.into_iter().find(|number| number.abs() > EQUAL_RATIO * size_m)
}

/// Ratios so little above a whole number are that number: the lengths divided are known no better.
pub(crate) const WHOLE: f64 = 1e-6;

/// Rounds up, forgiving the last bits of a division that should have come out whole.
pub(crate) fn up(ratio: f64) -> f64 {
    (ratio - WHOLE).ceil()
}

/// Rounds down, forgiving the last bits of a division that should have come out whole.
pub(crate) fn down(ratio: f64) -> f64 {
    (ratio + WHOLE).floor()
}

#[cfg(test)]
mod tests {
    use crate::base::choice::*;

    /// Derived: the last bit of the first key does not decide, the second does.
    #[test]
    fn equal_lengths_are_decided_by_the_next_key() {
        let keys = [[5.0, 1.0], [5.0 + 1e-12, 0.5], [5.0 - 1e-12, 2.0], [6.0, 0.0]];
        assert_eq!(least(keys, 100.0), Some(1));
        assert_eq!(least([[1.0], [1.0 - 1e-9]], 10.0), Some(0), "equal in all: the first");
        assert_eq!(least([[1.0], [1.0 - 1e-3]], 10.0), Some(1));
        assert_eq!(least::<1>([], 10.0), None);
        assert_eq!(first_that_tells([1e-9, -3.0, 2.0], 10.0), Some(-3.0));
    }
}
