//! The threads that jobs run on.

use super::key::Lane;
use crate::long;
use obliquity_planning::{Cancelled, Watch};
use std::any::Any;
use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

/// Called when a job has got farther or is done.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// A reply without its type; the sentence for people where the work broke off.
pub(super) type Reply = Result<Box<dyn Any + Send>, String>;

/// What both sides see of a job.
#[derive(Debug, Default)]
pub(super) struct Shared {
    called_off: AtomicBool,
    begun: AtomicBool,
    tenths: AtomicU64,
}

impl Shared {
    pub(super) fn call_off(&self) {
        self.called_off.store(true, Ordering::Relaxed);
    }

    pub(super) fn has_begun(&self) -> bool {
        self.begun.load(Ordering::SeqCst)
    }

    /// How far it is, 0 to 10.
    pub(super) fn tenths(&self) -> u64 {
        self.tenths.load(Ordering::Relaxed)
    }
}

/// Work without its types.
pub(super) type Work = Box<dyn FnOnce(&dyn Watch) -> Box<dyn Any + Send> + Send>;

/// A job on its way to a thread.
pub(super) struct Job {
    pub(super) number: u64,
    pub(super) turn: u64,
    pub(super) shared: Arc<Shared>,
    pub(super) work: Work,
}

/// Where replies go, and what is told of them.
#[derive(Clone)]
pub(super) struct Outbox {
    pub(super) replies: Sender<(u64, Reply)>,
    pub(super) wake: Wake,
}

impl Job {
    fn run(self, outbox: &Outbox) {
        self.shared.begun.store(true, Ordering::SeqCst);
        let watch = JobWatch { shared: &self.shared, wake: &outbox.wake };
        if watch.step(0, 1).is_err() {
            return;
        }
        let reply = guarded(self.work, &watch);
        // Nobody is left to hear it once the owner is dropped.
        let _heard = outbox.replies.send((self.number, reply));
        (outbox.wake)();
    }
}

/// Runs work; a panic is its reply.
pub(super) fn guarded(work: Work, watch: &dyn Watch) -> Reply {
    let _beside = long::beside();
    catch_unwind(AssertUnwindSafe(|| work(watch))).map_err(|panic| {
        format!("the calculation broke off: {}; this is a fault of the program", said(&*panic))
    })
}

/// What a panic said.
pub fn said(panic: &(dyn Any + Send)) -> &str {
    let text = panic.downcast_ref::<&str>().copied();
    text.or_else(|| panic.downcast_ref::<String>().map(String::as_str)).unwrap_or("it did not say why")
}

struct JobWatch<'a> {
    shared: &'a Shared,
    wake: &'a Wake,
}

impl Watch for JobWatch<'_> {
    fn step(&self, done: u64, total: u64) -> Result<(), Cancelled> {
        if self.shared.called_off.load(Ordering::Relaxed) {
            return Err(Cancelled);
        }
        let tenths = (10 * done.min(total)).checked_div(total).unwrap_or(0);
        if self.shared.tenths.swap(tenths, Ordering::Relaxed) != tenths {
            (self.wake)();
        }
        Ok(())
    }
}

/// Starts a thread for one job.
pub(super) fn aside(job: Job, outbox: Outbox) -> std::io::Result<()> {
    std::thread::Builder::new().name("aside".to_owned()).spawn(move || job.run(&outbox)).map(drop)
}

#[derive(Default)]
struct Queue {
    waiting: VecDeque<Job>,
    last_turn: u64,
    closed: bool,
}

impl Queue {
    fn next(&mut self) -> Option<Job> {
        if let Some(place) = self.waiting.iter().position(|job| job.turn != 0 && job.turn == self.last_turn) {
            let count = self.waiting.len();
            self.waiting.rotate_left((place + 1) % count);
        }
        let job = self.waiting.pop_front()?;
        self.last_turn = job.turn;
        Some(job)
    }
}

#[derive(Default)]
struct Line {
    queue: Mutex<Queue>,
    news: Condvar,
}

impl Line {
    fn queue(&self) -> MutexGuard<'_, Queue> {
        self.queue.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next job, once there is one; nothing once the line is closed and empty.
    fn next(&self) -> Option<Job> {
        let mut queue = self.queue();
        loop {
            if let Some(job) = queue.next() {
                return Some(job);
            }
            if queue.closed {
                return None;
            }
            queue = self.news.wait(queue).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Threads that take the jobs of a lane in their turn. Dropping them waits for what has not been taken back.
pub(super) struct LaneThreads {
    line: Arc<Line>,
    threads: Vec<JoinHandle<()>>,
}

/// So many threads at most work on one lane.
const MOST_THREADS: usize = 4;

/// How many threads a lane has: routes of several strategies are worked out side by side, all else one after the other.
pub fn threads_of(lane: Lane) -> usize {
    match lane {
        Lane::Routes => std::thread::available_parallelism().map_or(1, |cores| cores.get().min(MOST_THREADS)),
        Lane::Figures | Lane::Writing | Lane::Aside => 1,
    }
}

impl LaneThreads {
    pub(super) fn start(lane: Lane, outbox: &Outbox) -> std::io::Result<Self> {
        // Those that have begun end with it if another one cannot be had.
        let mut lanes = LaneThreads { line: Arc::new(Line::default()), threads: Vec::new() };
        for _ in 0..threads_of(lane) {
            let (own, outbox) = (Arc::clone(&lanes.line), outbox.clone());
            let run = move || {
                while let Some(job) = own.next() {
                    job.run(&outbox);
                }
            };
            let name = format!("{lane:?}").to_lowercase();
            lanes.threads.push(std::thread::Builder::new().name(name).spawn(run)?);
        }
        Ok(lanes)
    }

    pub(super) fn add(&self, job: Job) {
        self.line.queue().waiting.push_back(job);
        self.line.news.notify_one();
    }

    /// Takes a job back if it has not begun.
    pub(super) fn take_back(&self, number: u64) {
        self.line.queue().waiting.retain(|job| job.number != number);
    }
}

impl Drop for LaneThreads {
    fn drop(&mut self) {
        self.line.queue().closed = true;
        self.line.news.notify_all();
        for thread in self.threads.drain(..) {
            // The threads catch their jobs' panics and have nothing else that could fail.
            let _ended = thread.join();
        }
    }
}
