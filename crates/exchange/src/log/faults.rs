//! What is wrong with the rows of a log of either kind.

use super::columns::LogKind;
use super::sheet::{CellFault, LogSheet};

impl LogSheet {
    /// What is wrong with a row.
    pub fn faults(&self, row: usize) -> Vec<CellFault> {
        match self.kind {
            LogKind::Processed => self.processed(row).err(),
            LogKind::Flown => self.flight(row).err(),
        }
        .unwrap_or_default()
    }
}
