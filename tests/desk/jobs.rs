//! Jobs: under a key, with progress, called off, told of where they panic; and no long work on the window's thread.

use crate::made_up::{self, CROSSED, NADIR};
use obliquity::engine::Engine;
use obliquity::figures::{Figures, Freshness, QuickReport};
use obliquity::jobs::{Jobs, Key, Lane, Same, threads_of};
use obliquity_planning::{At, Cancelled, Id, Scenario, Scope, Watch, knobs};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Long enough for a busy machine, and never waited for in full.
const PATIENCE: Duration = Duration::from_secs(20);

/// A job of each lane, with numbers for keys.
macro_rules! kind {
    ($name:ident, $lane:ident, $kept:literal) => {
        #[derive(Debug, Clone, PartialEq)]
        struct $name(u32);

        impl Key for $name {
            type Reply = u32;
            const LANE: Lane = Lane::$lane;
            const KEPT: usize = $kept;

            fn told(&self) -> Option<&'static str> {
                Some("a test")
            }

            fn turn(&self) -> u64 {
                u64::from(self.0 % 10)
            }
        }
    };
}
kind!(Route, Routes, 0);
kind!(Figure, Figures, 0);
kind!(Write, Writing, 0);
kind!(Advice, Aside, 2);

fn jobs() -> Jobs {
    Jobs::beside(Arc::new(|| ())).unwrap()
}

