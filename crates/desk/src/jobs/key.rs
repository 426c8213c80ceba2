//! What a job is about.

use std::fmt::Debug;
use std::sync::Arc;

/// Which threads a job runs on. Jobs of one lane run one after the other, those of routes a few at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lane {
    /// Routes, counts and times: what a frame waits for, for a moment.
    Routes,
    /// What takes long and follows every edit: bands and coverage.
    Figures,
    /// What is written to files; all of it is, even if the window is closed meanwhile.
    Writing,
    /// A thread of its own for each job.
    Aside,
}

/// What a job is about: two equal keys ask for the same, and what is known under one is not worked out again.
pub trait Key: Debug + Clone + PartialEq + Send + 'static {
    /// What comes back.
    type Reply: Send + 'static;
    /// Where it runs.
    const LANE: Lane;
    /// So many of the newest replies are kept under their keys ([`super::Jobs::known`]); with none, each is given out once
    /// ([`super::Jobs::take`]).
    const KEPT: usize = 0;

    /// What goes on, as the end of a sentence that the user reads while waiting: "finding equal times"; nothing for what
    /// nobody waits for.
    fn told(&self) -> Option<&'static str> {
        None
    }

    /// Jobs of a lane with different turns take turns: the one that ran last is the last to run again.
    fn turn(&self) -> u64 {
        0
    }
}

/// A shared value that counts as equal only to itself.
#[derive(Debug)]
pub struct Same<T>(pub Arc<T>);

impl<T> Same<T> {
    /// The very one.
    pub fn of(value: &Arc<T>) -> Self {
        Same(Arc::clone(value))
    }

    /// Whether it is this one.
    pub fn is(&self, value: &Arc<T>) -> bool {
        Arc::ptr_eq(&self.0, value)
    }
}

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Same(Arc::clone(&self.0))
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}
