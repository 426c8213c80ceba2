//! The thread that works out what takes too long for a frame.
//!
//! The newest request wins: what is still being worked on for an older one is cancelled. Dropping the worker cancels
//! and waits for its thread. A job that panics is reported and the thread goes on.

use obliquity_planning::{Cancelled, Depth, Id, Outcome, Scenario, Watch};
use std::any::Any;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

/// Why a job gave no outcome.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Failure {
    /// It was no longer wanted.
    #[error("cancelled")]
    Cancelled,
    /// The scenario cannot be evaluated; the sentence for people.
    #[error("{0}")]
    Refused(String),
}

/// Works out one strategy to a depth, asking the watch whether to go on.
pub type Job = dyn Fn(&Scenario, Id, Depth, &dyn Watch) -> Result<Outcome, Failure> + Send + Sync;

/// What the thread sends back.
#[derive(Debug)]
pub enum Report {
    /// A strategy is worked out, to the depth that its outcome names.
    Done {
        /// What it was worked out from.
        scenario: Arc<Scenario>,
        /// The figures.
        outcome: Box<Outcome>,
    },
    /// A strategy could not be worked out.
    Failed {
        /// What it would have been worked out from.
        scenario: Arc<Scenario>,
        /// The strategy.
        strategy: Id,
        /// For people.
        message: String,
    },
}

struct Request {
    generation: u64,
    scenario: Arc<Scenario>,
    /// In the order in which they are worked out.
    asked: Vec<(Id, Depth)>,
}

/// What both sides see.
#[derive(Default)]
struct Shared {
    /// Number of the newest request.
    newest: AtomicU64,
    busy: AtomicBool,
    /// Strategies of the present request that are done, and all of them.
    done: AtomicU64,
    total: AtomicU64,
    /// How far the present stage is, in whole tenths.
    tenths: AtomicU64,
}

/// How far the present request is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Strategies done.
    pub done: u64,
    /// Strategies asked for.
    pub total: u64,
    /// How far the present stage of the next one is, 0 to 10.
    pub tenths: u64,
}

/// The owner's side.
pub struct Worker {
    shared: Arc<Shared>,
    requests: Option<Sender<Request>>,
    reports: Receiver<(u64, Report)>,
    thread: Option<JoinHandle<()>>,
}

impl std::fmt::Debug for Worker {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Worker").field("progress", &self.progress()).finish_non_exhaustive()
    }
}

impl Worker {
    /// Starts the thread. `wake` is called after every report and whenever [`Worker::progress`] changes.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(job: Box<Job>, wake: impl Fn() + Send + Sync + 'static) -> std::io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let (requests, inbox) = channel();
        let (outbox, reports) = channel();
        let side = Side { shared: Arc::clone(&shared), job, outbox, wake: Box::new(wake) };
        let thread = std::thread::Builder::new().name("views".to_owned()).spawn(move || side.run(&inbox))?;
        Ok(Worker { shared, requests: Some(requests), reports, thread: Some(thread) })
    }

    /// Asks for these strategies, each to its depth and in this order, and cancels whatever was asked for before.
    pub fn request(&mut self, scenario: Arc<Scenario>, asked: Vec<(Id, Depth)>) {
        let generation = self.shared.newest.fetch_add(1, Ordering::SeqCst) + 1;
        if let Some(requests) = &self.requests {
            self.shared.busy.store(true, Ordering::SeqCst);
            // A thread that is gone has said why; the owner sees that nothing goes on.
            if requests.send(Request { generation, scenario, asked }).is_err() {
                self.shared.busy.store(false, Ordering::SeqCst);
            }
        }
    }

    /// Gives up what was asked for. What is being worked on notices at its next step.
    pub fn cancel(&mut self) {
        self.shared.newest.fetch_add(1, Ordering::SeqCst);
        self.shared.busy.store(false, Ordering::SeqCst);
    }

    /// What has come since the last call, reports of older requests left out.
    pub fn poll(&mut self) -> Vec<Report> {
        let newest = self.shared.newest.load(Ordering::SeqCst);
        self.reports
            .try_iter()
            .filter(|(generation, _)| *generation == newest)
            .map(|(_, report)| report)
            .collect()
    }

    /// How far the present request is; nothing while there is none.
    pub fn progress(&self) -> Option<Progress> {
        let shared = &self.shared;
        shared.busy.load(Ordering::SeqCst).then(|| Progress {
            done: shared.done.load(Ordering::Relaxed),
            total: shared.total.load(Ordering::Relaxed),
            tenths: shared.tenths.load(Ordering::Relaxed),
        })
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.shared.newest.fetch_add(1, Ordering::SeqCst);
        self.requests = None;
        if let Some(thread) = self.thread.take() {
            // The thread catches its jobs' panics and has nothing else that could fail.
            let _ended = thread.join();
        }
    }
}

