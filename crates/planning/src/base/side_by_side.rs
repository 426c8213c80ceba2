//! Short work on several cores, begun at once.

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{LazyLock, Mutex, PoisonError};

/// Helpers at work anywhere: no more than there are cores beside the one that asks.
static HELPERS: AtomicUsize = AtomicUsize::new(0);

/// How often who has no more to do looks for its helper's end before it sleeps: some ten microseconds.
const AWAKE_TURNS: u32 = 2000;

/// What is made of each number below a count, in their order; those that take longest should come first.
///
/// The calling thread begins at once, and cores that are free help it: work of less than a millisecond neither waits for a
/// sleeping pool to wake nor behind long work in it. Within a pool, where every core has work of its own, it is shared there.
pub(crate) fn side_by_side<T: Send>(count: usize, make: impl Fn(usize) -> T + Sync) -> Vec<T> {
    if count < 2 || is_helper() {
        return (0..count).map(make).collect();
    }
    if rayon::current_thread_index().is_some() {
        return (0..count).into_par_iter().map(&make).collect();
    }
    let work = Work { count, make, next: AtomicUsize::new(0), made: Mutex::new(Vec::with_capacity(count)) };
    helped(|| work.help(), || work.take_turns());
    let mut made = work.made.into_inner().unwrap_or_else(PoisonError::into_inner);
    made.sort_unstable_by_key(|(number, _)| *number);
    made.into_iter().map(|(_, made)| made).collect()
}

/// Does something while a core that is free, where there is one, does what helps it; ends when both have.
///
/// Helpers wait in a pool of their own: in the shared one they would wait behind whatever long work is there.
pub(crate) fn helped<T>(help: impl FnOnce() + Send, own: impl FnOnce() -> T) -> T {
    let Some((helper, pool)) = Helper::free().zip(POOL.as_ref()) else { return own() };
    let has_ended = AtomicBool::new(false);
    pool.in_place_scope(|scope| {
        scope.spawn(|_| {
            help();
            drop(helper);
            has_ended.store(true, Ordering::Relaxed);
        });
        let done = own();
        // to sleep and be woken takes longer than most helpers take to finish
        for _ in 0..AWAKE_TURNS {
            if has_ended.load(Ordering::Relaxed) {
                break;
            }
            std::hint::spin_loop();
        }
        done
    })
}

/// Cores beside the one that asks first, which is none of the helpers.
static BESIDE: LazyLock<usize> = LazyLock::new(|| rayon::current_num_threads() - 1);

/// As many threads; nothing where there are no such cores, or no threads.
static POOL: LazyLock<Option<ThreadPool>> = LazyLock::new(|| {
    let beside = *BESIDE;
    (beside > 0).then(|| ThreadPoolBuilder::new().num_threads(beside).build().ok()).flatten()
});

/// Whether this is done by a helper, who does alone what comes up on the way.
fn is_helper() -> bool {
    POOL.as_ref().is_some_and(|pool| pool.current_thread_index().is_some())
}

struct Work<T, F> {
    count: usize,
    make: F,
    /// The first number that nobody has taken.
    next: AtomicUsize,
    made: Mutex<Vec<(usize, T)>>,
}

impl<T: Send, F: Fn(usize) -> T + Sync> Work<T, F> {
    /// Takes turns, and has another core do so where there is enough to do.
    fn help(&self) {
        if self.next.load(Ordering::Relaxed) + 1 < self.count {
            helped(|| self.help(), || self.take_turns());
        }
        self.take_turns();
    }

    fn take_turns(&self) {
        loop {
            let number = self.next.fetch_add(1, Ordering::Relaxed);
            if number >= self.count {
                return;
            }
            let made = (self.make)(number);
            self.made.lock().unwrap_or_else(PoisonError::into_inner).push((number, made));
        }
    }
}

/// A helper that counts as one until it is dropped.
struct Helper;

impl Helper {
    /// One more, where a core is free.
    fn free() -> Option<Helper> {
        let more = |helpers: usize| (helpers < *BESIDE).then_some(helpers + 1);
        HELPERS.fetch_update(Ordering::Relaxed, Ordering::Relaxed, more).ok().map(|_| Helper)
    }
}

impl Drop for Helper {
    fn drop(&mut self) {
        HELPERS.fetch_sub(1, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived: everything is made once and comes in order, from outside of a pool and within one, and where what is made of
    /// a number is made side by side itself; helpers do not stay.
    #[test]
    fn everything_is_made_once_and_in_order() {
        let sums = |count: usize| {
            let inner = |number: usize| side_by_side(number % 7, |k| k * number).into_iter().sum::<usize>();
            side_by_side(count, inner)
        };
        for count in [0, 1, 2, 3, 40, 400] {
            let of = |number: usize| (0..number % 7).map(|k| k * number).sum::<usize>();
            let expected: Vec<usize> = (0..count).map(of).collect();
            assert_eq!(sums(count), expected);
            assert_eq!(rayon::scope(|_| sums(count)), expected);
        }
    }

    /// Derived: what goes wrong in a helper goes wrong for who asked.
    #[test]
    fn a_helper_that_panics_is_heard() {
        for bad in [0, 5, 63] {
            let asked = || side_by_side(64, |number| assert_ne!(number, bad, "as asked"));
            assert!(std::panic::catch_unwind(asked).is_err());
        }
    }
}
