//! The thread that works out routes: what is quick is there within the frame, what is not comes later, the newest first.

use crate::made_up::{self, CROSSED, NADIR};
use obliquity::engine::Engine;
use obliquity::figures::{Figures, Freshness};
use obliquity::lane::Lane;
use obliquity_planning::{Id, Scenario};
use std::sync::Arc;
use std::sync::mpsc::channel;
use std::time::Duration;

/// Long enough for a busy machine, and never waited for in full.
const PATIENCE: Duration = Duration::from_secs(20);

fn faster(scenario: &Scenario, wind_mps: f64) -> Arc<Scenario> {
    let mut changed = scenario.clone();
    changed.conditions.wind.speed_mps = wind_mps;
    Arc::new(changed)
}

/// Derived: while the first strategy is being worked out a newer request comes; of the older one nothing more is worked out.
#[test]
fn the_newest_request_goes_first() {
    let (begun, has_begun) = channel();
    let (go_on, may_go_on) = channel::<()>();
    let engine = Engine::default();
    let job = move |scenario: &Scenario, id: Id| {
        begun.send((scenario.conditions.wind.speed_mps, id)).unwrap();
        may_go_on.recv().unwrap_or(());
        engine.quick(scenario, id).map_err(|why| why.to_string())
    };
    let mut lane = Lane::start(Box::new(job), || ()).unwrap();
    let scenario = made_up::scenario();
    lane.request(&faster(&scenario, 1.0), vec![NADIR, CROSSED]);
    assert_eq!(has_begun.recv_timeout(PATIENCE), Ok((1.0, NADIR)));
    lane.request(&faster(&scenario, 2.0), vec![NADIR, CROSSED]);
    assert!(lane.is_busy());
    drop(go_on);
    let told = lane.collect(PATIENCE);
    assert!(!lane.is_busy());
    let told: Vec<_> = told.iter().map(|r| (r.scenario.conditions.wind.speed_mps, r.strategy)).collect();
    // The strategy that was worked out last goes last, so that none waits for ever.
    assert_eq!(told, [(1.0, NADIR), (2.0, CROSSED), (2.0, NADIR)]);
}

/// Derived: what is known of earlier settings stands until what is worked out of the new ones has come, and says so.
#[test]
fn figures_of_earlier_settings_are_stale_until_the_new_ones_come() {
    let engine = Engine::default();
    let (before, after) = (faster(&made_up::scenario(), 1.0), faster(&made_up::scenario(), 2.0));
    let mut figures = Figures::default();
    figures.follow(&before, &|scenario, id| engine.quick(scenario, id));
    assert!(figures.wanted_quick(&before).is_empty() && !figures.wanted_quick(&after).is_empty());
    assert_eq!(figures.known(&before, NADIR).unwrap().quick_freshness, Freshness::Fresh);
    assert_eq!(figures.known(&after, NADIR).unwrap().quick_freshness, Freshness::Stale);
    let mut lane = Lane::start(engine.quick_job(), || ()).unwrap();
    lane.request(&after, figures.wanted_quick(&after));
    lane.collect(PATIENCE).into_iter().for_each(|report| figures.take_quick(report, &after));
    assert_eq!(figures.known(&after, NADIR).unwrap().quick_freshness, Freshness::Fresh);
}

#[test]
fn a_calculation_that_breaks_off_says_so() {
    let mut lane = Lane::start(Box::new(|_, _| panic!("no ground")), || ()).unwrap();
    lane.request(&Arc::new(made_up::scenario()), vec![NADIR]);
    let told = lane.collect(PATIENCE);
    let why = told[0].outcome.as_ref().unwrap_err();
    assert!(why.contains("no ground") && why.contains("fault of the program"), "{why}");
}
