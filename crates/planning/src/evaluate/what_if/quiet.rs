use crate::base::{Cancelled, Watch};

/// Work that is one step of a longer one: it can be called off, and how far it is itself is not told.
pub(in crate::evaluate) struct Quiet<'a> {
    pub(in crate::evaluate) watch: &'a dyn Watch,
    pub(in crate::evaluate) done: u64,
    pub(in crate::evaluate) total: u64,
}

impl Watch for Quiet<'_> {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        self.watch.step(self.done, self.total)
    }
}
