//! No route of any example comes into anything.

use crate::examples::scenarios;
use crate::sample;
use crate::walk::Surroundings;

/// Derived: sampled every half metre, by geometry of the test's own, no segment of any flight of any example comes into a
/// structure, below the ground or into a keep-out, or nearer than it has to keep.
#[test]
fn no_example_flies_into_anything() {
    for (path, scenario) in scenarios() {
        let surroundings = Surroundings::new(&scenario);
        for outcome in sample::quick_outcomes(&scenario) {
            let Some(flight) = outcome.flight() else { continue };
            assert!(!flight.legs.is_empty());
            assert_eq!(surroundings.hits(&outcome), Vec::<String>::new(), "{}", path.display());
        }
    }
}
