use thiserror::Error;

/// The work was cancelled by its owner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("cancelled")]
pub struct Cancelled;

/// What long work reports its progress to, and asks whether to go on.
pub trait Watch: Sync {
    /// Tells how far the present stage is; an error ends the work.
    ///
    /// # Errors
    /// [`Cancelled`] when the owner no longer wants the result.
    fn step(&self, done: u64, total: u64) -> Result<(), Cancelled>;
}

/// Watches nothing and never cancels.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoWatch;

impl Watch for NoWatch {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        Ok(())
    }
}
