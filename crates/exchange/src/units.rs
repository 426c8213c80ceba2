//! Words for directions.

/// An azimuth as one of the eight winds.
pub fn compass_name(azimuth_deg: f64) -> &'static str {
    const WINDS: [&str; 8] =
        ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
    WINDS[((azimuth_deg.rem_euclid(360.0) / 45.0).round() as usize) % WINDS.len()]
}
