//! Scenarios: what is taken is written and read again the same; what is refused says why.
#![no_main]

use libfuzzer_sys::fuzz_target;
use obliquity_exchange::{parse_scenario, write_scenario};

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    match parse_scenario(&text, "fuzz.ron") {
        Ok(scenario) => {
            let again = parse_scenario(&write_scenario(&scenario), "again.ron");
            assert_eq!(again.expect("what was taken is taken again"), scenario);
        }
        Err(error) => assert!(!error.faults.is_empty() && error.to_string().starts_with("fuzz.ron")),
    }
});
