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

/// Pieces of work, of a microsecond or a few each, between two questions whether to go on.
const PIECES_A_QUESTION: usize = 512;

/// Asks at every so manieth of many small pieces of work.
pub(crate) fn ask_now_and_then(piece: usize, watch: &dyn Watch) -> Result<(), Cancelled> {
    if piece.is_multiple_of(PIECES_A_QUESTION) { watch.step(0, 1) } else { Ok(()) }
}
