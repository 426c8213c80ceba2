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
    let job = Box::new(|scenario: &_, id, watch: &dyn obliquity_planning::Watch| {
        watch.step(1, 2).map_err(|_| Failure::Cancelled)?;
        Ok(made_up::outcome(scenario, id, Depth::Views))
    });
    let mut worker = Worker::start(job, move || {
        count.fetch_add(1, Ordering::SeqCst);
    })
    .unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![NADIR, CROSSED]);
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
        move |scenario: &obliquity_planning::Scenario, id, watch: &dyn obliquity_planning::Watch| {
            if scenario.name == "old" {
                let _ = begun.send(());
                loop {
                    watch.step(0, 1).map_err(|_| Failure::Cancelled)?;
                    std::thread::sleep(Duration::from_millis(1));
                }
            }
            Ok(made_up::outcome(scenario, id, Depth::Views))
        },
    );
    let mut worker = Worker::start(job, || ()).unwrap();
    let mut old = made_up::scenario();
    old.name = "old".to_owned();
    worker.request(Arc::new(old), vec![NADIR]);
    has_begun.recv_timeout(PATIENCE).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![CROSSED]);
    let reports = wait_for(&mut worker, 1);
    assert!(matches!(&reports[..], [Report::Done { outcome, .. }] if outcome.strategy == CROSSED));
}

/// The bands come before all coverage, of the newest request only.
#[test]
fn bands_come_first() {
    let job = Box::new(|scenario: &_, id, _: &dyn obliquity_planning::Watch| {
        Ok(made_up::outcome(scenario, id, Depth::Views))
    });
    let mut worker = Worker::start_with(job, Box::new(|_, _, _| Ok(None)), || ()).unwrap();
    let scenario = Arc::new(made_up::scenario());
    worker.request_with(Arc::clone(&scenario), vec![NADIR, CROSSED], vec![CROSSED, NADIR]);
    let reports = wait_for(&mut worker, 4);
    let named: Vec<(bool, Id)> = reports
        .iter()
        .map(|report| match report {
            Report::Bands { strategy, .. } => (true, *strategy),
            Report::Done { outcome, .. } => (false, outcome.strategy),
            Report::Failed { strategy, .. } => (false, *strategy),
        })
        .collect();
    assert_eq!(named, [(true, CROSSED), (true, NADIR), (false, NADIR), (false, CROSSED)]);
}

/// Bands that are being drawn for an older request are given up.
#[test]
fn newer_bands_win() {
    let (begun, has_begun) = channel();
    let bands =
        Box::new(move |scenario: &obliquity_planning::Scenario, _, watch: &dyn obliquity_planning::Watch| {
            if scenario.name == "old" {
                let _ = begun.send(());
                loop {
                    watch.step(0, 1).map_err(|_| Failure::Cancelled)?;
                    std::thread::sleep(Duration::from_millis(1));
                }
            }
            Ok(None)
        });
    let job = Box::new(|scenario: &_, id, _: &dyn obliquity_planning::Watch| {
        Ok(made_up::outcome(scenario, id, Depth::Views))
    });
    let mut worker = Worker::start_with(job, bands, || ()).unwrap();
    let mut old = made_up::scenario();
    old.name = "old".to_owned();
    worker.request_with(Arc::new(old), Vec::new(), vec![NADIR]);
    has_begun.recv_timeout(PATIENCE).unwrap();
    worker.request_with(Arc::new(made_up::scenario()), Vec::new(), vec![CROSSED]);
    let reports = wait_for(&mut worker, 1);
    assert!(matches!(&reports[..], [Report::Bands { strategy, .. }] if *strategy == CROSSED));
}

#[test]
fn dropping_cancels() {
    let cancelled = Arc::new(AtomicBool::new(false));
    let seen = Arc::clone(&cancelled);
    let (begun, has_begun) = channel();
    let job = Box::new(move |_: &_, _, watch: &dyn obliquity_planning::Watch| {
        let _ = begun.send(());
        while watch.step(0, 1).is_ok() {
            std::thread::sleep(Duration::from_millis(1));
        }
        seen.store(true, Ordering::SeqCst);
        Err(Failure::Cancelled)
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![NADIR]);
    has_begun.recv_timeout(PATIENCE).unwrap();
    drop(worker);
    assert!(cancelled.load(Ordering::SeqCst), "the job saw it before the drop came back");
}

#[test]
fn a_panic_is_told_and_the_thread_goes_on() {
    let job = Box::new(|scenario: &_, id, _: &dyn obliquity_planning::Watch| {
        assert!(id != NADIR, "made up to fail");
        Ok(made_up::outcome(scenario, id, Depth::Views))
    });
    let mut worker = Worker::start(job, || ()).unwrap();
    worker.request(Arc::new(made_up::scenario()), vec![NADIR, CROSSED]);
    let reports = wait_for(&mut worker, 2);
    let Report::Failed { strategy, message, .. } = &reports[0] else { panic!("the first one fails") };
    assert_eq!(*strategy, NADIR);
    assert!(message.contains("made up to fail"), "{message}");
    assert!(matches!(&reports[1], Report::Done { .. }));
}
