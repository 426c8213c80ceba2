//! Work beside the window, in one way: it is asked for under a key, says how far it is, can be called off, and its reply
//! has the key's own type. What is known or on its way under a key is not worked out again. Work that panics is told of,
//! and its thread goes on.

mod key;
mod shelf;
mod thread;

pub use key::{Key, Lane, Same};
pub use shelf::Answer;
pub use thread::{Wake, said, threads_of};

use obliquity_planning::{NoWatch, Watch};
use shelf::JobShelf;
use std::any::{Any, TypeId};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use thread::{Job, LaneThreads, Outbox, Reply, Shared};

/// How far jobs of one kind are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Jobs done since there was last nothing to do.
    pub done: u64,
    /// Those, and the ones that are asked for.
    pub total: u64,
    /// How far the present one is, 0 to 10.
    pub tenths: u64,
}

/// A job that has been asked for and has not come back.
struct Open {
    number: u64,
    kind: TypeId,
    key: Box<dyn Any>,
    told: Option<&'static str>,
    lane: Lane,
    shared: Arc<Shared>,
    /// Puts the reply on the shelf under the key.
    shelve: fn(&mut JobShelf, Box<dyn Any>, Reply),
}

impl Open {
    fn key<K: Key>(&self) -> Option<&K> {
        self.key.downcast_ref()
    }
}

/// The threads, and what is on its way.
struct Threads {
    lanes: BTreeMap<Lane, LaneThreads>,
    outbox: Outbox,
    replies: Receiver<(u64, Reply)>,
}

/// All jobs of a window. Dropping it calls them off, but for what is written to files.
#[derive(Default)]
pub struct Jobs {
    /// Nothing where every job is done at once, on the thread that asks.
    threads: Option<Threads>,
    /// Lanes whose jobs are done at once nevertheless.
    at_once: Vec<Lane>,
    open: Vec<Open>,
    /// How many of a kind are done since there was last nothing of it to do.
    done: BTreeMap<TypeId, u64>,
    shelf: JobShelf,
    last: u64,
}

impl std::fmt::Debug for Jobs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Jobs").field("open", &self.open.len()).finish_non_exhaustive()
    }
}