/// Steps until it is called off.
fn until_called_off(watch: &dyn Watch) -> Cancelled {
    loop {
        if let Err(cancelled) = watch.step(0, 1) {
            return cancelled;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

#[test]
fn every_job_comes_back_once_under_its_key_and_wakes_the_window() {
    let woken = Arc::new(AtomicU32::new(0));
    let count = Arc::clone(&woken);
    let mut jobs = Jobs::beside(Arc::new(move || {
        count.fetch_add(1, Ordering::SeqCst);
    }))
    .unwrap();
    for number in [3, 1, 2] {
        jobs.request(Figure(number), move |_| 10 * number);
    }
    jobs.wait(PATIENCE, |_: &Figure| true);
    let come = jobs.take::<Figure>();
    assert_eq!(come, [(Figure(3), Ok(30)), (Figure(1), Ok(10)), (Figure(2), Ok(20))]);
    assert!(jobs.take::<Figure>().is_empty());
    assert_eq!((jobs.progress::<Figure>(), jobs.told()), (None, None), "nothing is left to do");
    // Each one wakes after its reply is there.
    let begun = Instant::now();
    while woken.load(Ordering::SeqCst) < 3 && begun.elapsed() < PATIENCE {
        std::thread::yield_now();
    }
    assert!(woken.load(Ordering::SeqCst) >= 3);
}

/// Derived: one key is one piece of work; of what is kept, the newest two are known and the third is worked out again.
#[test]
fn what_is_known_or_on_its_way_is_not_worked_out_again() {
    let worked = Arc::new(Mutex::new(Vec::new()));
    let mut jobs = jobs();
    let (go_on, may_go_on) = channel::<()>();
    let gate = Arc::new(Mutex::new(may_go_on));
    let ask = |jobs: &mut Jobs, number: u32| {
        let (worked, gate) = (Arc::clone(&worked), Arc::clone(&gate));
        jobs.request(Advice(number), move |_| {
            worked.lock().unwrap().push(number);
            gate.lock().unwrap().recv().unwrap_or(());
            number
        });
    };
    ask(&mut jobs, 1);
    ask(&mut jobs, 1);
    assert!(jobs.is_open(|key: &Advice| key.0 == 1) && jobs.known(&Advice(1)).is_none());
    drop(go_on);
    jobs.wait(PATIENCE, |_: &Advice| true);
    assert_eq!(jobs.known(&Advice(1)), Some(&Ok(1)));
    for number in [1, 2, 3, 1] {
        ask(&mut jobs, number);
        jobs.wait(PATIENCE, |_: &Advice| true);
    }
    assert_eq!(*worked.lock().unwrap(), [1, 2, 3, 1]);
}

#[test]
fn what_is_called_off_ends_soon_and_is_not_heard() {
    let mut jobs = jobs();
    let ((begun, has_begun), (ended, has_ended)) = (channel(), channel());
    jobs.request(Figure(1), move |watch| {
        begun.send(()).unwrap();
        let _off = until_called_off(watch);
        ended.send(()).unwrap();
        1
    });
    jobs.request(Figure(2), |_| panic!("it was taken back before it began"));
    has_begun.recv_timeout(PATIENCE).unwrap();
    let off = Instant::now();
    jobs.cancel(|_: &Figure| true);
    jobs.request(Figure(3), |_| 3);
    has_ended.recv_timeout(PATIENCE).unwrap();
    // A tenth of a second is what is promised; a busy machine gets ten times that.
    assert!(off.elapsed() < Duration::from_secs(1), "{:?}", off.elapsed());
    jobs.wait(PATIENCE, |_: &Figure| true);
    assert_eq!(jobs.take::<Figure>(), [(Figure(3), Ok(3))]);
}

/// Derived: while all threads are at work, newer ones come; one that was waiting is taken back, and the thread that gets free
/// goes on with what has not run for the longest: what ran is heard, and goes to the end of the line.
#[test]
fn the_newest_routes_go_first_and_take_turns() {
    let mut jobs = jobs();
    let count = u32::try_from(threads_of(Lane::Routes)).unwrap();
    let (begun, has_begun) = channel();
    let mut held = Vec::new();
    for number in 11..=10 + count {
        let (go_on, may_go_on) = channel::<()>();
        held.push(go_on);
        let begun = begun.clone();
        jobs.request(Route(number), move |_| {
            begun.send(()).unwrap();
            may_go_on.recv().unwrap_or(());
            number
        });
        has_begun.recv_timeout(PATIENCE).unwrap();
    }
    jobs.request(Route(19), |_| 19);
    jobs.take_back::<Route>();
    for number in 21..=22 + count {
        jobs.request(Route(number), move |_| number);
    }
    held.remove(0);
    jobs.wait(PATIENCE, |key: &Route| key.0 > 20);
    let come: Vec<u32> = jobs.take::<Route>().into_iter().map(|(key, _)| key.0).collect();
    let in_turn = [11, 21 + count, 22 + count].into_iter().chain(21..=20 + count);
    assert_eq!(come, in_turn.collect::<Vec<_>>());
}

#[test]
fn a_panic_is_told_and_the_thread_goes_on() {
    let mut jobs = jobs();
    jobs.request(Figure(1), |_| panic!("no ground"));
    jobs.request(Figure(2), |_| 2);
    jobs.request(Advice(1), |_| panic!("no wind"));
    jobs.wait(PATIENCE, |_: &Figure| true);
    jobs.wait(PATIENCE, |_: &Advice| true);
    let come = jobs.take::<Figure>();
    let why = come[0].1.as_ref().unwrap_err();
    assert!(why.contains("no ground") && why.contains("fault of the program"), "{why}");
    assert_eq!(come[1], (Figure(2), Ok(2)));
    assert!(jobs.known(&Advice(1)).unwrap().as_ref().unwrap_err().contains("no wind"));
}

#[test]
fn progress_counts_what_is_done_and_how_far_the_present_one_is() {
    let mut jobs = jobs();
    let (go_on, may_go_on) = channel::<()>();
    let (told, has_told) = channel();
    jobs.request(Figure(1), |_| 1);
    jobs.request(Figure(2), move |watch| {
        watch.step(3, 10).unwrap();
        told.send(()).unwrap();
        may_go_on.recv().unwrap_or(());
        2
    });
    jobs.request(Figure(3), |_| 3);
    has_told.recv_timeout(PATIENCE).unwrap();
    jobs.wait(PATIENCE, |key: &Figure| key.0 == 1);
    let far = jobs.progress::<Figure>().unwrap();
    assert_eq!((far.done, far.total, far.tenths), (1, 3, 3));
    assert_eq!(jobs.told(), Some(("a test", 3)));
    drop(go_on);
}

#[test]
fn dropping_calls_off_but_for_what_is_written() {
    let (cancelled, written) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicU32::new(0)));
    let mut jobs = jobs();
    let (begun, has_begun) = channel();
    let seen = Arc::clone(&cancelled);
    jobs.request(Figure(1), move |watch| {
        begun.send(()).unwrap();
        let _off = until_called_off(watch);
        seen.store(true, Ordering::SeqCst);
        1
    });
    has_begun.recv_timeout(PATIENCE).unwrap();
    for number in 0..5 {
        let written = Arc::clone(&written);
        jobs.request(Write(number), move |_| {
            std::thread::sleep(Duration::from_millis(2));
            written.fetch_add(1, Ordering::SeqCst)
        });
    }
    drop(jobs);
    assert!(cancelled.load(Ordering::SeqCst), "it saw that before the drop came back");
    assert_eq!(written.load(Ordering::SeqCst), 5);
}

#[test]
fn without_threads_a_job_is_done_when_it_is_asked_for() {
    let mut jobs = Jobs::default();
    jobs.request(Advice(1), |_| 1);
    assert_eq!(jobs.known(&Advice(1)), Some(&Ok(1)));
    let mut jobs = self::jobs().at_once(&[Lane::Aside]);
    jobs.request(Advice(1), |_| 1);
    assert_eq!(jobs.known(&Advice(1)), Some(&Ok(1)));
    assert!(jobs.runs_beside(Lane::Routes) && !jobs.runs_beside(Lane::Aside));
}

#[derive(Debug, Clone, PartialEq)]
struct QuickOf(Same<Scenario>, Id);

impl Key for QuickOf {
    type Reply = Result<obliquity_planning::Outcome, obliquity::engine::Failure>;
    const LANE: Lane = Lane::Routes;
}

/// Derived: what is known of earlier settings stands until what is worked out of the new ones has come, and says so.
#[test]
fn figures_of_earlier_settings_are_stale_until_the_new_ones_come() {
    let engine = Engine::default();
    let at_wind = |speed_mps: f64| {
        let mut changed = made_up::scenario();
        changed.conditions.wind.speed_mps = speed_mps;
        Arc::new(changed)
    };
    let (before, after) = (at_wind(1.0), at_wind(2.0));
    let mut figures = Figures::default();
    figures.follow(&before, &|scenario, id| engine.quick(scenario, id));
    assert!(figures.wanted_quick(&before).is_empty() && figures.wanted_quick(&after).contains(&CROSSED));
    assert_eq!(figures.known(&before, NADIR).unwrap().quick_freshness, Freshness::Fresh);
    assert_eq!(figures.known(&after, NADIR).unwrap().quick_freshness, Freshness::Stale);
    let mut jobs = jobs();
    for id in figures.wanted_quick(&after) {
        let (engine, from) = (engine.clone(), Arc::clone(&after));
        jobs.request(QuickOf(Same::of(&after), id), move |_| engine.quick(&from, id));
    }
    jobs.wait(PATIENCE, |_: &QuickOf| true);
    for (QuickOf(from, strategy), outcome) in jobs.take::<QuickOf>() {
        let outcome = outcome.unwrap().map_err(|why| why.to_string());
        figures.take_quick(QuickReport { scenario: from.0, strategy, outcome }, &after);
    }
    assert_eq!(figures.known(&after, NADIR).unwrap().quick_freshness, Freshness::Fresh);
}

/// Derived: every input of a strategy, and another place to take off at, makes what is known of it stale; what a controller
/// reports does not.
#[test]
fn whatever_a_strategy_is_flown_by_makes_its_figures_stale() {
    let (engine, before) = (Engine::default(), Arc::new(made_up::scenario()));
    let mut figures = Figures::default();
    figures.follow(&before, &|scenario, id| engine.quick(scenario, id));
    let freshness = |changed: &Scenario| figures.known(changed, NADIR).unwrap().quick_freshness;
    let mut changed = (*before).clone();
    changed.strategies[0].take_offs_m.push(glam::DVec2::new(250.0, 30.0));
    assert_eq!(freshness(&changed), Freshness::Stale, "another take-off point");
    let mut rows = 0;
    for row in knobs().filter(|row| matches!(row.scope, Scope::Strategy(_))) {
        let mut changed = (*before).clone();
        row.set(&mut changed, At::Strategy(NADIR), Some(row.range.least.max(1.0))).unwrap();
        let wanted = if row.id.0.contains("reported") { Freshness::Fresh } else { Freshness::Stale };
        assert_eq!(freshness(&changed), wanted, "{}", row.id.0);
        rows += 1;
    }
    assert!(rows >= 5, "{rows}");
}
