//! The thread that works out routes, counts and times, so that a slow one never holds a frame up.
//!
//! The window asks and waits a moment: what is quick is there within the same frame, what is not comes later and is shown as
//! stale until then. The newest request wins: a thread that is still at an older one goes on with the newest after the
//! strategy that it is at, which takes a tenth of a second at most.

use crate::worker::said;
use obliquity_planning::{Id, Outcome, Scenario};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Works out one strategy without coverage; the sentence for people where that cannot be.
pub type QuickJob = dyn Fn(&Scenario, Id) -> Result<Outcome, String> + Send;

/// What the thread sends back.
#[derive(Debug)]
pub struct QuickReport {
    /// What it was worked out from.
    pub scenario: Arc<Scenario>,
    /// The strategy.
    pub strategy: Id,
    /// The figures without coverage.
    pub outcome: Result<Outcome, String>,
}

struct Request {
    generation: u64,
    scenario: Arc<Scenario>,
    strategies: Vec<Id>,
}

/// The owner's side.
pub struct Lane {
    generation: u64,
    /// Strategies of the newest request that have not been reported.
    open: usize,
    requests: Option<Sender<Request>>,
    reports: Receiver<(u64, QuickReport)>,
    thread: Option<JoinHandle<()>>,
}

impl std::fmt::Debug for Lane {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Lane").field("open", &self.open).finish_non_exhaustive()
    }
}

impl Lane {
    /// Starts the thread. `wake` is called after every report.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(job: Box<QuickJob>, wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        let (requests, inbox) = channel();
        let (outbox, reports) = channel();
        let run = move || run(&inbox, &*job, &outbox, &wake);
        let thread = std::thread::Builder::new().name("routes".to_owned()).spawn(run)?;
        Ok(Lane { generation: 0, open: 0, requests: Some(requests), reports, thread: Some(thread) })
    }

    /// Asks for these strategies; what was asked for before is given up.
    pub fn request(&mut self, scenario: &Arc<Scenario>, strategies: Vec<Id>) {
        self.generation += 1;
        self.open = strategies.len();
        let request = Request { generation: self.generation, scenario: Arc::clone(scenario), strategies };
        let sent = self.requests.as_ref().is_some_and(|requests| requests.send(request).is_ok());
        if !sent {
            self.open = 0;
        }
    }

    /// What has come since the last call, what belongs to older requests included: it is nearer to the present than nothing.
    /// Waits for the rest of the newest request, but no longer than `patience`.
    pub fn collect(&mut self, patience: Duration) -> Vec<QuickReport> {
        let until = Instant::now() + patience;
        let mut found = Vec::new();
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let next = match self.reports.try_recv() {
                Ok(report) => Some(report),
                Err(_) if self.open > 0 => self.reports.recv_timeout(left).ok(),
                Err(_) => None,
            };
            let Some((generation, report)) = next else { return found };
            if generation == self.generation {
                self.open = self.open.saturating_sub(1);
            }
            found.push(report);
        }
    }

    /// Whether something that was asked for last has not come yet.
    pub fn is_busy(&self) -> bool {
        self.open > 0
    }
}

impl Drop for Lane {
    fn drop(&mut self) {
        self.requests = None;
        if let Some(thread) = self.thread.take() {
            // The thread catches its job's panics and has nothing else that could fail.
            let _ended = thread.join();
        }
    }
}

/// Works the newest request out, strategy by strategy, beginning after the one that was worked out last, so that each has
/// its turn while a slider is dragged.
fn run(inbox: &Receiver<Request>, job: &QuickJob, outbox: &Sender<(u64, QuickReport)>, wake: &dyn Fn()) {
    let mut last: Option<Id> = None;
    let mut waiting: Option<Request> = None;
    while let Some(Request { generation, scenario, mut strategies }) =
        waiting.take().or_else(|| inbox.recv().ok())
    {
        if let Some(place) = strategies.iter().position(|id| Some(*id) == last) {
            let count = strategies.len();
            strategies.rotate_left((place + 1) % count);
        }
        for strategy in strategies {
            waiting = inbox.try_iter().last().or(waiting);
            if waiting.is_some() {
                break;
            }
            let ended = catch_unwind(AssertUnwindSafe(|| job(&scenario, strategy)));
            let outcome = ended.unwrap_or_else(|panic| {
                Err(format!("the calculation broke off: {}; this is a fault of the program", said(&*panic)))
            });
            last = Some(strategy);
            let report = QuickReport { scenario: Arc::clone(&scenario), strategy, outcome };
            // Nobody is left to hear it once the owner is dropped.
            let _heard = outbox.send((generation, report));
            wake();
        }
    }
}
