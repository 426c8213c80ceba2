//! One piece of long work that the user has asked for: equal times, directions in the wind, terrain from a file. It runs
//! beside the window, says how far it is, and can be called off; a new one takes the place of the one before.

use crate::worker::said;
use obliquity_planning::{Cancelled, Watch};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// Called when an errand has got farther or is done.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// What both sides see.
#[derive(Default)]
struct Shared {
    called_off: AtomicBool,
    tenths: AtomicU64,
}

/// Work that is going on; dropping it calls it off.
pub struct Errand<T> {
    what: &'static str,
    shared: Arc<Shared>,
    result: Receiver<Result<T, String>>,
}

impl<T> std::fmt::Debug for Errand<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Errand").field("what", &self.what).finish_non_exhaustive()
    }
}

/// What has become of an errand.
#[derive(Debug)]
pub enum Ended<T> {
    /// It is going on.
    Open,
    /// It is done.
    Done(T),
    /// It broke off, or had no thread; the sentence for people.
    Broken(String),
}

impl<T: Send + 'static> Errand<T> {
    /// Begins on a thread of its own.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub fn start(
        what: &'static str,
        wake: Wake,
        job: impl FnOnce(&dyn Watch) -> T + Send + 'static,
    ) -> std::io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let (outbox, result) = channel();
        let watch = ErrandWatch { shared: Arc::clone(&shared), wake };
        let run = move || {
            let ended = catch_unwind(AssertUnwindSafe(|| job(&watch)));
            let told = ended.map_err(|panic| {
                format!("the work broke off: {}; this is a fault of the program", said(&*panic))
            });
            // Nobody is left to hear it once it was called off.
            let _heard = outbox.send(told);
            (watch.wake)();
        };
        std::thread::Builder::new().name("errand".to_owned()).spawn(run)?;
        Ok(Errand { what, shared, result })
    }

    /// What has become of it; what is done is given out once.
    pub fn poll(&self) -> Ended<T> {
        match self.result.try_recv() {
            Ok(Ok(done)) => Ended::Done(done),
            Ok(Err(why)) => Ended::Broken(why),
            Err(TryRecvError::Empty) => Ended::Open,
            Err(TryRecvError::Disconnected) => Ended::Broken("the work ended without a result".to_owned()),
        }
    }
}

impl<T> Errand<T> {
    /// What is going on, as the end of a sentence: "finding equal times".
    pub fn what(&self) -> &'static str {
        self.what
    }

    /// How far it is, 0 to 10.
    pub fn tenths(&self) -> u64 {
        self.shared.tenths.load(Ordering::Relaxed)
    }
}

impl<T> Drop for Errand<T> {
    fn drop(&mut self) {
        self.shared.called_off.store(true, Ordering::Relaxed);
    }
}

struct ErrandWatch {
    shared: Arc<Shared>,
    wake: Wake,
}

impl Watch for ErrandWatch {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn start<T: Send + 'static>(
        job: impl FnOnce(&dyn Watch) -> T + Send + 'static,
    ) -> (Errand<T>, Receiver<()>) {
        let (wake, woken) = channel();
        let errand =
            Errand::start("a test", Arc::new(move || wake.send(()).unwrap_or(())), job).expect("a thread");
        (errand, woken)
    }

    #[test]
    fn an_errand_comes_back_with_what_it_found_or_why_not() {
        let (errand, woken) = start(|_| 7);
        assert_eq!(woken.recv(), Ok(()));
        assert!(matches!(errand.poll(), Ended::Done(7)));
        let (errand, woken) = start(|_| -> u8 { panic!("no ground") });
        assert_eq!(woken.recv(), Ok(()));
        let Ended::Broken(why) = errand.poll() else { panic!("not told") };
        assert!(why.contains("no ground"), "{why}");
    }

    #[test]
    fn an_errand_says_how_far_it_is() {
        let (told, hold) = channel::<()>();
        let (errand, woken) = start(move |watch| {
            let went_on = watch.step(3, 10).is_ok();
            hold.recv().unwrap_or(());
            went_on
        });
        assert_eq!(woken.recv(), Ok(()));
        assert_eq!(errand.tenths(), 3);
        assert!(matches!(errand.poll(), Ended::Open));
        drop(told);
        assert_eq!(woken.recv(), Ok(()));
        assert!(matches!(errand.poll(), Ended::Done(true)));
    }

    #[test]
    fn an_errand_that_is_dropped_is_given_up() {
        let (told, heard) = channel();
        let (errand, _woken) = start(move |watch| {
            while watch.step(0, 1).is_ok() {
                std::thread::yield_now();
            }
            told.send(()).unwrap_or(());
        });
        drop(errand);
        assert_eq!(heard.recv(), Ok(()));
    }
}
