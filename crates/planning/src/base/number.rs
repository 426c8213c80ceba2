//! The few conversions between kinds of number that geometry in tiles needs, each in one place.

/// The nearest single-precision value; only for differences from a tile's centre, where it keeps 1e-5 m.
#[expect(clippy::cast_possible_truncation, reason = "single precision is what the lanes hold")]
pub(crate) fn narrow(value: f64) -> f32 {
    value as f32
}

/// A count from a non-negative value, rounded down; NaN and negative values give 0, large ones the largest count.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast to an integer saturates, and callers bound the value"
)]
pub(crate) fn whole(value: f64) -> usize {
    value as usize
}

/// As [`whole`] of values below 2^32, in fewer steps: processors convert these at once.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast to an integer saturates, and callers bound the value"
)]
pub(crate) fn whole_of_few(value: f64) -> usize {
    value as u32 as usize
}

/// An index that is known to be far below 2^32: samples are bounded by `SAMPLE_LIMIT`, and a table of 2^32
/// views would take 64 GB.
pub(crate) fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}
