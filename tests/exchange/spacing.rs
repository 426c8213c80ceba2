//! How much the spacing of samples matters: the screen and the README say it.

use crate::sample::sampled_outcomes;
use obliquity_exchange::read_scenario;
use obliquity_planning::{Scenario, Site, SurfaceClass};
use std::path::Path;
use std::sync::Arc;

/// Derived: every coverage of every strategy of the smaller examples, once at the spacing in use and once at half of it.
/// What is promised is less than one point.
#[test]
fn half_the_spacing_changes_coverage_by_less_than_a_point() {
    for name in ["tower_facades", "road_corridor", "sandpit", "suburb"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(format!("{name}.ron"));
        let scenario = read_scenario(&path).unwrap();
        let outcomes = sampled_outcomes(&scenario);
        let spacing_m = outcomes[0].site.as_ref().unwrap().spacing_m;
        let site = Site { sample_spacing_m: Some(spacing_m / 2.0), ..(*scenario.site).clone() };
        let finer = sampled_outcomes(&Scenario { site: Arc::new(site), ..scenario });
        let mut compared = 0;
        for (coarse, fine) in outcomes.iter().zip(&finer) {
            for class in SurfaceClass::ALL {
                let (Some(a), Some(b)) = (coarse.coverage()[class], fine.coverage()[class]) else { continue };
                assert!((a - b).abs() < 0.01, "{name}, {}, {}: {a} and {b}", coarse.name, class.name());
                compared += 1;
            }
        }
        assert!(compared >= outcomes.len(), "{name}: every strategy covers some ground");
    }
}
