//! The user's own files: preferences and the library of aircraft.
#![no_main]

use libfuzzer_sys::fuzz_target;
use obliquity_exchange::{parse_library, parse_preferences, write_library, write_preferences};

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    if let Ok(preferences) = parse_preferences(&text) {
        assert!(parse_preferences(&write_preferences(&preferences)).is_ok());
    }
    match parse_library(&text, "fuzz.ron") {
        Ok(library) => {
            let again = parse_library(&write_library(&library), "again.ron");
            assert_eq!(again.expect("what was taken is taken again"), library);
        }
        Err(error) => assert!(!error.faults.is_empty() && error.to_string().starts_with("fuzz.ron")),
    }
});
