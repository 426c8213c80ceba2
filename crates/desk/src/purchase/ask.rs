//! What is asked for on the screen of a purchase.

use super::document::PortfolioEdit;
use super::model::{PurchasePanel, ShownRight};
use crate::chart_files::ChartsAs;

/// What is asked for on the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum PurchaseAsk {
    /// Another fleet.
    Focus(usize),
    /// The diagram of another kind of job.
    Job(usize),
    /// Other inputs to the left.
    Panel(PurchasePanel),
    /// Diagrams or working.
    Right(ShownRight),
    /// A change.
    Edit(PortfolioEdit),
    /// Save the diagrams.
    SaveCharts(ChartsAs),
    /// Save the whole case as a workbook.
    SaveWorkbook,
    /// Give up what is being worked out.
    Stop,
    /// Work it out after all.
    Resume,
    /// Choose the scenario of a job, or of one more.
    ChooseScenario(Option<usize>),
    /// One more job, on the scenario that is open.
    AddOpenScenario,
    /// Begin one from nothing.
    Begin,
    /// Open a portfolio.
    Open,
    /// Open the example.
    Example,
}
