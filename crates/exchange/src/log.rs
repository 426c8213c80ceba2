//! Logs of jobs, as CSV: what was processed, and what was flown.

mod columns;
mod faults;
mod file;
mod flown;
mod processed;
mod sheet;

pub use columns::{Cells, LogColumn, LogKind};
pub use file::{is_log_file, read_log, save_log};
pub use flown::{parse_flights, planned_cells, read_flights};
pub use processed::{parse_processed_jobs, processed_job_columns, read_processed_jobs};
pub use sheet::{CellFault, LogSheet, MOST_LOGGED};

pub(crate) use columns::is_log;

/// Largest log that is read.
const MOST_BYTES: u64 = 4 << 20;
