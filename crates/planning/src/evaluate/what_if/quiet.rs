use crate::base::{Cancelled, Watch};

/// Work that is one step of a longer one: it can be called off, and how far it is itself is not told.
pub(super) struct Quiet<'a> {
    pub(super) watch: &'a dyn Watch,
    pub(super) done: u64,
    pub(super) total: u64,
}

impl Watch for Quiet<'_> {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        self.watch.step(self.done, self.total)
    }
}
