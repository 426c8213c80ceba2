//! Whether another fleet pays: the portfolio that is open, what is worked out of it, and how it is drawn.

mod ask;
mod document;
mod figures;
mod input;
mod inputs_view;
mod jobs_view;
mod making;
mod making_view;
mod model;
mod view;
mod working_view;

pub use ask::PurchaseAsk;
pub use document::{PortfolioDocument, PortfolioEdit, PortfolioPlace};
pub use figures::{FleetFigures, PurchaseFigures};
pub use input::{FirmPart, HoldingPart, JobPart, PortfolioInput, WearPart};
pub use making::{BesideOrInstead, Listed, Making, Way, empty_portfolio, job_on};
pub use model::{
    Candidate, ChangedScenario, FleetState, GivenPurchase, JobCell, JobRow, OnOffer, PurchasePanel,
    PurchaseProgress, PurchaseSheet, ShownRight,
};
pub use view::{empty, ui};
