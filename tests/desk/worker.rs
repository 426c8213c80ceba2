//! The job thread: the newest wins, dropping cancels, a panic is told.

use crate::made_up::{self, CROSSED, NADIR};
use obliquity::worker::{Failure, Report, Worker};
use obliquity_planning::{Depth, Id};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// Long enough for a busy machine, and never waited for in full.
const PATIENCE: Duration = Duration::from_secs(20);

fn wait_for(worker: &mut Worker, wanted: usize) -> Vec<Report> {
    let begun = Instant::now();
    let mut reports = Vec::new();
    while reports.len() < wanted && begun.elapsed() < PATIENCE {
        reports.extend(worker.poll());
        std::thread::sleep(Duration::from_millis(2));
    }
    reports
}

#[test]
fn every_strategy_asked_for_is_reported() {
    let woken = Arc::new(AtomicU32::new(0));
    let count = Arc::clone(&woken);
    let job = Box::new(|scenario: &_, id, depth, watch: &dyn obliquity_planning::Watch| {
        watch.step(1, 2).map_err(|_| Failure::Cancelled)?;
        Ok(made_up::outcome(scenario, id, depth))
    });
    let mut worker = Worker::start(job, move || {
        count.fetch_add(1, Ordering::SeqCst);
    })
    .unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![(NADIR, Depth::Views), (CROSSED, Depth::Views)]);
    let ids: Vec<Id> = wait_for(&mut worker, 2)
        .iter()
        .filter_map(
            |report| if let Report::Done { outcome, .. } = report { Some(outcome.strategy) } else { None },
        )
        .collect();
    assert_eq!(ids, [NADIR, CROSSED]);
    assert_eq!(worker.progress(), None, "nothing is left to do");
    assert!(woken.load(Ordering::SeqCst) >= 2, "once a report at least");
}

#[test]
fn the_newest_request_wins() {
    let (begun, has_begun) = channel();
    let job = Box::new(
        move |scenario: &obliquity_planning::Scenario, id, depth, watch: &dyn obliquity_planning::Watch| {
            if scenario.name == "old" {
                let _ = begun.send(());
                loop {
                    watch.step(0, 1).map_err(|_| Failure::Cancelled)?;
                    std::thread::sleep(Duration::from_millis(1));
                }
            }
            Ok(made_up::outcome(scenario, id, depth))
        },
    );
    let mut worker = Worker::start(job, || ()).unwrap();
    let mut old = made_up::scenario();
    old.name = "old".to_owned();
    worker.request(Arc::new(old), vec![(NADIR, Depth::Views)]);
    has_begun.recv_timeout(PATIENCE).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![(CROSSED, Depth::Views)]);
    let reports = wait_for(&mut worker, 1);
    assert!(matches!(&reports[..], [Report::Done { outcome, .. }] if outcome.strategy == CROSSED));
}

/// What is asked for comes in its order, each to its depth.
#[test]
fn what_is_asked_first_comes_first() {
    let job = Box::new(|scenario: &_, id, depth, _: &dyn obliquity_planning::Watch| {
        Ok(made_up::outcome(scenario, id, depth))
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    let asked =
        [(CROSSED, Depth::Spread), (NADIR, Depth::Spread), (NADIR, Depth::Views), (CROSSED, Depth::Views)];
    worker.request(Arc::new(made_up::scenario()), asked.to_vec());
    let named: Vec<(Id, Depth)> = wait_for(&mut worker, 4)
        .iter()
        .map(|report| match report {
            Report::Done { outcome, .. } => (outcome.strategy, outcome.depth),
            Report::Failed { strategy, .. } => (*strategy, Depth::Quick),
        })
        .collect();
    assert_eq!(named, asked);
}

/// A strategy that fails is told of once: by its coverage.
#[test]
fn a_failure_is_told_of_once() {
    let job = Box::new(|_: &_, _, _, _: &dyn obliquity_planning::Watch| {
        Err(Failure::Refused("made up to fail".to_owned()))
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    let asked = vec![(NADIR, Depth::Spread), (NADIR, Depth::Views), (CROSSED, Depth::Views)];
    worker.request(Arc::new(made_up::scenario()), asked);
    let told: Vec<Id> = wait_for(&mut worker, 2)
        .iter()
        .filter_map(
            |report| if let Report::Failed { strategy, .. } = report { Some(*strategy) } else { None },
        )
        .collect();
    assert_eq!(told, [NADIR, CROSSED]);
}

#[test]
fn dropping_cancels() {
    let cancelled = Arc::new(AtomicBool::new(false));
    let seen = Arc::clone(&cancelled);
    let (begun, has_begun) = channel();
    let job = Box::new(move |_: &_, _, _, watch: &dyn obliquity_planning::Watch| {
        let _ = begun.send(());
        while watch.step(0, 1).is_ok() {
            std::thread::sleep(Duration::from_millis(1));
        }
        seen.store(true, Ordering::SeqCst);
        Err(Failure::Cancelled)
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![(NADIR, Depth::Views)]);
    has_begun.recv_timeout(PATIENCE).unwrap();
    drop(worker);
    assert!(cancelled.load(Ordering::SeqCst), "the job saw it before the drop came back");
}

#[test]
fn a_panic_is_told_and_the_thread_goes_on() {
    let job = Box::new(|scenario: &_, id, depth, _: &dyn obliquity_planning::Watch| {
        assert!(id != NADIR, "made up to fail");
        Ok(made_up::outcome(scenario, id, depth))
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![(NADIR, Depth::Views), (CROSSED, Depth::Views)]);
    let reports = wait_for(&mut worker, 2);
    let Report::Failed { strategy, message, .. } = &reports[0] else { panic!("the first one fails") };
    assert_eq!(*strategy, NADIR);
    assert!(message.contains("made up to fail"), "{message}");
    assert!(matches!(&reports[1], Report::Done { .. }));
}