impl Jobs {
    /// Jobs on threads of their own. `wake` is called after every reply and whenever a job has got a tenth farther.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn beside(wake: Wake) -> std::io::Result<Self> {
        let (sender, replies) = channel();
        let outbox = Outbox { replies: sender, wake };
        let mut lanes = BTreeMap::new();
        for lane in [Lane::Routes, Lane::Figures, Lane::Writing] {
            lanes.insert(lane, LaneThreads::start(lane, &outbox)?);
        }
        let mut jobs = Jobs::default();
        jobs.threads = Some(Threads { lanes, outbox, replies });
        Ok(jobs)
    }

    /// The same, but the jobs of these lanes are done at once, on the thread that asks.
    #[must_use]
    pub fn at_once(mut self, lanes: &[Lane]) -> Self {
        self.at_once.extend(lanes);
        self
    }

    /// Whether a lane's jobs run beside the one who asks.
    pub fn runs_beside(&self, lane: Lane) -> bool {
        self.threads.is_some() && !self.at_once.contains(&lane)
    }

    /// Asks for work, unless its reply is kept or on its way.
    pub fn request<K: Key>(&mut self, key: K, work: impl FnOnce(&dyn Watch) -> K::Reply + Send + 'static) {
        if self.known(&key).is_some() || self.is_open(|open: &K| *open == key) {
            return;
        }
        let work: thread::Work = Box::new(move |watch| Box::new(work(watch)));
        let Some(threads) = self.threads.as_ref().filter(|_| !self.at_once.contains(&K::LANE)) else {
            self.shelf.put(key, shelf::typed::<K>(thread::guarded(work, &NoWatch)));
            return;
        };
        self.last += 1;
        let shared = Arc::new(Shared::default());
        let job = Job { number: self.last, turn: key.turn(), shared: Arc::clone(&shared), work };
        match threads.lanes.get(&K::LANE) {
            Some(lane) => lane.add(job),
            None => {
                if let Err(error) = thread::aside(job, threads.outbox.clone()) {
                    self.shelf.put(key, Err(format!("the system gives no thread: {error}")));
                    return;
                }
            }
        }
        self.open.push(Open {
            number: self.last,
            kind: TypeId::of::<K>(),
            told: key.told(),
            key: Box::new(key),
            lane: K::LANE,
            shared,
            shelve: |shelf, key, reply| {
                if let Ok(key) = key.downcast::<K>() {
                    shelf.put(*key, shelf::typed::<K>(reply));
                }
            },
        });
    }

    /// Whether a job of this kind is on its way.
    pub fn is_open<K: Key>(&self, wanted: impl Fn(&K) -> bool) -> bool {
        self.open.iter().filter_map(Open::key).any(wanted)
    }

    /// Gives up the jobs of a kind that nobody waits for any more; those that run notice at their next step, and their
    /// replies are not heard.
    pub fn cancel<K: Key>(&mut self, unwanted: impl Fn(&K) -> bool) {
        self.call_off(|open| open.key().is_some_and(&unwanted));
    }

    /// Gives up the jobs that someone waits for.
    pub fn cancel_told(&mut self) {
        self.call_off(|open| open.told.is_some());
    }

    fn call_off(&mut self, unwanted: impl Fn(&Open) -> bool) {
        let (off, left) = std::mem::take(&mut self.open).into_iter().partition(unwanted);
        self.open = left;
        let off: Vec<Open> = off;
        for open in &off {
            open.shared.call_off();
            if let Some(thread) = self.threads.as_ref().and_then(|threads| threads.lanes.get(&open.lane)) {
                thread.take_back(open.number);
            }
        }
        for open in off {
            self.rest(open.kind);
        }
    }

    /// Takes back the jobs of a kind that have not begun; what runs goes on, and its reply is heard.
    pub fn take_back<K: Key>(&mut self) {
        self.call_off(|open| open.key::<K>().is_some() && !open.shared.has_begun());
    }

    /// What is kept under a key.
    pub fn known<K: Key>(&self, key: &K) -> Option<&Answer<K>> {
        if K::KEPT == 0 { None } else { self.shelf.get(key) }
    }

    /// Gives out the replies of a kind that have come since the last call.
    pub fn take<K: Key>(&mut self) -> Vec<(K, Answer<K>)> {
        self.hear();
        self.shelf.take()
    }

    /// Takes in what has come. Kept replies are known from then on.
    pub fn hear(&mut self) -> bool {
        let come: Vec<_> =
            self.threads.as_ref().map(|threads| threads.replies.try_iter().collect()).unwrap_or_default();
        let any = !come.is_empty();
        for (number, reply) in come {
            self.take_in(number, reply);
        }
        any
    }

    /// Waits until none of these jobs is on its way, but no longer than `patience`.
    pub fn wait<K: Key>(&mut self, patience: Duration, wanted: impl Fn(&K) -> bool) {
        let until = Instant::now() + patience;
        self.hear();
        while self.is_open(&wanted) {
            let left = until.saturating_duration_since(Instant::now());
            let next = self.threads.as_ref().and_then(|threads| threads.replies.recv_timeout(left).ok());
            let Some((number, reply)) = next else { return };
            self.take_in(number, reply);
        }
    }

    fn take_in(&mut self, number: u64, reply: Reply) {
        // One that is not there was called off.
        let Some(place) = self.open.iter().position(|open| open.number == number) else { return };
        let open = self.open.remove(place);
        (open.shelve)(&mut self.shelf, open.key, reply);
        *self.done.entry(open.kind).or_default() += 1;
        self.rest(open.kind);
    }

    /// Begins to count anew once there is nothing of a kind to do.
    fn rest(&mut self, kind: TypeId) {
        if !self.open.iter().any(|open| open.kind == kind) {
            self.done.remove(&kind);
        }
    }

    /// How far the jobs of a kind are; nothing while there are none.
    pub fn progress<K: Key>(&self) -> Option<Progress> {
        let kind = TypeId::of::<K>();
        let open: Vec<&Open> = self.open.iter().filter(|open| open.kind == kind).collect();
        let done = self.done.get(&kind).copied().unwrap_or(0);
        let running = open.iter().find(|open| open.shared.has_begun());
        let tenths = running.map_or(0, |open| open.shared.tenths());
        (!open.is_empty()).then(|| Progress { done, total: done + open.len() as u64, tenths })
    }

    /// Whether a job of this kind has begun and has not come back.
    pub fn has_begun<K: Key>(&self, wanted: impl Fn(&K) -> bool) -> bool {
        self.open.iter().any(|open| open.shared.has_begun() && open.key().is_some_and(&wanted))
    }

    /// How far a job is, 0 to 10, 0 before it begins; nothing while none of these is on its way.
    pub fn tenths<K: Key>(&self, wanted: impl Fn(&K) -> bool) -> Option<u64> {
        let own = self.open.iter().find(|open| open.key().is_some_and(&wanted))?;
        Some(own.shared.tenths())
    }

    /// What goes on that someone waits for, and how far it is, 0 to 10.
    pub fn told(&self) -> Option<(&'static str, u64)> {
        self.open.iter().find_map(|open| Some((open.told?, open.shared.tenths())))
    }
}

impl Drop for Jobs {
    fn drop(&mut self) {
        self.call_off(|open| open.lane != Lane::Writing);
    }
}
