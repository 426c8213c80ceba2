//! One piece of work on a thread of its own, asked for by a click.
//!
//! Dropping an errand gives it up: it notices at its next step. One that panics is reported.

use crate::worker::{Failure, said};
use obliquity_planning::{Cancelled, Watch};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// Work that is under way, and what it comes to.
#[derive(Debug)]
pub struct Errand<T> {
    given_up: Arc<AtomicBool>,
    result: Receiver<Result<T, Failure>>,
}

impl<T: Send + 'static> Errand<T> {
    /// Starts it; `wake` is called once it is done.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(
        work: impl FnOnce(&dyn Watch) -> Result<T, Failure> + Send + 'static,
        wake: impl FnOnce() + Send + 'static,
    ) -> std::io::Result<Self> {
        let given_up = Arc::new(AtomicBool::new(false));
        let watch = ErrandWatch { given_up: Arc::clone(&given_up) };
        let (outbox, result) = channel();
        std::thread::Builder::new().name("errand".to_owned()).spawn(move || {
            let done = catch_unwind(AssertUnwindSafe(|| work(&watch))).unwrap_or_else(|panic| {
                Err(Failure::Refused(format!(
                    "the calculation broke off: {}; this is a fault of the program",
                    said(&*panic)
                )))
            });
            // Nobody is left to hear it once the owner is dropped.
            let _heard = outbox.send(done);
            wake();
        })?;
        Ok(Errand { given_up, result })
    }

    /// What it came to, once; nothing while it is under way.
    pub fn poll(&self) -> Option<Result<T, Failure>> {
        match self.result.try_recv() {
            Ok(result) => Some(result),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err(Failure::Cancelled)),
        }
    }
}

impl<T> Drop for Errand<T> {
    fn drop(&mut self) {
        self.given_up.store(true, Ordering::Relaxed);
    }
}

struct ErrandWatch {
    given_up: Arc<AtomicBool>,
}

impl Watch for ErrandWatch {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        if self.given_up.load(Ordering::Relaxed) { Err(Cancelled) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn waited<T: Send + 'static>(errand: &Errand<T>, woken: &Receiver<()>) -> Option<Result<T, Failure>> {
        woken.recv().ok()?;
        errand.poll()
    }

    #[test]
    fn an_errand_comes_back_with_what_it_found_or_why_not() {
        let (wake, woken) = channel();
        let again = wake.clone();
        let errand = Errand::start(|_| Ok(7), move || wake.send(()).unwrap_or(())).expect("a thread");
        assert_eq!(waited(&errand, &woken), Some(Ok(7)));
        let errand: Errand<u8> =
            Errand::start(|_| panic!("no ground"), move || again.send(()).unwrap_or(())).expect("a thread");
        let Some(Err(Failure::Refused(why))) = waited(&errand, &woken) else { panic!("not told") };
        assert!(why.contains("no ground"), "{why}");
    }

    #[test]
    fn an_errand_that_is_dropped_is_given_up() {
        let (told, heard) = channel();
        let work = move |watch: &dyn Watch| {
            while watch.step(0, 1).is_ok() {
                std::thread::yield_now();
            }
            told.send(()).unwrap_or(());
            Ok(())
        };
        drop(Errand::start(work, || ()).expect("a thread"));
        assert_eq!(heard.recv(), Ok(()));
    }
}
