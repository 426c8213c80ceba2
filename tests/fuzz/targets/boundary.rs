//! Boundaries as GeoJSON, KML and KMZ.
#![no_main]

use libfuzzer_sys::fuzz_target;
use obliquity_exchange::parse_boundaries;

fuzz_target!(|bytes: &[u8]| {
    if let Err(error) = parse_boundaries(bytes, "fuzz") {
        assert!(!error.faults.is_empty() && error.to_string().starts_with("fuzz"));
    }
});
