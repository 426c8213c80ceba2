//! What every layer uses: identifiers, numbers and their words, digests and the store.

pub(crate) mod choice;
pub(crate) mod class;
pub(crate) mod digest;
pub mod exact;
pub(crate) mod id;
pub mod limits;
pub(crate) mod number;
pub(crate) mod robust;
pub(crate) mod side_by_side;
pub(crate) mod store;
pub(crate) mod unit;
pub(crate) mod units;
pub(crate) mod watch;
pub mod wording;

pub use class::{ByClass, SurfaceClass};
pub use id::Id;
pub use robust::{
    LEAST_POINTS_OF_LINE, LEAST_VALUES, RobustCentre, RobustLine, median, robust_centre, robust_line,
};
pub use store::Store;
pub use unit::{GsdUnit, Unit};
pub use units::{Scale, Units};
pub(crate) use watch::ask_now_and_then;
pub use watch::{Cancelled, NoWatch, Watch};
pub use wording::thousands;