/// The thread's side.
struct Side {
    shared: Arc<Shared>,
    job: Box<Job>,
    outbox: Sender<(u64, Report)>,
    wake: Box<dyn Fn() + Send + Sync>,
}

impl Side {
    fn run(&self, inbox: &Receiver<Request>) {
        while let Ok(first) = inbox.recv() {
            let newest = inbox.try_iter().last().unwrap_or(first);
            self.work(newest);
        }
    }

    /// Works out what is asked for in its order. Only coverage is slow enough for its progress to be told, and a strategy that
    /// fails is told of by its coverage.
    fn work(&self, request: Request) {
        let Request { generation, scenario, asked } = request;
        let slow = asked.iter().filter(|(_, depth)| is_slow(*depth)).count() as u64;
        self.shared.done.store(0, Ordering::Relaxed);
        self.shared.total.store(slow, Ordering::Relaxed);
        let mut left: VecDeque<(Id, Depth)> = asked.into();
        while let Some((strategy, depth)) = left.pop_front() {
            let open = left.iter().filter(|(_, depth)| is_slow(*depth)).count() as u64;
            let now = u64::from(is_slow(depth));
            self.shared.done.store(slow - open - now, Ordering::Relaxed);
            let watch = JobWatch { side: self, generation, depth };
            if watch.step(0, 1).is_err() {
                return;
            }
            let ended = catch_unwind(AssertUnwindSafe(|| (self.job)(&scenario, strategy, depth, &watch)));
            let told = report(ended, &scenario, strategy)
                .filter(|report| is_slow(depth) || matches!(report, Report::Done { .. }));
            if let Some(report) = told {
                if left.is_empty() {
                    self.rest(generation);
                }
                // Nobody is left to hear it once the owner is dropped.
                let _heard = self.outbox.send((generation, report));
                (self.wake)();
            }
        }
        self.rest(generation);
    }

    /// Notes that nothing is being worked on, unless something newer has been asked for.
    fn rest(&self, generation: u64) {
        if self.shared.newest.load(Ordering::SeqCst) == generation {
            self.shared.busy.store(false, Ordering::SeqCst);
        }
    }
}

fn report(
    ended: std::thread::Result<Result<Outcome, Failure>>,
    scenario: &Arc<Scenario>,
    strategy: Id,
) -> Option<Report> {
    let scenario = Arc::clone(scenario);
    match ended {
        Ok(Ok(outcome)) => Some(Report::Done { scenario, outcome: Box::new(outcome) }),
        Ok(Err(Failure::Cancelled)) => None,
        Ok(Err(Failure::Refused(message))) => Some(Report::Failed { scenario, strategy, message }),
        Err(panic) => {
            let message =
                format!("the calculation broke off: {}; this is a fault of the program", said(&*panic));
            Some(Report::Failed { scenario, strategy, message })
        }
    }
}

/// What a panic said.
pub fn said(panic: &(dyn Any + Send)) -> &str {
    let text = panic.downcast_ref::<&str>().copied();
    text.or_else(|| panic.downcast_ref::<String>().map(String::as_str)).unwrap_or("it did not say why")
}

/// Whether its progress is worth telling.
fn is_slow(depth: Depth) -> bool {
    depth >= Depth::Views
}

/// Watches one strategy of a request.
struct JobWatch<'a> {
    side: &'a Side,
    generation: u64,
    depth: Depth,
}

impl Watch for JobWatch<'_> {
    fn step(&self, done: u64, total: u64) -> Result<(), Cancelled> {
        let shared = &self.side.shared;
        if shared.newest.load(Ordering::Relaxed) != self.generation {
            return Err(Cancelled);
        }
        if !is_slow(self.depth) {
            return Ok(());
        }
        let tenths = (10 * done.min(total)).checked_div(total).unwrap_or(0);
        if shared.tenths.swap(tenths, Ordering::Relaxed) != tenths {
            (self.side.wake)();
        }
        Ok(())
    }
}
